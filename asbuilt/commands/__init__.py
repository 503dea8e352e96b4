"""The commands: each parses its options, calls the function of the same name, and prints what came of it."""
