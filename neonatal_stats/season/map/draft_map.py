"""A drafted map: of which table is each sheet, and what do its headings and words mean? What is not sure is shown."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from neonatal_stats.season.blank import is_help
from neonatal_stats.season.cells.fates import tells_of_deaths
from neonatal_stats.season.files.header import table_below
from neonatal_stats.season.files.opened import NOT_JSON, Paths, listed, open_all
from neonatal_stats.season.finding import CannotRead, where
from neonatal_stats.season.gathering.counted import with_zeros
from neonatal_stats.season.gathering.litters import parted
from neonatal_stats.season.gathering.mob_sheets import with_parts_summed
from neonatal_stats.season.gathering.shed import from_the_shed, without_letters
from neonatal_stats.season.gathering.sheets import upright
from neonatal_stats.season.gathering.which_table import (
    OPENED_BY,
    TELLS_OF_BIRTHS,
    TOLD,
    counts_a_mob,
    known_heading,
    names_an_animal,
    of_carcasses,
    of_serum,
    table_of_sheet,
)
from neonatal_stats.season.grid import Grid, RawTable
from neonatal_stats.season.map.headings import lines_of, notes_of
from neonatal_stats.season.map.likeness import like_heading
from neonatal_stats.season.map.map_text import Line, left_open, map_text
from neonatal_stats.season.map.proofs import OUTCOMES, Sheet
from neonatal_stats.season.records_map import RecordsMap, TableMap, map_of, plain_heading
from neonatal_stats.vocabulary.columns import LISTS, TABLES
from neonatal_stats.vocabulary.farm_words import possible_meanings
from neonatal_stats.vocabulary.fates import asks_for

HELD_BY = {
    "samples": frozenset(("igg_g_per_l", "total_protein_g_per_dl", "turbidity")),
    "treatments": frozenset(("treatment", "product")),
}
"""What only such a list holds, besides what a book of births may hold too."""
IN_BIRTHS = frozenset((*TOLD, "cause", *TELLS_OF_BIRTHS))
NOT_IN = {"samples": IN_BIRTHS, "treatments": IN_BIRTHS | {"born_at", "born_on", "litter_size", "delivery"}}
"""What stands in a book of births and not in such a list."""


@dataclass(frozen=True)
class Draft:
    """A drafted map: its text (TOML), the lines that it leaves open for a person, and the headings that it left out."""

    text: str
    open: tuple[Line, ...]
    left_out: tuple[str, ...] = ()


def draft_map(paths: Paths) -> str:
    """The text of a map (TOML) for some files, to be looked over and completed by a person.

    Headings and values are compared with the tidy ones and with how farms write them in twelve languages. A close and
    unrivalled match is written; anything else is left open as "?", with the first values and the nearest candidates
    beside it. What is known to belong to no column, or is like none, is written as left out ("").
    """
    return drafted(paths).text


def drafted(paths: Paths, old: str = "", name: str = "map.toml") -> Draft:
    """A map drafted from nothing or from an old one, whose lines are kept: only what is open or new is added.

    Raises `CannotRead` where the files cannot be opened or the old map is not valid.
    """
    own = map_of(name, _loaded(old, name), unfinished=True)
    sheets = list(_tables(paths, own))
    if not sheets:
        raise _no_cell(paths)
    aside = [raw for raw in sheets if _is_aside(raw, sheets, own)]
    lines = [_left_aside(raw) for raw in aside if plain_heading(raw.sheet) not in own.tables]
    notes: list[str] = []
    for raw in sheets:
        if raw in aside:
            continue
        sheet = _sheet(raw, own)
        for line in lines_of(sheet):
            if (line.section, line.said) not in {(other.section, other.said) for other in lines}:
                lines.append(line)
        notes += [note for note in notes_of(sheet) if note not in notes]
    text = map_text(lines, notes, old)
    return Draft(text, tuple(left_open(text, lines)), tuple(line.said for line in lines if not line.meant))


def _no_cell(paths: Paths) -> CannotRead:
    """The sentence for files that hold nothing."""
    files = listed(paths).files
    if any(str(file.path).casefold().endswith(".json") for file in files):
        return CannotRead(f"{files[0].name}: {NOT_JSON}")
    return CannotRead(
        "The files hold no cell; the first row must hold headings, with one newborn a row below."
    )


def _left_aside(raw: RawTable) -> Line:
    """The line that leaves a sheet out."""
    rows = f"{len(raw.rows):,} row{'s' * (len(raw.rows) != 1)}"
    return Line("tables", raw.sheet, "", f"left out; names no animal in {rows}")


def _sheet(raw: RawTable, own: RecordsMap) -> Sheet:
    """A sheet of the likeliest table, about to be drafted."""
    table = _likeliest_table(raw, own)
    return Sheet(table, with_parts_summed(raw, own.of(table)) if table == "mobs" else raw, own)


def _loaded(old: str, name: str) -> dict[str, object]:
    try:
        return tomllib.loads(old)
    except tomllib.TOMLDecodeError as error:
        raise CannotRead(f"{name}: it is not valid TOML ({error}); mend it there.") from None


def _tables(paths: Paths, own: RecordsMap) -> Iterator[RawTable]:
    for grid in open_all(listed(paths), "", own.encodings).grids:
        if not is_help(grid.sheet) and ((grid.height and not grid.headed) or grid.headings):
            yield _table(grid, own)


def _table(grid: Grid, own: RecordsMap) -> RawTable:
    def known(heading: str) -> bool:
        return known_heading(own, heading) or any(
            possible_meanings(table, heading) or like_heading(table, heading).sure for table in TABLES
        )

    table = _without_totals(without_letters(from_the_shed(table_below(upright(grid, own), known))))
    births = own.of("births")
    with suppress(CannotRead):  # said where the records are read; the draft goes on to what else there is
        table = parted(table, births)
    return with_zeros(table, births)


def _without_totals(table: RawTable) -> RawTable:
    """The sheet without the rows that are no records: a row of totals says nothing of what a column means."""
    kept = where(~table.found)
    if len(kept) == len(table.rows) or not len(kept):
        return table
    columns = {heading: cells.take(kept) for heading, cells in table.columns.items()}
    return replace(table, columns=columns, rows=table.rows[kept], findings=())


def _is_aside(raw: RawTable, sheets: Sequence[RawTable], own: RecordsMap) -> bool:
    """True for a sheet that the map leaves out, and for one that names no animal and opens no table beside others."""
    named = own.tables.get(plain_heading(raw.sheet)) if raw.sheet else None
    if named is not None:
        return named == ""
    others = [other for other in sheets if other is not raw and _names_animals(other, own)]
    return (
        bool(raw.sheet and others)
        and table_of_sheet(raw, own) in ("", "births")
        and not _names_animals(raw, own)
    )


def _names_animals(raw: RawTable, own: RecordsMap) -> bool:
    """True where a heading means, or may mean, an animal, a litter or a mob."""
    if names_an_animal(raw.columns, own):
        return True
    possible = {m.column for table in TABLES for h in raw.columns for m in possible_meanings(table, h)}
    return bool(possible & {"dam_id", "newborn_id", "litter_id", "mob"})


def _likeliest_table(raw: RawTable, own: RecordsMap) -> str:
    """The table of which most headings are surely or likely known."""
    for name in (raw.sheet, raw.file, raw.file.rpartition(".")[0]):
        if name and own.tables.get(plain_heading(name)):
            return own.tables[plain_heading(name)]
    scores = {}
    for table in TABLES:
        found = {_nearest(own.of(table), table, heading) for heading in raw.columns} - {""}
        if table == "mobs" and (not counts_a_mob(found) or _of_animals(raw, own)):
            found = set()
        opened = {_sure(own.of(table), table, heading) for heading in raw.columns} & OPENED_BY[table] & found
        scores[table] = len(found) + 2 * len(opened)
    if _is_list(raw, own):
        scores["births"] = 0
    named = {
        table: score + 0.5 * (table.rstrip("s") in (raw.file + raw.sheet).casefold())
        for table, score in scores.items()
    }
    likeliest = max(named, key=lambda table: named[table])
    if likeliest == "colostrum" and of_serum(raw, own.of("colostrum")):
        return "samples"
    sure = table_of_sheet(raw, own)
    return sure if likeliest == "births" and sure in LISTS and not _may_tell_outcomes(raw, own) else likeliest


def _is_list(raw: RawTable, own: RecordsMap) -> bool:
    """True for a sheet of blood values or of treatments in which nothing says what became of anyone, or of carcasses
    opened on a day in which nothing is said of the living.
    """
    if of_carcasses(raw, own):
        return True
    births = {own.of("births").column_of("births", heading) for heading in raw.columns}
    for table, holds in HELD_BY.items():
        meant = {heading: own.of(table).column_of(table, heading) for heading in raw.columns}
        others = {heading: cells for heading, cells in raw.columns.items() if meant[heading] is None}
        if holds & set(meant.values()) and not births & NOT_IN[table]:
            return not any(tells_of_deaths(heading, cells).any() for heading, cells in others.items())
    return False


def _may_tell_outcomes(raw: RawTable, own: RecordsMap) -> bool:
    """True where any heading means, may mean or sounds like what became of newborns."""
    for heading in raw.columns:
        meant = {own.of("births").column_of("births", heading)}
        meant |= {meaning.column for meaning in possible_meanings("births", heading)}
        if meant & OUTCOMES or asks_for(heading) in ("dead", "alive"):
            return True
    return False


def _sure(own: TableMap, table: str, heading: str) -> str:
    """The column that a heading surely means or is surely like; what has many meanings ("Date") opens no table."""
    if (known := own.column_of(table, heading)) is not None:
        return known
    like = like_heading(table, heading)
    return like.meant if like.sure and not possible_meanings(table, heading) else ""


def _of_animals(raw: RawTable, own: RecordsMap) -> bool:
    """True where a heading names a single dam or newborn, or may and means nothing of a mob."""
    if names_an_animal(raw.columns, own):
        return True
    for heading in raw.columns:
        possible = {meaning.column for meaning in possible_meanings("births", heading)}
        if possible & {"dam_id", "newborn_id"} and not possible_meanings("mobs", heading):
            return True
    return False


def _nearest(own: TableMap, table: str, heading: str) -> str:
    """The column that a heading means or comes near; "" where none does."""
    if (known := own.column_of(table, heading)) is not None:
        return known
    possible = possible_meanings(table, heading)
    like = like_heading(table, heading)
    return possible[0].column if possible else like.meant if like.candidates else ""
