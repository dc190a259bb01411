"""Did the colostrum reach the blood? Passive transfer classes, age at first feed, efficiency of absorption."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator, Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.colostrum_amount import MIDDLES, QUARTERS, quarters
from neonatal_stats.chapters.counted.colostrum_transfer import READ_AT_H, Transfer
from neonatal_stats.chapters.protocol import Headline, interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_classes
from neonatal_stats.drawing.points import draw_response
from neonatal_stats.measures.beside_published import beside_published
from neonatal_stats.measures.transfer import TOO_EARLY, TOO_LATE, UNDECIDED
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.passive_transfer import PLASMA_SHARE_OF_WEIGHT, PUBLISHED_EFFICIENCY
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
FEWEST_CLASSES = 2


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
    return tuple(_absorbed(one, voice, goals) for one in classed)[:1]


def _absorbed(one: Transfer, voice: Voice, goals: bool = True) -> Headline:
    """All that do not stand in the lowest class, where any is classed: what its share, interval and goal leave."""
    low = one.shares.iloc[-1]
    n, events = float(low["n"]), float(low["n"] - low["events"])
    ends = 1 - float(low["high"]), 1 - float(low["low"])
    goal = 1 - float(low["target"]) if goals else math.nan
    label = voice.say("Absorbed, by a blood sample" if math.isnan(goal) else "Absorbed (goal of dairy herds)")
    return Headline("absorbed", label, voice.counts(events, n), events, n, events / n, *ends, goal)


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
    whole = _absorbed(one, voice)
    numbers = {name: [getattr(whole, name)] for name in ("events", "n", "share", "low", "high", "target")}
    return pd.DataFrame(
        {"group": "above the lowest", "name": voice.say("above the lowest"), "cut": "", "goal": "", **numbers}
    )


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


def _goal(row: Mapping[Hashable, Any], voice: Voice) -> str:
    return voice.say("{sign} {share}", sign=voice.say(row["sign"]), share=voice.percent(row["target"], 0))


def _class_ranges(cuts: tuple[float, ...], voice: Voice) -> list[str]:
    shown = [voice.number(cut) for cut in cuts]
    first = [voice.say("{cut} or more", cut=shown[0])]
    between = [voice.say("{low} to under {high}", low=low, high=high) for high, low in pairwise(shown)]
    return [*first, *between, voice.say("under {cut}", cut=shown[-1])]


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
