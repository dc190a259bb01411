"""What were the newborns lost to, and at what age?"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from itertools import pairwise
from typing import Any

import pandas as pd

from neonatal_stats.chapters.causes_ranked import ranked_drawn
from neonatal_stats.chapters.causes_when import at_each_time, stages_table
from neonatal_stats.chapters.counted import causes as counted
from neonatal_stats.chapters.counted.causes import (
    LEADING_EVENTS,
    Causes,
    claims,
    largest_stands,
    type_key,
)
from neonatal_stats.chapters.protocol import (
    Headline,
    Verdicts,
    decided_within,
    heed,
    interval_heading,
)
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.colours import cause_looks
from neonatal_stats.drawing.curves import draw_incidence
from neonatal_stats.drawing.tallies import draw_tally, squares_stand_for
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.windows import UNKNOWN
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.vocabulary.terms import CAUSE_BASES, STILLBIRTH
from neonatal_stats.words import Method, Sentence, Verdict, Voice, voice_of
from neonatal_stats.words.curve_tables import curve_table
from neonatal_stats.words.evidence import excess_over_lowest
from neonatal_stats.words.losses_spoken import causes_stacked
from neonatal_stats.words.names import label

NAME = "causes"
TITLE = "Causes"
QUESTION = "What were the {newborns} lost to, and at what age?"

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


def figures(result: Causes) -> tuple[Figure, ...]:
    """The causes ranked; their incidence where ages are known; the tally."""
    return (ranked_drawn(result), *_incidence_drawn(result), _ages_drawn(result))


def tables(result: Causes) -> tuple[Table, ...]:
    """Causes and ages first; then what they rest on, and birth types."""
    return (
        _causes_table(result),
        _ages_table(result),
        stages_table(result),
        _basis_table(result),
        *_types_table(result),
    )


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


def _after_birth(result: Causes) -> list[Row]:
    """The known causes, largest first, without stillbirth: that is a time, and no cause."""
    return [row for row in result.known if row["cause"] != STILLBIRTH]


def glance(result: Causes) -> tuple[Headline, ...]:
    """The largest known cause at each time of loss, and how many losses have none, of those lost then."""
    return at_each_time(result)


def _headline(result: Causes, known: list[Row], key: str, words: str) -> Headline:
    """The first of these causes, with those that tie with it."""
    voice, row = voice_of(result), known[0]
    tied = "; ".join(label(voice, other["cause"]) for other in known if other["events"] == row["events"])
    printed = f"{tied}: {voice.share_of(row['events'], row['n'], row['low'], row['high'])}"
    numbers = {name: float(row[name]) for name in ("events", "n", "share", "low", "high")}
    return Headline(key, words, printed, **numbers)


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


def _causes_table(result: Causes) -> Table:
    """Losses of each cause, of all losses; its share of all born, where ages are known."""
    voice = voice_of(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    by_age = say("Share of all born, by {age}", age=voice.age(result.end_h))
    of_born = (
        columns.share("at_end", say("Share of all born") if result.incidence.empty else by_age),
        columns.interval("at_end_low", "at_end_high", say("{interval} of all born", interval=interval)),
    )
    declared = (
        columns.text("name", say("Cause"), raw="cause"),
        columns.count("events", say("Losses")),
        columns.count("n", say("Of all losses")),
        columns.share("share", say("Share of losses")),
        columns.interval("low", "high", interval),
        columns.share("highest", say("Share were all unknown of this cause")),
        *of_born,
    )
    note = say("One cause a loss. Shares of a known cause lie between the two columns of shares.")
    frame = _named(voice, result.by_cause)
    return Table("causes-losses", say("Losses by cause"), frame, declared, note=note, printer=voice)


ALL = "all causes"


def _named(voice: Voice, frame: pd.DataFrame) -> pd.DataFrame:
    """With the causes as printed; a row of sums keeps its words."""
    names = [voice.say("all causes") if cause == ALL else label(voice, cause) for cause in frame["cause"]]
    return frame.assign(name=names)


def _with_sums(counts: pd.DataFrame) -> pd.DataFrame:
    """Counts by cause, and below them a row of their sums."""
    total = {"cause": ALL, **counts.drop(columns="cause").sum().to_dict()}
    return pd.concat([counts.astype({"cause": object}), pd.DataFrame([total])], ignore_index=True)


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


def curves(result: Causes) -> tuple[Table, ...]:
    """Share lost to each cause by each age, and the share still alive: for other programs."""
    if result.incidence.empty:
        return ()
    voice = voice_of(result)
    found = result.incidence[result.incidence["cause"].isin(["alive", *result.causes])]
    title = voice.say("Lost to each cause, by age; the rows of cause alive hold the share still alive")
    keys = {"cause": voice.say("Cause")}
    return (curve_table(voice, "causes-incidence-curve", title, found, keys, result.settings.level),)


def _incidence_drawn(result: Causes) -> Iterator[Figure]:
    """Shares of all born lost to each cause against age, stacked; nothing where too few ages are known."""
    if result.incidence.empty:
        return
    drawn = causes_stacked(voice_of(result), result.incidence, result.causes, result.settings, result.end_h)
    yield draw_incidence(name="causes-incidence", **drawn)


def _ages_drawn(result: Causes) -> Figure:
    """Losses counted by cause and age window; windows without a loss are left out."""
    voice = voice_of(result)
    say, counts = voice.say, _wide(result)
    names = [name for name, n in zip(_window_names(result), counts.sum(), strict=True) if n]
    counts = counts.loc[:, counts.sum() > 0]
    rows, looks = [label(voice, cause) for cause in result.causes], cause_looks(result.settings.causes)
    told = "; ".join(f"{row} {voice.count(n)}" for row, n in zip(rows, counts.sum(axis=1), strict=True))
    each = squares_stand_for(int(counts.to_numpy().max()))
    one, several = "one square: one {newborn} lost", "one square: {n} {newborns} lost"
    return draw_tally(
        counts,
        rows=rows,
        columns=names,
        colours=[looks[cause][0] for cause in result.causes],
        printer=voice,
        name="causes-ages",
        title=say("Causes by age at loss"),
        alt=say("Losses counted by cause and age. All ages together: {told}.", told=told),
        one_square=say(several, n=voice.count(each)) if each > 1 else say(one),
    )


def _ages_table(result: Causes) -> Table:
    """The same counts in numbers, with their sums; windows without a loss stand in the CSV alone."""
    voice, wide = voice_of(result), _wide(result)
    say, sums = voice.say, wide.sum()
    windows = [f"window_{place}" for place in range(wide.shape[1])]
    by_window = [columns.count(*one) for one in zip(windows, _window_names(result), strict=True)]
    declared = (
        columns.text("name", say("Cause"), raw="cause"),
        *(one if n else columns.in_csv(one) for one, n in zip(by_window, sums, strict=True)),
        columns.count("all", say("All ages")),
    )
    counts = wide.set_axis(windows, axis=1).assign(all=wide.sum(axis=1)).reset_index()
    note = say(
        "A span takes in its start and not its end; the last takes in both. Spans without a loss are left out."
    )
    frame = _named(voice, _with_sums(counts))
    return Table("causes-ages", say("Losses by cause and age"), frame, declared, note=note, printer=voice)


def _wide(result: Causes) -> pd.DataFrame:
    """Losses counted, a row a cause and a column an age window, in the order of `_window_names`."""
    wide = result.by_age.pivot_table(index="cause", columns="window", values="events", sort=False)
    return wide.loc[result.causes, sorted(wide.columns)].astype(int)


def _window_names(result: Causes) -> list[str]:
    """Born dead, the age windows, and an unknown age, as printed."""
    voice = voice_of(result)
    spans = [voice.age_span(start, end) for start, end in pairwise(result.edges_h)]
    return [voice.say("born dead"), *spans, voice.say("age not known")]


def _basis_said(result: Causes) -> Iterator[Sentence]:
    """How many losses rest on a post-mortem examination, and what to write down where nothing was."""
    voice, sums = voice_of(result), result.by_basis.drop(columns="cause").sum()
    text = "The cause rests on a post-mortem examination in {opened} of {n} losses."
    yield Sentence(voice.say(text, opened=voice.count(sums["post-mortem"]), n=voice.count(sums["n"])))
    if sums["not given"] == sums["n"]:
        text = "Write down what each cause rests on (post-mortem, vet's opinion, keeper's opinion)."
        yield Sentence(voice.say(text), role="record next", columns=("cause_basis",))


def _basis_table(result: Causes) -> Table:
    """Losses of each cause by what the cause rests on."""
    voice = voice_of(result)
    say = voice.say
    declared = (
        columns.text("name", say("Cause"), raw="cause"),
        *(columns.count(basis, label(voice, basis)) for basis in CAUSE_BASES),
        columns.count("not given", say("not given")),
        columns.count("n", say("All")),
    )
    frame = _named(voice, _with_sums(result.by_basis))
    return Table("causes-basis", say("What the cause rests on"), frame, declared, printer=voice)


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


def _types_table(result: Causes) -> Iterator[Table]:
    """Each leading cause: lost to it, of born, in every birth type, and the test between them."""
    if result.by_type.empty:
        return
    voice = voice_of(result)
    say, frame = voice.say, _named(voice, result.by_type)
    declared = (
        columns.text("name", say("Cause"), raw="cause"),
        *(columns.counts(f"events_{one}", f"n_{one}", label(voice, one), "of") for one in result.types),
        columns.number("statistic", say("Chi-square")),
        columns.in_csv(columns.count("df", say("Degrees of freedom"))),
        columns.p("p", say("p")),
        columns.p("q", say("q")),
    )
    note = say(
        "Lost to the cause / born, and Gray's test between birth types with littermates allowed for. Causes "
        "with at least {n} losses; q allows for how many were tried ({tried}).",
        n=voice.count(LEADING_EVENTS),
        tried=voice.count(len(frame)),
    )
    title = say("Leading causes by birth type")
    yield Table("causes-birth-types", title, frame, declared, note=note, printer=voice)


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
