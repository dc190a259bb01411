"""High-risk groups, found: every level and pair against the rest, the always-shown rows, the adjusted model."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.cox_regression import cox
from neonatal_stats.estimates.verdict import LEANING_P, Verdict, judge
from neonatal_stats.measures.birth_factors import Factor, factors
from neonatal_stats.measures.compared_window import Window, compared_window, known_in, not_known_in
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.measures.risk_groups import flock_design_effect, risk_groups, with_shrunken_risk
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
MOST = 6
DEATHS_PER_GROUP = 10


@dataclass(frozen=True, eq=False)
class Groups(Shown):
    """Groups of newborns against the rest.

    ``groups`` is the frame of `measures.risk_groups` with shrunken_risk and verdict (a `Verdict`), those that are
    clear first (ten times over before the others) and then by excess deaths; for the clear ones seasons_more of
    seasons_seen, the seasons in which they lost more; ``always`` the rows always shown, in their order, with
    ``recorded`` False where the records do not hold the factor; ``adjusted`` the model of the top levels or None.
    """

    groups: pd.DataFrame
    always: pd.DataFrame
    adjusted: Adjusted | None
    factors: tuple[str, ...]
    window: Window
    seasons: tuple[str, ...]
    counted: Counted
    settings: Settings
    species: str

    @property
    def watch(self) -> pd.DataFrame:
        """The groups on the watch list."""
        return self.groups[self.groups["verdict"] == Verdict.CLEAR]


@dataclass(frozen=True, eq=False)
class Adjusted:
    """Hazard ratios of ``groups``, each adjusted for the others; ``n`` newborns in the model, ``left_out`` not.

    ``groups`` one row a level in the model: factor, level, n, events, hazard_ratio, low, high, p, note.
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
    found = factors(births)
    event, cluster = births["event"].to_numpy(bool), births["cluster"].to_numpy()
    tried = risk_groups(event, cluster, found, minimum_group=settings.minimum_group, level=settings.level)
    groups = _judged(with_shrunken_risk(tried, effect=flock_design_effect(event, cluster)), settings)
    watch = groups[groups["verdict"] == Verdict.CLEAR]
    groups = groups.join(season_by_season(births, found, watch, minimum_group=settings.minimum_group))
    return Groups(
        groups=groups,
        always=_always(groups, found, births),
        adjusted=_adjusted(births, window, found, groups, settings),
        factors=tuple(factor.name for factor in found),
        window=window,
        seasons=season.seasons,
        counted=Counted(len(births), left_out=not_known_in(season.births, window)),
        settings=settings,
        species=season.species,
    )


