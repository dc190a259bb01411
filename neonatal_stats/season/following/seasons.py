"""The season each birth belongs to, told by the birth dates; the order of the seasons in time.

Births belong to one season by runs of their dates; dates far off all others are slips.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import CannotRead, Finding, say, where
from neonatal_stats.season.following.ages import birth
from neonatal_stats.season.ledger import Gathered
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.terms import SEASON_NOT_RECORDED

NOT_RECORDED = SEASON_NOT_RECORDED
UNNAMED_FARM = "the farm"
TWO_SEASONS_D = 300
"""One written name at runs that begin so many days apart names two seasons: the dates are believed."""
GAP_D = 75
"""So many days without a birth end a run (the founders' own choice; two blocks a year lie further apart)."""
STRAGGLERS_D = 150
FEW_DAYS = 3
"""A run of births on so few days belongs to its neighbour where that lies within so many days: stragglers."""
YEAR_D = 366
SLIP_SHARE = 0.05
LONE_BIRTH_OF = 10
"""A few births far from all others of their file are a slip up to this share; a single one from ten births on."""
FAR_AWAY_D, FAR_AWAY_OF = 5 * YEAR_D, 3
"""Births so many days from all others are a slip even in a small file, up to one birth in three."""

Days = NDArray[np.int64]


def name_seasons(births: Gathered, settings: Settings) -> None:
    """Fill farm, season and species, which every birth has.

    A written season stands. Where none is written, births belong to the run of birth dates that theirs falls into, and
    bear the name written at others of the run, else the year in which most births fall; with ``season_first_month`` in
    the settings, that month rules instead. A date far from all others of its file is set to missing and asked about.
    Undated births go with the only season of their file; where it has several or none, with no season.
    """
    frame = births.frame
    nobody = pd.Series(None, index=frame.index, dtype=object)
    file = pd.Series(births.origin["file"].to_numpy(), index=frame.index, dtype=object)
    farm = _filled(_only_one_of_its_file(births, frame.get("farm", nobody), file), UNNAMED_FARM)
    species = _filled(frame.get("species", nobody), "")
    written = frame.get("season", nobody)
    slip = _slips(birth(frame), written, file)
    _ask_about(births, np.flatnonzero(slip & ~years_from_its_season(birth(frame), written)))
    season = _named(births, birth(births.frame).mask(slip), farm, written, settings)
    season = _undated(births, season, file)
    rest = births.frame.drop(columns=["farm", "season", "species"], errors="ignore")
    births.frame = pd.concat(
        [farm.rename("farm"), season.rename("season"), species.rename("species"), rest], axis=1
    )


def _filled(values: pd.Series, other: pd.Series | str) -> pd.Series:
    return values.astype(object).where(values.notna(), other)


def season_of(born: pd.Series, first_month: int) -> pd.Series:
    """The season by the date of birth: named by the year in which most of its months fall.

    With September as first month, 20 December 2025 and 3 April 2026 both belong to "2026"; with January the
    season is the calendar year. None where the date is not known.
    """
    if first_month <= 7:
        year = born.dt.year - (born.dt.month < first_month)
    else:
        year = born.dt.year + (born.dt.month >= first_month)
    named = year.astype("Int64").astype(object)
    spoken: pd.Series = named.map(lambda value: None if value is pd.NA else str(value))
    return spoken.astype(object)


def _only_one_of_its_file(births: Gathered, farm: pd.Series, file: pd.Series) -> pd.Series:
    """The farm as written; a row without one goes with the only farm that its file names."""
    if farm.isna().all() or farm.notna().all():
        return farm
    named = farm.groupby(file.to_numpy()).agg(_only)
    filled = _filled(farm, file.map(named))
    at = where(farm.isna() & filled.notna())
    problem = say("no farm is written; it is counted with the only farm that its file names")
    remedy = say("write the farm in each row")
    births.enter(Finding(at, "farm", filled.take(at).tolist(), problem, remedy, "noted"))
    return filled


def _only(values: pd.Series) -> str | None:
    found = values.dropna().unique()
    return str(found[0]) if len(found) == 1 else None


def years_from_its_season(day: pd.Series, season: pd.Series) -> NDArray[np.bool_]:
    """Born two years or more away from the year that the written season is called by."""
    place, names = pd.factorize(season)
    years = [float(name) if re.fullmatch("[0-9]{4}", str(name)) else np.nan for name in names]
    return np.asarray((day.dt.year - np.array([*years, np.nan])[place]).abs() >= 2)


def _slips(day: pd.Series, written: pd.Series, file: pd.Series) -> NDArray[np.bool_]:
    """The few birth dates far from all others of their file, unless a season of their own is written."""
    slip = np.zeros(len(day), dtype=bool)
    dated = np.flatnonzero(day.notna())
    if len(dated):
        slip[dated] = far_off(_days(day.iloc[dated]), pd.factorize(file.iloc[dated])[0].astype(np.int64))
    of_others = set(written[~slip].dropna())
    return slip & ~(written.notna() & ~written.isin(of_others)).to_numpy()


def _ask_about(births: Gathered, at: Days) -> None:
    """Set birth dates that stand far off to missing."""
    name = "born_at" if "born_at" in births.frame else "born_on"
    values = birth(births.frame).take(at).tolist()
    problem = say(
        "it is far from the dates of all other births of its file, so the year or month may be a slip"
    )
    remedy = say("mend the date; if it is right, write its own season beside it in a column season")
    births.enter(Finding(at, name, values, problem, remedy, "set to missing", ("born_at", "born_on")))


def _named(
    births: Gathered, day: pd.Series, farm: pd.Series, written: pd.Series, settings: Settings
) -> pd.Series:
    """The season of every dated birth, and of every other where one is written."""
    dated = np.flatnonzero(day.notna())
    if settings.season_first_month is not None or not len(dated):
        by_month = season_of(day, settings.season_first_month or 1)
        return written.where(written.notna(), by_month)
    known = pd.DataFrame({"farm": farm.array, "written": written.array}).iloc[dated].reset_index(drop=True)
    known["day"] = _days(day.iloc[dated])
    known["run"] = run_labels(known["day"].to_numpy(), pd.factorize(known["farm"])[0].astype(np.int64))
    split = _written_over_two_seasons(known)
    known["written"] = known["written"].where(~split, None)
    by_date = known["run"].map(_names_of_runs(known))
    lent = known.groupby(["farm", "run"])["written"].transform(_only)
    season = written.copy()
    season.iloc[dated] = _filled(_filled(known["written"], lent), by_date).to_numpy()
    at = dated[split.to_numpy()].astype(np.int64)
    problem = say("this season is written at births of more than one season; their dates tell them apart")
    remedy = say("write each season's own name")
    births.enter(Finding(at, "season", written.take(at).tolist(), problem, remedy, "noted"))
    return season


def _written_over_two_seasons(known: pd.DataFrame) -> pd.Series:
    """True where a farm's name of a season stands at runs of births that begin nearly a year apart, or more."""
    if known["written"].isna().all():
        return pd.Series(False, index=known.index)
    first = known.groupby(["farm", "written", "run"])["day"].min().reset_index()
    apart = first.groupby(["farm", "written"])["day"].agg(lambda days: days.max() - days.min())
    names = pd.MultiIndex.from_frame(known[["farm", "written"]])
    gap = apart.reindex(names).to_numpy(dtype=float)
    return pd.Series(gap >= TWO_SEASONS_D, index=known.index)


def _names_of_runs(known: pd.DataFrame) -> dict[int, str]:
    """The year in which most births of a run fall, told alike for all runs over New Year; with the month of its first
    birth where a farm has two runs of one year, or has written that year at another run."""
    year = pd.Series(known["day"].to_numpy().astype("datetime64[D]")).dt.year
    by_run = year.groupby(known["run"].to_numpy()).agg(["min", "max"])
    over = known["run"].map(by_run["min"] < by_run["max"])
    later = year == known["run"].map(by_run["max"])
    ending = not over.any() or later[over].mean() >= 0.5
    name = by_run["max" if ending else "min"].astype(str)
    first = pd.Series(known.groupby("run")["day"].min().to_numpy().astype("datetime64[D]"), index=name.index)
    named = known.assign(name=known["run"].map(name))
    several = named.groupby(["farm", "name"])["run"].transform("nunique") > 1
    elsewhere = named[["farm", "written", "run"]].dropna().drop_duplicates()
    taken = named.merge(elsewhere, left_on=["farm", "name"], right_on=["farm", "written"])
    clash = {*named.loc[several, "run"], *taken.loc[taken["run_x"] != taken["run_y"], "run_x"]}
    return {run: f"{first[run]:%Y-%m}" if run in clash else name[run] for run in name.index}


def _undated(births: Gathered, season: pd.Series, file: pd.Series) -> pd.Series:
    """Births without a date and a written season: with the only season of their file, else with none."""
    if season.isna().all():
        return _filled(season, NOT_RECORDED)
    only = season.groupby(file.to_numpy()).agg(_only)
    filled = _filled(season, file.map(only))
    remedy = say("write the date of birth, or the season in a column season")
    alone, nowhere = where(season.isna() & filled.notna()), where(filled.isna())
    problem = say("no date of birth; it is counted in the only season of its file")
    births.enter(Finding(alone, "season", filled.take(alone).tolist(), problem, remedy, "noted"))
    problem = say("no date of birth and no season, so it belongs to no season and to no headline")
    births.enter(Finding(nowhere, "season", [None] * len(nowhere), problem, remedy, "set to missing"))
    return _filled(filled, NOT_RECORDED)


def _days(moments: pd.Series) -> NDArray[np.int64]:
    return moments.to_numpy().astype("datetime64[D]").astype(np.int64)


def in_time(season: pd.Series, born: pd.Series) -> list[str]:
    """The names of the seasons by their latest births.

    Where some hold no dated birth, all stand in the order of their names, numbers by their size, if that order is also
    that of the dated ones; else the undated go first. Births that belong to no season always do.
    """
    latest = born.groupby(season.astype(str).to_numpy()).max()
    names = sorted((name for name in latest.index if name != NOT_RECORDED), key=natural)
    dated = sorted((name for name in names if pd.notna(latest[name])), key=lambda name: latest[name])
    undated = [name for name in names if pd.isna(latest[name])]
    in_order = names if [name for name in names if name in dated] == dated else [*undated, *dated]
    return [NOT_RECORDED, *in_order] if NOT_RECORDED in latest.index else in_order


def natural(name: str) -> list[tuple[int, int, str]]:
    """A key under which "Year 9" comes before "Year 10"."""
    parts = re.split(r"([0-9]+)", name)
    return [(0, int(part), "") if at % 2 else (1, 0, part) for at, part in enumerate(parts) if part]


def choose_season(
    births: Gathered, events: Sequence[Gathered], followed: pd.DataFrame, season: str, mobs: Gathered
) -> None:
    """Go on with the births and mobs of one season, and with the feeds and samples of its newborns.

    A feed or sample whose newborn is not known belongs to no season and stays in the list of those set aside.
    """
    keep = (births.frame["season"] == season).to_numpy()
    of_mobs = mobs.frame["season"] if len(mobs.origin) else pd.Series(dtype=object)
    if not len(keep) and any(season in table.frame.get("season", pd.Series()).array for table in events):
        for table in (one for one in (*events, mobs) if len(one.origin)):
            table.only((table.frame["season"] == season).to_numpy())
        return
    if not keep.any() and not (of_mobs == season).any():
        named = [
            *in_time(births.frame["season"], birth(births.frame)),
            *sorted(of_mobs.unique(), key=natural),
        ]
        found = ", ".join(dict.fromkeys(named)) or "none"
        raise CannotRead(f'The records hold no season "{season}"; the seasons found are {found}.')
    births.only(keep)
    if len(mobs.origin):
        mobs.only((of_mobs == season).to_numpy())
    chosen = np.flatnonzero(followed["season"] == season)
    place = pd.Series(np.arange(len(chosen), dtype=float), index=chosen)
    for table in events:
        newborn = table.frame["newborn"]
        nobody = newborn.isna()
        if "season" in table.frame:
            nobody |= (newborn < 0) & (table.frame["season"] == season)
        table.only((nobody | newborn.isin(chosen)).to_numpy())
        numbers = table.frame["newborn"].map(place)
        table.frame["newborn"] = numbers.where(table.frame["newborn"] >= 0, table.frame["newborn"])


def run_labels(day: Days, farm: Days) -> Days:
    """The run of each birth, numbered from 0.

    The dates of all farms together make the runs; a run of over a year is looked at farm by farm, and where births
    never stop it is cut each year at the month in which fewest are born.
    """
    labels = _runs(day)
    for long in _longer_than_a_year(day, labels):
        here = np.flatnonzero(labels == long)
        for one in np.unique(farm[here]):
            own = here[farm[here] == one]
            labels[own] = labels.max() + 1 + _runs(day[own])
    for long in _longer_than_a_year(day, labels):
        here = np.flatnonzero(labels == long)
        labels[here] = labels.max() + 1 + _years(day[here])
    return np.unique(labels, return_inverse=True)[1].astype(np.int64)


def far_off(day: Days, of: Days) -> NDArray[np.bool_]:
    """True for the few births of a file (``of`` numbers the files) that stand far from all its others."""
    found = np.zeros(len(day), dtype=bool)
    for one in np.unique(of):
        here = np.flatnonzero(of == one)
        labels = _runs(day[here])
        births = np.bincount(labels)
        days = pd.Series(day[here]).groupby(labels).nunique().to_numpy()
        most = max(SLIP_SHARE * len(here), 1.0 if len(here) >= LONE_BIRTH_OF else 0.0)
        few = (births <= most) | (_years_away(day[here], labels) & (births <= len(here) / FAR_AWAY_OF))
        found[here] = (few & (days <= FEW_DAYS) & (births < births.max()))[labels]
    return found


def _years_away(day: Days, labels: Days) -> NDArray[np.bool_]:
    """For each run, whether all others lie years before and behind it."""
    ends = pd.Series(day).groupby(labels).agg(["min", "max"])
    before = (ends["min"] - ends["max"].shift(1)).fillna(np.inf)
    behind = (ends["min"].shift(-1) - ends["max"]).fillna(np.inf)
    return np.asarray(np.minimum(before, behind) > FAR_AWAY_D)


def _runs(day: Days) -> Days:
    """Runs by the gaps between dates, stragglers with their nearest neighbour."""
    days, place = np.unique(day, return_inverse=True)
    starts = np.flatnonzero(np.diff(days, prepend=days[0] - GAP_D - 1) > GAP_D)
    ends = np.append(starts[1:], len(days))
    runs = [(int(first), int(last)) for first, last in zip(starts, ends, strict=True)]
    while (joined := _a_straggler(days, runs)) is not None:
        runs[joined : joined + 2] = [(runs[joined][0], runs[joined + 1][1])]
    label = np.repeat(np.arange(len(runs)), [last - first for first, last in runs])
    return label[place].astype(np.int64)


def _a_straggler(days: Days, runs: list[tuple[int, int]]) -> int | None:
    """The place of a run that joins the one behind it, because one of the two holds stragglers of the other."""
    gaps = [int(days[later[0]] - days[run[1] - 1]) for run, later in pairwise(runs)]
    for place in np.argsort(gaps, kind="stable"):
        few = min(last - first for first, last in runs[place : place + 2]) <= FEW_DAYS
        if few and gaps[place] <= STRAGGLERS_D:
            return int(place)
    return None


def _longer_than_a_year(day: Days, labels: Days) -> list[int]:
    span = pd.Series(day).groupby(labels).agg(["min", "max"])
    return [int(label) for label in span.index[span["max"] - span["min"] > YEAR_D]]


def _years(day: Days) -> Days:
    """Years that begin in the month around which fewest are born; January where no month stands out."""
    dates = pd.DatetimeIndex(day.astype("datetime64[D]"))
    born = np.bincount(dates.month - 1, minlength=12)
    around = born + np.roll(born, 1)
    first = int(around.argmin()) + 1 if around.min() < around.mean() / 2 else 1
    year = dates.year.to_numpy() - (dates.month.to_numpy() < first)
    return np.unique(year, return_inverse=True)[1].astype(np.int64)
