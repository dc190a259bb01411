"""Colostrum, counted: timing, amount, survival, what if, passive transfer, sources."""

from __future__ import annotations

from dataclasses import dataclass

from neonatal_stats.chapters.colostrum.amount import Amount, amount
from neonatal_stats.chapters.colostrum.effect import Effect, effect
from neonatal_stats.chapters.colostrum.sources import Sources, sources
from neonatal_stats.chapters.colostrum.timing import Timing, timing
from neonatal_stats.chapters.colostrum.transfer import Transfer, transfers
from neonatal_stats.chapters.colostrum.trial import Attempt, attempts
from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.milestones import FEEDING, hours
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice


@dataclass(frozen=True, eq=False)
class Colostrum(Shown):
    """The parts of the chapter; a part is None (or empty) where the records do not hold what it needs."""

    timing: Timing | None
    amount: Amount | None
    effect: Effect | None
    trial: tuple[Attempt, ...]
    transfer: tuple[Transfer, ...]
    sources: Sources | None
    counted: Counted
    settings: Settings
    voice: Voice


def answer(season: Season) -> Colostrum:
    """Work through the parts that the records open."""
    births, settings, species = season.births, season.settings, season.species
    alive = births[~births["stillborn"].fillna(False).astype(bool)]
    timed = any(hours(alive, column).notna().any() for column in FEEDING)
    when = timing(alive, settings) if timed else None
    found = effect(births, settings) if timed else None
    serum = transfers(births, season.feeds, season.samples, species, settings)
    late_h = when.late_h if when else settings.marks.colostrum_h[0]
    stillborn = len(births) - len(alive)
    return Colostrum(
        timing=when,
        amount=amount(births, season.feeds, species, settings),
        effect=found,
        trial=attempts(found.group, settings, found.until_h) if found else (),
        transfer=serum,
        sources=sources(births, season.feeds, serum, late_h, settings),
        counted=Counted(len(alive), left_out=(("stillborn", stillborn),)),
        settings=settings,
        voice=voice_of(season),
    )
