"""How a register in PostGIS came to its present tables: one step for each change since the first version."""
