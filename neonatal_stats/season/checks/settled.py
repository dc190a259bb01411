"""What became of each newborn, settled from all that its row says: dead, alive, not written or not readable.

Any sign of death makes a death. A blank is alive only where the same column of the same file writes the dead and leaves
the living blank. What is left is set aside with its own finding, after litters were counted, and counts as undecided.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.fates import AGES, DEATHS, TIMES
from neonatal_stats.season.cells.restated import UNDER_ALIVE
from neonatal_stats.season.finding import EITHER, CannotRead, Finding, say, term, where
from neonatal_stats.season.following.ages import birth, known, moments, words
from neonatal_stats.season.grid import Mask, Remark
from neonatal_stats.season.ledger import Gathered
from neonatal_stats.vocabulary.fates import BORN_DEAD_SAID, speaks_of_death

OPEN = ("?", "not known")
SIGNS = (*TIMES, *AGES, "cause")
LEFT_ALIVE = ("sold", "moved", "lent")
UNREAD_SHARE, UNREAD_LEAST, LISTED = 0.05, 3, 8
WRITE = say(
    "write dead, stillborn or alive in died, or say in the map under [words.died] which of these it means (or left: "
    "it left alive)"
)
AGAINST = {
    "died_at": say("it is said not to have died, and yet a time of death is given"),
    "found_dead_at": say("it is said not to have died, and yet it was found dead"),
    "cause": say("it is said not to have died, and yet a cause of loss is given"),
    "age_at_death_h": say("it is said not to have died, and yet an age at death is given"),
    "age_at_death_d": say("it is said not to have died, and yet an age at death is given"),
}


@dataclass(frozen=True, eq=False)
class Settled:
    """Findings to enter once litters are counted, and what is to be said of a file's blanks, with its file."""

    findings: tuple[Finding, ...]
    remarks: tuple[tuple[str, Remark], ...]


class _Evidence:
    """The helper columns of births, and what they say put together: dead, alive, torn between both, or unread."""

    def __init__(self, births: Gathered) -> None:
        self.births, self.frame = births, births.frame
        self.file = births.origin["file"].to_numpy(dtype=object)
        self.state, self.birth = self.text("died|state"), self.text("born_alive|state")
        self.still: Mask = np.zeros(len(self.frame), dtype=bool)
        self.declared, self.bare = self.flag("died|declared"), self.flag("died|bare")
        self.sign, wondered, alive = self._signs()
        self.not_known: Mask = (self.state == "not known") | (self.birth == "not known")
        told = np.isin(self.state, DEATHS) | np.isin(self.birth, DEATHS) | self._said_stillborn()
        self.alive: Mask = (alive | (self.state == "alive")) & ~told
        signed: Mask = pd.notna(self.sign)
        self.dead: Mask = told | ((signed | wondered) & ~self.alive)
        self.torn: Mask = self.alive & signed
        open_ = np.isin(self.state, OPEN) | (np.isin(self.birth, OPEN) & ~self.alive)
        self.unread: Mask = open_ & ~self.dead & ~self.torn

    def _signs(self) -> tuple[NDArray[np.object_], Mask, Mask]:
        """The first column that tells of a death, row by row; where one wonders, and where one says alive."""
        sign = np.full(len(self.frame), None, dtype=object)
        wondered, alive = (np.zeros(len(self.frame), dtype=bool) for _ in range(2))
        for name in [str(name) for name in self.frame if str(name).endswith("|sign")]:
            answers = self.text(name)
            sign[np.isin(answers, ("dead", "born dead")) & pd.isna(sign)] = name.removesuffix("|sign")
            self.still |= answers == "born dead"
            wondered |= answers == "perhaps dead"
            alive |= answers == "alive"
        return sign, wondered, alive

    def _said_stillborn(self) -> Mask:
        """Rows whose cause is stillbirth: born dead, also where died answers no and means a later death."""
        if "cause" not in self.frame:
            return np.zeros(len(self.frame), dtype=bool)
        said = self.frame["cause"].astype(object) == "stillbirth"
        return np.asarray(said.to_numpy(dtype=bool) & (self.birth != "alive"))

    def told_born_dead(self) -> Mask:
        """Rows that say in a column of their own that the newborn was born dead."""
        told = self.still | (self.state == "born dead") | (self.birth == "born dead")
        return np.asarray(told | self._said_stillborn(), dtype=bool)

    def text(self, name: str) -> NDArray[np.object_]:
        """A helper column of words, None where there is none."""
        return words(self.frame, name)

    def flag(self, name: str) -> Mask:
        """A helper column of yes and no."""
        if name not in self.frame:
            return np.zeros(len(self.frame), dtype=bool)
        return self.frame[name].to_numpy(dtype=bool, na_value=False)

    def filled(self, name: str) -> Mask:
        """True where a typed column has a value."""
        if name not in self.frame:
            return np.zeros(len(self.frame), dtype=bool)
        return self.frame[name].notna().to_numpy(dtype=bool)

    def said_to_have_left(self) -> Mask:
        """True where a reason tells that it left alive, with its day or without."""
        return np.isin(self.text("left_reason"), LEFT_ALIVE)


