"""Lines of a births sheet that are no record: footnotes, pens, totals, legends, empty check boxes.

A record names a dam, a newborn or a date. A line that names none of them leaves the births and is counted; where it
tells of a death, or describes a newborn all the same, it is set aside instead, so that somebody looks at it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.fates import is_blank
from neonatal_stats.season.finding import Finding, say
from neonatal_stats.season.grid import RawColumn, RawTable, Remark
from neonatal_stats.vocabulary import fates

NAMES = ("newborn_id", "dam_id", "litter_id")
DATES = ("born_at", "born_on", "died_at", "found_dead_at", "last_alive_at", "left_at", "last_seen_at")
DESCRIBED = (
    "sex",
    "delivery",
    "birth_order",
    "suck_reflex",
    "mothered_up",
    "rearing",
    "birth_weight_kg",
    "resuscitation",
)
NEARLY_A_DATE = re.compile(
    r"(?=.*[1-9]).{0,6}\d{1,4}[-/.:]\d{1,2}(?!\d).{0,14}|\d{1,2}\.?\s*[^\W\d_]{3,10}[.,]?(?:\s+\d{2,4})?|[^\W\d_]{3,10}\s+\d{1,2}"
)
OUTCOMES = ("died", "born_alive", "cause", "died_at", "found_dead_at")
EMPTY_BOX = fates.NO | fates.NOT_ASKED | {"0", ""}
OFTEN = 0.1


def lines_of(
    raw: RawTable, chosen: Mapping[str, RawColumn], frame: pd.DataFrame
) -> tuple[NDArray[np.bool_], tuple[Finding, ...], tuple[Remark, ...]]:
    """Rows with a single filled cell among fuller ones, the findings that move lines that are no record, and remarks.

    Rows that were marked before, as headings, totals or broken lines, are left as they are.
    """
    known = np.zeros(len(raw.rows), dtype=bool)
    for finding in raw.findings:
        known[finding.at] = True
    filled = _filled(raw)
    named, names_anything = _named(chosen, frame, filled, known)
    told, described, elsewhere = _dead(frame), _filled_in(frame, DESCRIBED), _elsewhere(raw, chosen)
    if names_anything:
        doubtful = ~named & ~known & (told | described | (elsewhere & (filled > 1)))
        none = ~named & ~known & ~doubtful
    else:
        doubtful = np.zeros(len(raw.rows), dtype=bool)
        silent = ~_filled_in(frame, OUTCOMES) & ~told
        alone = (filled == 1) & (np.median(filled) >= 2)
        none = silent & (~elsewhere | alone) & ~described & ~known
    findings = (*_doubtful(raw, doubtful), *_none(raw, none))
    return bare(filled, known), findings, tuple(_speaking_of_death(raw, none))


def _elsewhere(raw: RawTable, chosen: Mapping[str, RawColumn]) -> NDArray[np.bool_]:
    """Rows with a filled cell, other than an empty check box, in a column that means nothing here."""
    known = {id(cells) for cells in chosen.values()}
    found = np.zeros(len(raw.rows), dtype=bool)
    for cells in raw.columns.values():
        if id(cells) not in known:
            told = [
                not is_blank(str(cell)) and fates.folded(str(cell)) not in EMPTY_BOX
                for cell in cells.distinct
            ]
            found |= np.array([*told, False])[cells.codes]
    return found


def _filled(raw: RawTable) -> NDArray[np.int64]:
    filled = np.zeros(len(raw.rows), dtype=np.int64)
    for cells in raw.columns.values():
        filled += cells.codes >= 0
    return filled


def _filled_in(frame: pd.DataFrame, names: Sequence[str]) -> NDArray[np.bool_]:
    """Rows in which any of these typed columns has a value."""
    filled = np.zeros(len(frame), dtype=bool)
    for name in names:
        if name in frame:
            filled |= frame[name].notna().to_numpy(dtype=bool)
    return filled


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
    there = bool(_filled_in(frame, ("born_at", "born_on")).any())
    typical = np.median(filled[~known]) if (~known).any() else 0
    by_date = dated.sum() * 2 > len(dated)
    founded = (dated if by_date else 2 * filled >= typical) & ~known
    for name in NAMES:
        if name in frame and frame[name].notna().any():
            there = True
            alike = _identities(frame[name], founded, (2 * filled >= typical) & (filled > 2))
            if not by_date:
                alike &= ~_notes(frame[name]) | (filled > 1)
            named |= alike
    alone = bare(filled, known) & ~dated
    if alone.any() and alone.mean() <= OFTEN:
        named &= ~alone | _sure_alone(chosen, frame, founded)
    return named, there


def bare(filled: NDArray[np.int64], known: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Rows of which a single cell is filled, in a sheet whose rows usually hold three or more."""
    typical = np.median(filled[~known]) if (~known).any() else 0
    return np.asarray((filled == 1) & (typical >= 3))


