"""Rows of groups held against each other, as the parts of a sentence."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from neonatal_stats.words.comparisons import Compared
from neonatal_stats.words.labels import phrase
from neonatal_stats.words.voice import Voice


def compared_row(voice: Voice, row: Mapping[Any, Any]) -> Compared:
    """A row with factor, group, versus, the counts of both, ratio, its interval, p and q, ready for words."""
    factor = str(row["factor"])
    return Compared(
        group=phrase(voice, factor, row["group"]),
        versus=phrase(voice, factor, row["versus"]),
        events=int(row["events"]),
        n=int(row["n"]),
        events_versus=int(row["events_versus"]),
        n_versus=int(row["n_versus"]),
        estimate=row["ratio"],
        low=row["ratio_low"],
        high=row["ratio_high"],
        p=row["p"],
        q=row["q"],
    )
