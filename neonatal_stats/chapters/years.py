"""Was it really worse than last year, or did we just have more twins?"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters import years_in_a_row as row_of
from neonatal_stats.chapters import years_side_by_side as two
from neonatal_stats.chapters.counted.years import CHART_FROM, STEP, TREND_FROM, Years, claims, known_seasons
from neonatal_stats.chapters.counted.years import answer as count
from neonatal_stats.chapters.protocol import (
    SAME_MIX,
    SEASON,
    Headline,
    Verdicts,
    decided_within,
    heed,
    interval_heading,
)
from neonatal_stats.drawing import Figure, draw_loss, draw_p_chart
from neonatal_stats.measures.curves import as_lost, before_ages
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.rates import each_row
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, Voice, joined, voice_of
from neonatal_stats.words.group_tables import curve_table
from neonatal_stats.words.names import column_name, factor_name, few_words, window_label

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
RECORDED = {
    "unknown cause": "cause unknown, of the lost",
    "post-mortem": "cause by post-mortem, of the lost",
    "time of birth": "time of birth known",
    "watched": "watched to the end of follow-up or to death",
    "stillborn": "written down as stillborn",
    "causes": "causes in use",
}


def missing(season: Season) -> tuple[str, ...]:
    """Open from two seasons on, where both of the pair to be compared are there."""
    say, seasons = voice_of(season).say, season.named
    if len(seasons) < 2:
        return (
            say(
                "Not answered: the records hold one season. Adding the records of another season would open "
                "the chapter."
            ),
        )
    pair = season.compared
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


def answer(season: Season) -> Years:
    """The seasons compared; `NotRecorded` where there are not two to compare."""
    heed(missing(season))
    return count(season)


def sentences(result: Years, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """Recording first, then the change, what it is made of, all the seasons in a row, causes and groups that moved."""
    verdicts = settled(claims(result), result.settings, verdicts)
    return (
        _recording(result),
        *_shortened(result),
        *two.change_sentences(result, _window(result), verdicts),
        *row_of.against_sentence(result, _window(result), verdicts),
        *_standardised(result),
        *_not_standardised(result),
        *row_of.chart_sentences(result, verdicts),
        *row_of.trend_sentence(result, verdicts),
        *two.cause_sentences(result, verdicts),
        *two.moved_sentences(result, verdicts),
    )


def _window(result: Years) -> str:
    return window_label(voice_of(result), result.window.name, result.window.end_h)


def _recording(result: Years) -> Sentence:
    """What changed in how things were written down, said before any comparison."""
    voice = voice_of(result)
    flagged = result.recording[result.recording["flagged"].astype(bool)]
    if len(flagged):
        changes = joined((_recorded(result, row) for row in flagged.to_dict("records")), "; ")
        return Sentence(voice.say(BEFORE, changes=changes))
    step = voice.percent(STEP, 0)
    return Sentence(voice.say(SAME, first=result.first, second=result.second, step=step))


def _recorded(result: Years, row: Mapping[Hashable, Any]) -> str:
    """One change of recording."""
    voice, what, detail = voice_of(result), row["what"], row["detail"]
    return voice.say(
        RECORDING[what],
        detail=column_name(voice, detail) if what == "recorded" else detail,
        first=result.first,
        second=result.second,
        a=voice.counts(row["first"], row["n_first"]),
        b=voice.counts(row["second"], row["n_second"]),
    )


def _shortened(result: Years) -> Iterator[Sentence]:
    """That the seasons are compared over less than the whole follow-up, where they are."""
    if result.window.shortened:
        yield Sentence(voice_of(result).say(SHORTENED, window=_window(result)), role="cannot say")


def _standardised(result: Years) -> Iterator[Sentence]:
    """What the two seasons would have lost on the common mix."""
    voice, table = voice_of(result), result.seasons.set_index("season")
    rows = table.loc[[result.first, result.second], ["standardised", "standardised_low", "standardised_high"]]
    if rows["standardised"].isna().any() or not result.mix.columns:
        return
    a, b = (
        voice.say("{share} ({range})", share=voice.percent(share), range=voice.percent_range(low, high))
        for share, low, high in rows.itertuples(index=False, name=None)
    )
    mix = joined((factor_name(voice, name) for name in result.mix.columns), ", ")
    template = "On one common mix of births ({mix}), {a} would have been lost in {first} and {b} in {second}."
    yield Sentence(voice.say(template, mix=mix, a=a, b=b, first=result.first, second=result.second))


def _not_standardised(result: Years) -> Iterator[Sentence]:
    """Who, and which columns, the common mix could not take in."""
    voice, missing = voice_of(result), int(result.seasons["n_not_standardised"].sum())
    if missing and result.mix.columns:
        template = "{newborns} not in the common mix, for want of a record or of their kind in a season: {n}."
        yield Sentence(voice.say(template, n=voice.count(missing)), role="cannot say")
    if result.mix.unusable:
        template = "The mix could not take in {columns}: not recorded in every season, or all the same."
        names = joined((factor_name(voice, name) for name in result.mix.unusable), ", ")
        yield Sentence(voice.say(template, columns=names), role="cannot say")


def headlines(result: Years) -> tuple[Headline, ...]:
    """The change between the two seasons on the same mix of births, for the top of the page."""
    if math.isnan(result.parts["rate"]["estimate"]):
        return ()
    name = voice_of(result).say(
        "{second} against {first}, on the same mix of births", first=result.first, second=result.second
    )
    return (Headline("same_mix_change", name, two.same_mix(result), *[float("nan")] * 5),)


def glance(result: Years) -> tuple[Headline, ...]:
    """The loss of each season in the window in which they are compared; the change on the same mix, and its seasons."""
    voice = voice_of(result)
    names = ("events", "n", "share", "low", "high")
    seasons = [
        Headline(
            f"{SEASON}{row['season']}",
            str(row["season"]),
            voice.counts(row["events"], row["n"]),
            *(float(row[name]) for name in names),
        )
        for row in result.seasons.to_dict("records")
    ]
    rate = result.parts["rate"]
    change = (float(rate[name]) for name in ("estimate", "low", "high"))
    return (
        *seasons,
        Headline(SAME_MIX, result.first, two.same_mix(result), math.nan, math.nan, *change),
    )


def figures(result: Years, verdicts: Verdicts | None = None) -> tuple[Figure, ...]:
    """Every figure that the records can fill: the chart, the split, survival, causes and the groups that moved."""
    verdicts = settled(claims(result), result.settings, verdicts)
    drawn = [_chart_figure(result), two.terms_figure(result)]
    if result.survival:
        drawn.append(_loss_figure(result))
    if len(result.causes):
        drawn.append(two.causes_figure(result, verdicts))
    if len(result.moved):
        drawn.append(two.moved_figure(result, verdicts))
    return tuple(drawn)


def _chart_figure(result: Years) -> Figure:
    """Loss of every season as it was and on the common mix, within the limits of the chart."""
    voice, window = voice_of(result), _window(result)
    say, seasons = voice.say, result.seasons
    told = {
        row.season: f"{row.season} {voice.share_of(row.events, row.n, row.low, row.high)}"
        for row in each_row(seasons)
    }
    alt = "Lost by {window}: {this}; the other seasons {others}; all together {all}."
    return draw_p_chart(
        seasons,
        result.chart.centre,
        printer=voice,
        name="years-chart",
        title=say("Loss by {window}, season by season", window=window),
        alt=say(
            alt,
            window=window,
            this=told.pop(result.second),
            others="; ".join(told.values()),
            all=voice.percent(result.chart.centre),
        ),
        axis=say("lost by {window}, % of {newborns}", window=window),
        words=(say("as it was"), say("on the common mix"), say("limits of the chart"), say("all seasons")),
        reviewed=result.second,
    )


def _loss_figure(result: Years) -> Figure:
    """Share lost of those born alive, a curve a season."""
    voice, end_h = voice_of(result), result.settings.follow_up_h
    say, curves = voice.say, [(name, as_lost(curve)) for name, curve in result.survival]
    told = "; ".join(_lost_by(result, name, curve) for name, curve in curves)
    return draw_loss(
        curves,
        follow_up_h=end_h,
        marks_h=[hour for hour in result.settings.windows_h.values() if hour < end_h],
        printer=voice,
        name="years-survival",
        title=say("Loss of {newborns} born alive, season by season"),
        alt=say("Share lost of the {newborns} born alive, counted up from birth: {told}.", told=told),
        axis=say("lost, % of {newborns} born alive"),
        age_axes=(say("age, hours"), say("age, days")),
        at_risk=say("still watched"),
        reviewed=result.second,
        too_few=[(row.season, few_words(voice, row.n, row.litters)) for row in each_row(result.few)],
    )


def curves(result: Years) -> tuple[Table, ...]:
    """Share alive by each age, season by season: for other programs."""
    if not result.survival:
        return ()
    voice = voice_of(result)
    found = pd.concat([curve.assign(season=name) for name, curve in result.survival], ignore_index=True)
    title = voice.say("Alive by each age, of {newborns} born alive")
    keys = {"season": voice.say("Season")}
    return (curve_table(voice, "years-survival-curve", title, found, keys, result.settings.level),)


def _lost_by(result: Years, name: str, curve: pd.DataFrame) -> str:
    """One season's curve read at the end of the window compared, or at the last age watched."""
    voice, last = voice_of(result), min(result.window.end_h, float(curve["age_h"].max()))
    row = before_ages(curve, (), [last], end_h=last, start=0.0).iloc[0]
    interval = voice.percent_range(row["low"], row["high"])
    read = {"share": voice.percent(row["share"]), "interval": interval, "age": voice.age(last)}
    return voice.say("{name} {share} ({interval}) by {age}", name=name, **read)


