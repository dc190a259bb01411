"""What the exchange reader found: one line a finding, in the columns of the problem list."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.season.ledger import as_found
from neonatal_stats.season.model import PROBLEM_COLUMNS

NO_WORD = "this word is not in the standard as it is known here"
NO_WORD_REMEDY = "it is kept as it stands; say in a map what is meant"


class Problems:
    """A list of findings; all are "noted": the reader of messages sets nothing aside by itself."""

    def __init__(self) -> None:
        self._lines: list[tuple[object, ...]] = []

    def add(
        self, file: str, column: str, value: object, problem: str, remedy: str, row: int | None = None
    ) -> None:
        """Note one finding; ``row`` is the place of the message in its file, from 1."""
        line = ("births", file, "", row, column, as_found(value), problem, remedy, "noted")
        if line not in self._lines:
            self._lines.append(line)

    @property
    def frame(self) -> pd.DataFrame:
        """The findings as a frame with the columns of the problem list."""
        frame = pd.DataFrame(self._lines, columns=list(PROBLEM_COLUMNS), dtype=object)
        return frame.assign(row=frame["row"].astype("Int64"))
