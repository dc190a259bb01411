"""One part of a scheme's page."""

from __future__ import annotations

from dataclasses import dataclass

from neonatal_stats.drawing import Figure
from neonatal_stats.tables import Table
from neonatal_stats.words import Sentence


@dataclass(frozen=True, eq=False)
class Part:
    """One question of the page: its name, title and question, what is said, drawn and tabled."""

    name: str
    title: str
    question: str
    sentences: tuple[Sentence, ...]
    figures: tuple[Figure, ...]
    tables: tuple[Table, ...]
