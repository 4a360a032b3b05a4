"""Boats that are broken on purpose, and boats that are changed without harm: does the tool tell them apart?"""
