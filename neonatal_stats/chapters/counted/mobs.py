"""From mating to weaning, counted by the mob: what went at each stage, by mob, by scanned class and by season.

A mob is the cluster of every interval: newborns of one mob share paddock, weather, feed and care, and nothing is known
of single ones.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.results import ratio
from neonatal_stats.estimates.totals import ratio_of_totals
from neonatal_stats.measures.mobs import (
    DAM_STAGES,
    LAST,
    NEWBORN_STAGES,
    between,
    by_class,
    expected,
    flow,
    for_each,
    litter,
    of_one_mob,
    part,
    stages_of,
    with_stages,
)
from neonatal_stats.measures.rates import Counted
from neonatal_stats.season.ledger import Balance
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

SHARES = (
    ("dry", "scanned", "dry", False),
    ("dams died", "joined", "dams_died", False),
    ("foetuses to born", "foetuses", "born", True),
    ("born dead", "born", "born alive", True),
    ("born to marked", "born", "marked", True),
    ("alive to marked", "born alive", "marked", True),
    ("foetuses to marked", "foetuses", "marked", True),
    ("marked to weaned", "marked", "weaned", True),
    ("foetuses to weaned", "foetuses", "weaned", True),
)
"""Shares of a season: key, of which count, by which other, and whether those missing are counted."""
OF_SEASON = [
    "season", "mobs", "joined", "events", "n", "share", "low", "high", "per_joined", "per_low", "per_high", "against",
    "against_low", "against_high", "apart", "mix_allowed",
]  # fmt: skip
PER_DAM = (
    ("foetuses", "scanned"),
    ("foetuses", "joined"),
    ("born", "joined"),
    ("marked", "joined"),
    ("weaned", "joined"),
)
"""So many for each dam."""


@dataclass(frozen=True, eq=False)
class Mobs(Shown):
    """The mobs of one season, and the seasons beside each other.

    ``start`` and ``kept`` are the counts that mobs are compared by ("foetuses" and "marked" where both were counted;
    "" where none was). ``each`` has one row a mob and season: season, farm, mob, joined, in young, foetuses, born,
    marked, weaned, dams_died; events (not there at the later count) of n, share, low, high; expected (kept, from its
    scanned classes) and against (kept over expected). ``dams``, ``dams_alive`` and ``newborns`` are flows: stage, n,
    lost, mobs. ``shares`` are shares by `SHARES` and ``per_dam`` numbers by `PER_DAM`. ``classes`` is survival by
    scanned class over all seasons. ``seasons`` has one row a season: season, mobs, joined, events, n, share, low,
    high; per_joined with per_low, per_high; against the expected with against_low, against_high; apart, the standard
    deviation between mobs beyond chance, of one mix of scanned classes where ``mix_allowed``. ``to_kept`` is the flow
    between the two counts, with the stages between them where the same mobs were counted at them; ``balance`` says
    where the rows on mobs ended, ``alone`` where the records hold no single newborn.
    """

    season: str
    period: tuple[str, ...]
    start: str
    kept: str
    each: pd.DataFrame
    dams: pd.DataFrame
    dams_alive: pd.DataFrame
    newborns: pd.DataFrame
    shares: pd.DataFrame
    per_dam: pd.DataFrame
    classes: pd.DataFrame
    seasons: pd.DataFrame
    to_kept: pd.DataFrame
    balance: Balance | None
    alone: bool
    counted: Counted
    settings: Settings
    species: str

    @property
    def here(self) -> pd.DataFrame:
        """The mobs of this season."""
        return self.each[self.each["season"] == self.season]

    @property
    def main(self) -> pd.Series | None:
        """The row of ``seasons`` of this season; None where mobs cannot be compared."""
        here = self.seasons[self.seasons["season"] == self.season]
        return here.iloc[0] if self.start and len(here) and here["n"].iloc[0] > 0 else None


def answer(season: Season) -> Mobs:
    """Count the mobs of the season under review, or of the latest that has any.

    Counted
    -------
    Mobs with both counts that a number needs; the flow is of the mobs that were counted at all of its stages.
    """
    settings, level = season.settings, season.settings.level
    every = with_stages((season.whole or season).mobs)
    period = tuple(sorted(every["season"].unique()))
    name = season.under_review if season.under_review in period else period[-1]
    here = every[every["season"] == name]
    start, kept = _compared_by(here)
    classes = by_class(every, start, kept, level=level) if start else by_class(every, "", "", level=level)
    every = every.assign(expected=expected(every, classes))
    here = every[every["season"] == name]
    newborns = flow(here, stages_of(here, NEWBORN_STAGES))
    in_flow = int(newborns["mobs"].iloc[0]) if len(newborns) else len(here)
    left_out = (("not counted at every stage", len(here) - in_flow),) if in_flow < len(here) else ()
    alive = here.assign(alive=here["joined"] - here["dams_died"])
    return Mobs(
        season=name,
        period=period,
        start=start,
        kept=kept,
        each=_each(every, start, kept, level),
        dams=flow(here, stages_of(here, DAM_STAGES)),
        dams_alive=flow(alive, stages_of(alive, ("joined", "alive"))),
        newborns=newborns,
        shares=_shares(here, level),
        per_dam=_per_dam(here, level),
        classes=classes,
        seasons=pd.DataFrame([_season(every, one, start, kept, level) for one in period], columns=OF_SEASON),
        to_kept=_to_kept(here, start, kept),
        balance=next((one for one in season.balances if one.table == "mobs"), None),
        alone=bool((season.whole or season).alone),
        counted=Counted(in_flow, "mobs", left_out),
        settings=settings,
        species=_species(season),
    )


def _species(season: Season) -> str:
    found = (season.whole or season).mobs["species"].unique()
    own = str(found[0]) if len(found) == 1 else ""
    return own or season.species


def _compared_by(mobs: pd.DataFrame) -> tuple[str, str]:
    """Foetuses, else newborns born, and those marked, else weaned; none where either was not counted."""
    starts, kept = stages_of(mobs, ("foetuses", "born")), stages_of(mobs, LAST)
    return (starts[0], kept[0]) if starts and kept else ("", "")


def _to_kept(mobs: pd.DataFrame, start: str, kept: str) -> pd.DataFrame:
    """The flow between two counts, by the stages at which all mobs that have both were counted."""
    if not start:
        return flow(mobs, ())
    both = mobs[(mobs[start] > 0) & mobs[kept].notna()]
    names = NEWBORN_STAGES[NEWBORN_STAGES.index(start) : NEWBORN_STAGES.index(kept) + 1]
    return flow(both, [name for name in names if both[name].notna().all()])


def _each(mobs: pd.DataFrame, start: str, kept: str, level: float) -> pd.DataFrame:
    """Every mob of every season, its own loss between the two counts where it has both."""
    names = [
        "season",
        "farm",
        "mob",
        "joined",
        "dry",
        "in young",
        "foetuses",
        "born",
        "marked",
        "weaned",
        "dams_died",
    ]
    frame = mobs[names].reset_index(drop=True)
    empty = np.full(len(frame), np.nan)
    found = dict.fromkeys(("events", "n", "share", "low", "high", "against"), empty)
    if start:
        n, there = mobs[start].to_numpy(), mobs[kept].to_numpy()
        known = (n > 0) & (there >= 0) & (there <= n)
        events = np.where(known, n - there, np.nan)
        of = np.where(known, n, np.nan)
        low, high = of_one_mob(mobs, of, events, level)
        against = ratio(there, mobs["expected"].to_numpy())
        found = {
            "events": events,
            "n": of,
            "share": events / of,
            "low": low,
            "high": high,
            "against": against,
        }
    return frame.assign(**found, expected=mobs["expected"].to_numpy())


def _shares(mobs: pd.DataFrame, level: float) -> pd.DataFrame:
    rows = [
        {"what": key, **part(mobs, of, other, level=level, lost=lost)}
        for key, of, other, lost in SHARES
        if stages_of(mobs, (of,)) and mobs[other].notna().any()
    ]
    return pd.DataFrame(rows, columns=["what", "events", "n", "share", "low", "high", "mobs"])


def _per_dam(mobs: pd.DataFrame, level: float) -> pd.DataFrame:
    rows = [
        {"what": there, "of": of, **for_each(mobs, of, there, level=level)}
        for there, of in PER_DAM
        if len(stages_of(mobs, (of, there))) == 2
    ]
    return pd.DataFrame(
        rows, columns=["what", "of", "numerator", "denominator", "each", "low", "high", "mobs"]
    )


def _season(every: pd.DataFrame, name: str, start: str, kept: str, level: float) -> dict[str, object]:
    """One season: its loss, newborns kept for each dam joined, and kept against expected on the common mix."""
    mobs = every[every["season"] == name]
    found: dict[str, object] = {"season": name, "mobs": len(mobs), "joined": mobs["joined"].sum(min_count=1)}
    if not start:
        return found
    found |= {k: v for k, v in part(mobs, start, kept, level=level, lost=True).items() if k != "mobs"}
    per = for_each(mobs, "joined", kept, level=level)
    found |= {"per_joined": per["each"], "per_low": per["low"], "per_high": per["high"]}
    known = mobs[(mobs["expected"] > 0) & mobs[kept].notna()]
    against = ratio_of_totals(known[kept].to_numpy(), known["expected"].to_numpy(), level=level)
    found |= {"against": against.estimate, "against_low": against.low, "against_high": against.high}
    both = mobs[(mobs[start] > 0) & (mobs[kept] <= mobs[start])]
    n, there = both[start].to_numpy(), both[kept].to_numpy()
    allowed = bool(len(both) and both["expected"].notna().all())
    if allowed:
        there = n * there.sum() / n.sum() * there / both["expected"].to_numpy()
    return found | {"apart": between(n, there, litter(both).to_numpy()), "mix_allowed": allowed}
