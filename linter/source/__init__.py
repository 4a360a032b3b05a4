"""Text to statements with spans; recovery; which files belong to a design."""
