"""Newborns reared per hundred dams joined: the number by which the trade compares seasons and farms."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.losses import Losses
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Sentence, voice_of

PER = 100


def joined_said(result: Losses) -> Iterator[Sentence]:
    """Reared per hundred dams joined, with its interval; only where those joined were counted."""
    found, voice = result.joined, voice_of(result)
    if found is None:
        return
    each, low, high = (voice.number(PER * one, 0) for one in (found.each, found.low, found.high))
    text = voice.say(
        "Reared per {per} {dams} {joined}: {each} ({low} to {high}), {reared} {newborns} of {n} {dams}.",
        per=voice.count(PER),
        each=each,
        low=low,
        high=high,
        reared=voice.count(found.reared),
        n=voice.count(found.dams),
    )
    yield Sentence(text)


def joined_table(result: Losses) -> Iterator[Table]:
    """The same in numbers."""
    found, voice = result.joined, voice_of(result)
    if found is None:
        return
    say = voice.say
    frame = pd.DataFrame([vars(found)])
    for name in ("each", "low", "high"):
        frame[name] *= PER
    declared = (
        columns.count("reared", say("{Newborns} reared")),
        columns.count("dams", say("{Dams} {joined}")),
        columns.number("each", say("Reared per {per}", per=voice.count(PER)), digits=0),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "whole number"),
    )
    note = say(
        "Reared: not lost by {end}, those that left or were last seen alive before among them; {dams} without a birth "
        "count in. The {crop} of the trade is counted later, at {marking} or {weaning}, and is no higher.",
        end=voice.age(result.end_h),
    )
    title = say("Reared per {per} {dams} {joined}", per=voice.count(PER))
    yield Table("losses-joined", title, frame, declared, note=note, printer=voice)
