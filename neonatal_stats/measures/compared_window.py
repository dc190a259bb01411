"""The window in which seasons, farms and groups are compared: the longest that all of them were watched through."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.measures.windows import END, UNKNOWN_AGES, deaths_without_age, not_watched, window_columns
from neonatal_stats.season.settings import Settings

UNWATCHED = 0.10
"""Share of the newborns of a season (or farm) that may have left a window's view before it is not compared."""


@dataclass(frozen=True)
class Window:
    """A window of loss: its name ("end" for the end of follow-up), its yes-no column, its end in hours."""

    name: str
    column: str
    end_h: float
    shortened: bool


def compared_window(births: pd.DataFrame, settings: Settings, by: str = "season") -> Window:
    """The longest window that at least nine in ten newborns of every season (or farm) were watched through.

    Falls back to the whole follow-up where ages are not known (died yes or no, without a time), and to the
    shortest window where none was watched through.
    """
    columns = window_columns(settings)
    ends = {**settings.windows_h, END: settings.follow_up_h}
    whole = Window(END, columns[END], settings.follow_up_h, False)
    dead = int(births["died"].sum())
    dated = births.loc[~births["died"].astype(bool), "age_h"].notna().any() or dead == 0
    if not dated or deaths_without_age(births) > UNKNOWN_AGES * dead:
        return whole
    longest_first = sorted(ends, key=lambda name: -ends[name])
    for name in longest_first:
        gone = not_watched(births, ends[name]).groupby(births[by].astype(str)).mean()
        if (gone <= UNWATCHED).all():
            return Window(name, columns[name], ends[name], name != END)
    name = longest_first[-1]
    return Window(name, columns[name], ends[name], name != END)


def not_known_in(births: pd.DataFrame, window: Window) -> tuple[tuple[str, int], ...]:
    """The newborns that `known_in` leaves out, with the reason; empty where there are none."""
    n = int(births[window.column].isna().sum())
    return (("left alive before the window's end", n),) if n else ()


def known_in(births: pd.DataFrame, window: Window) -> pd.DataFrame:
    """Newborns of which it is known whether they were lost in the window, with a plain yes-no `event`."""
    known = births[births[window.column].notna()]
    return known.assign(event=known[window.column].astype(bool))
