"""Two seasons side by side: the change split into mix and rate, causes, and the groups that moved."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import replace
from enum import Enum
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.estimates.clusters import are_few, by_cluster_and_group, correction, few_groups, totals
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.results import Estimate, critical, two_sided
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.birth_factors import Factor
from neonatal_stats.measures.contrasts import cells_of, contrast_rows, counts_of, held_against
from neonatal_stats.measures.standardised import CommonMix, mix_and_rate_split
from neonatal_stats.season.settings import Settings

PARTS = ("change", "mix", "rate")
DIFFERENCE = "risk difference"
BEYOND = ("beyond", "beyond_low", "beyond_high")


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
    """Every level's risk in two seasons, and how much further it moved than that of the others; most losses first.

    Returns
    -------
    A contrast frame, one row a level with at least the setting minimum_group in each season: factor, group, season
    (the second), versus (the first), the risk difference with its interval, ...; beyond, beyond_low, beyond_high: that
    difference less the one among all others whose level is known, and p of the two being alike; moved: beyond times the
    newborns of the second season, losses more (or fewer) than had the group moved as the others did. A level without
    others in both seasons has no row; of levels that hold as many newborns and losses in both only the first stands.

    Method
    ------
    Clustered risk difference (Newcombe); interaction with season on the scale of risks (`interaction`).
    """
    rows: dict[tuple[object, ...], dict[str, object]] = {}
    for row in _levels_in_both(births, factors, first, second, settings):
        counts = tuple(row[name] for name in ("events", "n", "events_versus", "n_versus"))
        rows.setdefault(counts, row)
    groups = ("factor", "group", "season")
    frame = contrast_rows(rows.values(), groups, settings=settings, many=True, extra=BEYOND)
    frame = frame.assign(moved=(frame["beyond"] * frame["n"]).astype(float))
    return frame.sort_values(
        "moved", key=lambda moved: moved.abs(), ascending=False, kind="stable", ignore_index=True
    )


def _levels_in_both(
    births: pd.DataFrame, factors: Sequence[Factor], first: str, second: str, settings: Settings
) -> Iterator[dict[str, object]]:
    """Each level that is large enough in both seasons, the second against the first."""
    births = births[["season", "event", "cluster"]]
    asked = births["season"].isin([first, second]).to_numpy()
    for factor in factors:
        for level in factor.levels:
            inside = factor.holds(level)
            here, known = births[asked & inside], births[asked & factor.known]
            sizes = [int((here["season"] == name).sum()) for name in (first, second)]
            if min(sizes) < settings.minimum_group:
                continue
            held = _second_against_first(here, first, second, settings)
            later = (known["season"] == second).to_numpy()
            found = interaction(known, inside[asked & factor.known], later, settings.level)
            if np.isnan(found.estimate):
                continue  # there are no others to have moved otherwise
            beyond = dict(zip(BEYOND, (found.estimate, found.low, found.high), strict=True))
            yield {"factor": factor.name, "group": level, **held, **beyond, "p": found.p}


def interaction(
    births: pd.DataFrame, inside: NDArray[np.bool_], later: NDArray[np.bool_], level: float
) -> Estimate:
    """How much more a group's risk changed than that of the others: the difference of two risk differences.

    Counted: all of `births`, which have `event` and cluster. NaN where one of the four cells is empty.

    Method
    ------
    Variance by litters (linearisation), and never below that of risks that moved alike, the risks fitted by least
    squares without interaction: so a cell without losses is not taken as known for certain.
    """
    y, cell = births["event"].to_numpy(float), 2 * inside.astype(int) + later
    n = np.bincount(cell, minlength=4).astype(float)
    if not n.all():
        return Estimate(np.nan, np.nan, np.nan, np.nan, "interaction", "a cell is empty")
    risk = np.bincount(cell, weights=y, minlength=4) / n
    sign = np.array([1.0, -1.0, -1.0, 1.0])
    labels, litters = np.unique(births["cluster"].to_numpy(), return_inverse=True)
    pull = totals(litters, (sign / n)[cell] * (y - risk[cell]), len(labels))
    design = np.column_stack([np.ones(len(y)), inside, later]).astype(float)
    alike = np.clip(design @ np.linalg.lstsq(design, y, rcond=None)[0], 0, 1)
    null = float((alike * (1 - alike) / n[cell] ** 2).sum())
    clustered, value = float((pull**2).sum()), float((sign * risk).sum())
    if null > 0 and are_few(len(labels), len(y)):
        sizes = by_cluster_and_group(litters, cell, np.ones(len(y)), 4)
        few, seen, alone = few_groups(sizes, y.mean(), sign), clustered / null, float(np.sqrt(null))
        half = float(critical(level) * alone * np.sqrt(few.effect(seen, level)))
        p = float(few.p(value / alone, seen))
    else:
        error = float(np.sqrt(max(null, float(correction(len(labels), len(y))) * clustered)))
        half = float(critical(level)) * error
        p = float(two_sided(value / error)) if error > 0 else float("nan")
    return Estimate(value, value - half, value + half, p, "difference of risk differences, clustered")
