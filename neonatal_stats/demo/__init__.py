"""Invented demo data: the clean truth, then as a keeper writes it down, cut off early, and messy."""

from neonatal_stats.demo.truth import Truth, clean_truth
from neonatal_stats.demo.write import write_demo

__all__ = ["Truth", "clean_truth", "write_demo"]
