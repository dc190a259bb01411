"""Lines of a births sheet that are no record: footnotes, pens, totals, legends, empty check boxes.

A record names a dam, a newborn or a date. A line that names none of them leaves the births and is counted; where it tells
of a death, or describes a newborn all the same, it is set aside instead, so that somebody looks at it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import Finding, say
from neonatal_stats.season.grid import RawColumn, RawTable, Remark
from neonatal_stats.vocabulary import fates

NAMES = ("newborn_id", "dam_id", "litter_id")
DATES = ("born_at", "born_on", "died_at", "found_dead_at", "last_alive_at", "left_at", "last_seen_at")
DESCRIBED = ("sex", "delivery", "birth_order", "suck_reflex", "mothered_up", "rearing", "birth_weight_kg", "resuscitation")
NEARLY_A_DATE = re.compile(
    r"(?=.*[1-9]).{0,6}\d{1,4}[-/.:]\d{1,2}(?!\d).{0,14}|\d{1,2}\.?\s*[^\W\d_]{3,10}[.,]?(?:\s+\d{2,4})?|[^\W\d_]{3,10}\s+\d{1,2}"
)
OFTEN, SHOWN = 0.1, 3


@dataclass(frozen=True, eq=False)
class Lines:
    """What a sheet's lines are: True for births, True for those with one filled cell; findings of those set aside."""

    record: NDArray[np.bool_]
    bare: NDArray[np.bool_]
    findings: tuple[Finding, ...]
    remarks: tuple[Remark, ...]


def lines_of(raw: RawTable, chosen: Mapping[str, RawColumn], frame: pd.DataFrame) -> Lines:
    """Tell records from lines that are none; rows marked before as headings or totals are none either."""
    known = _marked(raw)
    filled = _filled(raw)
    named, names_anything = _named(chosen, frame, filled, known)
    told = _dead(frame)
    if names_anything:
        described = _any(chosen, DESCRIBED) & (_any(frame, DESCRIBED))
        doubtful = ~named & ~known & (told | described)
        record = (named | doubtful) & ~known
    else:
        doubtful = np.zeros(len(raw.rows), dtype=bool)
        record = (told | _any(chosen, _outcomes(chosen)) | _any(frame, DESCRIBED)) & ~known
        record |= ~known if not (set(_outcomes(chosen)) & set(chosen)) else False
    for finding in raw.findings:
        if finding.ended == "set aside":
            record[finding.at] = True
    return Lines(record, bare(filled, known), _doubtful(raw, doubtful, told), _left(raw, ~record))


def marked_lines(raw: RawTable) -> Lines:
    """Only the lines that were marked before, as headings or totals, are no record."""
    known = _marked(raw)
    return Lines(~known, np.zeros(len(known), dtype=bool), (), _left(raw, known))


def _marked(raw: RawTable) -> NDArray[np.bool_]:
    known = np.zeros(len(raw.rows), dtype=bool)
    for finding in raw.findings:
        if finding.ended == "no record":
            known[finding.at] = True
    return known


def _outcomes(chosen: Mapping[str, RawColumn]) -> tuple[str, ...]:
    return tuple(name for name in ("died", "born_alive", "cause", "died_at", "found_dead_at") if name in chosen)


def _filled(raw: RawTable) -> NDArray[np.int64]:
    filled = np.zeros(len(raw.rows), dtype=np.int64)
    for cells in raw.columns.values():
        filled += cells.codes >= 0
    return filled


def _any(columns: Mapping[str, RawColumn] | pd.DataFrame, names: Sequence[str]) -> NDArray[np.bool_]:
    """Rows in which any of these columns is filled."""
    here = [name for name in names if name in columns]
    if not here:
        return np.zeros(len(columns) if isinstance(columns, pd.DataFrame) else _height(columns), dtype=bool)
    if isinstance(columns, pd.DataFrame):
        return columns[here].notna().to_numpy().any(axis=1)
    return np.column_stack([columns[name].codes >= 0 for name in here]).any(axis=1)


def _height(columns: Mapping[str, RawColumn]) -> int:
    return next((len(cells.codes) for cells in columns.values()), 0)


def _dead(frame: pd.DataFrame) -> NDArray[np.bool_]:
    """Rows with any sign of death."""
    dead = np.zeros(len(frame), dtype=bool)
    for name in frame:
        if str(name).endswith(("|state", "|sign")):
            dead |= frame[name].isin(["dead", "born dead", "perhaps dead"]).to_numpy()
    return dead


