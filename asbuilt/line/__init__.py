"""Where a station is: routes and their curves, stationing, ties, map projection."""
