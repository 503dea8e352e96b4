"""Joints in the utility's own layer."""
