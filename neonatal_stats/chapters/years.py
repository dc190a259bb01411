"""Was it really worse than last year, or did we just have more twins?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pandas as pd

from neonatal_stats.chapters import years_side_by_side as two
from neonatal_stats.chapters.counted.years import STEP, TREND_FROM, Years, answer, known_seasons
from neonatal_stats.chapters.protocol import Headline, interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.curves import draw_survival
from neonatal_stats.drawing.points import draw_p_chart
from neonatal_stats.estimates.results import Test
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Verdict
from neonatal_stats.words.column_names import column_name
from neonatal_stats.words.names import factor_name
from neonatal_stats.words.windows import window_label

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Years",
    "answer",
    "figures",
    "headlines",
    "method",
    "missing",
    "sentences",
    "tables",
]

NAME = "years"
TITLE = "Years"
QUESTION = "Was it really worse than the year before, or was it only another mix of births?"
ALL_SEASONS = True

RECORDING = {
    "recorded": "{detail} was recorded for {a} in {first} and for {b} in {second}",
    "unknown cause": "the cause was unknown for {a} of the lost in {first} and for {b} in {second}",
    "post-mortem": "the cause rests on a post-mortem for {a} of the lost in {first} and for {b} in {second}",
    "time of birth": "the time of birth was written down for {a} in {first} and for {b} in {second}",
    "watched": "{a} in {first} and {b} in {second} were watched to the end of follow-up or to their death",
    "stillborn": "{a} were written down as stillborn in {first} and {b} in {second}, so one season may not "
    "have recorded them",
    "causes": "the causes in use changed in number, over {a} lost in {first} and {b} in {second} ({detail})",
}
BEFORE = "Before comparing: {changes}. Such a change of recording can look like a change of loss."
SAME = "Recording did not change between {first} and {second} in any column by as much as {step}."
SHORTENED = (
    "The seasons are compared up to {window}, the longest window through which nine in ten of every season "
    "were watched."
)


def missing(season: Season) -> tuple[str, ...]:
    """Open from two seasons on, where both of the pair to be compared are there."""
    say, seasons = voice_of(season).say, season.seasons
    if len(seasons) < 2:
        return (
            say(
                "Not answered: the records hold one season. Adding the records of another season would open "
                "the chapter."
            ),
        )
    pair = season.settings.compare or seasons[-2:]
    lacking = [name for name in pair if name not in seasons]
    if lacking:
        template = "Not answered: no records of {lacking} to compare; the records hold {seasons}."
        return (say(template, lacking=", ".join(lacking), seasons=", ".join(seasons)),)
    if pair[0] == pair[1]:
        return (
            say("Not answered: {season} cannot be compared with itself; name two seasons.", season=pair[0]),
        )
    unseen = [name for name in pair if name not in known_seasons(season)]
    if unseen:
        template = "Not answered: in {seasons} no {newborn} was watched through any window of loss."
        return (say(template, seasons=", ".join(unseen)),)
    return ()


def sentences(result: Years) -> tuple[Sentence, ...]:
    """Recording first, then the change, what it is made of, the chart, the trend, causes and groups that moved."""
    minimum = result.settings.minimum_group
    window = window_label(result.window.name, result.window.end_h)
    split = two.split_sentence(voice_of(result), result.pair, minimum_group=minimum)
    return (
        _recording(result),
        *_shortened(result, window),
        two.change_sentence(result, window),
        *_standardised(result),
        replace(split, lead=True),
        *_not_standardised(result),
        _chart(result),
        *_trend(result),
        *two.cause_sentences(result),
        *two.moved_sentences(result),
    )


def _recording(result: Years) -> Sentence:
    """What changed in how things were written down, said before any comparison."""
    say, pair = voice_of(result).say, result.pair
    flagged = result.recording[result.recording["flagged"].astype(bool)]
    changes = "; ".join(_recorded(result, row) for row in each_row(flagged))
    if changes:
        return Sentence(say(BEFORE, changes=changes))
    step = printing.percent(STEP, 0)
    return Sentence(say(SAME, first=pair.first, second=pair.second, step=step))


def _recorded(result: Years, row: Any) -> str:
    """One change of recording."""
    voice, pair = voice_of(result), result.pair
    return voice.say(
        RECORDING[row.what],
        detail=column_name(voice, row.detail) if row.what == "recorded" else row.detail,
        first=pair.first,
        second=pair.second,
        a=printing.counts(row.first, row.n_first),
        b=printing.counts(row.second, row.n_second),
    )


def _shortened(result: Years, window: str) -> Iterator[Sentence]:
    """That the seasons are compared over less than the whole follow-up, where they are."""
    if result.window.shortened:
        yield Sentence(voice_of(result).say(SHORTENED, window=window), role="cannot say")


def _standardised(result: Years) -> Iterator[Sentence]:
    """What the two seasons would have lost on the common mix."""
    voice, pair = voice_of(result), result.pair
    table = {row.season: row for row in each_row(result.seasons)}
    rows = [table[name] for name in (pair.first, pair.second)]
    if any(pd.isna(row.standardised) for row in rows) or not result.mix.columns:
        return
    a, b = (
        voice.say(
            "{share} ({range})",
            share=printing.percent(row.standardised),
            range=printing.percent_range(row.standardised_low, row.standardised_high),
        )
        for row in rows
    )
    mix = ", ".join(factor_name(voice, name) for name in result.mix.columns)
    template = "On one common mix of births ({mix}), {a} would have been lost in {first} and {b} in {second}."
    yield Sentence(voice.say(template, mix=mix, a=a, b=b, first=pair.first, second=pair.second))


def _not_standardised(result: Years) -> Iterator[Sentence]:
    """Who, and which columns, the common mix could not take in."""
    voice, missing = voice_of(result), int(result.seasons["n_not_standardised"].sum())
    if missing and result.mix.columns:
        template = (
            "{n} {newborns} could not be placed in the common mix, for want of a record or because a season "
            "had none of their kind."
        )
        yield Sentence(voice.say(template, n=printing.count(missing)), role="cannot say")
    if result.mix.unusable:
        template = "The mix could not take in {columns}: not recorded in every season, or all the same."
        names = ", ".join(factor_name(voice, name) for name in result.mix.unusable)
        yield Sentence(voice.say(template, columns=names), role="cannot say")


def _chart(result: Years) -> Sentence:
    """Which seasons lie outside the limits of the chart."""
    say = voice_of(result).say
    outside = list(result.seasons.loc[result.seasons["outside"], "season"])
    if outside:
        template = "Outside the limits of what seasons here usually do: {outside}."
        return Sentence(say(template, outside=", ".join(outside)), Verdict.CLEAR)
    template = "None of the {n} seasons lies outside the limits of the chart."
    return Sentence(say(template, n=printing.count(len(result.seasons))), Verdict.NO_CLEAR)


def _trend(result: Years) -> Iterator[Sentence]:
    """A straight-line trend over four seasons or more."""
    if result.trend is None or pd.isna(result.trend.p):
        return
    say, slope, p = voice_of(result).say, result.slope, result.trend.p
    n = printing.count(len(result.seasons))
    values = {"n": n, "slope": printing.points(slope), "p": printing.p_value(p)}
    if p < 1 - result.settings.level:
        rising = "Loss rose over the {n} seasons, by {slope} points a season (test for trend, p {p})."
        falling = "Loss fell over the {n} seasons, by {slope} points a season (test for trend, p {p})."
        yield Sentence(say(rising if slope > 0 else falling, **values), Verdict.CLEAR)
        return
    template = "No clear trend over the {n} seasons: {slope} points a season (test for trend, p {p})."
    yield Sentence(say(template, **values), Verdict.NO_CLEAR)


def headlines(result: Years) -> tuple[Headline, ...]:
    """The change between the two seasons on the same mix of births, for the top of the page."""
    pair, say = result.pair, voice_of(result).say
    if math.isnan(pair.rate.estimate):
        return ()
    name = say("{second} against {first}, on the same mix of births", first=pair.first, second=pair.second)
    return (Headline("same_mix_change", name, two.same_mix(result), *[float("nan")] * 5),)


def figures(result: Years) -> tuple[Figure, ...]:
    """Every figure that the records can fill: the chart, the split, survival, causes and the groups that moved."""
    drawn = [_chart_figure(result), two.terms_figure(result)]
    if result.survival:
        drawn.append(_survival_figure(result))
    if len(result.causes):
        drawn.append(two.causes_figure(result))
    if len(result.moved):
        drawn.append(two.moved_figure(result))
    return tuple(drawn)


def _chart_figure(result: Years) -> Figure:
    """Loss of every season as it was and on the common mix, within the limits of the chart."""
    say = voice_of(result).say
    told = "; ".join(
        f"{row.season}: {printing.share_of(row.events, row.n, row.low, row.high)}"
        for row in each_row(result.seasons)
    )
    window = window_label(result.window.name, result.window.end_h)
    return draw_p_chart(
        result.seasons,
        result.chart.centre,
        printer=voice_of(result),
        name="years-chart",
        title=say("Loss by {window}, season by season", window=window),
        alt=say(
            "Share of {newborns} lost in each season with its interval, beside the share on the common mix "
            "and the limits of the chart. {told}.",
            told=told,
        ),
        axis=say("lost by {window}, % of {newborns}", window=window),
        words=(say("as it was"), say("on the common mix"), say("limits of the chart")),
    )


def _survival_figure(result: Years) -> Figure:
    """Share alive of those born alive, a curve a season."""
    say, end_h = voice_of(result).say, result.settings.follow_up_h
    told = "; ".join(
        f"{name} {printing.percent(curve.iloc[-1]['share'])} "
        f"({printing.percent_range(curve.iloc[-1]['low'], curve.iloc[-1]['high'])})"
        for name, curve in result.survival
    )
    return draw_survival(
        result.survival,
        follow_up_h=end_h,
        marks_h=[hour for hour in result.settings.windows_h.values() if hour < end_h],
        printer=voice_of(result),
        name="years-survival",
        title=say("Survival of {newborns} born alive, season by season"),
        alt=say("Share alive against age in each season. At the last age watched: {told}.", told=told),
        axis=say("alive, % of {newborns} born alive"),
        axis_cut=say("alive, % of {newborns} born alive (axis cut)"),
        age_axes=(say("age, hours"), say("age, days")),
        at_risk=say("still watched"),
    )


def tables(result: Years) -> tuple[Table, ...]:
    """The seasons; the pairs split; the terms of one pair; recording; the trend; causes; groups that moved."""
    built = [
        _seasons_table(result),
        two.pairs_table(result),
        two.terms_table(result),
        _recording_table(result),
    ]
    if result.trend is not None:
        built.append(_trend_table(result, result.trend))
    if len(result.causes):
        built.append(two.causes_table(result))
    if len(result.moved):
        built.append(two.moved_table(result))
    return tuple(built)


def _seasons_table(result: Years) -> Table:
    """Every season as it was, on the common mix and on the chart."""
    voice = voice_of(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    table = result.seasons.assign(
        standardised_range=_ranges(result.seasons, "standardised_low", "standardised_high"),
        chart_range=_ranges(result.seasons, "chart_low", "chart_high"),
        flag=[say("outside") if out else "" for out in result.seasons["outside"]],
    )
    headings = {
        "season": say("Season"),
        "events": say("Lost"),
        "n": say("{newborns}"),
        "share": say("Share"),
        "interval": interval,
        "standardised": say("On the common mix"),
        "standardised_range": say("{interval}, common mix", interval=interval),
        "n_not_standardised": say("Not in the common mix"),
        "chart_range": say("Limits of the chart"),
        "flag": say("Chart"),
    }
    formats = {"events": "count", "n": "count", "share": "share", "standardised": "share"}
    formats["n_not_standardised"] = "count"
    missing = printing.count(result.seasons["n_not_standardised"].sum())
    note = say("Not in the common mix in all: {n}.", n=missing)
    return Table(
        "years-seasons", say("Loss by season, crude and on one common mix"), table, headings, formats, note
    )


def _ranges(frame: pd.DataFrame, low: str, high: str) -> list[str]:
    return [printing.percent_range(*pair) for pair in zip(frame[low], frame[high], strict=True)]


def _recording_table(result: Years) -> Table:
    """What was written down in each of the two seasons, changed or not."""
    voice, pair = voice_of(result), result.pair
    say = voice.say
    names = {
        "recorded": say("recorded"),
        "unknown cause": say("cause unknown, of the lost"),
        "post-mortem": say("cause by post-mortem, of the lost"),
        "time of birth": say("time of birth known"),
        "watched": say("watched to the end of follow-up or to death"),
        "stillborn": say("written down as stillborn"),
        "causes": say("causes in use"),
    }
    frame = result.recording
    frame = frame.assign(
        what=[
            say("{column}: recorded", column=column_name(voice, row.detail))
            if row.what == "recorded"
            else names[row.what]
            for row in each_row(frame)
        ],
        flag=[say("changed") if flagged else "" for flagged in frame["flagged"]],
        share_first=(frame["first"] / frame["n_first"]).where(frame["what"] != "causes"),
        share_second=(frame["second"] / frame["n_second"]).where(frame["what"] != "causes"),
    )
    headings = {
        "what": say("What"),
        "first": pair.first,
        "n_first": say("of, {season}", season=pair.first),
        "share_first": say("share, {season}", season=pair.first),
        "second": pair.second,
        "n_second": say("of, {season}", season=pair.second),
        "share_second": say("share, {season}", season=pair.second),
        "flag": say("Flag"),
    }
    formats = dict.fromkeys(("first", "n_first", "second", "n_second"), "count")
    formats |= {"share_first": "share", "share_second": "share"}
    return Table("years-recording", say("Recording in the two seasons"), frame, headings, formats)


def _trend_table(result: Years, trend: Test) -> Table:
    """The test for a straight-line trend over the seasons."""
    say = voice_of(result).say
    row = {"n": len(result.seasons), "slope": result.slope, "statistic": trend.statistic, "p": trend.p}
    frame = pd.DataFrame([row])
    headings = {
        "n": say("Seasons"),
        "slope": say("Change a season, points"),
        "statistic": say("Chi-square, 1 degree of freedom"),
        "p": say("p"),
    }
    formats = {"n": "count", "slope": "points", "statistic": "number", "p": "p"}
    return Table("years-trend", say("Trend over the seasons"), frame, headings, formats)


def method(result: Years) -> Method:
    """How the years were compared."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    mix = ", ".join(factor_name(voice, name) for name in settings.standard_mix)
    return Method(
        method=(
            say(
                "Crude loss has Wilson intervals at the number of {newborns} divided by the design effect. "
                "The common mix is that of all seasons together, over kinds of birth that every season had; "
                "a season's loss on it is the sum of its own risks times the mix (direct standardisation)."
            ),
            say(
                "The change between two seasons is split after Kitagawa: mix is the change of each kind's "
                "share times its mean risk, rate the change of its risk times its mean share; they add up to "
                "the change exactly. A part is clear where its interval, by litters, leaves out no change."
            ),
            say(
                "The chart has three-standard-deviation limits around the common loss, widened for litters "
                "and for how much the seasons swing beyond chance (Laney)."
            ),
            say(
                "The trend is a Cochran-Armitage test with littermates exchangeable, from {n} seasons on.",
                n=printing.count(TREND_FROM),
            ),
            say("Groups that moved: clustered risk differences, with q over all levels shown."),
        ),
        settings=(
            say("Common mix: {mix}.", mix=mix),
            say(
                "Window: {window}, the longest that nine in ten {newborns} of every season were watched "
                "through.",
                window=window_label(result.window.name, result.window.end_h),
            ),
            say(
                "Seasons compared: {first} and {second}.", first=result.pair.first, second=result.pair.second
            ),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "Standardising and splitting allow for the mix's columns only; weather, feed and people stay "
                "in the rate."
            ),
            say("With few seasons the chart's limits are themselves uncertain."),
        ),
        sources=(
            say("Kitagawa EM (1955) J Am Stat Assoc 50:1168-1194."),
            say(
                "Fay MP, Feuer EJ (1997) Stat Med 16:791-801; Korn EL, Graubard BI (1998) Surv Methodol "
                "24:193-201."
            ),
            say("Laney DB (2002) Qual Eng 14:531-537."),
            say("Cochran WG (1954) Biometrics 10:417-451; Armitage P (1955) Biometrics 11:375-386."),
        ),
    )
