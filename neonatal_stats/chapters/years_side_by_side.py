"""Two seasons side by side: the change split into mix and rate, causes, and the groups that moved."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.years import Years
from neonatal_stats.chapters.counted.years_side_by_side import PARTS, Split, split_of
from neonatal_stats.chapters.protocol import Verdicts, interval_heading
from neonatal_stats.drawing import Figure, draw_dumbbell, draw_terms
from neonatal_stats.estimates.results import ratio
from neonatal_stats.measures.claims import judged
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.vocabulary.terms import STILLBIRTH
from neonatal_stats.words import Sentence, Verdict, Voice, joined, voice_of
from neonatal_stats.words.names import factor_name, group_phrase, label

Row = Mapping[Hashable, Any]
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
    False: "{change} points ({low} to {high})",
    True: "too few to say",
}
MOVED = {
    True: "Loss among {phrase} moved upwards against that of the others: {a} in {first}, {b} in {second}, {change} "
    "points ({low} to {high}) more than the others moved.",
    False: "Loss among {phrase} moved downwards against that of the others: {a} in {first}, {b} in {second}, {change} "
    "points ({low} to {high}) from how the others moved.",
}
CAUSES = {
    True: "More were lost to {phrase} in {second}, {b}, than in {first}, {a}: {change} points ({low} to "
    "{high}).",
    False: "Fewer were lost to {phrase} in {second}, {b}, than in {first}, {a}: {change} points ({low} "
    "to {high}).",
}

BORN_DEAD = {
    True: "More were born dead in {second}, {b}, than in {first}, {a}: {change} points ({low} to {high}).",
    False: "Fewer were born dead in {second}, {b}, than in {first}, {a}: {change} points ({low} to {high}).",
}
"""Stillbirth is a time, and no cause."""


def decided_parts(result: Years, verdicts: Verdicts) -> dict[str, Row]:
    """The change as the page decided; its parts by their own intervals once the change is clear, else as decided.

    The parts are asked only what a change that passed is made of, so they stand behind it as behind a gate.
    """
    decided = judged(result.named, verdicts).to_dict("records")
    own = result.named.to_dict("records")
    passed = any(row["part"] == "change" and row["verdict"] is Verdict.CLEAR for row in decided)
    return {
        one["part"]: mine if passed and one["part"] != "change" else one
        for one, mine in zip(decided, own, strict=True)
    }


def change_sentences(result: Years, window: str, verdicts: Verdicts) -> tuple[Sentence, Sentence]:
    """The crude change between the two seasons, and what it is made of, which belongs beside it where it is clear.

    What a clear change is made of carries no verdict of its own but the ledger's.
    """
    parts = decided_parts(result, verdicts)
    change, split = change_sentence(result, window, parts), split_sentence(voice_of(result), parts)
    if change.verdict is Verdict.CLEAR:
        change = replace(change, beside=split.text)
    if split.verdict is Verdict.CLEAR and verdicts.get(split.claim) is not Verdict.CLEAR:
        split = replace(split, verdict=None, claim="")
    return change, replace(split, lead=True)


def change_sentence(result: Years, window: str, parts: Mapping[str, Row]) -> Sentence:
    """The crude change between the two seasons."""
    voice, change = voice_of(result), parts["change"]
    text = voice.say(
        CHANGES[change["verdict"], _higher(change)],
        window=window,
        level=voice.percent(result.settings.level, 0),
        **_both(voice, change),
        **_points(voice, change),
    )
    deaths = abs(change["estimate"]) * change["n"]
    return Sentence(text, change["verdict"], deaths, lead=True, claim=change["key"])


def _higher(row: Row) -> bool:
    """The side a change lies on; of one that is not clear, and not leaning, no side is said."""
    return bool(row["estimate"] > 0) or row["verdict"] in (Verdict.NO_CLEAR, Verdict.TOO_FEW)


def _both(voice: Voice, row: Row) -> dict[str, str]:
    """The two seasons and what was lost in each."""
    return {
        "first": row["versus"],
        "second": row["season"],
        "a": voice.counts(row["events_versus"], row["n_versus"]),
        "b": voice.counts(row["events"], row["n"]),
    }


def _points(voice: Voice, row: Row) -> dict[str, str]:
    """A change and its interval, in percentage points."""
    named = {"change": "estimate", "low": "low", "high": "high"}
    return {name: voice.points(row[column]) for name, column in named.items()}


def split_sentence(voice: Voice, parts: Mapping[str, Row]) -> Sentence:
    """What the change is made of."""
    split, mix, rate = split_of(parts), parts["mix"], parts["rate"]
    clear = split not in (Split.NEITHER, Split.UNSPLIT, Split.TOO_FEW)
    verdict = {Split.TOO_FEW: Verdict.TOO_FEW}.get(split, Verdict.CLEAR if clear else Verdict.NO_CLEAR)
    deaths = max(abs(mix["estimate"]), abs(rate["estimate"])) * mix["n"] if clear else 0.0
    text = voice.say(SPLITS[split], mix=_with_interval(voice, mix), rate=_with_interval(voice, rate))
    return Sentence(text, verdict, deaths, claim=_part_said(split, parts))


def _part_said(split: Split, parts: Mapping[str, Row]) -> str:
    """The key of the larger part that is clear."""
    clear = [parts[name] for name in ("mix", "rate") if parts[name]["verdict"] is Verdict.CLEAR]
    told = clear if split is not Split.TOO_FEW else []
    return max(told, key=lambda row: abs(row["estimate"])).get("key", "") if told else ""


def _with_interval(voice: Voice, row: Row) -> str:
    return voice.say("{change}, interval {low} to {high}", **_points(voice, row))


def same_mix(result: Years) -> str:
    """The change that is left once the mix of births is allowed for, in a few words; it asserts nothing."""
    voice, rate = voice_of(result), result.parts["rate"]
    few = rate["verdict"] is Verdict.TOO_FEW
    return voice.say(SAME_MIX[few], **_points(voice, rate))


def cause_sentences(result: Years, verdicts: Verdicts) -> Iterator[Sentence]:
    """Each cause that clearly took more, or fewer."""
    causes = judged(result.causes, verdicts)
    for row in causes[causes["verdict"] == Verdict.CLEAR].to_dict("records"):
        name, dead = label(voice_of(result), row["cause"]), row["cause"] == STILLBIRTH
        yield _moved(result, BORN_DEAD if dead else CAUSES, name, row, row["estimate"] * row["n"])


def moved_sentences(result: Years, verdicts: Verdicts) -> Iterator[Sentence]:
    """The groups that clearly moved otherwise than the others did."""
    moved = judged(result.moved, verdicts)
    clear = moved[moved["verdict"] == Verdict.CLEAR]
    for row in clear.head(MOST_SAID).to_dict("records"):
        beyond = {"estimate": row["beyond"], "low": row["beyond_low"], "high": row["beyond_high"]}
        yield _moved(result, MOVED, group_phrase(voice_of(result), row), row | beyond, row["moved"])


def _moved(result: Years, templates: Mapping[bool, str], name: str, row: Row, moved: float) -> Sentence:
    """More or fewer lost in the second season, among a group or to a cause."""
    voice = voice_of(result)
    text = voice.say(
        templates[bool(row["estimate"] > 0)], phrase=name, **_both(voice, row), **_points(voice, row)
    )
    return Sentence(text, Verdict.CLEAR, abs(moved), claim=row["key"])


def terms_figure(result: Years) -> Figure:
    """The change between the two seasons, kind of birth by kind of birth; the smaller terms as one."""
    voice = voice_of(result)
    say, sides = voice.say, ["mix_term", "rate_term"]
    named = result.terms.assign(label=_stratum_names(result))
    size = named[sides].abs().sum(axis=1).sort_values(ascending=False, kind="stable")
    shown, rest = named.loc[sorted(size.index[:MOST_TERMS])], named.loc[size.index[MOST_TERMS:]]
    rows = [_whole_change(result), *shown[["label", *sides]].rename(columns=TERMS).to_dict("records")]
    if len(rest):
        rows.append({"label": say("all other births"), **rest[sides].sum().rename(TERMS).to_dict()})
    printed = {name: voice.points(result.parts[name]["estimate"]) for name in PARTS}
    return draw_terms(
        pd.DataFrame(rows),
        printer=voice,
        name="years-split",
        title=say("From {first} to {second}: mix or rate", first=result.first, second=result.second),
        alt=say(
            "The change in loss split by kind of birth. All together: mix {mix} points, rate {rate} points, "
            "change {change} points.",
            **printed,
        ),
        axis=say("percentage points of loss"),
        words=(say("mix: other births"), say("rate: other risks")),
    )


TERMS = {"mix_term": "mix", "rate_term": "rate"}


def _whole_change(result: Years) -> dict[Hashable, Any]:
    """The two parts of the change with their limits, all kinds of birth together."""
    row: dict[Hashable, Any] = {"label": voice_of(result).say("all together")}
    for part in TERMS.values():
        found = result.parts[part]
        row |= {part: found["estimate"], f"{part}_low": found["low"], f"{part}_high": found["high"]}
    return row


def causes_figure(result: Years, verdicts: Verdicts) -> Figure:
    """Share lost to each cause in the two seasons."""
    voice = voice_of(result)
    return _two_figure(
        result,
        judged(result.causes, verdicts),
        [label(voice, cause) for cause in result.causes["cause"]],
        name="years-causes",
        title=voice.say("Causes of loss in the two seasons"),
        axis=voice.say("lost to the cause, % of {newborns}"),
    )


def moved_figure(result: Years, verdicts: Verdicts) -> Figure:
    """Share lost in the two seasons, in the groups that moved most losses."""
    voice, moved = voice_of(result), judged(result.moved, verdicts).head(MOST_DRAWN)
    return _two_figure(
        result,
        moved,
        [group_phrase(voice, row) for row in moved.to_dict("records")],
        name="years-moved",
        title=voice.say("Groups that moved most losses"),
        axis=voice.say("lost, % of the group"),
    )


def _two_figure(
    result: Years, groups: pd.DataFrame, labels: list[str], *, name: str, title: str, axis: str
) -> Figure:
    """Two shares a row, the first season and the second, with their difference; red where it is clear."""
    voice, seasons = voice_of(result), (result.first, result.second)
    frame = _two_rows(groups).assign(label=labels, clear=groups["verdict"] == Verdict.CLEAR)
    told = [
        voice.say(
            "{a} then {b}",
            a=voice.counts(row["events_a"], row["n_a"]),
            b=voice.counts(row["events_b"], row["n_b"]),
        )
        for row in frame.to_dict("records")
    ]
    alt = voice.say(
        "Share lost in {first} and in {second}: {told}.",
        first=result.first,
        second=result.second,
        told="; ".join(f"{label} {one}" for label, one in zip(labels, told, strict=True)),
    )
    return draw_dumbbell(
        frame.assign(told=told),
        seasons=seasons,
        printer=voice,
        name=name,
        title=title,
        alt=alt,
        axis=axis,
        difference=voice.say("difference, points"),
    )


def _two_rows(groups: pd.DataFrame) -> pd.DataFrame:
    """The second season against the first as tables and figures have them: a the first, b the second."""
    named = {"events_versus": "events_a", "n_versus": "n_a", "events": "events_b", "n": "n_b"}
    frame = groups.rename(columns={**named, "estimate": "difference", "group": "level"})
    return frame.assign(
        share_a=ratio(frame["events_a"], frame["n_a"]), share_b=ratio(frame["events_b"], frame["n_b"])
    )


def pairs_table(result: Years) -> Table:
    """The change between every two seasons (the last ten pairs), and what it is made of."""
    voice = voice_of(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    pairs = result.pairs.groupby(["versus", "season"], sort=False)
    rows = [_pair_row(voice, parts.to_dict("records")) for _, parts in pairs]
    shown = [columns.text("pair", say("Seasons"))]
    titles = {"change": say("Change"), "mix": say("Of which mix"), "rate": say("Of which rate")}
    for name, title in titles.items():
        heading = say("{interval}, {what}", interval=interval, what=title.lower())
        shown.append(columns.points(name, title))
        shown.append(columns.interval(f"{name}_low", f"{name}_high", heading, "points"))
    note = say("In percentage points; mix and rate add up to the change.")
    title = say("Every two seasons: mix or rate")
    return Table("years-pairs", title, pd.DataFrame(rows), shown, note=note, printer=voice)


def _pair_row(voice: Voice, parts: Sequence[Row]) -> dict[str, object]:
    """The change between two seasons, its parts and their limits, side by side."""
    seasons = {"first": parts[0]["versus"], "second": parts[0]["season"]}
    row: dict[str, object] = {"pair": voice.say("{first} to {second}", **seasons)}
    for part in parts:
        for end, column in (("", "estimate"), ("_low", "low"), ("_high", "high")):
            row[f"{part['part']}{end}"] = part[column]
    return row


def terms_table(result: Years) -> Table:
    """The split of the two seasons term by term, and its sum."""
    voice, seasons = voice_of(result), {"first": result.first, "second": result.second}
    say = voice.say
    frame = result.terms.assign(stratum=_stratum_names(result), standard=_standard(result))
    total = {"stratum": say("all together"), **frame[list(ADDED)].sum().to_dict()}
    frame = pd.concat([frame, pd.DataFrame([total])], ignore_index=True)
    frame["both"] = frame["mix_term"] + frame["rate_term"]
    shown = (
        columns.text("stratum", say("{newborns}")),
        *(columns.key(name, factor_name(voice, name)) for name in result.mix.columns),
        columns.share("standard", say("Share of the common mix")),
        columns.count("events_a", say("Lost, {season}", season=result.first)),
        columns.count("n_a", say("Born, {season}", season=result.first)),
        columns.count("events_b", say("Lost, {season}", season=result.second)),
        columns.count("n_b", say("Born, {season}", season=result.second)),
        columns.points("mix_term", say("Mix")),
        columns.points("rate_term", say("Rate")),
        columns.points("both", say("Together")),
    )
    title = say("From {first} to {second}: mix and rate, term by term", **seasons)
    note = say("Terms in percentage points. A single term is arithmetic; only their sums speak.")
    return Table("years-terms", title, frame, shown, note=note, printer=voice)


def _stratum_names(result: Years) -> list[str]:
    """The strata of the mix in words."""
    voice, names = voice_of(result), list(result.mix.columns)
    if not names:
        return [voice.say("all")] * len(result.terms)
    return [
        voice.say("not recorded") if pd.isna(row[0]) else joined((label(voice, value) for value in row), ", ")
        for row in result.terms[names].itertuples(index=False, name=None)
    ]


def _standard(result: Years) -> list[float]:
    """The share of the common mix that each stratum has."""
    names = list(result.mix.columns)
    if not names:
        return [1.0] * len(result.terms)
    shares = result.mix.strata[[*names, "share"]]
    return list(result.terms[names].merge(shares, on=names, how="left")["share"].fillna(0.0))


def causes_table(result: Years) -> Table:
    """Lost to each cause in the two seasons, of all born whose fate is known."""
    voice = voice_of(result)
    frame = _two_rows(result.causes)
    frame = frame.assign(name=[label(voice, cause) for cause in frame["cause"]])
    shown = (
        columns.text("name", voice.say("Cause"), raw="cause"),
        *_two_columns(result),
        columns.in_csv(columns.p("p", voice.say("p"))),
    )
    title = voice.say("Causes in {first} and {second}", first=result.first, second=result.second)
    return Table("years-causes", title, frame, shown, printer=voice)


def moved_table(result: Years) -> Table:
    """The groups that moved most losses, clear or not."""
    voice, moved = voice_of(result), result.moved.head(MOST_SHOWN)
    say, seasons = voice.say, {"first": result.first, "second": result.second}
    frame = _two_rows(moved).assign(name=[group_phrase(voice, row) for row in moved.to_dict("records")])
    shown = (
        columns.text("name", say("Group")),
        columns.key("factor", say("Factor")),
        columns.key("level", say("Level")),
        *_two_columns(result),
        columns.points("beyond", say("Beyond the others, points")),
        columns.interval(
            "beyond_low", "beyond_high", interval_heading(voice, result.settings.level), "points"
        ),
        columns.in_csv(columns.p("p", say("p"))),
        columns.in_csv(columns.number("moved", say("Losses moved"))),
    )
    note = say(
        "The first {shown} of {all} levels with enough {newborns} in both seasons; beyond the others is the group's "
        "change less that of all others.",
        shown=voice.count(len(moved)),
        all=voice.count(len(result.moved)),
    )
    title = say("Groups that moved most losses, {first} to {second}", **seasons)
    return Table("years-moved", title, frame, shown, note=note, printer=voice)


def _two_columns(result: Years) -> tuple[Column, ...]:
    """Counts and shares of both seasons, and their difference."""
    voice, first, second = voice_of(result), result.first, result.second
    say = voice.say
    return (
        columns.count("events_a", say("Lost, {season}", season=first)),
        columns.count("n_a", say("Born, {season}", season=first)),
        columns.share("share_a", say("Share, {season}", season=first)),
        columns.count("events_b", say("Lost, {season}", season=second)),
        columns.count("n_b", say("Born, {season}", season=second)),
        columns.share("share_b", say("Share, {season}", season=second)),
        columns.points("difference", say("Difference, points")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "points"),
    )
