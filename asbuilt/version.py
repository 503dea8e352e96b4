"""The version of this package, in a place that imports nothing."""

__version__ = "0.1.0"
