"""Where every dam and every newborn went: from dams put to the male to newborns alive at the end."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.measures.windows import END, not_watched, stated_windows
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Expected

COLUMNS = ("stage", "n", "lost", "left", "age_unknown")
"""``n`` reached the stage; of those at the stage before, ``lost`` were lost, ``left`` left alive and
``age_unknown`` were lost at an age not known (they leave the flow at birth)."""


@dataclass(frozen=True, eq=False)
class Flow:
    """The flow of dams (empty where no dam is known) and of newborns: a row a stage, columns of `COLUMNS`."""

    dams: pd.DataFrame
    newborns: pd.DataFrame


def flow(season: Season) -> Flow:
    """Count dams and newborns at every stage that was counted.

    Counted: all newborns born; those that left alive or out of sight before a stage, and those lost at an
    unknown age, leave the flow there and are shown. The last stage holds those alive at the end or when last
    seen, and not those that were sold, moved or lent before. Counts made before birth come from the settings
    and may be missing; a stage that was not counted is not in the frame.
    """
    births = season.births
    expected = _expected(season.settings.expected, season.seasons)
    known = season.has("dam_id") or season.has("litter_id")
    dams = _dams(births, expected) if known else pd.DataFrame(columns=list(COLUMNS))
    return Flow(dams, _newborns(births, expected, stated_windows(births, season.settings)))


def _expected(counts: Iterable[Expected], seasons: tuple[str, ...]) -> dict[str, int | None]:
    """Counts before birth over the seasons and groups; None where one of them was not counted."""
    mine = [one for one in counts if not one.season or one.season in seasons]
    covered = {one.season for one in mine}
    if not mine or not ("" in covered or covered.issuperset(seasons)):
        return {}
    names = ("dams_put_to_male", "dams_scanned", "newborns_scanned")
    return {name: _total([getattr(one, name) for one in mine]) for name in names}


def _total(counts: list[int | None]) -> int | None:
    known = [count for count in counts if count is not None]
    return sum(known) if len(known) == len(counts) else None


def _dams(births: pd.DataFrame, expected: dict[str, int | None]) -> pd.DataFrame:
    reared = births.groupby("litter")["lost"].agg(lambda lost: not lost.fillna(False).all())
    stages = {
        "put to the male": expected.get("dams_put_to_male"),
        "scanned": expected.get("dams_scanned"),
        "gave birth": int(births["litter"].nunique()),
        "with a newborn alive or sold alive": int(reared.sum()),
    }
    rows, before = [], None
    for stage, n in stages.items():
        if n is not None:
            rows.append((stage, n, 0 if before is None else before - n, 0, 0))
            before = n
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _left(newborns: pd.DataFrame) -> pd.Series:
    """Sold, moved or lent, as against only last seen alive."""
    if "left_at" not in newborns:
        return pd.Series(False, index=newborns.index)
    return newborns["left_at"].notna()


def _newborns(births: pd.DataFrame, expected: dict[str, int | None], ends: dict[str, float]) -> pd.DataFrame:
    born, stillborn = len(births), births["stillborn"].astype(bool)
    scanned = expected.get("newborns_scanned")
    rows = [] if scanned is None else [("scanned", scanned, 0, 0, 0)]
    rows.append(("born", born, 0 if scanned is None else scanned - born, 0, 0))
    alive = births[~stillborn]
    rows.append(("born alive", len(alive), int(stillborn.sum()), 0, 0))
    for window, end_h in ends.items():
        died = alive["died"].astype(bool)
        unknown = died & ~alive["age_known"].astype(bool)
        before = (alive["age_h"] <= end_h) if window == END else (alive["age_h"] < end_h)
        lost, gone = died & before & ~unknown, not_watched(alive, end_h)
        if window == END:
            gone &= _left(alive)
        still = alive[~(lost | gone | unknown)]
        rows.append((window, len(still), int(lost.sum()), int(gone.sum()), int(unknown.sum())))
        alive = still
    return pd.DataFrame(rows, columns=list(COLUMNS))
