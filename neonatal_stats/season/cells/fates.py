"""What a sheet's cells say of death and life, before rows are held against each other.

Four answers: dead, alive, nothing, and words that cannot be read. A word is dead or alive only where it can mean
nothing else; marks, letters and codes only where the column itself proves them. What else is filled in stays unread.

Every sign is carried beside the typed columns for the checks to weigh, in helper columns: ``died|state`` is what the
column says, ``died|left`` why it left where it left alive, ``died|cell`` its cell where that cannot be read,
``cause|sign`` a sign of death in a column that is no answer of its own, ``died|mark`` what columns that were left out
say.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time

import numpy as np
from numpy.typing import NDArray

from neonatal_stats.season.cells.dates import read_dates, take_apart
from neonatal_stats.season.cells.parsed import Parsed, blank_sentences, is_nothing, plain, sheet_error
from neonatal_stats.season.finding import UNSAID, Said, say
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, objects
from neonatal_stats.season.records_map import TableMap
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary import fates
from neonatal_stats.vocabulary.columns import Column, column
from neonatal_stats.vocabulary.spelling import folded, words
from neonatal_stats.vocabulary.terms import LEFT

DEAD, BORN_DEAD, ALIVE, NOTHING, UNREAD, PERHAPS = "dead", "born dead", "alive", "", "?", "perhaps dead"
NOT_KNOWN = "not known"
"""Somebody wrote that it is not known what became of it: no answer, and none that a map could give."""
DEATHS = (DEAD, BORN_DEAD, PERHAPS)
EMPTY_SIGNS = frozenset("-–—_./ ☐□▢")
TICKS, CROSSES, DAGGERS = frozenset("✓✔☑√🗸"), frozenset("✗✘×xX☒✕✖"), frozenset("†☠💀⚰✝")
VIVO = "v/m"
"""What a heading asks for that stands for vivo/muerto by its letters."""
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
BORN_WITHOUT_LIFE = words("0 0.0 dead tot mort morte muerto dood dod")
TIMES = ("died_at", "found_dead_at")
AGES = ("age_at_death_h", "age_at_death_d")
TOLD = ("died", "born_alive")
READ_AS = {
    DEAD: say("this was read as dead"),
    BORN_DEAD: say("this was read as born dead"),
    ALIVE: say("this was read as alive"),
}
OTHERWISE = say("if it means something else, say in the map under [words.died] what")
WITHOUT_TIME = say("it does not say when the newborn died; the death was counted, its time is not known")
CARCASS = frozenset(("carcass", "carcase", "knackerman", "knacker", "knackers", "kadaver", "fallen stock"))
SECOND = re.compile(r" \[\d+\]$")
MEANT = {
    "yes": DEAD,
    "dead": DEAD,
    "no": ALIVE,
    "alive": ALIVE,
    LEFT: ALIVE,
    "stillborn": BORN_DEAD,
    "unknown": NOT_KNOWN,
}
"""What the words of a map mean under a column that says whether newborns died."""
AT_BIRTH = {
    "yes": ALIVE,
    "alive": ALIVE,
    "no": BORN_DEAD,
    "dead": BORN_DEAD,
    "stillborn": BORN_DEAD,
    "unknown": NOT_KNOWN,
}
YES_NO = {DEAD: "yes", BORN_DEAD: "yes", PERHAPS: "yes", ALIVE: "no"}


Answer = tuple[str, str | None, object]


@dataclass(frozen=True, eq=False)
class Read:
    """The answers of a column's distinct cells, and beside them what a cell gives: cause, date, why it left alive,
    and the cell itself where it says that the death came some time after birth."""

    state: NDArray[np.object_]
    cause: NDArray[np.object_]
    dated: NDArray[np.object_]
    left: NDArray[np.object_]
    later: NDArray[np.object_]


def read_died(cells: RawColumn, asked: str, own: Mapping[str, str], causes: Mapping[str, str]) -> Read:
    """A column that says whether newborns died. ``asked`` is what its heading asks for, see `fates.asks_for`.

    ``own`` holds the words of the map (yes, no, left or "" for nothing) and ``causes`` those that name a cause.
    """
    answers = [_one(cell, asked, own, causes) for cell in cells.distinct]
    state, cause, dated = (objects([answer[part] for answer in answers]) for part in range(3))
    if not any(folded(str(cell)) in fates.WELSH for cell in cells.distinct):
        state[state == "welsh no"] = NOTHING
    _prove(state, cells.uses, asked, len(cells.codes))
    left = objects([_why_it_left(cell, own) for cell in cells.distinct])
    left[state != ALIVE] = None
    return Read(state, cause, dated, left, objects([_later_death(cell) for cell in cells.distinct]))


def _later_death(cell: object) -> str | None:
    """The cell where it says that the newborn died some time after its birth: "died next day"."""
    return cell if isinstance(cell, str) and fates.speaks_of_later_death(cell) else None


def _why_it_left(cell: object, own: Mapping[str, str]) -> str | None:
    """Why a newborn left alive, where the cell says that it did: "sold", "exported"."""
    if (meant := own.get(plain(cell))) is not None:
        return "other" if meant == LEFT else None
    return fates.why_it_left(cell) if isinstance(cell, str) else None


def outcome_asked(heading: str, otherwise: str = "dead") -> str:
    """What the heading of a column of outcomes asks for; ``otherwise`` where it does not say."""
    return VIVO if fates.VIVO.fullmatch(folded(heading)) else fates.asks_for(heading) or otherwise


def is_blank(text: str) -> bool:
    """True for dashes, points and empty boxes: signs that stand for an empty cell."""
    return set(text) <= EMPTY_SIGNS


def _one(cell: object, asked: str, own: Mapping[str, str], causes: Mapping[str, str]) -> Answer:
    """The answer of one cell, the cause and the date in it; answers that the column must prove stay marked."""
    meant = own.get(plain(cell))
    if meant is not None:
        return MEANT.get(meant, NOTHING), None, None
    if isinstance(cell, datetime | date):
        return (NOTHING, None, None) if NULL_DATE.fullmatch(str(cell)) else _dated(cell, asked)
    if isinstance(cell, time):
        return (DEAD if asked == "dead" else UNREAD), None, None
    text = str(int(cell)) if isinstance(cell, float) and cell.is_integer() else str(cell)
    said = folded(text)
    if said != fates.WELSH_NO and (is_blank(text) or said in fates.NOT_ASKED):
        return NOTHING, None, None
    if len(said) > 1 and NULL_DATE.fullmatch(text.strip()):
        return NOTHING, None, None
    if text.strip()[:1] in DAGGERS:
        return DEAD, None, _date_in(text.strip().lstrip("".join(DAGGERS)).strip())
    if said in fates.WONDERED:
        return NOT_KNOWN, None, None
    if said in fates.OK and asked != "dead":
        return ALIVE, None, None
    if sign := _sign(text.strip(), said):
        return sign, None, None
    if fates.TAKEN.fullmatch(said):
        return DEAD, ("predation" if "predation" in causes.values() else None), None
    if asked == "dead" and said in fates.AT_BIRTH:
        return BORN_DEAD, None, None
    if fates.IN_THE_BAG.fullmatch(said):
        return DEAD, None, None
    if fates.age_said(text) and (asked == "dead" or said.startswith(("lived", "lebte"))):
        return DEAD, None, None
    state, cause = _word(said, causes if asked == "dead" else {})
    if state != UNREAD:
        return state, cause or None, None
    if fates.speaks_of_life(text, grown=asked != "dead"):
        return ALIVE, None, None
    if (when := _date_in(text)) is not None:
        return _dated(when, asked)
    dead = asked == "dead" and "?" not in said and _part_of_a_date(text)
    return (DEAD if dead else UNREAD), None, None


def _dated(when: object, asked: str) -> Answer:
    """A date under a heading that asks for deaths is a death at that date; elsewhere it may be any date."""
    return (DEAD, None, when) if asked == "dead" else (UNREAD, None, None)


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
    if len(said) == 1 and said.isalpha():
        return f"letter {said}"
    if said in fates.OK:
        return "fine"
    return "well" if said in fates.WELL else ""


def _word(said: str, causes: Mapping[str, str]) -> tuple[str, str]:
    """The answer of a word or of a short text, and the cause that it names."""
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
        return (dead if folded(said.rstrip("? ")) == said else PERHAPS), ""
    if said.endswith("?"):
        bare = folded(said.rstrip("? "))
        return (PERHAPS if bare in fates.YES and causes else UNREAD), ""
    if (found := FIRST_WORD.fullmatch(said)) and found[1] in fates.YES and causes:
        return DEAD, causes.get(folded(found[2].strip("() ")), "")
    return UNREAD, ""


def _date_in(text: str) -> object:
    """The date that a cell holds or begins with, as text; None where there is none."""
    if take_apart(text, {}) is not None:
        return text
    found = BEGUN_DATE.fullmatch(text.strip())
    return found[1] if found and take_apart(found[1], {}) is not None else None


def _part_of_a_date(text: str) -> bool:
    short = len(text) <= 40
    return short and bool(PART_OF_A_DATE.fullmatch(text.strip().casefold()) or MONTH.fullmatch(folded(text)))


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
    _settle_letters(state, asked, letters)
    left = {str(answer) for answer in state} - {NOTHING, NOT_KNOWN, "well", "fine"}
    if left & {DEAD, BORN_DEAD}:
        _replace(state, {"fine": ALIVE, "well": ALIVE if left <= {DEAD, BORN_DEAD, ALIVE} else UNREAD})
    settled = np.isin(state, [DEAD, BORN_DEAD, ALIVE, NOTHING, PERHAPS, NOT_KNOWN])
    state[~settled] = UNREAD


def _settle_letters(state: NDArray[np.object_], asked: str, letters: set[str]) -> None:
    """Letters of dead and alive: D beside A or L, D alone among words, V and M where the heading says so."""
    known = {str(answer) for answer in state} - letters - {NOTHING, NOT_KNOWN, "well", "fine"}
    if asked == VIVO and letters == {"letter v", "letter m"} and known <= {DEAD, BORN_DEAD, ALIVE}:
        _replace(state, {"letter v": ALIVE, "letter m": DEAD})
    if "letter d" not in letters or not known <= {DEAD, BORN_DEAD, ALIVE}:
        return
    if letters in ({"letter d", "letter a"}, {"letter d", "letter l"}):
        _replace(state, {"letter d": DEAD, "letter a": ALIVE, "letter l": ALIVE})
    elif len(letters) == 1 and (asked == "dead" or ALIVE in known):
        _replace(state, {"letter d": DEAD})


def _settle_yes_and_no(state: NDArray[np.object_], asked: str) -> None:
    yes, no = {"dead": (DEAD, ALIVE), "alive": (ALIVE, DEAD)}.get(asked, (UNREAD, UNREAD))
    kinds = {str(answer) for answer in state}
    for letter in ("letter o", "letter j", "letter s"):  # oui, ja, si
        if kinds - {NOTHING} == {letter, "word no"}:
            _replace(state, {letter: "word yes"})
    counted = "code other" in kinds
    _replace(state, {"word yes": yes, "word no": no})
    _replace(state, {f"code {word}": UNREAD if counted else own for word, own in (("yes", yes), ("no", no))})
    _replace(state, {"code other": UNREAD, "welsh no": no})


def _replace(state: NDArray[np.object_], meant: Mapping[str, str]) -> None:
    for said, answer in meant.items():
        state[state == said] = answer


def read_sign(
    cells: RawColumn, own: Mapping[str, str] | None = None, timed: bool = False, aged: bool = False
) -> NDArray[np.object_]:
    """A column that is filled only where a newborn died (a cause, a time of death): what its distinct cells say.

    Whatever is filled is a sign of death, read or not, except signs for an empty cell and words for none or alive. A
    question mark is a sign that yields where the row is said to be alive, and so is a 0 where it is ``aged``; "at
    birth" says born dead where it is ``timed``, and may be a cause elsewhere.
    """
    signs = [_sign_of(cell, own or {}, timed) for cell in cells.distinct]
    zeros = [aged and str(cell).strip() in ("0", "0.0") for cell in cells.distinct]
    return objects([PERHAPS if zero else sign for zero, sign in zip(zeros, signs, strict=True)])


def _sign_of(cell: object, own: Mapping[str, str], timed: bool) -> str:
    meant = own.get(plain(cell))
    if meant is not None:
        return DEAD if meant else NOTHING
    text = str(cell)
    said = folded(text)
    if (
        is_blank(text)
        or said in fates.NOT_ASKED
        or said in ("0", "false")
        or NULL_DATE.fullmatch(text.strip())
    ):
        return NOTHING
    if said in fates.ALIVE or said in fates.NO:
        return ALIVE
    if said in fates.BORN_DEAD or (timed and said in fates.AT_BIRTH):
        return BORN_DEAD
    wondered = said in fates.WONDERED or (is_nothing(cell) and said not in fates.NOT_ASKED)
    return PERHAPS if wondered else DEAD


def read_born_alive(cells: RawColumn, own: Mapping[str, str]) -> NDArray[np.object_]:
    """A column that says whether newborns were alive at birth: what its distinct cells say."""
    said = {folded(str(cell)) for cell in cells.distinct if cell is not None}
    letters = {"a": "yes", "l": "yes", "d": "no"} if said in ({"a", "d"}, {"l", "d"}) else {}
    return objects([_born_alive(cell, {**letters, **own}) for cell in cells.distinct])


def _born_alive(cell: object, own: Mapping[str, str]) -> str:
    meant, said = own.get(plain(cell)), folded(str(cell))
    if meant is not None:
        return AT_BIRTH.get(meant, NOTHING)
    if is_blank(str(cell)) or said in fates.NOT_ASKED:
        return NOTHING
    if said in fates.YES | {"1", "1.0"} or said in fates.ALIVE:
        return ALIVE
    if said in fates.NO | BORN_WITHOUT_LIFE | fates.BORN_DEAD:
        return BORN_DEAD
    return DEAD if fates.speaks_of_death(said) else UNREAD


def read_outcome(
    tidy: Column,
    cells: RawColumn,
    heading: str,
    place: str,
    own: TableMap,
    settings: Settings,
    months: dict[str, int],
) -> Parsed:
    """The columns that say whether a newborn died, and whether it was born alive."""
    words = own.words.get(tidy.name, {})
    if tidy.name == "born_alive":
        state = read_born_alive(cells, words)
        answers = {ALIVE: "yes", BORN_DEAD: "no"}
        extra: dict[str, tuple[NDArray[np.object_], object]] = {}
    else:
        asked = outcome_asked(heading)
        read = read_died(cells, asked, words, _culprits(own, settings))
        state, answers = read.state, YES_NO
        extra = {"cause": (read.cause, None), "left": (read.left, None), "later": (read.later, None)}
        extra |= {**_dates(read.dated, place, settings, months)}
    values = objects([answers.get(str(answer)) for answer in state])
    told = objects(
        [_told(cell, str(answer), words) for cell, answer in zip(cells.distinct, state, strict=True)]
    )
    extra |= {"state": (state, None), "cell": (_shown(cells, state, (UNREAD, PERHAPS, NOT_KNOWN)), None)}
    nothing = blank_sentences(len(values))
    return Parsed(values, None, nothing, UNSAID, told, OTHERWISE, extra=extra)


def _told(cell: object, answer: str, own: Mapping[str, str]) -> Said:
    """What is said of a cell whose words a person would read so, and that is neither plain nor of the map."""
    if not isinstance(cell, str) or plain(cell) in own or answer not in READ_AS:
        return UNSAID
    said = folded(cell)
    if fates.IN_THE_BAG.fullmatch(said):
        return say("this was read as dead at birth; whether it had breathed is not known")
    if said in ("v", "m"):
        return READ_AS[answer]
    if answer == ALIVE:
        soft = fates.speaks_of_life(cell) and not fates.PLAINLY_ALIVE.match(said)
    else:
        soft = said in fates.TOLD_BORN_DEAD or (answer == DEAD and bool(fates.TAKEN.fullmatch(said)))
    return READ_AS[answer] if soft else UNSAID


def _shown(cells: RawColumn, state: NDArray[np.object_], which: tuple[str, ...]) -> NDArray[np.object_]:
    """The cells whose answer is one of these, as text."""
    pairs = zip(state, cells.distinct, strict=True)
    return objects([str(cell) if answer in which else None for answer, cell in pairs])


def _culprits(own: TableMap, settings: Settings) -> dict[str, str]:
    """Words that may stand in a column of deaths for how a newborn died."""
    said = {
        word: cause for cause, words in fates.CULPRITS.items() if cause in settings.causes for word in words
    }
    farms = {**settings.cause_words, **own.words.get("cause", {})}
    return said | {folded(word): cause for word, cause in farms.items() if cause}


def _dates(
    dated: NDArray[np.object_], place: str, settings: Settings, months: dict[str, int]
) -> dict[str, tuple[NDArray[np.object_], object]]:
    """Dates that stand where yes was asked for."""
    if not any(when is not None for when in dated):
        return {}
    given = RawColumn(np.arange(len(dated)), dated)
    parsed = read_dates(column("births", "died"), given, place, settings, months)
    return {"when": (parsed.values, np.datetime64("NaT")), "when_is_day": parsed.extra["is_day"]}


def with_signs(tidy: Column, cells: RawColumn, parsed: Parsed, own: TableMap) -> Parsed:
    """A column's values with the signs of death among its cells."""
    if tidy.name in (*TIMES, *AGES, "cause"):
        return _filled_only_for_the_dead(tidy, cells, parsed, own)
    dead = [_tells_of_death(tidy, cell, parsed, at) for at, cell in enumerate(cells.distinct)]
    if not any(dead):
        return parsed
    signs = objects([DEAD if told else None for told in dead])
    values = parsed.values.copy()
    if tidy.name == "newborn_id":
        values[dead] = None
    return replace(parsed, values=values, extra={**parsed.extra, "sign": (signs, None)})


