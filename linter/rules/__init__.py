"""One file a rule: what it demands, why, whose clause, how to mend it."""
