"""Passive transfer drawn and in tables: classes, results against age at first feed, samples left out, efficiency."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.colostrum_amount import MIDDLES, QUARTERS, quarters
from neonatal_stats.chapters.counted.colostrum_transfer import READ_AT_H, Transfer
from neonatal_stats.chapters.protocol import Headline, interval_heading
from neonatal_stats.drawing import Figure, draw_classes, draw_response
from neonatal_stats.measures.transfer import TOO_EARLY, TOO_LATE, UNDECIDED
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.passive_transfer import PLASMA_SHARE_OF_WEIGHT, PUBLISHED_EFFICIENCY
from neonatal_stats.words import Voice
from neonatal_stats.words.names import factor_in_short, label

FEWEST_CLASSES = 2


def measure_label(voice: Voice, measure: str) -> str:
    """The printed name of a serum measure with its unit."""
    names = {
        "igg_g_per_l": "serum IgG (g/l)",
        "total_protein_g_per_dl": "serum total protein (g/dl)",
        "brix_pct": "serum Brix (%)",
        "turbidity": "the laboratory's turbidity test",
    }
    return voice.say(names[measure])


def class_line(row: Mapping[Hashable, Any], voice: Voice) -> str:
    """One class with its count, and its goal where there is one."""
    group, share = voice.say(str(row["group"])), voice.counts(row["events"], row["n"])
    if pd.isna(row["target"]):
        return voice.say("{group} {share}", group=group, share=share)
    sign, target = voice.say(row["sign"]), voice.percent(row["target"], 0)
    return voice.say(
        "{group} {share}, goal of dairy herds {sign} {target}",
        group=group,
        share=share,
        sign=sign,
        target=target,
    )


def absorbed(one: Transfer, voice: Voice, goals: bool = True) -> Headline:
    """All that do not stand in the lowest class, where any is classed: what its share, interval and goal leave."""
    low = one.shares.iloc[-1]
    n, events = float(low["n"]), float(low["n"] - low["events"])
    ends = 1 - float(low["high"]), 1 - float(low["low"])
    goal = 1 - float(low["target"]) if goals else math.nan
    label = voice.say("Absorbed, by a blood sample" if math.isnan(goal) else "Absorbed (goal of dairy herds)")
    return Headline("absorbed", label, voice.counts(events, n), events, n, events / n, *ends, goal)


def figures(result: tuple[Transfer, ...], voice: Voice) -> list[Figure]:
    """Classes with their goals; serum result against age at first feed."""
    classes = [_class_figure(one, voice) for one in result if len(one.classed.samples)]
    return classes + [_response_figure(one, voice) for one in result if len(one.curve)]


def _class_figure(one: Transfer, voice: Voice) -> Figure:
    say, measure = voice.say, one.classed.scheme.measure
    told = [class_line(row, voice) for row in one.shares.to_dict("records")]
    return draw_classes(
        one.shares.assign(label=[say(str(group)) for group in one.shares["group"]], told=told),
        printer=voice,
        name=f"colostrum-transfer-{measure.split('_')[0]}",
        title=say("Passive transfer by {measure}", measure=measure_label(voice, measure)),
        alt=say("Share of {newborns} in each class: {list}.", list="; ".join(told)),
        axis=say("% of {newborns} classed"),
        goal=say("goal of dairy herds"),
    )


def _response_figure(one: Transfer, voice: Voice) -> Figure:
    say, measure = voice.say, one.classed.scheme.measure
    name = measure_label(voice, measure)
    first, last = one.curve.iloc[0], one.curve.iloc[-1]
    alt = say(
        "Mean {measure} of {n} {newborns} by age at the first feed: {first} for one at {early} h, {last} for one at "
        "{late} h.",
        measure=name,
        n=voice.count(len(one.points)),
        first=voice.number(first["value"]),
        early=voice.number(first["fed_h"]),
        last=voice.number(last["value"]),
        late=voice.number(last["fed_h"]),
    )
    classed = zip(one.classed.scheme.cuts, one.classed.scheme.classes, strict=False)
    return draw_response(
        one.curve,
        one.points,
        [
            (cut, say("{class_name} from {cut}", class_name=say(named), cut=voice.number(cut)))
            for cut, named in classed
        ],
        printer=voice,
        name=f"colostrum-response-{measure.split('_')[0]}",
        title=say("{measure} by age at first feed", measure=name),
        alt=alt,
        fed_axis=say("age at first feed, hours since birth"),
        value_axis=name,
        middles=say(MIDDLES),
    )


def tables(result: tuple[Transfer, ...], voice: Voice, settings: Settings) -> list[Table]:
    """Classes per measure; samples not classed; the curve at stated ages; efficiency."""
    built = []
    for one in result:
        measure = one.classed.scheme.measure.split("_")[0]
        if len(one.shares):
            built.append(_classes_table(one, measure, voice, settings))
        if len(one.classed.undecided) or len(one.classed.between):
            built.append(_undecided_table(one, measure, voice, settings))
        if len(one.groups):
            built.append(_groups_table(one, measure, voice, settings))
        built.append(_left_out_table(one, measure, voice))
        if len(one.curve):
            built.append(_curve_table(one, measure, voice, settings))
        if len(one.efficiency):
            built.append(_efficiency_table(one, voice))
    return built


def _classes_table(one: Transfer, measure: str, voice: Voice, settings: Settings) -> Table:
    """Newborns in each class, of those classed, with the share that a herd should have in it where one is published."""
    say, plan = voice.say, one.classed.scheme
    rows = one.shares.to_dict("records")
    shares = one.shares.assign(
        name=[say(str(row["group"])) for row in rows],
        cut=_class_ranges(plan.cuts, voice) if plan.cuts else "",
        at_least=[*plan.cuts, np.nan] if plan.cuts else np.nan,
        under=[np.nan, *plan.cuts] if plan.cuts else np.nan,
        goal=["" if pd.isna(row["target"]) else _goal(row, voice) for row in rows],
    )
    two, nobody = len(shares) == FEWEST_CLASSES, one.classed.samples.empty
    frame = shares if two or nobody else pd.concat([shares, _above_lowest(one, voice)])
    goals = (
        columns.text("goal", say("Goal of dairy herds"), raw="target"),
        columns.key("sign", say("Goal: over or under")),
    )
    return Table(
        f"colostrum-transfer-{measure}",
        say("Passive transfer by {measure}", measure=measure_label(voice, plan.measure)),
        frame,
        (
            columns.text("name", say("Class"), raw="group"),
            columns.text("cut", measure_label(voice, plan.measure), raw="at_least"),
            columns.in_csv(columns.number("under", say("Under"))),
            columns.count("events", say("{newborns}")),
            columns.count("n", say("Classed")),
            columns.share("share", say("Share")),
            columns.interval("low", "high", interval_heading(voice, settings.level)),
            *(goals if plan.targets else ()),
        ),
        note=say(
            "Cut points: {source}. Drawn at {early} to {late}. Other sources: {spread}.",
            source=say(plan.source),
            early=voice.age(plan.from_h),
            late=voice.age(plan.to_h),
            spread=say(plan.spread),
        ),
        printer=voice,
    )


def _above_lowest(one: Transfer, voice: Voice) -> pd.DataFrame:
    """The classes but the lowest together, as a row of the table."""
    whole = absorbed(one, voice)
    numbers = {name: [getattr(whole, name)] for name in ("events", "n", "share", "low", "high", "target")}
    return pd.DataFrame(
        {"group": "above the lowest", "name": voice.say("above the lowest"), "cut": "", "goal": "", **numbers}
    )


def _goal(row: Mapping[Hashable, Any], voice: Voice) -> str:
    return voice.say("{sign} {share}", sign=voice.say(row["sign"]), share=voice.percent(row["target"], 0))


def _class_ranges(cuts: tuple[float, ...], voice: Voice) -> list[str]:
    shown = [voice.number(cut) for cut in cuts]
    first = [voice.say("{cut} or more", cut=shown[0])]
    between = [voice.say("{low} to under {high}", low=low, high=high) for high, low in pairwise(shown)]
    return [*first, *between, voice.say("under {cut}", cut=shown[-1])]


def _undecided_table(one: Transfer, measure: str, voice: Voice, settings: Settings) -> Table:
    """Each class with the undecided samples counted too, and between which ends its share lies."""
    say = voice.say
    return Table(
        f"colostrum-undecided-{measure}",
        say(
            "Perhaps drawn outside the window: {measure}",
            measure=measure_label(voice, one.classed.scheme.measure),
        ),
        one.shares.assign(name=[say(str(group)) for group in one.shares["group"]]),
        (
            columns.text("name", say("Class"), raw="group"),
            columns.count("events_with", say("{newborns}")),
            columns.count("n_with", say("With the undecided")),
            columns.share("share_with", say("Share")),
            columns.interval("low_with", "high_with", interval_heading(voice, settings.level)),
            columns.interval("least", "most", say("Least and most that it can be")),
        ),
        note=say(
            "{newborns} undecided: {n}. With a limit that leaves the class open: {limits}.",
            n=voice.count(len(one.classed.undecided)),
            limits=voice.count(len(one.classed.between)),
        )
        if len(one.classed.between)
        else say("{newborns} undecided: {n}.", n=voice.count(len(one.classed.undecided))),
        printer=voice,
    )


def _groups_table(one: Transfer, measure: str, voice: Voice, settings: Settings) -> Table:
    """The lowest class by the dam's litters, the source of the colostrum and the kind of birth."""
    say, groups = voice.say, one.groups
    return Table(
        f"colostrum-transfer-groups-{measure}",
        say("Lowest class by group: {measure}", measure=measure_label(voice, one.classed.scheme.measure)),
        groups.assign(
            of=[factor_in_short(voice, factor) for factor in groups["factor"]],
            name=[label(voice, group) for group in groups["group"]],
        ),
        (
            columns.text("of", say("By"), raw="factor"),
            columns.text("name", say("Group"), raw="group"),
            columns.count("events", say("Lowest class")),
            columns.count("n", say("Classed")),
            columns.count("litters", say("{litters}")),
            columns.share("share", say("Share")),
            columns.interval("low", "high", interval_heading(voice, settings.level)),
        ),
        note=say("Described, not compared: who got which colostrum is no accident."),
        printer=voice,
    )


