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

from neonatal_stats.season.cells.fates import DEATHS, is_blank
from neonatal_stats.season.finding import Ended, Finding, say
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Remark
from neonatal_stats.vocabulary import fates
from neonatal_stats.vocabulary.spelling import folded

NAMES = ("newborn_id", "dam_id", "litter_id")
DATES = ("born_at", "born_on", "died_at", "found_dead_at", "last_alive_at", "left_at", "last_seen_at")
DESCRIBED: tuple[str, ...] = ("sex", "delivery", "birth_order", "suck_reflex", "mothered_up", "rearing")
DESCRIBED += ("birth_weight_kg", "resuscitation")
NEARLY_A_DATE = re.compile(
    r"(?=.*[1-9]).{0,6}\d{1,4}[-/.:]\d{1,2}(?!\d).{0,14}|\d{1,2}\.?\s*[^\W\d_]{3,10}[.,]?(?:\s+\d{2,4})?|[^\W\d_]{3,10}\s+\d{1,2}"
)
OUTCOMES = ("died", "born_alive", "cause", "died_at", "found_dead_at")
EMPTY_BOX = fates.NO | fates.NOT_ASKED | {"0", ""}
NO_NAME = fates.TOTALS | fates.DEAD | fates.ALIVE | fates.YES | fates.NO
OFTEN = 0.1


def lines_of(
    raw: RawTable, chosen: Mapping[str, RawColumn], frame: pd.DataFrame
) -> tuple[Mask, tuple[Finding, ...], tuple[Remark, ...]]:
    """Rows with a single filled cell among fuller ones, the findings that move lines that are no record, and remarks.

    Rows that were marked before, as headings, totals or broken lines, are left as they are.
    """
    known = raw.found
    filled = sum((cells.filled.astype(np.int64) for cells in raw.columns.values()), np.zeros(len(known), int))
    typical = float(np.median(filled[~known])) if (~known).any() else 0.0
    bare: Mask = (filled == 1) & (typical >= 3)
    named, names_anything = _named(chosen, frame, filled, known, bare, typical)
    told, described, elsewhere = _dead(frame), _filled_in(frame, DESCRIBED), _elsewhere(raw, chosen)
    if names_anything:
        doubtful = ~named & ~known & (told | described | (elsewhere & (filled > 1)))
        none = ~named & ~known & ~doubtful
    else:
        doubtful = np.zeros(len(raw.rows), dtype=bool)
        silent = ~_filled_in(frame, OUTCOMES) & ~told
        alone = (filled == 1) & (np.median(filled) >= 2)
        none = silent & (~elsewhere | alone) & ~described & ~known
    found = [_finding(raw, doubtful, "set aside"), _finding(raw, none, "no record")]
    findings = tuple(finding for finding in found if len(finding.at))
    return bare, findings, tuple(_speaking_of_death(raw, none))


def _elsewhere(raw: RawTable, chosen: Mapping[str, RawColumn]) -> Mask:
    """Rows with a filled cell, other than an empty check box, in a column that means nothing here."""
    known = {id(cells) for cells in chosen.values()}
    found = np.zeros(len(raw.rows), dtype=bool)
    for cells in raw.columns.values():
        if id(cells) not in known:
            texts = list(map(str, cells.distinct))
            found |= cells.rows_of(not is_blank(text) and folded(text) not in EMPTY_BOX for text in texts)
    return found


def _filled_in(frame: pd.DataFrame, names: Sequence[str]) -> Mask:
    """Rows in which any of these typed columns has a value."""
    filled = np.zeros(len(frame), dtype=bool)
    for name in names:
        if name in frame:
            filled |= frame[name].notna().to_numpy()
    return filled


def _dead(frame: pd.DataFrame) -> Mask:
    """Rows with any sign of death."""
    dead = np.zeros(len(frame), dtype=bool)
    for name in frame:
        if str(name).endswith(("|state", "|sign")):
            dead |= frame[name].isin(DEATHS).to_numpy()
    return dead


def _named(
    chosen: Mapping[str, RawColumn],
    frame: pd.DataFrame,
    filled: NDArray[np.int64],
    known: Mask,
    bare: Mask,
    typical: float,
) -> tuple[Mask, bool]:
    """Rows that name a dam, a newborn or a date, and whether the sheet has anything that could."""
    dated = _dated(chosen, frame)
    by_date = dated.sum() * 2 > len(dated)
    full = 2 * filled >= typical
    founded = (dated if by_date else full) & ~known
    names = [_distinct(frame[name]) for name in NAMES if name in frame and frame[name].notna().any()]
    named = dated.copy()
    for cells in names:
        alike = _identities(cells, founded, full & (filled > 2))
        if not by_date:
            alike &= ~cells.rows_of(_is_a_note) | (filled > 1)
        named |= alike
    alone = bare & ~dated
    if alone.any() and alone.mean() <= OFTEN:
        named &= ~alone | _sure_alone(names, founded)
    return named, bool(names) or bool(_filled_in(frame, ("born_at", "born_on")).any())


