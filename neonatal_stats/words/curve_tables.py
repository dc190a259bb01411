"""Curves as tables for other programs: every step of a figure's lines, so that a reader can redraw them."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from neonatal_stats.tables import Table, columns
from neonatal_stats.words.voice import Voice


def curve_table(
    voice: Voice, name: str, title: str, curve: pd.DataFrame, keys: Mapping[str, str], level: float
) -> Table:
    """A ``curve`` frame as a table, one row a group and age at which anybody was still watched.

    Parameters
    ----------
    name, title : of the table; it stands in a file of its own and not on the page.
    curve : age_h, at_risk, events, share, low, high and the columns of ``keys``; shares from 0 to 1.
    keys : columns that tell the groups apart, each with its heading.
    level : confidence level of low and high.
    """
    say = voice.say
    declared = (
        *(columns.key(key, heading) for key, heading in keys.items()),
        columns.age("age_h", say("Age")),
        columns.count("at_risk", say("Still watched")),
        columns.count("events", say("At this age")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", say("{level} interval", level=voice.percent(level, 0))),
    )
    watched = curve[curve["at_risk"] > 0].reset_index(drop=True)
    for key in keys:
        watched[key] = watched[key].astype(object)
    return Table(name, title, watched, declared, printer=voice)
