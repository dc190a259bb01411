"""Regression by risk sets: Cox, exposures that take time, smooth curves."""
