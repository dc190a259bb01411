"""What the engine derived held against what follows in memory, row by row."""

from __future__ import annotations

import ibis
import numpy as np
import pandas as pd

from neonatal_stats.scheme.deriving import DAM, LITTER
from neonatal_stats.scheme.records import READ
from neonatal_stats.season.model import Season
from neonatal_stats.season.tidy import typed_frame

NUMBERED = ("litter", "dam", "farm_code", "cluster", "newborn")
"""Numbers that tell groups of newborns apart; the engine tells them apart by columns."""


def tidy_births(season: Season) -> pd.DataFrame:
    """The tidy births of a season with ``place``, the row of each in its births, in another order."""
    frame = typed_frame(season, "births").assign(place=np.arange(len(season.births)))
    return shuffled(frame[[name for name in frame if name in READ or name == "place"]])


def shuffled(frame: pd.DataFrame) -> pd.DataFrame:
    """The same rows in another order."""
    return frame.take(np.random.default_rng(5).permutation(len(frame))).reset_index(drop=True)


def differing(births: pd.DataFrame, derived: ibis.Table, but: tuple[str, ...] = ()) -> dict[str, str]:
    """The first difference in each column of the births, by place; columns without any value may lack."""
    got = derived.execute().sort_values("place", ignore_index=True)
    assert len(got) == len(births)
    found = {}
    for name in (str(one) for one in births if one not in NUMBERED and one not in but):
        one = births[name].astype(object).where(births[name].notna(), None)
        other = got[name] if name in got else pd.Series(None, births.index, dtype=object)
        other = other.astype(object).where(other.notna(), None)
        odd = [row for row, (a, b) in enumerate(zip(one, other, strict=True)) if a != b]
        if odd:
            found[name] = f"{len(odd)}, first at {odd[0]}: {one[odd[0]]!r}, {other[odd[0]]!r}"
    for name, of, known in (("litter", LITTER, got["litter_known"]), ("dam", DAM, got["dam_named"] != "")):
        unknown = np.where(known, 0, 1 + np.arange(len(got)))
        told = got.assign(unknown=unknown).groupby([*of, "unknown"], dropna=False).ngroup()
        pairs = pd.DataFrame({"one": births[name].to_numpy(), "other": told}).drop_duplicates()
        if not (pairs["one"].is_unique and pairs["other"].is_unique):
            found[name] = "other newborns together"
    return found
