"""High-risk groups, found: every level and pair against the rest, the always-shown rows, the adjusted model."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.measures.adjusted_groups import Adjusted, adjusted_groups
from neonatal_stats.measures.birth_factors import Factor, factors
from neonatal_stats.measures.compared_window import Window, compared_window, known_in, not_known_in
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.measures.risk_groups import flock_design_effect, risk_groups, with_shrunken_risk
from neonatal_stats.measures.season_by_season import season_by_season
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Verdict, Voice
from neonatal_stats.words.groups import Group, phrase, tier, verdict_of

ALWAYS = (
    ("born_by", "born by surgery"),
    ("several", "twin or more"),
    ("parity_class", "first litter"),
    ("suck_class", "weak or absent"),
    ("weight_class", "lowest fifth"),
    ("weight_class", "highest fifth"),
)


@dataclass(frozen=True, eq=False)
class Groups(Shown):
    """Groups of newborns against the rest.

    ``groups`` is the frame of `measures.risk_groups` with shrunken_risk, phrase and verdict (a `Verdict`), those
    that are clear first (ten times over before the others) and then by excess deaths; for the clear ones seasons_more
    of seasons_seen, the seasons in which they lost more; ``always`` the rows always shown, in their order, with
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
    voice: Voice

    @property
    def watch(self) -> pd.DataFrame:
        """The groups on the watch list."""
        return self.groups[self.groups["verdict"] == Verdict.CLEAR]


def answer(season: Season) -> Groups:
    """Try every group."""
    settings, voice = season.settings, voice_of(season)
    window = compared_window(season.births, settings)
    births = known_in(season.births, window)
    found = factors(births)
    tried = risk_groups(
        births["event"].to_numpy(bool),
        births["cluster"].to_numpy(),
        found,
        minimum_group=settings.minimum_group,
        level=settings.level,
    )
    effect = flock_design_effect(births["event"].to_numpy(bool), births["cluster"].to_numpy())
    groups = _judged(with_shrunken_risk(tried, effect=effect), voice, settings)
    watch = groups[groups["verdict"] == Verdict.CLEAR]
    seasons = season_by_season(births, found, watch, minimum_group=settings.minimum_group)
    groups = groups.join(seasons)
    return Groups(
        groups=groups,
        always=_always(groups, found, births, voice, settings),
        adjusted=_adjusted(births, window, found, groups, settings),
        factors=tuple(factor.name for factor in found),
        window=window,
        seasons=season.seasons,
        counted=Counted(len(births), left_out=not_known_in(season.births, window)),
        settings=settings,
        voice=voice,
    )


def group_of(row: Any) -> Group:
    """A row of the frame as the words take it."""
    return Group(
        row.phrase, int(row.deaths), int(row.births), int(row.rest_deaths), int(row.rest_births),
        row.risk_ratio, row.low, row.high, row.excess, row.excess_low, row.excess_high, row.p, row.q,
    )  # fmt: skip


def _judged(groups: pd.DataFrame, voice: Voice, settings: Settings) -> pd.DataFrame:
    """With phrase and verdict; by tier, the clearest first, and within it by excess deaths."""
    names = each_row(groups[["factor", "level", "with_factor", "with_level"]])
    groups = groups.assign(phrase=[phrase(voice, *name) for name in names])
    verdicts = [_verdict(row, settings) for row in each_row(groups)]
    groups = groups.assign(verdict=pd.Series(verdicts, index=groups.index, dtype=object))
    share = settings.false_discovery_share
    tiers = [tier(verdict, q, share) for verdict, q in zip(groups["verdict"], groups["q"], strict=True)]
    ordered = groups.assign(tier=tiers).sort_values(
        ["tier", "excess"], ascending=[True, False], kind="stable", ignore_index=True
    )
    return ordered.drop(columns="tier")


def _verdict(row: Any, settings: Settings) -> Verdict:
    return verdict_of(
        group_of(row),
        minimum_group=settings.minimum_group,
        false_discovery_share=settings.false_discovery_share,
    )


def _always(
    groups: pd.DataFrame, found: tuple[Factor, ...], births: pd.DataFrame, voice: Voice, settings: Settings
) -> pd.DataFrame:
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
                "phrase": phrase(voice, factor, level),
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
