"""Many jobs at once: placed by a pool of processes, told of in one table, and loaded in one go."""
