"""The tables of the groups known at birth."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.birth_type.result import BirthType
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.tables import Table, printing
from neonatal_stats.words.labels import factor, label

RATES = {"events": "count", "n": "count", "share": "share"}


def tables(result: BirthType) -> tuple[Table, ...]:
    """Losses by group and the comparisons first; then birth type x delivery, and weight."""
    compared = result.groups["versus"].notna().any()
    comparisons = (_comparisons(result),) if compared else ()
    return (_groups(result), *comparisons, *_crossed(result), *_weight(result))


def _rates_headings(result: BirthType) -> dict[str, str]:
    say = result.voice.say
    interval = interval_heading(result.voice, result.settings.level)
    return {"events": say("Lost"), "n": say("Born"), "share": say("Share"), "interval": interval}


def _named(result: BirthType) -> pd.DataFrame:
    frame = result.groups
    return frame.assign(
        by=[factor(result.voice, one) for one in frame["factor"]],
        name=[label(result.voice, one) for one in frame["group"]],
        against=[label(result.voice, one) if isinstance(one, str) else "" for one in frame["versus"]],
    )


def _groups(result: BirthType) -> Table:
    say = result.voice.say
    headings = {"by": say("By"), "name": say("Group"), **_rates_headings(result)}
    lacking = "; ".join(
        f"{factor(result.voice, name)} {printing.count(n)}" for name, n in result.not_recorded.items() if n
    )
    note = say("{newborns} for which it was not recorded: {lacking}.", lacking=lacking) if lacking else ""
    title = say("Losses by what was known at birth, to {end}", end=printing.age(result.end_h))
    return Table("birth_type-groups", title, _named(result), headings, RATES, note)


def _comparisons(result: BirthType) -> Table:
    say = result.voice.say
    interval = interval_heading(result.voice, result.settings.level)
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


def _crossed(result: BirthType) -> Iterator[Table]:
    if result.crossed.empty:
        return
    say, frame = result.voice.say, result.crossed
    frame = frame.assign(
        type=[label(result.voice, one) for one in frame["birth_type"]],
        how=[label(result.voice, one) for one in frame["delivery"]],
    )
    headings = {"type": say("Birth type"), "how": say("Delivery"), **_rates_headings(result)}
    yield Table("birth_type-delivery", say("Losses by birth type and delivery"), frame, headings, RATES)


def _weight(result: BirthType) -> Iterator[Table]:
    if result.weight is None:
        return
    say = result.voice.say
    headings = {"value": say("Birth weight (kg)"), "share": say("Lost, by the smooth curve")}
    headings["interval"] = interval_heading(result.voice, result.settings.level)
    note = say(
        "Weights below which 5, 25, 50, 75 and 95 % of {newborns} lie. Does loss go with weight? p {p}.",
        p=printing.p_value(result.weight.p),
    )
    formats = {"value": "number", "share": "share"}
    yield Table(
        "birth_type-weight", say("Loss along birth weight"), result.weight.read, headings, formats, note
    )