def settle(births: Gathered) -> Settled:
    """Write every death into ``died`` and what its cells say of cause and time into theirs; find what stays open.

    Raises
    ------
    CannotRead
        Where a file's outcome is empty, where more than one in twenty of its births cannot be read, or where one word
        that nobody knows would make most of its newborns dead.
    """
    said = _Evidence(births)
    still_here = births.ledger.kept
    if len(said.file) and births.ledger.no_record.all():
        raise CannotRead(
            f"{said.file[0]}: none of its lines names a dam, a newborn or a date; write one of them in each row."
        )
    for file in pd.unique(said.file):
        here = (said.file == file) & still_here
        _must_tell(said, str(file), here)
        _must_be_readable(said, str(file), here)
        _must_not_fill_the_column(said, str(file), here)
    marked, against = pd.notna(said.text("died|mark")), said.flag("died|against")
    contradicted = said.alive & ~said.torn & against & still_here
    blank = ~said.dead & ~said.alive & ~said.unread & ~said.torn
    seen = blank & (said.filled("left_at") | said.filled("last_seen_at") | said.said_to_have_left())
    taken, at_birth, remarks = _blanks(said, blank & ~seen & still_here, marked)
    held = blank & (taken | seen) & marked
    unwritten = blank & ~seen & ~taken
    _write_down(births, said)
    _watched_at_birth_alone(births.frame, at_birth)
    remarks += _left_undated(said, still_here & ~unwritten & ~held & ~contradicted)
    findings = (
        *_unread(said),
        *_torn(said),
        *_marked(said, held, contradicted),
        _not_written(unwritten),
        *_doubts(said, marked & ~contradicted),
        _born_dead_by_a_text(said),
    )
    return Settled(tuple(found for found in findings if len(found.at)), tuple(remarks))


def _must_tell(said: _Evidence, file: str, here: Mask) -> None:
    told = said.dead | said.alive | said.unread | said.torn | said.declared
    told |= said.filled("left_at") | said.filled("last_seen_at") | said.said_to_have_left()
    told |= said.birth == "alive"
    if not here.any() or told[here].any():
        return
    names = [name for name in ("died", "born_alive", *SIGNS) if name in said.frame]
    marked = [text for text in said.text("died|mark")[here] if text is not None]
    cells = (
        "1 cell of another column speaks"
        if len(marked) == 1
        else f"{len(marked)} cells of other columns speak"
    )
    hint = f"; {cells} of a death, such as {marked[0]}" if marked else ""
    raise CannotRead(
        f"{file}: no column says what became of the newborns, since {' and '.join(names)} hold nothing{hint}; write "
        'yes or no in died, or, if every newborn lived, say in the map under [fixed] died = "no".'
    )


def _must_be_readable(said: _Evidence, file: str, here: Mask) -> None:
    unread = here & said.unread & ~said.not_known
    if unread.sum() < UNREAD_LEAST or unread.sum() <= UNREAD_SHARE * here.sum():
        return
    name = "died" if (said.state[unread] == "?").any() else "born_alive"
    cells = pd.Series(said.text(f"{name}|cell")[unread]).dropna()
    if name == "died" and cells.str.endswith(UNDER_ALIVE).any():
        cells = cells[cells.str.endswith(UNDER_ALIVE)].str.removesuffix(UNDER_ALIVE)
        raise CannotRead(
            f"{file}, column alive_now: what became of {len(cells):,} of {int(here.sum()):,} newborns cannot be read "
            f"({counted(cells)}); say in the map under [words.alive_now] which of these words mean yes (alive) and "
            "which no."
        )
    raise CannotRead(
        f"{file}, column {name}: what became of {int(unread.sum()):,} of {int(here.sum()):,} newborns cannot be read "
        f"({counted(cells)}); say in the map under [words.{name}] which of these words mean "
        f"{'dead, stillborn, alive, left (it left alive) or unknown' if name == 'died' else 'alive or stillborn'}."
    )


