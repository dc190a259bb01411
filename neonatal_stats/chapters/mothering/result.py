"""Mothering-up, counted: failures per newborn and dam, by group, what became of them, and deaths that
passed through one.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.measures import bonding
from neonatal_stats.measures.bonding import Handled
from neonatal_stats.measures.compared import compared
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice

FACTORS: dict[str, str | None] = {
    "parity_class": "second or third",
    "birth_type": "single",
    "sex_mix": None,
    "difficulty": "easy",
    "birth_place": "indoors",
    "weight_class": "middle",
    "season": None,
}


@dataclass(frozen=True, eq=False)
class Mothering(Shown):
    """Failures at mothering-up (rejected, abandoned or mismothered).

    ``rates`` has one row per newborn judged and one per dam judged (unit, events, n, share, low, high);
    ``groups`` is the frame of `measures.compared`; ``handled`` the comparison within difficulty;
    ``separated`` litters kept whole, in part or left; ``outcomes`` what became of the failures; ``deaths``
    deaths after a failure and after mothering up; ``passed`` the share of deaths that passed through a
    failure.
    """

    rates: pd.DataFrame
    groups: pd.DataFrame
    handled: Handled | None
    separated: pd.DataFrame
    outcomes: pd.DataFrame
    deaths: pd.DataFrame
    window: str
    passed: pd.DataFrame
    unjudged: int
    counted: Counted
    settings: Settings
    voice: Voice


def answer(season: Season) -> Mothering:
    """Count the failures."""
    births, settings = season.births, season.settings
    known = bonding.judged(births)
    stillborn = int(births["stillborn"].fillna(False).sum())
    unjudged = len(births) - stillborn - len(known)
    window = list(settings.windows_h)[-1] if settings.windows_h else ""
    return Mothering(
        rates=_rates(births, known, settings.level),
        groups=compared(
            known, FACTORS, "failed_mothering", level=settings.level, minimum=settings.minimum_group
        ),
        handled=bonding.handled(births, level=settings.level),
        separated=bonding.separated(births, level=settings.level),
        outcomes=bonding.outcomes(births),
        deaths=_deaths(known, window, settings.level),
        window=window,
        passed=_passed(known, settings.level),
        unjudged=unjudged,
        counted=Counted(len(known), left_out=(("stillborn", stillborn), ("not judged", unjudged))),
        settings=settings,
        voice=voice_of(season),
    )


def _rates(births: pd.DataFrame, known: pd.DataFrame, level: float) -> pd.DataFrame:
    each = rates(known, (), "failed_mothering", level=level).assign(unit="newborns")
    dams = rates(bonding.by_litter(births), (), "any_failed", level=level).assign(unit="dams")
    return pd.concat([each, dams], ignore_index=True)


def _deaths(known: pd.DataFrame, window: str, level: float) -> pd.DataFrame:
    """Lost by the end of the window, of those not accepted and of those accepted: side by side, no
    contrast.
    """
    lost = f"lost_by_{window.replace(' ', '_')}" if window else "lost"
    accepted = known["failed_mothering"].map({True: "no", False: "yes"})
    frame = known.assign(accepted=pd.Categorical(accepted, ["no", "yes"], ordered=True))
    return rates(frame, ("accepted",), lost, level=level)


def _passed(known: pd.DataFrame, level: float) -> pd.DataFrame:
    lost = known[known["lost"].fillna(False).astype(bool)]
    return rates(lost, (), "failed_mothering", level=level)
