"""Which newborns lose most, and where would next season's effort buy most?"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.groups import Adjusted, Groups, answer, standing
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_ranked
from neonatal_stats.measures.birth_factors import COLUMNS, factors
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.measures.risk_groups import TO_LEVELS
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Verdict, Voice
from neonatal_stats.words.comparisons import ratio_in_words
from neonatal_stats.words.names import factor_name, phrase, with_phrases
from neonatal_stats.words.windows import window_label

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Groups",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]

NAME = "groups"
TITLE = "High-risk groups"
QUESTION = "Which {newborns} are lost most, and where would next season's effort buy most?"
ALL_SEASONS = True

MOST_LISTED = 6
MOST_DRAWN = 12
MOST_PAIRS = 15
LABEL_WIDTH = 34

WATCH = (
    "Watch list for next season: {phrase}. In all records read they lost {counts} by {window}, the rest {rest}: "
    "{evidence}. That is {excess} losses ({low} to {high}) more than at the rest's risk."
)
SEASONS = "They lost more than the rest in {more} of the {seen} seasons that held enough of them."
ALWAYS = {
    Verdict.CLEAR: "{phrase} lost clearly more than the rest: {counts} against {rest}, {evidence}.",
    Verdict.LEANING: "{phrase} lost {counts}, the rest {rest}, {evidence}: it leans, but chance is not ruled "
    "out.",
    Verdict.NO_CLEAR: "No clear difference between {phrase}, {counts}, and the rest, {rest}: {evidence}.",
    Verdict.TOO_FEW: "{phrase}: too few to say ({counts}; the rest {rest}).",
}
TRIED_CLEAR = (
    "Of {tried} groups tried (every level of every factor known at birth, and every two of them together), "
    "{clear} lost clearly more than the rest by {window}. Were there no true differences, at most {share} of "
    "reviews would put any group on the watch list."
)
TRIED_NONE = (
    "Of {tried} groups tried (every level of every factor known at birth, and every two of them together), "
    "none lost more than the rest by {window} beyond what chance and litters would give among so many."
)
NOT_TRIED = "No groups could be tried: too little was written down at birth that tells {newborns} apart."
NOT_RECORDED = (
    "The records do not say: {factors}. Writing it down at birth next season would show whether these groups "
    "lose more."
)
BESIDE = {
    Verdict.CLEAR: "Beside the other groups in one model {phrase} stand on their own: hazard ratio {ratio} "
    "({level} interval {interval}).",
    Verdict.LEANING: "Beside the other groups in one model {phrase} lean the same way, but chance is not "
    "ruled out: hazard ratio {ratio} ({level} interval {interval}).",
    Verdict.NO_CLEAR: "Beside the other groups in one model {phrase} no longer stand out: hazard ratio "
    "{ratio} ({level} interval {interval}).",
    Verdict.TOO_FEW: "Beside the other groups in one model, there is too little to say of {phrase}.",
}
READINGS = {
    Verdict.CLEAR: ("lost more", "lost less"),
    Verdict.LEANING: ("leaning, more", "leaning, less"),
    Verdict.NO_CLEAR: ("no clear difference", "no clear difference"),
    Verdict.TOO_FEW: ("too few to say", "too few to say"),
}


def missing(season: Season) -> tuple[str, ...]:
    """Open where at least one factor known at birth was recorded."""
    if factors(season.births):
        return ()
    columns = ", ".join(name for name in COLUMNS if name in ("birth_type", "delivery", "sex", "birth_place"))
    return (
        voice_of(season).say(
            "Not answered: nothing known at birth was recorded to form groups by. Recording {columns}, the "
            "{dam}'s parity, birth weight or the suck reflex would open the chapter.",
            columns=columns,
        ),
    )


def sentences(result: Groups) -> tuple[Sentence, ...]:
    """How many were tried, the watch list, the rows always spoken of, what stands on its own, what is not recorded."""
    return (_tried(result), *_watch(result), *_always(result), *_adjusted(result), *_not_recorded(result))


def _tried(result: Groups) -> Sentence:
    """How many groups were tried, and how many are on the watch list."""
    clear, tried = len(result.watch), int(result.groups["tried"].sum())
    text = tried_sentence(
        voice_of(result),
        tried=printing.count(tried),
        clear=printing.count(clear),
        window=window_label(result.window.name, result.window.end_h),
        share=printing.percent(result.settings.false_discovery_share, 0),
        any_clear=clear > 0,
    )
    return Sentence(text, None if clear else Verdict.NO_CLEAR)


def tried_sentence(voice: Voice, *, tried: str, clear: str, window: str, share: str, any_clear: bool) -> str:
    """How many groups were tried and how many stand out."""
    if tried == printing.count(0):
        return voice.say(NOT_TRIED)
    template = TRIED_CLEAR if any_clear else TRIED_NONE
    return voice.say(template, tried=tried, clear=clear, window=window, share=share)


def _watch(result: Groups) -> Iterator[Sentence]:
    """Each group on the list, with what was checked: season by season, and beside the others in one model."""
    voice = voice_of(result)
    window = window_label(result.window.name, result.window.end_h)
    beside = {(row.factor, row.level): _standing(result, row, voice.say("they")) for row in _modelled(result)}
    listed = with_phrases(voice, result.watch.head(MOST_LISTED), before="verdict")
    for place, row in enumerate(each_row(listed)):
        said = [_watched(result, row, window)]
        if row.seasons_seen > 1:
            more, seen = printing.count(row.seasons_more), printing.count(row.seasons_seen)
            said.append(voice.say(SEASONS, more=more, seen=seen))
        own = None if row.with_factor else beside.get((row.factor, row.level))
        if own is not None and own.verdict is not Verdict.TOO_FEW:
            said.append(own.text)
        yield Sentence(" ".join(said), Verdict.CLEAR, row.excess, lead=place == 0)


def _watched(result: Groups, row: Any, window: str) -> str:
    """Who is on the list, what they lost and how much more than at the rest's risk."""
    return voice_of(result).say(
        WATCH,
        **_against_the_rest(result, row),
        window=window,
        excess=printing.number(row.excess, 0),
        low=printing.number(row.excess_low, 0),
        high=printing.number(row.excess_high, 0),
    )


