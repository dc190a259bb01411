"""All sheets of all files, recognised and typed, before they are put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from neonatal_stats.season.blank import is_help
from neonatal_stats.season.cells.fates import AGES, left_out
from neonatal_stats.season.cells.typed import TypedTable, meanings, typed_table
from neonatal_stats.season.exchange.join import with_first_hours
from neonatal_stats.season.files.frames import Records, frame_grids, parted
from neonatal_stats.season.files.header import is_no_table, table_below
from neonatal_stats.season.files.in_the_way import turned
from neonatal_stats.season.files.opened import NOT_JSON, Opened, listed, open_all
from neonatal_stats.season.finding import CannotRead, say
from neonatal_stats.season.gathering.asked import ask_about_numbers, without_litter_counts
from neonatal_stats.season.gathering.counted import expanded, with_zeros
from neonatal_stats.season.gathering.fill import filled_down
from neonatal_stats.season.gathering.litters import parted as parted_litters
from neonatal_stats.season.gathering.litters import unfolded
from neonatal_stats.season.gathering.mob_sheets import of_mobs
from neonatal_stats.season.gathering.shed import from_the_shed, with_slips
from neonatal_stats.season.gathering.versions import Told, counted_once, with_death_lists
from neonatal_stats.season.gathering.which_table import (
    DAMS,
    FEWEST_OF_A_MOB,
    NAMED,
    OUTCOMES,
    RESULTS,
    TOLD,
    WITHOUT_RESULT,
    is_percentage,
    known_heading,
    left_out_by_map,
    must_be_colostrum,
    table_of_sheet,
)
from neonatal_stats.season.grid import Grid, RawTable, Remark
from neonatal_stats.season.records_map import RecordsMap, TableMap
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import ALONE, TABLES
from neonatal_stats.vocabulary.fates import asks_for
from neonatal_stats.vocabulary.plan import is_plan

COUNTED_MOBS = frozenset(column.name for column in TABLES["mobs"] if column.kind == "integer")
PLAN = Remark(
    "",
    say("the sheet is a plan and holds no records"),
    say("name its file after --plan, and it is followed up"),
)
LEFT_BY_MAP = Remark("", say("the map leaves this sheet out"), say("nothing need be done if that was meant"))
Typed = tuple[tuple[str, TypedTable], ...]


@dataclass(frozen=True, eq=False)
class Sheets:
    """Typed sheets by table, all sheets as they were found and what was remarked on the way."""

    typed: Typed
    found: tuple[tuple[str, RawTable], ...]
    remarks: tuple[tuple[str, str, str, Remark], ...]
    unmatched_deaths: int = 0

    def of(self, table: str) -> list[TypedTable]:
        """The sheets of one table, in the order of the files."""
        return [typed for name, typed in self.typed if name == table]


def read_sheets(records: Records, records_map: RecordsMap, settings: Settings) -> Sheets:
    """Open every file and frame, and read every sheet that holds a table of the records."""
    opened = _opened(records, records_map, settings)
    found = [(table_of_sheet(raw, records_map), raw) for raw in _tables(opened.grids, records_map)]
    opened.grids.clear()  # every cell now stands in its table: what they took is free for what is made of them
    found = of_mobs(_without_summaries(found, records_map), records_map.of("mobs"))
    _must_hold_births(found)
    _must_not_count_percentages(found, records_map)
    _must_know_its_headings(found, records_map)
    for raw in (raw for table, raw in found if table == "colostrum"):
        must_be_colostrum(raw, records_map.of("colostrum"))
    tables, lost_slips, of_slips = with_slips(with_first_hours(found, records_map.of("births")))
    typed = tuple(
        (table, typed_table(table, raw, records_map, settings))
        for table, raw in tables
        if table and raw.rows.size
    )
    typed, told = _each_birth_once(typed)
    _must_tell_outcome(typed)
    empty = [raw for _, raw in found if not raw.rows.size]
    others = [raw for table, raw in tables if not table and raw.rows.size and not is_help(raw.sheet)]
    plans = [raw for raw in others if is_plan(raw.columns)]
    unknown = [raw for raw in others if raw not in plans and not left_out_by_map(raw, records_map)]
    by_map = [raw for raw in others if left_out_by_map(raw, records_map)]
    remarks = (
        *(("", file, "", said) for file, said in opened.remarks),
        *((table, t.raw.file, t.raw.sheet, said) for table, t in typed for said in t.remarks),
        *(
            (table, t.raw.file, t.raw.sheet, WITHOUT_RESULT)
            for table, t in typed
            if _without_result(table, t)
        ),
        *(("", raw.file, raw.sheet, said) for raw in empty for said in raw.remarks),
        *(("", raw.file, raw.sheet, _unknown(raw)) for raw in unknown),
        *(("", raw.file, raw.sheet, LEFT_BY_MAP) for raw in by_map),
        *(("", raw.file, raw.sheet, PLAN) for raw in plans),
        *told.remarks,
        *of_slips,
    )
    return Sheets(typed, tuple(found), remarks, opened.unmatched_deaths + told.unmatched + lost_slips)


def _without_summaries(
    tables: list[tuple[str, RawTable]], records_map: RecordsMap
) -> list[tuple[str, RawTable]]:
    """The sheets; one that names no animal and tells no outcome is no table beside sheets of births that do."""
    own = records_map.of("births")
    meant = [{own.column_of("births", heading) for heading in raw.columns} for _, raw in tables]
    of_births = [table == "births" and not raw.table and not raw.meant for table, raw in tables]
    whole = [
        births and bool(names & TOLD) and bool(names & NAMED)
        for births, names in zip(of_births, meant, strict=True)
    ]
    return [
        ("", raw) if any(whole) and births and raw.sheet and not names & (NAMED | TOLD) else (table, raw)
        for (table, raw), births, names in zip(tables, of_births, meant, strict=True)
    ]


def _opened(records: Records, records_map: RecordsMap, settings: Settings) -> Opened:
    paths, frames = parted(records)
    if frames and not paths:
        return Opened(frame_grids(frames), ())
    opened = open_all(listed(paths), settings.time_zone, records_map.encodings)
    return replace(opened, grids=[*opened.grids, *frame_grids(frames)])


def _tables(grids: list[Grid], records_map: RecordsMap) -> list[RawTable]:
    known = partial(known_heading, records_map)
    held = [grid for grid in grids if (grid.height or grid.lines > 0) and not is_no_table(grid)]
    tables = [from_the_shed(table_below(upright(grid, records_map), known)) for grid in held]
    return [
        table
        if table.table or table.form or table_of_sheet(table, records_map) == "mobs"
        else _one_newborn_a_row(table, records_map)
        for table in tables
    ]


def upright(grid: Grid, records_map: RecordsMap) -> Grid:
    """The sheet turned round where its headings, those of mobs, stand in its first column."""
    own = records_map.of("mobs")
    return turned(
        grid,
        lambda cell: isinstance(cell, str) and own.column_of("mobs", cell) in COUNTED_MOBS,
        lambda cell: isinstance(cell, str) and known_heading(records_map, cell),
    )


def _one_newborn_a_row(table: RawTable, records_map: RecordsMap) -> RawTable:
    """The sheet with blanks filled down where that is known to be meant, and rows that hold a litter unfolded."""
    births = records_map.of("births")
    of_births = table_of_sheet(table, records_map) == "births"
    if of_births:
        table = filled_down(with_zeros(parted_litters(table, births), births), births)
    counted = expanded(table, births, of_births)
    single = unfolded(counted, births)
    if of_births and counted is table:
        single = without_litter_counts(single, births)
        ask_about_numbers(single, births)
    return single


def _each_birth_once(typed: Typed) -> tuple[Typed, Told]:
    """The sheets, lists of deaths put to their newborns and births that stand in two books counted once."""
    told = with_death_lists([sheet for table, sheet in typed if table == "births"])
    births = [("births", sheet) for sheet in counted_once(told.births)]
    return (*births, *((table, sheet) for table, sheet in typed if table != "births")), told


def _must_hold_births(tables: list[tuple[str, RawTable]]) -> None:
    births = [raw for table, raw in tables if table == "births"]
    if births and not any(raw.rows.size for raw in births):
        raise CannotRead(
            f"{births[0].place}: it has headings and no row below them; write one newborn a row."
        )
    unknown = [raw for table, raw in tables if not table and raw.rows.size and not is_help(raw.sheet)]
    unknown = [raw for raw in unknown if not is_plan(raw.columns)]
    if births or (not unknown and any(table in ALONE and raw.rows.size for table, raw in tables)):
        return
    if not tables:
        raise CannotRead(
            "The files hold no cell; the first row must hold headings, with one newborn a row below."
        )
    raw = (unknown or [tables[0][1]])[0]
    if len(percent := [heading for heading in raw.columns if is_percentage(heading)]) >= FEWEST_OF_A_MOB:
        raise no_counts(raw, percent)
    if not raw.columns and raw.file.casefold().endswith(".json"):
        raise CannotRead(f"{raw.place}: {NOT_JSON}")
    found = ", ".join(f'"{heading}"' for heading in list(raw.columns)[:6]) or "none"
    raise CannotRead(
        f"{raw.place}: no births were recognised by the headings (found {found}); name the columns as in the README, "
        "or draft a map of your own headings with: neonatal-stats map FILE -o map.toml"
    )


def no_counts(raw: RawTable, percent: Sequence[str]) -> CannotRead:
    """The error for percentages where counts belong."""
    named = ", ".join(f'"{heading}"' for heading in percent[:4])
    return CannotRead(
        f"{raw.place}: {named} {'is a percentage' if len(percent) == 1 else 'are percentages'}, and percentages cannot "
        "be read as counts: of how many they are, and what they leave out, is not in them; write the numbers that were "
        "counted."
    )


def _must_not_count_percentages(tables: list[tuple[str, RawTable]], records_map: RecordsMap) -> None:
    """Refuse percentages that a map, or their own words, take for counts of a mob."""
    own = records_map.of("mobs")
    counts = {column.name for column in TABLES["mobs"] if column.kind == "integer"}
    for raw in (raw for table, raw in tables if table == "mobs"):
        percent = [one for one in raw.columns if is_percentage(one) and own.column_of("mobs", one) in counts]
        if percent:
            raise no_counts(raw, percent)


def _must_know_its_headings(tables: list[tuple[str, RawTable]], records_map: RecordsMap) -> None:
    """Refuse births of which most headings mean nothing, where none of those known says the dam or the outcome."""
    own = records_map.of("births")
    for table, raw in tables:
        if table != "births" or raw.table:
            continue
        meant = {h: own.column_of("births", h) for h, cells in raw.columns.items() if cells.filled.any()}
        unknown = [heading for heading, name in meant.items() if name is None]
        wanted = (("the dam", DAMS), ("what became of the newborns", TOLD))
        missing = [what for what, names in wanted if not set(meant.values()) & set(names)]
        if missing and len(unknown) > len(meant) - len(unknown):
            shown = ", ".join(f'"{heading}"' for heading in unknown[:10])
            raise CannotRead(
                f"{raw.place}: most headings mean nothing here, and none of those known says {' or '.join(missing)} "
                f"(not known: {shown}); draft a map of them with: neonatal-stats map FILE -o map.toml"
            )


def _without_result(table: str, sheet: TypedTable) -> bool:
    """True for a list of samples or of colostrum of which no cell of a result can be read."""
    if table not in RESULTS:
        return False
    results = [name for name in map(str, sheet.frame) if name.partition("|")[0] in RESULTS[table]]
    return not any(sheet.frame[name].notna().any() for name in results)


def _must_tell_outcome(typed: Typed) -> None:
    for table, sheet in typed:
        if table == "births" and not any(name in sheet.frame for name in (*OUTCOMES, *AGES)):
            name = sheet.raw.sheet or sheet.raw.file
            other = (
                f'; if it holds no births, say in a map under [tables] "{name}" = "samples", "colostrum" or another '
                'table, or = "" to leave it out'
            )
            raise CannotRead(
                f"{sheet.raw.place}: no column says what became of the newborns{_hint(sheet)}; "
                f"write one of {', '.join(OUTCOMES)}, or say in a map under [columns] which heading is one"
                f"{'' if 'newborn_id' in sheet.frame else other}."
            )


def _hint(sheet: TypedTable) -> str:
    """Columns that were left out and sound like an outcome, or speak of deaths."""
    means = meanings("births", sheet.raw, TableMap())
    headings = [heading for heading, _ in left_out(sheet.raw, means) if asks_for(heading)]
    if headings:
        return f' by its heading, though "{headings[0]}" may'
    marked = sheet.frame["died|mark"].dropna()
    if not len(marked):
        return ""
    cells = (
        "1 cell of another column speaks"
        if len(marked) == 1
        else f"{len(marked)} cells of other columns speak"
    )
    return f", and {cells} of a death, such as {marked.iloc[0]}"


def _unknown(raw: RawTable) -> Remark:
    n = f"{len(raw.rows):,}"
    problem = say("the sheet was left out: none of its headings opens a table ({n} rows)", n=n)
    remedy = say(
        "if it belongs to the records, say in the map under [tables] which of {tables} it is; if not, say there "
        '"{sheet}" = ""',
        tables=", ".join(TABLES),
        sheet=raw.sheet or raw.file,
    )
    return Remark("", problem, remedy, "asked")
