"""Published tables as data files: every figure with its unit, source, clause and status."""
