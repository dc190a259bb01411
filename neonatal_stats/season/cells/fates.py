"""What a sheet's cells say of death and life, before rows are held against each other.

Four answers: dead, alive, nothing, and words that cannot be read. A word is dead or alive only where it can mean
nothing else; marks, letters and codes only where the column itself proves them. What else is filled in stays unread.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.dates import take_apart
from neonatal_stats.season.cells.parsed import is_nothing
from neonatal_stats.season.cells.words import plain
from neonatal_stats.season.grid import RawColumn
from neonatal_stats.vocabulary import fates

DEAD, BORN_DEAD, ALIVE, NOTHING, UNREAD, PERHAPS = "dead", "born dead", "alive", "", "?", "perhaps dead"
EMPTY_SIGNS = frozenset("-–—_./ ☐□▢")
TICKS, CROSSES, DAGGERS = frozenset("✓✔☑√🗸"), frozenset("✗✘×xX☒✕✖"), frozenset("†☠💀⚰✝")
BEGUN_DATE = re.compile(
    r"(\d{4}-\d{1,2}-\d{1,2}(?:[ T]\d{1,2}[:.]\d{2}(?::\d{2})?)?|\d{1,2}[./-]\d{1,2}[./-]\d{2,4}(?: \d{1,2}[:.]\d{2})?)"
    r"(?![\d:]).*",
    re.DOTALL,
)
PART_OF_A_DATE = re.compile(
    r"(?:\D{0,12}\s)?\d{1,2}\s*[./-]\s*\d{1,2}\.?(?:\s.*)?|.*\d{1,2}[:.]\d{2}\s*(?:am|pm)?|.*(?:\d\s*(?:am|pm))"
)
_NAMES = "|".join(sorted(fates.MONTHS, key=lambda name: (-len(name), name)))
MONTH = re.compile(
    rf".*\d\.?\s*(?:de |of )?(?:{_NAMES})(?!\w).*|.*(?<!\w)(?:{_NAMES})\s*\d.*|(?:in|im|en|i|w|em|a) (?:{_NAMES})"
)
NULL_DATE = re.compile(r"[0\s:./-]*0[0\s:./-]*|(?:1899-12-3[01]|1900-01-0[01])(?:[ T]00:00(?::00)?)?")
FIRST_WORD = re.compile(r"([^\W\d_]+)\s*(?:[,;:(–—-]|\s[-–—]\s?)\s*(.*)", re.DOTALL)
CODES = {"1": "yes", "0": "no"}


@dataclass(frozen=True, eq=False)
class Read:
    """The answers of a column's distinct cells, and beside them the cause or the date that a cell gives."""

    state: NDArray[np.object_]
    cause: NDArray[np.object_]
    dated: NDArray[np.object_]


def read_died(cells: RawColumn, asked: str, own: Mapping[str, str], causes: Mapping[str, str]) -> Read:
    """A column that says whether newborns died. ``asked`` is what its heading asks for, see `fates.asks_for`.

    ``own`` holds the words of the map (yes, no or "" for nothing) and ``causes`` those that name a cause.
    """
    size = len(cells.distinct)
    state, cause, dated = (np.full(size, NOTHING, dtype=object) for _ in range(3))
    for place, cell in enumerate(cells.distinct):
        state[place], cause[place], dated[place] = _one(cell, asked, own, causes)
    if not any(fates.folded(str(cell)) in fates.WELSH for cell in cells.distinct):
        state[state == "welsh no"] = NOTHING
    counts = np.bincount(cells.codes[cells.codes >= 0], minlength=size)
    _prove(state, counts, asked, len(cells.codes))
    cause[cause == NOTHING] = None
    dated[[isinstance(when, str) and not when for when in dated]] = None
    return Read(state, cause, dated)


def is_blank(text: str) -> bool:
    """True for dashes, points and empty boxes: signs that stand for an empty cell."""
    return set(text) <= EMPTY_SIGNS


