"""Two seasons side by side: the change split into mix and rate, causes, and the groups that moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
import pandas as pd

from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.verdict import Verdict, judge
from neonatal_stats.measures.birth_factors import Factor
from neonatal_stats.measures.standardised import CommonMix, mix_and_rate_split

MOVED_COLUMNS = (
    "factor", "level", "events_a", "n_a", "events_b", "n_b", "difference", "low", "high", "p", "q", "moved",
)  # fmt: skip
CAUSE_COLUMNS = (
    "cause", "events_a", "n_a", "share_a", "events_b", "n_b", "share_b", "difference", "low", "high", "p",
)  # fmt: skip


class Split(Enum):
    """What a change between two seasons is made of."""

    MIX = "mix, not rate"
    RATE = "rate, not mix"
    BOTH = "mix and rate together"
    CANCEL = "mix and rate cancel"
    OPPOSED = "mix and rate pull apart"
    UNSPLIT = "not told apart"
    NEITHER = "no clear difference"
    TOO_FEW = "too few to say"


@dataclass(frozen=True)
class Pair:
    """Two seasons compared: names, counts, the crude change and its two parts."""

    first: str
    second: str
    events: tuple[int, int]
    n: tuple[int, int]
    change: Estimate
    mix: Estimate
    rate: Estimate


def two_seasons(
    births: pd.DataFrame, mix: CommonMix, first: str, second: str, level: float
) -> tuple[Pair, pd.DataFrame]:
    """The split; the change has Newcombe's limits, which hold for few losses too."""
    found, terms = mix_and_rate_split(births, mix, first, second, level=level)
    pair = births[births["season"].isin([first, second])]
    change = compare(
        pair["event"].to_numpy(int),
        (pair["season"] == second).to_numpy(int),
        cluster=pair["cluster"].to_numpy(),
        measure="risk_difference",
        level=level,
    )
    events = int(terms["events_a"].sum()), int(terms["events_b"].sum())
    n = int(terms["n_a"].sum()), int(terms["n_b"].sum())
    return Pair(first, second, events, n, change, found.mix, _never_too_sure(found.rate, change)), terms


def _never_too_sure(rate: Estimate, change: Estimate) -> Estimate:
    """The rate part with the change's own width where no variance could be seen (all or none lost in a kind)."""
    if rate.high > rate.low:
        return rate
    shift = rate.estimate - change.estimate
    return replace(rate, low=change.low + shift, high=change.high + shift, p=change.p)


def verdict_of(pair: Pair, part: Estimate, *, minimum_group: int) -> Verdict:
    """How clear the change between two seasons is, or one of its parts, given how many were born and lost in them."""
    return judge(
        part.low,
        part.high,
        part.p,
        null=0.0,
        events=sum(pair.events),
        smallest_group=min(pair.n),
        minimum_group=minimum_group,
    )


def split_of(pair: Pair, *, minimum_group: int) -> Split:
    """Mix or rate: a part counts where its interval leaves out no change.

    Where both count they go together, pull apart, or, where the change itself is not clear, cancel. Where
    neither counts but the change does, the records cannot tell them apart.
    """
    change, mix, rate = (
        verdict_of(pair, part, minimum_group=minimum_group) for part in (pair.change, pair.mix, pair.rate)
    )
    if change is Verdict.TOO_FEW:
        return Split.TOO_FEW
    if mix is Verdict.CLEAR and rate is Verdict.CLEAR:
        if pair.mix.estimate * pair.rate.estimate > 0:
            return Split.BOTH
        return Split.OPPOSED if change is Verdict.CLEAR else Split.CANCEL
    if mix is Verdict.CLEAR:
        return Split.MIX
    if rate is Verdict.CLEAR:
        return Split.RATE
    return Split.UNSPLIT if change is Verdict.CLEAR else Split.NEITHER


def cause_changes(births: pd.DataFrame, first: str, second: str, level: float) -> pd.DataFrame:
    """Share of newborns lost to each cause in two seasons.

    Returns
    -------
    One row a cause that occurs in them: the columns of `CAUSE_COLUMNS`.

    Counted
    -------
    Of the newborns whose fate is known, those lost to the cause; a loss of no recorded cause is none of them.
    """
    season = births["season"].astype(str)
    pair = births[season.isin([first, second])]
    later = (pair["season"].astype(str) == second).to_numpy()
    cause = pair["cause"].astype(object).where(pair["event"])
    rows = []
    for name in births["cause"].cat.categories:
        lost = (cause == name).to_numpy()
        if not lost.any():
            continue
        found = compare(
            lost, later, cluster=pair["cluster"].to_numpy(), measure="risk_difference", level=level
        )
        n = int((~later).sum()), int(later.sum())
        events = int(lost[~later].sum()), int(lost[later].sum())
        shares = events[0] / n[0], events[1] / n[1]
        numbers = (events[0], n[0], shares[0], events[1], n[1], shares[1])
        rows.append((str(name), *numbers, found.estimate, found.low, found.high, found.p))
    return pd.DataFrame(rows, columns=list(CAUSE_COLUMNS))


def moved_groups(
    births: pd.DataFrame,
    factors: Sequence[Factor],
    first: str,
    second: str,
    *,
    minimum_group: int = 10,
    level: float = 0.95,
    cluster: str = "cluster",
) -> pd.DataFrame:
    """Every level's risk in two seasons, those that moved most losses first.

    Returns
    -------
    One row a level with at least `minimum_group` newborns in each season: the columns of `MOVED_COLUMNS`; ``moved``
    is the risk difference times the newborns of the second season: losses more (or fewer) than at the first's risk.
    Of levels that hold as many newborns and losses in both seasons only the first stands.

    Method
    ------
    Clustered risk difference (Newcombe); q of Benjamini & Hochberg over all levels shown.
    """
    season = births["season"].astype(str).to_numpy()
    event, clusters = births["event"].to_numpy(bool), births[cluster].to_numpy()
    rows = []
    for factor in factors:
        for place, name in enumerate(factor.levels):
            here = (factor.code == place) & np.isin(season, [first, second])
            later = season[here] == second
            n = int((~later).sum()), int(later.sum())
            if min(n) < minimum_group:
                continue
            died = event[here]
            found = compare(died, later, cluster=clusters[here], measure="risk_difference", level=level)
            counts = (int(died[~later].sum()), n[0], int(died[later].sum()), n[1])
            rows.append((factor.name, name, *counts, found.estimate, found.low, found.high, found.p))
    frame = pd.DataFrame(rows, columns=list(MOVED_COLUMNS[:-2])).astype({"p": float, "difference": float})
    frame = frame.drop_duplicates(["events_a", "n_a", "events_b", "n_b"], ignore_index=True)
    q = benjamini_hochberg(frame["p"].to_numpy(float))
    frame = frame.assign(q=q, moved=frame["difference"] * frame["n_b"])
    order = frame["moved"].abs().sort_values(ascending=False, kind="stable").index
    return frame.loc[order].reset_index(drop=True)