def _dated(chosen: Mapping[str, RawColumn], frame: pd.DataFrame) -> NDArray[np.bool_]:
    """Rows that hold a date, or in a column of dates what was meant as one."""
    dated = _filled_in(frame, DATES)
    for name in (*DATES, "died"):
        if f"{name}|when" in frame:
            dated |= frame[f"{name}|when"].notna().to_numpy()
        if name in DATES and name in chosen:
            cells = chosen[name]
            meant = [bool(NEARLY_A_DATE.fullmatch(str(cell)[:60])) for cell in cells.distinct]
            dated |= np.array([*meant, False])[cells.codes]
    return dated


def _identities(values: pd.Series, founded: NDArray[np.bool_], full: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Rows whose cell looks like the identities of sure records, and is no word for a total or a fate.

    An identity of a form of its own counts in a row that is as ``full`` as others.
    """
    codes, distinct = pd.factorize(values.astype(object))
    shapes = np.array([*(shape(str(text)) for text in distinct), ""], dtype=object)
    usual = set(shapes[np.unique(codes[founded])]) - {""}
    words = fates.TOTALS | fates.DEAD | fates.ALIVE | fates.YES | fates.NO
    likely = [form in usual for form in shapes[:-1]]
    odd = [not text.isdigit() and _is_no_name(text, words) for text in map(str, distinct)]
    fits = np.array([*(a and not b for a, b in zip(likely, odd, strict=True)), False])
    own = np.array([*(not word for word in odd), False])[codes] & full
    return fits[codes] | own | (np.array([*likely, False])[codes] & founded)


def _is_no_name(text: str, words: frozenset[str]) -> bool:
    return fates.folded(text.rstrip(":")) in words or not any(map(str.isalnum, text))


def _notes(values: pd.Series) -> NDArray[np.bool_]:
    """Rows whose cell is written like a note: begun with a sign, ended with a colon, or of four words or more."""
    codes, distinct = pd.factorize(values.astype(object))
    notes = [bool(re.match(r"[^\w'(]|.*:$", str(text))) or len(str(text).split()) > 3 for text in distinct]
    return np.array([*notes, False])[codes]


def shape(text: str) -> str:
    """The form of an identity: a for letters, 9 for digits.

    >>> shape("UK 12 0345"), shape("00123"), shape("* tagged late")
    ('a 9 9', '9', '* a a')
    """
    if text.isdigit():
        return "9"
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


def _doubtful(raw: RawTable, doubtful: NDArray[np.bool_]) -> Iterator[Finding]:
    at = np.flatnonzero(doubtful).astype(np.int64)
    problem = say("the line names no dam, no newborn and no date, and yet tells of a newborn")
    remedy = say(
        "write the dam, the newborn or the date in each row; if it is a note, keep it out of the records"
    )
    if len(at):
        yield Finding(at, "", _texts(raw, at), problem, remedy, "set aside", about="outcome")


def _texts(raw: RawTable, at: NDArray[np.int64]) -> list[object]:
    """The filled cells of some rows, one text a row."""
    found: list[object] = []
    for row in at:
        cells = [c.distinct[c.codes[row]] for c in raw.columns.values() if c.codes[row] >= 0]
        found.append(" | ".join(str(cell) for cell in cells)[:120])
    return found


def _none(raw: RawTable, none: NDArray[np.bool_]) -> Iterator[Finding]:
    at = np.flatnonzero(none).astype(np.int64)
    if not len(at):
        return
    texts = _texts(raw, at)
    problem = say("the line names no dam, no newborn and no date and is no record")
    remedy = say(
        "nothing need be done for notes, pens and totals; write dam or date beside what is a newborn"
    )
    yield Finding(at, "", texts, problem, remedy, "no record")


def _speaking_of_death(raw: RawTable, none: NDArray[np.bool_]) -> Iterator[Remark]:
    at = np.flatnonzero(none).astype(np.int64)
    for row, text in zip(at, _texts(raw, at), strict=True):
        if fates.DEAD_IN_TEXT.search(fates.folded(str(text))):
            problem = say(
                'row {row} is no record and speaks of a death ("{text}"); is that newborn among the records?',
                row=f"{raw.rows[row]:,}",
                text=text,
            )
            yield Remark("", problem, say("give it a row of its own if it is not"), "asked", "outcome")