def _filled_only_for_the_dead(tidy: Column, cells: RawColumn, parsed: Parsed, own: TableMap) -> Parsed:
    of_column = own.words.get(tidy.name)
    signs = read_sign(cells, of_column, timed=tidy.name != "cause", aged=tidy.name in AGES)
    trouble = parsed.trouble.copy()
    for at, sign in enumerate(signs):
        if sign in (ALIVE, NOTHING) or (sign == BORN_DEAD and tidy.name != "cause"):
            trouble[at] = UNSAID
        elif tidy.name in TIMES and not trouble[at] and np.isnat(parsed.values[at]):
            trouble[at] = WITHOUT_TIME
    signed = {"sign": (signs, None), "cell": (_shown(cells, signs, (DEAD, BORN_DEAD, PERHAPS)), None)}
    return replace(parsed, trouble=trouble, extra={**parsed.extra, **signed})


def _tells_of_death(tidy: Column, cell: object, parsed: Parsed, at: int) -> bool:
    """A word for dead where a number, a date, an identity or another word belongs; a basis that only the dead have."""
    if tidy.name == "cause_basis":
        return bool(parsed.values[at] == "post-mortem")
    if not isinstance(cell, str) or cell.isdigit() or (tidy.kind == "text" and tidy.name != "newborn_id"):
        return False
    if tidy.name == "left_reason" and folded(cell) in CARCASS:
        return True
    if tidy.name == "newborn_id":
        return len(cell) <= 20 and folded(cell) in fates.DEAD
    return bool(parsed.trouble[at]) and not sheet_error(cell) and fates.speaks_of_death(cell)


