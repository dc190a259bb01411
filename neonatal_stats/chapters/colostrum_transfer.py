"""Did the colostrum reach the blood? Passive transfer classes, age at first feed, efficiency of absorption."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters.colostrum_transfer_shown import absorbed, class_line, measure_label
from neonatal_stats.chapters.counted.colostrum_transfer import READ_AT_H, Transfer
from neonatal_stats.chapters.protocol import Headline
from neonatal_stats.measures.beside_published import beside_published
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.published import BORN_ALIVE, FAILED_TRANSFER, SUCKLED
from neonatal_stats.words import Sentence, Voice, cautions, joined
from neonatal_stats.words.names import factor_in_short, label

GOALS_OF = {
    False: "The classes and the goals for a herd were agreed for dairy calves.",
    True: "The classes and the goals for a herd were agreed for dairy calves; these calves are suckled, so the goals "
    "are no measure of this herd.",
}
"""Whose goals they are, by whether the herd is one of suckled calves."""
FEWEST_FOR_WORDS = 5


def sentences(
    result: tuple[Transfer, ...], voice: Voice, settings: Settings, *, lead: bool = False
) -> Iterator[Sentence]:
    """Classes, of which herds their goals are, samples not classed, the curve read at two ages, the efficiency.

    ``lead`` : the classes of the first measure answer the chapter's question, where nothing else can.
    """
    for one in result:
        name = measure_label(voice, one.classed.scheme.measure)
        if len(one.classed.samples):
            text = voice.say(
                "Passive transfer by {measure}, {n} {newborns} classed: {listed}.",
                measure=name,
                listed=joined((class_line(row, voice) for row in one.shares.to_dict("records")), "; "),
                n=voice.count(len(one.classed.samples)),
            )
            yield Sentence(text, lead=lead and one is result[0])
            if one.classed.scheme.targets:
                suckled = settings.kind in SUCKLED
                yield Sentence(voice.say(GOALS_OF[suckled]), goes_on=True)
                if not suckled:
                    yield from _goal_met(one, voice)
        if len(one.classed.undecided):
            yield _undecided(one, name, voice)
        yield from _limits_said(one, name, voice)
        yield from _by_group(one, name, voice)
        aside = [f"{voice.say(why)} {voice.count(n)}" for why, n in one.classed.left_out if n]
        if aside:
            text = voice.say(
                "Samples not classed by {measure}: {listed}.", measure=name, listed=", ".join(aside)
            )
            yield Sentence(text)
        yield from _curve_sentence(one, name, voice)
        yield from _efficiency_sentence(one, voice)
    if result:
        yield cautions.blood(voice)


def values_without_cuts(frame: pd.DataFrame, voice: Voice) -> Iterator[Sentence]:
    """Serum measures that are told by their spread alone, since no cut points of the species are at hand."""
    for row in frame.to_dict("records"):
        yield Sentence(
            voice.say(
                "{measure} of {n} samples: median {median}, {least} to {most}. No cut points of {newborns} with a "
                "source are at hand for it, so it is not classed.",
                measure=measure_label(voice, str(row["measure"])),
                n=voice.count(row["n"]),
                median=voice.number(row["median"]),
                least=voice.number(row["least"]),
                most=voice.number(row["most"]),
            )
        )


GOAL_MET = {
    "reached": "The goal for the lowest class, {sign} {target}, is reached: {part}, {level} interval {interval}.",
    "missed": "The goal for the lowest class, {sign} {target}, is missed: {part}, {level} interval {interval}.",
    "open": "Whether the goal for the lowest class, {sign} {target}, is reached these samples cannot say: {part}, "
    "{level} interval {interval}.",
}
"""What is said of the goal of a herd, by where the whole interval lies beside it."""


def _goal_met(one: Transfer, voice: Voice) -> Iterator[Sentence]:
    """The share in the lowest class beside its goal, with the interval that samples so few leave."""
    row = one.shares.iloc[-1]
    target = float(row["target"])
    met = "reached" if row["high"] < target else "missed" if row["low"] > target else "open"
    if len(one.classed.between) and row["least"] <= target <= row["most"]:
        met = "open"
    yield Sentence(
        voice.say(
            GOAL_MET[met],
            sign=voice.say(str(row["sign"])),
            target=voice.percent(target, 0),
            part=voice.part_of(row["events"], row["n"]),
            level=voice.percent(one.level, 0),
            interval=voice.percent_range(row["low"], row["high"]),
        ),
        goes_on=True,
    )


def _undecided(one: Transfer, name: str, voice: Voice) -> Sentence:
    """Samples that may have been drawn outside the window: the lowest class with them, and what it can be at all."""
    row = one.shares.iloc[-1]
    return Sentence(
        voice.say(
            "Drawn perhaps at {early} to {late} and perhaps not, since birth or sample is known to the day only: {n} "
            "{newborns}. With all of them, {with_them} stand in the lowest class by {measure} ({level} interval "
            "{interval}); whichever of them belong there, it is {least} to {most}.",
            early=voice.age(one.classed.scheme.from_h),
            late=voice.age(one.classed.scheme.to_h),
            n=voice.count(len(one.classed.undecided)),
            with_them=voice.part_of(row["events_with"], row["n_with"]),
            level=voice.percent(one.level, 0),
            interval=voice.percent_range(row["low_with"], row["high_with"]),
            measure=name,
            least=voice.percent(row["least"]),
            most=voice.percent(row["most"]),
        )
    )


def _limits_said(one: Transfer, name: str, voice: Voice) -> Iterator[Sentence]:
    """Samples that are limits: those that leave the class open, by what they bound, and that none is in a mean."""
    if len(one.classed.between):
        row = one.shares.iloc[-1]
        yield Sentence(
            voice.say(
                "A limit that leaves the class open, of {n} {newborns}: with them the share in the lowest class by "
                "{measure} lies between {least} and {most}.",
                n=voice.count(len(one.classed.between)),
                measure=name,
                least=voice.percent(row["least"]),
                most=voice.percent(row["most"]),
            )
        )
    if one.limits:
        yield Sentence(
            voice.say(
                "Limits such as {example} are no values: they count where they tell the class, and stand in no mean "
                "and in no curve.",
                example=one.limits,
            )
        )


def _by_group(one: Transfer, name: str, voice: Voice) -> Iterator[Sentence]:
    """The lowest class by the dam's litters, the source and the kind of birth: counts, described and not compared."""
    if listed := counts_by_group(voice, one.groups, lambda factor: factor_in_short(voice, factor)):
        text = voice.say(
            "In the lowest class by {measure}, by group, described and not compared: {listed}.",
            measure=name,
            listed=listed,
        )
        yield Sentence(text)


