"""A drafted map: headings and words matched as far as they can be, the rest left open and shown."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.blank import is_help
from neonatal_stats.season.cells.agents import names_agents, said_of
from neonatal_stats.season.cells.contradicted import litter_or_parity
from neonatal_stats.season.cells.dates import clocks_in, take_apart
from neonatal_stats.season.cells.fates import (
    DEATHS,
    UNREAD,
    VIVO,
    outcome_asked,
    read_born_alive,
    read_died,
    tells_of_deaths,
)
from neonatal_stats.season.cells.numbers import NUMBER, litter_words
from neonatal_stats.season.cells.parsed import cause_of, is_nothing, lexicon, plain, tells
from neonatal_stats.season.cells.restated import marked_apart
from neonatal_stats.season.cells.treated import treatments_of
from neonatal_stats.season.cells.typed import ANSWERS, DAY_OF
from neonatal_stats.season.cells.years import NoYear, dates_in, with_years
from neonatal_stats.season.files.header import table_below
from neonatal_stats.season.files.opened import Paths, listed, open_all
from neonatal_stats.season.files.plain_json import NOT_JSON
from neonatal_stats.season.finding import CannotRead, where
from neonatal_stats.season.gathering.asked import sizes_in_words
from neonatal_stats.season.gathering.counted import (
    COUNTED_INSTEAD,
    count_headings,
    counts_of_litters,
    numbers,
)
from neonatal_stats.season.gathering.litters import dams, numbered, without_young
from neonatal_stats.season.gathering.mob_sheets import with_parts_summed
from neonatal_stats.season.gathering.one_cell import holds_litters, parted
from neonatal_stats.season.gathering.results import RESULTS, of_serum
from neonatal_stats.season.gathering.shed import from_the_shed
from neonatal_stats.season.gathering.sheets import (
    OPENED_BY,
    counts_a_mob,
    is_percentage,
    known_heading,
    names_an_animal,
    table_of_sheet,
    upright,
)
from neonatal_stats.season.gathering.slips import without_letters
from neonatal_stats.season.gathering.zeros import with_zeros
from neonatal_stats.season.grid import Grid, Mask, RawColumn, RawTable
from neonatal_stats.season.map.likeness import (
    Likeness,
    chosen_by_cells,
    counts_agree,
    counts_by_sums,
    counts_by_words,
    counts_of_born,
    fits,
    like_heading,
    like_values,
    like_word,
    open_counts,
    proven_count,
    proven_counts,
)
from neonatal_stats.season.map.living import AGED, all_dead, is_list
from neonatal_stats.season.map.map_text import Line, map_text, quoted_key
from neonatal_stats.season.records_map import (
    AGAIN,
    OPEN,
    RecordsMap,
    TableMap,
    map_of,
    plain_heading,
    words_offered,
    words_taken,
)
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import ALIKE, ALONE, LISTS, OF_CAUSES, TABLES, Column, column_of
from neonatal_stats.vocabulary.farm_words import (
    count_meant,
    is_no_column,
    known_column,
    near_by_words,
    possible_meanings,
    species_spoken_of,
    sure_meaning,
    tongues_of,
)
from neonatal_stats.vocabulary.fates import AT_BIRTH, BORN_DEAD, age_said, asks_for, stage_asked
from neonatal_stats.vocabulary.ordinals import pattern_of
from neonatal_stats.vocabulary.seasons_named import names_a_season
from neonatal_stats.vocabulary.spelling import folded, words
from neonatal_stats.vocabulary.stage_words import mob_meaning

SHOWN = 4
NEARLY_ALL, FEW_KINDS = 0.8, 4
TIME_OF_A_LIST = {
    "samples": "sampled_at",
    "colostrum": "milked_at",
    "examinations": "examined_at",
    "treatments": "given_at",
}
MOST_WORDS = 40
OUTCOMES = words("""
    died died_at died_on found_dead_at alive_now born_alive born_dead cause age_at_death age_at_death_h
    age_at_death_d newborns_lost newborns_died newborns_reared newborns_born_dead
