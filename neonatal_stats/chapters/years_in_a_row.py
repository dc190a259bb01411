"""The seasons in a row, in words: one against all the others, the chart, the trend."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.years import CHART_FROM, TREND, Trend, Years, charted
from neonatal_stats.chapters.protocol import Verdicts, interval_heading
from neonatal_stats.estimates.seasons import AgainstOthers
from neonatal_stats.measures.claims import judged
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Sentence, Verdict, joined, voice_of
from neonatal_stats.words.names import season_names

AGAINST = {
    (
        Verdict.CLEAR,
        True,
    ): "Loss by {window} was higher in {season}, {a}, than in {others} taken together, {b}: "
    "{evidence}, with the swing between those seasons allowed for.",
    (
        Verdict.CLEAR,
        False,
    ): "Loss by {window} was lower in {season}, {a}, than in {others} taken together, {b}: "
    "{evidence}, with the swing between those seasons allowed for.",
    (
        Verdict.LEANING,
        True,
    ): "Loss by {window} looks higher in {season}, {a}, than in {others} taken together, {b}, "
    "but chance and the swing between those seasons are not ruled out: {evidence}.",
    (
        Verdict.LEANING,
        False,
    ): "Loss by {window} looks lower in {season}, {a}, than in {others} taken together, {b}, "
    "but chance and the swing between those seasons are not ruled out: {evidence}.",
    (
        Verdict.NO_CLEAR,
        True,
    ): "No clear difference in loss by {window} between {season}, {a}, and {others} taken "
    "together, {b}: {evidence}, with the swing between those seasons allowed for.",
    (
        Verdict.TOO_FEW,
        True,
    ): "Too few to say whether loss by {window} differs between {season}, {a}, and {others} "
    "taken together, {b}.",
}
ON_ONE_MIX = {
    True: "{change} points on one mix of births ({level} interval {low} to {high})",
    False: "{change} points ({level} interval {low} to {high})",
}
EXPECTED = {
    True: "On that mix {season} lost {share}; from the others one would expect {range}.",
    False: "{season} lost {share}; from the others one would expect {range}.",
}
NOT_THE_MIX = "Not by the mix: the seasons are compared on one mix of births."
TOO_FEW_SEASONS = (
    "With {n} seasons nobody can say what is usual here; limits are drawn from {least} seasons on."
)
TRENDS = {
    (
        Verdict.CLEAR,
        True,
    ): "Loss rose over the {n} seasons {first} to {last}, by {slope} points a season (test for "
    "trend, p {p}).",
    (
        Verdict.CLEAR,
        False,
    ): "Loss fell over the {n} seasons {first} to {last}, by {slope} points a season (test for "
    "trend, p {p}).",
    (
        Verdict.LEANING,
        True,
    ): "Loss leans upwards over the {n} seasons {first} to {last}, by {slope} points a season, "
    "but chance is not ruled out (test for trend, p {p}).",
    (
        Verdict.LEANING,
        False,
    ): "Loss leans downwards over the {n} seasons {first} to {last}, by {slope} points a "
    "season, but chance is not ruled out (test for trend, p {p}).",
    (
        Verdict.NO_CLEAR,
        True,
    ): "No clear trend over the {n} seasons {first} to {last}: {slope} points a season (test "
    "for trend, p {p}).",
}


def against_sentence(result: Years, window: str, verdicts: Verdicts) -> Iterator[Sentence]:
    """The second season against all the others; under three seasons, that nobody can say what is usual."""
    voice = voice_of(result)
    if result.usual is None:
        if not result.charted:
            n, least = voice.count(len(result.seasons)), voice.count(CHART_FROM)
            yield Sentence(voice.say(TOO_FEW_SEASONS, n=n, least=least), Verdict.TOO_FEW)
        return
    (row,) = judged(result.against, verdicts).to_dict("records")
    verdict, on_mix = row["verdict"], bool(result.mix.columns)
    higher = row["estimate"] > 0 or verdict in (Verdict.NO_CLEAR, Verdict.TOO_FEW)
    named = {name: voice.points(row[name]) for name in ("low", "high")}
    text = voice.say(
        AGAINST[verdict, higher],
        window=window,
        season=result.second,
        others=season_names(voice, result.others, list(result.seasons["season"])),
        a=voice.counts(row["events"], row["n"]),
        b=voice.counts(row["events_versus"], row["n_versus"]),
        evidence=voice.say(
            ON_ONE_MIX[on_mix],
            change=voice.points(row["estimate"]),
            level=voice.percent(result.settings.level, 0),
            **named,
        ),
    )
    clear = verdict is Verdict.CLEAR
    if verdict is not Verdict.TOO_FEW:
        text = joined([text, _expected(result, result.usual)])
    yield Sentence(
        text,
        verdict,
        abs(row["excess"]) if clear else 0.0,
        lead=clear,
        claim=row["key"],
        beside=voice.say(NOT_THE_MIX) if clear and on_mix else "",
    )


def _expected(result: Years, usual: AgainstOthers) -> str:
    """What the other seasons lead one to expect of the second."""
    voice = voice_of(result)
    (share,) = result.seasons.loc[result.seasons["season"] == result.second, "standardised"]
    return voice.say(
        EXPECTED[bool(result.mix.columns)],
        season=result.second,
        share=voice.percent(share),
        range=voice.percent_range(usual.low, usual.high),
    )


def chart_sentences(result: Years, verdicts: Verdicts) -> Iterator[Sentence]:
    """Each season that lies clearly outside the limits of the chart, or that none does; where there is a chart."""
    if not result.charted:
        return
    voice = voice_of(result)
    outside = [name for name in result.seasons["season"] if verdicts.get(charted(name)) is Verdict.CLEAR]
    for name in outside:
        template = "{season} lies outside what seasons here usually do."
        yield Sentence(voice.say(template, season=name), Verdict.CLEAR, claim=charted(name))
    if not outside:
        template = "None of the {n} seasons lies clearly outside what seasons here usually do."
        yield Sentence(voice.say(template, n=voice.count(len(result.seasons))), Verdict.NO_CLEAR)


def trend_sentence(result: Years, verdicts: Verdicts) -> Iterator[Sentence]:
    """A straight-line trend over four seasons or more."""
    voice, verdict, found = voice_of(result), verdicts.get(TREND, Verdict.TOO_FEW), result.trend
    if found is None or verdict is Verdict.TOO_FEW:
        return
    seasons = list(result.seasons["season"])
    text = voice.say(
        TRENDS[verdict, found.slope > 0 or verdict is Verdict.NO_CLEAR],
        n=voice.count(len(seasons)),
        first=seasons[0],
        last=seasons[-1],
        slope=voice.points(found.slope),
        p=voice.p_value(found.p),
    )
    yield Sentence(text, verdict, claim=TREND)


def against_table(result: Years, usual: AgainstOthers) -> Table:
    """The second season against all the others, on the common mix."""
    voice = voice_of(result)
    say, (row,) = voice.say, result.against.to_dict("records")
    (share,) = result.seasons.loc[result.seasons["season"] == result.second, "standardised"]
    shown = {
        "season": result.second,
        "others": season_names(voice, result.others, list(result.seasons["season"])),
        **{
            name: row[name]
            for name in ("events", "n", "events_versus", "n_versus", "estimate", "low", "high", "p")
        },
        **{"standardised": share, "mean": usual.others, "swing": usual.swing},
        **{"expected_low": usual.low, "expected_high": usual.high},
    }
    declared = (
        columns.text("season", say("Season")),
        columns.text("others", say("The others")),
        columns.count("events", say("Lost")),
        columns.count("n", say("{newborns}")),
        columns.count("events_versus", say("Lost, the others")),
        columns.count("n_versus", say("{newborns}, the others")),
        columns.share("standardised", say("On the common mix")),
        columns.share("mean", say("Mean of the others on it")),
        columns.points("estimate", say("Difference, points")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "points"),
        columns.interval("expected_low", "expected_high", say("What the other seasons lead one to expect")),
        columns.share("swing", say("Swing between the others")),
        columns.in_csv(columns.p("p", say("p"))),
    )
    note = say(
        "Swing: the standard deviation between the other seasons beyond chance and litters; few show it poorly."
    )
    title = say("{season} against the other seasons", season=result.second)
    return Table("years-others", title, pd.DataFrame([shown]), declared, note=note, printer=voice)


def trend_table(result: Years, found: Trend) -> Table:
    """Both tests for a straight-line trend over the seasons."""
    voice = voice_of(result)
    say = voice.say
    row = {
        "n": len(result.seasons),
        "slope": found.slope,
        "statistic": found.newborns.statistic,
        "p_newborns": found.newborns.p,
        "t": found.line.statistic,
        "df": found.line.df,
        "p_line": found.line.p,
        "p": found.p,
    }
    shown = (
        columns.count("n", say("Seasons")),
        columns.points("slope", say("Change a season, points")),
        columns.number("statistic", say("Chi-square over {newborns}")),
        columns.p("p_newborns", say("its p")),
        columns.number("t", say("Student's t over seasons")),
        columns.count("df", say("degrees of freedom")),
        columns.p("p_line", say("p of the line")),
        columns.p("p", say("p that decides")),
    )
    note = say(
        "The weaker of the two tests decides: chance among {newborns}, or the swing from season to season."
    )
    return Table(
        "years-trend", say("Trend over the seasons"), pd.DataFrame([row]), shown, note=note, printer=voice
    )
