"""What were the newborns lost to, and at what age?"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from itertools import pairwise
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.causes import LEADING_EVENTS, UNKNOWN, Causes, answer, largest_stands
from neonatal_stats.chapters.protocol import Headline, interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_tally, squares_stand_for
from neonatal_stats.drawing.curves import draw_stacked
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.vocabulary.terms import CAUSE_BASES
from neonatal_stats.words import Method, Sentence, Verdict, Voice, judge_test
from neonatal_stats.words.comparisons import excess_over_lowest
from neonatal_stats.words.labels import label

NAME = "causes"
TITLE = "Causes"
QUESTION = "What were the {newborns} lost to, and at what age?"

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "Causes",
    "answer",
    "figures",
    "headlines",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Open where something was lost and at least one cause written down (born dead is a cause of its own)."""
    say = voice_of(season).say
    lost = season.births[season.births["died"].astype(bool)]
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


def sentences(result: Causes) -> tuple[Sentence, ...]:
    """The largest causes, what the unknown could change, what they rest on, and birth types."""
    return (
        *_largest_said(result),
        *_unknown_said(result),
        *_incidence_said(result),
        *_basis_said(result),
        *_types_said(result),
    )


def figures(result: Causes) -> tuple[Figure, ...]:
    """Incidence where ages are known; the tally always."""
    return (*_incidence_drawn(result), _ages_drawn(result))


def tables(result: Causes) -> tuple[Table, ...]:
    """Causes and ages first; then what they rest on, and birth types."""
    return (_causes_table(result), _ages_table(result), _basis_table(result), *_types_table(result))


def headlines(result: Causes) -> tuple[Headline, ...]:
    """The largest cause, for the top of the page."""
    known = result.known
    if not known:
        return ()
    row = known[0]
    voice = voice_of(result)
    tied = [label(voice, other["cause"]) for other in known if other["events"] == row["events"]]
    text = f"{'; '.join(tied)}: {printing.share_of(row['events'], row['n'], row['low'], row['high'])}"
    numbers = (float(row[name]) for name in ("events", "n", "share", "low", "high"))
    name = voice.say("Largest known cause of loss")
    return (Headline("largest_cause", name, text, *numbers),)


NAMED = 3


def _largest_said(result: Causes) -> Iterator[Sentence]:
    """The largest known causes, each of all losses."""
    voice = voice_of(result)
    for row in result.known[:NAMED]:
        yield _cause_said(voice, row)


def _cause_said(voice: Voice, row: dict[Hashable, Any]) -> Sentence:
    """How many losses a cause took, of all losses; as a count alone where there are few."""
    cause, events, losses = label(voice, row["cause"]), row["events"], row["n"]
    counts = {"events": printing.count(events), "n": printing.count(losses)}
    if losses < printing.SMALL_GROUP:
        text = voice.say("{cause}: {events} of {n} losses.", cause=cause, **counts)
    else:
        share = printing.percent(events / losses)
        interval = printing.percent_range(row["low"], row["high"])
        template = "{cause}: {events} of {n} losses ({share}, {interval})."
        text = voice.say(template, cause=cause, share=share, interval=interval, **counts)
    return Sentence(text[:1].upper() + text[1:], deaths=float(events))


def _unknown_said(result: Causes) -> Iterator[Sentence]:
    """How many losses have no known cause, and whether that could change which cause is the largest."""
    unknown = result.by_cause[result.by_cause["cause"].astype(str) == UNKNOWN]
    if unknown.empty:
        return
    row, known, voice = unknown.iloc[0], result.known, voice_of(result)
    counts, largest = printing.counts(int(row["events"]), int(row["n"])), label(voice, known[0]["cause"])
    runner_up = known[1]["events"] if len(known) > 1 else 0
    if largest_stands(known[0]["events"], runner_up, row["events"]):
        text = "No cause is known for {counts} losses; even if all were of one other cause, {largest} would lead."
        yield Sentence(voice.say(text, counts=counts, largest=largest))
        return
    text = (
        "No cause is known for {counts} losses: enough that another cause than {largest} could be the "
        "largest."
    )
    yield Sentence(voice.say(text, counts=counts, largest=largest), role="cannot say")


