"""A sheet's headings and cells as typed columns of one tidy table, with what could not be read.

How farms write headings is not believed over cells that say something else: a "litter number" that many dams share is
no litter's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from neonatal_stats.season.cells.dates import clocks_in, proven_order, read_dates
from neonatal_stats.season.cells.fates import (
    TOLD,
    later_deaths,
    marks,
    read_outcome,
    said_born_dead,
    tells_of_deaths,
    with_signs,
)
from neonatal_stats.season.cells.lists import named_beside, part_agents, part_treatments
from neonatal_stats.season.cells.no_record import lines_of
from neonatal_stats.season.cells.numbers import LIMITED, read_elapsed, read_numbers, read_with_limits
from neonatal_stats.season.cells.parsed import Parsed, findings_of, joined, left_open, read_text, read_words
from neonatal_stats.season.cells.restated import restated
from neonatal_stats.season.cells.years import dates_in, with_years
from neonatal_stats.season.finding import CannotRead, Finding, say, term
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, Remark, Rows, raw_column
from neonatal_stats.season.records_map import AGAIN, RecordsMap, TableMap, plain_heading
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import ALIKE, OF_CAUSES, TABLES, Column
from neonatal_stats.vocabulary.derived import derived
from neonatal_stats.vocabulary.farm_words import count_meant, possible_meanings
from neonatal_stats.vocabulary.units import turn

DAY_OF = {"born_at": "born_on", "died_at": "died_on"}
"""Columns of which one heading may hold the date and another the clock time."""
MOMENTS = ("born_at", "last_seen_at", "left_at", "last_alive_at")
"""A time of death is not among them: any cell under its heading tells of a death."""
ANSWERS = ("died", "born_alive", "born_dead", "alive_now")
MOST_OF_A_LITTER = 12
"""No dam of these species bears more at once (common textbook knowledge)."""
SHARED = 0.5
"""Where more than this share of the rows have a number under which another dam stands, it is no litter's own."""
MOST_PARITIES = 20
PARITIES = frozenset(
    (*map(str, range(1, MOST_PARITIES + 1)), *map("{}.0".format, range(1, MOST_PARITIES + 1)))
)
WITHIN = ("farm", "season")


@dataclass(frozen=True, eq=False)
class TypedTable:
    """Typed columns of one sheet; helper columns carry the tidy name, a bar and what they hold.

    ``beside`` are the filled columns that mean nothing here, under their own headings, row by row; of other tables than
    births also those that the map leaves out.
    """

    raw: RawTable
    frame: pd.DataFrame
    findings: tuple[Finding, ...]
    remarks: tuple[Remark, ...]
    beside: Mapping[str, RawColumn] = field(default_factory=dict)


@dataclass(frozen=True)
class _Given:
    """What stands beside a column's cells: heading, unit, months, order of day and month, joined identities."""

    heading: str
    unit: str
    months: dict[str, int]
    day_first: bool | None
    join: Mapping[str, Mapping[str, str]]


def typed_table(table: str, raw: RawTable, records_map: RecordsMap, settings: Settings) -> TypedTable:
    """Read every known column of a sheet; headings that mean nothing here are named in a remark."""
    own = records_map.of(table)
    means = meanings(table, raw, own)
    if table == "births":
        _must_not_hide_deaths(raw, own)
    heading_of, remarks = _chosen(table, raw, own, means, records_map.alive.any_value_in)
    chosen = {name: raw.columns[heading] for name, heading in heading_of.items()}
    units = {name: own.unit_of(table, name, heading) for name, heading in heading_of.items()}
    if table == "births":
        chosen = restated(chosen, heading_of, raw, records_map)
        chosen = with_years(chosen, raw, records_map, settings)
    dated = [chosen[c.name] for c in TABLES[table] if c.kind in ("moment", "date") and c.name in chosen]
    months = dict(records_map.months)
    day_first = proven_order(dated, months)
    lives = table == "births" and own.fixed.get("died") == "no"
    fixed = {name: word for name, word in own.fixed.items() if not (lives and name == "died")}
    frame: dict[str, object] = {}
    findings = list(raw.findings)
    for column in TABLES[table]:
        name = column.name
        cells = _with_fixed(chosen.get(name), fixed.get(name), len(raw.rows))
        if cells is None:
            continue
        given = _Given(heading_of.get(name, name), units.get(name, ""), months, day_first, records_map.join)
        findings += _entered(frame, table, column, cells, raw, own, given, settings)
    parted, said_of_agents = _parted(frame, table, chosen, own)
    findings, remarks = [*findings, *parted], (*remarks, *said_of_agents)
    if table == "births":
        frame["died|mark"], frame["died|against"] = marks(raw, means)
        frame["died|later beside"] = later_deaths(raw, means)
        frame["died|born dead beside"] = said_born_dead(raw, means)
        frame["died|declared"] = np.full(len(raw.rows), lives or bool(raw.table))
    typed = pd.DataFrame(frame, index=range(len(raw.rows)))
    if table == "births" and not raw.table:
        typed["died|bare"], none, said = lines_of(raw, chosen, typed)
        findings, remarks = [*findings, *none], (*remarks, *said)
        typed["died|bare"] = typed["died|bare"] | bool(raw.form)
    unread = {
        heading: cells
        for heading, cells in raw.columns.items()
        if cells.filled.any()
        and (means[heading] is None if table == "births" else heading not in heading_of.values())
    }
    return TypedTable(raw, typed, tuple(findings), remarks, unread)


