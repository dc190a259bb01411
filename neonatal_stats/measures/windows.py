"""The windows in which losses are counted, and the ages that they cover."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.measures.occurrence import rates
from neonatal_stats.season.settings import Settings

END = "end"


def window_columns(settings: Settings) -> dict[str, str]:
    """The yes-no column of each window, by the window's name; the last is "end", the end of follow-up.

    A newborn that left alive before a window's end, or died at an unknown age, is missing there: neither lost
    nor not lost.
    """
    columns = {name: f"lost_by_{name.replace(' ', '_')}" for name in settings.windows_h}
    return columns | {END: "lost"}


def window_ends(settings: Settings) -> dict[str, float]:
    """The hour at which each window ends; the last is the end of follow-up."""
    return {**settings.windows_h, END: settings.follow_up_h}


def losses_by_window(births: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Share lost by the end of each window, of all born and of those born alive.

    Returns
    -------
    ``rates`` frame with the columns out_of ("born", "born alive") and window, and left_out: newborns that
    left alive before the window's end or died at an unknown age.
    """
    parts = []
    alive = births[~births["stillborn"].astype(bool)]
    for out_of, newborns in (("born", births), ("born alive", alive)):
        for window, column in window_columns(settings).items():
            counted = rates(newborns, (), column, level=settings.level)
            left_out = int(newborns[column].isna().sum())
            parts.append(counted.assign(out_of=out_of, window=window, left_out=left_out))
    whole = pd.concat(parts, ignore_index=True)
    order = list(window_columns(settings))
    return whole.assign(
        out_of=pd.Categorical(whole["out_of"], ["born", "born alive"], ordered=True),
        window=pd.Categorical(whole["window"], order, ordered=True),
    )


def age_edges_h(settings: Settings) -> tuple[float, ...]:
    """The edges of the age windows of the life table, in hours: birth, each window's end, weeks, the end."""
    steps = [0.0, 12.0, 24.0, 72.0, *settings.windows_h.values(), 336.0]
    inside = {step for step in steps if step < settings.follow_up_h}
    return (*sorted(inside), settings.follow_up_h)
