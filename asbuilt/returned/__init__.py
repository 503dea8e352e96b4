"""The contractor's log handed back with remarks."""