def _one(
    cell: object, asked: str, own: Mapping[str, str], causes: Mapping[str, str]
) -> tuple[str, str, object]:
    """The answer of one cell, the cause and the date in it; answers that the column must prove stay marked."""
    meant = own.get(plain(cell))
    if meant is not None:
        return {"yes": DEAD, "no": ALIVE}.get(meant, NOTHING), "", ""
    if isinstance(cell, datetime | date):
        return (NOTHING, "", "") if NULL_DATE.fullmatch(str(cell)) else _dated(cell, asked)
    if isinstance(cell, time):
        return (DEAD if asked == "dead" else UNREAD), "", ""
    text = str(int(cell)) if isinstance(cell, float) and cell.is_integer() else str(cell)
    said = fates.folded(text)
    if said != fates.WELSH_NO and (is_blank(text) or said in fates.NOT_ASKED):
        return NOTHING, "", ""
    if len(said) > 1 and NULL_DATE.fullmatch(text.strip()):
        return NOTHING, "", ""
    if sign := _sign(text.strip(), said):
        return sign, "", ""
    answer = _word(said, causes if asked == "dead" else {})
    if answer[0] != UNREAD:
        return (*answer, "")
    if (when := _date_in(text)) is not None:
        return _dated(when, asked)
    if asked == "dead" and not set(said) & set("?") and _part_of_a_date(text):
        return DEAD, "", ""
    return UNREAD, "", ""


def _dated(when: object, asked: str) -> tuple[str, str, object]:
    """A date under a heading that asks for deaths is a death at that date; elsewhere it may be any date."""
    return (DEAD, "", when) if asked == "dead" else (UNREAD, "", "")


def _sign(text: str, said: str) -> str:
    """Answers that only the heading or the column can settle: yes, no, codes, marks, letters, kind words."""
    if text and set(text) <= DAGGERS:
        return DEAD
    for kind, signs in (("tick", TICKS), ("cross", CROSSES)):
        if text and set(text) <= signs:
            return f"mark {kind}"
    if text and not any(sign.isalnum() for sign in text):
        return UNREAD if "?" in text else f"mark {text}"
    if re.fullmatch(r"\d{1,4}(?:\.0)?", said):
        return f"code {CODES.get(said.removesuffix('.0'), 'other')}"
    if said in fates.YES or said in fates.NO:
        return "word yes" if said in fates.YES else "word no"
    if said == fates.WELSH_NO:
        return "welsh no"
    if said in ("d", "a", "l"):
        return f"letter {said}"
    return "well" if said in fates.WELL else ""


def _word(said: str, causes: Mapping[str, str]) -> tuple[str, str]:
    """The answer of a word or of a short text, and the cause that it names."""
    if said in fates.WONDERED:
        return UNREAD, ""
    if said in fates.ALIVE:
        return ALIVE, ""
    if said in fates.BORN_DEAD:
        return BORN_DEAD, ""
    if said in causes:
        return DEAD, causes[said]
    if said in fates.DEAD:
        return DEAD, ""
    if fates.speaks_of_death(said):
        dead = BORN_DEAD if fates.speaks_of_death(said, fates.BORN_DEAD_SAID) else DEAD
        return (dead if fates.folded(said.rstrip("? ")) == said else PERHAPS), ""
    if said.endswith("?"):
        bare = fates.folded(said.rstrip("? "))
        return (PERHAPS if bare in fates.YES and causes else UNREAD), ""
    if (found := FIRST_WORD.fullmatch(said)) and found[1] in fates.YES and causes:
        return DEAD, causes.get(fates.folded(found[2].strip("() ")), "")
    return UNREAD, ""


def _date_in(text: str) -> object:
    """The date that a cell holds or begins with, as text; None where there is none."""
    if take_apart(text, {}) is not None:
        return text
    found = BEGUN_DATE.fullmatch(text.strip())
    return found[1] if found and take_apart(found[1], {}) is not None else None


def _part_of_a_date(text: str) -> bool:
    short = len(text) <= 40
    return short and bool(
        PART_OF_A_DATE.fullmatch(text.strip().casefold()) or MONTH.fullmatch(fates.folded(text))
    )


