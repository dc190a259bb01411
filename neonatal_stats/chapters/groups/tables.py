"""The tables of the high-risk groups."""

from __future__ import annotations

import math

import pandas as pd

from neonatal_stats.chapters.groups.result import Groups
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Verdict
from neonatal_stats.words.groups import factor_name, phrase, reading

MOST_PAIRS = 15
FORMATS = {
    "births": "count",
    "deaths": "count",
    "risk": "share",
    "rest_births": "count",
    "rest_deaths": "count",
    "shrunken_risk": "share",
    "risk_ratio": "ratio",
    "share_of_deaths": "share",
    "p": "p",
    "q": "p",
}


def tables(result: Groups) -> tuple[Table, ...]:
    """How many were tried; the rows always shown; every level; the first pairs; the model."""
    built = [
        _tried(result),
        _rows(result, "groups-always", result.voice.say("Groups always shown"), result.always),
    ]
    single = result.groups[result.groups["with_factor"] == ""]
    pairs = result.groups[result.groups["with_factor"] != ""]
    if len(single):
        built.append(_rows(result, "groups-levels", result.voice.say("Every level of every factor"), single))
    telling = pairs[pairs["verdict"].isin([Verdict.CLEAR, Verdict.LEANING]) & (pairs["excess"] > 0)]
    if len(telling):
        title = result.voice.say("Two levels together that lose more than either accounts for")
        note = result.voice.say(
            "The first {shown} of {telling} that lean or are clear, of {all} pairs tried. p is the largest "
            "of three: "
            "against the rest, and against the others of each of the two levels.",
            shown=printing.count(min(MOST_PAIRS, len(telling))),
            telling=printing.count(len(telling)),
            all=printing.count(len(pairs)),
        )
        built.append(_rows(result, "groups-pairs", title, telling.head(MOST_PAIRS), note))
    if result.adjusted is not None:
        built.append(_adjusted(result))
    return tuple(built)


def _tried(result: Groups) -> Table:
    say, groups = result.voice.say, result.groups
    single = groups["with_factor"] == ""
    tried, small = groups["tried"].astype(bool), ~groups["tried"].astype(bool)
    frame = pd.DataFrame(
        {
            "what": [
                say("factors known at birth"),
                say("levels tried"),
                say("levels too small to try"),
                say("pairs of levels tried"),
                say("groups tried in all"),
                say("on the watch list"),
            ],
            "n": [
                len(result.factors),
                int((single & tried).sum()),
                int((single & small).sum()),
                int((~single & tried).sum()),
                int(tried.sum()),
                len(result.watch),
            ],
        }
    )
    headings = {"what": say("What"), "n": say("Number")}
    return Table("groups-tried", say("How many groups were tried"), frame, headings, {"n": "count"})


def _rows(result: Groups, name: str, title: str, groups: pd.DataFrame, note: str = "") -> Table:
    """Groups against the rest."""
    say, voice = result.voice.say, result.voice
    interval = interval_heading(voice, result.settings.level)
    frame = groups.assign(
        ratio_range=[
            printing.ratio_range(*pair)
            for pair in zip(groups["low"].astype(float), groups["high"].astype(float), strict=True)
        ],
        excess_printed=[printing.number(x, 0) for x in groups["excess"].astype(float)],
        excess_range=[
            _range(*pair)
            for pair in zip(
                groups["excess_low"].astype(float), groups["excess_high"].astype(float), strict=True
            )
        ],
        reading=[
            reading(voice, v, bool(e > 0)) for v, e in zip(groups["verdict"], groups["excess"], strict=True)
        ],
    )
    headings = {
        "phrase": say("Group"),
        "deaths": say("Lost"),
        "births": say("{newborns}"),
        "risk": say("Share"),
        "rest_deaths": say("Lost, the rest"),
        "rest_births": say("The rest"),
        "shrunken_risk": say("Share, drawn in"),
        "risk_ratio": say("Risk ratio"),
        "ratio_range": interval,
        "excess_printed": say("Excess losses"),
        "excess_range": say("{interval} of the excess", interval=interval),
        "share_of_deaths": say("Share of all losses"),
        "p": say("p"),
        "q": say("q"),
        "reading": say("Reading"),
    }
    return Table(name, title, frame, headings, FORMATS, note)


def _range(low: float, high: float) -> str:
    if math.isnan(low) or math.isnan(high):
        return printing.NOT_KNOWN
    return printing.span(printing.number(low, 0), printing.number(high, 0))


def _adjusted(result: Groups) -> Table:
    say, voice, adjusted = result.voice.say, result.voice, result.adjusted
    assert adjusted is not None
    frame = adjusted.groups.assign(
        what=[factor_name(voice, factor) for factor in adjusted.groups["factor"]],
        phrase=[phrase(voice, row.factor, row.level) for row in each_row(adjusted.groups)],
    )
    headings = {
        "phrase": say("Group"),
        "events": say("Lost"),
        "n": say("{newborns}"),
        "hazard_ratio": say("Hazard ratio, adjusted for the others"),
        "interval": interval_heading(voice, result.settings.level),
        "p": say("p"),
    }
    note = say(
        "{n} {newborns} with {events} losses are in the model; {left_out} are not, for want of an age or a "
        "level.",
        n=printing.count(adjusted.n),
        events=printing.count(adjusted.events),
        left_out=printing.count(adjusted.left_out),
    )
    formats = {"events": "count", "n": "count", "hazard_ratio": "ratio", "interval": "ratio", "p": "p"}
    return Table("groups-adjusted", say("The top groups beside each other"), frame, headings, formats, note)