def _causes_table(result: Causes) -> Table:
    voice = voice_of(result)
    say = voice.say
    interval = interval_heading(voice, result.settings.level)
    frame = _named(result, result.by_cause)
    pairs = zip(frame["at_end_low"], frame["at_end_high"], strict=True)
    frame = frame.assign(at_end_range=[printing.percent_range(low, high) for low, high in pairs])
    headings = {
        "name": say("Cause"),
        "events": say("Losses"),
        "n": say("Of all losses"),
        "share": say("Share of losses"),
        "interval": interval,
        "highest": say("Share were all unknown of this cause"),
    }
    formats = {"events": "count", "n": "count", "share": "share", "highest": "share", "at_end": "share"}
    note = say("One cause a loss. Shares of a known cause lie between the two columns of shares.")
    if not result.incidence.empty:
        headings["at_end"] = say("Share of all born, by {age}", age=printing.age(result.end_h))
        headings["at_end_range"] = say("{interval} of all born", interval=interval)
    return Table("causes-losses", say("Losses by cause"), frame, headings, formats, note)


def _named(result: Causes, frame: pd.DataFrame) -> pd.DataFrame:
    """The causes as printed, in a column of their own."""
    return frame.assign(name=[label(voice_of(result), cause) for cause in frame["cause"]])


def _incidence_said(result: Causes) -> Iterator[Sentence]:
    """Of all born, how many had been lost to the largest cause by the last age watched."""
    row = result.known[0]
    if result.incidence.empty or row["n"] < printing.SMALL_GROUP:
        return
    text = "By {age}, {share} ({interval}) of all {newborns} born had been lost to {cause}."
    voice = voice_of(result)
    yield Sentence(
        voice.say(
            text,
            age=printing.age(result.end_h),
            share=printing.percent(row["at_end"]),
            interval=printing.percent_range(row["at_end_low"], row["at_end_high"]),
            cause=label(voice, row["cause"]),
        )
    )


def _incidence_drawn(result: Causes) -> Iterator[Figure]:
    """Shares of all born lost to each cause against age, stacked; nothing where too few ages are known."""
    if result.incidence.empty:
        return
    voice = voice_of(result)
    say, curve = voice.say, result.incidence
    layers = [(label(voice, cause), curve[curve["cause"] == cause]) for cause in result.causes]
    told = "; ".join(f"{name} {printing.percent(frame['share'].iloc[-1])}" for name, frame in layers)
    alt = say("Share of {newborns} born lost to each cause by age, stacked. At {end}: {told}.",
              end=printing.age(result.end_h), told=told)  # fmt: skip
    yield draw_stacked(
        layers,
        follow_up_h=result.end_h,
        marks_h=[hour for hour in result.settings.windows_h.values() if hour < result.end_h],
        printer=voice,
        name="causes-incidence",
        title=say("Lost to each cause, by age, the causes stacked"),
        alt=alt,
        axis=say("lost, % of {newborns} born"),
        age_axes=(say("age, hours"), say("age, days")),
        at_risk=say("still watched"),
    )


def _ages_drawn(result: Causes) -> Figure:
    """Losses counted by cause and age window; the column of unknown ages only where there are any."""
    voice = voice_of(result)
    say = voice.say
    counts = _wide(result)
    if not counts.iloc[:, -1].any():
        counts = counts.iloc[:, :-1]
    rows = [label(voice, cause) for cause in result.causes]
    told = "; ".join(f"{row} {printing.count(n)}" for row, n in zip(rows, counts.sum(axis=1), strict=True))
    each = squares_stand_for(int(counts.to_numpy().max()))
    return draw_tally(
        counts,
        rows=rows,
        columns=_window_names(result)[: counts.shape[1]],
        printer=voice,
        name="causes-ages",
        title=say("Causes by age at loss"),
        alt=say("Losses counted by cause and age. All ages together: {told}.", told=told),
        axis=say("age at loss"),
        one_square=say("one square: {n} {newborns} lost", n=printing.count(each))
        if each > 1
        else say("one square: one {newborn} lost"),
    )


def _ages_table(result: Causes) -> Table:
    """The same counts in numbers, with their sums."""
    say, names = voice_of(result).say, _window_names(result)
    wide = _wide(result)
    columns = [f"window_{place}" for place in range(wide.shape[1])]
    frame = wide.set_axis(columns, axis=1).reset_index()
    frame = _named(result, frame).assign(all=wide.sum(axis=1).to_numpy())
    total = {name: int(frame[name].sum()) for name in (*columns, "all")}
    frame = pd.concat([frame, pd.DataFrame([{"name": say("all causes"), **total}])], ignore_index=True)
    used = [(column, name) for column, name in zip(columns, names, strict=True) if total[column]]
    headings = {"name": say("Cause"), **dict(used), "all": say("All ages")}
    formats = dict.fromkeys((*columns, "all"), "count")
    note = say(
        "A span takes in its start and not its end; the last takes in both. Spans without a loss are left out."
    )
    return Table("causes-ages", say("Losses by cause and age"), frame, headings, formats, note)


