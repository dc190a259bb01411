"""What can be said of records: that they cannot be read, or what a rule finds at which rows and how it ended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    import pandas as pd

UNPRINTED = dict.fromkeys(
    (*range(9), 11, 12, *range(14, 32), *range(127, 160), *range(8203, 8208), *range(8234, 8239), 65279)
)
"""Control signs, and those that turn the direction of a text: they belong in no cell and on no terminal."""


def printable(text: str) -> str:
    """The text without control signs; line breaks and tabs stay.

    A byte of a file's name that is no letter (a name of another code page) is spelled out, so that the text can be kept
    in any file.
    """
    if text.isprintable():
        return text
    return text.encode("utf-8", "backslashreplace").decode("utf-8").translate(UNPRINTED)


class CannotRead(Exception):
    """One sentence for the person at the table: where, what was found, what is accepted, how to mend it."""

    def __init__(self, sentence: str) -> None:
        """Names of files and cells stand in the sentence as they may be printed."""
        super().__init__(printable(sentence))


class Said(str):
    """A sentence of the problem list: finished English that still knows its template and what was filled in.

    It is text like any other (it sorts, groups and prints as its English); a language file says the template, and
    each value that is itself a `Said`, in its own words. Values that are plain text are the farm's and stay.
    """

    template: str
    filled: Mapping[str, object]

    def __new__(cls, template: str, filled: Mapping[str, object] | None = None) -> Said:
        """Fill the values into the places that the template names in braces."""
        said = super().__new__(cls, template.format(**(filled or {})))
        said.template, said.filled = template, filled or {}
        return said

    def __str__(self) -> Said:
        """Itself, so that nothing is lost where a cell is turned into text."""
        return self

    def __reduce__(self) -> tuple[type[Said], tuple[str, Mapping[str, object]]]:
        return Said, (self.template, self.filled)


def say(template: str, **values: object) -> Said:
    """A sentence for the problem list; the template stands here as it is, so that a reader of the source finds it."""
    return Said(template, values)


def term(word: str) -> Said:
    """A word of the vocabulary to be filled into a sentence: every language has it among its templates."""
    return Said(word)


UNSAID = Said("")
NO_NEED = say("nothing need be done")
EITHER = say("look which of the two is right and mend the other")

Ended = Literal["noted", "set to missing", "set aside", "no record", "asked"]
About = Literal["", "outcome", "not written", "not readable"]
"""Whether a finding touches an outcome: one that was read with a remark, not written, or not readable."""
PROBLEM_COLUMNS = ("table", "file", "sheet", "row", "column", "value", "problem", "remedy", "ended")
"""One row per problem; ``ended`` is "set aside", "set to missing", "no record" (a line that is none: a footnote, a
total, a repeated heading), "asked" (used as it stands, but all is not well with it) or "noted" (worth a look).

``problem`` and ``remedy`` are English text that keeps its template and what was filled in, see `Said`.
"""


@dataclass(frozen=True, eq=False)
class Finding:
    """One rule's finding.

    ``ended`` says what became of the rows: used as they stand ("noted", or "asked" where all is not well with that),
    used without some cells, or not used. ``at`` holds row positions in the table's frame; ``values`` the cells as
    found (one for each position) and ``problem`` one sentence for all, or one for each. Where it ended with "set to
    missing", ``clears`` names the columns that lose their value (by default ``column`` alone).
    """

    at: NDArray[np.int64]
    column: str
    values: Sequence[object]
    problem: Said | Sequence[Said]
    remedy: Said
    ended: Ended
    clears: tuple[str, ...] = ()
    about: About | Sequence[About] = ""

    def moved(self, offset: int) -> Finding:
        """The same finding in a frame in which its rows stand ``offset`` further down."""
        return replace(self, at=self.at + offset)

    @property
    def cleared(self) -> tuple[str, ...]:
        """The columns that lose their value at these rows."""
        return (self.clears or (self.column,)) if self.ended == "set to missing" else ()


def spelled(values: pd.Series) -> pd.Series:
    """Each value as text by which rows are told apart, a missing one too: in every pandas alike."""
    return values.astype(object).map(str)


def where(mask: ArrayLike) -> NDArray[np.int64]:
    """The row positions at which a mask is true; not known counts as false."""
    array = np.asarray(mask)
    if array.dtype == object:
        array = np.array([value is True or value is np.True_ for value in array], dtype=bool)
    return np.flatnonzero(array).astype(np.int64)


def found_in(
    frame: pd.DataFrame,
    rows: ArrayLike,
    column: str,
    problem: Said | Sequence[Said],
    remedy: Said,
    ended: Ended,
    clears: tuple[str, ...] = (),
    about: About | Sequence[About] = "",
) -> Finding:
    """A finding at the rows where a mask is true, with what the frame holds there in the column that is named."""
    at = where(rows)
    values = frame[column].take(at).tolist() if len(at) and column in frame else [None] * len(at)
    return Finding(at, column, values, problem, remedy, ended, clears, about)
