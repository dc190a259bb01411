"""High-risk groups, found: every level and pair against the rest, the always-shown rows, the adjusted model."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.cox_regression import cox
from neonatal_stats.estimates.verdict import LEANING_P, Verdict
from neonatal_stats.measures.birth_factors import Factor, factors
from neonatal_stats.measures.claims import Claim, claims_of, family_of_factor, judged, keyed
from neonatal_stats.measures.contrasts import REST, contrast_rows, counts_of, with_verdicts
from neonatal_stats.measures.ledger import decide
from neonatal_stats.measures.rates import Counted
from neonatal_stats.measures.risk_groups import (
    GROUPS,
    flock_design_effect,
    members_of,
    risk_groups,
    stratified,
    with_shrunken_share,
)
from neonatal_stats.measures.windows import Window, compared_window, known_in, not_known_in
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.factors import family_of

ALWAYS = (
    ("born_by", "born by surgery"),
    ("several", "twin or more"),
    ("parity_class", "first litter"),
    ("suck_class", "weak or absent"),
    ("weight_class", "lowest fifth"),
    ("weight_class", "highest fifth"),
)
ASKED = {
    "surgery": ("born_by", "born by surgery"),
    "twins": ("several", "twin or more"),
    "first litter": ("parity_class", "first litter"),
}
MOST = 6
DEATHS_PER_GROUP = 10
MEDIATORS = ("suck_class", "weight_class")
"""What stands between a birth and its end; the suck reflex would also leave out all stillborn."""

Row = dict[Hashable, Any]


@dataclass(frozen=True, eq=False)
class Groups(Shown):
    """Groups of newborns against the rest.

    ``groups`` is the frame of `measures.risk_groups` with shrunken_share, those that are clear first (ten times over
    before the others) and then by excess deaths; for the clear ones seasons_more of seasons_seen, the seasons in
    which they lost more; ``always`` the rows always shown, in their order, with ``recorded`` False where the records
    do not hold the factor; ``adjusted`` the model of the listed levels or None; ``period`` the seasons counted. Where
    there are several, each group is held against the rest of its own season.
    """

    groups: pd.DataFrame
    always: pd.DataFrame
    adjusted: Adjusted | None
    factors: tuple[str, ...]
    period: tuple[str, ...]
    window: Window
    counted: Counted
    settings: Settings
    species: str

    @property
    def watch(self) -> pd.DataFrame:
        """The groups on the watch list of this chapter asked alone."""
        return watch_list(self, decide(claims(self), self.settings).verdicts)


def claims(result: Groups) -> tuple[Claim, ...]:
    """Each group that lost more than the rest; the pairs of a factor are one line, and so are its levels.

    Only who lost more is asked: of a factor's two levels the other one is the same comparison seen from behind. Over
    several seasons the questions asked beforehand are answered here too, season by season, whatever the answer.
    """
    return _claims(result.groups, result.period, result.settings)


def _claims(groups: pd.DataFrame, period: tuple[str, ...], settings: Settings) -> tuple[Claim, ...]:
    asked = (
        {f"groups/{factor}/{group}//": name for name, (factor, group) in ASKED.items()}
        if len(period) > 1
        else {}
    )
    more = (groups["excess"] > 0) | groups["key"].isin(list(asked))
    tried = groups[groups["tried"].astype(bool) & more]
    single = tried["with_factor"] == ""
    return claims_of(
        tried,
        chapter="groups",
        family=tried["factor"].map(family_of_factor).astype(object),
        line=tried["factor"].map(family_of).where(single, "pairs of " + tried["factor"].map(family_of)),
        period=period,
        settings=settings,
        asked=asked,
    )


def watch_list(result: Groups, verdicts: Mapping[str, Verdict]) -> pd.DataFrame:
    """The groups that clearly lost more, in the order of the list."""
    groups = by_tier(judged(result.groups, verdicts), result.settings)
    return groups[(groups["verdict"] == Verdict.CLEAR) & (groups["excess"] > 0)]


@dataclass(frozen=True, eq=False)
class Adjusted:
    """Hazard ratios of ``groups``, each adjusted for the others; ``n`` newborns in the model, ``left_out`` not.

    ``groups`` is a contrast frame, one row a level in the model against all others in it: factor, group, the hazard
    ratio with its verdict, note.
    """

    groups: pd.DataFrame
    n: int
    events: int
    left_out: int


def answer(season: Season) -> Groups:
    """Try every group.

    Counted: newborns of all seasons of which it is known whether they were lost in the compared window; in each
    group and its rest only those whose level is known.
    """
    settings = season.settings
    window = compared_window(season.births, settings)
    births = known_in(season.births, window)
    found = {factor.name: factor for factor in factors(births)}
    event, cluster = births["event"].to_numpy(bool), births["cluster"].to_numpy()
    tried = risk_groups(event, cluster, list(found.values()), settings=settings)
    seasons = pd.factorize(births["season"].astype(str))[0]
    tried = stratified(tried, event, cluster, seasons, list(found.values()), settings)
    shrunken = with_shrunken_share(tried, effect=flock_design_effect(event, cluster))
    groups = keyed(by_tier(shrunken, settings), "groups")
    telling = groups[(groups["p"] < LEANING_P) & (groups["excess"] > 0)]
    groups = groups.join(season_by_season(births, found, telling, settings.minimum_group))
    return Groups(
        groups=groups,
        always=_always(groups, found, births, settings),
        adjusted=adjusted_groups(births, window, found, _listed(groups, season.seasons, settings), settings),
        factors=tuple(found),
        period=season.seasons,
        window=window,
        counted=Counted(len(births), left_out=not_known_in(season.births, window)),
        settings=settings,
        species=season.species,
    )


def by_tier(groups: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """In the order of the list: clear ten times over, clear, the others; within each by excess deaths, most first.

    Where one group is truly at risk, those that chance puts beside it seldom reach the first part.
    """
    clear = groups["verdict"] == Verdict.CLEAR
    first = clear & (groups["q"] <= settings.false_discovery_share / 10)
    tier = 2 - clear.astype(int) - first.astype(int)
    order = groups.assign(tier=tier).sort_values(["tier", "excess"], ascending=[True, False], kind="stable")
    return order.drop(columns="tier").reset_index(drop=True)


def season_by_season(
    births: pd.DataFrame, factors: Mapping[str, Factor], groups: pd.DataFrame, minimum_group: int
) -> pd.DataFrame:
    """In how many seasons each group lost more than its rest: in one, or in season after season?

    Parameters
    ----------
    births : newborns with `event` and season; codes of `factors` are as long.
    groups : rows of `measures.risk_groups`.

    Returns
    -------
    One row a group, in its order: seasons_more of seasons_seen (those with `minimum_group` newborns in the group
    and in the rest).
    """
    season, names = pd.factorize(births["season"].astype(str))
    event = births["event"].to_numpy(float)

    def counts(part: NDArray[np.bool_]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        n = np.bincount(season[part], minlength=len(names)).astype(float)
        return n, np.bincount(season[part], weights=event[part], minlength=len(names)).astype(float)

    rows = []
    for row in groups.to_dict("records"):
        known, inside = members_of(factors, row)
        (n, lost), (rest_n, rest_lost) = counts(inside), counts(known & ~inside)
        seen = np.minimum(n, rest_n) >= minimum_group
        rows.append((int((seen & (lost * rest_n > rest_lost * n)).sum()), int(seen.sum())))
    return pd.DataFrame(rows, columns=["seasons_more", "seasons_seen"], index=groups.index)


def _always(
    groups: pd.DataFrame, found: Mapping[str, Factor], births: pd.DataFrame, settings: Settings
) -> pd.DataFrame:
    """The always-shown rows: from the frame, or empty ones where no newborn (or no record) is there."""
    single = groups[groups["with_factor"] == ""]
    rows: list[Row] = []
    for factor, level in ALWAYS:
        row = single[(single["factor"] == factor) & (single["group"] == level)]
        if row.empty and factor in found and level in found[factor].levels:
            row = _named_elsewhere(single, found, found[factor], level, births, settings)
        shown = row.iloc[0].to_dict() if len(row) else _nobody(factor, level, found.get(factor), births)
        rows.append(shown | {"recorded": factor in found})
    return pd.DataFrame(rows, columns=[*groups.columns, "recorded"])


def _named_elsewhere(
    single: pd.DataFrame,
    found: Mapping[str, Factor],
    factor: Factor,
    level: str,
    births: pd.DataFrame,
    settings: Settings,
) -> pd.DataFrame:
    """A level whose newborns are the very same as those of a level named before it, under its own name.

    Its rest is its own factor's; its q, and all else that was asked of those newborns once, is the other row's.
    """
    inside = factor.holds(level)
    (same,) = (row for row in single.to_dict("records") if np.array_equal(members_of(found, row)[1], inside))
    event, cluster = births["event"].to_numpy(bool), births["cluster"].to_numpy()
    own = risk_groups(event, cluster, [factor], settings=settings, pairs=False)
    row = own[own["group"] == level].iloc[0].to_dict()
    once = {name: value for name, value in same.items() if name not in row}
    return with_verdicts(pd.DataFrame([row | {"q": same["q"]} | once]), settings)


def _nobody(factor: str, level: str, found: Factor | None, births: pd.DataFrame) -> Row:
    """The row of a level that no newborn has: all whose level is known are the rest."""
    known = births[found.known] if found else births.head(0)
    counts = (0, 0, int(known["event"].sum()), len(known))
    row: Row = dict(zip(GROUPS, (factor, level, "", ""), strict=True))
    row |= zip(("events", "n", "events_versus", "n_versus"), counts, strict=True)
    return row | {"versus": REST, "verdict": Verdict.TOO_FEW}


def _listed(groups: pd.DataFrame, period: tuple[str, ...], settings: Settings) -> list[tuple[str, str]]:
    """The single levels on the chapter's own watch list, by tier and excess deaths."""
    verdicts = decide(_claims(groups, period, settings), settings).verdicts
    clear = judged(groups, verdicts)["verdict"] == Verdict.CLEAR
    top = groups[clear & (groups["with_factor"] == "") & (groups["excess"] > 0)]
    return list(zip(top["factor"], top["group"], strict=True))


