"""The physics: pure functions over the circuit graph. Knows nothing of text, files or output."""
