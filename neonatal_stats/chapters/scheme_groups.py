"""The groups of a scheme's newborns, told: who was lost more, who was not accepted, who was fed in time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.counted.scheme import FED, MOTHERING, Asked, Scheme, decided
from neonatal_stats.chapters.protocol import Part, interval_heading
from neonatal_stats.drawing import Figure, draw_rates
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.tables import Table
from neonatal_stats.words import Sentence, Voice, voice_of
from neonatal_stats.words.evidence import FAILURES, LOSSES, Templates, comparison
from neonatal_stats.words.group_tables import compared_group, group_columns, group_rows, in_blocks
from neonatal_stats.words.names import phrase

MOST_SAID = 8
"""Clear and leaning comparisons that are said; all of them stand in the table."""
IN_TIME = Templates(
    higher="More of {group} were fed by the mark, {a}, than of {versus}, {b}: {evidence}.",
    lower="Fewer of {group} were fed by the mark, {a}, than of {versus}, {b}: {evidence}.",
    leaning_higher="More of {group} seem to have been fed by the mark, {a}, than of {versus}, {b}, but chance is not "
    "ruled out: {evidence}.",
    leaning_lower="Fewer of {group} seem to have been fed by the mark, {a}, than of {versus}, {b}, but chance is not "
    "ruled out: {evidence}.",
    no_clear="No clear difference in who was fed by the mark between {group}, {a}, and {versus}, {b}: {evidence}.",
    too_few="Too few to say whether as many of {group}, {a}, were fed by the mark as of {versus}, {b}.",
)


@dataclass(frozen=True)
class Words:
    """How the groups of one question are said, drawn and tabled."""

    name: str
    title: str
    event: str
    counted: str
    axis: str
    templates: Templates


def parts(result: Scheme) -> Iterator[Part]:
    """Losses by group; mothering-up and the first feed where they were written down."""
    say = voice_of(result).say
    if len(result.groups):
        words = Words(
            "groups",
            say("Losses by what was known at birth"),
            say("Lost"),
            say("Born"),
            say("lost, % of {newborns} born"),
            LOSSES,
        )
        yield _part(result, words, result.groups, say("Groups"), say("Which {newborns} were lost more?"), ())
    if MOTHERING in result.asked:
        words = Words(
            "mothering",
            say("Failures at mothering-up by group"),
            say("Not accepted"),
            say("Judged"),
            say("not accepted, % of {newborns} judged"),
            FAILURES,
        )
        one = result.asked[MOTHERING]
        question = say("Which {newborns} were not accepted by the {dam}?")
        yield _part(result, words, one.groups, say("Mothering-up"), question, (_accepted_said(result, one),))
    if FED in result.asked:
        words = Words(
            "fed",
            say("Fed by the mark, by group"),
            say("Fed by the mark"),
            say("Known of"),
            say("fed by the mark, % of {newborns} known of"),
            IN_TIME,
        )
        one = result.asked[FED]
        question = say("Which {newborns} found the teat in time?")
        yield _part(result, words, one.groups, say("The first feed"), question, (_fed_said(result, one),))


def _accepted_said(result: Scheme, one: Asked) -> Sentence:
    voice, row = voice_of(result), one.whole.iloc[0]
    text = (
        "Not accepted by the {dam}: {share} of the {newborns} judged. Not judged, so not counted: {unjudged}."
    )
    share = voice.share_of(row["events"], row["n"], row["low"], row["high"])
    return Sentence(voice.say(text, share=share, unjudged=voice.count(one.unknown)), lead=True)


def _fed_said(result: Scheme, one: Asked) -> Sentence:
    voice, row = voice_of(result), one.whole.iloc[0]
    text = (
        "Fed within {mark} of birth: {share} of the {newborns} born alive of which it can be told, by the births' own "
        "column alone. Nobody can tell of {unknown}."
    )
    share = voice.share_of(row["events"], row["n"], row["low"], row["high"])
    mark = voice.age(result.settings.marks.fed_h)
    return Sentence(voice.say(text, mark=mark, share=share, unknown=voice.count(one.unknown)), lead=True)


def _part(
    result: Scheme,
    words: Words,
    frame: pd.DataFrame,
    title: str,
    question: str,
    first: tuple[Sentence, ...],
) -> Part:
    groups = decided(result, frame)
    return Part(
        words.name,
        title,
        question,
        (*first, *_said(result, groups, words)),
        tuple(_drawn(result, groups, words)),
        (_table(result, groups, words),),
    )


def _said(result: Scheme, groups: pd.DataFrame, words: Words) -> Iterator[Sentence]:
    """Clear and leaning comparisons one by one, the most losses first; the others together."""
    voice, level = voice_of(result), result.settings.level
    telling = groups[groups["verdict"].isin([Verdict.CLEAR, Verdict.LEANING])]
    told = [
        comparison(
            voice,
            compared_group(voice, row),
            row["verdict"],
            level=level,
            templates=words.templates,
            claim=row["key"],
        )
        for row in telling.to_dict("records")
    ]
    told.sort(key=lambda one: (one.verdict is not Verdict.CLEAR, -one.deaths))
    yield from told[:MOST_SAID]
    if len(told) > MOST_SAID:
        text = "{n} more comparisons that are clear or lean stand in the table."
        yield Sentence(voice.say(text, n=voice.count(len(told) - MOST_SAID)))
    same = groups[groups["verdict"] == Verdict.NO_CLEAR]
    if len(same):
        text = "No clear difference from those they were held against: {told}."
        yield Sentence(voice.say(text, told=_counts(voice, same)), Verdict.NO_CLEAR)
    small = groups[["n", "litters"]].min(axis=1) < result.settings.minimum_group
    few = groups[(small & groups["versus"].isna()) | (groups["verdict"] == Verdict.TOO_FEW)]
    if len(few):
        text = "Too few to say: {told}."
        yield Sentence(voice.say(text, told=_counts(voice, few)), Verdict.TOO_FEW)


def _counts(voice: Voice, groups: pd.DataFrame) -> str:
    return "; ".join(
        f"{phrase(voice, row['factor'], row['group'])} {voice.counts(row['events'], row['n'])}"
        for row in groups.to_dict("records")
    )


def _drawn(result: Scheme, groups: pd.DataFrame, words: Words) -> Iterator[Figure]:
    """Every group once under its factor; nothing where no two groups stand together."""
    voice = voice_of(result)
    shown = in_blocks(group_rows(voice, groups), result.settings.minimum_group)
    if shown.empty:
        return
    told = "; ".join(
        f"{row['name']} {voice.part_of(row['events'], row['n'])}" for row in shown.to_dict("records")
    )
    yield draw_rates(
        shown,
        printer=voice,
        name=f"scheme-{words.name}",
        title=words.title,
        alt=voice.say("{title}, group by group: {told}.", title=words.title, told=told),
        axis=words.axis,
        few=voice.say("too few"),
    )


def _table(result: Scheme, groups: pd.DataFrame, words: Words) -> Table:
    voice = voice_of(result)
    interval = interval_heading(voice, result.settings.level)
    note = voice.say(
        "q allows for the comparisons in this table, not for the rest of the page. Association only."
    )
    return Table(
        f"scheme-{words.name}",
        words.title,
        group_rows(voice, groups),
        group_columns(voice, interval, words.event, words.counted),
        note=note,
        printer=voice,
    )