def adjusted_groups(
    births: pd.DataFrame,
    window: Window,
    factors: Mapping[str, Factor],
    wanted: Sequence[tuple[str, str]],
    settings: Settings,
) -> Adjusted | None:
    """The groups of the list beside each other: a Cox model of death in the window on the levels wanted.

    Parameters
    ----------
    births : newborns with `event`, age_h, age_known and cluster; codes of `factors` are as long.
    wanted : levels, most important first; as many enter as there are ten deaths for each, at most six.

    Returns
    -------
    Adjusted, or None where fewer than two levels can enter or ages are not known.

    Counted
    -------
    Newborns of known age, the stillborn with them, whose level is known in every factor of the model. What a birth
    itself brings about (`MEDIATORS`) is no part of it, since holding it fixed would hide the birth's whole effect.
    """
    chosen = _entering(wanted, int(births["event"].sum()))
    if len(chosen) < 2:
        return None
    known = births["age_known"].to_numpy(bool)
    for name, _ in chosen:
        known = known & factors[name].known
    used = births[known]
    event = used["event"].to_numpy(bool)
    if event.sum() < DEATHS_PER_GROUP:
        return None
    columns = np.column_stack([factors[name].holds(level)[known] for name, level in chosen])
    age_h = np.minimum(used["age_h"].to_numpy(float), window.end_h)
    frame = _hazard_ratios(chosen, columns, age_h, event, used["cluster"].to_numpy(), settings)
    return Adjusted(frame, len(used), int(event.sum()), len(births) - len(used))


