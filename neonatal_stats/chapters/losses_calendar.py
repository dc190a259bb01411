"""Did the week or the hour of birth matter?"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.losses import BY_WEEK, Losses
from neonatal_stats.chapters.protocol import Verdicts, interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.drawing.weeks import draw_weeks
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.rates import too_small
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.words import Sentence, Voice, voice_of
from neonatal_stats.words.evidence import Compared, compare_several, comparison
from neonatal_stats.words.names import label


def calendar_said(result: Losses, verdicts: Verdicts) -> Iterator[Sentence]:
    """Weeks against each other, where several are large enough, and births by night against births by day."""
    voice = voice_of(result)
    if result.weeks_verdict is not None:
        said = compare_several(voice, result.weeks_differ.p, verdicts.get(BY_WEEK, result.weeks_verdict))
        yield Sentence(voice.say("Weeks of birth: {said}", said=said.text), said.verdict, claim=BY_WEEK)
    night, day = voice.say("{newborns} born by night (20 to 08 h)"), voice.say("{newborns} born by day")
    for row in judged(result.night, verdicts).to_dict("records"):
        compared = Compared.of(row, group=night, versus=day)
        yield comparison(voice, compared, row["verdict"], level=result.settings.level, claim=row["key"])


def weeks_drawn(result: Losses) -> Iterator[Figure]:
    """Births and losses by week of birth, where births fell in several weeks."""
    if len(result.by_week) < 2:
        return
    voice, weeks = voice_of(result), _labelled(result, result.by_week)
    say = voice.say
    alt = "Lost of born, week by week: {told}. The share lost, with intervals, is drawn below."
    yield draw_weeks(
        weeks.assign(quiet=too_small(weeks, result.settings.minimum_group)),
        printer=voice,
        name="losses-weeks",
        title=say("Births and losses by week of birth"),
        alt=say(alt, told=_told(voice, weeks, "label")),
        axes_words=(
            say("{newborns} born"),
            say("of these lost"),
            say("lost, % of {newborns} born"),
            say("week of birth, from Monday"),
        ),
        few=say("too few"),
        average=_season(result),
    )


def hours_drawn(result: Losses) -> Iterator[Figure]:
    """Losses by four hours of the day, of those whose time of birth was written."""
    if len(result.by_hour) < 2:
        return
    voice, hours = voice_of(result), result.by_hour
    told = _told(voice, hours, "band")
    yield draw_rates(
        hours.assign(label=hours["band"], quiet=too_small(hours, result.settings.minimum_group)),
        printer=voice,
        name="losses-hours",
        title=voice.say("Losses by hour of birth"),
        alt=voice.say(
            "Lost of born, by hour of birth: {told}; the dotted line is the whole season.", told=told
        ),
        axis=voice.say("lost, % of {newborns} born in those hours"),
        few=voice.say("too few"),
        average=_season(result),
    )


def _season(result: Losses) -> tuple[float, str]:
    """The loss of the whole season, and its name beside a line."""
    voice, share = voice_of(result), float(result.whole["share"])
    return share, voice.say("all: {share}", share=voice.percent(share))


def _told(voice: Voice, rates: pd.DataFrame, name: str) -> str:
    """Lost of born, one after the other: "16 Mar 3/7; 23 Mar 1/12"."""
    rows = rates.to_dict("records")
    return "; ".join(f"{row[name]} {voice.count(row['events'])}/{voice.count(row['n'])}" for row in rows)


def _labelled(result: Losses, weeks: pd.DataFrame) -> pd.DataFrame:
    """The weeks with `label`, the Monday of each."""
    return weeks.assign(label=[voice_of(result).day(monday) for monday in weeks["week"]])


def calendar_tables(result: Losses) -> Iterator[Table]:
    """Weeks, hours and night against day, each where births were dated or timed."""
    voice = voice_of(result)
    say = voice.say
    if len(result.by_week):
        test = voice.p_value(result.weeks_differ.p)
        note = say("Do the weeks differ? p {p} (score chi-square, exchangeable littermates).", p=test)
        declared = (columns.text("label", say("Week from Monday"), raw="week"), *_rates(result))
        frame, title = _labelled(result, result.by_week), say("Losses by week of birth")
        yield Table("losses-weeks", title, frame, declared, note=note, printer=voice)
    if len(result.by_hour):
        declared = (columns.text("band", say("Hour of birth")), *_rates(result))
        yield Table("losses-hours", say("Losses by hour of birth"), result.by_hour, declared, printer=voice)
    if len(result.night):
        yield _night_table(result)


def _rates(result: Losses) -> tuple[Column, ...]:
    voice = voice_of(result)
    return (
        columns.count("events", voice.say("Lost")),
        columns.count("n", voice.say("Born")),
        columns.share("share", voice.say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
    )


def _night_table(result: Losses) -> Table:
    """Lost of those born by night, and of those born by day; their risk ratio."""
    voice, frame = voice_of(result), result.night
    say = voice.say
    frame = frame.assign(
        name=[label(voice, one) for one in frame["night"]],
        share=frame["events"] / frame["n"],
        share_versus=frame["events_versus"] / frame["n_versus"],
    )
    declared = (
        columns.text("name", say("Born"), raw="night"),
        columns.count("events", say("Lost")),
        columns.count("n", say("Born then")),
        columns.count("events_versus", say("Lost of those born by day")),
        columns.count("n_versus", say("Born by day")),
        columns.share("share", say("Share")),
        columns.share("share_versus", say("Share by day")),
        columns.ratio("estimate", say("Risk ratio")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "ratio"),
        columns.key("p", say("p")),
    )
    return Table("losses-night", say("Born by night against by day"), frame, declared, printer=voice)
