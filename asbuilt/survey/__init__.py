"""The shots as data: what was shot, and how far it lies from the pipe's center."""
