"""Farms in the order of what a visit may buy, in words: who lost more than the others lead one to expect, and whether
their order says anything."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.rates import each_row
from neonatal_stats.words.evidence import Sentence
from neonatal_stats.words.voice import Voice

LOST_MORE = (
    "{farm} lost more than the other farms lead one to expect: {counts}, {expected} expected of its kinds of birth. "
    "Drawn in for chance that is {excess} {newborns} more ({interval})."
)
NONE_NAMED = "No farm clearly lost more than the other farms lead one to expect."
NO_SPREAD = (
    "The farms differ by no more than chance would have it: their order says nothing of where to go first."
)
IN_ORDER = (
    "The farms stand in the order of what a visit may buy; of two neighbours either may be the worse one."
)
TWO_FARMS = "Of fewer than four farms nobody can say how far farms differ by themselves, so none is named."
FEWEST_FARMS = 4
"""The farm itself and three others, from which a variance between them and its uncertainty can be had."""


def named_said(voice: Voice, farms: pd.DataFrame, name: str, *, spread: bool) -> Iterator[Sentence]:
    """The farms that are named, or that none is; then whether the order says anything.

    Parameters
    ----------
    farms : those compared, in order, with named (yes-no).
    name : the column that a farm is called by.
    """
    named = farms[farms["named"].astype(bool)]
    for row in named.to_dict("records"):
        yield Sentence(lost_more(voice, row, name), Verdict.CLEAR, max(row["excess"], 0.0), lead=True)
    if len(farms) < 2:
        return
    if len(farms) < FEWEST_FARMS:
        yield Sentence(voice.say(TWO_FARMS), Verdict.TOO_FEW, lead=True)
    elif named.empty:
        yield Sentence(voice.say(NONE_NAMED), Verdict.NO_CLEAR, lead=True)
    yield Sentence(voice.say(IN_ORDER if spread else NO_SPREAD), lead=True)


def lost_more(voice: Voice, row: Any, name: str) -> str:
    """That a farm lost more than expected, and by how many."""
    return voice.say(
        LOST_MORE,
        farm=row[name],
        counts=voice.counts(row["events"], row["n"]),
        expected=voice.number(row["expected"], 0),
        excess=voice.number(row["excess"], 0),
        interval=voice.span(voice.number(row["excess_low"], 0), voice.number(row["excess_high"], 0)),
    )


def as_ranked(voice: Voice, farms: pd.DataFrame, name: str) -> pd.DataFrame:
    """The farms as `drawing.dots.draw_ranked` takes them."""
    return farms.assign(
        label=farms[name],
        clear=farms["named"].astype(bool),
        depth=0,
        counts=[voice.part_of(row.events, row.n) for row in each_row(farms)],
        told=[excess_told(voice, row) for row in each_row(farms)],
    )


def excess_told(voice: Voice, row: Any) -> str:
    """The excess of a farm with its interval."""
    return voice.say(
        "{excess} ({interval})",
        excess=voice.number(row.excess, 1),
        interval=voice.span(voice.number(row.excess_low, 1), voice.number(row.excess_high, 1)),
    )


def ranked_in_words(voice: Voice, farms: pd.DataFrame, name: str, all_farms: int) -> str:
    """The picture in words: the first of them."""
    rows = (
        voice.say("{farm} {excess}", farm=getattr(row, name), excess=excess_told(voice, row))
        for row in each_row(farms.head(5))
    )
    return voice.say(
        "{shown} of {farms} farms in the order of what a visit may buy. The first: {told}.",
        shown=voice.count(len(farms)),
        farms=voice.count(all_farms),
        told="; ".join(rows),
    )
