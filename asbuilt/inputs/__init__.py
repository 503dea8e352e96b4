"""Files to tables: logs, workbooks, vector layers, alignments, side tables, and the published tables."""
