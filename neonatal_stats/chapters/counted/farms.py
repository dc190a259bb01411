"""Farms side by side: letters for names, small ones left out, a funnel standardised for the mix of births."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.control_limits import intraclass_correlation
from neonatal_stats.measures.claims import Claim, claim_of_counts
from neonatal_stats.measures.farms import FarmFunnel, expected_by_mix, farm_funnel
from neonatal_stats.measures.rates import Counted
from neonatal_stats.measures.standardised import CommonMix, common_mix
from neonatal_stats.measures.windows import Window, compared_window, known_in, not_known_in
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings


@dataclass(frozen=True, eq=False)
class Farms(Shown):
    """Farms against the funnel; ``agreement`` is the correlation of newborns of one farm (NaN where not known),
    ``period`` the seasons counted.
    """

    funnel: FarmFunnel
    mix: CommonMix
    agreement: float
    period: tuple[str, ...]
    window: Window
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Farms:
    """Compare the farms.

    Counted: newborns of which it is known whether they were lost in the longest window that nine in ten of every
    farm were watched through; those on farms not shown are left out of ``counted`` and stay in the common
    risks.
    """
    settings = season.settings
    window = compared_window(season.births, settings, by="farm")
    births = known_in(season.births, window).reset_index(drop=True)
    births = births.assign(farm=births["farm"].cat.remove_unused_categories())
    mix = common_mix(births, settings.standard_mix, by="farm")
    found = farm_funnel(births, expected_by_mix(births, mix), settings)
    hidden = (("on farms not shown", found.hidden_newborns),) if found.hidden else ()
    left_out = (*not_known_in(season.births, window), *hidden)
    event, farm = births["event"].to_numpy(int), births["farm"].cat.codes.to_numpy()
    return Farms(
        funnel=found,
        mix=mix,
        agreement=float(np.clip(intraclass_correlation(event, farm), 0, 1)),
        period=season.seasons,
        window=window,
        counted=Counted(len(births) - found.hidden_newborns, left_out=left_out),
        settings=settings,
        species=season.species,
    )


def claims(result: Farms) -> tuple[Claim, ...]:
    """Each farm against what the others lead one to expect of it."""
    farms = result.funnel.farms
    whole = farms[["events", "n"]].sum()
    found = []
    for row in farms.to_dict("records"):
        counts = (row["events"], row["n"], whole["events"] - row["events"], whole["n"] - row["n"])
        given: Any = {
            "chapter": "farms",
            "family": "farm",
            "period": result.period,
            "settings": result.settings,
        }
        claim = claim_of_counts(key_of(row["letter"]), row["letter"], row["p"], counts, **given)
        found.append(replace(claim, excess=row["events"] - row["expected"]))
    return tuple(found)


def key_of(letter: str) -> str:
    """The key of a farm's claim."""
    return f"farms/{letter}"
