"""Two seasons side by side: the change split into mix and rate, causes, and the groups that moved."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import replace
from enum import Enum
from typing import Any

import pandas as pd

from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.birth_factors import Factor
from neonatal_stats.measures.contrasts import cells_of, contrast_rows, counts_of, held_against
from neonatal_stats.measures.standardised import CommonMix, mix_and_rate_split
from neonatal_stats.season.settings import Settings

PARTS = ("change", "mix", "rate")
DIFFERENCE = "risk difference"


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


def two_seasons(
    births: pd.DataFrame, mix: CommonMix, first: str, second: str, settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The change in loss from one season to another, and what it is made of.

    Returns
    -------
    (parts, terms) : a contrast frame of the second season against the first, a row for each of `PARTS` (part, season,
    versus, ...), and the split stratum by stratum as `measures.standardised.mix_and_rate_split` gives it. The change
    has Newcombe's limits, which hold for few losses too.
    """
    split, terms = mix_and_rate_split(births, mix, first, second, level=settings.level)
    pair = births[births["season"].isin([first, second])]
    event, later = pair["event"].to_numpy(bool), (pair["season"] == second).to_numpy()
    litters = pair["cluster"].to_numpy()
    change = compare(event, later, cluster=litters, measure="risk_difference", level=settings.level)
    found = (change, split.mix, _never_too_sure(split.rate, change))
    counts = {"season": second, "versus": first, "measure": DIFFERENCE, **counts_of(event, later)}
    rows = [{"part": name, **counts, **cells_of(part)} for name, part in zip(PARTS, found, strict=True)]
    return contrast_rows(rows, ("part", "season"), settings=settings), terms


def _never_too_sure(rate: Estimate, change: Estimate) -> Estimate:
    """The rate part with the change's own width where no variance could be seen (all or none lost in a kind)."""
    if rate.high > rate.low:
        return rate
    shift = rate.estimate - change.estimate
    return replace(rate, low=change.low + shift, high=change.high + shift, p=change.p)


def split_of(parts: Mapping[str, Mapping[Hashable, Any]]) -> Split:
    """Mix or rate: a part counts where its interval leaves out no change.

    Where both count they go together, pull apart, or, where the change itself is not clear, cancel. Where
    neither counts but the change does, the records cannot tell them apart.

    Parameters
    ----------
    parts : the row of each of `PARTS` in the frame of `two_seasons`.
    """
    change, mix, rate = (parts[name]["verdict"] for name in PARTS)
    if change is Verdict.TOO_FEW:
        return Split.TOO_FEW
    if mix is Verdict.CLEAR and rate is Verdict.CLEAR:
        if parts["mix"]["estimate"] * parts["rate"]["estimate"] > 0:
            return Split.BOTH
        return Split.OPPOSED if change is Verdict.CLEAR else Split.CANCEL
    if mix is Verdict.CLEAR:
        return Split.MIX
    if rate is Verdict.CLEAR:
        return Split.RATE
    return Split.UNSPLIT if change is Verdict.CLEAR else Split.NEITHER


def cause_changes(births: pd.DataFrame, first: str, second: str, settings: Settings) -> pd.DataFrame:
    """Share of newborns lost to each cause in two seasons.

    Returns
    -------
    A contrast frame, one row a cause that occurs in them: cause, season (the second), versus (the first), ...

    Counted
    -------
    Of the newborns whose fate is known, those lost to the cause; a loss of no recorded cause is none of them.
    """
    pair = births[births["season"].isin([first, second])]
    rows = []
    for name in births["cause"].cat.categories:
        lost = pair["event"] & (pair["cause"] == name)
        if lost.any():
            held = _second_against_first(pair.assign(event=lost), first, second, settings)
            rows.append({"cause": str(name), **held})
    return contrast_rows(rows, ("cause", "season"), settings=settings)


def _second_against_first(
    births: pd.DataFrame, first: str, second: str, settings: Settings
) -> dict[str, object]:
    """The later of the two seasons against the earlier, as the cells of a contrast row."""
    later = births["season"] == second
    held = held_against(births, later, "event", DIFFERENCE, settings.level)
    return {"season": second, "versus": first, **held}


def moved_groups(
    births: pd.DataFrame, factors: Sequence[Factor], first: str, second: str, settings: Settings
) -> pd.DataFrame:
    """Every level's risk in two seasons, those that moved most losses first.

    Returns
    -------
    A contrast frame, one row a level with at least the setting minimum_group in each season: factor, group, season
    (the second), versus (the first), ..., moved: the risk difference times the newborns of the second season, which
    is losses more (or fewer) than at the first's risk. Of levels that hold as many newborns and losses in both
    seasons only the first stands.

    Method
    ------
    Clustered risk difference (Newcombe); q of Benjamini & Hochberg over all levels shown.
    """
    rows: dict[tuple[object, ...], dict[str, object]] = {}
    for row in _levels_in_both(births, factors, first, second, settings):
        counts = tuple(row[name] for name in ("events", "n", "events_versus", "n_versus"))
        rows.setdefault(counts, row)
    frame = contrast_rows(rows.values(), ("factor", "group", "season"), settings=settings, many=True)
    frame = frame.assign(moved=frame["estimate"] * frame["n"])
    return frame.sort_values(
        "moved", key=lambda moved: moved.abs(), ascending=False, kind="stable", ignore_index=True
    )


def _levels_in_both(
    births: pd.DataFrame, factors: Sequence[Factor], first: str, second: str, settings: Settings
) -> Iterator[dict[str, object]]:
    """Each level that is large enough in both seasons, the second against the first."""
    asked = births["season"].isin([first, second]).to_numpy()
    for factor in factors:
        for level in factor.levels:
            here = births[asked & factor.holds(level)]
            sizes = [int((here["season"] == name).sum()) for name in (first, second)]
            if min(sizes) >= settings.minimum_group:
                held = _second_against_first(here, first, second, settings)
                yield {"factor": factor.name, "group": level, **held}
