"""The farms of a scheme against one another: what each lost beyond what its births and the others lead to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.measures.farms import expected_by_what_is_recorded, letters, visits
from neonatal_stats.measures.rates import Alike, each_row, newborns_in, rates
from neonatal_stats.measures.windows import UNWATCHED, Window, compared_window, known_in, share_gone
from neonatal_stats.season.settings import Settings

ALIKE = Alike()


@dataclass(frozen=True, eq=False)
class FarmsOfScheme:
    """Farms large enough, and watched long enough, in the order of what they lost beyond what is expected of them.

    ``farms`` one row a farm: farm, letter, events, n, share, low, high, design_effect, litters, expected, excess,
    excess_low, excess_high, raw, other_low, other_high, p, q, named. ``spread`` whether they differ by more than
    chance; ``few`` and ``unwatched`` how many are not compared, since too few newborns are known or were watched so
    long; ``mix`` the columns of the common mix that any farm records.
    """

    farms: pd.DataFrame
    spread: bool
    few: int
    unwatched: int
    window: Window
    mix: tuple[str, ...]

    @property
    def named(self) -> pd.DataFrame:
        """Those that lost more than the others lead one to expect."""
        return self.farms[self.farms["named"]]


def farms_of(births: pd.DataFrame, overview: pd.DataFrame, settings: Settings) -> FarmsOfScheme:
    """Set the farms side by side.

    Parameters
    ----------
    births : newborns alike with their farm, in litters.
    overview : the season's farms as they were counted, from which their letters follow.

    Method
    ------
    `measures.farms.visits` on losses in the longest window that nine in ten of all newborns were watched through.
    """
    window = compared_window(births, settings, by="", alike=ALIKE)
    gone = share_gone(births, window.end_h, "farm", ALIKE) if window.shortened or _dated(births) else None
    short = set() if gone is None else set(gone.index[gone > UNWATCHED])
    known = known_in(births[~births["farm"].astype(str).isin(short)], window)
    born = pd.Series(newborns_in(known, ALIKE), index=known.index).groupby(known["farm"]).sum()
    large = known[known["farm"].isin(born.index[born >= settings.minimum_group])].reset_index(drop=True)
    few = len(born) - len(set(large["farm"]))
    if large.empty:
        return FarmsOfScheme(pd.DataFrame({"named": []}, dtype=bool), False, few, len(short), window, ())
    crude = rates(large, ("farm",), "event", level=settings.level, alike=ALIKE)
    risk, used = expected_by_what_is_recorded(large, settings.standard_mix, ALIKE)
    due = pd.Series(risk * newborns_in(large, ALIKE)).groupby(large["farm"].to_numpy()).sum()
    crude = crude.assign(expected=crude["farm"].map(due).astype(float))
    found = visits(crude["events"], crude["n"], crude["expected"], crude["design_effect"], settings)
    names = letters(_digests(overview))
    farms = crude.assign(
        letter=crude["farm"].map(names),
        excess=found.excess.excess,
        excess_low=found.excess.low,
        excess_high=found.excess.high,
        raw=found.excess.raw,
        other_low=found.others.low,
        other_high=found.others.high,
        p=found.others.p,
        q=found.q,
        named=found.named,
    )
    columns = tuple(dict.fromkeys(name for names in used.values() for name in names))
    ordered = farms.iloc[np.asarray(found.order)].reset_index(drop=True)
    return FarmsOfScheme(ordered, found.excess.spread, few, len(short), window, columns)


def _dated(births: pd.DataFrame) -> bool:
    return bool(births.loc[~births["died"], "age_h"].notna().any())


def _digests(overview: pd.DataFrame) -> Mapping[str, str]:
    """What tells a farm's records apart from others', and outsiders do not know."""
    counts = overview.groupby("farm")[["newborns", "litters", "lost"]].sum().reset_index()
    return {str(row.farm): f"{row.newborns} {row.litters} {row.lost}" for row in each_row(counts)}
