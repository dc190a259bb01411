"""Actions that a keeper thinks of paying for, each with its cost and what it might spare: read and checked key by key.

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

from collections.abc import Iterable
from dataclasses import dataclass, fields
from numbers import Real
from typing import Any

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.toml_file import check_keys, nearest, quoted, table_of, text, wrong
from neonatal_stats.vocabulary.factors import ACTIONABLE, BY_NAME

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