def _against_the_rest(result: Groups, row: Any) -> dict[str, str]:
    """A group and its rest as the parts of a sentence."""
    return {
        "phrase": row.phrase,
        "counts": printing.counts(row.deaths, row.births),
        "rest": printing.counts(row.rest_deaths, row.rest_births),
        "evidence": ratio_in_words(
            voice_of(result), row.risk_ratio, row.low, row.high, result.settings.level
        ),
    }


def _spoken_of(result: Groups) -> set[tuple[str, str]]:
    """The single levels of which the watch list speaks: factor and level."""
    listed = result.watch.head(MOST_LISTED)
    single = listed[listed["with_factor"] == ""]
    return set(zip(single["factor"], single["level"], strict=True))


def _always(result: Groups) -> Iterator[Sentence]:
    """The rows that always stand, whatever there is to say, unless the watch list has just spoken of them."""
    voice, spoken_of = voice_of(result), _spoken_of(result)
    recorded = result.always[result.always["recorded"].astype(bool)]
    for row in each_row(with_phrases(voice, recorded, before="verdict")):
        if (row.factor, row.level) not in spoken_of:
            text = voice.say(ALWAYS[row.verdict], **_against_the_rest(result, row))
            excess = max(row.excess, 0.0) if math.isfinite(row.excess) else 0.0
            yield Sentence(text, row.verdict, excess)


def _adjusted(result: Groups) -> Iterator[Sentence]:
    """Those in the model of which the watch list has not spoken."""
    voice, spoken_of = voice_of(result), _spoken_of(result)
    for row in _modelled(result):
        if (row.factor, row.level) not in spoken_of:
            yield _standing(result, row, phrase(voice, row.factor, row.level))


def _modelled(result: Groups) -> Iterator[Any]:
    """The groups of the model."""
    return iter(()) if result.adjusted is None else each_row(result.adjusted.groups)


def _standing(result: Groups, row: Any, name: str) -> Sentence:
    """Whether a group stands on its own beside the others in one model."""
    verdict = standing(result, row)
    text = voice_of(result).say(
        BESIDE[verdict],
        phrase=name,
        ratio=printing.ratio(row.hazard_ratio),
        interval=printing.ratio_range(row.low, row.high),
        level=printing.percent(result.settings.level, 0),
    )
    return Sentence(text, verdict)


def _not_recorded(result: Groups) -> Iterator[Sentence]:
    """Which of the groups that matter most cannot be formed."""
    voice = voice_of(result)
    lacking = result.always[~result.always["recorded"].astype(bool)]
    names = dict.fromkeys(factor_name(voice, factor) for factor in lacking["factor"])
    if names:
        yield Sentence(voice.say(NOT_RECORDED, factors=", ".join(names)), role="record next")


