"""What is to be mended in a farm's files: the problems that are alike, told once, with all the rows they stand in."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import pandas as pd

SAME = ("file", "sheet", "column", "problem", "remedy")
NO_ROW = ("", "<NA>", "nan", "None")


@dataclass(frozen=True)
class Matter:
    """One problem: where, in which rows, what was found there how often (the commonest first), and how to mend it.

    ``problem`` and ``remedy`` keep their templates, see `season.finding.Said`.
    """

    file: str
    sheet: str
    column: str
    problem: str
    remedy: str
    rows: tuple[str, ...]
    found: tuple[tuple[str, int], ...]


def matters(problems: pd.DataFrame, ended: str) -> tuple[Matter, ...]:
    """The problems of a season (`Season.problems`) that ended in one way, those that are alike together."""
    alike = problems[problems["ended"] == ended]
    return tuple(_matter(rows) for _, rows in alike.groupby(list(SAME), sort=False, dropna=False))


def _matter(alike: pd.DataFrame) -> Matter:
    first = alike.iloc[0]
    file, sheet, column = ("" if pd.isna(first[name]) else str(first[name]) for name in SAME[:3])
    return Matter(
        file,
        sheet,
        column,
        first["problem"],
        first["remedy"],
        tuple(str(row) for row in alike["row"] if str(row) not in NO_ROW),
        tuple(Counter(str(value) for value in alike["value"] if str(value)).most_common()),
    )