Meant = Mapping[str, str | None]
"""What each heading of a sheet means: "" where the map leaves it out, None where nothing says."""


def marks(raw: RawTable, means: Meant) -> tuple[NDArray[np.object_], Mask]:
    """What columns that were left out say of a death in each row, as heading and cell; None where nothing.

    Beside it True where such a column answers the very question of ``died`` and says yes: then even "no" is in doubt.
    """
    found, against = np.full(len(raw.rows), None, dtype=object), np.zeros(len(raw.rows), dtype=bool)
    for heading, cells in left_out(raw, means):
        heading_as_found, heading = heading, SECOND.sub("", heading)
        here = cells.rows_of(tells_of_deaths(heading, cells))
        if fates.asks_for(heading) in ("dead", "alive") and not fates.may_be_later(heading):
            against |= here & ~cells.rows_of(lambda cell: str(cell).isdigit())
        elif means[heading_as_found] is None:
            against |= here & cells.rows_of(lambda cell: isinstance(cell, str) and folded(cell) in fates.DEAD)
        _quote(found, here, heading_as_found, cells)
    for place, number in enumerate(raw.rows.tolist() if raw.painted else ()):
        if found[place] is None and number in raw.painted:
            found[place] = raw.painted[number]
    return found, against


def later_deaths(raw: RawTable, means: Meant) -> NDArray[np.object_]:
    """What remarks and columns that were left out say of a death some time after birth, as heading and cell."""
    found = np.full(len(raw.rows), None, dtype=object)
    for heading, cells in left_out(raw, means):
        if fates.ABOUT_ANOTHER.search(folded(heading)):
            continue
        _quote(found, cells.rows_of(lambda cell: _later_death(cell) is not None), heading, cells)
    return found


