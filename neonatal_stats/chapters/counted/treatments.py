"""Treatments, counted: whom each reached, and what became of these newborns afterwards; described, and no effect."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.measures.treated import COLD, ENERGY_FIRST, OF_THE_DAM, each_treatment, in_order, warming
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings


@dataclass(frozen=True, eq=False)
class Treatments(Shown):
    """What was given and done.

    ``given`` by treatment: rows, newborns (reached), born (born alive in all), lost (of the reached, afterwards), of
    how many (n), share, low, high; n counts those reached whose fate is known. ``warmed`` counts by temperature and
    order, with those lost; ``energy_due`` of the newborns warmed when cold and over the age from which energy comes
    first: energy first, n; ``unplaced`` rows that reach no newborn of the births.
    """

    given: pd.DataFrame
    warmed: pd.DataFrame
    energy_due: tuple[int, int]
    unplaced: int
    with_births: bool
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Treatments:
    """Count the treatments of the season, each newborn once under each.

    Counted
    -------
    Lost afterwards: died within follow-up at a known age not before the treatment; a newborn treated when its age is
    not known counts as treated before its death. Of the dam's vaccine all newborns of her litter are counted.
    """
    births, settings = season.births, season.settings
    each = each_treatment(season)
    placed = each[each["newborn"] >= 0]
    warmed = warming(each, births, settings.marks)
    due = warmed[
        (warmed["temperature"].astype(object) == COLD) & (warmed["age_h"] > settings.marks.energy_first_h)
    ]
    return Treatments(
        given=_given(each, births, settings.level),
        warmed=_warmed(warmed, births),
        energy_due=(int((due["order"].astype(object) == ENERGY_FIRST).sum()), len(due)),
        unplaced=len(each) - len(placed) if len(births) else 0,
        with_births=len(births) > 0,
        counted=Counted(len(season.treatments), "treatments written down"),
        settings=settings,
        species=season.species,
    )


def _given(each: pd.DataFrame, births: pd.DataFrame, level: float) -> pd.DataFrame:
    """By treatment: rows, newborns reached, and what became of them."""
    kinds = in_order(each["treatment"])
    found = []
    for name in kinds.cat.categories[kinds.cat.categories.isin(kinds)]:
        rows = each[(kinds == name).to_numpy()]
        reached = rows[rows["newborn"] >= 0].sort_values("at", kind="stable").drop_duplicates("newborn")
        row = {"treatment": str(name), "rows": len(rows), "newborns": len(reached), "born": _born(births)}
        found.append({**row, **_lost_after(reached, births, level, name == OF_THE_DAM)})
    names = ["treatment", "rows", "newborns", "born", "lost", "n", "share", "low", "high"]
    return pd.DataFrame(found, columns=names)


def _born(births: pd.DataFrame) -> int:
    return int((~births["stillborn"]).sum()) if len(births) else 0


def _lost_after(reached: pd.DataFrame, births: pd.DataFrame, level: float, of_dam: bool) -> dict[str, float]:
    """Of the newborns reached, those that died afterwards; born dead count where it was the dam that was treated."""
    nothing = {"lost": 0, "n": 0, "share": float("nan"), "low": float("nan"), "high": float("nan")}
    if births.empty or reached.empty:
        return nothing
    mine = births.set_index("newborn").loc[reached["newborn"]]
    treated_h = pd.Series(reached["age_h"].to_numpy(float), index=mine.index)
    before = (mine["age_h"] < treated_h.fillna(-1.0)) & mine["lost"] & ~mine["stillborn"]
    kept = mine[~before & (of_dam | ~mine["stillborn"])]
    if kept.empty:
        return nothing
    share = rates(kept.assign(event=kept["lost"].astype("boolean")), (), "event", level=level).iloc[0]
    return {"lost": share["events"], **{name: share[name] for name in ("n", "share", "low", "high")}}


def _warmed(warmed: pd.DataFrame, births: pd.DataFrame) -> pd.DataFrame:
    """Counts by temperature before warming and by the order of energy and warming, with those lost."""
    names = ["temperature", "order", "n", "lost"]
    if warmed.empty:
        return pd.DataFrame(columns=names)
    lost = births.set_index("newborn")["lost"] if len(births) else pd.Series(dtype=bool)
    made = warmed.assign(n=1, lost=warmed["newborn"].map(lost).eq(True).astype(int))
    counts = (
        made.groupby(["temperature", "order"], observed=True, sort=True)[["n", "lost"]].sum().reset_index()
    )
    return counts.astype({"temperature": str, "order": str})[names]