def without_cuts_table(frame: pd.DataFrame, voice: Voice) -> Iterator[Table]:
    """Serum measures that are held against nothing, by how their values spread."""
    if frame.empty:
        return
    yield Table(
        "colostrum-without-cuts",
        voice.say("Serum measures without cut points"),
        frame.assign(name=[measure_label(voice, measure) for measure in frame["measure"]]),
        (
            columns.text("name", voice.say("Measure"), raw="measure"),
            columns.count("n", voice.say("Samples")),
            *(columns.number(name, voice.say(heading)) for name, heading in QUARTERS.items()),
        ),
        printer=voice,
    )


def _left_out_table(one: Transfer, measure: str, voice: Voice) -> Table:
    """Samples classed, and those that were not, by reason; none too early or late is no claim beside undecided ones."""
    say = voice.say
    open_ones = dict(one.classed.left_out)[UNDECIDED] > 0
    known = [
        (why, n) for why, n in one.classed.left_out if n or not (open_ones and why in (TOO_EARLY, TOO_LATE))
    ]
    counts = (("classed", len(one.classed.samples)), *known)
    frame = pd.DataFrame(counts, columns=["why", "n"])
    return Table(
        f"colostrum-samples-{measure}",
        say("Samples: {measure}", measure=measure_label(voice, one.classed.scheme.measure)),
        frame.assign(said=[say("classed"), *(say(why) for why, _ in known)]),
        (columns.text("said", say("Sample"), raw="why"), columns.count("n", say("Count"))),
        printer=voice,
    )


