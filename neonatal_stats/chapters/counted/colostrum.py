"""Colostrum, counted: when newborns first fed, how much they were given, whether it went with survival and reached the
blood, and first feeds by source and person.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.counted.colostrum_amount import Amount, amount
from neonatal_stats.chapters.counted.colostrum_effect import Attempt, Effect, attempts, effect
from neonatal_stats.chapters.counted.colostrum_effect import claims as claims_of_effect
from neonatal_stats.chapters.counted.colostrum_feeding import Cohort, cohort
from neonatal_stats.chapters.counted.colostrum_quality import Quality, quality, unmarked
from neonatal_stats.chapters.counted.colostrum_transfer import (
    Transfer,
    transfers,
    without_cuts,
    without_more_groups,
)
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.measures.claims import Claim, claims_of, keyed
from neonatal_stats.measures.colostrum_quality import TESTED_BY
from neonatal_stats.measures.contrasts import by_factor
from neonatal_stats.measures.intake import first_feeds
from neonatal_stats.measures.milestones import (
    FEEDING,
    STATES,
    Milestone,
    counts_by_state,
    followed,
    hours,
    met,
    read_at,
    state_when_due,
    time_to,
)
from neonatal_stats.measures.rates import Counted
from neonatal_stats.measures.transfer import MEASURES
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.terms import FEED_SOURCES

TIMING_FACTORS = ("birth_type", "difficulty", "parity_class", "weight_class", "suck_class", "season")
SOURCE_FACTORS = ("source", "person")

NO_RESULT = "without a result that can be read"


@dataclass(frozen=True, eq=False)
class Colostrum(Shown):
    """The parts of the chapter; a part is None (or empty) where the records do not hold what it needs.

    ``period`` the seasons counted; ``effect`` counts all seasons of the records, stratified by season, and
    ``effect_period`` names them: one season has too few deaths for it. Records without births have the blood and the
    quality of colostrum alone. ``without_cuts`` and ``without_mark`` are what was measured and is held against nothing.
    ``alone`` says that there are no births.
    """

    timing: Timing | None
    amount: Amount | None
    effect: Effect | None
    trial: tuple[Attempt, ...]
    transfer: tuple[Transfer, ...]
    sources: Sources | None
    quality: tuple[Quality, ...]
    without_cuts: pd.DataFrame
    without_mark: tuple[str, ...]
    period: tuple[str, ...]
    effect_period: tuple[str, ...]
    alone: bool
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Colostrum:
    """Work through the parts that the records open.

    Counted
    -------
    Born alive; the stillborn are left out with their number. Each part says whom it counts: a newborn of which nobody
    wrote a feed is never taken as unfed while it lives, and only feeds with a volume tell how much was given.
    """
    births, settings, species = season.births, season.settings, season.species
    alive, every = births[~births["stillborn"]], season.whole or season
    timed = fed_at_a_time(alive)
    when = timing(alive, settings) if timed else None
    found = effect(every.births, settings) if timed else None
    serum = transfers(births, season.feeds, season.samples, species, settings)
    if serum and not season.alone:
        serum = without_more_groups(serum)
    late_h = when.late_h if when else settings.marks.colostrum_h[0]
    stillborn = len(births) - len(alive)
    return Colostrum(
        timing=when,
        amount=amount(births, season.feeds, species, settings),
        effect=found,
        trial=attempts(_cohort_of(births, every.births, found), settings, found.until_h) if found else (),
        transfer=serum,
        sources=sources(births, season.feeds, serum, late_h, settings) if len(births) else None,
        quality=quality(season, serum),
        without_cuts=without_cuts(season.samples, species),
        without_mark=unmarked(season),
        period=season.seasons,
        effect_period=every.seasons,
        alone=bool(season.alone),
        counted=_counted(season, serum)
        if season.alone
        else Counted(len(alive), left_out=(("stillborn", stillborn),)),
        settings=settings,
        species=species,
    )


def _cohort_of(births: pd.DataFrame, every: pd.DataFrame, found: Effect) -> Cohort:
    """The newborns of the season whose first feed is known; found already where there is no other season."""
    return found.group if len(births) == len(every) else cohort(births, found.horizon_h)


def _counted(season: Season, serum: tuple[Transfer, ...]) -> Counted:
    """Of records without births: the samples, those classed where a single measure classes them, and the colostrums."""
    if not len(season.samples):
        n, why = _with_result(season.colostrum, TESTED_BY)
        return Counted(n, "tests of colostrum", why)
    if len(serum) != 1:
        n, why = _with_result(season.samples, MEASURES)
        return Counted(n, "blood samples", why)
    found = serum[0].classed
    why = tuple((why, n) for why, n in found.left_out if n)
    without = len(season.samples) - len(found.samples) - sum(n for _, n in why)
    return Counted(len(found.samples), "blood samples", (*why, (NO_RESULT, without)) if without else why)


def _with_result(rows: pd.DataFrame, measures: Sequence[str]) -> tuple[int, tuple[tuple[str, int], ...]]:
    """How many rows have a value of any of the measures, and those left out."""
    held = [one for one in measures if one in rows]
    n = int(rows[held].notna().any(axis=1).sum())
    return n, ((NO_RESULT, len(rows) - n),) if n < len(rows) else ()


def claims(result: Colostrum) -> tuple[Claim, ...]:
    """First feed and death; first feeds that came late or were followed by a low sample, by source and person."""
    found = claims_of_effect(result.effect, result.effect_period, result.settings) if result.effect else ()
    if result.sources is None:
        return found
    groups = result.sources.groups
    of_sources = claims_of(
        groups,
        chapter="colostrum",
        family="feeding",
        line=groups["factor"].astype(str) + " " + groups["outcome"].astype(str),
        period=result.period,
        settings=result.settings,
    )
    return (*found, *of_sources)


def fed_at_a_time(alive: pd.DataFrame) -> bool:
    """True where of one newborn a time is written down at which it had fed, or had not yet."""
    return any(hours(alive, column).notna().any() for column in FEEDING)


@dataclass(frozen=True, eq=False)
class Timing:
    """Age at first feed.

    ``curve`` a ``curve`` frame to the last mark; ``marks`` the curve read at each mark with the four states'
    counts; ``groups`` first feed later than ``late_h``, by group (`measures.contrasts.by_factor`); ``observed``
    newborns followed.
    """

    curve: pd.DataFrame
    marks: pd.DataFrame
    groups: pd.DataFrame
    late_h: float
    observed: int
    unseen: int


def timing(alive: pd.DataFrame, settings: Settings) -> Timing:
    """Count the first feeds of those born alive.

    Counted
    -------
    Followed to the first feed, to a death before it, or to when it was last seen not to have fed; those of which
    nothing was seen are ``unseen``. Late or not is known of those observed at that mark.
    """
    marks = settings.marks.colostrum_h
    horizon = marks[-1]
    curve = time_to(alive, *FEEDING, horizon_h=horizon, level=settings.level)
    observed = len(followed(alive, *FEEDING, horizon))
    states = {mark: state_when_due(alive, Milestone("fed", *FEEDING, mark)) for mark in marks}
    at = read_at(curve, (), marks) if len(curve) else curve
    counts = pd.DataFrame([counts_by_state(state) for state in states.values()], columns=list(STATES))
    late = marks[1] if len(marks) > 1 else marks[0]
    frame = alive.assign(late=~met(states[late]))
    groups = by_factor(frame, TIMING_FACTORS, outcome="late", settings=settings)
    together = pd.concat([at.reset_index(drop=True), counts], axis=1)
    return Timing(curve, together, groups, late, observed, len(alive) - observed)


@dataclass(frozen=True, eq=False)
class Sources:
    """First feeds by source and person: ``groups`` a keyed contrast frame an ``outcome`` (late, low), as
    `measures.contrasts.by_factor`; q over the groups of an outcome.
    """

    groups: pd.DataFrame
    late_h: float


def sources(
    births: pd.DataFrame,
    feeds: pd.DataFrame,
    transfer: tuple[Transfer, ...],
    late_h: float,
    settings: Settings,
) -> Sources | None:
    """Compare first feeds by source and person; None where neither was written down.

    Counted
    -------
    The first feed of each newborn in the feeds table: late, of all of them; low, of those with a sample classed.
    """
    first = first_feeds(feeds)
    if not any(factor in first and first[factor].notna().any() for factor in SOURCE_FACTORS):
        return None
    first = first.assign(cluster=first["newborn"].map(births.set_index("newborn")["cluster"]))
    if "source" in first:
        kinds = pd.Categorical(first["source"].astype(object), list(FEED_SOURCES), ordered=True)
        first = first.assign(source=kinds)
    first["late"] = (first["age_h"] > late_h).astype("boolean")
    outcomes = ["late"]
    if transfer:
        low = transfer[0].classed.samples.set_index("newborn")["group"]
        worst = transfer[0].classed.scheme.classes[-1]
        sampled = first["newborn"].map(low.astype(object))
        first["low"] = (sampled == worst).astype("boolean").where(sampled.notna())
        outcomes.append("low")
    parts = [
        keyed(
            by_factor(first, SOURCE_FACTORS, outcome=outcome, settings=settings), "colostrum", outcome
        ).assign(outcome=outcome)
        for outcome in outcomes
    ]
    return Sources(pd.concat(parts, ignore_index=True), late_h)
