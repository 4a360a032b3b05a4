"""Findings and studies to text, JSON and CSV."""
