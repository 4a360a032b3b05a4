"""What a change does: a design in the repository's history beside another, read without touching either."""
