"""The only place that rounds: drawing and words take their printed numbers from here.

`Table` is fetched when it is first asked for: who only prints numbers, or draws, needs no frames.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from neonatal_stats.tables.printing import NumberWords, Printer

if TYPE_CHECKING:
    from neonatal_stats.tables.table import Table, printed, sentence_case

__all__ = ["NumberWords", "Printer", "Table", "printed", "sentence_case"]


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.table"), name)
