"""The flow with its printed words: the name of each step, and what went there."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import pandas as pd

from neonatal_stats.chapters.losses.result import Losses
from neonatal_stats.measures.windows import END
from neonatal_stats.tables import printing
from neonatal_stats.words import Voice
from neonatal_stats.words.windows import window_label

STEPS = {
    "put to the male": "put to the male",
    "gave birth": "gave birth",
    "with a newborn alive or sold alive": "with a {newborn} not lost",
    "scanned": "scanned",
    "born": "born",
    "born alive": "born alive",
}
WENT = {
    "scanned": "not scanned: {lost}",
    "gave birth": "no birth recorded: {lost}",
    "with a newborn alive or sold alive": "lost every {newborn}: {lost}",
    "born": "scanned but not born: {lost}",
    "born alive": "born dead: {lost}",
}


def flow_words(result: Losses) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The flow of dams and of newborns with label and went."""
    dams, newborns = result.flow.dams, result.flow.newborns
    return _worded(result, dams), _worded(result, newborns)


def headings(result: Losses) -> tuple[str, str]:
    """What stands over the two flows."""
    say = result.voice.say
    return say("{dams}").capitalize(), say("{newborns}").capitalize()


def _worded(result: Losses, steps: pd.DataFrame) -> pd.DataFrame:
    labels = [_label(result, str(stage)) for stage in steps["stage"]]
    went = [_went(result.voice, row) for row in steps.to_dict("records")]
    return steps.assign(label=labels, went=went)


def _label(result: Losses, stage: str) -> str:
    if stage in STEPS:
        return result.voice.say(STEPS[stage])
    window = window_label(stage, result.end_h)
    if stage == END:
        return result.voice.say("alive at {window} or when last seen", window=window)
    return result.voice.say("alive at {window}", window=window)


def _went(voice: Voice, row: dict[Hashable, Any]) -> str:
    """What went at a step; nothing where nothing did."""
    stage = str(row["stage"])
    lost, left, unknown = row["lost"], row["left"], row["age_unknown"]
    parts = []
    if lost < 0:
        parts.append(voice.say("{more} more than before", more=printing.count(-lost)))
    if lost > 0:
        parts.append(voice.say(WENT.get(stage, "lost: {lost}"), lost=printing.count(lost)))
    if left:
        parts.append(voice.say("left alive or out of sight: {left}", left=printing.count(left)))
    if unknown:
        parts.append(voice.say("lost at an unknown age: {lost}", lost=printing.count(unknown)))
    return "; ".join(parts)
