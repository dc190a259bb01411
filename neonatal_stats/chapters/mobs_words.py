"""The words of the chapter on mobs: stages, what went between them, classes, and numbers in their words."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.mobs import Mobs
from neonatal_stats.season.following.mobs import WHOLE
from neonatal_stats.words import Voice, voice_of

STAGES_TOLD = {
    "joined": "{joined}",
    "scanned": "scanned",
    "in young": "in young",
    "alive": "alive at {weaning}",
    "foetuses": "{newborns} scanned",
    "born": "born",
    "born alive": "born alive",
    "marked": "at {marking}",
    "weaned": "at {weaning}",
}
"""Each stage, as it stands beside its number."""
PLACES = {
    "foetuses": "scanning",
    "born": "birth",
    "born alive": "birth",
    "marked": "{marking}",
    "weaned": "{weaning}",
}
BETWEEN = {
    ("foetuses", "born"): "between scanning and birth",
    ("foetuses", "born alive"): "between scanning and birth",
    ("foetuses", "marked"): "between scanning and {marking}",
    ("foetuses", "weaned"): "between scanning and {weaning}",
    ("born", "born alive"): "at birth, born dead",
    ("born", "marked"): "between birth and {marking}",
    ("born", "weaned"): "between birth and {weaning}",
    ("born alive", "marked"): "between birth and {marking}",
    ("born alive", "weaned"): "between birth and {weaning}",
    ("marked", "weaned"): "between {marking} and {weaning}",
}
"""What lies between two stages that follow one another."""
SHARES_TOLD = {
    "dry": "{Dams} scanned and not in young",
    "dams died": "{Dams} that died, of those {joined}",
    "foetuses to born": "Lost between scanning and birth",
    "born dead": "Born dead, of those born",
    "born to marked": "Lost between birth and {marking}",
    "alive to marked": "Lost between birth and {marking}, of those born alive",
    "foetuses to marked": "Lost between scanning and {marking}",
    "marked to weaned": "Lost between {marking} and {weaning}",
    "foetuses to weaned": "Lost between scanning and {weaning}",
}
FOR_EACH = {
    ("foetuses", "scanned"): "Scanned, per {per} {dams} scanned",
    ("foetuses", "joined"): "Scanned, per {per} {dams} {joined}",
    ("born", "joined"): "Born, per {per} {dams} {joined}",
    ("marked", "joined"): "At {marking}, per {per} {dams} {joined}",
    ("weaned", "joined"): "At {weaning}, per {per} {dams} {joined}",
}
CLASSES = {"single": "singles", "twin": "twins", "triplet": "triplets", "twin or more": "twins and more"}
Row = Mapping[Hashable, Any] | pd.Series


def share_told(voice: Voice, row: Row) -> str:
    """Counts, share and interval; without an interval where there is none."""
    if math.isnan(row["low"]):
        return voice.counts(row["events"], row["n"])
    return voice.share_of(row["events"], row["n"], row["low"], row["high"])


def each_told(voice: Voice, row: Row, per: int) -> str:
    """So many per so many, with its interval where there is one."""
    each = voice.number(per * row["each"], 0)
    if math.isnan(row["low"]):
        return each
    low, high = (voice.number(per * row[end], 0) for end in ("low", "high"))
    return voice.say("{each} ({low} to {high})", each=each, low=low, high=high)


def by_then(result: Mobs) -> str:
    """The later of the two counts that mobs are compared by."""
    return voice_of(result).say(PLACES[result.kept])


def mob_named(result: Mobs, row: Row) -> str:
    """A mob's name, with its farm where the season's mobs are of several."""
    voice = voice_of(result)
    name = voice.say("the whole {herd}") if row["mob"] == WHOLE else str(row["mob"])
    return f"{row['farm']}: {name}" if len(set(result.each["farm"])) > 1 else name
