"""Treatments, counted: whom each reached, warming by temperature and order, and what became of these newborns
afterwards; described, and no effect.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.season.following.follow import by_place
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Marks, Settings
from neonatal_stats.vocabulary.terms import TREATMENT_NOT_SAID, TREATMENTS

OF_THE_DAM = "vaccine of the dam"
ENERGY, WARMED = "energy", "warmed"
COLD, COOL, WARM, NOT_TAKEN = "cold", "cool", "not cold", "not taken"
CLASSES = (COLD, COOL, WARM, NOT_TAKEN)
"""Rectal temperature before warming: under the lower mark, up to the upper one, over it; or nobody took it."""
ENERGY_FIRST, WARMED_FIRST, NO_ENERGY, NOT_TOLD = (
    "energy first",
    "warmed first",
    "no energy given",
    "order not told",
)
ORDERS = (ENERGY_FIRST, WARMED_FIRST, NO_ENERGY, NOT_TOLD)


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


def each_treatment(season: Season) -> pd.DataFrame:
    """One row a treatment and newborn that it reached.

    Counted
    -------
    A row that names several treatments is one row of each; one that says none is `TREATMENT_NOT_SAID`. One that
    names a dam alone reaches the newborns of her litter, where it is the dam that was treated, or where the births
    hold a single newborn of hers; other rows reach the newborn that they name. Without births each row stands by
    itself.

    Returns
    -------
    treatment, newborn, at, by_day, age_h, age_low_h, temperature_c; newborn is -1 where the row reaches none.
    """
    rows = season.treatments
    if rows.empty or "treatment" not in rows:
        return pd.DataFrame(columns=["treatment", "newborn", "at", "age_h", "temperature_c"])
    nothing = pd.Series(np.nan, index=rows.index)
    made = pd.DataFrame(
        {
            "treatment": rows["treatment"]
            .astype(object)
            .where(rows["treatment"].notna(), TREATMENT_NOT_SAID)
            .str.split("; "),
            "newborn": rows["newborn"],
            "litter": rows["litter"],
            "at": rows.get("given_at", pd.Series(pd.NaT, index=rows.index)),
            "age_h": rows["age_h"],
            "temperature_c": rows.get("rectal_temperature_c", nothing).astype(float),
        }
    ).explode("treatment", ignore_index=True)
    if season.births.empty:
        return made.drop(columns="litter")
    return _of_litters(made, season.births).drop(columns="litter").reset_index(drop=True)


def _of_litters(made: pd.DataFrame, births: pd.DataFrame) -> pd.DataFrame:
    """Rows that name a dam alone, laid over the newborns of her litter."""
    born = births[["litter", "newborn"]].assign(size=births.groupby("litter")["newborn"].transform("size"))
    alone = made["newborn"] < 0
    reached = made[alone].drop(columns="newborn").merge(born, on="litter", how="left")
    own = (reached["treatment"] == OF_THE_DAM) | (reached["size"] == 1)
    reached["newborn"] = reached["newborn"].where(own, -1).fillna(-1).astype(np.int64)
    reached = reached[own | ~reached.duplicated(["treatment", "litter", "at"])]
    return pd.concat([made[~alone], reached.drop(columns="size")], ignore_index=True)


def warming(each: pd.DataFrame, births: pd.DataFrame, marks: Marks) -> pd.DataFrame:
    """One row a newborn that was warmed: temperature class, whether energy came first, its age when warmed.

    Parameters
    ----------
    each : as `each_treatment`.

    Counted
    -------
    The first warming of each newborn. The temperature is the one taken with it, or else with its energy, or else the
    birth's own. Energy and warming written for one moment, or without times, do not tell their order.
    """
    first = each[each["newborn"] >= 0].sort_values("at", kind="stable", na_position="last")
    warmed = first[first["treatment"] == WARMED].drop_duplicates("newborn").set_index("newborn")
    energy = first[first["treatment"] == ENERGY].drop_duplicates("newborn").set_index("newborn")
    fed_at = energy["at"].reindex(warmed.index)
    given = pd.Series(warmed.index.isin(energy.index), index=warmed.index)
    taken = warmed["temperature_c"].fillna(energy["temperature_c"].reindex(warmed.index))
    if "rectal_temperature_c" in births:
        own = births.set_index("newborn")["rectal_temperature_c"].astype(float)
        taken = taken.fillna(own.reindex(warmed.index))
    order = np.select([~given, fed_at < warmed["at"], fed_at > warmed["at"]], [2, 0, 1], 3)
    place = np.select([taken < marks.cold_c, taken <= marks.cool_c, taken > marks.cool_c], [0, 1, 2], 3)
    return pd.DataFrame(
        {
            "newborn": warmed.index.to_numpy(),
            "temperature": by_place(place, CLASSES).to_numpy(),
            "order": by_place(order, ORDERS).to_numpy(),
            "age_h": warmed["age_h"].to_numpy(float),
        }
    ).astype(
        {
            "temperature": pd.CategoricalDtype(list(CLASSES), True),
            "order": pd.CategoricalDtype(list(ORDERS), True),
        }
    )


def in_order(treatments: pd.Series) -> pd.Series:
    """The treatments as ordered classes."""
    return treatments.astype(pd.CategoricalDtype([*TREATMENTS, TREATMENT_NOT_SAID], ordered=True))