def _must_not_fill_the_column(said: _Evidence, file: str, here: Mask) -> None:
    """One word that is no date and no known cause must not make most newborns of a file dead."""
    for name in SIGNS:
        if name not in said.frame:
            continue
        by_word = said.text(f"{name}|sign")
        others = np.isin(said.state, ["dead", "born dead", "alive"]) | (said.birth == "born dead")
        unread = here & np.isin(by_word, DEATHS) & ~said.filled(name) & ~others
        if unread.sum() < UNREAD_LEAST + 2 or 2 * unread.sum() <= here.sum():
            continue
        cells = pd.Series(said.text(f"{name}|cell")[unread]).dropna()
        raise CannotRead(
            f"{file}, column {name}: {counted(cells)} would make {int(unread.sum()):,} of {int(here.sum()):,} "
            "newborns dead; leave the cell empty where none died, or write yes or no in died beside it."
        )


def counted(cells: pd.Series) -> str:
    """The distinct cells with their counts, the most frequent first.

    >>> counted(pd.Series(["fox", "cold", "fox"]))
    '"fox" (2), "cold" (1)'
    """
    on_a_line = cells.astype(str).map(lambda cell: " ".join(cell.splitlines()))
    counts = on_a_line.str.slice(0, 40).value_counts(sort=True)
    counts = counts.sort_index(kind="stable").sort_values(ascending=False, kind="stable")
    shown = [f'"{word}" ({n:,})' for word, n in counts.head(LISTED).items()]
    return ", ".join([*shown, f"and {len(counts) - LISTED} more"] if len(counts) > LISTED else shown)


def _blanks(said: _Evidence, blank: Mask, marked: Mask) -> tuple[Mask, Mask, list[tuple[str, Remark]]]:
    """Rows whose blank means alive, and of these those known to live at birth alone; and what is said, by file."""
    taken, at_birth, remarks = said.declared.copy(), np.zeros_like(said.declared), []
    for file in pd.unique(said.file):
        here = (said.file == file) & said.births.ledger.kept
        silent = blank & here & ~said.declared
        if not silent.any():
            continue
        column = _writes_only_deaths(said, here)
        if column:
            here_taken = silent & ~said.bare
        elif "alive" in said.state[here]:
            continue
        else:
            here_taken, column = silent & (said.birth == "alive"), "born_alive"
            at_birth |= here_taken
        taken |= here_taken
        here_taken &= ~marked
        if here_taken.any():
            remarks.append((str(file), _taken_as_alive(said, column, here, here_taken)))
    return taken, at_birth, remarks


def _writes_only_deaths(said: _Evidence, here: Mask) -> str:
    """The column of a file that writes the dead and has no word for alive; "" where none does."""
    if "alive" in said.state[here]:
        return ""
    if np.isin(said.state[here], DEATHS).any():
        return "died"
    for name in SIGNS:
        answers = said.text(f"{name}|sign")[here]
        if np.isin(answers, DEATHS).any() and "alive" not in answers:
            return name
    births = said.birth[here]
    return "born_alive" if "born dead" in births and "alive" not in births else ""


def _taken_as_alive(said: _Evidence, column: str, here: Mask, taken: Mask) -> Remark:
    dead, told = int((said.dead & here).sum()), int((here & (said.dead | said.alive)).sum())
    numbers = {
        "n": f"{int(taken.sum()):,}",
        "dead": f"{dead:,}",
        "born": f"{told + int(taken.sum()):,}",
        "told": f"{told:,}",
    }
    if column == "born_alive":
        problem = say(
            "born alive, and nothing is said of later: {n} newborns, watched at birth alone; {dead} of "
            "{born} are known to be lost, and later losses are not known",
            **numbers,
        )
        return Remark(
            column,
            problem,
            say(
                "write in died which of them died later, and no for the others; if none did, say in the map under "
                '[fixed] died = "no"'
            ),
            "asked",
            "outcome",
        )
    problem = say(
        "blank cells taken as alive: {n}, since the column writes the dead and leaves the others blank; {dead} of "
        "{born} are lost, and without the blanks it would be {dead} of {told}",
        **numbers,
    )
    remedy = say(
        "write no in died for those that lived, or, if blank always means alive, say in the map under [fixed] "
        'died = "no"'
    )
    return Remark(column, problem, remedy, "asked", "outcome")


