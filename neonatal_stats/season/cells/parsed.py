"""The typed form of a column's distinct cells, and how it is spread over the rows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.finding import UNSAID, Finding, Said, say
from neonatal_stats.season.grid import RawColumn

NOTHING = frozenset(
    (
        "-",
        "--",
        "---",
        "?",
        "??",
        ".",
        "/",
        "n/a",
        "na",
        "n.a.",
        "#n/a",
        "nan",
        "nat",
        "null",
        "none",
        "nil",
        "unknown",
        "not_known",
        "not_recorded",
        "nr",
        "<na>",
    )
)
ERRORS = frozenset(("#ref!", "#value!", "#div/0!", "#name?", "#num!", "#null!", "#spill!", "#calc!", "#####"))


@dataclass(frozen=True, eq=False)
class Parsed:
    """Typed values of the distinct cells, with what was wrong (`UNSAID` = nothing) and what is worth a look.

    ``extra`` holds further typed arrays of the same length, such as whether a moment is a whole day.
    """

    values: NDArray[Any]
    missing: object
    trouble: NDArray[np.object_]
    remedy: Said
    notes: NDArray[np.object_]
    note_remedy: Said = UNSAID
    extra: Mapping[str, tuple[NDArray[Any], object]] = field(default_factory=dict)


def is_nothing(cell: object) -> bool:
    """True for the words that mean "not recorded"."""
    return isinstance(cell, str) and cell.casefold().replace(" ", "_") in NOTHING


def sheet_error(cell: object) -> Said:
    """The sentence for a spreadsheet's own error value, else `UNSAID`."""
    if isinstance(cell, str) and (cell.casefold() in ERRORS or set(cell) == {"#"}):
        return say("the spreadsheet could not work this cell out")
    return UNSAID


def blank_sentences(size: int) -> NDArray[np.object_]:
    """No sentence yet, for each distinct cell."""
    sentences = np.empty(size, dtype=object)
    sentences[:] = [UNSAID] * size
    return sentences


def spread(raw: RawColumn, values: NDArray[Any], missing: object) -> NDArray[Any]:
    """The values of the distinct cells laid out over the rows, blanks as missing."""
    padded = np.empty(len(values) + 1, dtype=values.dtype)
    padded[:-1] = values
    padded[-1] = missing
    return padded[raw.codes]


def findings_of(raw: RawColumn, parsed: Parsed, column: str) -> list[Finding]:
    """The rows whose cell could not be read, and those whose cell was read but deserves a look."""
    found = []
    if any(parsed.trouble):
        at, sentences = _rows_with(raw, parsed.trouble)
        found.append(Finding(at, column, raw.at(at), sentences, parsed.remedy, "set to missing"))
    if any(parsed.notes):
        at, sentences = _rows_with(raw, parsed.notes)
        found.append(Finding(at, column, raw.at(at), sentences, parsed.note_remedy, "noted"))
    return found


def _rows_with(raw: RawColumn, sentences: NDArray[np.object_]) -> tuple[NDArray[np.int64], list[Said]]:
    by_row = spread(raw, sentences, UNSAID)
    at = np.flatnonzero(by_row != "")
    return at.astype(np.int64), list(by_row[at])