def counts_by_group(voice: Voice, groups: pd.DataFrame, named: Callable[[str], str]) -> str:
    """The counts of each group, factor by factor, each as ``named`` says it: "Source: dam 3 of 40, bottle 2 of 9"."""
    return joined(
        (
            voice.say(
                "{factor}: {listed}",
                factor=named(str(factor)),
                listed=joined((_counts_of(voice, row) for row in rows.to_dict("records")), ", "),
            )
            for factor, rows in groups.groupby("factor", sort=False)
        ),
        "; ",
    )


def _counts_of(voice: Voice, row: Mapping[Hashable, Any]) -> str:
    share = voice.part_of(row["events"], row["n"])
    return voice.say("{group} {share}", group=label(voice, row["group"]), share=share)


def _curve_sentence(one: Transfer, name: str, voice: Voice) -> Iterator[Sentence]:
    """Serum result by age at first feed, read at two ages."""
    at = one.curve[one.curve["fed_h"].isin(READ_AT_H)]
    if len(at) == len(READ_AT_H):
        early_value, late_value = (voice.number(value) for value in at["value"])
        early, late = (voice.age(age) for age in READ_AT_H)
        text = voice.say(
            "Mean {measure} was {early_value} for a first feed at {early} and {late_value} at {late} (see the "
            "curve with its interval).",
            measure=name,
            early=early,
            late=late,
            early_value=early_value,
            late_value=late_value,
        )
        yield Sentence(text)


def _efficiency_sentence(one: Transfer, voice: Voice) -> Iterator[Sentence]:
    if len(one.efficiency) >= FEWEST_FOR_WORDS:
        low, middle, high = one.efficiency.quantile([0.25, 0.5, 0.75])
        text = voice.say(
            "Apparent efficiency of absorption in {n} {newborns}: median {median}, middle half {low} to {high}.",
            n=voice.count(len(one.efficiency)),
            median=voice.percent(middle),
            low=voice.percent(low),
            high=voice.percent(high),
        )
        yield Sentence(text)


def glance(result: tuple[Transfer, ...], voice: Voice, settings: Settings) -> tuple[Headline, ...]:
    """Above the lowest class of the first measure with any sample classed: absorbed, of those classed.

    A herd of suckled calves has no goal: those published were agreed for dairy calves.
    """
    goals = settings.kind not in SUCKLED
    classed = [one for one in result if len(one.classed.samples)]
    return tuple(absorbed(one, voice, goals) for one in classed)[:1]


def beside(
    result: tuple[Transfer, ...], species: str, settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The lowest class of the first measure with any sample classed; two frames as `beside_published`."""
    rows: list[Mapping[Hashable, Any]] = []
    for one in [one for one in result if len(one.classed.samples)][:1]:
        row: dict[Hashable, Any] = dict(one.shares.iloc[-1].items())
        if len(
            one.classed.between
        ):  # what limits leave open is no chance, and widens what chance leaves open
            row |= {"low": min(row["low"], row["least"]), "high": max(row["high"], row["most"])}
        row |= FAILED
        rows.append({**row, "window_h": one.classed.scheme.to_h})
    return beside_published(rows, species, settings)


FAILED: dict[Hashable, Any] = {
    "key": "failed_transfer",
    "outcome": FAILED_TRANSFER,
    "of": BORN_ALIVE,
    "window": "",
}