""")
NO_OUTCOME = (
    "No column says what became of the newborns. Where any value in one of these shows that a newborn lived, say so:",
    "[alive]",
    "any_value_in = [{headings}]",
    'no_value_means = "dead"   # or leave this line out: then a newborn without a value has no outcome',
)
NO_BIRTHS = (
    "Where it holds no births, say what it holds and draft again: [tables] with a line such as",
    '"{name}" = "colostrum"   # or samples, examinations, treatments, feeds, mobs, weather; "" leaves it out',
)

OF_DEATHS = {
    *OUTCOMES - {"alive_now", "born_alive", "newborns_reared"},
    "left_at",
    "left_reason",
}
"""Columns whose values show no life; who left is spoken of by its own column."""
OF_SAMPLES = ("agent", "laboratory")
NEVER_BY_LIKENESS = ("died", "born_alive", "alive_now", "born_dead", *OF_SAMPLES)
"""Columns whose words mean the opposite by one small word more ("no agent found"): what is only like one is asked."""
UNLIKE = Likeness("", False, ())
UNSURE = ("dead", "alive")
"""Counts of which the heading does not say whom they count: at birth, later, or both."""


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
    lines: list[Line] = []
    notes: list[str] = []
    sheets = list(_tables(paths, own))
    aside = [raw for raw in sheets if _is_aside(raw, sheets, own)]
    tables = [(_likeliest_table(raw, own), raw) for raw in sheets if raw not in aside]
    lines += [
        Line(
            "tables",
            raw.sheet,
            "",
            f"left out; names no animal in {len(raw.rows):,} row{'s' * (len(raw.rows) != 1)}",
        )
        for raw in aside
        if plain_heading(raw.sheet) not in own.tables
    ]
    if not sheets and any(str(file.path).casefold().endswith(".json") for file in listed(paths).files):
        raise CannotRead(f"{listed(paths).files[0].name}: {NOT_JSON}")
    if not sheets:
        raise CannotRead(
            "The files hold no cell; the first row must hold headings, with one newborn a row below."
        )
    for table, raw in tables:
        sheet = _Sheet(table, with_parts_summed(raw, own.of(table)) if table == "mobs" else raw, own)
        for line in sheet.lines():
            if (line.section, line.said) not in {(other.section, other.said) for other in lines}:
                lines.append(line)
        notes += [note for note in sheet.notes() if note not in notes]
    text = map_text(lines, notes, old)
    return Draft(text, tuple(_left_open(text, lines)), tuple(line.said for line in lines if not line.meant))


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


def _loaded(old: str, name: str) -> dict[str, object]:
    try:
        return tomllib.loads(old)
    except tomllib.TOMLDecodeError as error:
        raise CannotRead(f"{name}: it is not valid TOML ({error}); mend it there.") from None


def _left_open(text: str, lines: list[Line]) -> Iterator[Line]:
    """The open lines of the whole map, those of the old one too."""
    beside = {(line.section, line.said): line.beside for line in lines}

    def walk(section: str, found: dict[str, object]) -> Iterator[Line]:
        for key, value in found.items():
            if isinstance(value, dict):
                yield from walk(f"{section}.{key}".lstrip("."), value)
            elif value == OPEN:
                near = beside.get((section, key)) or beside.get((f"births.{section}", key), "")
                yield Line(section, key, OPEN, near)

    yield from walk("", tomllib.loads(text))


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
    if is_list(raw, own):
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


class _Sheet:
    """One sheet while its lines are drafted."""

    def __init__(self, table: str, raw: RawTable, records_map: RecordsMap) -> None:
        self.table, self.raw, self.records_map = table, raw, records_map
        self.own = records_map.of(table)
        self.tongues = tongues_of(raw.columns) if table == "births" else ()
        kept = where(~raw.found)
        self.cells = {heading: _used(column.take(kept)) for heading, column in raw.columns.items()}
        counts = counts_of_litters(raw, self.own) if table == "births" else frozenset()
        self.counts = (
            {h: name for h, name in count_headings(raw, self.own).items() if h in counts} if counts else {}
        )
        if table == "births" and not self.counts:
            self.counts = counts_by_words(raw, self.own) or counts_by_sums(raw, self.own)
        self.meant: dict[str, str] = {
            heading: name for heading in raw.columns if (name := self._known(heading)) is not None
        }
        self.known = frozenset(self.meant)

    def _known(self, heading: str) -> str | None:
        """What the map, the tidy columns or the sure words of farms say of a heading."""
        if heading in self.counts:
            return self.counts[heading]
        name = self.own.column_of(self.table, heading)
        if name is None and self.table == "births" and (place := numbered(heading, self.own)):
            return place[0]
        return name

    def lines(self) -> list[Line]:
        """The lines that this sheet needs."""
        found: list[Line] = []
        for heading in sorted(self.raw.columns, key=self._turn):
            line = self._heading(heading)
            if line is not None:
                self.meant[heading] = line.meant.replace(OPEN, "")
            if line is not None and line.said not in {other.said for other in found}:
                found.append(line)
        if self.table in LISTS:
            found = self._with_a_result(self._one_heading_each(found))
        order = list(self.raw.columns)
        found.sort(key=lambda line: order.index(line.said) if line.said in order else len(order))
        for heading, name in self.meant.items():
            if name and heading not in self.counts:
                found += _words(self, known_column(self.table, name), heading)
        return [*found, *self._units(found), *self._species(), *self._years()]

    def _one_heading_each(self, lines: list[Line]) -> list[Line]:
        """The lines of a list, of which no two headings may mean one column: those that nobody has said are asked."""
        means: dict[str, list[str]] = {}
        for heading, name in self.meant.items():
            if name and self.cells[heading].filled.any():
                means.setdefault(name, []).append(heading)
        for name, headings in means.items():
            if len(headings) < 2 or name in DAY_OF:
                continue
            for heading in headings:
                if not self.own.only_spoken(self.table, heading) or self._mapped(heading):
                    continue
                others = ", ".join(f'"{other}"' for other in headings if other != heading)
                beside = f"holds {_shown(self.cells[heading])}; perhaps {name}, as {others} may be too"
                lines = [line for line in lines if line.said != heading]
                lines.append(Line(f"{self.table}.columns", heading, OPEN, beside))
                self.meant[heading] = ""
        return lines

    def _with_a_result(self, lines: list[Line]) -> list[Line]:
        """The lines of a list, of which what was left out is asked where no column holds a result."""
        results = RESULTS.get(self.table, ())
        if not results or set(results) & set(self.meant.values()):
            return lines
        perhaps = " or ".join(results)
        return [
            replace(line, meant=OPEN, beside=f"holds {_shown(self.cells[line.said])}; perhaps {perhaps}")
            if line.said in self.cells and self._may_be_a_result(line)
            else line
            for line in lines
        ]

    def _may_be_a_result(self, line: Line) -> bool:
        left = line.meant == "" and not is_no_column(line.said) and not self._mapped(line.said)
        return left and bool(self.cells[line.said].filled.any())

    def _turn(self, heading: str) -> tuple[bool, bool]:
        """What is known comes first, and ages last: only what became of the newborns tells at what they stand."""
        may_be = {meaning.column for meaning in possible_meanings(self.table, heading)}
        return heading not in self.meant, bool(may_be & AGED)

    def _heading(self, heading: str) -> Line | None:
        """The line of a heading; None where it needs none."""
        section, cells = f"{self.table}.columns", self.cells[heading]
        if self._mapped(heading) or column_of(self.table, heading) is not None:
            return None
        if self.table == "mobs" and is_percentage(heading):
            return Line(section, heading, "", "left out; a percentage is no count")
        taken = {name for name in self.meant.values() if name}
        if (count := self.counts.get(heading)) is not None:
            if count in UNSURE and count_meant(heading) == count and counts_agree(self.raw, self.counts):
                return None
            if count in UNSURE and (proven := proven_count(self.raw, self.counts, heading)):
                return Line(section, heading, proven, "by its sums")
            if not count:
                return Line(section, heading, "", "left out; it is the born less the dead")
            unsure = count in UNSURE
            return Line(section, heading, OPEN if unsure else count, _shown(cells) if unsure else "")
        if (pattern := self._pattern(heading)) is not None:
            return self._numbered(pattern, heading)
        if (again := AGAIN.fullmatch(heading)) or f"{heading} [2]" in self.raw.columns:
            base = again[1] if again else heading
            return Line(section, heading, OPEN, self._beside(base, cells)) if self._may_mean(base) else None
        if (spoken := sure_meaning(self.table, heading)) is not None:
            if spoken.column in ANSWERS and counts_of_born(self.raw, heading):
                beside = f"holds {_shown(cells)}; counts newborns of a litter, perhaps {COUNTED_INSTEAD[spoken.column]}"
                return Line(section, heading, OPEN, beside)
            name = self._by_cells(spoken.column, heading, cells)
            return Line(section, heading, name, self._beside(heading, cells) if name == OPEN else "")
        if heading in self.meant:
            return None
        if self.table == "births" and (line := self._at_a_stage(heading, taken)) is not None:
            return line
        counts = open_counts(self.raw, self.own) if self.table == "births" else []
        if heading in counts and (line := self._count(heading)) is not None:
            return line
        if not cells.filled.any():
            return None
        possible = tuple(meaning.column for meaning in possible_meanings(self.table, heading, self.tongues))
        if self.table == "births" and "litter_size" not in taken and sizes_in_words(cells, self.own):
            return Line(section, heading, "litter_size", f"by its cells: {_shown(cells)}")
        if "born_at" in possible and "born_at" not in taken and self._dated_as_the_dam_is_named(heading):
            return Line(section, heading, "born_at", f"by its cells: {_shown(cells)}")
        if (
            self.table == "births"
            and (line := self._by_what_stands_beside(heading, possible, taken)) is not None
        ):
            return line
        if possible and (
            chosen := chosen_by_cells(possible, cells, taken, self.table, _unit_said(self.table, heading))
        ):
            return self._by_its_cells(chosen, heading)
        if (of_a_day := self._clock_beside_a_day(heading, possible)) is not None:
            return of_a_day
        if (listed := self._its_own_words(heading, taken)) is not None:
            return listed
        if self.table == "mobs" and "season" not in taken and self._holds_seasons(heading):
            return Line(section, heading, "season", f"by its cells: {_shown(cells)}")
        if self.table == "mobs" and (line := self._of_a_mob(heading, cells, taken)) is not None:
            return line
        if self._says_what_became(heading, cells, taken):
            return Line(section, heading, "died", f"by its cells: {_shown(cells)}")
        like = like_heading(self.table, heading, self.tongues)
        likely = not possible and like.sure and like.meant not in taken
        if likely and fits(known_column(self.table, like.meant), cells):
            name = self._by_cells(like.meant, heading, cells) if like.meant == "litter_id" else like.meant
            return Line(section, heading, name, self._beside(heading, cells) if name == OPEN else "")
        if self._is_left_out(heading, cells, possible or like.candidates):
            return Line(section, heading, "", f"left out; holds {_shown(cells)}")
        return Line(section, heading, OPEN, self._beside(heading, cells))

    def _says_what_became(self, heading: str, cells: RawColumn, taken: set[str]) -> bool:
        """True for words of death and life under a heading that asks for them ("Sold/Died"), where none else does."""
        if self.table != "births" or taken & {"died", "alive_now"} or not asks_for(heading):
            return False
        tells_life = read_died(cells, "either", {}, {}).state
        known = [answer not in (UNREAD, "") for answer in tells_life]
        return bool(known) and all(known) and fits(known_column("births", "died"), cells)

    def _with_dam(self) -> TableMap:
        """The map with the dam as it is drafted so far, by which rows are told to be littermates."""
        drafted_ = {
            plain_heading(h): name
            for h, name in self.meant.items()
            if name in ("dam_id", "born_at", "born_on")
        }
        return replace(self.own, columns={**drafted_, **self.own.columns})

    def _dated_as_the_dam_is_named(self, heading: str) -> bool:
        """True for dates that stand in the very rows, not all, in which a litter's dam does: days of its birth."""
        dam = next((h for h, name in self.meant.items() if name == "dam_id"), None)
        if dam is None or not _has_dates(self.cells[heading]):
            return False
        here = self.cells[heading].filled
        return bool(not here.all() and (here == self.cells[dam].filled).all())

    def _at_a_stage(self, heading: str, taken: set[str]) -> Line | None:
        """An outcome at a stage ("Alive at weaning"): the latest one counts, where it tells of all earlier deaths."""
        late = {
            other: stage[1] for other in self.raw.columns if (stage := stage_asked(other)) and stage[1] > 0
        }
        if heading not in late or not _tells_all(heading, self.cells[heading]):
            return None
        section, shown = "births.columns", f"by its cells: {_shown(self.cells[heading])}"
        last = max(late, key=lambda other: late[other])
        if heading != last:
            dead = self._dead_at(heading)
            covered = _tells_all(last, self.cells[last]) and not (dead & ~self._dead_at(last)).any()
            beside = f"left out; whom it says dead, {last} says dead too"
            return Line(section, heading, "", beside) if covered else None
        asked = stage_asked(heading)[0]  # type: ignore[index]
        name = "alive_now" if asked == "alive" else "died"
        if name in taken:
            return None
        if heading.casefold().startswith(("present", "there", "vorhanden")):
            shown += "; who is not there counts as dead"
        return Line(section, heading, name, shown)

    def _dead_at(self, heading: str) -> Mask:
        cells = self.raw.columns[heading]
        return cells.rows_of(np.isin(read_died(cells, outcome_asked(heading), {}, {}).state, DEATHS))

    def _by_what_stands_beside(self, heading: str, possible: tuple[str, ...], taken: set[str]) -> Line | None:
        """What other columns prove of a heading: letters of dead and alive beside the sexes, a clock beside the day of
        birth, ages where deaths are asked for, causes that stand for the dead alone.
        """
        section, cells = "births.columns", self.cells[heading]
        shown = f"by its cells: {_shown(cells)}"
        asked = outcome_asked(heading, "")
        spoken = {"es", "fr", "it", "pt"} & set(self.tongues)
        if asked == VIVO and spoken and "sex" in taken and "died" not in taken and _tells_all(heading, cells):
            return Line(section, heading, "died", shown)
        if "birth_order" in possible and (name := self._within_litters(cells)) not in {"", *taken}:
            return Line(section, heading, name, shown)
        if "died_at" in possible and _all_ages(cells) and not taken & {"died_at", *AGED}:
            return Line(section, heading, "age_at_death", shown)
        if "born_at" in possible and (line := self._clock_of_birth(heading)) is not None:
            return line
        told = "cause" in possible and "cause" not in taken and cells.filled.any()
        if told and all_dead(self.raw, heading, self.meant):
            return Line(section, heading, "cause", f"filled for the dead alone: {_shown(cells)}")
        return None

    def _within_litters(self, cells: RawColumn) -> str:
        """Numbers that littermates share are the size of a litter, those that differ in it the order of birth."""
        litter = dams(self.raw, self._with_dam())
        if litter is None:
            return ""
        number = numbers(cells)
        told = (litter >= 0) & np.isfinite(number)
        by_litter = pd.Series(number[told]).groupby(litter[told]).agg(["size", "nunique"])
        several = by_litter[by_litter["size"] > 1]
        if not len(several):
            return ""
        if (several["nunique"] == 1).mean() >= NEARLY_ALL:
            return "litter_size" if (number[told] > 1).any() else ""
        return "birth_order" if (several["nunique"] == several["size"]).mean() >= NEARLY_ALL else ""

    def _its_own_words(self, heading: str, taken: set[str]) -> Line | None:
        """A heading that lists the very words of its cells ("Own dam / powder") is the column that takes them."""
        cells = self.cells[heading]
        texts = {plain(cell) for cell in cells.distinct if tells(cell)}
        listed = {plain(part) for part in re.split(r"[/,|]| or ", heading)}
        if len(listed) < 2 or not texts or not texts <= listed:
            return None
        near = like_values(self.table, tuple(texts))
        free = [name for name in near if name not in taken]
        shown = f"by its cells: {_shown(cells)}"
        return Line(f"{self.table}.columns", heading, free[0], shown) if len(near) == 1 == len(free) else None

    def _clock_of_birth(self, heading: str) -> Line | None:
        """A clock time that stands for nearly all, the living too, beside the day of birth is the time of birth."""
        cells = self.cells[heading]
        days = [other for other, name in self.meant.items() if name == "born_at" and other != heading]
        told = np.array([tells(cell) for cell in cells.distinct], dtype=bool)
        clocks = np.isfinite(clocks_in(cells))
        of_all = cells.filled.mean() >= NEARLY_ALL if len(cells.codes) else False
        if (
            len(days) != 1
            or not of_all
            or not clocks.any()
            or _has_dates(cells)
            or all_dead(self.raw, heading, self.meant)
        ):
            return None
        if np.isfinite(clocks_in(self.cells[days[0]])).any() or not _has_dates(self.cells[days[0]]):
            return None
        if (told & ~clocks).any():
            return Line("births.columns", heading, "", f"left out; not all are times of day: {_shown(cells)}")
        return Line(
            "births.columns", heading, "born_at", f"the time of birth, beside {days[0]}: {_shown(cells)}"
        )

    def _by_its_cells(self, chosen: str, heading: str) -> Line:
        """The column that the cells make of an unsure heading; an age is one at death only where all aged are dead."""
        section, cells = f"{self.table}.columns", self.cells[heading]
        if self.table == "births" and chosen in AGED and not all_dead(self.raw, heading, self.meant):
            beside = f"holds {_shown(cells)}; {chosen} only if every row with an age is of one that died"
            return Line(section, heading, OPEN, beside)
        return Line(section, heading, chosen, f"by its cells: {_shown(cells)}")

    def _clock_beside_a_day(self, heading: str, possible: tuple[str, ...]) -> Line | None:
        """A time of day is left out of a list whose one moment has its day in another column."""
        cells = self.cells[heading]
        days = {name for name in possible if name in self.meant.values() and name not in DAY_OF}
        if self.table == "births" or not days or _has_dates(cells) or not np.isfinite(clocks_in(cells)).all():
            return None
        beside = f"left out; holds {_shown(cells)}, and the day alone is {sorted(days)[0]}"
        return Line(f"{self.table}.columns", heading, "", beside)

    def _holds_seasons(self, heading: str) -> bool:
        """True where every cell names a season and no other column nobody knows does so too."""
        open_ = [other for other in self.cells if other not in self.known]
        named = [other for other in open_ if _all_seasons(self.cells[other])]
        return named == [heading]

    def _of_a_mob(self, heading: str, cells: RawColumn, taken: set[str]) -> Line | None:
        """The column of mobs that the single words of a heading speak of, where it is free and the cells fit it."""
        meant = mob_meaning(heading)
        unnamed = "mob" not in taken and not any(mob_meaning(other) == "mob" for other in self.raw.columns)
        if (
            not meant
            and unnamed
            and len(cells.distinct) >= 2
            and not fits(known_column("mobs", "joined"), cells)
        ):
            return Line("mobs.columns", heading, OPEN, f"holds {_shown(cells)}; perhaps mob")
        alone = sum(mob_meaning(other) == meant for other in self.raw.columns if other not in self.known) == 1
        if not meant or not fits(known_column("mobs", meant), cells):
            return None
        beside = f"by its words; holds {_shown(cells)}"
        free = meant not in taken and alone
        return Line(
            "mobs.columns", heading, meant if free else OPEN, beside if free else self._beside(heading, cells)
        )

    def _pattern(self, heading: str) -> str | None:
        """The heading with {n} for its number, where two headings or more differ by that alone."""
        pattern = pattern_of(heading)
        alike = [other for other in self.raw.columns if pattern_of(other).casefold() == pattern.casefold()]
        return pattern if "{n}" in pattern and len(alike) > 1 and not AGAIN.fullmatch(heading) else None

    def _numbered(self, pattern: str, heading: str) -> Line | None:
        """One line for repeated columns: those of numbered newborns, and those that nobody knows."""
        section, place = f"{self.table}.columns", numbered(heading, self.own)
        if place is not None:
            whose = possible_meanings("births", pattern.partition("{n}")[0])
            of_newborns = any(meaning.column == "newborn_id" for meaning in whose)
            return Line(section, pattern, place[0]) if of_newborns else None
        bare = pattern.replace("{n}", "").strip(" :.-")
        bare = " ".join((bare if bare.count("(") == bare.count(")") else bare.strip("() ")).split())
        stem = without_young(bare.casefold())
        possible = tuple(meaning.column for meaning in possible_meanings(self.table, stem, self.tongues))
        taken = {name for name in self.meant.values() if name}
        if self.table == "births" and (
            chosen := chosen_by_cells(possible, self.cells[heading], taken, unit=_unit_said(self.table, stem))
        ):
            return Line(section, pattern, chosen, f"by its cells: {_shown(self.cells[heading])}")
        near = possible or like_heading(self.table, stem, self.tongues).candidates
        if self._is_left_out(stem, self.cells[heading], near):
            return Line(section, pattern, "", f"left out; holds {_shown(self.cells[heading])}")
        return Line(section, pattern, OPEN, self._beside(stem, self.cells[heading]))

    def _mapped(self, heading: str) -> bool:
        return plain_heading(heading) in self.own.columns or self.own.left_out(heading)

    def _may_mean(self, heading: str) -> bool:
        return bool(self.own.column_of(self.table, heading) or possible_meanings(self.table, heading))

    def _by_cells(self, name: str, heading: str, cells: RawColumn) -> str:
        """The sure column of a heading, or the other one that its cells make of it: dates under "died", say."""
        if name == "age_at_death" and any(_is_bare(cell) for cell in cells.distinct):
            return OPEN
        rivals = [other for other, meant in self.meant.items() if meant == name and other != heading]
        if name == "born_at" and not dates_in(cells):
            return OPEN
        if name == "dam_id" and self.table in LISTS and _are_kinds(cells):
            return OPEN
        if name == "litter_id" and self.table == "births":
            return litter_or_parity(heading, self.raw, self.own) or OPEN
        if self._is_no_time(name, cells):
            return OPEN
        if name in DAY_OF and len(rivals) == 1:
            return DAY_OF[name] if _has_dates(cells) and not _has_dates(self.cells[rivals[0]]) else name
        if name == "laboratory" and "agent" not in self.meant.values() and names_agents(cells):
            return "agent"
        others = [m.column for m in possible_meanings(self.table, heading, self.tongues) if m.column != name]
        if others and not fits(known_column(self.table, name), cells):
            taken = {other for other in self.meant.values() if other} - {name}
            return chosen_by_cells(others, cells, taken, self.table) or name
        if name == "died" and not fits(known_column("births", "died"), cells) and _has_dates(cells):
            return "died_at" if "died_at" not in self.meant.values() else name
        return name

    def _is_no_time(self, name: str, cells: RawColumn) -> bool:
        """True for words alone ("before birth") where a list asks for a moment; in births any cell tells of a death."""
        asked = self.table != "births" and known_column(self.table, name).kind in ("moment", "date")
        return asked and bool(cells.rows_of(tells).any()) and not fits(known_column(self.table, name), cells)

    def _count(self, heading: str) -> Line | None:
        """A column that may say for how many newborns a row stands: proven, or where no row names a dam or newborn."""
        names = set(self.meant.values())
        beside = f"how many newborns the row stands for; holds {_shown(self.cells[heading])}"
        if heading in proven_counts(self.raw, self.own):
            return Line("births.columns", heading, ALIKE, beside)
        if names & {"newborn_id", "birth_order"} or count_meant(heading) != ALIKE:
            return None
        alone = not names & {"dam_id", "litter_id"} and bool(names & OUTCOMES)
        return Line("births.columns", heading, ALIKE if alone else OPEN, beside)

    def _is_left_out(self, heading: str, cells: RawColumn, near: tuple[str, ...]) -> bool:
        """True for what is known to be no column, or is like none and tells of no deaths."""
        if is_no_column(heading):
            return True
        if self.table in LISTS and (self._tells_apart(cells) or near_by_words(self.table, heading)):
            return False
        alone = {"newborn_id", "birth_order"} & set(self.meant.values())
        if not alone and heading in open_counts(self.raw, self.own):
            return False
        if self.table == "births" and (asks_for(heading) or tells_of_deaths(heading, cells).any()):
            return False
        return not near and not like_values(self.table, tuple(plain(cell) for cell in cells.distinct))

    def _tells_apart(self, cells: RawColumn) -> bool:
        """True for what may name the newborns of a list without their names: with the dam, none stands twice."""
        if "newborn_id" in self.meant.values() or not len(cells.codes) or cells.filled.mean() < NEARLY_ALL:
            return False
        dam = next((self.cells[h].codes for h, name in self.meant.items() if name == "dam_id"), None)
        alone, codes = _apart(cells.codes), cells.codes
        if dam is None:
            return alone >= NEARLY_ALL
        both = _apart((dam + 1) * (codes.max() + 2) + codes + 1)
        return alone >= NEARLY_ALL or (both >= NEARLY_ALL and both > _apart(dam))

    def _beside(self, heading: str, cells: RawColumn) -> str:
        """The first values of a column and the nearest candidates, for the person who completes the map."""
        if self.table == "births" and holds_litters(cells):
            return (
                f"holds {_shown(cells)}; a cell tells of a whole litter: write one row a newborn, or born, born dead "
                "and died later in columns of numbers"
            )
        near = tuple(meaning.column for meaning in possible_meanings(self.table, heading, self.tongues))
        near = near or like_heading(self.table, heading, self.tongues).candidates
        near = near or like_values(self.table, tuple(plain(cell) for cell in cells.distinct))
        if not near and self.table in LISTS:
            near = near_by_words(self.table, heading)
        if not near and self.table in LISTS and self._tells_apart(cells):
            time = TIME_OF_A_LIST[self.table]
            near = (time,) if _has_dates(cells) and time not in self.meant.values() else ("newborn_id",)
        near = tuple(name for name in dict.fromkeys(near) if not self._is_no_time(name, cells))
        perhaps = f"; perhaps {' or '.join(near)}" if near else ""
        return f"holds {_shown(cells)}{perhaps}"

    def _units(self, lines: list[Line]) -> Iterator[Line]:
        """The unit that headings of numbered newborns name: under one tidy column it stands in no heading any more."""
        for line in lines:
            unit = _unit_said(self.table, without_young(line.said.replace("{n}", "").casefold()))
            if "{n}" in line.said and line.meant not in ("", OPEN) and unit:
                yield Line(f"{self.table}.units", line.meant, unit, "by the headings")

    def _species(self) -> Iterator[Line]:
        names = {*self.meant.values(), *self.own.fixed}
        if self.table in ("births", *ALONE) and "species" not in names:
            species = species_spoken_of([*self.raw.columns, self.raw.sheet, self.raw.file.rpartition(".")[0]])
            if species:
                yield Line(f"{self.table}.fixed", "species", species, "by the headings")

    def _years(self) -> Iterator[Line]:
        """An open line for the year, where dates have none and nothing else says it."""
        if self.table != "births" or self.records_map.dates.year:
            return
        chosen = {name: self.cells[heading] for heading, name in self.meant.items() if name}
        try:
            with_years(chosen, self.raw, self.records_map, Settings(day_first=True))
        except NoYear:
            yield Line("dates", "year", OPEN, "dates have no year; write it without quotation marks")
        except CannotRead:
            return

    def notes(self) -> Iterator[str]:
        """What the map cannot say of itself, as comments at its top."""
        names = {name for name in self.meant.values() if name}
        alive = self.records_map.alive.any_value_in
        if self.table != "births" or not names or names & OUTCOMES or alive:
            return
        partly = [
            heading
            for heading, name in self.meant.items()
            if not name and self._partly_filled(heading) and not self._may_tell_of_deaths(heading)
        ]
        shown = ", ".join(quoted_key(heading) for heading in partly) or '"weaning weight"'
        name = (self.raw.sheet or self.raw.file).replace('"', "")
        yield from (line.replace("{headings}", shown) for line in NO_OUTCOME)
        if "newborn_id" not in names:
            yield from (line.replace("{name}", name) for line in NO_BIRTHS)

    def marked_apart(self) -> bool:
        """True where one column ticks the dead and one the living, so that the ticks need no words."""
        both = [next((h for h, name in self.meant.items() if name == of), "") for of in ("died", "alive_now")]
        return all(both) and bool(marked_apart(self.cells[both[0]], self.cells[both[1]]))

    def _may_tell_of_deaths(self, heading: str) -> bool:
        """True for a column whose values may be of the dead: it shows no life."""
        possible = {meaning.column for meaning in possible_meanings("births", heading)}
        asked = asks_for(heading) not in ("", "alive") or stage_asked(heading) is not None
        return bool(asked or possible & OF_DEATHS or tells_of_deaths(heading, self.cells[heading]).any())

    def _partly_filled(self, heading: str) -> bool:
        filled = self.cells[heading].filled
        return bool(filled.any() and not filled.all())