def tables(result: Years) -> tuple[Table, ...]:
    """The seasons; the pairs split; the terms of one pair; recording; the trend; causes; groups that moved."""
    built = [
        _seasons_table(result),
        two.pairs_table(result),
        two.terms_table(result),
        _recording_table(result),
    ]
    if result.usual is not None:
        built.append(row_of.against_table(result, result.usual))
    if result.trend is not None:
        built.append(row_of.trend_table(result, result.trend))
    if len(result.causes):
        built.append(two.causes_table(result))
    if len(result.moved):
        built.append(two.moved_table(result))
    return tuple(built)


def _seasons_table(result: Years) -> Table:
    """Every season as it was, on the common mix and on the chart."""
    voice, seasons = voice_of(result), result.seasons
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    shown = (
        columns.text("season", say("Season")),
        columns.count("events", say("Lost")),
        columns.count("n", say("{newborns}")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval),
        columns.in_csv(columns.ratio("design_effect", say("Design effect"))),
        columns.in_csv(columns.count("n_standardised", say("In the common mix"))),
        columns.share("standardised", say("On the common mix")),
        columns.interval(
            "standardised_low", "standardised_high", say("{interval}, common mix", interval=interval)
        ),
        columns.count("n_not_standardised", say("Not in the common mix")),
        columns.interval("chart_low", "chart_high", say("Limits of the chart")),
        columns.text("flag", say("Chart"), raw="outside"),
    )
    frame = seasons.assign(flag=[say("outside") if out else "" for out in seasons["outside"]])
    note = say("Not in the common mix in all: {n}.", n=voice.count(seasons["n_not_standardised"].sum()))
    title = say("Loss by season, crude and on one common mix")
    return Table("years-seasons", title, frame, shown, note=note, printer=voice)