def _entered(
    frame: dict[str, object],
    table: str,
    column: Column,
    cells: RawColumn,
    raw: RawTable,
    own: TableMap,
    given: _Given,
    settings: Settings,
) -> list[Finding]:
    """Put a column and its helper columns into the frame; what could not be read is found."""
    name = column.name
    parsed = _parsed(table, column, cells, raw, own, given, settings)
    findings: list[Finding] = []
    if name in own.open_words:
        parsed, asked = left_open(cells, parsed, name, own.open_words[name], table)
        findings += asked
    frame[name] = _typed(column, cells.spread(parsed.values, parsed.missing))
    for extra, (values, missing) in parsed.extra.items():
        frame[f"{name}|{extra}"] = cells.spread(values, missing)
    return [*findings, *findings_of(cells, parsed, name)]


def _parted(
    frame: dict[str, object], table: str, chosen: Mapping[str, RawColumn], own: TableMap
) -> tuple[list[Finding], list[Remark]]:
    """Part what the cells of lists hold together: agents and words for samples, products and treatments."""
    findings: list[Finding] = []
    remarks: list[Remark] = []
    if "agent" in frame:
        findings, remarks = part_agents(frame, chosen["agent"], own.words.get("agent", {}))
    if table == "treatments":
        findings += part_treatments(frame, chosen, own.words.get("product", {}))
    if "laboratory" in chosen:
        named_beside(frame, chosen["laboratory"])
    return findings, remarks


def _must_not_hide_deaths(raw: RawTable, own: TableMap) -> None:
    """Refuse a heading that the map leaves open over cells that speak of deaths: these decide."""
    for heading, cells in raw.columns.items():
        if plain_heading(heading) not in own.open_columns:
            continue
        dead = cells.rows_of(tells_of_deaths(heading, cells))
        if dead.any():
            first = cells.distinct[cells.codes[np.flatnonzero(dead)[0]]]
            raise CannotRead(
                f'{raw.place}: "{heading}" is still open in the map, and cells under it speak of a death (rows: '
                f'{int(dead.sum()):,}, such as {first}); say in the map which column it is, or "" to leave it out.'
            )


def believed(table: str, heading: str, raw: RawTable, own: TableMap) -> str | None:
    """The column that a heading means; None where only farms' manner of writing says so and the cells do not.

    "Born" over cells without any date counts newborns, and so does "dead" over whole numbers, where one of them is
    above 1 or another column counts newborns. A number that many dams share names no litter.
    """
    meant = own.column_of(table, heading)
    if not meant or not own.only_spoken(table, heading):
        return meant
    if meant in MOMENTS and not dates_in(raw.columns[heading]):
        return None
    if meant == "litter_id" and table == "births":
        return litter_or_parity(heading, raw, own)
    return None if meant in ANSWERS and _is_count(heading, raw) else meant