def _unit_said(table: str, heading: str) -> str:
    """The unit that a heading names; "" where it names none."""
    return next((meaning.unit for meaning in possible_meanings(table, heading) if meaning.unit), "")


def _tells_all(heading: str, cells: RawColumn) -> bool:
    """True where every cell under the heading says dead or alive, or that nobody knows."""
    state = read_died(cells, outcome_asked(heading, "either"), {}, {}).state
    return bool(cells.filled.any()) and not (state == UNREAD).any()


def _all_ages(cells: RawColumn) -> bool:
    """True for ages with their units ("14 days") and words for the time of birth alone."""
    texts = [str(cell) for cell in cells.distinct if tells(cell)]
    ages = [text for text in texts if age_said(text)]
    return bool(ages) and all(
        age_said(text) or folded(text) in AT_BIRTH or folded(text) in BORN_DEAD for text in texts
    )


def _are_kinds(cells: RawColumn) -> bool:
    """True for a few words, each in many rows: kinds of dams ("heifer", "cow"), no dam's identity."""
    texts = [str(cell) for cell in cells.distinct if tells(cell)]
    few = 0 < len(texts) <= FEW_KINDS and len(texts) * FEW_KINDS < len(cells.codes)
    return few and all(re.search(r"[^\W\d_]{2}", text) for text in texts)