def _recording_table(result: Years) -> Table:
    """What was written down in each of the two seasons, changed or not."""
    voice, frame, first, second = voice_of(result), result.recording, result.first, result.second
    say, counted = voice.say, frame["what"] != "causes"
    named = [
        say("{column}: recorded", column=column_name(voice, row.detail))
        if row.what == "recorded"
        else say(RECORDED[row.what])
        for row in each_row(frame)
    ]
    frame = frame.assign(
        what=named,
        flag=[say("changed") if flagged else "" for flagged in frame["flagged"]],
        share_first=(frame["first"] / frame["n_first"]).where(counted),
        share_second=(frame["second"] / frame["n_second"]).where(counted),
    )
    shown = (
        columns.text("what", say("What")),
        columns.key("detail", say("Column")),
        columns.count("first", first),
        columns.count("n_first", say("of, {season}", season=first)),
        columns.share("share_first", say("share, {season}", season=first)),
        columns.count("second", second),
        columns.count("n_second", say("of, {season}", season=second)),
        columns.share("share_second", say("share, {season}", season=second)),
        columns.text("flag", say("Flag"), raw="flagged"),
    )
    return Table("years-recording", say("Recording in the two seasons"), frame, shown, printer=voice)


def method(result: Years, verdicts: Verdicts | None = None) -> Method:
    """How the years were compared."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    mix = joined((factor_name(voice, name) for name in settings.standard_mix), ", ")
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
                "the change exactly. Where the change is clear, a part is clear where its interval, by litters, leaves "
                "out no change."
            ),
            *_swing_allowed_for(voice),
            say(
                "A group moved where its loss changed by more or less than that of all others (interaction with "
                "season on the scale of risks, by litters)."
            ),
            decided_within(voice, verdicts),
        ),
        settings=(
            say("Common mix: {mix}.", mix=mix),
            say(
                "Window: {window}, the longest that nine in ten {newborns} of every season were watched "
                "through.",
                window=_window(result),
            ),
            say("Seasons compared: {first} and {second}.", first=result.first, second=result.second),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "Standardising and splitting allow for the mix's columns only; weather, feed and people stay "
                "in the rate."
            ),
            say("With few seasons the chart's limits are themselves uncertain."),
            say(
                "Two or three other seasons show their own swing poorly. Where risks swing by a fifth from season to "
                "season, about 1 in 8 seasons that are no exception then has p under 0.05, instead of 1 in 20; were no "
                "swing allowed for, it would be more than 1 in 4 (simulated). Season against season allows for litters "
                "and chance only: it says that these two differ, not that either is unusual."
            ),
        ),
        sources=(
            say("Kitagawa EM (1955) J Am Stat Assoc 50:1168-1194."),
            say(
                "Fay MP, Feuer EJ (1997) Stat Med 16:791-801; Korn EL, Graubard BI (1998) Surv Methodol "
                "24:193-201."
            ),
            say("Laney DB (2002) Qual Eng 14:531-537."),
            say(
                "DerSimonian R, Laird N (1986) Control Clin Trials 7:177-188; Satterthwaite FE (1946) Biometrics "
                "2:110-114; Higgins JPT, Thompson SG, Spiegelhalter DJ (2009) J R Stat Soc A 172:137-159; Zou GY, "
                "Donner A (2008) Stat Med 27:1693-1702."
            ),
            say("Cochran WG (1954) Biometrics 10:417-451; Armitage P (1955) Biometrics 11:375-386."),
        ),
    )


def _swing_allowed_for(voice: Voice) -> tuple[str, ...]:
    """How seasons that swing by themselves are kept from passing for a change: chart, one among others, trend."""
    say = voice.say
    return (
        say(
            "The chart has three-standard-deviation limits around the common loss, widened for litters "
            "and for how much the seasons swing beyond chance (Laney)."
        ),
        say(
            "One season against all the others: its loss on the common mix less the others' mean, over the "
            "standard error that litters and chance would give if all had one risk, with the variance between the "
            "others (moments, weights by DerSimonian and Laird) added for the season and for the mean. Of that "
            "only the variance between seasons is uncertain, so that Student's t has Satterthwaite's degrees of "
            "freedom."
        ),
        say(
            "The trend, from {n} seasons on: a Cochran-Armitage test with littermates exchangeable, and Student's "
            "t of a straight line through the seasons, each once; the weaker of the two decides, since a test over "
            "{newborns} alone takes the swing from season to season for a trend.",
            n=voice.count(TREND_FROM),
        ),
        say(
            "Under {n} seasons no control limits are drawn, since none could lie outside its own.",
            n=voice.count(CHART_FROM),
        ),
    )