def _named(
    chosen: Mapping[str, RawColumn], frame: pd.DataFrame, filled: NDArray[np.int64], known: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], bool]:
    """Rows that name a dam, a newborn or a date, and whether the sheet has anything that could."""
    dated = _dated(chosen, frame)
    named = dated.copy()
    there = bool(dated.any())
    typical = np.median(filled[~known]) if (~known).any() else 0
    founded = (dated if dated.sum() * 2 > len(dated) else 2 * filled >= typical) & ~known
    for name in NAMES:
        if name in frame and frame[name].notna().any():
            there = True
            named |= _identities(frame[name], founded, filled)
    alone = bare(filled, known) & ~dated
    if alone.mean() <= OFTEN if len(alone) else False:
        named &= ~alone | _sure_alone(chosen, frame, founded)
    return named, there


def bare(filled: NDArray[np.int64], known: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Rows of which a single cell is filled, in a sheet whose rows usually hold three or more."""
    typical = np.median(filled[~known]) if (~known).any() else 0
    return np.asarray((filled == 1) & (typical >= 3))


def _dated(chosen: Mapping[str, RawColumn], frame: pd.DataFrame) -> NDArray[np.bool_]:
    """Rows that hold a date, or in a column of dates what was meant as one."""
    dated = _any(frame, DATES)
    for name in (*DATES, "died"):
        if f"{name}|when" in frame:
            dated |= frame[f"{name}|when"].notna().to_numpy()
        if name in DATES and name in chosen:
            cells = chosen[name]
            meant = [bool(NEARLY_A_DATE.fullmatch(str(cell)[:60])) for cell in cells.distinct]
            dated |= np.array([*meant, False])[cells.codes]
    return dated


def _identities(values: pd.Series, founded: NDArray[np.bool_], filled: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Rows whose cell looks like the identities of rows that are surely records, and is no word for a total or a fate."""
    codes, distinct = pd.factorize(values.astype(object))
    shapes = np.array([*(shape(str(text)) for text in distinct), ""], dtype=object)
    usual = set(shapes[np.unique(codes[founded])]) - {""}
    words = fates.TOTALS | fates.DEAD | fates.ALIVE | fates.YES | fates.NO
    likely = [form in usual for form in shapes[:-1]]
    odd = [fates.folded(str(text).rstrip(":")) in words for text in distinct]
    fits = np.array([*(a and not b for a, b in zip(likely, odd, strict=True)), False])
    return fits[codes] | (np.array([*likely, False])[codes] & founded)


def shape(text: str) -> str:
    """The form of an identity: a for letters, 9 for digits.

    >>> shape("UK 12 0345"), shape("00123"), shape("* tagged late")
    ('a 9 9', '9', '* a a')
    """
    return re.sub(r"[^\W\d_]+", "a", re.sub(r"\d+", "9", " ".join(text.split())))


def _sure_alone(
    chosen: Mapping[str, RawColumn], frame: pd.DataFrame, founded: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Rows whose one filled cell is an identity in digits, as those of other rows are."""
    sure = np.zeros(len(frame), dtype=bool)
    for name in NAMES:
        if name in frame:
            codes, distinct = pd.factorize(frame[name].astype(object))
            digits = np.array([*(shape(str(text)) == "9" for text in distinct), False])
            sure |= digits[codes] if digits[codes[founded]].any() else False
    return sure


def _doubtful(raw: RawTable, doubtful: NDArray[np.bool_], told: NDArray[np.bool_]) -> tuple[Finding, ...]:
    at = np.flatnonzero(doubtful).astype(np.int64)
    if not len(at):
        return ()
    problem = say("the line names no dam, no newborn and no date, and yet tells of a newborn")
    remedy = say("write the dam, the newborn or the date in each row; if it is a note, keep it out of the records")
    return (Finding(at, "", _texts(raw, at), problem, remedy, "set aside", about="outcome"),)


def _texts(raw: RawTable, at: NDArray[np.int64]) -> list[object]:
    """The filled cells of some rows, one text a row."""
    found: list[object] = []
    for row in at:
        cells = [c.distinct[c.codes[row]] for c in raw.columns.values() if c.codes[row] >= 0]
        found.append(" | ".join(str(cell) for cell in cells)[:120])
    return found


def _left(raw: RawTable, left: NDArray[np.bool_]) -> tuple[Remark, ...]:
    """One remark for all lines of a sheet that are no record, with the first texts of a few."""
    at = np.flatnonzero(left).astype(np.int64)
    if not len(at):
        return ()
    first: dict[str, int] = {}
    for row, text in zip(at, _texts(raw, at), strict=True):
        first.setdefault(str(text), int(raw.rows[row]))
    dead = any(fates.speaks_of_death(text, fates.DEAD_IN_TEXT) for text in first)
    several = "; ".join(f'row {row} "{text}"' for text, row in list(first.items())[:SHOWN])
    problem = say(
        "lines that name no dam, no newborn and no date and are no record: {n}, such as {several}",
        n=f"{len(at):,}",
        several=several,
    )
    remedy = say("nothing need be done for notes, pens and totals; write dam or date beside what is a newborn")
    return (Remark("", problem, remedy, "outcome" if dead else ""),)