def _apart(codes: NDArray[np.int64]) -> float:
    """The share of rows that a column's cells tell from all others."""
    return len(np.unique(codes)) / len(codes)


def _is_bare(cell: object) -> bool:
    """True for a number without a unit."""
    found = NUMBER.fullmatch(str(cell))
    return found is not None and not found[2]


def _all_seasons(cells: RawColumn) -> bool:
    """True where every filled cell names a season ("Spring 2024")."""
    texts = [_spelt(cell) for cell in cells.distinct if tells(cell)]
    return bool(texts) and all(map(names_a_season, texts))


def _spelt(cell: object) -> str:
    """A cell as text, a year from a workbook without its decimals."""
    return f"{cell:.0f}" if isinstance(cell, float) and cell.is_integer() else str(cell)


def _has_dates(cells: RawColumn) -> bool:
    found = [take_apart(cell, {}) is not None for cell in cells.distinct if tells(cell)]
    return bool(found) and sum(found) > len(found) / 2


def _used(cells: RawColumn) -> RawColumn:
    """The column with only those distinct cells that stand in a row."""
    used = cells.uses > 0
    return RawColumn(cells.spread(np.cumsum(used) - 1, -1), cells.distinct[used])


def _words(sheet: _Sheet, tidy: Column, heading: str) -> Iterator[Line]:
    """A line for each word of a column that is not known, with how often it stands there."""
    cells, own = sheet.cells[heading], sheet.own.words.get(tidy.name, {})
    words = words_taken(tidy)
    if not words or (tidy.name == "product" and "treatment" in sheet.meant.values()):
        return
    if tidy.name in ("died", "alive_now") and not own and sheet.marked_apart():
        return
    section = f"{sheet.table}.words.{tidy.name}"
    rows = cells.uses
    unplaced = _unplaced(tidy, heading, cells, own)
    for at in sorted(unplaced, key=lambda at: (-rows[at], at))[:MOST_WORDS]:
        cell = cells.distinct[at]
        like = (
            UNLIKE if tidy.name in NEVER_BY_LIKENESS else like_word(tidy, plain(cell), words, sheet.tongues)
        )
        if is_nothing(cell) and not like.sure and tidy.name != "agent":
            continue
        near = like.candidates
        nearest = f"perhaps {' or '.join(near)}" if near else f"one of {', '.join(words_offered(tidy))}"
        many = f"{rows[at]:,} cell{'' if rows[at] == 1 else 's'}"
        yield Line(
            section, plain(cell), like.meant if like.sure else OPEN, "" if like.sure else f"{many}; {nearest}"
        )


