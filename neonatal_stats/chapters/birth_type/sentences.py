"""Groups known at birth, in words: what stands out in full, the rest in a line."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import Any

from neonatal_stats.chapters.birth_type.result import BirthType
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence, Verdict, judge_test
from neonatal_stats.words.compared_rows import compared_row
from neonatal_stats.words.comparisons import compare_groups, ratio_in_words, verdict_of
from neonatal_stats.words.labels import phrase

Row = dict[Hashable, Any]


def sentences(result: BirthType) -> tuple[Sentence, ...]:
    """Clear and leaning comparisons one by one; the others together; then birth weight as a curve."""
    rows = [row for row in result.groups.to_dict("records") if isinstance(row["versus"], str)]
    said = [(_verdict(result, row), row) for row in rows]
    full = [_full(result, row) for verdict, row in said if verdict in (Verdict.CLEAR, Verdict.LEANING)]
    full.sort(key=lambda one: (one.verdict is not Verdict.CLEAR, -one.deaths))
    return (*full, *_no_clear(result, said), *_too_few(result), *_weight(result))


def _verdict(result: BirthType, row: Row) -> Verdict:
    settings = result.settings
    return verdict_of(
        compared_row(result.voice, row),
        minimum_group=settings.minimum_group,
        false_discovery_share=settings.false_discovery_share,
    )


def _full(result: BirthType, row: Row) -> Sentence:
    settings = result.settings
    crude = compare_groups(
        result.voice,
        compared_row(result.voice, row),
        minimum_group=settings.minimum_group,
        level=settings.level,
        false_discovery_share=settings.false_discovery_share,
    )
    if math.isnan(float(row["adjusted"])):
        return crude
    adjusted = (row["adjusted"], row["adjusted_low"], row["adjusted_high"])
    within = ratio_in_words(result.voice, *adjusted, settings.level)
    text = result.voice.say("{crude} Within birth types: {within}.", crude=crude.text, within=within)
    return Sentence(text, crude.verdict, crude.deaths)


def _no_clear(result: BirthType, said: list[tuple[Verdict, Row]]) -> Iterator[Sentence]:
    told = [_told(result, row) for verdict, row in said if verdict is Verdict.NO_CLEAR]
    if told:
        text = "No clear difference in losses from those they were held against: {told}."
        yield Sentence(result.voice.say(text, told="; ".join(told)), Verdict.NO_CLEAR)


def _too_few(result: BirthType) -> Iterator[Sentence]:
    """Groups too small to be compared, or with too few losses."""
    if not any(isinstance(versus, str) for versus in result.groups["versus"]):
        text = (
            "Too few to say: no two groups of at least {n} {newborns} to compare; the table has the counts."
        )
        least = printing.count(result.settings.minimum_group)
        yield Sentence(result.voice.say(text, n=least), Verdict.TOO_FEW)
        return
    told = []
    for row in result.groups.to_dict("records"):
        small = row["n"] < result.settings.minimum_group
        if small or (isinstance(row["versus"], str) and _verdict(result, row) is Verdict.TOO_FEW):
            told.append(_told(result, row))
    if told:
        text = result.voice.say("Too few to say: {told}.", told="; ".join(told))
        yield Sentence(text, Verdict.TOO_FEW)


def _told(result: BirthType, row: Row) -> str:
    group = phrase(result.voice, str(row["factor"]), row["group"])
    return f"{group} {printing.counts(row['events'], row['n'])}"


def _weight(result: BirthType) -> Iterator[Sentence]:
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
    yield Sentence(result.voice.say(WEIGHT[verdict], p=printing.p_value(weight.p), **values), verdict)


_READ = "{low} at {low_kg} kg, {middle} at {middle_kg} kg, {high} at {high_kg} kg (p {p})."
WEIGHT = {
    Verdict.CLEAR: "Losses went with birth weight by more than chance explains; the smooth curve reads "
    + _READ,
    Verdict.LEANING: "Losses may go with birth weight, but chance is not ruled out; the smooth curve reads "
    + _READ,
    Verdict.NO_CLEAR: "No clear link between losses and birth weight; the smooth curve reads " + _READ,
    Verdict.TOO_FEW: "Too few losses to say whether they went with birth weight.",
}
