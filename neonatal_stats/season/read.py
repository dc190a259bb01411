"""From files to a season: read, map, check, follow."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from os import PathLike
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.season.checks.agreement import (
    LATER,
    LATER_BESIDE,
    LIVED,
    examined_dead,
    with_keepers_stillbirths,
)
from neonatal_stats.season.checks.mobs import check_mobs, one_row_each
from neonatal_stats.season.checks.run import check_births, check_events, check_further, check_weather
from neonatal_stats.season.checks.settled import settle
from neonatal_stats.season.files.frames import Records
from neonatal_stats.season.finding import NO_NEED, CannotRead, say
from neonatal_stats.season.following.ages import birth, join_clocks, stillborn
from neonatal_stats.season.following.follow import follow, with_first_feed
from neonatal_stats.season.following.known import ROW, still_young
from neonatal_stats.season.following.links import cluster_name, settled, without_rows
from neonatal_stats.season.following.placing import in_one_season
from neonatal_stats.season.following.seasons import choose_season, name_seasons
from neonatal_stats.season.gathering.sheets import Sheets, read_sheets
from neonatal_stats.season.grid import Remark
from neonatal_stats.season.ledger import (
    Gathered,
    Line,
    outcome_remarks,
    problem_list,
    remark,
    sources_of,
    told,
    undecided,
)
from neonatal_stats.season.model import Season
from neonatal_stats.season.plan import agreed
from neonatal_stats.season.records_map import RecordsMap, read_map
from neonatal_stats.season.settings import Settings, settings_of
from neonatal_stats.season.toml_file import quoted
from neonatal_stats.vocabulary.columns import ALONE, EVENTS, LISTS, TABLES

Text = str | PathLike[str]
WRITTEN_DEAD = "born_alive|written"
"""The helper column of births that were born dead by their own row, before anything was held against it."""
FIRST_OF = {"weather": ("farm", "at"), "mobs": ("farm", "season", "mob")}
"""The columns by which the rows of a table that joins no newborn are put in order."""


OF_LIMIT = "|limit"
"""Ends the names of helper columns that hold limits beside values."""


def _path(argument: str, given: object) -> Text:
    """The path that was given; one sentence for anything else."""
    if isinstance(given, str | PathLike):
        return given
    made = ", or what read_map gives" if argument == "map" else ""
    raise CannotRead(f"{argument}: give the path of a file{made}; found {type(given).__name__}.")


def read_season(
    records: Records,
    *,
    settings: Settings | Mapping[str, object] | Text | None = None,
    map: RecordsMap | Text | None = None,
    season: str | int | None = None,
    plan: Text | None = None,
) -> Season:
    """Read birth records and the tables beside them; counts by the mob and lists of animals also without births.

    Parameters
    ----------
    records : path, DataFrame, dict of DataFrames, or a list of these
        Files (CSV and other delimited text, XLSX, ODS, Parquet, exchange JSON) or folders of them; several files and
        seasons at once. Which table a sheet holds follows from its headings. A pandas DataFrame holds births; a dict
        names the table of each frame: ``{"births": ..., "feeds": ..., "samples": ..., "weather": ..., "colostrum": ...,
        "examinations": ..., "treatments": ..., "mobs": ...}``. Frames are checked as files are and never altered; in
        what is said of them a row is told by its label in the index.
    settings : Settings, dict or path, optional
        Settings, a dict of them by name, or a TOML file of them; see `Settings`.
    map : RecordsMap or path, optional
        A TOML file that turns a farm's own headings and words into the tidy ones, see `read_map`.
    season : text, optional
        Keep only this season.
    plan : path, optional
        The plan that was agreed, to follow up: CSV, XLSX or TOML. The chapter "What we agreed" is then asked.

    Returns
    -------
    Season
        Births in canonical order with what follows from them, and the list of everything that was set aside, set to
        missing or noted; rows used, used with a field missing and set aside add up to the rows read.

    Raises
    ------
    CannotRead
        With one sentence: where, what was found, what is accepted, how to mend it.

    Examples
    --------
    >>> import pandas as pd
    >>> lambs = {"species": "sheep", "dam_id": ["E1", "E1", "E2"], "died": [False, True, None], "season": 2026}
    >>> season = read_season(pd.DataFrame(lambs, index=[15, 16, 17]))
    >>> print(*season.problems.loc[0, ["file", "row", "ended"]], sep=", ")
    births frame, 17, set aside
    """
    chosen = settings_of(settings)
    records_map = _mapped(map, chosen)
    chosen = chosen if plan is None else agreed(chosen, _path("plan", plan))
    sheets = read_sheets(records, records_map, chosen)
    births, said_of_files = _births(sheets, records_map, chosen)
    followed, recorded, beside, refuted = _followed(births, chosen)
    others = [
        *_events_beside(sheets, births, followed, records_map, chosen),
        *_weather_and_mobs(sheets, chosen),
    ]
    gathered = [births, *others]
    sources = sources_of(sheets.found, gathered)
    if season is not None:
        choose_season(births, others, followed, str(season))
        followed, recorded, beside, refuted = _followed(births, chosen)
    tables = _tables(others, refuted)
    alone = not len(births.origin) and any(len(tables[name]) for name in ALONE)
    remarks = [*_remarks(sheets), *_remarks_on_births(said_of_files)]
    return Season(
        births=with_first_feed(followed, tables["feeds"]),
        feeds=tables["feeds"],
        samples=tables["samples"],
        weather=tables["weather"],
        colostrum=tables["colostrum"],
        examinations=tables["examinations"],
        treatments=tables["treatments"],
        mobs=tables["mobs"],
        problems=problem_list(
            [told([*remarks, *_about(followed, chosen)]), *_problems(gathered)],
            {raw.file: raw.labels for _, raw in sheets.found if raw.labels},
        ),
        balances=tuple(
            g.ledger.balance for g in gathered if len(g.origin) or (g.table == "births" and not alone)
        ),
        sources=sources,
        settings=chosen,
        open_births=_open_births(births),
        undecided=undecided(births.frame, births.ledger),
        outcome_remarks=outcome_remarks([told(remarks), *_problems(gathered if alone else [births])]),
        unmatched_deaths=sheets.unmatched_deaths,
        recorded=recorded,
        beside=beside,
    )


def _mapped(given: RecordsMap | Text | None, settings: Settings) -> RecordsMap:
    """The map that was given, as it is or from its file; one that says nothing where none was."""
    if given is None:
        return RecordsMap()
    return given if isinstance(given, RecordsMap) else read_map(_path("map", given), settings.causes)


def _events_beside(
    sheets: Sheets, births: Gathered, followed: pd.DataFrame, records_map: RecordsMap, settings: Settings
) -> list[Gathered]:
    """The tables of events that a sheet holds, joined to the births and checked; without any births, in one season of
    their own.
    """
    held = [table for table in EVENTS if sheets.of(table)]
    events = [_events(sheets, table, followed, records_map, settings) for table in held]
    if not len(births.origin):
        in_one_season([table for table in events if table.table in LISTS])
    return events


def _weather_and_mobs(sheets: Sheets, settings: Settings) -> Iterator[Gathered]:
    """The tables that join no newborn, checked, as far as any sheet holds them."""
    for table, check in (("weather", check_weather), ("mobs", check_mobs)):
        if held := sheets.of(table):
            gathered = Gathered(table, held)
            check(gathered, settings)
            yield gathered


def _tables(others: Iterable[Gathered], refuted: pd.Series) -> dict[str, pd.DataFrame]:
    """The further tables as tidy frames, by name; one that no sheet holds has the columns that follow from rows."""
    tables = {table: without_rows(table) for table in (*EVENTS, *FIRST_OF)}
    tables |= {table.table: _tidy(table) for table in others}
    tables["examinations"] = with_keepers_stillbirths(tables["examinations"], refuted)
    tables["mobs"] = one_row_each(tables["mobs"])
    return tables


def _problems(gathered: Iterable[Gathered]) -> Iterator[pd.DataFrame]:
    """What was found in the rows of some tables."""
    return (table.ledger.problems for table in gathered)


def _followed(
    births: Gathered, settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame, pd.Series]:
    """The births with what follows from them, in the same order what was recorded of them and what stood beside them
    unread, and the newborns that were written down as born dead and are not counted so.
    """
    kept = np.flatnonzero(births.ledger.kept)
    tidy = _without_helpers(births.frame).take(kept)
    followed = follow(tidy.assign(**{ROW: range(len(kept))}), settings)
    order = followed.pop(ROW).to_numpy()
    recorded = tidy.take(order).reset_index(drop=True)
    beside = births.beside.take(kept[order]).reset_index(drop=True)
    refuted = births.frame[WRITTEN_DEAD].to_numpy(dtype=bool)[kept[order]] & ~followed["stillborn"].to_numpy()
    return followed, recorded, beside, followed["newborn"][refuted]


def _births(
    sheets: Sheets, records_map: RecordsMap, settings: Settings
) -> tuple[Gathered, tuple[tuple[str, Remark], ...]]:
    """The births checked, and what is to be said of their files."""
    births = Gathered("births", sheets.of("births"))
    if examined := sheets.of("examinations"):
        examined_dead(births, Gathered("examinations", examined))
    settled = settle(births)
    helpers: dict[str, Any] = {
        name: births.frame[name] for name in (LIVED, LATER, LATER_BESIDE) if name in births.frame
    }
    helpers[WRITTEN_DEAD] = stillborn(births.frame)
    join_clocks(births)
    births.frame = births.frame.assign(**helpers)
    name_seasons(births, settings)
    check_births(births, settled, records_map, settings)
    return births, settled.remarks


def _without_helpers(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.drop(columns=[LIVED, LATER, LATER_BESIDE, WRITTEN_DEAD], errors="ignore")


def _open_births(births: Gathered) -> pd.DataFrame:
    """The newborns whose outcome is not written or cannot be read, as far as their rows were read."""
    outcome = births.ledger.open_outcomes
    rows = _without_helpers(births.frame.loc[outcome != ""]).reset_index(drop=True)
    rows = rows.drop(columns=[name for name in rows if str(name).endswith("_is_day")])
    return rows.assign(outcome=outcome[outcome != ""], born=birth(rows))


def _events(
    sheets: Sheets, table: str, births: pd.DataFrame, records_map: RecordsMap, settings: Settings
) -> Gathered:
    """One further table joined to its newborns, where there are births, and checked against them."""
    events = Gathered(table, sheets.of(table))
    bound = table == "feeds" or (table == "samples" and len(births) > 0)
    check = check_events if bound else check_further
    check(events, births, records_map.of(table).units, settings)
    return events


def _tidy(table: Gathered) -> pd.DataFrame:
    tidy = [column.name for column in TABLES[table.table]]
    columns = [str(name) for name in table.frame if name in tidy]
    if table.table in EVENTS:
        limits = {
            name: f"{name[: -len(OF_LIMIT)]}_limit"
            for name in map(str, table.frame)
            if name.endswith(OF_LIMIT)
        }
        table.frame = table.frame.rename(columns=limits)
        columns += [name for name in limits.values() if table.frame[name].notna().any()]
        return settled(table, columns)
    kept = table.frame.loc[table.ledger.kept, columns]
    order = sorted(columns, key=lambda name: name not in FIRST_OF[table.table])
    return kept.sort_values(order, kind="stable", ignore_index=True) if columns else kept


def _about(births: pd.DataFrame, settings: Settings) -> Iterable[Line]:
    """What is to be known about the births as a whole."""
    found = cluster_name(births, settings)
    if found == "litter" != settings.cluster and len(births):
        problem = say("one farm stands in the records, so intervals and tests cluster on the litter")
        yield remark("births", "", "", "farm", problem, NO_NEED)
    elif found != settings.cluster and len(births):
        problem = say(
            "{n} farms stand in the records, so intervals and tests cluster on the farm",
            n=births["farm"].nunique(),
        )
        yield remark("births", "", "", "farm", problem, NO_NEED)
    if (
        settings.own_farm
        and len(births["farm"].unique()) > 1
        and settings.own_farm not in set(births["farm"])
    ):
        problem = say(
            "the settings name {farm} as the own farm, and no farm of the records is called so; every farm is a letter",
            farm=quoted(settings.own_farm),
        )
        yield remark(
            "births",
            "",
            "",
            "farm",
            problem,
            say("write own_farm in the settings as the records do"),
            "asked",
        )
    if len(births) and (births["species"] == "").all():
        problem = say("no species is known, so ranges that differ between species were not checked")
        remedy = say('write it in a column species, or in the map under [fixed]: species = "sheep"')
        yield remark("births", "", "", "species", problem, remedy)
    if young := still_young(births, max(settings.windows_h.values())):
        yield remark("births", "", "", "died", *young)


def _remarks(sheets: Sheets) -> Iterable[Line]:
    for table, file, sheet, said in sheets.remarks:
        yield remark(table, file, sheet, said.column, said.problem, said.remedy, said.ended, said.about)


def _remarks_on_births(said_of_files: Iterable[tuple[str, Remark]]) -> Iterable[Line]:
    for file, said in said_of_files:
        yield remark("births", file, "", said.column, said.problem, said.remedy, said.ended, said.about)
