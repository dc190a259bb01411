"""Farms side by side, standardised for mix."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.intraclass import intraclass_correlation
from neonatal_stats.measures.compared_window import Window, compared_window, known_in, not_known_in
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.farm_funnel import FarmFunnel, farm_funnel
from neonatal_stats.measures.standardised import CommonMix, common_mix
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice


@dataclass(frozen=True, eq=False)
class Farms(Shown):
    """Farms against the funnel; ``agreement`` is the correlation of newborns of one farm (NaN where not known)."""

    funnel: FarmFunnel
    mix: CommonMix
    agreement: float
    window: Window
    counted: Counted
    settings: Settings
    voice: Voice


def answer(season: Season) -> Farms:
    """Compare the farms."""
    settings = season.settings
    window = compared_window(season.births, settings, by="farm")
    births = known_in(season.births, window).reset_index(drop=True)
    births = births.assign(farm=births["farm"].cat.remove_unused_categories())
    mix = common_mix(births, settings.standard_mix, by="farm")
    found = farm_funnel(
        births, mix, settings.own_farm, minimum_group=settings.minimum_group, level=settings.level
    )
    hidden = (("on farms too small to show", found.hidden_newborns),) if found.hidden else ()
    left_out = (*not_known_in(season.births, window), *hidden)
    event, farm = births["event"].to_numpy(int), births["farm"].cat.codes.to_numpy()
    return Farms(
        funnel=found,
        mix=mix,
        agreement=float(np.clip(intraclass_correlation(event, farm), 0, 1)),
        window=window,
        counted=Counted(len(births) - found.hidden_newborns, left_out=left_out),
        settings=settings,
        voice=voice_of(season),
    )
