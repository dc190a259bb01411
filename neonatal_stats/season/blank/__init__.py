"""Blank sheets for next season and the published schema, from the same list of columns."""
