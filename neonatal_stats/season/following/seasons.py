"""The season each birth belongs to, told by the birth dates; the order of the seasons in time.

Births belong to one season by runs of their dates; dates far off all others are slips.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.finding import CannotRead, Finding, say, where
from neonatal_stats.season.following.ages import Moments, birth, day_of, known, words
from neonatal_stats.season.following.links import over_group
from neonatal_stats.season.ledger import Gathered
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import EVENTS
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

EPOCH = 1970
"""The year from which numpy counts."""

Days = NDArray[np.int64]
Words = NDArray[np.object_]


def name_seasons(births: Gathered, settings: Settings) -> None:
    """Fill farm, season and species, which every birth has.

    A written season stands. Where none is written, births belong to the run of birth dates that theirs falls into, and
    bear the name written at others of the run, else the year in which most births fall; with ``season_first_month`` in
    the settings, that month rules instead. A date far from all others of its file is set to missing and asked about.
    Undated births go with the only season of their file; where it has several or none, with no season.
    """
    frame, file = births.frame, births.origin["file"].to_numpy()
    farm = _filled(_only_one_of_its_file(births, words(frame, "farm"), file), UNNAMED_FARM)
    species, written = _filled(words(frame, "species"), ""), words(frame, "season")
    day = birth(frame)
    slip = _slips(day, written, file)
    if slip.any():
        _ask_about(births, np.flatnonzero(slip & ~years_from_its_season(day, written)))
        day = np.where(slip, np.datetime64("NaT"), birth(births.frame))
    season = _undated(births, _named(births, day, farm, written, settings), file)
    rest = [name for name in births.frame if name not in ("farm", "season", "species")]
    births.frame = births.frame.assign(farm=farm, season=season, species=species).reindex(
        columns=["farm", "season", "species", *rest]
    )


def _filled(values: Words, other: Words | str) -> Words:
    return np.where(pd.isna(values), other, values)


def season_of(born: Moments, first_month: int) -> Words:
    """The season by the date of birth: named by the year in which most of its months fall.

    With September as first month, 20 December 2025 and 3 April 2026 both belong to "2026"; with January the
    season is the calendar year. None where the date is not known.
    """
    dated = known(born)
    year, month = np.divmod(born[dated].astype("datetime64[M]").astype(np.int64), 12)
    year += EPOCH + (0 if first_month <= 7 else 1) - (month + 1 < first_month)
    season = np.full(len(born), None, dtype=object)
    season[dated] = year.astype(str)
    return season


def _only_one_of_its_file(births: Gathered, farm: Words, file: Words) -> Words:
    """The farm as written; a row without one goes with the only farm that its file names."""
    blank = pd.isna(farm)
    if blank.all() or not blank.any():
        return farm
    filled = _filled(farm, _only_of(farm, pd.factorize(file)[0]))
    at = where(blank & pd.notna(filled))
    problem = say("no farm is written; it is counted with the only farm that its file names")
    remedy = say("write the farm in each row")
    births.enter(Finding(at, "farm", filled[at].tolist(), problem, remedy, "noted"))
    return filled


def _only_of(values: Words, group: Days) -> Words:
    """Row by row the one value that stands in the row's group (codes from 0); None where several do, or none."""
    codes, names = pd.factorize(values)
    told = codes >= 0
    least, most = (over_group(gather, np.where(told, codes, np.nan), group) for gather in (np.fmin, np.fmax))
    only = np.where(least == most, least, -1).astype(np.int64)
    return np.array([*names, None], dtype=object)[only]


def years_from_its_season(day: Moments, season: Words) -> NDArray[np.bool_]:
    """Born two years or more away from the year that the written season is called by."""
    place, names = pd.factorize(season)
    years = [float(name) if re.fullmatch("[0-9]{4}", str(name)) else np.nan for name in names]
    born = np.where(known(day), _year(day), np.nan)
    return np.asarray(np.abs(born - np.array([*years, np.nan])[place]) >= 2)


def _slips(day: Moments, written: Words, file: Words) -> NDArray[np.bool_]:
    """The few birth dates far from all others of their file, unless a season of their own is written."""
    slip = np.zeros(len(day), dtype=bool)
    dated = np.flatnonzero(known(day))
    slip[dated] = far_off(_days(day[dated]), pd.factorize(file[dated])[0])
    if not slip.any():
        return slip
    names = pd.factorize(written)[0]
    return slip & ((names < 0) | np.isin(names, names[~slip]))