def figures(result: Groups) -> tuple[Figure, ...]:
    """The groups with most excess losses: single levels, and the pairs that are clear."""
    voice = voice_of(result)
    say = voice.say
    groups = result.groups[result.groups["tried"].astype(bool)]
    top = (groups["verdict"] == Verdict.CLEAR) | (groups["with_factor"] == "")
    drawn = groups[top & (groups["excess"] > 0)].sort_values("excess", ascending=False, kind="stable")
    drawn = drawn.head(MOST_DRAWN)
    if drawn.empty:
        return ()
    drawn = with_phrases(voice, drawn, before="verdict")
    frame = drawn.assign(
        label=["\n".join(textwrap.wrap(text, LABEL_WIDTH)) for text in drawn["phrase"]],
        clear=drawn["verdict"] == Verdict.CLEAR,
        counts=[printing.counts(d, n) for d, n in zip(drawn["deaths"], drawn["births"], strict=True)],
    )
    listed = "; ".join(
        say("{phrase}, {excess} more", phrase=row.phrase, excess=printing.number(row.excess, 0))
        for row in each_row(frame)
    )
    return (
        draw_ranked(
            frame,
            printer=voice,
            name="groups-excess",
            title=say("Losses beyond the rest's risk, group by group"),
            alt=say(
                "Excess losses of each group against the rest, with {level} intervals, most first: {listed}. "
                "Filled marks are clear, open ones are not.",
                level=printing.percent(result.settings.level, 0),
                listed=listed,
            ),
            axis=say("{newborns} lost beyond the rest's risk (filled: clear among all groups tried)"),
            counts_heading=say("lost"),
        ),
    )


def tables(result: Groups) -> tuple[Table, ...]:
    """The watch list; the rows always shown; how many were tried; levels; pairs beyond their levels; the model."""
    say = voice_of(result).say
    built = [_watch_table(result)] if len(result.watch) else []
    built += [*_two(result, "groups-always", say("Groups always shown"), result.always), _tried_table(result)]
    single = result.groups[result.groups["with_factor"] == ""]
    if len(single):
        built += _two(result, "groups-levels", say("Every level of every factor"), single)
    built += _pairs_tables(result)
    if result.adjusted is not None:
        built.append(_adjusted_table(result, result.adjusted))
    return tuple(built)


def _pairs_tables(result: Groups) -> list[Table]:
    """Pairs that lost more, clearly or leaning, where there are any."""
    pairs = result.groups[result.groups["with_factor"] != ""]
    telling = pairs[pairs["verdict"].isin([Verdict.CLEAR, Verdict.LEANING]) & (pairs["excess"] > 0)]
    if telling.empty:
        return []
    say = voice_of(result).say
    note = say(
        "The first {shown} of {telling} that lean or are clear, of {all} pairs tried. p is the largest of "
        "three: against the rest, and against the others of each of the two levels.",
        shown=printing.count(min(MOST_PAIRS, len(telling))),
        telling=printing.count(len(telling)),
        all=printing.count(len(pairs)),
    )
    title = say("Two levels together that lose more than either accounts for")
    return _two(result, "groups-pairs", title, telling.head(MOST_PAIRS), note)


def _watch_table(result: Groups) -> Table:
    """The watch list, with the seasons in which each lost more."""
    voice = voice_of(result)
    say, watch = voice.say, with_phrases(voice, result.watch, before="verdict")
    headings = {
        "phrase": say("Group"),
        "deaths": say("Lost"),
        "births": say("{newborns}"),
        "excess": say("Losses beyond the rest's risk"),
        "seasons_more": say("Seasons in which it lost more"),
        "seasons_seen": say("Seasons with enough of them"),
        "q": say("q"),
    }
    formats = dict.fromkeys(("deaths", "births", "excess", "seasons_more", "seasons_seen"), "count")
    formats["q"] = "p"
    return Table("groups-watch", say("Watch list for next season"), watch, headings, formats)


def _tried_table(result: Groups) -> Table:
    """Groups counted: levels and pairs that were tried, and levels too small to try."""
    say, groups = voice_of(result).say, result.groups
    single = groups["with_factor"] == ""
    tried, small = groups["tried"].astype(bool), ~groups["tried"].astype(bool)
    rows = [
        (say("factors known at birth"), len(result.factors)),
        (say("levels tried"), int((single & tried).sum())),
        (say("levels too small to try"), int((single & small).sum())),
        (say("pairs of levels tried"), int((~single & tried).sum())),
        (say("groups tried in all"), int(tried.sum())),
        (say("on the watch list"), len(result.watch)),
    ]
    frame = pd.DataFrame(rows, columns=["what", "n"])
    headings = {"what": say("What"), "n": say("Number")}
    return Table("groups-tried", say("How many groups were tried"), frame, headings, {"n": "count"})