def _prove(state: NDArray[np.object_], counts: NDArray[np.int64], asked: str, rows: int) -> None:
    """Settle what a single cell leaves open by the heading and by the column's other cells."""
    _settle_yes_and_no(state, asked)
    kinds = {str(answer) for answer in state}
    marks = {kind for kind in kinds if kind.startswith("mark ")}
    letters = {kind for kind in kinds if kind.startswith("letter ")}
    of_marks = counts[np.isin(state, list(marks))].sum() if marks else 0
    if marks == {"mark tick", "mark cross"} and asked == "alive":
        _replace(state, {"mark tick": ALIVE, "mark cross": DEAD})
    elif len(marks) == 1 and asked == "dead" and UNREAD not in kinds and 2 * of_marks <= rows:
        _replace(state, {next(iter(marks)): DEAD})
    elif marks == {"mark tick"} and asked == "alive":
        _replace(state, {"mark tick": ALIVE})
    known = {str(answer) for answer in state} - letters - {NOTHING, "well"}
    if "letter d" in letters and known <= {DEAD, BORN_DEAD, ALIVE}:
        if len(letters) == 2:
            _replace(state, {"letter d": DEAD, "letter a": ALIVE, "letter l": ALIVE})
        elif len(letters) == 1 and asked == "dead":
            _replace(state, {"letter d": DEAD})
    left = {str(answer) for answer in state} - {NOTHING, "well"}
    if left and left <= {DEAD, BORN_DEAD, ALIVE} and left & {DEAD, BORN_DEAD}:
        _replace(state, {"well": ALIVE})
    settled = np.isin(state, [DEAD, BORN_DEAD, ALIVE, NOTHING, PERHAPS])
    state[~settled] = UNREAD


def _settle_yes_and_no(state: NDArray[np.object_], asked: str) -> None:
    yes, no = {"dead": (DEAD, ALIVE), "alive": (ALIVE, DEAD)}.get(asked, (UNREAD, UNREAD))
    kinds = {str(answer) for answer in state}
    counted = "code other" in kinds
    _replace(state, {"word yes": yes, "word no": no})
    _replace(state, {f"code {word}": UNREAD if counted else own for word, own in (("yes", yes), ("no", no))})
    _replace(state, {"code other": UNREAD, "welsh no": no})


def _replace(state: NDArray[np.object_], meant: Mapping[str, str]) -> None:
    for said, answer in meant.items():
        state[state == said] = answer


def read_sign(cells: RawColumn, own: Mapping[str, str] | None = None) -> NDArray[np.object_]:
    """A column that is filled only where a newborn died (a cause, a time of death): what its distinct cells say.

    Whatever is filled is a sign of death, read or not, except signs for an empty cell and words for none or alive. A
    question mark is a sign that yields where the row is said to be alive.
    """
    answers = np.empty(len(cells.distinct), dtype=object)
    for place, cell in enumerate(cells.distinct):
        answers[place] = _sign_of(cell, own or {})
    return answers


def _sign_of(cell: object, own: Mapping[str, str]) -> str:
    meant = own.get(plain(cell))
    if meant is not None:
        return DEAD if meant else NOTHING
    text = str(cell)
    said = fates.folded(text)
    if is_blank(text) or said in fates.NOT_ASKED or said in ("0", "false"):
        return NOTHING
    if NULL_DATE.fullmatch(text.strip()):
        return NOTHING
    if said in fates.ALIVE or said in fates.NO:
        return ALIVE
    wondered = said in fates.WONDERED or (is_nothing(cell) and said not in fates.NOT_ASKED)
    return PERHAPS if wondered else DEAD


def read_born_alive(cells: RawColumn, own: Mapping[str, str]) -> NDArray[np.object_]:
    """A column that says whether newborns were alive at birth: what its distinct cells say."""
    answers = np.empty(len(cells.distinct), dtype=object)
    for place, cell in enumerate(cells.distinct):
        meant = own.get(plain(cell))
        said = fates.folded(str(cell))
        if meant is not None:
            answers[place] = {"yes": ALIVE, "no": BORN_DEAD}.get(meant, NOTHING)
        elif is_blank(str(cell)) or said in fates.NOT_ASKED:
            answers[place] = NOTHING
        elif said in fates.YES | {"1", "1.0"} or said in fates.ALIVE:
            answers[place] = ALIVE
        elif (
            said
            in fates.NO
            | {"0", "0.0", "dead", "tot", "mort", "morte", "muerto", "dood", "dod"}
            | fates.BORN_DEAD
        ):
            answers[place] = BORN_DEAD
        else:
            answers[place] = DEAD if fates.speaks_of_death(said) else UNREAD
    return answers
