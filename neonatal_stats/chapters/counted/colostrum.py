"""Colostrum, counted: when newborns first fed, by source and person, how much they were given, and how good it was.

Whether it went with survival and reached the blood is counted in files beside this one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.chapters.counted.colostrum_effect import Attempt, Effect, attempts, effect
from neonatal_stats.chapters.counted.colostrum_effect import claims as claims_of_effect
from neonatal_stats.chapters.counted.colostrum_feeding import Cohort, cohort
from neonatal_stats.chapters.counted.colostrum_transfer import (
    Transfer,
    transfers,
    without_cuts,
    without_more_groups,
)
from neonatal_stats.measures.claims import Claim, claims_of, keyed
from neonatal_stats.measures.colostrum import (
    TESTED_BY,
    first_feeds,
    intake_by,
    marks,
    measured,
    ready,
    targets_met,
    tests,
    was_tested,
)
from neonatal_stats.measures.contrasts import by_factor
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
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.measures.transfer import MEASURES
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.passive_transfer import Mark, mark
from neonatal_stats.vocabulary.terms import FEED_SOURCES

TIMING_FACTORS = ("birth_type", "difficulty", "parity_class", "weight_class", "suck_class", "season")
SOURCE_FACTORS = ("source", "person")

NO_RESULT = "without a result that can be read"

GROUPED_BY = ("parity_class", "milked", "source")
REACHED, UNDER = "reached the mark", "under the mark"


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


@dataclass(frozen=True, eq=False)
class Amount:
    """Colostrum given by hand.

    ``intake`` the frame of `intake_by`, newborns with every feed measured and weighed;
    ``met`` a ``rates`` frame of targets met (target: by weight, first feed, first feed by weight, small first feed, IgG
    mass);
    ``unmeasured`` newborns fed by then with a volume or weight missing; ``quartiles`` of ml/kg.
    """

    intake: pd.DataFrame
    met: pd.DataFrame
    unmeasured: int
    species: str


def amount(births: pd.DataFrame, feeds: pd.DataFrame, species: str, settings: Settings) -> Amount | None:
    """Count the amounts, as `measures.colostrum.targets_met` says who is counted; None where no feed has a volume."""
    if not measured(feeds):
        return None
    whole = intake_by(births, feeds, settings.marks.colostrum_amount_by_h, species)
    weighed, cluster = ready(whole), births.set_index("newborn")["cluster"]
    rows = [
        _met(name, newborn, event, cluster, settings.level)
        for name, newborn, event in targets_met(births, feeds, whole, species, settings)
    ]
    met = pd.DataFrame(rows, columns=["target", "events", "n", "share", "low", "high"])
    return Amount(weighed.reset_index(drop=True), met, len(whole) - len(weighed), species)


def _met(
    name: str, newborn: pd.Series, event: pd.Series, cluster: pd.Series, level: float
) -> dict[str, object]:
    frame = pd.DataFrame({"event": event.astype("boolean"), "cluster": newborn.map(cluster)})
    if frame.empty:
        return {"target": name, "events": 0, "n": 0, "share": np.nan, "low": np.nan, "high": np.nan}
    found = rates(frame, (), "event", level=level).iloc[0]
    return {"target": name, **{key: found[key] for key in ("events", "n", "share", "low", "high")}}


@dataclass(frozen=True, eq=False)
class Quality:
    """Colostrum tested by one measure.

    ``tests`` the frame of `measures.colostrum.tests`; ``reached`` a ``rates`` frame of one row, of those at the
    mark or above; ``groups`` the same by factor and group; ``drunk`` of newborns with both a tested colostrum and a
    classed blood sample, a ``rates`` frame by ``drank`` of those in the lowest class of ``serum``.
    """

    mark: Mark
    tests: pd.DataFrame
    reached: pd.DataFrame
    groups: pd.DataFrame
    drunk: pd.DataFrame
    serum: str


def quality(season: Season, transfer: tuple[Transfer, ...]) -> tuple[Quality, ...]:
    """Every measure of colostrum that has a mark; beside births the one by which most was tested."""
    found = [_quality(season, one, transfer) for one in marks(season)]
    if season.alone:
        return tuple(found)
    return tuple(sorted(found, key=lambda one: -len(one.tests))[:1])


def unmarked(season: Season) -> tuple[str, ...]:
    """The measures of colostrum with a value for which no mark of the species is at hand."""
    return tuple(one for one in TESTED_BY if was_tested(season, one) and mark(season.species, one) is None)


def _quality(season: Season, one: Mark, transfer: tuple[Transfer, ...]) -> Quality:
    level = season.settings.level
    rows = tests(season, one.measure)
    rows = rows.assign(event=(rows["value"] >= one.least).astype("boolean"))
    parts = []
    for factor in GROUPED_BY:
        known = rows[rows[factor].notna()]
        found = rates(known, (factor,), "event", level=level).rename(columns={factor: "group"})
        if len(found) > 1:
            parts.append(found.assign(factor=factor, group=found["group"].astype(str)))
    names = ["factor", "group", "events", "n", "share", "low", "high", "litters"]
    groups = pd.concat(parts, ignore_index=True)[names] if parts else pd.DataFrame(columns=names)
    serum = next((of for of in transfer if len(of.classed.samples)), None)
    drunk = _drunk(rows, serum, level) if serum else pd.DataFrame()
    measure = serum.classed.scheme.measure if serum else ""
    return Quality(one, rows, rates(rows, (), "event", level=level), groups, drunk, measure)


def _drunk(rows: pd.DataFrame, serum: Transfer, level: float) -> pd.DataFrame:
    """Of newborns with both, those in the lowest class, by whether all colostrum tested of them reached the mark."""
    known = rows[rows["newborn"] >= 0].groupby("newborn")["event"].all()
    classed = serum.classed.samples
    both = classed.assign(reached=classed["newborn"].map(known)).dropna(subset=["reached"])
    if both.empty:
        return pd.DataFrame()
    lowest = serum.classed.scheme.classes[-1]
    kinds = pd.CategoricalDtype([REACHED, UNDER], ordered=True)
    drank = both["reached"].astype(bool).map({True: REACHED, False: UNDER}).astype(kinds)
    event = (both["group"].astype(object) == lowest).astype("boolean")
    return rates(both.assign(drank=drank, event=event), ("drank",), "event", level=level)
