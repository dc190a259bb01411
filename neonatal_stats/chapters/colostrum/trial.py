"""What if every newborn alive had been fed by the mark? An imitated trial, shown only when the records carry
it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.estimates.emulated_trial import EmulatedTrial, fed_by_mark
from neonatal_stats.measures.feeding import Cohort
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Sentence, Voice
from neonatal_stats.words import colostrum as words

RESAMPLES = 200
GENERATOR_NUMBER = 4
FEWEST = 5


@dataclass(frozen=True, eq=False)
class Attempt:
    """One mark: the trial, and why its answer is not shown ("few" and no trial, or "thin"; "" where it is
    shown).
    """

    mark_h: float
    trial: EmulatedTrial | None
    reason: str


def attempts(group: Cohort, settings: Settings, until_h: float) -> tuple[Attempt, ...]:
    """Try the first two marks."""
    return tuple(_attempt(group, mark, until_h, settings.level) for mark in settings.marks.colostrum_h[:2])


def _attempt(group: Cohort, mark_h: float, until_h: float, level: float) -> Attempt:
    rows = group.rows
    if not _enough(rows, mark_h):
        return Attempt(mark_h, None, "few")
    found = fed_by_mark(
        rows["fed_h"].to_numpy(float),
        rows["age_h"].to_numpy(float),
        rows["died"].to_numpy(int),
        rows[list(group.names)].to_numpy(float) if group.names else None,
        mark_h=mark_h,
        until_h=until_h,
        cluster=rows["cluster"].to_numpy(),
        n_boot=RESAMPLES,
        rng=GENERATOR_NUMBER,
        level=level,
    )
    return Attempt(mark_h, found, "" if found.difference.low <= found.difference.high else "thin")


def _enough(rows: pd.DataFrame, mark_h: float) -> bool:
    """At least so many deaths and survivors past the mark among those fed and those not fed by it."""
    past = rows[rows["age_h"] > mark_h]
    fed = past["fed_h"] <= mark_h
    cells = [
        int((fed == arm).astype(bool).mul(past["died"] == died).sum())
        for arm in (True, False)
        for died in (True, False)
    ]
    return min(cells) >= FEWEST


def sentences(
    result: tuple[Attempt, ...], voice: Voice, until_h: float, settings: Settings
) -> Iterator[Sentence]:
    """The what-if at each mark, or why it is not attempted; then the assumptions."""
    for one in result:
        mark = printing.age(one.mark_h)
        if one.trial is None:
            yield Sentence(words.no_trial_sentence(voice, mark, printing.count(FEWEST)))
            continue
        found = one.trial
        if one.reason:
            unfed, worth = printing.count(found.unfed), printing.count(found.effective_unfed)
            yield Sentence(words.thin_trial_sentence(voice, mark, unfed, worth))
            continue
        yield Sentence(
            words.trial_sentence(
                voice,
                mark=mark,
                until=printing.age(until_h),
                fed=printing.percent(found.risk_fed.estimate),
                unfed=printing.percent(found.risk_unfed.estimate),
                difference=printing.points(found.difference.estimate),
                level=printing.percent(settings.level, 0),
                interval=_points(found.difference.low, found.difference.high),
            )
        )
    if any(one.trial is not None and not one.reason for one in result):
        yield Sentence(words.assumptions_sentence(voice))


def _points(low: float, high: float) -> str:
    return printing.span(printing.points(low), printing.points(high))


def tables(result: tuple[Attempt, ...], voice: Voice, settings: Settings) -> list[Table]:
    """Risks in both arms."""
    rows = [_row(one, one.trial) for one in result if one.trial is not None]
    if not rows:
        return []
    say = voice.say
    headings = {
        "mark_h": say("Mark"),
        "fed": say("Fed by it"),
        "unfed": say("Not fed by it"),
        "risk_fed": say("Would have died, all fed"),
        "risk_unfed": say("Would have died, none fed"),
        "difference": say("Difference, percentage points"),
        "interval": interval_heading(voice, settings.level),
        "effective_unfed": say("The unfed are worth"),
    }
    formats = {"mark_h": "age", "fed": "count", "unfed": "count", "risk_fed": "share", "risk_unfed": "share"}
    formats |= {"difference": "points", "interval": "points", "effective_unfed": "count"}
    note = say(
        "Intervals by the score of the weighted counts, their variance from {resamples} resamples of whole "
        "litters. Worth: how many equally weighted {newborns} the unfed count as.",
        resamples=printing.count(RESAMPLES),
    )
    title = say("What if all had been fed by the mark, or none (imitated trial)")
    return [Table("colostrum-trial", title, pd.DataFrame(rows), headings, formats, note)]


def _row(one: Attempt, found: EmulatedTrial) -> dict[str, float]:
    return {
        "mark_h": one.mark_h,
        "fed": found.fed,
        "unfed": found.unfed,
        "risk_fed": found.risk_fed.estimate,
        "risk_unfed": found.risk_unfed.estimate,
        "difference": found.difference.estimate,
        "low": found.difference.low,
        "high": found.difference.high,
        "effective_unfed": found.effective_unfed,
    }
