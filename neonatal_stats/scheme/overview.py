"""What there is: farms, seasons and species with their newborns, litters and how their outcomes stand."""

from __future__ import annotations

import ibis
import pandas as pd

from neonatal_stats.scheme.classes import LITTER, with_classes
from neonatal_stats.scheme.deriving import by_row
from neonatal_stats.season.settings import Settings

COUNTS = ("newborns", "born_dead", "lost", "undated", "left_early")


def overview(births: ibis.Table, settings: Settings) -> pd.DataFrame:
    """Count the newborns and litters of every farm, season and species, in one pass.

    Returns
    -------
    One row a farm, season and species: those three, litters, the columns of `COUNTS` (``lost`` by the end of follow-up,
    born dead included; ``undated`` of them at an unknown age; ``left_early`` alive before the end of follow-up), and
    first_born and last_born, missing where no birth is dated.
    """
    derived = with_classes(by_row(births, settings))
    early = ~derived.died & (derived.age_h < settings.follow_up_h).fill_null(False)
    told = derived.select(
        *LITTER,
        "species",
        "litter_known",
        "born",
        newborns=ibis.literal(1),
        born_dead=derived.stillborn.cast("int64"),
        lost=derived.lost.cast("int64"),
        undated=(derived.died & ~derived.age_known).cast("int64"),
        left_early=early.cast("int64"),
    )
    by_litter = told.group_by(*LITTER, "species", "litter_known").aggregate(
        **{name: told[name].sum() for name in COUNTS},
        first_born=told.born.min(),
        last_born=told.born.max(),
    )
    one_each = ibis.ifelse(by_litter.litter_known, ibis.literal(1, "int64"), by_litter.newborns)
    by_litter = by_litter.mutate(litters=one_each)
    found: pd.DataFrame = (
        by_litter.group_by("farm", "season", "species")
        .aggregate(
            **{name: by_litter[name].sum() for name in ("litters", *COUNTS)},
            first_born=by_litter.first_born.min(),
            last_born=by_litter.last_born.max(),
        )
        .execute()
    )
    counts = dict.fromkeys(("litters", *COUNTS), "int64")
    moments = dict.fromkeys(("first_born", "last_born"), "datetime64[us]")
    return found.astype(counts | moments).sort_values(["farm", "season", "species"], ignore_index=True)
