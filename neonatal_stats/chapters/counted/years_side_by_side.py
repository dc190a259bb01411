"""Two seasons side by side: the change split into mix and rate, what was written down otherwise, causes, groups."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
import pandas as pd

from neonatal_stats.estimates.multiplicity import benjamini_hochberg
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.shares.contrast import compare
from neonatal_stats.estimates.verdict import Verdict, judge
from neonatal_stats.measures.birth_factors import Factor
from neonatal_stats.measures.standardised import CommonMix, mix_and_rate_split
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
RECORDING_COLUMNS = ("what", "detail", "first", "n_first", "second", "n_second", "flagged")
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


def recording_changes(births: pd.DataFrame, first: str, second: str, end_h: float) -> pd.DataFrame:
    """How recording differs between two seasons.

    Returns
    -------
    One row a thing looked at, with the columns of `RECORDING_COLUMNS`: what ("recorded", "causes", "unknown cause",
    "post-mortem", "time of birth", "stillborn", "watched"), detail (the column, or the causes that only one season
    has), newborns (or losses) it applies to in each season (first of n_first, second of n_second), flagged.

    Counted
    -------
    Every newborn of the two seasons, watched or not; for causes the lost. Columns that are asked of some only are
    not looked at.
    """
    sides = [births[births["season"].astype(str) == name] for name in (first, second)]
    rows = [_filled(sides, column.name) for column in BIRTHS if _wanted(births, column.name)]
    lost = [side[side["died"].astype(bool)] for side in sides]
    rows += [*_cause_rows(lost), _share("time of birth", sides, "born_precision", "time")]
    rows.append(_counted("watched", sides, [~not_watched(side, end_h) for side in sides]))
    rows.append(_stillborn(sides))
    return pd.DataFrame([row for row in rows if row is not None], columns=list(RECORDING_COLUMNS))


def _wanted(births: pd.DataFrame, column: str) -> bool:
    return column in births and column not in (*LEFT_OUT, *ONLY_THE_LOST, *ONLY_SOME)


def _counted(what: str, sides: list[pd.DataFrame], yes: list[pd.Series], detail: str = "") -> Row | None:
    """How many of each season it applies to; flagged where the shares lie a step apart."""
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
    """Causes unknown and by post-mortem; flagged where two causes or more came into use, or went, among 20 lost."""
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
