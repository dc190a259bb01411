"""Moved to `measures.rates`; these names stay until every page takes them from there."""

from neonatal_stats.measures.rates import Counted

__all__ = ["Counted"]
