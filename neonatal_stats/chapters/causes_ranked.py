"""The causes ranked: what share of all born was lost to each, and what the losses of unknown cause could change."""

from __future__ import annotations

import math
from collections.abc import Hashable
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.causes import Causes
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_causes
from neonatal_stats.drawing.colours import cause_looks
from neonatal_stats.measures.windows import UNKNOWN
from neonatal_stats.words import Voice, voice_of
from neonatal_stats.words.names import label


def ranked_drawn(result: Causes) -> Figure:
    """Share of all born lost to each cause, largest first, and what it would be were all unknown losses of it."""
    voice, causes = voice_of(result), _ranked(result)
    say, looks, rows = voice.say, cause_looks(result.settings.causes), causes.to_dict("records")
    names = [label(voice, cause) for cause in causes["cause"]]
    told = [_told(voice, result, row) for row in rows]
    return draw_causes(
        causes.assign(
            label=names,
            look=pd.Series([looks[cause] for cause in causes["cause"]], causes.index, dtype=object),
            counts=[voice.part_of(row["events"], result.born) for row in rows],
            told=told,
        ),
        printer=voice,
        name="causes-ranked",
        title=say("Lost to each cause"),
        alt=say(
            "Share of {newborns} born lost to each cause, largest first: {told}.",
            told="; ".join(f"{name}: {one}" for name, one in zip(names, told, strict=True)),
        ),
        axis=say("lost to the cause, % of {newborns} born")
        if result.incidence.empty
        else say("lost to the cause by {end}, % of {newborns} born", end=voice.age(result.end_h)),
        words=(
            interval_heading(voice, result.settings.level),
            say("were all unknown losses of this cause"),
        ),
    )


def _ranked(result: Causes) -> pd.DataFrame:
    """The causes by their share of all born, the unknown last: share, low, high, and highest, of all born too."""
    of_born = {"at_end": "share", "at_end_low": "low", "at_end_high": "high"}
    frame = result.by_cause[["cause", "events", *of_born]].rename(columns=of_born)
    frame = frame.assign(cause=frame["cause"].astype(str)).sort_values(
        "share", ascending=False, kind="stable"
    )
    unknown = frame["cause"] == UNKNOWN
    lacking = float(frame.loc[unknown, "share"].sum())
    highest = (frame["share"] + lacking).where(~unknown & (lacking > 0))
    frame = frame.assign(highest=highest)
    return pd.concat([frame[~unknown], frame[unknown]], ignore_index=True)


def _told(voice: Voice, result: Causes, row: dict[Hashable, Any]) -> str:
    """Losses to a cause of all born, their share with its interval and its bound."""
    text = "{losses} of {born} born, {share} ({interval})"
    values = {
        "losses": voice.count(row["events"]),
        "born": voice.count(result.born),
        "share": voice.percent(row["share"]),
        "interval": voice.percent_range(row["low"], row["high"]),
    }
    if math.isnan(row["highest"]):
        return voice.say(text, **values)
    text = "{losses} of {born} born, {share} ({interval}), {bound} with all unknown losses"
    return voice.say(text, bound=voice.percent(row["highest"]), **values)