def _hazard_ratios(
    chosen: Sequence[tuple[str, str]],
    columns: NDArray[np.bool_],
    age_h: NDArray[np.float64],
    event: NDArray[np.bool_],
    cluster: NDArray[np.int64],
    settings: Settings,
) -> pd.DataFrame:
    """The contrast frame of a model: each level against all others in it, the other levels held fixed."""
    names = [level for _, level in chosen]
    fit = cox(age_h, event, columns.astype(float), cluster=cluster, names=names, level=settings.level)
    rows = []
    for place, (factor, level) in enumerate(chosen):
        row: dict[str, object] = {
            "factor": factor,
            "group": level,
            "versus": REST,
            "measure": "hazard ratio",
            **counts_of(event, columns[:, place]),
            "estimate": fit.hazard_ratio[place],
            "low": fit.low[place],
            "high": fit.high[place],
            "p": fit.p[place],
            "note": next((note for note in fit.notes if note.startswith(f"{level}:")), ""),
        }
        rows.append(row)
    return contrast_rows(rows, ("factor", "group"), settings=settings, extra=("note",))


def _entering(wanted: Sequence[tuple[str, str]], deaths: int) -> list[tuple[str, str]]:
    """The levels that enter the model: of factors that are words for one thing only the first."""
    entering: list[tuple[str, str]] = []
    for name, level in (one for one in wanted if one[0] not in MEDIATORS):
        kin = {one for one, _ in entering if family_of(one) == family_of(name)}
        if kin <= {name}:
            entering.append((name, level))
    return entering[: min(MOST, deaths // DEATHS_PER_GROUP)]