def _distinct(values: pd.Series) -> RawColumn:
    codes, distinct = pd.factorize(values.astype(object))
    return RawColumn(codes, distinct.to_numpy(dtype=object))


def _dated(chosen: Mapping[str, RawColumn], frame: pd.DataFrame) -> Mask:
    """Rows that hold a date, or in a column of dates what was meant as one."""
    dated = _filled_in(frame, (*DATES, *(f"{name}|when" for name in (*DATES, "died"))))
    for name in DATES:
        if name in chosen:
            dated = dated | chosen[name].rows_of(lambda cell: bool(NEARLY_A_DATE.fullmatch(str(cell)[:60])))
    return dated


def _identities(cells: RawColumn, founded: Mask, full: Mask) -> Mask:
    """Rows whose cell looks like the identities of sure records, and is no word for a total or a fate.

    An identity of a form of its own counts in a row that is as ``full`` as others.
    """
    texts = list(map(str, cells.distinct))
    forms = [shape(text) for text in texts]
    usual = {forms[code] for code in np.unique(cells.codes[founded]) if code >= 0} - {""}
    likely = np.array([form in usual for form in forms], dtype=bool)
    odd = np.array([not text.isdigit() and _is_no_name(text) for text in texts], dtype=bool)
    fits, own = cells.rows_of(likely & ~odd), cells.rows_of(~odd)
    return fits | (own & full) | (cells.rows_of(likely) & founded)


def _is_no_name(text: str) -> bool:
    return folded(text.rstrip(":")) in NO_NAME or not any(map(str.isalnum, text))


def _is_a_note(cell: object) -> bool:
    """True for a cell written like a note: begun with a sign, ended with a colon, or of four words or more."""
    return bool(re.match(r"[^\w'(]|.*:$", str(cell))) or len(str(cell).split()) > 3


def shape(text: str) -> str:
    """The form of an identity: a for letters, 9 for digits.

    >>> shape("UK 12 0345"), shape("00123"), shape("* tagged late")
    ('a 9 9', '9', '* a a')
    """
    if text.isdigit():
        return "9"
    return re.sub(r"[^\W\d_]+", "a", re.sub(r"\d+", "9", " ".join(text.split())))


def _sure_alone(names: Sequence[RawColumn], founded: Mask) -> Mask:
    """Rows whose one filled cell is an identity in digits, as those of other rows are."""
    sure = np.zeros(len(founded), dtype=bool)
    for cells in names:
        digits = cells.rows_of(lambda cell: shape(str(cell)) == "9")
        sure |= digits & digits[founded].any()
    return sure


def _finding(raw: RawTable, rows: Mask, ended: Ended) -> Finding:
    """Lines set aside, since they may tell of a newborn, or counted as no record."""
    at = np.flatnonzero(rows).astype(np.int64)
    if ended == "set aside":
        problem = say("the line names no dam, no newborn and no date, and yet tells of a newborn")
        remedy = say(
            "write the dam, the newborn or the date in each row; if it is a note, keep it out of the records"
        )
        return Finding(at, "", _texts(raw, at), problem, remedy, ended, about="outcome")
    problem = say("the line names no dam, no newborn and no date and is no record")
    remedy = say(
        "nothing need be done for notes, pens and totals; write dam or date beside what is a newborn"
    )
    return Finding(at, "", _texts(raw, at), problem, remedy, ended)


def _texts(raw: RawTable, at: NDArray[np.int64]) -> list[object]:
    """The filled cells of some rows, one text a row."""
    found: list[object] = []
    for row in at:
        cells = [c.distinct[c.codes[row]] for c in raw.columns.values() if c.codes[row] >= 0]
        found.append(" | ".join(str(cell) for cell in cells)[:120])
    return found


def _speaking_of_death(raw: RawTable, none: NDArray[np.bool_]) -> Iterator[Remark]:
    at = np.flatnonzero(none).astype(np.int64)
    for row, text in zip(at, _texts(raw, at), strict=True):
        if fates.DEAD_IN_TEXT.search(folded(str(text))):
            problem = say(
                'row {row} is no record and speaks of a death ("{text}"); is that newborn among the records?',
                row=raw.labels.get(int(raw.rows[row]), f"{raw.rows[row]:,}"),
                text=text,
            )
            yield Remark("", problem, say("give it a row of its own if it is not"), "asked", "outcome")
