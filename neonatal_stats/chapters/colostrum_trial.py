"""What if every newborn alive had been fed by the mark, or none? An imitated trial, where the records carry it."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.colostrum_effect import FEWEST, RESAMPLES, Attempt
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.estimates.emulated_trial import EmulatedTrial
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Sentence, Voice
from neonatal_stats.words.names import season_names


def sentences(
    result: tuple[Attempt, ...], voice: Voice, until_h: float, settings: Settings, period: tuple[str, ...]
) -> Iterator[Sentence]:
    """The what-if at each mark, or why it is not attempted; then the assumptions."""
    for one in result:
        if one.trial is None:
            text = voice.say(
                "What if all had been fed by {mark}? Not attempted: too few died or lived on among those fed or not "
                "fed by then. At least {fewest} deaths and {fewest} survivors in each are needed.",
                mark=voice.age(one.mark_h),
                fewest=voice.count(FEWEST),
            )
            yield Sentence(text)
        elif one.reason:
            text = voice.say(
                "What if all had been fed by {mark}? No answer is given: the {unfed} not fed by then are worth "
                "{worth} equally weighted {newborns}, too few for how often they die.",
                mark=voice.age(one.mark_h),
                unfed=voice.count(one.trial.unfed),
                worth=voice.count(one.trial.effective_unfed),
            )
            yield Sentence(text)
        else:
            yield _what_if(one.mark_h, one.trial, voice, until_h, settings, period)
    if any(one.trial is not None and not one.reason for one in result):
        yield Sentence(assumptions(voice))


def _what_if(
    mark_h: float,
    found: EmulatedTrial,
    voice: Voice,
    until_h: float,
    settings: Settings,
    period: tuple[str, ...],
) -> Sentence:
    """The imitated trial, clearly labelled as a what-if."""
    low, high = voice.points(found.difference.low), voice.points(found.difference.high)
    return Sentence(
        voice.say(
            "What if (an imitated trial on {period}, not an experiment): had every {newborn} alive been fed by {mark}, "
            "{fed} would have died by {until}; had none been fed by {mark}, {unfed}: a difference of "
            "{difference} percentage points ({level} interval {interval}). This holds only if the assumptions "
            "below it do.",
            period=season_names(voice, period, period),
            mark=voice.age(mark_h),
            until=voice.age(until_h),
            fed=voice.percent(found.risk_fed.estimate),
            unfed=voice.percent(found.risk_unfed.estimate),
            difference=voice.points(found.difference.estimate),
            level=voice.percent(settings.level, 0),
            interval=voice.span(low, high),
        )
    )


def assumptions(voice: Voice) -> str:
    """What the imitated trial stands on, in plain words."""
    return voice.say(
        "The what-if assumes that the records hold all that made {newborns} both slow to feed and likely to "
        "die, that every kind of {newborn} had some chance of being fed in time and of not being, that feed "
        "times and deaths are written down right, and that one {newborn}'s feed does not change another's "
        "fate. None of these can be proved from the records."
    )


def tables(result: tuple[Attempt, ...], voice: Voice, settings: Settings) -> list[Table]:
    """Share that would have died by the end, had all alive been fed by the mark and had none, where it was tried."""
    rows = [_trial_row(one, one.trial) for one in result if one.trial is not None]
    if not rows:
        return []
    say = voice.say
    table = Table(
        "colostrum-trial",
        say("What if all had been fed by the mark, or none (imitated trial)"),
        pd.DataFrame(rows),
        (
            columns.age("mark_h", say("Mark")),
            columns.count("fed", say("Fed by it")),
            columns.count("unfed", say("Not fed by it")),
            columns.share("risk_fed", say("Would have died, all fed")),
            columns.share("risk_unfed", say("Would have died, none fed")),
            columns.points("difference", say("Difference, percentage points")),
            columns.interval("low", "high", interval_heading(voice, settings.level), "points"),
            columns.count("effective_unfed", say("The unfed are worth")),
        ),
        note=say(
            "Intervals by the score of the weighted counts, their variance from {resamples} resamples of whole "
            "litters. Worth: how many equally weighted {newborns} the unfed count as.",
            resamples=voice.count(RESAMPLES),
        ),
        printer=voice,
    )
    return [table]


def _trial_row(one: Attempt, found: EmulatedTrial) -> dict[str, float]:
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
