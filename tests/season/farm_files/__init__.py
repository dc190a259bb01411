"""Invented farm files with their truth: a judge of the readers.

Run `python -m tests.season.farm_files.table`."""