def _ask_about(births: Gathered, at: Days) -> None:
    """Set birth dates that stand far off to missing."""
    name = "born_at" if "born_at" in births.frame else "born_on"
    values = list(pd.DatetimeIndex(birth(births.frame)[at]))
    problem = say(
        "it is far from the dates of all other births of its file, so the year or month may be a slip"
    )
    remedy = say("mend the date; if it is right, write its own season beside it in a column season")
    births.enter(Finding(at, name, values, problem, remedy, "set to missing", ("born_at", "born_on")))


def _named(births: Gathered, day: Moments, farm: Words, written: Words, settings: Settings) -> Words:
    """The season of every dated birth, and of every other where one is written."""
    dated = np.flatnonzero(known(day))
    if settings.season_first_month is not None or not len(dated):
        return _filled(written, season_of(day, settings.season_first_month or 1))
    of_farm = pd.factorize(farm[dated])[0]
    days = _days(day[dated])
    run = run_labels(days, of_farm)
    name, split = _without_split(of_farm, run, days, written[dated])
    at = dated[split]
    problem = say("this season is written at births of more than one season; their dates tell them apart")
    remedy = say("write each season's own name")
    births.enter(Finding(at, "season", written[at].tolist(), problem, remedy, "noted"))
    season = written.copy()
    if pd.isna(name).any():
        lent = _filled(name, _only_of(name, _paired(of_farm, run)))
        name = _filled(lent, np.array(_names_of_runs(of_farm, run, days, name), dtype=object)[run])
    season[dated] = name
    return season


def _without_split(farm: Days, run: Days, day: Days, written: Words) -> tuple[Words, NDArray[np.bool_]]:
    """The written names but those that a farm wrote at runs of births that begin nearly a year apart, or more; and
    where these stand.
    """
    split = np.zeros(len(run), dtype=bool)
    names = pd.factorize(written)[0]
    if run.max() == 0 or names.max() < 0:
        return written, split
    of_name = _paired(farm, names)
    begun = over_group(np.minimum, day, _paired(of_name, run))
    apart = over_group(np.maximum, begun, of_name) - over_group(np.minimum, begun, of_name)
    split = (names >= 0) & (apart >= TWO_SEASONS_D)
    return np.where(split, np.array(None), written), split


def _names_of_runs(farm: Days, run: Days, day: Days, written: Words) -> list[str]:
    """The year in which most births of a run fall, told alike for all runs over New Year; with the month of its first
    birth where a farm has two runs of one year, or has written that year at another run."""
    year, begun = _year(day.astype("datetime64[D]")), over_group(np.minimum, day, run)
    first, last = over_group(np.minimum, year, run), over_group(np.maximum, year, run)
    over = first < last
    ending = not over.any() or (year == last)[over].mean() >= 0.5
    of_run = np.unique(run, return_index=True)[1]
    name = (last if ending else first)[of_run].astype(str).tolist()
    month = begun[of_run].astype("datetime64[D]").astype("datetime64[M]").astype(str)
    runs_called, runs_written = defaultdict(set), defaultdict(set)
    told = pd.DataFrame({"farm": farm, "run": run, "written": written}).drop_duplicates()
    for of, one, written_name in told.itertuples(index=False):
        runs_called[of, name[one]].add(one)
        runs_written[of, written_name].add(one)
    clash = {
        one for key, runs in runs_called.items() for one in runs if len(runs) > 1 or runs_written[key] - {one}
    }
    return [str(month[one]) if one in clash else called for one, called in enumerate(name)]


def _undated(births: Gathered, season: Words, file: Words) -> Words:
    """Births without a date and a written season: with the only season of their file, else with none."""
    blank = pd.isna(season)
    if blank.all() or not blank.any():
        return _filled(season, NOT_RECORDED)
    filled = _filled(season, _only_of(season, pd.factorize(file)[0]))
    remedy = say("write the date of birth, or the season in a column season")
    alone, nowhere = where(blank & pd.notna(filled)), where(pd.isna(filled))
    problem = say("no date of birth; it is counted in the only season of its file")
    births.enter(Finding(alone, "season", filled[alone].tolist(), problem, remedy, "noted"))
    problem = say("no date of birth and no season, so it belongs to no season and to no headline")
    births.enter(Finding(nowhere, "season", [None] * len(nowhere), problem, remedy, "set to missing"))
    return _filled(filled, NOT_RECORDED)


def _paired(first: Days, second: Days) -> Days:
    """Codes for each pair of two codes; -1 among the second is one of them."""
    return np.asarray(pd.factorize(first * (second.max() + 2) + second + 1)[0])


