"""What were the newborns lost to, and at what age? Drawn and in tables by `causes_shown`."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import Any

from neonatal_stats.chapters.causes_shown import curves, figures, tables
from neonatal_stats.chapters.counted import causes as counted
from neonatal_stats.chapters.counted.causes import LEADING_EVENTS, Causes, claims, largest_stands, type_key
from neonatal_stats.chapters.protocol import CAUSE, NO_CAUSE, Headline, Verdicts, decided_within, heed
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.windows import UNKNOWN
from neonatal_stats.season.model import Season
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.vocabulary.terms import STILLBIRTH
from neonatal_stats.words import Method, Sentence, Verdict, Voice, joined, voice_of
from neonatal_stats.words.evidence import excess_over_lowest
from neonatal_stats.words.names import label

NAME = "causes"
TITLE = "Causes"
QUESTION = "What were the {newborns} lost to, and at what age?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Causes",
    "answer",
    "claims",
    "curves",
    "figures",
    "glance",
    "headlines",
    "method",
    "missing",
    "sentences",
    "tables",
]

Row = dict[Hashable, Any]


def missing(season: Season) -> tuple[str, ...]:
    """Open where something was lost and at least one cause written down (born dead is a cause of its own)."""
    say = voice_of(season).say
    lost = season.births[season.births["died"]]
    if lost.empty:
        return (say("Nothing to answer: no loss was recorded."),)
    if (lost["cause"].astype(str) == UNKNOWN).all():
        return (
            say(
                "Not answered: no cause is written down for any loss. One word per loss in cause, and what "
                "it rests on in cause_basis, would open the chapter."
            ),
        )
    return ()


def answer(season: Season) -> Causes:
    """Count every loss under its cause; `NotRecorded` where nothing was lost or no cause written down."""
    heed(missing(season))
    return counted.answer(season)


def sentences(result: Causes, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """The largest causes, what the unknown could change, what they rest on, and birth types."""
    verdicts = settled(claims(result), result.settings, verdicts)
    return (
        *_largest_said(result),
        *_unknown_said(result),
        *_incidence_said(result),
        *_basis_said(result),
        *_types_said(result, verdicts),
    )


NAMED = 3


def _largest_said(result: Causes) -> Iterator[Sentence]:
    """The largest known causes, each of all losses; as a count alone where there are few losses."""
    voice = voice_of(result)
    for row in result.known[:NAMED]:
        values = {"cause": label(voice, row["cause"])}
        values |= {name: voice.count(row[name]) for name in ("events", "n")}
        text = "{cause}: {events} of {n} losses."
        if row["n"] >= SMALL_GROUP:
            text = "{cause}: {events} of {n} losses ({share}, {interval})."
            values["share"] = voice.percent(row["events"] / row["n"])
            values["interval"] = voice.percent_range(row["low"], row["high"])
        yield Sentence(voice.say(text, **values), deaths=float(row["events"]))


UNKNOWN_OF = {
    (
        True,
        False,
    ): "No cause is known for {counts} losses; even if all were of one other cause, {largest} would lead.",
    (
        True,
        True,
    ): "No cause is known for {counts} losses; even if all were of one other cause, {largest} would lead the "
    "causes after birth.",
    (
        False,
        False,
    ): "No cause is known for {counts} losses: enough that another cause than {largest} could be the "
    "largest.",
    (
        False,
        True,
    ): "No cause is known for {counts} losses: enough that another cause after birth than {largest} could be "
    "the largest.",
}
"""Whether the largest known cause leads whatever the unknown were of, and whether stillbirth stands beside it."""


def _unknown_said(result: Causes) -> Iterator[Sentence]:
    """How many losses have no known cause, and whether that could change which cause is the largest."""
    unknown = result.by_cause[result.by_cause["cause"].astype(str) == UNKNOWN]
    if unknown.empty:
        return
    row, known, voice = unknown.iloc[0], _after_birth(result), voice_of(result)
    values = {"counts": voice.counts(row["events"], row["n"])}
    if not known:
        yield Sentence(voice.say("No cause is known for {counts} losses.", **values))
        return
    values["largest"] = label(voice, known[0]["cause"])
    second = known[1]["events"] if len(known) > 1 else 0
    stands = largest_stands(known[0]["events"], second, row["events"])
    text = UNKNOWN_OF[stands, len(known) < len(result.known)]
    yield Sentence(voice.say(text, **values), role="answer" if stands else "cannot say")


def _after_birth(result: Causes) -> list[Row]:
    """The known causes, largest first, without stillbirth: that is a time, and no cause."""
    return [row for row in result.known if row["cause"] != STILLBIRTH]


def _incidence_said(result: Causes) -> Iterator[Sentence]:
    """Of all born, how many had been lost to the largest cause after birth by the last age watched."""
    known, voice = _after_birth(result), voice_of(result)
    if result.incidence.empty or not known or known[0]["n"] < SMALL_GROUP:
        return
    row = known[0]
    text = "By {age}, {share} ({interval}) of all {newborns} born had been lost to {cause}."
    values = {
        "age": voice.age(result.end_h),
        "share": voice.percent(row["at_end"]),
        "interval": voice.percent_range(row["at_end_low"], row["at_end_high"]),
        "cause": label(voice, row["cause"]),
    }
    yield Sentence(voice.say(text, **values))


def _basis_said(result: Causes) -> Iterator[Sentence]:
    """How many losses rest on a post-mortem examination, and what to write down where nothing was."""
    voice, sums = voice_of(result), result.by_basis.drop(columns="cause").sum()
    text = "The cause rests on a post-mortem examination in {opened} of {n} losses."
    yield Sentence(voice.say(text, opened=voice.count(sums["post-mortem"]), n=voice.count(sums["n"])))
    if sums["not given"] == sums["n"]:
        text = "Write down what each cause rests on (post-mortem, vet's opinion, keeper's opinion)."
        yield Sentence(voice.say(text), role="record next", columns=("cause_basis",))


TYPES = {
    Verdict.CLEAR: "Losses to {cause} differ between birth types by more than chance explains: {told} (p {p}).",
    Verdict.LEANING: "Losses to {cause} look different between birth types, but chance is not ruled out: {told} "
    "(p {p}).",
    Verdict.NO_CLEAR: "No clear difference between birth types in losses to {cause}: {told} (p {p}).",
    Verdict.TOO_FEW: "Too few to say whether birth types differ in losses to {cause}: {told}.",
}

TYPES_BORN_DEAD = {
    Verdict.CLEAR: "Shares born dead differ between birth types by more than chance explains: {told} (p {p}).",
    Verdict.LEANING: "Shares born dead look different between birth types, but chance is not ruled out: {told} (p "
    "{p}).",
    Verdict.NO_CLEAR: "No clear difference between birth types in shares born dead: {told} (p {p}).",
    Verdict.TOO_FEW: "Too few to say whether birth types differ in shares born dead: {told}.",
}
"""The same of stillbirth, which is a time and no cause."""


def _types_said(result: Causes, verdicts: Verdicts) -> Iterator[Sentence]:
    """Whether birth types differ in each leading cause, by a test that allows for how many causes were tried."""
    voice = voice_of(result)
    for row in result.by_type.to_dict("records"):
        counts = {name: (row[f"events_{name}"], row[f"n_{name}"]) for name in result.types}
        told = "; ".join(
            f"{label(voice, name)} {voice.count(events)}/{voice.count(n)}"
            for name, (events, n) in counts.items()
        )
        key, values = type_key(row["cause"]), {"cause": label(voice, row["cause"]), "told": told}
        verdict = verdicts.get(key, row["verdict"])
        templates = TYPES_BORN_DEAD if row["cause"] == STILLBIRTH else TYPES
        text = voice.say(templates[verdict], p=voice.p_value(row["p"]), **values)
        yield Sentence(text, verdict, excess_over_lowest(counts.values()), claim=key)


def headlines(result: Causes) -> tuple[Headline, ...]:
    """The largest cause, and beside stillbirth, which is a time and no cause, the largest after birth."""
    known, say = result.known, voice_of(result).say
    if not known:
        return ()
    if known[0]["cause"] != STILLBIRTH:
        return (_headline(result, known, "largest_cause", say("Largest known cause of loss")),)
    largest, after = say("Largest group of losses, by time or cause"), _after_birth(result)
    if not after:
        return (_headline(result, known, "largest_cause", largest),)
    return (
        _headline(result, known, "largest_cause", largest),
        _headline(result, after, "largest_cause_after_birth", say("Largest known cause after birth")),
    )


def _headline(result: Causes, known: list[Row], key: str, words: str) -> Headline:
    """The first of these causes, with those that tie with it."""
    voice, row = voice_of(result), known[0]
    tied = "; ".join(label(voice, other["cause"]) for other in known if other["events"] == row["events"])
    printed = f"{tied}: {voice.share_of(row['events'], row['n'], row['low'], row['high'])}"
    numbers = {name: float(row[name]) for name in ("events", "n", "share", "low", "high")}
    return Headline(key, words, printed, **numbers)


def glance(result: Causes) -> tuple[Headline, ...]:
    """The largest known cause at each time of loss, and how many losses have none, of those lost then."""
    rows = result.by_stage.to_dict("records")
    return tuple(one for row in rows for one in _of_stage(voice_of(result), row) if one.events)


def _of_stage(voice: Voice, row: Row) -> Iterator[Headline]:
    """The largest cause, of causes that tie how many each, and those of no known cause."""
    n, nan, stage = float(row["n"]), math.nan, row["stage"]
    known, unknown = float(row["events"]), float(row["unknown"])
    printed = voice.count(known)
    if "; " in str(row["cause"]):
        printed = voice.say("({n} each)", n=printed)
    yield Headline(f"{CAUSE}{stage}", _tied(voice, row), printed, known, n, known / n, nan, nan)
    told = voice.say("cause unknown")
    yield Headline(f"{NO_CAUSE}{stage}", told, voice.count(unknown), unknown, n, unknown / n, nan, nan)


MOST_TIED = 2


def _tied(voice: Voice, row: Row) -> str:
    """The cause, or the two that tie; more than that are only counted."""
    causes = str(row["cause"]).split("; ")
    if len(causes) > MOST_TIED:
        return voice.say("{n} causes", n=voice.count(len(causes)))
    return joined((label(voice, cause) for cause in causes), ", ")


def method(result: Causes, verdicts: Verdicts | None = None) -> Method:
    """Method, settings, limits and sources."""
    voice = voice_of(result)
    say, settings = voice.say, result.settings
    return Method(
        method=(
            say(
                "Each loss is counted once, under the cause written down; those born dead with none written "
                "are stillbirths, other losses with none are unknown. Shares of losses have Wilson "
                "intervals that allow for litters."
            ),
            say(
                "Against age: Aalen-Johansen, all causes at once, so that at every age the causes and the "
                "share alive add up to 1. Intervals from influence values summed within litters. One minus "
                "a survival curve for a single cause is never shown: it overstates."
            ),
            say(
                "Birth types are compared for each cause with at least {n} losses by Gray's test with "
                "littermates allowed for; their q-values (Benjamini and Hochberg) allow for the causes tried, "
                "not for the rest of the page.",
                n=voice.count(LEADING_EVENTS),
            ),
            decided_within(voice, verdicts),
            say(
                "Unknown: the highest share of a cause is what it would be if every unknown loss were of it."
            ),
        ),
        settings=(
            say("Causes: {causes}.", causes=", ".join(label(voice, cause) for cause in settings.causes)),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "A cause by opinion is often wrong: starvation, cold and difficult birth look alike in a "
                "dead {newborn}, and a post-mortem examination (by or under a veterinary surgeon) may name "
                "another."
            ),
            say("One cause a loss is written down, though several may have worked together."),
        ),
        sources=(
            say("Aalen OO, Johansen S (1978) Scand J Stat 5:141-150. Gray RJ (1988) Ann Stat 16:1141-1154."),
            say("Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300."),
        ),
    )
