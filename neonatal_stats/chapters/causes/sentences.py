"""Causes in words."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import Any

from neonatal_stats.chapters.causes.result import Causes
from neonatal_stats.chapters.protocol import Headline
from neonatal_stats.measures.causes import UNKNOWN
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence
from neonatal_stats.words.causes import cause_sentence, largest_stands, type_sentence, unknown_sentence
from neonatal_stats.words.comparisons import excess_over_lowest
from neonatal_stats.words.labels import label

NAMED = 3


def sentences(result: Causes) -> tuple[Sentence, ...]:
    """The largest causes, what the unknown could change, what they rest on, and birth types."""
    return (*_largest(result), *_unknown(result), *_incidence(result), *_basis(result), *_types(result))


def headlines(result: Causes) -> tuple[Headline, ...]:
    """The largest cause, for the top of the page."""
    known = _known(result)
    if not known:
        return ()
    row = known[0]
    tied = [label(result.voice, other["cause"]) for other in known if other["events"] == row["events"]]
    text = f"{'; '.join(tied)}: {printing.share_of(row['events'], row['n'], row['low'], row['high'])}"
    numbers = (float(row[name]) for name in ("events", "n", "share", "low", "high"))
    name = result.voice.say("Largest known cause of loss")
    return (Headline("largest_cause", name, text, *numbers),)


def _known(result: Causes) -> list[dict[Hashable, Any]]:
    return result.by_cause[result.by_cause["cause"].astype(str) != UNKNOWN].to_dict("records")


def _largest(result: Causes) -> Iterator[Sentence]:
    for row in _known(result)[:NAMED]:
        yield cause_sentence(
            result.voice,
            label(result.voice, row["cause"]),
            *(row[name] for name in ("events", "n", "low", "high")),
        )


def _unknown(result: Causes) -> Iterator[Sentence]:
    unknown = result.by_cause[result.by_cause["cause"].astype(str) == UNKNOWN]
    known = _known(result)
    if unknown.empty:
        return
    row = unknown.iloc[0]
    runner_up = known[1]["events"] if len(known) > 1 else 0
    yield unknown_sentence(
        result.voice,
        int(row["events"]),
        int(row["n"]),
        label(result.voice, known[0]["cause"]),
        stands=largest_stands(known[0]["events"], runner_up, row["events"]),
    )


def _incidence(result: Causes) -> Iterator[Sentence]:
    row = _known(result)[0]
    if result.incidence.empty or row["n"] < printing.SMALL_GROUP:
        return
    text = "By {age}, {share} ({interval}) of all {newborns} born had been lost to {cause}."
    yield Sentence(
        result.voice.say(
            text,
            age=printing.age(result.end_h),
            share=printing.percent(row["at_end"]),
            interval=printing.percent_range(row["at_end_low"], row["at_end_high"]),
            cause=label(result.voice, row["cause"]),
        )
    )


def _basis(result: Causes) -> Iterator[Sentence]:
    basis, n = result.by_basis, int(result.by_basis["n"].sum())
    opened = int(basis["post-mortem"].sum())
    text = "The cause rests on a post-mortem examination in {opened} of {n} losses."
    yield Sentence(result.voice.say(text, opened=printing.count(opened), n=printing.count(n)))
    if int(basis["not given"].sum()) == n:
        text = "Write down what each cause rests on (post-mortem, vet's opinion, keeper's opinion)."
        yield Sentence(result.voice.say(text), role="record next")


def _types(result: Causes) -> Iterator[Sentence]:
    for row in result.by_type.to_dict("records"):
        yield type_sentence(
            result.voice,
            cause=label(result.voice, row["cause"]),
            told="; ".join(
                f"{label(result.voice, name)} {printing.count(events)}/{printing.count(n)}"
                for name, (events, n) in row["told"].items()
            ),
            q=row["q"],
            events=row["events"],
            excess=excess_over_lowest(row["told"].values()),
            smallest_group=row["smallest"],
            minimum_group=result.settings.minimum_group,
            level=result.settings.level,
        )