def _unplaced(tidy: Column, heading: str, cells: RawColumn, said: Mapping[str, str]) -> list[int]:
    """The distinct cells that no word of the column, of farms or of the map explains."""
    if tidy.name in ("died", "alive_now", "born_dead"):
        asked = outcome_asked(heading, "alive" if tidy.name == "alive_now" else "dead")
        state = read_died(cells, asked, said, {}).state
        return [at for at, answer in enumerate(state) if answer == UNREAD]
    if tidy.name == "born_alive":
        return [at for at, answer in enumerate(read_born_alive(cells, said)) if answer == UNREAD]
    if tidy.name == "litter_size":
        known = litter_words(cells, said)
        bare = [str(cell).strip().casefold().rstrip(".") for cell in cells.distinct]
        return [at for at, text in enumerate(bare) if text not in known and not NUMBER.fullmatch(text)]
    if tidy.name == "product":
        kinds = treatments_of(cells, said)
        return [at for at, kind in enumerate(kinds) if kind is None]
    if tidy.name == "agent":
        return [at for at, cell in enumerate(cells.distinct) if said_of(cell, said) is None]
    accepted = lexicon(tidy, tidy.words, said, cells)
    if tidy.name == "laboratory":
        read = [plain(cell) in accepted or said_of(cell, said) in tidy.words for cell in cells.distinct]
        return [at for at, known in enumerate(read) if not known]
    several = tidy.kind == "terms"
    return [
        at
        for at, cell in enumerate(cells.distinct)
        if plain(cell) not in accepted
        and not (tidy.name in OF_CAUSES and cause_of(str(cell), accepted))
        and not (several and any(sign in str(cell) for sign in ";,+/&"))
    ]


def _shown(cells: RawColumn) -> str:
    values = [_short(cell) for cell in cells.distinct if cell is not None][:SHOWN]
    return ", ".join(values) or "nothing"


def _short(cell: object) -> str:
    text = " ".join("".join(sign if sign.isprintable() else " " for sign in str(cell)).split())
    return text if len(text) <= 30 else text[:27] + "..."
