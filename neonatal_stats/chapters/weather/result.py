"""Loss of lambs by the chill they met in their first hours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.protocol import voice_of
from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.results import Estimate
from neonatal_stats.estimates.smooth import SmoothShare, smooth_share
from neonatal_stats.measures.chill import EDGES, chill_class, chill_met
from neonatal_stats.measures.compared_window import Window, compared_window
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.occurrence import rates
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Voice
from neonatal_stats.words.weather import class_label

HOURS = (6.0, 24.0, 72.0)
MAIN_H = 72.0
COLDEST = 0.8  # quantile of the chill met from which newborns are held against the others


@dataclass(frozen=True, eq=False)
class Weather(Shown):
    """Loss against chill.

    ``newborns`` those counted, with event and the chill met over 6, 24 and 72 hours; ``classes`` a ``rates`` frame
    by chill class over the first 72 hours; ``against`` the risk ratio of the coldest fifth against the others,
    per window of hours, cut at ``edge``; ``smooth`` the smooth over the first 72 hours.
    """

    newborns: pd.DataFrame
    classes: pd.DataFrame
    against: pd.DataFrame
    smooth: SmoothShare
    outdoors_only: bool
    window: Window
    counted: Counted
    settings: Settings
    voice: Voice

    @property
    def labelled(self) -> pd.DataFrame:
        """The classes, each with its printed `label`."""
        places = self.classes["chill_class"].cat.codes
        return self.classes.assign(label=[class_label(self.voice, place, EDGES) for place in places])

    @property
    def smooth_at(self) -> pd.DataFrame:
        """Five points along the smooth: value, share, low, high; empty where there is no smooth."""
        smooth = self.smooth
        curve = pd.DataFrame(
            {"value": smooth.at, "share": smooth.share, "low": smooth.low, "high": smooth.high}
        )
        curve = curve.dropna(ignore_index=True)
        return curve.iloc[np.unique(np.linspace(0, len(curve) - 1, 5).astype(int))] if len(curve) else curve


def answer(season: Season) -> Weather:
    """Count losses by the chill met."""
    births, settings = season.births, season.settings
    window = _window(births, settings)
    known, counted, outdoors_only = _counted(season, window)
    met = {f"chill_{hours:.0f}_h": chill_met(known, season.weather, hours) for hours in HOURS}
    known = known.assign(**met)
    without = int(known[f"chill_{MAIN_H:.0f}_h"].isna().sum())
    unrecorded = (("no weather recorded in the first 72 h", without),) if without else ()
    known = known[known[f"chill_{MAIN_H:.0f}_h"].notna()].reset_index(drop=True)
    day = known["farm"].astype(str) + known["born"].dt.normalize().astype(str)
    known = known.assign(
        born_day=pd.factorize(day, sort=True)[0], chill_class=chill_class(known["chill_72_h"])
    )
    return Weather(
        newborns=known,
        classes=rates(known, ("chill_class",), "event", level=settings.level, cluster="born_day"),
        against=_against(known, settings),
        smooth=_smooth(known, settings),
        outdoors_only=outdoors_only,
        window=window,
        counted=Counted(len(known), left_out=(*counted, *unrecorded)),
        settings=settings,
        voice=voice_of(season),
    )


def _window(births: pd.DataFrame, settings: Settings) -> Window:
    """The last of the early windows where it can be read, since weather at birth acts early; else the whole."""
    found = compared_window(births, settings)
    if found.name == "end" and settings.windows_h:
        name = max(settings.windows_h, key=lambda one: settings.windows_h[one])
        column = f"lost_by_{name.replace(' ', '_')}"
        if births[column].notna().mean() > 0.9:
            return Window(name, column, settings.windows_h[name], True)
    return found


def _counted(season: Season, window: Window) -> tuple[pd.DataFrame, tuple[tuple[str, int], ...], bool]:
    """Lambs born alive, outdoors where the place was recorded, whose fate in the window is known."""
    births = season.births
    sheep = births["species"].astype(object).eq("sheep")
    alive = ~births["stillborn"].astype(bool)
    outdoors = season.has("birth_place") and births["birth_place"].eq("outdoors").any()
    outside = births["birth_place"].eq("outdoors") if outdoors else pd.Series(True, index=births.index)
    fate = births[window.column].notna()
    kept = sheep & alive & outside & fate
    left_out = (
        ("not sheep", int((~sheep).sum())),
        ("stillborn", int((sheep & ~alive).sum())),
        ("not born outdoors, or place not known", int((sheep & alive & ~outside).sum())),
        ("fate in the window not known", int((sheep & alive & outside & ~fate).sum())),
    )
    known = births[kept].assign(event=births.loc[kept, window.column].astype(bool))
    return known, tuple(row for row in left_out if row[1]), bool(outdoors)


def _against(known: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """The coldest fifth against the others, for each window of hours."""
    rows = []
    for hours in HOURS:
        chill = known[f"chill_{hours:.0f}_h"]
        here = known[chill.notna()]
        met = chill[chill.notna()].to_numpy(float)
        edge = float(np.floor(np.quantile(met, COLDEST) / 10) * 10) if len(met) else np.nan
        cold = met >= edge
        lost = here["event"].to_numpy(bool)
        found = Estimate(np.nan, np.nan, np.nan, np.nan, "", "")
        if cold.any() and (~cold).any():
            found = compare(lost, cold, cluster=here["born_day"].to_numpy(), level=settings.level)
        counts = (int(lost[cold].sum()), int(cold.sum()), int(lost[~cold].sum()), int((~cold).sum()))
        rows.append((hours, edge, *counts, found.estimate, found.low, found.high, found.p))
    columns = ["hours", "edge", "events", "n", "events_versus", "n_versus", "risk_ratio", "low", "high", "p"]
    return pd.DataFrame(rows, columns=columns)


def _smooth(known: pd.DataFrame, settings: Settings) -> SmoothShare:
    chill = known["chill_72_h"].to_numpy(float)
    at = (
        np.linspace(float(np.quantile(chill, 0.02)), float(np.quantile(chill, 0.98)), 60)
        if len(chill)
        else np.array([1000.0])
    )
    return smooth_share(
        chill,
        known["event"].to_numpy(int),
        cluster=known["born_day"].to_numpy(),
        at=at,
        level=settings.level,
        df=2,
    )
