"""Quantities, parts, elements and the circuit graph of a boat."""
