"""The keys of a job file, table by table."""
