"""The only place that rounds: drawing and words take their printed numbers from here."""

from neonatal_stats.tables.printing import NumberWords, Printer
from neonatal_stats.tables.table import Table, printed, sentence_case

__all__ = ["NumberWords", "Printer", "Table", "printed", "sentence_case"]
