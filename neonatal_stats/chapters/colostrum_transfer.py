"""Did the colostrum reach the blood? Passive transfer classes, age at first feed, efficiency of absorption."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.colostrum_transfer import READ_AT_H, Transfer
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_classes, draw_response
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.vocabulary.passive_transfer import PLASMA_SHARE_OF_WEIGHT, PUBLISHED_EFFICIENCY
from neonatal_stats.words import Sentence, Voice, cautions

FEWEST_FOR_WORDS = 5


def sentences(result: tuple[Transfer, ...], voice: Voice) -> Iterator[Sentence]:
    """Classes, samples not classed, the curve read at two ages, the efficiency."""
    for one in result:
        name = measure_label(voice, one.classed.scheme.measure)
        if len(one.shares):
            text = voice.say(
                "Passive transfer by {measure}, {n} {newborns} classed: {listed}.",
                measure=name,
                listed="; ".join(class_line(row, voice) for row in one.shares.to_dict("records")),
                n=printing.count(len(one.classed.samples)),
            )
            yield Sentence(text)
        aside = [f"{voice.say(why)} {printing.count(n)}" for why, n in one.classed.left_out if n]
        if aside:
            text = voice.say(
                "Samples not classed by {measure}: {listed}.", measure=name, listed=", ".join(aside)
            )
            yield Sentence(text)
        yield from _curve_sentence(one, name, voice)
        yield from _efficiency_sentence(one, voice)
    if result:
        yield cautions.blood(voice)


def measure_label(voice: Voice, measure: str) -> str:
    """The printed name of a serum measure with its unit."""
    names = {
        "igg_g_per_l": "serum IgG (g/l)",
        "total_protein_g_per_dl": "serum total protein (g/dl)",
        "brix_pct": "serum Brix (%)",
    }
    return voice.say(names[measure])


def class_line(row: dict[Any, Any], voice: Voice) -> str:
    """One class with its count, and its goal where there is one."""
    group, share = voice.say(str(row["group"])), printing.counts(row["events"], row["n"])
    if pd.isna(row["target"]):
        return voice.say("{group} {share}", group=group, share=share)
    sign, target = voice.say(row["sign"]), printing.percent(row["target"], 0)
    return voice.say(
        "{group} {share}, goal {sign} {target}", group=group, share=share, sign=sign, target=target
    )


def _curve_sentence(one: Transfer, name: str, voice: Voice) -> Iterator[Sentence]:
    """Serum result by age at first feed, read at two ages."""
    at = one.curve[one.curve["fed_h"].isin(READ_AT_H)]
    if len(at) == len(READ_AT_H):
        early_value, late_value = (printing.number(value) for value in at["value"])
        early, late = (printing.age(age) for age in READ_AT_H)
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
            n=printing.count(len(one.efficiency)),
            median=printing.percent(middle),
            low=printing.percent(low),
            high=printing.percent(high),
        )
        yield Sentence(text)


def figures(result: tuple[Transfer, ...], voice: Voice) -> list[Figure]:
    """Classes with their goals; serum result against age at first feed."""
    classes = [_class_figure(one, voice) for one in result if len(one.shares)]
    return classes + [_response_figure(one, voice) for one in result if len(one.curve)]


def _class_figure(one: Transfer, voice: Voice) -> Figure:
    say, measure = voice.say, one.classed.scheme.measure
    listed = "; ".join(class_line(row, voice) for row in one.shares.to_dict("records"))
    return draw_classes(
        one.shares.assign(label=[say(str(group)) for group in one.shares["group"]]),
        printer=voice,
        name=f"colostrum-transfer-{measure.split('_')[0]}",
        title=say("Passive transfer by {measure}", measure=measure_label(voice, measure)),
        alt=say("Share of {newborns} in each class: {list}.", list=listed),
        axis=say("% of {newborns} classed"),
        goal=say("goal for a herd"),
    )


def _response_figure(one: Transfer, voice: Voice) -> Figure:
    say, measure = voice.say, one.classed.scheme.measure
    name = measure_label(voice, measure)
    alt = say(
        "One dot a {newborn} ({n}), the mean as a line with its interval, cut points dotted; from {first} "
        "to {last}.",
        n=printing.count(len(one.points)),
        first=printing.number(one.curve["value"].iloc[0]),
        last=printing.number(one.curve["value"].iloc[-1]),
    )
    return draw_response(
        one.curve,
        one.points,
        one.classed.scheme.cuts,
        printer=voice,
        name=f"colostrum-response-{measure.split('_')[0]}",
        title=say("{measure} by age at first feed", measure=name),
        alt=alt,
        fed_axis=say("age at first feed, hours since birth"),
        value_axis=name,
    )


def tables(result: tuple[Transfer, ...], voice: Voice, settings: Settings) -> list[Table]:
    """Classes per measure; samples not classed; the curve at stated ages; efficiency."""
    built = []
    for one in result:
        measure = one.classed.scheme.measure.split("_")[0]
        if len(one.shares):
            built.append(_classes_table(one, measure, voice, settings))
        built.append(_left_out_table(one, measure, voice))
        if len(one.curve):
            built.append(_curve_table(one, measure, voice, settings))
        if len(one.efficiency):
            built.append(_efficiency_table(one, voice))
    return built


def _classes_table(one: Transfer, measure: str, voice: Voice, settings: Settings) -> Table:
    say, plan = voice.say, one.classed.scheme
    ranges = _class_ranges(plan.cuts, voice)
    frame = one.shares.assign(
        name=[say(str(group)) for group in one.shares["group"]],
        cut=ranges,
        goal=[
            ""
            if pd.isna(row["target"])
            else say("{sign} {share}", sign=say(row["sign"]), share=printing.percent(row["target"], 0))
            for row in one.shares.to_dict("records")
        ],
    )
    headings = {
        "name": say("Class"),
        "cut": measure_label(voice, plan.measure),
        "events": say("{newborns}"),
        "n": say("Classed"),
        "share": say("Share"),
        "interval": interval_heading(voice, settings.level),
    }
    if plan.targets:
        headings["goal"] = say("Goal for a herd")
    formats = {"events": "count", "n": "count", "share": "share"}
    note = say(
        "Cut points: {source}. Drawn at {early} to {late}. Other sources: {spread}.",
        source=say(plan.source),
        early=printing.age(plan.from_h),
        late=printing.age(plan.to_h),
        spread=say(plan.spread),
    )
    title = say("Passive transfer by {measure}", measure=measure_label(voice, plan.measure))
    return Table(f"colostrum-transfer-{measure}", title, frame, headings, formats, note)


def _class_ranges(cuts: tuple[float, ...], voice: Voice) -> list[str]:
    shown = [printing.number(cut) for cut in cuts]
    first = [voice.say("{cut} or more", cut=shown[0])]
    between = [voice.say("{low} to under {high}", low=low, high=high) for high, low in pairwise(shown)]
    return [*first, *between, voice.say("under {cut}", cut=shown[-1])]


def _left_out_table(one: Transfer, measure: str, voice: Voice) -> Table:
    say = voice.say
    counts = ((say("classed"), len(one.classed.samples)), *((say(why), n) for why, n in one.classed.left_out))
    rows = pd.DataFrame(counts, columns=["why", "n"])
    title = say("Samples: {measure}", measure=measure_label(voice, one.classed.scheme.measure))
    headings = {"why": say("Sample"), "n": say("Count")}
    return Table(f"colostrum-samples-{measure}", title, rows, headings, {"n": "count"})


def _curve_table(one: Transfer, measure: str, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    wanted = one.curve["fed_h"].isin(READ_AT_H) | (one.curve.index % 10 == 0)
    name = measure_label(voice, one.classed.scheme.measure)
    headings = {"fed_h": say("First feed, h"), "value": say("Mean {measure}", measure=name)}
    headings["interval"] = interval_heading(voice, settings.level)
    formats = {"fed_h": "number", "value": "number", "interval": "number"}
    title = say("{measure} by age at first feed", measure=name)
    note = say(
        "{n} {newborns} with a sample and a first feed written down.", n=printing.count(len(one.points))
    )
    frame = one.curve[wanted].reset_index(drop=True)
    return Table(f"colostrum-response-{measure}", title, frame, headings, formats, note)


def _efficiency_table(one: Transfer, voice: Voice) -> Table:
    say = voice.say
    q = one.efficiency.quantile([0, 0.25, 0.5, 0.75, 1]).to_numpy()
    names = (say("Least"), say("Lower quarter"), say("Median"), say("Upper quarter"), say("Most"))
    rows = pd.DataFrame([{"n": len(one.efficiency), **dict(zip("abcde", q, strict=True))}])
    headings = {"n": say("{newborns}"), **dict(zip("abcde", names, strict=True))}
    mean, low, high = (printing.percent(share) for share in PUBLISHED_EFFICIENCY)
    note = say(
        "Serum IgG x birth weight x {plasma} plasma / IgG fed before the sample. Suckling nobody measured "
        "makes it look higher. In 100 calves: mean {mean}, {low} to {high} (Halleran 2017).",
        plasma=printing.percent(PLASMA_SHARE_OF_WEIGHT, 0),
        mean=mean,
        low=low,
        high=high,
    )
    formats = {"n": "count", **dict.fromkeys("abcde", "share")}
    return Table(
        "colostrum-efficiency", say("Apparent efficiency of absorption"), rows, headings, formats, note
    )
