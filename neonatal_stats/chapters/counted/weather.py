"""The weather, counted: the chill that each lamb met in its first hours, and the losses that went with it."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.chill import sheep_chill_index
from neonatal_stats.estimates.smooth import SmoothShare, smooth_share
from neonatal_stats.estimates.verdict import Verdict, judge_test
from neonatal_stats.measures.contrasts import contrast_rows, counts_of, held_against
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.measures.windows import END, Window, compared_window, window_columns
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

HOURS = (6.0, 24.0, 72.0)
MAIN_H = 72.0
COLDEST = 0.8  # quantile of the chill met from which newborns are held against the others
NEEDED = ("temperature_c", "wind_m_per_s", "rain_mm")
COVERED = 2 / 3
"""Share of the hours of a window that must have a weather record."""
EDGES = (1000.0, 1100.0, 1200.0)
"""Edges of the chill classes in kJ per square metre and hour."""


@dataclass(frozen=True, eq=False)
class Weather(Shown):
    """Loss against chill.

    ``newborns`` those counted, with event and the chill met over 6, 24 and 72 hours; ``classes`` a ``rates`` frame
    by chill class over the first 72 hours; ``against`` a contrast frame of the coldest fifth against the others, one
    row a window of hours, cut at ``edge``; ``smooth`` the smooth over the first 72 hours, and whether loss goes with
    chill along it.
    """

    newborns: pd.DataFrame
    classes: pd.DataFrame
    against: pd.DataFrame
    smooth: SmoothShare
    along_smooth: Verdict
    outdoors_only: bool
    window: Window
    counted: Counted
    settings: Settings
    species: str

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
    """Count losses by the chill met.

    Counted
    -------
    Lambs born alive, outdoors where the place was recorded, whose fate in the window is known and for whose first
    72 hours the weather was recorded. The others are left out by reason; weather after birth cannot touch one born
    dead.
    """
    settings = season.settings
    window = _window(season.births, settings)
    outside, left_out, outdoors_only = _counted(season, window)
    known = _with_chill(outside, season.weather)
    without = len(outside) - len(known)
    unrecorded = (("no weather recorded in the first 72 h", without),) if without else ()
    smooth = _smooth(known, settings)
    return Weather(
        newborns=known,
        classes=rates(known, ("chill_class",), "event", level=settings.level, cluster="born_day"),
        against=_against(known, settings),
        smooth=smooth,
        along_smooth=_along(smooth, settings),
        outdoors_only=outdoors_only,
        window=window,
        counted=Counted(len(known), left_out=(*left_out, *unrecorded)),
        settings=settings,
        species=season.species,
    )


def _with_chill(lambs: pd.DataFrame, weather: pd.DataFrame) -> pd.DataFrame:
    """Those whose first 72 hours have a record, with the chill met, its class, and the day whose weather they share."""
    known = lambs.assign(**{f"chill_{hours:.0f}_h": chill_met(lambs, weather, hours) for hours in HOURS})
    known = known[known[f"chill_{MAIN_H:.0f}_h"].notna()].reset_index(drop=True)
    day = known["farm"].astype(str) + known["born"].dt.normalize().astype(str)
    return known.assign(
        born_day=pd.factorize(day, sort=True)[0], chill_class=chill_class(known[f"chill_{MAIN_H:.0f}_h"])
    )


def _along(smooth: SmoothShare, settings: Settings) -> Verdict:
    """Does loss go with chill along the whole smooth?"""
    return judge_test(
        smooth.p,
        level=settings.level,
        events=smooth.events,
        smallest_group=smooth.n,
        minimum_group=settings.minimum_group,
    )


def _window(births: pd.DataFrame, settings: Settings) -> Window:
    """The last of the early windows where it can be read, since weather at birth acts early; else the whole."""
    found = compared_window(births, settings)
    if found.name == END and settings.windows_h:
        name = max(settings.windows_h, key=lambda one: settings.windows_h[one])
        column = window_columns(settings)[name]
        if births[column].notna().mean() > 0.9:
            return Window(name, column, settings.windows_h[name], True)
    return found


def _counted(season: Season, window: Window) -> tuple[pd.DataFrame, tuple[tuple[str, int], ...], bool]:
    """Lambs born alive, outdoors where the place was recorded, whose fate in the window is known."""
    births = season.births
    sheep = births["species"].astype(object).eq("sheep")
    alive = ~births["stillborn"]
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
    rows = [_coldest(known, hours, settings.level) for hours in HOURS]
    return contrast_rows(rows, ("hours", "edge"), settings=settings)


def _coldest(known: pd.DataFrame, hours: float, level: float) -> dict[str, object]:
    """One window of hours; no estimate where all met the same chill, or the weather of nobody is known."""
    here = known[known[f"chill_{hours:.0f}_h"].notna()]
    met = here[f"chill_{hours:.0f}_h"].to_numpy(float)
    edge = float(np.floor(np.quantile(met, COLDEST) / 10) * 10) if len(met) else np.nan
    cold = met >= edge
    row: dict[str, object] = {"hours": hours, "edge": edge, "versus": "the others", "measure": "risk ratio"}
    if cold.any() and (~cold).any():
        return row | held_against(here, cold, "event", "risk ratio", level, "born_day")
    return row | counts_of(here["event"], cold) | dict.fromkeys(("estimate", "low", "high", "p"), np.nan)


def _smooth(known: pd.DataFrame, settings: Settings) -> SmoothShare:
    """Share lost along the chill of the first 72 hours, between its 2nd and 98th hundredth."""
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


def has_chill(weather: pd.DataFrame) -> bool:
    """True where temperature, wind and rain stand together in at least one record."""
    if not set(NEEDED) <= set(weather):
        return False
    return bool(weather[list(NEEDED)].notna().all(axis=1).any())


def hourly_chill(weather: pd.DataFrame) -> pd.DataFrame:
    """The index hour by hour: farm, hour (Timestamp), chill.

    Temperature and wind are of the hour (or of the day, where only days were recorded, and then the same in each
    of its hours); rain is the total of the calendar day, as the index asks.
    """
    frame = weather.dropna(subset=["at", "temperature_c", "wind_m_per_s"]).copy()
    frame["farm"] = frame["farm"].astype(object).where(frame["farm"].notna(), "") if "farm" in frame else ""
    frame["farm"] = frame["farm"].astype(str)
    frame["day"], frame["hour"] = frame["at"].dt.normalize(), frame["at"].dt.floor("h")
    frame["rain_of_day"] = frame.groupby(["farm", "day"])["rain_mm"].transform(
        lambda rain: rain.sum(min_count=1)
    )
    frame["chill"] = sheep_chill_index(
        frame["wind_m_per_s"].to_numpy(float),
        frame["temperature_c"].to_numpy(float),
        frame["rain_of_day"].to_numpy(float),
    )
    by_day = frame.groupby(["farm", "day"])["hour"].transform("size") == 1
    whole_days = frame[by_day].loc[frame.loc[by_day].index.repeat(24)]
    place = whole_days.groupby(level=0).cumcount().to_numpy()
    whole_days = whole_days.assign(hour=whole_days["day"] + pd.to_timedelta(place, unit="h"))
    hours = pd.concat([frame[~by_day], whole_days], ignore_index=True)
    return hours.groupby(["farm", "hour"])["chill"].mean().reset_index()


def chill_met(births: pd.DataFrame, weather: pd.DataFrame, hours: float) -> pd.Series:
    """Mean index over the first hours after birth, NaN where fewer than two thirds of them have a record.

    The window is the same for every newborn, whether it lived through it or not: weather does not depend on
    that. A weather record without a farm serves all farms.
    """
    met = pd.Series(np.nan, index=births.index)
    table = hourly_chill(weather)
    for farm, here in births.groupby(births["farm"].astype(str)):
        known = table[table["farm"].isin([farm, ""])]
        if known.empty or here["born"].isna().all():
            continue
        line = known.groupby("hour")["chill"].mean()
        grid = pd.date_range(line.index.min(), line.index.max(), freq="h")
        values = line.reindex(grid).to_numpy(float)
        total = np.concatenate([[0.0], np.nancumsum(values)])
        seen = np.concatenate([[0], np.cumsum(np.isfinite(values))])
        start = (here["born"].dt.floor("h") - grid[0]) / pd.Timedelta(hours=1)
        first = np.clip(start.fillna(-1).to_numpy(float), 0, len(values)).astype(int)
        last = np.clip(start.fillna(-1).to_numpy(float) + hours, 0, len(values)).astype(int)
        n = seen[last] - seen[first]
        mean = np.divide(total[last] - total[first], n, out=np.full(len(here), np.nan), where=n > 0)
        met.loc[here.index] = np.where((n >= COVERED * hours) & here["born"].notna().to_numpy(), mean, np.nan)
    return met


def chill_class(chill: pd.Series) -> pd.Series:
    """The index in four classes, cut at `EDGES`."""
    names = [
        f"under {EDGES[0]:.0f}",
        *(f"{a:.0f} to {b:.0f}" for a, b in itertools.pairwise(EDGES)),
    ]
    names.append(f"{EDGES[-1]:.0f} and over")
    return pd.cut(chill, [-np.inf, *EDGES, np.inf], labels=names, right=False)
