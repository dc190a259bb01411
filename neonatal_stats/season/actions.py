"""Actions, checked cell by cell and key by key; what is wrong is named with how to mend it.

Those that were agreed, which a plan holds; and those that a keeper thinks of paying for, each with its cost and what it
might spare:

[[action]]
what = "a night lamber for three weeks"
cost = 1800                   # a season, in the currency of the settings
spares = [0.2, 0.5]           # of the losses that it is aimed at, from and to
source = "our vet's guess"    # where that range comes from
factor = "night"              # aimed at one group of newborns; without it at all
level = "by night"
window = "7 d"                # their losses by then; without it by the end
weeks = 3                     # only of the weeks in which most are born; without it of the whole season
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from numbers import Real
from typing import Any

from neonatal_stats.season.finding import CannotRead, printable
from neonatal_stats.season.toml_file import check_keys, nearest, quoted, table_of, text, wrong
from neonatal_stats.vocabulary.factors import ACTIONABLE, BY_NAME
from neonatal_stats.vocabulary.plan import BY_COLUMN, DONE, PlanMeasure, done_meant, measure_meant

WHOLE = 100.0
SHARES = "write a percent such as 85 %, a share such as 0.85, or counts such as 31 of 60"
COUNTS = re.compile(r"(\d+) ?(?:of|out of|von|/) ?(\d+)(?: ?\(.*\))?")
NUMBER = re.compile(r"[<>=~≤≥]* ?(\d+(?:[.,]\d+)?) ?(%?)")
Place = Callable[[str], str]
"""Where a column of this row stands, as it is named in a sentence: "plan.csv, row 3, column to"."""


@dataclass(frozen=True)
class Share:
    """A share as it was written: its text, its value from 0 to 1, and the counts where those were written, else 0."""

    text: str
    value: float
    events: int = 0
    n: int = 0


@dataclass(frozen=True)
class Action:
    """One action of a plan, as written; "" and None where a cell is blank.

    ``done`` is a word of `vocabulary.plan.DONE`, "" where it is not recorded, which is never guessed. ``measure`` is a
    name of `plan_measures`. ``stood`` and ``target`` are the plan's from and to. ``season`` is the one that it is for.
    """

    action: str
    who: str = ""
    by_when: str = ""
    cost: str = ""
    done: str = ""
    measure: str = ""
    stood: Share | None = None
    target: Share | None = None
    season: str = ""


def entries(place: str, found: Iterable[object], known: Iterable[PlanMeasure]) -> tuple[Action, ...]:
    """The actions of a plan in a settings file, or made in Python: each an `Action`, or keys and values."""
    known = tuple(known)
    return tuple(_entry(f"{place}, entry {entry}", one, known) for entry, one in enumerate(found, start=1))


def _entry(place: str, found: object, known: tuple[PlanMeasure, ...]) -> Action:
    if isinstance(found, Action):
        if found.measure and found.measure not in {one.name for one in known}:
            raise _no_measure(f"{place}, measure", found.measure, known)
        return found
    cells = {str(key): value for key, value in table_of(place, found).items()}
    check_keys(place, cells, BY_COLUMN)
    return action(cells, lambda column: f"{place}, {column}", known)


def action(cells: Mapping[str, object], place: Place, known: tuple[PlanMeasure, ...]) -> Action:
    """The action of one row: the cells by the plan's columns, blanks left out or None.

    Raises `CannotRead`: where, what was found, what belongs there.
    """
    words = {name: text_of(cells.get(name)) for name in BY_COLUMN}
    if not words["action"]:
        filled = next(name for name, text in words.items() if text) if any(words.values()) else "action"
        raise CannotRead(
            f"{place('action')}: there is no action, though {filled.replace('_', ' ')} is filled in; write what was "
            "agreed, or empty the row."
        )
    measure = _measure(words["measure"], place("measure"), known)
    stood, target = (_share(cells.get(name), place(name)) for name in ("from", "to"))
    if target is not None and measure is None:
        raise CannotRead(
            f"{place('to')}: {quoted(target.text)} is a target of no measure; name the measure, or empty the cell."
        )
    if measure is not None and stood is not None and target is not None:
        _must_improve(measure, stood, target, place("to"))
    plain = {name: words[name] for name in ("action", "who", "by_when", "cost", "season")}
    done = _done(words["done"], place("done"))
    return Action(**plain, done=done, measure=measure.name if measure else "", stood=stood, target=target)


def text_of(cell: object) -> str:
    """A cell as text: a day as 2026-03-30, yes and no for a ticked box, a whole number without decimals."""
    if cell is None or (isinstance(cell, float) and cell != cell):
        return ""
    if isinstance(cell, bool):
        return DONE[0] if cell else DONE[-1]
    if isinstance(cell, datetime.datetime):
        return cell.isoformat(" ", "minutes").removesuffix(" 00:00")
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return " ".join(printable(str(cell)).replace("\u00a0", " ").replace("\u202f", " ").split())


def _done(text: str, place: str) -> str:
    found = done_meant(text) if text else ""
    if found is None:
        raise CannotRead(
            f"{place}: {quoted(text)} is not understood; write {', '.join(DONE[:-1])} or {DONE[-1]}, or leave it blank "
            "where it is not recorded."
        )
    return found


def _measure(text: str, place: str, known: tuple[PlanMeasure, ...]) -> PlanMeasure | None:
    found = measure_meant(text, known) if text else None
    if text and found is None:
        raise _no_measure(place, text, known)
    return found


def _no_measure(place: str, text: str, known: tuple[PlanMeasure, ...]) -> CannotRead:
    return CannotRead(f"{place}: {quoted(text)} is no measure{nearest(text, [one.name for one in known])}")


def _share(cell: object, place: str) -> Share | None:
    """A percent, a share or counts; a bare 1 could be both 1 % and all."""
    text = text_of(cell)
    if not text:
        return None
    if counted := COUNTS.fullmatch(re.sub(r"(?<=\d) (?=\d{3}\b)", "", text)):
        events, n = int(counted[1]), int(counted[2])
        if not n or events > n:
            raise CannotRead(f"{place}: {quoted(text)} is no part of a whole; {SHARES}.")
        return Share(text, events / n, events, n)
    if not (found := NUMBER.fullmatch(text)):
        raise CannotRead(f"{place}: {quoted(text)} is no share; {SHARES}.")
    return Share(text, _value(float(found[1].replace(",", ".")), bool(found[2]), place, text, cell))


def _value(number: float, percent: bool, place: str, text: str, cell: object) -> float:
    if number > WHOLE:
        raise CannotRead(f"{place}: {quoted(text)} is more than all of them; {SHARES}.")
    if number == 1 and not percent:
        other = "0.01 or 100" if isinstance(cell, Real) else "1 % or 100 %"
        raise CannotRead(f"{place}: {quoted(text)} may mean 1 % or all of them; write {other}.")
    return number / WHOLE if percent or number > 1 else number


def _must_improve(measure: PlanMeasure, stood: Share, target: Share, place: str) -> None:
    """Refuse a target on the wrong side of where the measure stood."""
    if (target.value < stood.value) if measure.more_is_better else (target.value > stood.value):
        better = "more" if measure.more_is_better else "less"
        raise CannotRead(
            f"{place}: {quoted(target.text)} is worse than {quoted(stood.text)} in column from, since {better} is "
            f"better of {quoted(measure.name)}; change one of the two."
        )


MOST_COST, MOST_WEEKS = 1e9, 52
NEEDED = ("what", "cost", "spares")


@dataclass(frozen=True)
class CostedAction:
    """One action: what it costs a season, the group and window whose losses it is aimed at, the share it might spare.

    ``spares`` is that share, from and to, and ``source`` where it comes from, "" for the reader's own. ``factor`` is
    one of `ACTIONABLE` and ``level`` a level of it; "" is all newborns. ``window`` is the name of a window of the
    settings, "" the end. ``weeks`` are those in which most newborns of the group are born, 0 the whole season.
    """

    what: str
    cost: float
    spares: tuple[float, float]
    source: str = ""
    factor: str = ""
    level: str = ""
    window: str = ""
    weeks: int = 0


def costed_actions(place: str, found: Iterable[object], windows: Iterable[str]) -> tuple[CostedAction, ...]:
    """The actions of a settings file, or made in Python; ``windows`` are the names that they may speak of.

    Raises `CannotRead`: where, what was found, what belongs there.
    """
    windows = tuple(windows)
    return tuple(
        _checked(f"{place}, entry {entry}", one, windows) for entry, one in enumerate(found, start=1)
    )


def _checked(place: str, found: object, windows: tuple[str, ...]) -> CostedAction:
    keys = [one.name for one in fields(CostedAction)]
    if isinstance(found, CostedAction):
        found = {name: getattr(found, name) for name in keys}
    cells = {str(key): value for key, value in table_of(place, found).items()}
    check_keys(place, cells, keys)
    for name in NEEDED:
        if name not in cells:
            raise CannotRead(f"{place}: {quoted(name)} is missing; an action needs {', '.join(NEEDED)}.")
    texts = {
        name: text(f"{place}, {name}", cells.get(name, "")) for name in ("what", "source", "level", "window")
    }
    if not texts["what"].strip():
        raise CannotRead(f"{place}, what: it is empty; write in a few words what would be done.")
    _must_be_a_window(f"{place}, window", texts["window"], windows)
    factor = _factor(place, cells.get("factor", ""), texts["level"])
    weeks = _number(f"{place}, weeks", cells.get("weeks", 0), 0, MOST_WEEKS)
    if weeks != int(weeks):
        raise wrong(f"{place}, weeks", weeks, "a whole number of weeks")
    cost, spares = (
        _number(f"{place}, cost", cells["cost"], 0, MOST_COST),
        _range(f"{place}, spares", cells["spares"]),
    )
    return CostedAction(cost=cost, spares=spares, factor=factor, weeks=int(weeks), **texts)


def _number(place: str, value: Any, low: float, high: float) -> float:
    if not _is_number(value) or not low <= float(value) <= high:
        raise wrong(place, value, f"a number from {low:g} to {high:,.0f}")
    return float(value)


def _is_number(value: Any) -> bool:
    return isinstance(value, Real) and not isinstance(value, bool)


def _range(place: str, value: object) -> tuple[float, float]:
    """The share of losses spared, from and to."""
    wanted = "a range such as [0.2, 0.5], shares from 0 to 1 with the lower first,"
    ends: Any = value if isinstance(value, list | tuple) and len(value) == 2 else (None, None)
    for end in ends:
        if not _is_number(end) or not 0 <= float(end) <= 1:
            raise wrong(place, value, wanted)
    low, high = float(ends[0]), float(ends[1])
    if low > high or not high:
        raise wrong(place, value, wanted)
    return low, high


def _must_be_a_window(place: str, name: str, windows: tuple[str, ...]) -> None:
    if name and name not in windows:
        raise CannotRead(f"{place}: {quoted(name)} is no window of this review{nearest(name, windows)}")


def _factor(place: str, found: object, level: str) -> str:
    """The factor, which management must be able to change, with a level that it has."""
    name, at = text(f"{place}, factor", found), f"{place}, factor"
    if not name:
        if level:
            raise CannotRead(
                f"{place}, level: a level of no factor; name the factor, or leave the level out."
            )
        return ""
    if name not in BY_NAME:
        raise CannotRead(f"{at}: {quoted(name)} is no factor{nearest(name, ACTIONABLE)}")
    if name not in ACTIONABLE:
        raise CannotRead(
            f"{at}: {quoted(name)} is nothing that management can change, so what its groups lose more is no saving "
            f"that could be bought; use one of {', '.join(ACTIONABLE)}, or leave factor and level out for all newborns."
        )
    levels = BY_NAME[name].levels
    if not level or (levels and level not in levels):
        said = (
            f"{quoted(level)} is no level of {name}"
            if level
            else f"which level of {name} is meant is missing"
        )
        raise CannotRead(
            f"{place}, level: {said}{nearest(level, levels) if levels else '; name one of yours.'}"
        )
    return name
