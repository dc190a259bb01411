"""Which newborns were lost more: by birth type, delivery, sex, birth weight and the dam's litters?"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.birth_type import BirthType, answer, told_apart
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_grouped_rates
from neonatal_stats.drawing.points import draw_smooth
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Verdict, judge_test
from neonatal_stats.words.compared_rows import compared_row
from neonatal_stats.words.comparisons import compare_groups, ratio_in_words, verdict_of
from neonatal_stats.words.labels import factor, label, phrase
from neonatal_stats.words.verdict import MINIMUM_EVENTS, RULE

NAME = "birth_type"
TITLE = "Birth type, delivery, weight and dam"
QUESTION = (
    "Which {newborns} were lost more: by birth type, delivery, sex, birth weight and the {dam}'s litters?"
)

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "BirthType",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]

Row = dict[Hashable, Any]
RATES = {"events": "count", "n": "count", "share": "share"}


def missing(season: Season) -> tuple[str, ...]:
    """Open where at least one factor has two groups, and something was lost."""
    say, births = voice_of(season).say, season.births
    if not births["lost"].any():
        return (say("Nothing to compare: no loss was recorded."),)
    if not told_apart(births):
        return (
            say(
                "Not answered: the records do not tell groups apart. Any of dam_id (or litter_size), "
                "delivery, sex, birth_weight_kg and dam_parity would open the chapter."
            ),
        )
    return ()


def sentences(result: BirthType) -> tuple[Sentence, ...]:
    """Clear and leaning comparisons one by one; the others together; then birth weight as a curve."""
    rows = [row for row in result.groups.to_dict("records") if isinstance(row["versus"], str)]
    said = [(_verdict(result, row), row) for row in rows]
    full = [_full_said(result, row) for verdict, row in said if verdict in (Verdict.CLEAR, Verdict.LEANING)]
    full.sort(key=lambda one: (one.verdict is not Verdict.CLEAR, -one.deaths))
    return (*full, *_no_clear_said(result, said), *_too_few_said(result), *_weight_said(result))


def figures(result: BirthType) -> tuple[Figure, ...]:
    """Every group; birth type within delivery; loss along birth weight."""
    return (_groups_drawn(result), *_crossed_drawn(result), *_weight_drawn(result))


def tables(result: BirthType) -> tuple[Table, ...]:
    """Losses by group and the comparisons first; then birth type x delivery, and weight."""
    compared = result.groups["versus"].notna().any()
    comparisons = (_comparisons_table(result),) if compared else ()
    return (_groups_table(result), *comparisons, *_crossed_table(result), *_weight_table(result))


def _full_said(result: BirthType, row: Row) -> Sentence:
    """One group against its comparison, and beside it the same within birth types where that could be done."""
    voice, settings = voice_of(result), result.settings
    crude = compare_groups(
        voice,
        compared_row(voice, row),
        minimum_group=settings.minimum_group,
        level=settings.level,
        false_discovery_share=settings.false_discovery_share,
    )
    if math.isnan(float(row["adjusted"])):
        return crude
    adjusted = (row["adjusted"], row["adjusted_low"], row["adjusted_high"])
    within = ratio_in_words(voice, *adjusted, settings.level)
    text = voice.say("{crude} Within birth types: {within}.", crude=crude.text, within=within)
    return Sentence(text, crude.verdict, crude.deaths)


def _no_clear_said(result: BirthType, said: list[tuple[Verdict, Row]]) -> Iterator[Sentence]:
    """The comparisons in which no difference is clear, together in a line."""
    told = [_told(result, row) for verdict, row in said if verdict is Verdict.NO_CLEAR]
    if told:
        text = "No clear difference in losses from those they were held against: {told}."
        yield Sentence(voice_of(result).say(text, told="; ".join(told)), Verdict.NO_CLEAR)


def _too_few_said(result: BirthType) -> Iterator[Sentence]:
    """Groups too small to be compared, or with too few losses."""
    voice = voice_of(result)
    if not any(isinstance(versus, str) for versus in result.groups["versus"]):
        text = (
            "Too few to say: no two groups of at least {n} {newborns} to compare; the table has the counts."
        )
        least = printing.count(result.settings.minimum_group)
        yield Sentence(voice.say(text, n=least), Verdict.TOO_FEW)
        return
    told = []
    for row in result.groups.to_dict("records"):
        small = row["n"] < result.settings.minimum_group
        if small or (isinstance(row["versus"], str) and _verdict(result, row) is Verdict.TOO_FEW):
            told.append(_told(result, row))
    if told:
        text = voice.say("Too few to say: {told}.", told="; ".join(told))
        yield Sentence(text, Verdict.TOO_FEW)


def _verdict(result: BirthType, row: Row) -> Verdict:
    """What the evidence allows of one comparison, all that were tried allowed for."""
    settings = result.settings
    return verdict_of(
        compared_row(voice_of(result), row),
        minimum_group=settings.minimum_group,
        false_discovery_share=settings.false_discovery_share,
    )


def _told(result: BirthType, row: Row) -> str:
    """A group with its losses of those born."""
    group = phrase(voice_of(result), str(row["factor"]), row["group"])
    return f"{group} {printing.counts(row['events'], row['n'])}"


def _groups_drawn(result: BirthType) -> Figure:
    """Lost of born, every group of every factor; groups under the minimum size are drawn quietly."""
    voice = voice_of(result)
    say, shown = voice.say, result.groups
    shown = shown.assign(
        heading=[factor(voice, one) for one in shown["factor"]],
        name=[label(voice, one) for one in shown["group"]],
        quiet=shown["n"] < result.settings.minimum_group,
    )
    return draw_grouped_rates(
        shown,
        printer=voice,
        name="birth_type-groups",
        title=say("Losses by what was known at birth"),
        alt=say(
            "Lost of born, group by group: {told}. The dotted line is all {newborns}.",
            told=_counts_told(shown),
        ),
        axis=say("lost, % of {newborns} born"),
        reference=result.whole,
    )


def _counts_told(rows: pd.DataFrame) -> str:
    told = zip(rows["name"], rows["events"], rows["n"], strict=True)
    return "; ".join(f"{name} {printing.count(events)}/{printing.count(n)}" for name, events, n in told)


def _groups_table(result: BirthType) -> Table:
    """Lost of born, every group, and newborns for which a factor was not recorded."""
    voice = voice_of(result)
    say = voice.say
    headings = {"by": say("By"), "name": say("Group"), **_rates_headings(result)}
    lacking = "; ".join(
        f"{factor(voice, name)} {printing.count(n)}" for name, n in result.not_recorded.items() if n
    )
    note = say("{newborns} for which it was not recorded: {lacking}.", lacking=lacking) if lacking else ""
    title = say("Losses by what was known at birth, to {end}", end=printing.age(result.end_h))
    return Table("birth_type-groups", title, _named(result), headings, RATES, note)


def _comparisons_table(result: BirthType) -> Table:
    """Every group against the one it is held against: ratio, difference, and the ratio within birth types."""
    voice = voice_of(result)
    say = voice.say
    interval = interval_heading(voice, result.settings.level)
    frame = _named(result)
    frame = frame[frame["against"] != ""]
    frame = frame.assign(
        ratio_range=_ratios(frame, "ratio"),
        difference_range=[
            printing.span(printing.points(low), printing.points(high)) if low == low else printing.NOT_KNOWN
            for low, high in zip(frame["difference_low"], frame["difference_high"], strict=True)
        ],
        adjusted_range=_ratios(frame, "adjusted"),
    )
    headings = {
        "by": say("By"),
        "name": say("Group"),
        "against": say("Against"),
        "ratio": say("Risk ratio"),
        "ratio_range": interval,
        "difference": say("Difference, percentage points"),
        "difference_range": say("{interval} of the difference", interval=interval),
        "adjusted": say("Risk ratio within birth types"),
        "adjusted_range": say("{interval} within birth types", interval=interval),
        "p": say("p"),
        "q": say("q"),
    }
    formats = {"ratio": "ratio", "difference": "points", "adjusted": "ratio", "p": "p", "q": "p"}
    note = say("q allows for the {tried} comparisons in this table. Association only.",
               tried=printing.count(frame["p"].notna().sum()))  # fmt: skip
    return Table("birth_type-comparisons", say("Each group against another"), frame, headings, formats, note)


def _ratios(frame: pd.DataFrame, name: str) -> list[str]:
    pairs = zip(frame[f"{name}_low"], frame[f"{name}_high"], strict=True)
    return [printing.ratio_range(float(low), float(high)) for low, high in pairs]


def _named(result: BirthType) -> pd.DataFrame:
    """The groups with factor, group and comparison as printed; "" where nothing was compared."""
    voice, frame = voice_of(result), result.groups
    return frame.assign(
        by=[factor(voice, one) for one in frame["factor"]],
        name=[label(voice, one) for one in frame["group"]],
        against=[label(voice, one) if isinstance(one, str) else "" for one in frame["versus"]],
    )


def _rates_headings(result: BirthType) -> dict[str, str]:
    voice = voice_of(result)
    say = voice.say
    interval = interval_heading(voice, result.settings.level)
    return {"events": say("Lost"), "n": say("Born"), "share": say("Share"), "interval": interval}


def _crossed_drawn(result: BirthType) -> Iterator[Figure]:
    """Lost of born by birth type within each kind of delivery, groups of the minimum size only."""
    large = result.crossed
    large = large[large["n"] >= result.settings.minimum_group] if len(large) else large
    if large.empty or large["birth_type"].nunique() < 2 or large["delivery"].nunique() < 2:
        return
    voice = voice_of(result)
    say = voice.say
    large = large.sort_values(["delivery", "birth_type"])
    shown = large.assign(
        heading=[label(voice, one) for one in large["delivery"]],
        name=[label(voice, one) for one in large["birth_type"]],
        quiet=False,
    )
    told = "; ".join(
        f"{row['heading']}, {row['name']} {printing.count(row['events'])}/{printing.count(row['n'])}"
        for row in shown.to_dict("records")
    )
    yield draw_grouped_rates(
        shown,
        printer=voice,
        name="birth_type-delivery",
        title=say("Losses by birth type within each kind of delivery"),
        alt=say("Lost of born: {told}. Groups under the minimum size are left out.", told=told),
        axis=say("lost, % of {newborns} born"),
        reference=result.whole,
    )


def _crossed_table(result: BirthType) -> Iterator[Table]:
    """Lost of born by birth type and delivery, every pair that occurred."""
    if result.crossed.empty:
        return
    voice = voice_of(result)
    say, frame = voice.say, result.crossed
    frame = frame.assign(
        type=[label(voice, one) for one in frame["birth_type"]],
        how=[label(voice, one) for one in frame["delivery"]],
    )
    headings = {"type": say("Birth type"), "how": say("Delivery"), **_rates_headings(result)}
    yield Table("birth_type-delivery", say("Losses by birth type and delivery"), frame, headings, RATES)


_READ = "{low} at {low_kg} kg, {middle} at {middle_kg} kg, {high} at {high_kg} kg (p {p})."
WEIGHT = {
    Verdict.CLEAR: "Losses went with birth weight by more than chance explains; the smooth curve reads "
    + _READ,
    Verdict.LEANING: "Losses may go with birth weight, but chance is not ruled out; the smooth curve reads "
    + _READ,
    Verdict.NO_CLEAR: "No clear link between losses and birth weight; the smooth curve reads " + _READ,
    Verdict.TOO_FEW: "Too few losses to say whether they went with birth weight.",
}


def _weight_said(result: BirthType) -> Iterator[Sentence]:
    """Whether losses went with birth weight, of those weighed, and the curve read at three weights."""
    weight = result.weight
    if weight is None:
        return
    read = weight.read.iloc[[0, len(weight.read) // 2, -1]]
    values = {}
    for name, row in zip(("low", "middle", "high"), read.to_dict("records"), strict=True):
        values[f"{name}_kg"] = printing.number(row["value"])
        values[name] = printing.percent(row["share"])
    verdict = judge_test(
        weight.p,
        level=result.settings.level,
        events=int(weight.lost.sum()),
        smallest_group=len(weight.lost),
        minimum_group=result.settings.minimum_group,
    )
    yield Sentence(voice_of(result).say(WEIGHT[verdict], p=printing.p_value(weight.p), **values), verdict)


def _weight_drawn(result: BirthType) -> Iterator[Figure]:
    """The smooth curve of loss against birth weight, every newborn weighed a mark."""
    if result.weight is None:
        return
    weight, say = result.weight, voice_of(result).say
    told = "; ".join(
        f"{printing.number(row['value'])} kg {printing.percent(row['share'])}"
        for row in weight.read.to_dict("records")
    )
    yield draw_smooth(
        weight.curve,
        weight.weight_kg,
        weight.lost,
        printer=voice_of(result),
        name="birth_type-weight",
        title=say("Loss along birth weight"),
        alt=say("Share lost by the smooth curve: {told}. Every {newborn} weighed is a mark.", told=told),
        axis=say("birth weight, kg"),
        share_axis=say("lost, % of {newborns} weighed"),
        marks=(say("lost"), say("not lost")),
    )


def _weight_table(result: BirthType) -> Iterator[Table]:
    """The smooth curve read at five weights."""
    if result.weight is None:
        return
    voice = voice_of(result)
    say = voice.say
    headings = {"value": say("Birth weight (kg)"), "share": say("Lost, by the smooth curve")}
    headings["interval"] = interval_heading(voice, result.settings.level)
    note = say(
        "Weights below which 5, 25, 50, 75 and 95 % of {newborns} lie. Does loss go with weight? p {p}.",
        p=printing.p_value(result.weight.p),
    )
    formats = {"value": "number", "share": "share"}
    yield Table(
        "birth_type-weight", say("Loss along birth weight"), result.weight.read, headings, formats, note
    )


def method(result: BirthType) -> Method:
    """Method, settings, limits and sources."""
    say, settings = voice_of(result).say, result.settings
    return Method(
        method=(
            say(
                "Lost of all born, the stillborn included. Wilson intervals on the number of {newborns} "
                "divided by the design effect; risk ratios and differences (Newcombe) with variances "
                "clustered on the litter, exact where counts are small."
            ),
            say(
                "Within birth types: Mantel-Haenszel risk ratio over single, twin and larger litters, so "
                "that another mix of litter sizes does not pass for a difference."
            ),
            say(
                RULE,
                minimum_group=printing.count(settings.minimum_group),
                minimum_events=printing.count(MINIMUM_EVENTS),
            ),
            say(
                "A comparison is called clear only if its q (Benjamini-Hochberg over all comparisons here) "
                "is at most {share} too.",
                share=printing.number(settings.false_discovery_share, 2),
            ),
            say(
                "Birth weight: logistic regression on a natural cubic spline, its band from litters. Weight "
                "classes are fifths within species."
            ),
        ),
        settings=(
            say("Groups under {n} {newborns} are not compared.", n=printing.count(settings.minimum_group)),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "{newborns} that are born by surgery or with help were in trouble before; the comparison "
                "does not show what the help did."
            ),
            say(
                "Small {newborns} are small for reasons (litter size, feeding, early birth) that also matter."
            ),
            say("{newborns} that left alive count as not lost."),
        ),
        sources=(
            say("Newcombe RG (1998) Stat Med 17:873-890. Greenland S, Robins JM (1985) Biometrics 41:55-68."),
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
        ),
    )
