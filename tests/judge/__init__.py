"""A second opinion: a slow, plain judge that shares nothing with the tool but the circuit as JSON."""