def meanings(table: str, raw: RawTable, own: TableMap) -> dict[str, str | None]:
    """What each heading of a sheet means: "" where the map leaves it out, None where nothing says.

    A heading that only farms' manner of writing knows gives way to a tidy one, or one of the map, for the same column:
    then it is a column that was left out.
    """
    sure = {own.column_of(table, heading) for heading in raw.columns if not own.only_spoken(table, heading)}
    found = {heading: believed(table, heading, raw, own) for heading in raw.columns}
    return {
        heading: None if meant in sure - {*DAY_OF} and own.only_spoken(table, heading) else meant
        for heading, meant in found.items()
    }


def _is_count(heading: str, raw: RawTable) -> bool:
    """True where a heading that may count newborns stands over numbers of them."""
    if count_meant(heading) is None or not _numbers(raw.columns[heading], above=-1):
        return False
    counting = [cells for other, cells in raw.columns.items() if count_meant(other) not in (None, ALIKE)]
    return any(_numbers(cells, above=1) for cells in counting)


def _numbers(cells: RawColumn, above: int) -> bool:
    """True where most filled cells are whole numbers, some of them above that."""
    texts = [str(cell).removesuffix(".0") for cell in cells.distinct]
    whole = np.array([float(text) if text.isascii() and text.isdigit() else np.nan for text in texts])
    number = np.isfinite(whole) & (cells.uses > 0)
    return bool(2 * cells.uses[number].sum() > cells.uses.sum() and (whole[number] > above).any())


def _chosen(
    table: str, raw: RawTable, own: TableMap, means: Mapping[str, str | None], shows_life: tuple[str, ...]
) -> tuple[dict[str, str], tuple[Remark, ...]]:
    """The sheet's headings by the columns that they mean."""
    several: dict[str, list[str]] = {}
    remarks = list(raw.remarks)
    for heading, meant in means.items():
        if meant is None and (again := AGAIN.fullmatch(heading)) and again[1] in raw.columns:
            _ask_which(table, again[1], heading, raw, own)
        if meant:
            several.setdefault(meant, []).append(heading)
        elif raw.columns[heading].filled.any() and (meant == "" or plain_heading(heading) not in shows_life):
            remarks.append(_left_out(table, heading, meant))
    heading_of: dict[str, str] = {}
    for name, headings in several.items():
        heading_of |= _one_each(name, headings, raw, set(several))
    return heading_of, tuple(remarks)


def _left_out(table: str, heading: str, meant: str | None) -> Remark:
    if meant == "":
        remedy = say("nothing need be done if that was meant")
        return Remark(heading, say("the map leaves this column out"), remedy)
    if derived(table, heading):
        problem = say("the review works out a column of this name by itself; that of the file is left out")
    else:
        problem = say("no column of {table} is called so; the review leaves it out", table=term(table))
    remedy = say(
        'if it belongs to the records, say in the map under [columns] which column "{heading}" is',
        heading=heading,
    )
    return Remark(heading, problem, remedy, "asked")


def _ask_which(table: str, first: str, second: str, raw: RawTable, own: TableMap) -> None:
    """Refuse two columns of one name where the name means something: nobody can know which is which."""
    if not own.column_of(table, first) and (own.columns or not possible_meanings(table, first)):
        return
    shown = [
        next(str(cell) for cell in raw.columns[name].distinct if cell is not None) for name in (first, second)
    ]
    raise CannotRead(
        f'{raw.place}: the heading "{first}" stands over two columns, one with {shown[0]} and one with {shown[1]}; say '
        f'in the map under [columns] what each is, "{first}" = ... and "{second}" = ... ("" leaves one out).'
    )


def _one_each(meant: str, headings: list[str], raw: RawTable, taken: set[str]) -> dict[str, str]:
    """A column's one heading; of two for a birth or a death, one may hold the date and one the clock time."""
    if len(headings) == 1:
        return {meant: headings[0]}
    filled = [heading for heading in headings if raw.columns[heading].filled.any()]
    if len(filled) < 2:
        return {meant: (filled or headings)[0]}
    day = DAY_OF.get(meant)
    timed = [heading for heading in filled if np.isfinite(clocks_in(raw.columns[heading])).any()]
    if day and day not in taken and len(filled) == 2 and len(timed) == 1:
        return {meant: timed[0], day: next(heading for heading in filled if heading not in timed)}
    raise CannotRead(
        f'{raw.place}: the headings "{filled[0]}" and "{filled[1]}" both mean {meant}; '
        'rename one of them, or leave one out in the map with = "".'
    )


