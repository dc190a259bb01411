"""The tables of the high-risk groups."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.chapters.groups.result import Groups
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Verdict
from neonatal_stats.words.groups import factor_name, phrase, reading

MOST_PAIRS = 15
RISK_FORMATS = {
    "births": "count",
    "deaths": "count",
    "risk": "share",
    "rest_births": "count",
    "rest_deaths": "count",
    "rest_risk": "share",
    "shrunken_risk": "share",
    "risk_ratio": "ratio",
    "interval": "ratio",
}
EXCESS_FORMATS = {
    "excess": "count",
    "excess_low": "count",
    "excess_high": "count",
    "share_of_deaths": "share",
    "p": "p",
    "q": "p",
}


def tables(result: Groups) -> tuple[Table, ...]:
    """The rows always shown; how many were tried; every level; the pairs that add to their levels; the model."""
    say = result.voice.say
    built = [_watch(result)] if len(result.watch) else []
    built += [*_two(result, "groups-always", say("Groups always shown"), result.always), _tried(result)]
    single = result.groups[result.groups["with_factor"] == ""]
    if len(single):
        built += _two(result, "groups-levels", say("Every level of every factor"), single)
    built += _pairs(result)
    if result.adjusted is not None:
        built.append(_adjusted(result))
    return tuple(built)


def _pairs(result: Groups) -> list[Table]:
    pairs = result.groups[result.groups["with_factor"] != ""]
    telling = pairs[pairs["verdict"].isin([Verdict.CLEAR, Verdict.LEANING]) & (pairs["excess"] > 0)]
    if telling.empty:
        return []
    note = result.voice.say(
        "The first {shown} of {telling} that lean or are clear, of {all} pairs tried. p is the largest of "
        "three: against the rest, and against the others of each of the two levels.",
        shown=printing.count(min(MOST_PAIRS, len(telling))),
        telling=printing.count(len(telling)),
        all=printing.count(len(pairs)),
    )
    title = result.voice.say("Two levels together that lose more than either accounts for")
    return _two(result, "groups-pairs", title, telling.head(MOST_PAIRS), note)


def _watch(result: Groups) -> Table:
    say, watch = result.voice.say, result.watch
    headings = {
        "phrase": say("Group"),
        "deaths": say("Lost"),
        "births": say("{newborns}"),
        "excess": say("Losses beyond the rest's risk"),
        "seasons_more": say("Seasons in which it lost more"),
        "seasons_seen": say("Seasons with enough of them"),
        "q": say("q"),
    }
    formats = dict.fromkeys(("deaths", "births", "excess", "seasons_more", "seasons_seen"), "count") | {
        "q": "p"
    }
    return Table("groups-watch", say("Watch list for next season"), watch, headings, formats)


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


def _two(result: Groups, name: str, title: str, groups: pd.DataFrame, note: str = "") -> list[Table]:
    """The same groups twice: their risks, then what they lost beyond the rest's risk."""
    return [_risks(result, name, title, groups), _excess(result, f"{name}-excess", title, groups, note)]


def _risks(result: Groups, name: str, title: str, groups: pd.DataFrame) -> Table:
    say = result.voice.say
    headings = {
        "phrase": say("Group"),
        "deaths": say("Lost"),
        "births": say("{newborns}"),
        "risk": say("Share"),
        "shrunken_risk": say("Share, drawn in"),
        "rest_deaths": say("Lost, the rest"),
        "rest_births": say("The rest"),
        "rest_risk": say("Share, the rest"),
        "risk_ratio": say("Risk ratio"),
        "interval": interval_heading(result.voice, result.settings.level),
    }
    return Table(name, say("{title}: risks", title=title), groups, headings, RISK_FORMATS)


def _excess(result: Groups, name: str, title: str, groups: pd.DataFrame, note: str) -> Table:
    say, voice = result.voice.say, result.voice
    interval = interval_heading(voice, result.settings.level)
    verdicts = zip(groups["verdict"], groups["excess"].astype(float), strict=True)
    frame = groups.assign(reading=[reading(voice, verdict, excess > 0) for verdict, excess in verdicts])
    headings = {
        "phrase": say("Group"),
        "excess": say("Losses beyond the rest's risk"),
        "excess_low": say("{interval}, from", interval=interval),
        "excess_high": say("to"),
        "share_of_deaths": say("Share of all losses"),
        "p": say("p"),
        "q": say("q"),
        "reading": say("Reading"),
    }
    return Table(name, say("{title}: excess losses", title=title), frame, headings, EXCESS_FORMATS, note)


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
