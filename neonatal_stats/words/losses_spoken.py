"""Losses by window in words and as a table (the simple share, or the curve's where some left before the window's end);
those alive at an age; and the causes stacked against age.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable
from typing import Any

import pandas as pd

from neonatal_stats.measures.windows import END
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.words.names import label, window_label
from neonatal_stats.words.voice import Voice, joined

Row = dict[Hashable, Any]
SHARES = {"share": "", "low": "_low", "high": "_high"}
"""What is spoken of a window, and how the curve's columns end that hold it."""


def lost_of(voice: Voice, row: Row) -> str:
    """The simple share with its counts and interval."""
    return voice.share_of(row["events"], row["n"], row["low"], row["high"])


def curve_speaks(row: Row) -> bool:
    """Did any leave before the window's end, so that the simple share counts the dead but not all of the living?

    In the last window, which counts leavers as not lost, a curve below the simple share has left out losses at an
    unknown age.
    """
    known = row["n"] >= SMALL_GROUP and not math.isnan(row["curve_low"])
    return bool(row["not_watched"] and known and (row["window"] != END or row["curve"] >= row["share"]))


def by_what_speaks(born: pd.DataFrame) -> pd.DataFrame:
    """The windows with the curve's share and interval where it speaks."""
    speaks = pd.Series([curve_speaks(row) for row in born.to_dict("records")], index=born.index)
    shares = {name: born[name].mask(speaks, born[f"curve{end}"]) for name, end in SHARES.items()}
    return born.assign(**shares)


def spoken(voice: Voice, row: Row) -> str:
    """The share of a window as it stands at the top and beside a mark."""
    if not curve_speaks(row):
        return lost_of(voice, row)
    return voice.say("{share} ({interval}) by the curve", **by_curve(voice, row))


def by_curve(voice: Voice, row: Row) -> dict[str, str]:
    """The curve's share and interval, printed."""
    interval = voice.percent_range(row["curve_low"], row["curve_high"])
    return {"share": voice.percent(row["curve"]), "interval": interval}


def window_said(voice: Voice, row: Row) -> str:
    """The share by the curve where any were not watched to the window's end; else the simple share."""
    window = str(row["window"])
    if not curve_speaks(row):
        return voice.say("By {window} of age {lost} had been lost.", window=window, lost=lost_of(voice, row))
    text = (
        "By {window} of age {share} had been lost by the curve ({interval}); {left} were not watched so long."
    )
    return voice.say(text, window=window, left=voice.count(row["not_watched"]), **by_curve(voice, row))


def windows_table(
    voice: Voice, by_window: pd.DataFrame, end_h: float, *, name: str, interval: str, note: str
) -> Table:
    """Lost of all born, and of those born alive, by the end of each window: the simple share and the curve's.

    Parameters
    ----------
    interval : the heading of an interval.
    note : what is to be said under the table besides how those that left are counted.
    """
    say, frame = voice.say, by_what_speaks(by_window)
    names = {"born": say("born"), "born alive": say("born alive")}
    frame = frame.assign(
        of=[names[str(one)] for one in frame["out_of"]],
        by=[window_label(voice, window, end_h) for window in frame["window"]],
    )
    declared = (
        columns.text("of", say("Of {newborns}"), raw="out_of"),
        columns.text("by", say("Lost by"), raw="window"),
        columns.count("events", say("Lost")),
        columns.count("n", say("Counted")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval),
        columns.count("not_watched", say("Not watched so long")),
        columns.share("curve", say("Share by the curve")),
        columns.interval("curve_low", "curve_high", say("{interval} of the curve", interval=interval)),
    )
    left = say(
        "Those that left alive or went out of sight before a window closed are not counted in it; in the last window "
        "they are counted as not lost. The curve counts them until then; where any did, the share is the curve's."
    )
    return Table(
        name,
        say("Losses by window"),
        frame,
        declared,
        note=joined(filter(None, (left, note))),
        printer=voice,
    )


def alive_said(voice: Voice, born: float, row: Row) -> str:
    """Of those born alive, how many were alive at an age: a row of `measures.curves.before_ages`."""
    values = {"born": voice.count(born), "age": voice.age(row["age_h"])}
    if not row["lost"]:
        return voice.say("Of {born} {newborns} born alive none is known to have died by {age}.", **values)
    text = (
        "Of {born} {newborns} born alive, {share} ({interval}) lived to {age} by the curve; {lost} had died."
    )
    share, interval = voice.percent(row["share"]), voice.percent_range(row["low"], row["high"])
    return voice.say(text, lost=voice.count(row["lost"]), share=share, interval=interval, **values)


def causes_stacked(
    voice: Voice, curve: pd.DataFrame, causes: Iterable[str], settings: Settings, end_h: float
) -> dict[str, Any]:
    """What `drawing.curves.draw_incidence` takes: all born lost to each cause against age, stacked, with its words.

    ``curve`` is a ``curve`` frame with a cause, ``causes`` those drawn from the bottom up, ``end_h`` where it ends.
    """
    say = voice.say
    layers = [(cause, label(voice, cause), curve[curve["cause"] == cause]) for cause in causes]
    ends = {name: float(frame["share"].iloc[-1]) for _, name, frame in layers}
    told = "; ".join(f"{name} {voice.percent(share)}" for name, share in ends.items())
    alt = "By {end} {all} of the {newborns} born had been lost, the causes stacked: {told}."
    return {
        "layers": layers,
        "causes": settings.causes,
        "follow_up_h": end_h,
        "marks_h": [hour for hour in settings.windows_h.values() if hour < end_h],
        "printer": voice,
        "title": say("Lost to each cause, by age, the causes stacked"),
        "alt": say(alt, end=voice.age(end_h), all=voice.percent(sum(ends.values())), told=told),
        "axis": say("lost, % of {newborns} born"),
        "age_axes": (say("age, hours"), say("age, days")),
        "at_risk": say("still watched"),
    }