def _wide(result: Causes) -> pd.DataFrame:
    """Losses counted, a row a cause and a column an age window, in the order of `_window_names`."""
    wide = result.by_age.pivot_table(index="cause", columns="window", values="events", sort=False)
    return wide.loc[result.causes, sorted(wide.columns)].astype(int)


def _window_names(result: Causes) -> list[str]:
    """Born dead, the age windows, and an unknown age, as printed."""
    spans = [printing.age_span(start, end) for start, end in pairwise(result.edges_h)]
    voice = voice_of(result)
    return [voice.say("born dead"), *spans, voice.say("age not known")]


def _basis_said(result: Causes) -> Iterator[Sentence]:
    """How many losses rest on a post-mortem examination, and what to write down where nothing was."""
    basis, n = result.by_basis, int(result.by_basis["n"].sum())
    opened = int(basis["post-mortem"].sum())
    text = "The cause rests on a post-mortem examination in {opened} of {n} losses."
    voice = voice_of(result)
    yield Sentence(voice.say(text, opened=printing.count(opened), n=printing.count(n)))
    if int(basis["not given"].sum()) == n:
        text = "Write down what each cause rests on (post-mortem, vet's opinion, keeper's opinion)."
        yield Sentence(voice.say(text), role="record next")


def _basis_table(result: Causes) -> Table:
    voice = voice_of(result)
    say = voice.say
    columns = [*CAUSE_BASES, "not given"]
    frame = _named(result, result.by_basis)
    total = {name: int(frame[name].sum()) for name in (*columns, "n")}
    frame = pd.concat([frame, pd.DataFrame([{"name": say("all causes"), **total}])], ignore_index=True)
    headings = {"name": say("Cause"), **{basis: label(voice, basis) for basis in CAUSE_BASES}}
    headings |= {"not given": say("not given"), "n": say("All")}
    formats = dict.fromkeys((*columns, "n"), "count")
    return Table("causes-basis", say("What the cause rests on"), frame, headings, formats)


TYPES = {
    Verdict.CLEAR: "Losses to {cause} differ between birth types by more than chance explains: {told} (q {q}).",
    Verdict.LEANING: "Losses to {cause} look different between birth types, but chance is not ruled out: {told} "
    "(q {q}).",
    Verdict.NO_CLEAR: "No clear difference between birth types in losses to {cause}: {told} (q {q}).",
    Verdict.TOO_FEW: "Too few to say whether birth types differ in losses to {cause}: {told}.",
}


def _types_said(result: Causes) -> Iterator[Sentence]:
    """Whether birth types differ in each leading cause, by a test that allows for how many causes were tried."""
    voice, settings = voice_of(result), result.settings
    for row in result.by_type.to_dict("records"):
        verdict = judge_test(
            row["q"],
            level=settings.level,
            events=row["events"],
            smallest_group=row["smallest"],
            minimum_group=settings.minimum_group,
        )
        told = "; ".join(
            f"{label(voice, name)} {printing.count(events)}/{printing.count(n)}"
            for name, (events, n) in row["told"].items()
        )
        cause, q = label(voice, row["cause"]), printing.p_value(row["q"])
        text = voice.say(TYPES[verdict], cause=cause, told=told, q=q)
        yield Sentence(text, verdict, excess_over_lowest(row["told"].values()))


def _types_table(result: Causes) -> Iterator[Table]:
    if result.by_type.empty:
        return
    voice = voice_of(result)
    say, frame = voice.say, _named(result, result.by_type)
    types = list(frame["told"].iloc[0])
    for name in types:
        frame[name] = [
            f"{printing.count(told[name][0])}/{printing.count(told[name][1])}" for told in frame["told"]
        ]
    headings = {"name": say("Cause"), **{name: label(voice, name) for name in types}}
    headings |= {"statistic": say("Chi-square"), "p": say("p"), "q": say("q")}
    formats = {"statistic": "number", "p": "p", "q": "p"}
    note = say(
        "Lost to the cause / born, and Gray's test between birth types with littermates allowed for. Causes "
        "with at least {n} losses; q allows for how many were tried ({tried}).",
        n=printing.count(LEADING_EVENTS),
        tried=printing.count(len(frame)),
    )
    yield Table("causes-birth-types", say("Leading causes by birth type"), frame, headings, formats, note)


def method(result: Causes) -> Method:
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
                "littermates allowed for, and q-values of Benjamini and Hochberg over the causes tried.",
                n=printing.count(LEADING_EVENTS),
            ),
            say(
                "Unknown: the highest share of a cause is what it would be if every unknown loss were of it."
            ),
        ),
        settings=(
            say("Causes: {causes}.", causes=", ".join(label(voice, cause) for cause in settings.causes)),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
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