def _write_down(births: Gathered, said: _Evidence) -> None:
    """Every death into ``died``; a cause and a date that stood in it into their own columns where these are blank."""
    frame = births.frame
    told = frame.get("died", pd.Series(pd.NA, index=frame.index, dtype="boolean"))
    alive = said.alive & ~said.dead & ~said.torn & ~said.unread
    still = said.birth == "born dead"
    died = told.mask(said.dead & ~(still & (said.state == "alive")), True).mask(
        alive & told.isna().to_numpy(), False
    )
    frame["died"] = died
    cause = said.text("died|cause").copy()
    cause[((said.state == "born dead") | said.still) & pd.isna(cause)] = "stillbirth"
    if any(word is not None for word in cause):
        own = frame.get("cause", pd.Series(None, index=frame.index, dtype=object))
        frame["cause"] = own.where(own.notna(), pd.Series(cause, index=frame.index))
    why = said.text("died|left").copy()
    why[~alive] = None
    left = pd.Series(why, index=frame.index)
    if left.notna().any():
        reason = frame.get("left_reason", pd.Series(None, index=frame.index, dtype=object)).astype(object)
        frame["left_reason"] = reason.where(reason.notna(), left)
    if "died|when" in frame:
        _fill_time(frame)


def _left_undated(said: _Evidence, here: Mask) -> Iterator[tuple[str, Remark]]:
    """Newborns that left alive and of which no date tells when, file by file."""
    dated = said.filled("left_at") | said.filled("last_seen_at") | said.filled("last_alive_at")
    gone = here & said.filled("left_reason") & ~dated & ~said.dead & ~said.torn & ~said.unread
    for file in pd.unique(said.file[gone]):
        problem = say(
            "left alive (sold, moved and the like), and no date says when: {n}; they count as born alive, and from "
            "birth on as no longer watched",
            n=f"{int((gone & (said.file == file)).sum()):,}",
        )
        remedy = say(
            "write the day on which each left in left_at, or that on which it was last seen in last_seen_at; where "
            "nobody knows it, nothing need be done"
        )
        yield str(file), Remark("left_reason", problem, remedy)


def _watched_at_birth_alone(frame: pd.DataFrame, rows: Mask) -> None:
    """Newborns of which only the birth is told were last seen then; without its date they left, nobody knows when."""
    if not rows.any():
        return
    born, by_day = birth(frame), ~known(moments(frame, "born_at"))
    if "born_at|is_day" in frame:
        by_day |= frame["born_at|is_day"].to_numpy(dtype=bool, na_value=False)
    seen = moments(frame, "last_seen_at")
    seen_by_day = np.zeros(len(frame), dtype=bool)
    if "last_seen_at|is_day" in frame:
        seen_by_day = frame["last_seen_at|is_day"].to_numpy(dtype=bool, na_value=False)
    here = rows & ~known(seen)
    frame["last_seen_at"] = np.where(here, born, seen)
    frame["last_seen_at|is_day"] = np.where(here, by_day, seen_by_day)
    if (undated := here & ~known(born)).any():
        reason = words(frame, "left_reason")
        frame["left_reason"] = np.where(undated & pd.isna(reason), "other", reason)


def _fill_time(frame: pd.DataFrame) -> None:
    """Dates that stood in ``died`` go to ``died_at`` where it is blank."""
    if "died_at" not in frame:
        frame["died_at"], frame["died_at|is_day"] = (
            frame["died|when"],
            frame["died|when_is_day"].fillna(False).astype(bool),
        )
        return
    blank = frame["died_at"].isna() & frame["died|when"].notna()
    frame["died_at|is_day"] = frame["died_at|is_day"].where(~blank, frame["died|when_is_day"]).astype(bool)
    frame["died_at"] = frame["died_at"].where(~blank, frame["died|when"])


def _unread(said: _Evidence) -> Iterator[Finding]:
    for name, state in (("died", said.state), ("born_alive", said.birth)):
        open_ = said.unread & ((name == "died") | ~np.isin(said.state, OPEN))
        for answer, problem in (
            ("?", say("what became of it cannot be read: this is no word for dead or alive")),
            ("not known", say("what became of it cannot be read: it says that nobody knows")),
        ):
            at = where(open_ & (state == answer))
            values = said.text(f"{name}|cell")[at].tolist()
            yield Finding(at, name, values, problem, WRITE, "set aside", about="not readable")