def _two(result: Groups, name: str, title: str, groups: pd.DataFrame, note: str = "") -> list[Table]:
    """The same groups twice: their risks, then what they lost beyond the rest's risk."""
    named = with_phrases(voice_of(result), groups, before="verdict")
    return [_risks(result, name, title, named), _excess(result, f"{name}-excess", title, named, note)]


def _risks(result: Groups, name: str, title: str, groups: pd.DataFrame) -> Table:
    """Lost of the group and of the rest, the shares, and their ratio."""
    voice = voice_of(result)
    say = voice.say
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
        "interval": interval_heading(voice, result.settings.level),
    }
    formats = dict.fromkeys(("deaths", "births", "rest_deaths", "rest_births"), "count")
    formats |= dict.fromkeys(("risk", "shrunken_risk", "rest_risk"), "share")
    formats |= {"risk_ratio": "ratio", "interval": "ratio"}
    return Table(name, say("{title}: risks", title=title), groups, headings, formats)


def _excess(result: Groups, name: str, title: str, groups: pd.DataFrame, note: str) -> Table:
    """What each group lost beyond the rest's risk, and how strong the evidence is."""
    voice = voice_of(result)
    say = voice.say
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
    formats = dict.fromkeys(("excess", "excess_low", "excess_high"), "count")
    formats |= {"share_of_deaths": "share", "p": "p", "q": "p"}
    return Table(name, say("{title}: excess losses", title=title), frame, headings, formats, note)


def reading(voice: Voice, verdict: Verdict, more: bool) -> str:
    """The verdict as it stands in a table."""
    return voice.say(READINGS[verdict][0 if more else 1])


def _adjusted_table(result: Groups, adjusted: Adjusted) -> Table:
    """The levels in the model, each beside the others; who is not in it stands in the note."""
    voice = voice_of(result)
    say = voice.say
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


def method(result: Groups) -> Method:
    """How the high-risk groups were found."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    factors = ", ".join(factor_name(voice, factor) for factor in result.factors)
    return Method(
        method=(
            say(
                "Every level of every factor known at birth, and every two levels together, is held against "
                "all other {newborns} whose level is known. Excess losses are the losses less what the "
                "rest's risk would have given. Intervals and tests allow for litters."
            ),
            say(
                "q is the share of false alarms to expect among the groups at or below it (Benjamini and Hochberg), "
                "counted over everything tried; {levels} of what is allowed goes to single levels, the rest to "
                "pairs. It asks only who lost more. A pair must also lose more than the rest of each of its two "
                "levels.",
                levels=printing.percent(TO_LEVELS, 0),
            ),
            say(
                "The list begins with the groups that are clear ten times over (q at most a tenth of what is "
                "allowed), then the other clear ones, then the rest; within each, most excess losses first."
            ),
            say(
                "The share drawn in is the group's share drawn towards the {herd}'s, by as much as a group "
                "of its size would swing by chance (beta-binomial empirical Bayes)."
            ),
            say(
                "The model is a Cox regression of the levels that stand out, with errors by litter. "
                "{newborns} with a level missing are not in it."
            ),
            say(
                "The suck reflex groups only {newborns} born alive and checked; nothing that happened later "
                "is used to form a group."
            ),
        ),
        settings=(
            say("Factors: {factors}.", factors=factors),
            say("Window: {window}.", window=window_label(result.window.name, result.window.end_h)),
            say(
                "Smallest group tried: {minimum} {newborns}.", minimum=printing.count(settings.minimum_group)
            ),
            say(
                "False discoveries allowed: {share}.",
                share=printing.percent(settings.false_discovery_share, 0),
            ),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "A group that lost more is where losses were, not what caused them; groups overlap, and "
                "their excess losses must not be added up."
            ),
            say("Weights are of the {newborns} that were weighed, and those found dead are often not."),
        ),
        sources=(
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
            say("Rao JNK, Scott AJ (1992) Biometrics 48:577-585."),
            say("Newcombe RG (1998) Stat Med 17:873-890."),
            say("Carlin BP, Louis TA (2000) Bayes and Empirical Bayes Methods for Data Analysis, chapter 3."),
            say("Lin DY, Wei LJ (1989) J Am Stat Assoc 84:1074-1078."),
        ),
    )
