"""wireworthy: a boat's wiring as text, its protection proved and drawn."""

__version__ = "0.1.0"