def _with_fixed(cells: RawColumn | None, fixed: str | None, rows: int) -> RawColumn | None:
    """A column's cells with its blanks filled by the value that the map fixes."""
    if not fixed:
        return cells
    if cells is None:
        return raw_column([fixed] * rows)
    distinct = np.append(cells.distinct, np.array([fixed], dtype=object))
    return RawColumn(np.where(cells.codes < 0, len(distinct) - 1, cells.codes), distinct)


def _parsed(
    table: str,
    column: Column,
    cells: RawColumn,
    raw: RawTable,
    own: TableMap,
    given: _Given,
    settings: Settings,
) -> Parsed:
    if table == "births" and column.name in TOLD:
        return read_outcome(column, cells, given.heading, raw.place, own, settings, given.months)
    if table == "samples" and column.name in LIMITED:
        return read_with_limits(cells, lambda bare: _read(column, bare, raw, own, given, settings))
    parsed = _read(column, cells, raw, own, given, settings)
    return with_signs(column, cells, parsed, own) if table == "births" else parsed


def _read(
    column: Column, cells: RawColumn, raw: RawTable, own: TableMap, given: _Given, settings: Settings
) -> Parsed:
    if column.kind in ("moment", "date"):
        return read_dates(column, cells, raw.place, settings, given.months, given.day_first)
    if column.kind in ("term", "terms", "yes_no"):
        words, spoken = column.words, dict(own.words.get(column.name, {}))
        if column.name in OF_CAUSES:
            words, spoken = settings.causes, {**settings.cause_words, **spoken}
        return read_words(column, cells, words, spoken)
    if column.kind == "text":
        return joined(read_text(column, cells), given.join.get(column.name, {}))
    declared = turn(column, given.unit) if given.unit else None
    if column.kind == "elapsed":
        return read_elapsed(column, cells, declared, raw.decimal_comma)
    return read_numbers(column, cells, declared, raw.decimal_comma, own.words.get(column.name, {}))


def _typed(column: Column, values: object) -> object:
    if column.kind != "yes_no":
        return values
    answers = np.asarray(values, dtype=object)
    return pd.arrays.BooleanArray(answers == "yes", (answers != "yes") & (answers != "no"))


def litter_or_parity(heading: str, raw: RawTable, own: TableMap) -> str | None:
    """What a heading that may name a litter means: litter_id, or dam_parity for small numbers that dams share.

    None for any other cells that dams share, and for those that share a column with the dam's parity.
    """
    cells = raw.columns[heading]
    rows = cells.filled & ~raw.found
    if not rows.any() or _shared(cells, rows, raw, own)[rows].mean() <= SHARED:
        return "litter_id"
    small = all(str(cell).strip() in PARITIES for cell in cells.distinct[cells.uses > 0])
    free = not any(own.column_of("births", other) == "dam_parity" for other in raw.columns)
    return "dam_parity" if small and free else None


def _shared(cells: RawColumn, rows: Mask, raw: RawTable, own: TableMap) -> Mask:
    """Rows whose cell stands under several dams of a farm and season; without dams, in more rows than a litter has."""
    meant = {own.column_of("births", other): column for other, column in raw.columns.items()}
    group = np.where(rows, cells.codes, -1)
    for name in WITHIN:
        if name in meant:
            group = _within(group, meant[name].codes)
    if (dam := meant.get("dam_id")) is None:
        return np.asarray(
            np.bincount(group[rows] + 1, minlength=group.max() + 2)[group + 1] > MOST_OF_A_LITTER
        )
    pairs = np.unique(np.column_stack([group, dam.codes])[rows & dam.filled], axis=0)
    dams: Rows = np.bincount(pairs[:, 0], minlength=group.max() + 1)
    return np.asarray((dams > 1)[np.maximum(group, 0)] & (group >= 0))


def _within(group: Rows, other: Rows) -> Rows:
    """The groups told apart by another column; what belongs to none stays so."""
    _, codes = np.unique(group * (other.max() + 2) + other + 1, return_inverse=True)
    return np.where(group >= 0, codes, -1).astype(np.int64)
