"""The steps, in their order. A step never changes once it was released: the next one does."""
