"""The tables of the years."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.chapters.years.result import Years
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import Table, printing
from neonatal_stats.words.column_names import column_name
from neonatal_stats.words.groups import factor_name, phrase
from neonatal_stats.words.labels import label

MOST_MOVED = 12
ADDED = ("standard", "n_a", "events_a", "n_b", "events_b", "mix_term", "rate_term")


def tables(result: Years) -> tuple[Table, ...]:
    """The seasons; the pairs split; the terms of one pair; recording; causes; groups that moved."""
    built = [_seasons(result), _pairs(result), _terms(result), _recording(result)]
    if result.trend is not None:
        built.append(_trend(result))
    if len(result.causes):
        built.append(_causes(result))
    if len(result.moved):
        built.append(_moved(result))
    return tuple(built)


def _recording(result: Years) -> Table:
    say, pair = result.voice.say, result.pair
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
            say("{column}: recorded", column=column_name(result.voice, row.detail))
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


def _seasons(result: Years) -> Table:
    say = result.voice.say
    interval = interval_heading(result.voice, result.settings.level)
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


def _pairs(result: Years) -> Table:
    say = result.voice.say
    interval = interval_heading(result.voice, result.settings.level)
    rows = [
        {"pair": say("{first} to {second}", first=pair.first, second=pair.second)}
        | {
            f"{name}{end}": value
            for name, part in (("change", pair.change), ("mix", pair.mix), ("rate", pair.rate))
            for end, value in (("", part.estimate), ("_low", part.low), ("_high", part.high))
        }
        for pair in dict.fromkeys((*result.pairs, result.pair))
    ]
    frame = pd.DataFrame(rows).drop_duplicates("pair", ignore_index=True)
    titles = {"change": say("Change"), "mix": say("Of which mix"), "rate": say("Of which rate")}
    headings, formats = {"pair": say("Seasons")}, {}
    for name, title in titles.items():
        pairs = zip(frame[f"{name}_low"], frame[f"{name}_high"], strict=True)
        frame[f"{name}_range"] = [
            say("{low} to {high}", low=printing.points(low), high=printing.points(high))
            for low, high in pairs
        ]
        headings |= {
            name: title,
            f"{name}_range": say("{interval}, {what}", interval=interval, what=title.lower()),
        }
        formats[name] = "points"
    note = say("In percentage points; mix and rate add up to the change.")
    return Table("years-pairs", say("Every two seasons: mix or rate"), frame, headings, formats, note)


def _terms(result: Years) -> Table:
    say, pair = result.voice.say, result.pair
    names = stratum_names(result)
    frame = result.terms.assign(stratum=names, standard=[*_standard(result)])
    total = {"stratum": say("all together"), **frame[list(ADDED)].sum().to_dict()}
    frame = pd.concat([frame, pd.DataFrame([total])], ignore_index=True)
    frame["both"] = frame["mix_term"] + frame["rate_term"]
    headings = {
        "stratum": say("{newborns}"),
        "standard": say("Share of the common mix"),
        "events_a": say("Lost, {season}", season=pair.first),
        "n_a": say("Born, {season}", season=pair.first),
        "events_b": say("Lost, {season}", season=pair.second),
        "n_b": say("Born, {season}", season=pair.second),
        "mix_term": say("Mix"),
        "rate_term": say("Rate"),
        "both": say("Together"),
    }
    formats = dict.fromkeys(("events_a", "n_a", "events_b", "n_b"), "count")
    formats |= {"standard": "share", "mix_term": "points", "rate_term": "points", "both": "points"}
    title = say("From {first} to {second}: mix and rate, term by term", first=pair.first, second=pair.second)
    note = say("Terms in percentage points. A single term is arithmetic; only their sums speak.")
    return Table("years-terms", title, frame, headings, formats, note)


def stratum_names(result: Years) -> list[str]:
    """The strata of the mix in words."""
    columns = list(result.mix.columns)
    if not columns:
        return [result.voice.say("all")] * len(result.terms)
    return [
        result.voice.say("not recorded")
        if pd.isna(row[0])
        else ", ".join(label(result.voice, value) for value in row)
        for row in result.terms[columns].itertuples(index=False, name=None)
    ]


def _standard(result: Years) -> list[float]:
    columns = list(result.mix.columns)
    if not columns:
        return [1.0] * len(result.terms)
    shares = result.mix.strata[[*columns, "share"]]
    return list(result.terms[columns].merge(shares, on=columns, how="left")["share"].fillna(0.0))


def _trend(result: Years) -> Table:
    say = result.voice.say
    assert result.trend is not None
    frame = pd.DataFrame(
        [
            {
                "n": len(result.seasons),
                "slope": result.slope,
                "statistic": result.trend.statistic,
                "p": result.trend.p,
            }
        ]
    )
    headings = {
        "n": say("Seasons"),
        "slope": say("Change a season, points"),
        "statistic": say("Chi-square, 1 degree of freedom"),
        "p": say("p"),
    }
    formats = {"n": "count", "slope": "points", "statistic": "number", "p": "p"}
    return Table("years-trend", say("Trend over the seasons"), frame, headings, formats)


def _causes(result: Years) -> Table:
    say, pair = result.voice.say, result.pair
    frame = result.causes.assign(
        name=[label(result.voice, cause) for cause in result.causes["cause"]]
    ).rename(columns={"low": "low", "high": "high"})
    headings = {
        "name": say("Cause"),
        **_two(result),
        "difference": say("Difference, points"),
        "interval": interval_heading(result.voice, result.settings.level),
    }
    title = say("Causes in {first} and {second}", first=pair.first, second=pair.second)
    return Table("years-causes", title, frame, headings, _two_formats())


def _two(result: Years) -> dict[str, str]:
    say, pair = result.voice.say, result.pair
    return {
        "events_a": say("Lost, {season}", season=pair.first),
        "n_a": say("Born, {season}", season=pair.first),
        "share_a": say("Share, {season}", season=pair.first),
        "events_b": say("Lost, {season}", season=pair.second),
        "n_b": say("Born, {season}", season=pair.second),
        "share_b": say("Share, {season}", season=pair.second),
    }


def _two_formats() -> dict[str, str]:
    formats = dict.fromkeys(("events_a", "n_a", "events_b", "n_b"), "count")
    return formats | {
        "share_a": "share",
        "share_b": "share",
        "difference": "points",
        "interval": "points",
        "q": "p",
    }


def _moved(result: Years) -> Table:
    say, pair = result.voice.say, result.pair
    frame = result.moved.head(MOST_MOVED)
    frame = frame.assign(
        share_a=frame["events_a"] / frame["n_a"],
        share_b=frame["events_b"] / frame["n_b"],
        what=[factor_name(result.voice, factor) for factor in frame["factor"]],
        name=[phrase(result.voice, row.factor, row.level) for row in each_row(frame)],
    )
    headings = {
        "name": say("Group"),
        **_two(result),
        "difference": say("Difference, points"),
        "interval": interval_heading(result.voice, result.settings.level),
        "q": say("q"),
    }
    title = say("Groups that moved most losses, {first} to {second}", first=pair.first, second=pair.second)
    note = say(
        "The first {shown} of {all} levels with enough {newborns} in both seasons; q over all of them.",
        shown=printing.count(len(frame)),
        all=printing.count(len(result.moved)),
    )
    return Table("years-moved", title, frame, headings, _two_formats(), note)
