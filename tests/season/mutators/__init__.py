"""Messy files made by named mutators from a known truth, each with the season and the list that must come of it."""