def _torn(said: _Evidence) -> Iterator[Finding]:
    for name in dict.fromkeys(said.sign[said.torn]):
        at = where(said.torn & (said.sign == name))
        general = say(
            "it is said not to have died, and yet {column} speaks of a death", column=term(str(name))
        )
        values = said.births.frame[name].take(at).tolist() if name in said.births.frame else [None] * len(at)
        column = "died" if name in (*TIMES, *AGES) else str(name)
        problem = AGAINST.get(str(name), general)
        yield Finding(at, column, values, problem, EITHER, "set aside", about="not readable")


def _marked(said: _Evidence, held: Mask, contradicted: Mask) -> Iterator[Finding]:
    """Deaths of which only a column tells that was left out."""
    marks = said.text("died|mark")
    remedy = say("write yes or no in died, or say in the map under [columns] what that column holds")
    for rows, problem in (
        (held, say("a column that was left out speaks of a death, and the outcome of this row is blank")),
        (contradicted, say("it is said not to have died, and yet a column that was left out says so")),
    ):
        at = where(rows)
        yield Finding(at, "died", marks[at].tolist(), problem, remedy, "set aside", about="not readable")


def _not_written(unwritten: Mask) -> Finding:
    at = where(unwritten)
    problem = say("nothing in the row says whether the newborn lived or died")
    remedy = say("write yes or no in died, or a date in died_at or last_seen_at")
    return Finding(at, "died", [None] * len(at), problem, remedy, "set aside", about="not written")


def _born_dead_by_a_text(said: _Evidence) -> Finding:
    """Deaths of which a remark, or a column that was left out, says that they were at birth, and no other does."""
    texts = said.text("died|mark")
    spoken = [
        text is not None and speaks_of_death(str(text).partition(": ")[2], BORN_DEAD_SAID) for text in texts
    ]
    at = where(
        said.dead & (said.state != "born dead") & (said.birth != "born dead") & np.array(spoken, dtype=bool)
    )
    problem = say(
        "a text says that it was born dead, and no column does; it was counted as dead, not as stillborn"
    )
    remedy = say("write no in born_alive, or stillbirth in cause")
    return Finding(at, "born_alive", texts[at].tolist(), problem, remedy, "asked", about="outcome")


def _doubts(said: _Evidence, marked: Mask) -> Iterator[Finding]:
    """Deaths that rest on a sign alone or on a word with a question mark, and lives that another column questions."""
    cells, marks = said.text("died|cell"), said.text("died|mark")
    for at, column, values, problem in (
        (
            where(said.dead & np.isin(said.state, OPEN)),
            "died",
            cells,
            say(
                "this is no word for dead or alive; it was counted as dead, since another column tells of its death"
            ),
        ),
        (
            where(said.state == "perhaps dead"),
            "died",
            cells,
            say("this was counted as a death, the question mark notwithstanding"),
        ),
        (
            where(said.alive & ~said.torn & marked),
            "died",
            marks,
            say("it is said to be alive, and a column that was left out speaks of a death"),
        ),
        (
            where(said.dead & (said.state == "alive") & (said.birth != "born dead")),
            "cause",
            np.full(len(cells), "stillbirth", dtype=object),
            say("the cause is stillbirth and it is said not to have died; it is counted as born dead"),
        ),
    ):
        yield Finding(at, column, values[at].tolist(), problem, EITHER, "noted", about="outcome")
    beside = said.text("died|born dead beside")
    at = where(said.dead & pd.notna(beside) & ~said.told_born_dead())
    problem = say("a remark says that it was born dead; it is counted as lost, and not among the born dead")
    remedy = say("write stillborn in died, or no in born_alive, where it was born dead")
    yield Finding(at, "died", beside[at].tolist(), problem, remedy, "noted", about="outcome")
    at = where((said.birth == "?") & ~said.unread)
    values = said.text("born_alive|cell")[at].tolist()
    problem = say("this is no word for {column}", column=term("born_alive"))
    yield Finding(at, "born_alive", values, problem, WRITE, "set to missing")
    for name in dict.fromkeys(said.sign[said.dead]):
        if name is not None and name not in (*SIGNS, "cause_basis"):
            rows = said.dead & (said.sign == name) & ~np.isin(said.state, ["dead", "born dead"])
            at = where(rows & (said.birth != "born dead"))
            problem = say("{column} speaks of a death; it was counted as dead", column=term(str(name)))
            yield Finding(at, str(name), [None] * len(at), problem, WRITE, "noted", about="outcome")
