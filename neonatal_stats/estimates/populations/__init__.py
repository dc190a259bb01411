"""Seasons and farms held against each other: one mix, mix and rate, charts, shrinkage."""
