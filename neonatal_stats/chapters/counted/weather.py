"""The weather, counted: the chill of the hours that each lamb lived through, and the deaths that came in them.

Chill changes by the hour and a lamb meets it only while it lives. So the hours are counted, each with the chill of the
hours before it: a mean over the first three days of life would hold weather from after the death of those that died.
Seasons differ in weather and in losses for many other reasons, so hours are compared within a season and an age.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.formulas import sheep_chill_index
from neonatal_stats.estimates.proportion import proportions
from neonatal_stats.estimates.stratified import mantel_haenszel
from neonatal_stats.measures.claims import Claim, claims_of, keyed
from neonatal_stats.measures.contrasts import cells_of, contrast_rows
from neonatal_stats.measures.rates import Counted
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

LAGS_H = (6, 24, 72)
"""Over how many hours before an hour of life the chill is averaged; since birth where the lamb is younger."""
MAIN_H = 24
UNTIL_H = 168
"""Hours of life that are counted: chill at birth acts in the first days."""
AGES_H = (0, 3, 6, 12, 24, 48, 72, 120)
"""Where the ages begin within which hours are compared."""
COLDEST = 0.8  # quantile of the chill of the hours lived from which hours are held against the others
NEEDED = ("temperature_c", "wind_m_per_s", "rain_mm")
COVERED = 2 / 3
"""Share of the hours averaged over that must have a weather record."""
EDGES = (1000.0, 1100.0, 1200.0)
"""Edges of the chill classes in kJ per square metre and hour."""
GROUPS = ("seasons", "hours")
PLACED = ("answer", "earliest", "latest")
"""Deaths known only to lie between two checks stand in the middle between them; when last seen alive; when found."""


@dataclass(frozen=True, eq=False)
class Weather(Shown):
    """Deaths against chill, by the hour.

    ``against`` a keyed contrast frame of the coldest fifth of the hours lived against the others, stratified by season
    and age: ``seasons`` "this" or "all" (where there are several), ``hours`` before over which the chill was averaged,
    ``edge`` of the coldest fifth, ``lived_h`` and ``lived_versus_h`` hours lived, ``weakest`` the largest p over
    `PLACED`; events and n are deaths and the lambs that lived through such hours. ``classes`` deaths by class of the
    chill of the last `MAIN_H` hours: chill_class, events, n (days lived), share (deaths a day lived), low, high.
    ``period`` the seasons counted, ``this`` the one under review.
    """

    against: pd.DataFrame
    classes: pd.DataFrame
    outdoors_only: bool
    deaths: int
    period: tuple[str, ...]
    this: str
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Weather:
    """Count deaths by the chill of the hours before.

    Counted
    -------
    Lambs born alive, outdoors where the place was recorded, whose hours of birth and of death or last sight are known
    and for one hour of whose first week the weather was recorded. The others are left out by reason; weather after
    birth cannot touch one born dead.
    """
    settings = season.settings
    outside, left_out, outdoors_only = _counted(season)
    hours = {name: lived(outside, season.weather, name) for name in PLACED}
    known = _lambs(hours["answer"])
    unrecorded = (
        (("no weather recorded in the first week", len(outside) - known),) if known < len(outside) else ()
    )
    return Weather(
        against=_against(hours, season.seasons[-1], settings),
        classes=_classes(hours["answer"], settings),
        outdoors_only=outdoors_only,
        deaths=int(hours["answer"].loc[hours["answer"]["died"], "lambs"].sum()),
        period=tuple(sorted(hours["answer"]["season"].unique())),
        this=season.seasons[-1],
        counted=Counted(known, left_out=(*left_out, *unrecorded)),
        settings=settings,
        species=season.species,
    )


def any_lived(season: Season) -> bool:
    """Did any lamb that `answer` would count live through an hour whose weather is known?"""
    return not lived(_counted(season)[0], season.weather).empty


def claims(result: Weather) -> tuple[Claim, ...]:
    """The coldest fifth of the hours by the last `MAIN_H` against the others, this season and over all: one line."""
    return (*_claims(result, "this", (result.this,)), *_claims(result, "all", result.period))


def _claims(result: Weather, seasons: str, period: tuple[str, ...]) -> tuple[Claim, ...]:
    frame = result.against[(result.against["seasons"] == seasons) & (result.against["hours"] == MAIN_H)]
    return claims_of(
        frame,
        chapter="weather",
        family="weather",
        line="chill",
        period=period,
        settings=result.settings,
        weakest=frame["weakest"],
    )


def _counted(season: Season) -> tuple[pd.DataFrame, tuple[tuple[str, int], ...], bool]:
    """Lambs born alive, outdoors where the place was recorded, whose hours of birth and end are known."""
    births = season.births
    sheep = births["species"].astype(object).eq("sheep")
    alive = ~births["stillborn"]
    outdoors = season.has("birth_place") and births["birth_place"].eq("outdoors").any()
    outside = births["birth_place"].eq("outdoors") if outdoors else pd.Series(True, index=births.index)
    timed = births["born"].notna() & births["age_known"] & births["age_h"].notna()
    left_out = (
        ("not sheep", int((~sheep).sum())),
        ("stillborn", int((sheep & ~alive).sum())),
        ("not born outdoors, or place not known", int((sheep & alive & ~outside).sum())),
        ("hour of birth or of death not known", int((sheep & alive & outside & ~timed).sum())),
    )
    return births[sheep & alive & outside & timed], tuple(row for row in left_out if row[1]), bool(outdoors)


def lived(lambs: pd.DataFrame, weather: pd.DataFrame, placed: str = PLACED[0]) -> pd.DataFrame:
    """The hours that lambs lived through and for which the weather before is known, in their first week.

    Parameters
    ----------
    lambs : born alive, hours of birth and end known.
    placed : where a death stands that is known only to lie between two checks, one of `PLACED`.

    Returns
    -------
    One row an hour of life of lambs alike: alike (their number), lambs (how many), season, farm, born_day (whose
    weather is shared), age_h (0 for the first hour), died (in this hour, which is then their last), and chill_6_h,
    chill_24_h, chill_72_h, the mean chill of so many hours up to and with this one, since birth where that is shorter.
    Lambs of one farm, season and hour of birth that ended alike are alike, so that the rows do not grow with the flock.
    """
    alike = _alike(lambs, placed)
    n = alike["hours"].to_numpy(int)
    row = np.repeat(np.arange(len(alike)), n)
    age = np.arange(len(row)) - np.repeat(np.cumsum(n) - n, n)
    chill = _chill_before(alike, weather, row, age)
    day = alike["farm"].astype(str) + alike["born"].dt.normalize().astype(str)
    frame = pd.DataFrame(
        {
            "alike": row,
            "lambs": alike["lambs"].to_numpy(int)[row],
            "season": pd.Categorical(alike["season"]).take(row),
            "born_day": pd.factorize(day, sort=True)[0][row],
            "age_h": age,
            "died": alike["died"].to_numpy(bool)[row] & (age == n[row] - 1),
            **{f"chill_{lag}_h": chill[lag] for lag in LAGS_H},
        }
    )
    return frame[frame[f"chill_{MAIN_H}_h"].notna()].reset_index(drop=True)


def _alike(lambs: pd.DataFrame, placed: str) -> pd.DataFrame:
    """Lambs of one farm, season and hour of birth that lived as many hours and ended alike, with how many they are."""
    dead, low, high = (lambs[name].to_numpy() for name in ("died", "age_low_h", "age_h"))
    middle = {"answer": np.floor((low + high) / 2), "earliest": low, "latest": high}[placed]
    end = np.where(dead & (low < high), middle, high)
    died = dead & (end < UNTIL_H)
    keys = pd.DataFrame(
        {
            "farm": lambs["farm"].astype(str).to_numpy(dtype=object),
            "season": lambs["season"].astype(str).to_numpy(dtype=object),
            "born": lambs["born"].dt.floor("h").to_numpy(),
            "hours": np.minimum(np.where(died, end + 1, end), UNTIL_H).astype(int),
            "died": died,
        }
    )
    return keys.groupby(list(keys), sort=True).size().rename("lambs").reset_index()


def _lambs(hours: pd.DataFrame) -> int:
    """How many lambs lived through these hours."""
    return int(hours.drop_duplicates("alike")["lambs"].sum())


def _chill_before(
    alike: pd.DataFrame, weather: pd.DataFrame, row: np.ndarray, age: np.ndarray
) -> dict[int, np.ndarray]:
    """For each lag the mean chill up to and with each hour lived; NaN where too few of its hours have a record."""
    met = {lag: np.full(len(row), np.nan) for lag in LAGS_H}
    table, farm = hourly_chill(weather), alike["farm"].to_numpy(dtype=object)[row]
    born = alike["born"].to_numpy()[row]
    for name in pd.unique(farm):
        known, here = table[table["farm"].isin([name, ""])], farm == name
        if known.empty:
            continue
        line = known.groupby("hour")["chill"].mean()
        grid = pd.date_range(line.index.min(), line.index.max(), freq="h")
        values = line.reindex(grid).to_numpy(float)
        start = ((born[here] - grid[0].to_numpy()) / np.timedelta64(1, "h")).astype(int)
        for lag in LAGS_H:
            met[lag][here] = _mean_before(values, start, age[here], lag)
    return met


def _mean_before(values: np.ndarray, born: np.ndarray, age: np.ndarray, lag: int) -> np.ndarray:
    """Mean of the hours from birth, or ``lag`` hours before the end of this one, to its end."""
    total = np.concatenate([[0.0], np.nancumsum(values)])
    seen = np.concatenate([[0], np.cumsum(np.isfinite(values))])
    asked = np.minimum(age + 1, lag)
    last = np.clip(born + age + 1, 0, len(values))
    first = np.clip(born + age + 1 - asked, 0, len(values))
    n = seen[last] - seen[first]
    mean = np.divide(total[last] - total[first], n, out=np.full(len(age), np.nan), where=n > 0)
    return np.where(n >= COVERED * asked, mean, np.nan)


def _against(hours: dict[str, pd.DataFrame], this: str, settings: Settings) -> pd.DataFrame:
    """The coldest fifth of the hours against the others, this season and all, for each lag."""
    rows = []
    several = set(hours["answer"]["season"]) != {this}
    for seasons, lag in itertools.product(("this", "all") if several else ("this",), LAGS_H):
        parts = {
            name: frame[frame["season"] == this] if seasons == "this" else frame
            for name, frame in hours.items()
        }
        found = {name: _coldest(frame, lag, settings.level) for name, frame in parts.items()}
        rows.append({"seasons": seasons, **found["answer"], "weakest": _weakest(found)})
    extra = ("edge", "lived_h", "lived_versus_h", "excess", "weakest")
    return keyed(contrast_rows(rows, GROUPS, settings=settings, extra=extra), "weather")


def _weakest(found: dict[str, dict[str, object]]) -> float:
    """The largest p over where deaths between two checks are placed; 1 where the ratio turns round or has none."""
    ratios = np.array([row["estimate"] for row in found.values()], dtype=float)
    p = np.nan_to_num(np.array([row["p"] for row in found.values()], dtype=float), nan=1.0)
    return float(np.where((ratios > 1) == (ratios[0] > 1), p, 1.0).max())


def _coldest(frame: pd.DataFrame, lag: int, level: float) -> dict[str, object]:
    """One lag: the discrete-time hazard ratio within season and age; none where all hours were alike."""
    known = frame[frame[f"chill_{lag}_h"].notna()]
    met = known[f"chill_{lag}_h"].to_numpy(float)
    edge = float(np.floor(np.quantile(met, COLDEST) / 10) * 10) if len(met) else np.nan
    cold, died, lambs = met >= edge, known["died"].to_numpy(bool), known["lambs"].to_numpy(int)
    cells = dict.fromkeys(("estimate", "low", "high", "p"), np.nan)
    if cold.any() and not cold.all():
        age = np.searchsorted(AGES_H, known["age_h"].to_numpy(), side="right")
        found, _ = mantel_haenszel(
            died,
            cold,
            known["season"].cat.codes.to_numpy(int) * (len(AGES_H) + 1) + age,
            cluster=known["born_day"].to_numpy(),
            weight=lambs,
            measure="odds_ratio",
            level=level,
        )
        cells = cells_of(found)
    events = int(lambs[cold & died].sum())
    return {
        "hours": lag,
        "versus": "the others",
        "measure": "hazard ratio",
        "events": events,
        "n": _lambs(known[cold]),
        "events_versus": int(lambs[died].sum()) - events,
        "n_versus": _lambs(known[~cold]),
        **cells,
        "edge": edge,
        "lived_h": int(lambs[cold].sum()),
        "lived_versus_h": int(lambs[~cold].sum()),
        "excess": events * (1 - 1 / cells["estimate"]) if cells["estimate"] else np.nan,
    }


def _classes(frame: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Deaths per day lived by class of the chill of the last `MAIN_H` hours, from the share lost in an hour."""
    classes = chill_class(frame[f"chill_{MAIN_H}_h"])
    found = proportions(
        frame["died"].to_numpy(bool),
        group=classes.cat.codes.to_numpy(),
        cluster=frame["born_day"].to_numpy(),
        weight=frame["lambs"].to_numpy(int),
        n_groups=len(classes.cat.categories),
        level=settings.level,
    )
    rows = pd.DataFrame(
        {
            "chill_class": pd.Categorical(classes.cat.categories, classes.cat.categories, ordered=True),
            "events": found.events.astype(int),
            "n": np.round(found.n / 24).astype(int),
            **{name: 24 * getattr(found, name) for name in ("share", "low", "high")},
        }
    )
    return rows[found.n > 0].reset_index(drop=True)


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
    frame["rain_of_day"] = frame.groupby(["farm", "day"])["rain_mm"].transform("sum", min_count=1)
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


def chill_class(chill: pd.Series) -> pd.Series:
    """The index in four classes, cut at `EDGES`."""
    names = [
        f"under {EDGES[0]:.0f}",
        *(f"{a:.0f} to {b:.0f}" for a, b in itertools.pairwise(EDGES)),
    ]
    names.append(f"{EDGES[-1]:.0f} and over")
    return pd.cut(chill, [-np.inf, *EDGES, np.inf], labels=names, right=False)