def said_born_dead(raw: RawTable, means: Meant) -> NDArray[np.object_]:
    """What remarks and columns that were left out say of a newborn that was born dead, as heading and cell."""
    found = np.full(len(raw.rows), None, dtype=object)
    for heading, cells in left_out(raw, means):
        if fates.ABOUT_ANOTHER.search(folded(heading)):
            continue
        born_dead = cells.rows_of(
            lambda cell: isinstance(cell, str) and fates.speaks_of_death(cell, fates.BORN_DEAD_SAID)
        )
        _quote(found, born_dead, heading, cells)
    return found


def _quote(found: NDArray[np.object_], rows: Mask, heading: str, cells: RawColumn) -> None:
    """Write a heading and its cell into those of the rows in which nothing was found before."""
    at = np.flatnonzero(rows & (found == None))  # noqa: E711
    named = SECOND.sub("", heading)
    found[at] = [f"{named}: {cell}" for cell in cells.at(at)]


def left_out(raw: RawTable, means: Meant) -> Iterator[tuple[str, RawColumn]]:
    """Filled columns that mean nothing here and that the map does not leave out on purpose, and remarks."""
    for heading, cells in raw.columns.items():
        if means[heading] in (None, "remarks") and cells.filled.any():
            yield heading, cells


def tells_of_deaths(heading: str, cells: RawColumn) -> Mask:
    """Which distinct cells of a column that was left out speak of the newborn's death."""
    asked = fates.asks_for(heading)
    if asked == "examined":
        return np.isin(read_sign(cells), (DEAD, BORN_DEAD))
    if asked:
        return np.isin(read_died(cells, asked, {}, {}).state, DEATHS)
    if fates.ABOUT_ANOTHER.search(folded(heading)):
        return np.zeros(len(cells.distinct), dtype=bool)
    texts = [cell if isinstance(cell, str) else "" for cell in cells.distinct]
    return np.array(
        [any(map(str.isalpha, text)) and fates.speaks_of_death(text, fates.DEAD_IN_TEXT) for text in texts]
    )
