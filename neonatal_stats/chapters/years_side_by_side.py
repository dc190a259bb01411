"""Two seasons side by side: the change split into mix and rate, causes, and the groups that moved."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.years import Years
from neonatal_stats.chapters.counted.years_side_by_side import Pair, Split, split_of, verdict_of
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_terms
from neonatal_stats.drawing.dots import draw_dumbbell
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Sentence, Verdict, Voice, judge
from neonatal_stats.words.labels import label
from neonatal_stats.words.names import factor_name, phrase

MOST_SAID = 3
MOST_DRAWN = 10
MOST_SHOWN = 12
MOST_TERMS = 8
ADDED = ("standard", "n_a", "events_a", "n_b", "events_b", "mix_term", "rate_term")

CHANGES = {
    (Verdict.CLEAR, True): (
        "Loss by {window} was higher in {second}, {b}, than in {first}, {a}: {change} points ({level} "
        "interval {low} to {high})."
    ),
    (Verdict.CLEAR, False): (
        "Loss by {window} was lower in {second}, {b}, than in {first}, {a}: {change} points ({level} interval "
        "{low} to {high})."
    ),
    (Verdict.LEANING, True): (
        "Loss by {window} looks higher in {second}, {b}, than in {first}, {a}, but chance is not ruled out: "
        "{change} points ({level} interval {low} to {high})."
    ),
    (Verdict.LEANING, False): (
        "Loss by {window} looks lower in {second}, {b}, than in {first}, {a}, but chance is not ruled out: "
        "{change} points ({level} interval {low} to {high})."
    ),
    (Verdict.NO_CLEAR, True): (
        "No clear difference in loss by {window} between {first}, {a}, and {second}, {b}: {change} points "
        "({level} interval {low} to {high})."
    ),
    (Verdict.TOO_FEW, True): (
        "Too few to say whether loss by {window} differs between {first}, {a}, and {second}, {b}."
    ),
}
SPLITS = {
    Split.MIX: "Mix, not rate: {mix} points of the change come from another mix of births, while at one and "
    "the same mix the risks themselves show no clear difference ({rate} points).",
    Split.RATE: "Rate, not mix: {rate} points of the change come from other risks within the same groups of "
    "births, while the mix of births shows no clear difference ({mix} points).",
    Split.BOTH: "Both mix and rate: {mix} points come from another mix of births and {rate} points from "
    "other risks within the same groups.",
    Split.CANCEL: "Mix and rate cancel: {mix} points come from another mix of births and {rate} points from "
    "other risks within the same groups, so that the crude loss hides two changes.",
    Split.OPPOSED: "Mix and rate pull apart: {mix} points come from another mix of births and {rate} points "
    "from other risks within the same groups; the crude loss shows only what is left.",
    Split.UNSPLIT: "The loss changed, but these records cannot tell whether by mix ({mix} points) or by rate "
    "({rate} points).",
    Split.NEITHER: "Taken apart, no clear difference is left: neither in which births there were (mix, {mix} points) "
    "nor in what became of like births (rate, {rate} points).",
    Split.TOO_FEW: "Too few to say whether mix or rate changed.",
}
SAME_MIX = {
    (Verdict.CLEAR, True): "higher: {change} points ({low} to {high})",
    (Verdict.CLEAR, False): "lower: {change} points ({low} to {high})",
    (Verdict.LEANING, True): "looks higher, chance not ruled out: {change} points ({low} to {high})",
    (Verdict.LEANING, False): "looks lower, chance not ruled out: {change} points ({low} to {high})",
    (Verdict.NO_CLEAR, True): "no clear difference: {change} points ({low} to {high})",
    (Verdict.TOO_FEW, True): "too few to say",
}
MOVED = {
    True: "Among {phrase}, more were lost in {second}, {b}, than in {first}, {a}: {difference} points ({low} "
    "to {high}).",
    False: "Among {phrase}, fewer were lost in {second}, {b}, than in {first}, {a}: {difference} points "
    "({low} to {high}).",
}
CAUSES = {
    True: "More were lost to {phrase} in {second}, {b}, than in {first}, {a}: {difference} points ({low} to "
    "{high}).",
    False: "Fewer were lost to {phrase} in {second}, {b}, than in {first}, {a}: {difference} points ({low} "
    "to {high}).",
}


def change_sentence(result: Years, window: str) -> Sentence:
    """The crude change between the two seasons."""
    pair, change = result.pair, result.pair.change
    verdict = verdict_of(pair, change, minimum_group=result.settings.minimum_group)
    text = voice_of(result).say(
        CHANGES[verdict, _higher(change, verdict)],
        first=pair.first,
        second=pair.second,
        window=window,
        a=printing.counts(pair.events[0], pair.n[0]),
        b=printing.counts(pair.events[1], pair.n[1]),
        level=printing.percent(result.settings.level, 0),
        **_points(change),
    )
    return Sentence(text, verdict, abs(change.estimate) * pair.n[1], lead=True)


def _higher(part: Estimate, verdict: Verdict) -> bool:
    """The side a change lies on; of one that is not clear, and not leaning, no side is said."""
    return part.estimate > 0 or verdict in (Verdict.NO_CLEAR, Verdict.TOO_FEW)


def _points(part: Estimate) -> dict[str, str]:
    """A change and its interval, in percentage points."""
    return {
        "change": printing.points(part.estimate),
        "low": printing.points(part.low),
        "high": printing.points(part.high),
    }


def split_sentence(voice: Voice, pair: Pair, *, minimum_group: int) -> Sentence:
    """What the change is made of."""
    split = split_of(pair, minimum_group=minimum_group)
    parts = {
        name: voice.say(
            "{estimate}, interval {low} to {high}",
            estimate=printing.points(part.estimate),
            low=printing.points(part.low),
            high=printing.points(part.high),
        )
        for name, part in (("mix", pair.mix), ("rate", pair.rate))
    }
    clear = split not in (Split.NEITHER, Split.UNSPLIT, Split.TOO_FEW)
    verdict = {Split.TOO_FEW: Verdict.TOO_FEW}.get(split, Verdict.CLEAR if clear else Verdict.NO_CLEAR)
    deaths = max(abs(pair.mix.estimate), abs(pair.rate.estimate)) * pair.n[1] if clear else 0.0
    return Sentence(voice.say(SPLITS[split], **parts), verdict, deaths)


def same_mix(result: Years) -> str:
    """The change that is left once the mix of births is allowed for, in a few words."""
    rate = result.pair.rate
    verdict = verdict_of(result.pair, rate, minimum_group=result.settings.minimum_group)
    return voice_of(result).say(SAME_MIX[verdict, _higher(rate, verdict)], **_points(rate))


def cause_sentences(result: Years) -> Iterator[Sentence]:
    """Each cause that clearly took more, or fewer."""
    for row in each_row(result.causes):
        verdict = judge(
            row.low,
            row.high,
            row.p,
            null=0.0,
            events=row.events_a + row.events_b,
            smallest_group=min(row.n_a, row.n_b),
            minimum_group=result.settings.minimum_group,
        )
        if verdict is Verdict.CLEAR:
            name = label(voice_of(result), row.cause)
            yield _moved(result, CAUSES, name, row, row.difference * row.n_b)


def moved_sentences(result: Years) -> Iterator[Sentence]:
    """The groups that clearly moved most losses."""
    clear = result.moved[_clearly_moved(result)]
    for row in each_row(clear.head(MOST_SAID)):
        yield _moved(result, MOVED, phrase(voice_of(result), row.factor, row.level), row, row.moved)


def _clearly_moved(result: Years) -> pd.Series:
    """Groups whose interval leaves out no change, also among all that were held against each other."""
    moved = result.moved
    beyond = (moved["low"] > 0) | (moved["high"] < 0)
    return (moved["q"] <= result.settings.false_discovery_share) & beyond


def _moved(result: Years, templates: dict[bool, str], name: str, row: Any, moved: float) -> Sentence:
    """More or fewer lost in the second season, among a group or to a cause."""
    pair = result.pair
    text = voice_of(result).say(
        templates[row.difference > 0],
        phrase=name,
        first=pair.first,
        second=pair.second,
        a=printing.counts(row.events_a, row.n_a),
        b=printing.counts(row.events_b, row.n_b),
        difference=printing.points(row.difference),
        low=printing.points(row.low),
        high=printing.points(row.high),
    )
    return Sentence(text, Verdict.CLEAR, abs(moved))


def terms_figure(result: Years) -> Figure:
    """The change between the two seasons, kind of birth by kind of birth; the smaller terms as one."""
    say, pair = voice_of(result).say, result.pair
    named = result.terms.assign(label=_stratum_names(result))
    size = (named["mix_term"].abs() + named["rate_term"].abs()).sort_values(ascending=False, kind="stable")
    top = named.loc[sorted(size.index[:MOST_TERMS])]
    rest = named.loc[size.index[MOST_TERMS:]]
    rows = top[["label", "mix_term", "rate_term"]].to_dict("records")
    columns = ["mix_term", "rate_term"]
    if len(rest):
        rows.append({"label": say("all other births"), **rest[columns].sum().to_dict()})
    rows.append({"label": say("all together"), **named[columns].sum().to_dict()})
    frame = pd.DataFrame(rows)
    frame["label"] = ["\n".join(textwrap.wrap(text, 36)) for text in frame["label"]]
    return draw_terms(
        frame,
        printer=voice_of(result),
        name="years-split",
        title=say("From {first} to {second}: mix or rate", first=pair.first, second=pair.second),
        alt=say(
            "The change in loss split by kind of birth. All together: mix {mix} points, rate {rate} points, "
            "change {change} points.",
            mix=printing.points(pair.mix.estimate),
            rate=printing.points(pair.rate.estimate),
            change=printing.points(pair.change.estimate),
        ),
        axis=say("percentage points of loss"),
        words=(say("mix: other births"), say("rate: other risks")),
    )


def causes_figure(result: Years) -> Figure:
    """Share lost to each cause in the two seasons."""
    voice, causes = voice_of(result), result.causes
    frame = causes.assign(
        label=[label(voice, cause) for cause in causes["cause"]],
        clear=(causes["low"] > 0) | (causes["high"] < 0),
    )
    return _two_figure(
        result,
        frame,
        name="years-causes",
        title=voice.say("Causes of loss in the two seasons"),
        axis=voice.say("lost to the cause, % of {newborns}; difference in points at the right"),
    )


def moved_figure(result: Years) -> Figure:
    """Share lost in the two seasons, in the groups that moved most losses."""
    say, frame = voice_of(result).say, _moved_named(result, MOST_DRAWN)
    frame = frame.assign(
        label=["\n".join(textwrap.wrap(name, 36)) for name in frame["name"]],
        clear=_clearly_moved(result),
    )
    return _two_figure(
        result,
        frame,
        name="years-moved",
        title=say("Groups that moved most losses"),
        axis=say("lost, % of the group; difference in points at the right"),
    )


def _moved_named(result: Years, most: int) -> pd.DataFrame:
    """The first groups with the shares lost in both seasons, and what they are called."""
    voice, frame = voice_of(result), result.moved.head(most)
    return frame.assign(
        share_a=frame["events_a"] / frame["n_a"],
        share_b=frame["events_b"] / frame["n_b"],
        what=[factor_name(voice, factor) for factor in frame["factor"]],
        name=[phrase(voice, row.factor, row.level) for row in each_row(frame)],
    )


def _two_figure(result: Years, frame: pd.DataFrame, *, name: str, title: str, axis: str) -> Figure:
    """Two shares a row, the first season and the second, with their difference."""
    say, pair = voice_of(result).say, result.pair
    told = "; ".join(
        say(
            "{label} {a} then {b}",
            label=" ".join(row.label.split()),
            a=printing.counts(row.events_a, row.n_a),
            b=printing.counts(row.events_b, row.n_b),
        )
        for row in each_row(frame)
    )
    alt = say(
        "Share lost in {first} and in {second}: {told}.", first=pair.first, second=pair.second, told=told
    )
    return draw_dumbbell(
        frame,
        seasons=(pair.first, pair.second),
        printer=voice_of(result),
        name=name,
        title=title,
        alt=alt,
        axis=axis,
    )


def pairs_table(result: Years) -> Table:
    """The change between every two seasons (the last ten pairs), and what it is made of."""
    voice = voice_of(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
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


def terms_table(result: Years) -> Table:
    """The split of the two seasons term by term, and its sum."""
    say, pair = voice_of(result).say, result.pair
    names = _stratum_names(result)
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


def _stratum_names(result: Years) -> list[str]:
    """The strata of the mix in words."""
    columns = list(result.mix.columns)
    if not columns:
        return [voice_of(result).say("all")] * len(result.terms)
    return [
        voice_of(result).say("not recorded")
        if pd.isna(row[0])
        else ", ".join(label(voice_of(result), value) for value in row)
        for row in result.terms[columns].itertuples(index=False, name=None)
    ]


def _standard(result: Years) -> list[float]:
    columns = list(result.mix.columns)
    if not columns:
        return [1.0] * len(result.terms)
    shares = result.mix.strata[[*columns, "share"]]
    return list(result.terms[columns].merge(shares, on=columns, how="left")["share"].fillna(0.0))


def causes_table(result: Years) -> Table:
    """Lost to each cause in the two seasons, of all born whose fate is known."""
    voice, pair = voice_of(result), result.pair
    frame = result.causes.assign(name=[label(voice, cause) for cause in result.causes["cause"]])
    headings = {
        "name": voice.say("Cause"),
        **_two_headings(result),
        "difference": voice.say("Difference, points"),
        "interval": interval_heading(voice, result.settings.level),
    }
    title = voice.say("Causes in {first} and {second}", first=pair.first, second=pair.second)
    return Table("years-causes", title, frame, headings, _two_formats())


def moved_table(result: Years) -> Table:
    """The groups that moved most losses, clear or not."""
    voice, pair = voice_of(result), result.pair
    say = voice.say
    frame = _moved_named(result, MOST_SHOWN)
    headings = {
        "name": say("Group"),
        **_two_headings(result),
        "difference": say("Difference, points"),
        "interval": interval_heading(voice, result.settings.level),
        "q": say("q"),
    }
    title = say("Groups that moved most losses, {first} to {second}", first=pair.first, second=pair.second)
    note = say(
        "The first {shown} of {all} levels with enough {newborns} in both seasons; q over all of them.",
        shown=printing.count(len(frame)),
        all=printing.count(len(result.moved)),
    )
    return Table("years-moved", title, frame, headings, _two_formats(), note)


def _two_headings(result: Years) -> dict[str, str]:
    """Headings of the counts and shares of both seasons."""
    say, pair = voice_of(result).say, result.pair
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
