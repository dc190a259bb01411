"""The only place that rounds: drawing and words take their printed numbers from here."""

from neonatal_stats.tables.table import Table, printed

__all__ = ["Table", "printed"]
