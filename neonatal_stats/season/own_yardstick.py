"""The reader's own yardstick: the keeper's targets, and figures that a vet holds beside the published ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from neonatal_stats.season.toml_file import (
    Reader,
    WrongSetting,
    check_fields,
    keyed,
    nearest,
    not_set_or,
    number,
    one_of,
    quoted,
    section,
    several,
    share,
    text,
    whole,
    wrong,
)
from neonatal_stats.vocabulary import published, terms


def targets(place: str, value: object) -> dict[str, float]:
    """Names of shares with the share that the keeper wants."""
    return {name: share(f'{place}, "{name}"', wanted) for name, wanted in section(place, value).items()}


def check_targets(place: str, wanted: Mapping[str, float], windows: Mapping[str, float]) -> None:
    """Every target must be of a share that the review gives; raises `WrongSetting` with the nearest name."""
    losses = [published.LOST_BY + window for window in windows]
    allowed = [published.BORN_DEAD, *losses, published.LOST, *published.HOUR_TARGETS]
    for name in wanted:
        if name not in allowed:
            raise WrongSetting(f"{place}: there is no share {quoted(name)}{nearest(name, allowed)}")


@dataclass(frozen=True)
class Reference:
    """One figure of the reader's own, with the columns of the table of published ones (`measures.yardstick.COLUMNS`).

    Shares run from 0 to 1, ``window_h`` is hours since birth. Needed are species, outcome, n, definition and source, a
    ``middle`` or both ends of a named ``spread``, and the window of a loss.
    """

    species: str
    outcome: str
    n: int
    definition: str
    source: str
    of: str = published.BORN
    kind: str = published.ALL_KINDS
    window_h: float | None = None
    low: float | None = None
    middle: float | None = None
    high: float | None = None
    spread: str = ""
    counted_in: str = "newborns"
    year: str = ""
    region: str = ""

    def __post_init__(self) -> None:
        """Each value is checked, then that they agree; raises `WrongSetting`."""
        check_fields(self, "reference", REFERENCE.__getitem__)
        why = _disagrees(self)
        if why:
            raise WrongSetting(f"reference: {why}")


def _filled(place: str, value: object) -> str:
    """Text that says something."""
    said = text(place, value).strip()
    if not said:
        raise wrong(place, value, "text that is not empty")
    return said


def _year(place: str, value: object) -> str:
    """A year, or years: 2024 or "2020-2024"."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else text(place, value)


_SHARE = not_set_or(number(0, 1))
REFERENCE: dict[str, Reader] = {
    "species": one_of(terms.SPECIES),
    "outcome": one_of(published.OUTCOMES),
    "n": whole(1, 10_000_000_000),
    "definition": _filled,
    "source": _filled,
    "of": one_of(published.DENOMINATORS),
    "kind": one_of((published.ALL_KINDS, *published.KINDS)),
    "window_h": not_set_or(number(0, 24 * 366)),
    "low": _SHARE,
    "middle": _SHARE,
    "high": _SHARE,
    "spread": one_of(("", *published.SPREADS)),
    "counted_in": one_of(published.COUNTED_IN),
    "year": _year,
    "region": text,
}
"""What each column of a reference accepts."""
NEEDED = ("species", "outcome", "n", "definition", "source")


def _disagrees(one: Reference) -> str:
    """Why the values of a reference do not go together; "" where they do."""
    ends = [end for end in (one.low, one.middle, one.high) if end is not None]
    if one.outcome == published.LOST and one.window_h is None:
        return "a loss needs window_h, the age in hours by which it is counted."
    if (one.low is None) != (one.high is None):
        return "low and high belong together; write both or neither."
    if not ends:
        return "a figure is missing; write middle, or low and high with the spread that they are the ends of."
    if (one.low is None) == bool(one.spread):
        return (
            f"low and high need spread, and spread needs them; it is one of {', '.join(published.SPREADS)}."
        )
    if one.spread == "interval" and one.middle is None:
        return "the interval of a figure needs its middle."
    if ends != sorted(ends):
        return "low, middle and high must stand in that order."
    return ""


def references(place: str, value: object) -> tuple[Reference, ...]:
    """A list of references, made or given as keys and values."""
    entries = enumerate(several(place, value), start=1)
    return tuple(_reference(f"{place}, entry {entry}", one) for entry, one in entries)


def _reference(place: str, value: object) -> Reference:
    if isinstance(value, Reference):
        return value
    given = keyed(place, value, [one.name for one in fields(Reference)])
    lacking = [name for name in NEEDED if name not in given]
    if lacking:
        raise WrongSetting(f"{place}: it lacks {', '.join(lacking)}.")
    read = {name: REFERENCE[name](f"{place}, {name}", found) for name, found in given.items()}
    try:
        return Reference(**read)  # type: ignore[arg-type]
    except WrongSetting as error:
        raise WrongSetting(f"{place}: {str(error).removeprefix('reference: ')}") from None
