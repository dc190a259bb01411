"""Which share of a window is spoken: the simple one, or the curve's where some left before the window's end."""

from __future__ import annotations

import math
from collections.abc import Hashable
from typing import Any

import pandas as pd

from neonatal_stats.measures.windows import END
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.words import Voice

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