def _judged(groups: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """With verdict; by tier, the clearest first, and within it by excess deaths."""
    share = settings.false_discovery_share
    verdicts = [
        verdict_of(row, minimum_group=settings.minimum_group, false_discovery_share=share)
        for row in each_row(groups)
    ]
    groups = groups.assign(verdict=pd.Series(verdicts, index=groups.index, dtype=object))
    tiers = [tier(verdict, q, share) for verdict, q in zip(groups["verdict"], groups["q"], strict=True)]
    ordered = groups.assign(tier=tiers).sort_values(
        ["tier", "excess"], ascending=[True, False], kind="stable", ignore_index=True
    )
    return ordered.drop(columns="tier")


def verdict_of(group: Any, *, minimum_group: int, false_discovery_share: float) -> Verdict:
    """As `judge`, and clear only where the q-value over everything tried is within the share allowed as well.

    A group that lost less is at most leaning: the q-values ask only who lost more.

    Parameters
    ----------
    group : a row of `measures.risk_groups`.
    """
    verdict = judge(
        group.low,
        group.high,
        group.p,
        null=1.0,
        events=int(group.deaths + group.rest_deaths),
        smallest_group=int(min(group.births, group.rest_births)),
        minimum_group=minimum_group,
    )
    if verdict is Verdict.CLEAR and not (group.excess > 0 and group.q <= false_discovery_share):
        return Verdict.LEANING if group.p < LEANING_P else Verdict.NO_CLEAR
    return verdict


def tier(verdict: Verdict, q: float, false_discovery_share: float) -> int:
    """The part of the list a group stands in: 0 clear ten times over, 1 clear, 2 the others.

    Where one group is truly at risk, those that chance puts beside it seldom reach the first part.
    """
    if verdict is not Verdict.CLEAR:
        return 2
    return 0 if q <= false_discovery_share / 10 else 1


def season_by_season(
    births: pd.DataFrame, factors: Sequence[Factor], groups: pd.DataFrame, *, minimum_group: int = 10
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
    by_name = {factor.name: factor for factor in factors}
    season, names = pd.factorize(births["season"].astype(str), sort=True)
    event = births["event"].to_numpy(float)
    rows = []
    for row in each_row(groups):
        known, inside = _members(by_name, row.factor, row.level)
        if row.with_factor:
            also_known, also = _members(by_name, row.with_factor, row.with_level)
            known, inside = known & also_known, inside & also
        n, lost = _by_season(season, known & inside, event, len(names))
        rest_n, rest_lost = _by_season(season, known & ~inside, event, len(names))
        seen = np.minimum(n, rest_n) >= minimum_group
        more = seen & (lost * rest_n > rest_lost * n)
        rows.append((int(more.sum()), int(seen.sum())))
    return pd.DataFrame(rows, columns=["seasons_more", "seasons_seen"], index=groups.index)


def _members(
    by_name: dict[str, Factor], factor: str, level: str
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    one = by_name[factor]
    return one.known, one.code == one.levels.index(level)


def _by_season(
    season: NDArray[np.intp], part: NDArray[np.bool_], event: NDArray[np.float64], seasons: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Newborns and losses of a part, season by season."""
    n = np.bincount(season[part], minlength=seasons).astype(float)
    return n, np.bincount(season[part], weights=event[part], minlength=seasons).astype(float)


def _always(groups: pd.DataFrame, found: tuple[Factor, ...], births: pd.DataFrame) -> pd.DataFrame:
    """The always-shown rows: from the frame, or empty ones where no newborn (or no record) is there."""
    by_name = {factor.name: factor for factor in found}
    rows: list[dict[Hashable, Any]] = []
    for factor, level in ALWAYS:
        row = groups[
            (groups["factor"] == factor) & (groups["level"] == level) & (groups["with_factor"] == "")
        ]
        if len(row):
            rows.append(row.iloc[0].to_dict() | {"recorded": True})
            continue
        known = births[by_name[factor].known] if factor in by_name else births.head(0)
        rows.append(
            {
                "factor": factor,
                "level": level,
                "with_factor": "",
                "with_level": "",
                "births": 0,
                "deaths": 0,
                "rest_births": len(known),
                "rest_deaths": int(known["event"].sum()),
                "verdict": Verdict.TOO_FEW,
                "recorded": factor in by_name,
            }
        )
    return pd.DataFrame(rows, columns=[*groups.columns, "recorded"])


def _adjusted(
    births: pd.DataFrame, window: Window, found: tuple[Factor, ...], groups: pd.DataFrame, settings: Settings
) -> Adjusted | None:
    """The model of the levels that are clear or lean towards more losses, by excess deaths."""
    telling = groups["verdict"].isin([Verdict.CLEAR, Verdict.LEANING])
    top = groups[telling & (groups["with_factor"] == "") & (groups["excess"] > 0)]
    wanted = list(zip(top["factor"], top["level"], strict=True))
    return adjusted_groups(births, window, found, wanted, level=settings.level)


def adjusted_groups(
    births: pd.DataFrame,
    window: Window,
    factors: Sequence[Factor],
    wanted: Sequence[tuple[str, str]],
    *,
    level: float = 0.95,
    cluster: str = "cluster",
) -> Adjusted | None:
    """Which groups stand on their own: a Cox model of death in the window on the wanted levels (factor, level).

    Parameters
    ----------
    births : newborns with `event`, age_h, age_known and `cluster`; codes of `factors` are as long.
    wanted : levels, most important first; as many enter as there are ten deaths for each, at most six.

    Returns
    -------
    Adjusted, or None where fewer than two levels can enter or ages are not known.

    Counted
    -------
    Newborns of known age whose level is known in every factor of the model; where the suck reflex is one, only
    those born alive and checked.
    """
    chosen = _entering(factors, wanted, int(births["event"].sum()))
    if len(chosen) < 2:
        return None
    known = births["age_known"].to_numpy(bool).copy()
    for factor, _ in chosen:
        known &= factor.known
    used = births[known]
    event = used["event"].to_numpy(bool)
    if event.sum() < DEATHS_PER_GROUP:
        return None
    columns = np.column_stack([factor.code[known] == place for factor, place in chosen]).astype(float)
    age_h = np.minimum(used["age_h"].to_numpy(float), window.end_h)
    names = [factor.levels[place] for factor, place in chosen]
    fit = cox(age_h, event, columns, cluster=used[cluster].to_numpy(), names=names, level=level)
    notes = [next((note for note in fit.notes if note.startswith(f"{name}:")), "") for name in names]
    frame = pd.DataFrame(
        {
            "factor": [factor.name for factor, _ in chosen],
            "level": names,
            "n": columns.sum(axis=0).astype(int),
            "events": (columns * event[:, None]).sum(axis=0).astype(int),
            "hazard_ratio": fit.hazard_ratio,
            "low": fit.low,
            "high": fit.high,
            "p": fit.p,
            "note": notes,
        }
    )
    return Adjusted(frame, len(used), int(event.sum()), int(len(births) - len(used)))


def _entering(
    factors: Sequence[Factor], wanted: Sequence[tuple[str, str]], deaths: int
) -> list[tuple[Factor, int]]:
    """The levels that enter the model, with their places: of factors that are words for one thing only the first."""
    by_name = {factor.name: factor for factor in factors}
    entering: list[tuple[Factor, int]] = []
    for name, level in wanted:
        kin = [one for one, _ in entering if family_of(one.name) == family_of(name)]
        if any(one.name != name for one in kin):
            continue
        entering.append((by_name[name], by_name[name].levels.index(level)))
    return entering[: min(MOST, deaths // DEATHS_PER_GROUP)]


def standing(result: Groups, row: Any) -> Verdict:
    """Whether a row of the model stands on its own beside the others."""
    model = result.adjusted
    if model is None or np.isnan(row.hazard_ratio):
        return Verdict.TOO_FEW
    return judge(
        row.low,
        row.high,
        row.p,
        null=1.0,
        events=model.events,
        smallest_group=min(row.n, model.n - row.n),
        minimum_group=result.settings.minimum_group,
    )
