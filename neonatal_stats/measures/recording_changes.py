"""What was written down otherwise in another season: said before any comparison, since it can look like change."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.measures.windows import not_watched
from neonatal_stats.vocabulary.columns import BIRTHS

STEP = 0.20
"""Difference between two seasons in the share recorded from which it is flagged."""
LEFT_OUT = ("farm", "season", "species", "newborn_id", "litter_id", "resuscitation")
ONLY_THE_LOST = ("died_at", "last_alive_at", "found_dead_at", "cause", "cause_basis")
ONLY_SOME = (
    "left_at",
    "left_reason",
    "last_seen_at",
    "died",
    "born_on",
    "born_at",
    "warmed",
    "rectal_temperature_c",
)
Row = tuple[str, str, int, int, int, int, bool]
COLUMNS = ("what", "detail", "first", "n_first", "second", "n_second", "flagged")


def recording_changes(births: pd.DataFrame, first: str, second: str, end_h: float) -> pd.DataFrame:
    """How recording differs between two seasons.

    Returns
    -------
    One row a thing looked at, with the columns of `COLUMNS`: what ("recorded", "causes", "unknown cause",
    "post-mortem", "time of birth", "stillborn", "watched"), detail (the column, or the causes that only one season
    has), newborns (or losses) it applies to in each season (first of n_first, second of n_second), flagged.
    """
    sides = [births[births["season"].astype(str) == name] for name in (first, second)]
    rows = [_filled(sides, column.name) for column in BIRTHS if _wanted(births, column.name)]
    lost = [side[side["died"].astype(bool)] for side in sides]
    rows += [*_cause_rows(lost), _share("time of birth", sides, "born_precision", "time")]
    rows.append(_counted("watched", sides, [~not_watched(side, end_h) for side in sides]))
    rows.append(_stillborn(sides))
    return pd.DataFrame([row for row in rows if row is not None], columns=list(COLUMNS))


def _wanted(births: pd.DataFrame, column: str) -> bool:
    return column in births and column not in (*LEFT_OUT, *ONLY_THE_LOST, *ONLY_SOME)


def _counted(what: str, sides: list[pd.DataFrame], yes: list[pd.Series], detail: str = "") -> Row | None:
    n = [len(side) for side in sides]
    if not all(n):
        return None
    events = [int(one.sum()) for one in yes]
    shares = [event / size for event, size in zip(events, n, strict=True)]
    return what, detail, events[0], n[0], events[1], n[1], abs(shares[1] - shares[0]) >= STEP


def _filled(sides: list[pd.DataFrame], column: str) -> Row | None:
    return _counted("recorded", sides, [side[column].notna() for side in sides], column)


def _share(what: str, sides: list[pd.DataFrame], column: str, value: str) -> Row | None:
    if column not in sides[0]:
        return None
    return _counted(what, sides, [side[column].astype(object) == value for side in sides])


def _cause_rows(lost: list[pd.DataFrame]) -> list[Row | None]:
    rows = [
        _share("unknown cause", lost, "cause", "unknown"),
        _share("post-mortem", lost, "cause_basis", "post-mortem"),
    ]
    used = [_named(side) for side in lost]
    if not all(len(side) for side in lost):
        return rows
    only = [sorted(used[1] - used[0]), sorted(used[0] - used[1])]
    grew = min(len(side) for side in lost) >= 20 and abs(len(used[1]) - len(used[0])) >= 2
    detail = ", ".join(only[0] or only[1]) if grew else ""
    return [*rows, ("causes", detail, len(used[0]), len(lost[0]), len(used[1]), len(lost[1]), grew)]


def _named(lost: pd.DataFrame) -> set[str]:
    return set(lost["cause"].dropna().astype(str)) - {"unknown"}


def _stillborn(sides: list[pd.DataFrame]) -> Row | None:
    """Flagged where one season has no stillborn at all and the other shows that there should have been some."""
    row = _counted("stillborn", sides, [side["stillborn"].astype(bool) for side in sides])
    if row is None:
        return None
    events, n = (row[2], row[4]), (row[3], row[5])
    none, other = min(events), events.index(max(events))
    due = max(events) / n[other] * n[1 - other]
    return (*row[:-1], none == 0 and due >= 5)
