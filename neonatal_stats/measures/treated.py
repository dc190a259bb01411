"""Treatments as they were written down: which newborns each reached, and warming by temperature and order."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.following.follow import by_place
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Marks
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
