"""Moved to `measures.contrasts`; these names stay until every page takes them from there."""

from neonatal_stats.measures.contrasts import cause_differs, risk_differs, survival_differs

__all__ = ["cause_differs", "risk_differs", "survival_differs"]