def _curve_table(one: Transfer, measure: str, voice: Voice, settings: Settings) -> Table:
    """The mean serum result at some ages at first feed, of newborns with a sample and a first feed written down."""
    say = voice.say
    wanted = one.curve["fed_h"].isin(READ_AT_H) | (one.curve.index % 10 == 0)
    name = measure_label(voice, one.classed.scheme.measure)
    return Table(
        f"colostrum-response-{measure}",
        say("{measure} by age at first feed", measure=name),
        one.curve[wanted].reset_index(drop=True),
        (
            columns.number("fed_h", say("First feed, h"), unit="hours since birth"),
            columns.number("value", say("Mean {measure}", measure=name)),
            columns.interval("low", "high", interval_heading(voice, settings.level), "number"),
        ),
        note=say(
            "{n} {newborns} with a sample and a first feed written down.", n=voice.count(len(one.points))
        ),
        printer=voice,
    )


def _efficiency_table(one: Transfer, voice: Voice) -> Table:
    """Apparent efficiency of absorption of the newborns for which it could be worked out."""
    say = voice.say
    mean, low, high = (voice.percent(share) for share in PUBLISHED_EFFICIENCY)
    return Table(
        "colostrum-efficiency",
        say("Apparent efficiency of absorption"),
        pd.DataFrame([{"n": len(one.efficiency), **quarters(one.efficiency)}]),
        (
            columns.count("n", say("{newborns}")),
            *(columns.share(name, say(heading)) for name, heading in QUARTERS.items()),
        ),
        note=say(
            "Serum IgG x birth weight x {plasma} plasma / IgG fed before the sample. Suckling nobody measured "
            "makes it look higher. In 100 calves: mean {mean}, {low} to {high} (Halleran 2017).",
            plasma=voice.percent(PLASMA_SHARE_OF_WEIGHT, 0),
            mean=mean,
            low=low,
            high=high,
        ),
        printer=voice,
    )
