"""Did the week or the hour of birth matter?"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.losses import Losses
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_weeks
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Sentence
from neonatal_stats.words.comparisons import Compared, compare_groups, compare_several
from neonatal_stats.words.labels import label

RATES = {"events": "count", "n": "count", "share": "share"}
NUMBERS = ("events", "n", "events_versus", "n_versus", "estimate", "low", "high", "p")
BIRTHS_IN_A_WEEK = 10


def calendar_said(result: Losses) -> Iterator[Sentence]:
    """Weeks against each other, where several are large enough, and births by night against births by day."""
    voice = voice_of(result)
    weeks, settings = result.by_week, result.settings
    large = weeks[weeks["n"] >= BIRTHS_IN_A_WEEK] if len(weeks) else weeks
    if len(large) > 1 and result.weeks_differ.df:
        said = compare_several(
            voice,
            result.weeks_differ.p,
            level=settings.level,
            events=int(weeks["events"].sum()),
            smallest_group=int(large["n"].min()),
            minimum_group=settings.minimum_group,
        )
        yield Sentence(voice.say("Weeks of birth: {said}", said=said.text), None)
    for row in result.night.to_dict("records"):
        night = voice.say("{newborns} born by night (20 to 08 h)")
        day = voice.say("{newborns} born by day")
        found = Compared(night, day, *(row[name] for name in NUMBERS))
        yield compare_groups(voice, found, minimum_group=settings.minimum_group, level=settings.level)


def weeks_drawn(result: Losses) -> Iterator[Figure]:
    """Births and losses by week of birth, where births fell in several weeks."""
    weeks, say = result.by_week, voice_of(result).say
    if len(weeks) < 2:
        return
    told = "; ".join(
        f"{label} {printing.count(row['events'])}/{printing.count(row['n'])}"
        for label, row in zip(_week_labels(weeks), weeks.to_dict("records"), strict=True)
    )
    yield draw_weeks(
        weeks.assign(label=_week_labels(weeks)),
        printer=voice_of(result),
        name="losses-weeks",
        title=say("Births and losses by week of birth"),
        alt=say(
            "Lost of born, week by week: {told}. The share lost, with intervals, is drawn below.", told=told
        ),
        axes_words=(say("{newborns} born"), say("lost, %"), say("week of birth, from Monday")),
        reference=float(result.whole["share"]),
    )


def hours_drawn(result: Losses) -> Iterator[Figure]:
    """Losses by four hours of the day, of those whose time of birth was written."""
    hours, say = result.by_hour, voice_of(result).say
    if len(hours) < 2:
        return
    told = "; ".join(
        f"{row['band']} {printing.count(row['events'])}/{printing.count(row['n'])}"
        for row in hours.to_dict("records")
    )
    yield draw_rates(
        hours,
        "band",
        printer=voice_of(result),
        name="losses-hours",
        title=say("Losses by hour of birth"),
        alt=say("Lost of born, by hour of birth: {told}; the dotted line is the whole season.", told=told),
        axis=say("lost, % of {newborns} born in those hours"),
        reference=float(result.whole["share"]),
    )


def _week_labels(weeks: pd.DataFrame) -> list[str]:
    """The Monday of each week, "16 Mar" without a language: day and month as numbers."""
    return [f"{monday.day}.{monday.month}." for monday in weeks["week"]]


def calendar_tables(result: Losses) -> Iterator[Table]:
    """Weeks, hours and night against day, each where births were dated or timed."""
    voice = voice_of(result)
    say = voice.say
    rates = {
        "events": say("Lost"),
        "n": say("Born"),
        "share": say("Share"),
        "interval": interval_heading(voice, result.settings.level),
    }
    if len(result.by_week):
        weeks = result.by_week.assign(label=_week_labels(result.by_week))
        test = printing.p_value(result.weeks_differ.p)
        note = say("Do the weeks differ? p {p} (score chi-square, exchangeable littermates).", p=test)
        headings = {"label": say("Week from Monday"), **rates}
        yield Table("losses-weeks", say("Losses by week of birth"), weeks, headings, RATES, note)
    if len(result.by_hour):
        headings = {"band": say("Hour of birth"), **rates}
        yield Table("losses-hours", say("Losses by hour of birth"), result.by_hour, headings, RATES)
    if len(result.night):
        yield _night_table(result)


def _night_table(result: Losses) -> Table:
    voice = voice_of(result)
    say = voice.say
    frame = result.night.assign(name=[label(voice, one) for one in result.night["night"]])
    headings = {
        "name": say("Born"),
        "events": say("Lost"),
        "n": say("Born then"),
        "events_versus": say("Lost of those born by day"),
        "n_versus": say("Born by day"),
        "share": say("Share"),
        "share_versus": say("Share by day"),
        "estimate": say("Risk ratio"),
        "interval": interval_heading(voice, result.settings.level),
    }
    frame = frame.assign(
        share=frame["events"] / frame["n"], share_versus=frame["events_versus"] / frame["n_versus"]
    )
    formats = dict.fromkeys(("events", "n", "events_versus", "n_versus"), "count")
    formats |= {"share": "share", "share_versus": "share", "estimate": "ratio", "interval": "ratio"}
    return Table("losses-night", say("Born by night against by day"), frame, headings, formats)