def _days(moment: Moments) -> Days:
    return day_of(moment).astype(np.int64)


def _year(moment: Moments) -> Days:
    return moment.astype("datetime64[Y]").astype(np.int64) + EPOCH


def in_time(season: pd.Series, born: pd.Series | Moments) -> list[str]:
    """The names of the seasons by their latest births.

    Where some hold no dated birth, all stand in the order of their names, numbers by their size, if that order is also
    that of the dated ones; else the undated go first. Births that belong to no season always do.
    """
    place, found = pd.factorize(season.astype(str).to_numpy(dtype=object))
    of_season = np.full(len(found), np.datetime64("NaT"), dtype=np.asarray(born).dtype)
    np.fmax.at(of_season, place, np.asarray(born))
    latest = dict(zip(found, of_season, strict=True))
    names = sorted((name for name in latest if name != NOT_RECORDED), key=natural)
    dated = sorted((name for name in names if pd.notna(latest[name])), key=lambda name: latest[name])
    undated = [name for name in names if pd.isna(latest[name])]
    in_order = names if [name for name in names if name in dated] == dated else [*undated, *dated]
    return [NOT_RECORDED, *in_order] if NOT_RECORDED in latest else in_order


def natural(name: str) -> list[tuple[int, int, str]]:
    """A key under which "Year 9" comes before "Year 10"."""
    parts = re.split(r"([0-9]+)", name)
    return [(0, int(part), "") if at % 2 else (1, 0, part) for at, part in enumerate(parts) if part]


def choose_season(births: Gathered, others: Sequence[Gathered], followed: pd.DataFrame, season: str) -> None:
    """Go on with the births and mobs of one season, and with the feeds and samples of its newborns.

    A feed or sample whose newborn is not known belongs to no season and stays in the list of those set aside.
    """
    keep = (births.frame["season"] == season).to_numpy()
    mobs = [table for table in others if table.table == "mobs"]
    events = [table for table in others if table.table in EVENTS]
    if not len(keep) and any(season in table.frame.get("season", pd.Series()).array for table in events):
        for table in (*events, *mobs):
            table.only((table.frame["season"] == season).to_numpy())
        return
    of_mobs = {name for table in mobs for name in table.frame["season"]}
    if not keep.any() and season not in of_mobs:
        named = [*in_time(births.frame["season"], birth(births.frame)), *sorted(of_mobs, key=natural)]
        found = ", ".join(dict.fromkeys(named)) or "none"
        raise CannotRead(f'The records hold no season "{season}"; the seasons found are {found}.')
    births.only(keep)
    for table in mobs:
        table.only((table.frame["season"] == season).to_numpy())
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
        if len(births) == 1:
            continue
        days = np.bincount(labels[np.unique(day[here], return_index=True)[1]])
        most = max(SLIP_SHARE * len(here), 1.0 if len(here) >= LONE_BIRTH_OF else 0.0)
        few = (births <= most) | (_years_away(day[here], labels) & (births <= len(here) / FAR_AWAY_OF))
        found[here] = (few & (days <= FEW_DAYS) & (births < births.max()))[labels]
    return found


def _years_away(day: Days, labels: Days) -> NDArray[np.bool_]:
    """For each run, whether all others lie years before and behind it."""
    first, last = _ends(day, labels)
    gaps = first[1:] - last[:-1]
    return np.asarray(np.minimum(np.append(np.inf, gaps), np.append(gaps, np.inf)) > FAR_AWAY_D)


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


def _ends(day: Days, labels: Days) -> tuple[Days, Days]:
    """The first and the last day of each run, in the order of their labels."""
    at = np.unique(labels, return_index=True)[1]
    place = pd.factorize(labels)[0]
    return over_group(np.minimum, day, place)[at], over_group(np.maximum, day, place)[at]


def _longer_than_a_year(day: Days, labels: Days) -> list[int]:
    first, last = _ends(day, labels)
    return [int(label) for label in np.unique(labels)[last - first > YEAR_D]]


def _years(day: Days) -> Days:
    """Years that begin in the month around which fewest are born; January where no month stands out."""
    dates = pd.DatetimeIndex(day.astype("datetime64[D]"))
    born = np.bincount(dates.month - 1, minlength=12)
    around = born + np.roll(born, 1)
    first = int(around.argmin()) + 1 if around.min() < around.mean() / 2 else 1
    year = dates.year.to_numpy() - (dates.month.to_numpy() < first)
    return np.unique(year, return_inverse=True)[1].astype(np.int64)
