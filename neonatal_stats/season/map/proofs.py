"""What do the cells of a column, and the other columns of its sheet, prove of a heading that words leave open?"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.season.cells.dates import clocks_in, take_apart
from neonatal_stats.season.cells.fates import (
    BORN_DEAD,
    DEAD,
    DEATHS,
    UNREAD,
    VIVO,
    outcome_asked,
    read_born_alive,
    read_died,
)
from neonatal_stats.season.cells.lists import names_agents
from neonatal_stats.season.cells.numbers import NUMBER
from neonatal_stats.season.cells.parsed import plain, tells
from neonatal_stats.season.cells.typed import DAY_OF, litter_or_parity
from neonatal_stats.season.cells.years import dates_in
from neonatal_stats.season.finding import where
from neonatal_stats.season.gathering.asked import sizes_in_words
from neonatal_stats.season.gathering.counted import count_headings, counts_of_litters
from neonatal_stats.season.gathering.litters import dams, numbered
from neonatal_stats.season.grid import Mask, RawColumn, RawTable, numbers
from neonatal_stats.season.map.counts import counts_by_sums, counts_by_words, open_counts, proven_counts
from neonatal_stats.season.map.likeness import (
    AGED,
    FILLED_FOR_THE_DEAD,
    NEARLY_ALL,
    chosen_by_cells,
    fits,
    like_values,
)
from neonatal_stats.season.map.map_text import Line, shown
from neonatal_stats.season.records_map import OPEN, RecordsMap, TableMap, plain_heading
from neonatal_stats.vocabulary import fates
from neonatal_stats.vocabulary.columns import ALIKE, LISTS
from neonatal_stats.vocabulary.farm_words import (
    count_meant,
    known_column,
    possible_meanings,
    tongues_of,
)
from neonatal_stats.vocabulary.named import names_a_season
from neonatal_stats.vocabulary.spelling import folded, words

FEW_KINDS = 4
OUTCOMES = words("""
    died died_at died_on found_dead_at alive_now born_alive born_dead cause age_at_death age_at_death_h
    age_at_death_d newborns_lost newborns_died newborns_reared newborns_born_dead
""")


class Sheet:
    """One sheet while its lines are drafted: its used cells, and what each heading means as far as that is known."""

    def __init__(self, table: str, raw: RawTable, records_map: RecordsMap) -> None:
        """What the map, the tidy columns, the sure words of farms and the sums of counts say of the headings."""
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

    @property
    def taken(self) -> set[str]:
        """The columns that a heading means already."""
        return {name for name in self.meant.values() if name}

    def heading_of(self, name: str) -> str | None:
        """The first heading that means a column."""
        return next((heading for heading, meant in self.meant.items() if meant == name), None)

    def mapped(self, heading: str) -> bool:
        """True where the map itself says what a heading means, or leaves it out."""
        return plain_heading(heading) in self.own.columns or self.own.left_out(heading)

    def may_mean(self, heading: str) -> tuple[str, ...]:
        """The columns that a heading may mean in the languages of this sheet."""
        return tuple(meaning.column for meaning in possible_meanings(self.table, heading, self.tongues))

    def shown(self, heading: str) -> str:
        """The first values under a heading."""
        return shown(self.cells[heading])

    def line(self, heading: str, meant: str, beside: str = "") -> Line:
        """The line that says what a heading means."""
        return Line(f"{self.table}.columns", heading, meant, beside)

    def by_cells(self, heading: str, meant: str) -> Line:
        """The line of what its cells prove."""
        return self.line(heading, meant, f"by its cells: {self.shown(heading)}")


def at_a_stage(sheet: Sheet, heading: str) -> Line | None:
    """An outcome at a stage ("Alive at weaning"): the latest one counts, where it tells of all earlier deaths."""
    if sheet.table != "births":
        return None
    late = {
        other: stage[1] for other in sheet.raw.columns if (stage := fates.stage_asked(other)) and stage[1] > 0
    }
    if heading not in late or not _tells_all(heading, sheet.cells[heading]):
        return None
    last = max(late, key=lambda other: late[other])
    if heading != last:
        dead = _dead_at(sheet, heading)
        covered = _tells_all(last, sheet.cells[last]) and not (dead & ~_dead_at(sheet, last)).any()
        beside = f"left out; whom it says dead, {last} says dead too"
        return sheet.line(heading, "", beside) if covered else None
    asked = fates.stage_asked(heading)[0]  # type: ignore[index]
    name = "alive_now" if asked == "alive" else "died"
    if name in sheet.taken:
        return None
    line = sheet.by_cells(heading, name)
    if heading.casefold().startswith(("present", "there", "vorhanden")):
        return replace(line, beside=f"{line.beside}; who is not there counts as dead")
    return line


def _tells_all(heading: str, cells: RawColumn) -> bool:
    """True where every cell under the heading says dead or alive, or that nobody knows."""
    state = read_died(cells, outcome_asked(heading, "either"), {}, {}).state
    return bool(cells.filled.any()) and not (state == UNREAD).any()


def _dead_at(sheet: Sheet, heading: str) -> Mask:
    cells = sheet.raw.columns[heading]
    return cells.rows_of(np.isin(read_died(cells, outcome_asked(heading), {}, {}).state, DEATHS))


def stands_for_several(sheet: Sheet, heading: str) -> Line | None:
    """A column that may say for how many newborns a row stands: proven, or where no row names a dam or newborn."""
    if sheet.table != "births" or heading not in open_counts(sheet.raw, sheet.own):
        return None
    names = set(sheet.meant.values())
    beside = f"how many newborns the row stands for; holds {sheet.shown(heading)}"
    if heading in proven_counts(sheet.raw, sheet.own):
        return sheet.line(heading, ALIKE, beside)
    if names & {"newborn_id", "birth_order"} or count_meant(heading) != ALIKE:
        return None
    alone = not names & {"dam_id", "litter_id"} and bool(names & OUTCOMES)
    return sheet.line(heading, ALIKE if alone else OPEN, beside)


def _size_in_words(sheet: Sheet, heading: str) -> Line | None:
    """Cells that name the size of a litter ("twin") are it."""
    free = sheet.table == "births" and "litter_size" not in sheet.taken
    named = free and sizes_in_words(sheet.cells[heading], sheet.own)
    return sheet.by_cells(heading, "litter_size") if named else None


def _dated_as_the_dam_is_named(sheet: Sheet, heading: str) -> Line | None:
    """Dates that stand in the very rows, not all, in which a litter's dam does, are days of its birth."""
    if "born_at" not in sheet.may_mean(heading) or "born_at" in sheet.taken:
        return None
    dam = sheet.heading_of("dam_id")
    if dam is None or not has_dates(sheet.cells[heading]):
        return None
    here = sheet.cells[heading].filled
    alike = not here.all() and (here == sheet.cells[dam].filled).all()
    return sheet.by_cells(heading, "born_at") if alike else None


def _letters_beside_the_sexes(sheet: Sheet, heading: str) -> Line | None:
    """Letters of dead and alive (M, V) beside a column of the sexes, where a Romance language is spoken."""
    spoken = {"es", "fr", "it", "pt"} & set(sheet.tongues)
    free = "sex" in sheet.taken and "died" not in sheet.taken
    if sheet.table != "births" or outcome_asked(heading, "") != VIVO or not spoken or not free:
        return None
    return sheet.by_cells(heading, "died") if _tells_all(heading, sheet.cells[heading]) else None


def _number_in_litters(sheet: Sheet, heading: str) -> Line | None:
    """Numbers that littermates share are the size of a litter, those that differ in it the order of birth."""
    if sheet.table != "births" or "birth_order" not in sheet.may_mean(heading):
        return None
    name = _within_litters(sheet, sheet.cells[heading])
    return sheet.by_cells(heading, name) if name not in {"", *sheet.taken} else None


def _within_litters(sheet: Sheet, cells: RawColumn) -> str:
    litter = dams(sheet.raw, _with_dam(sheet))
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


def _with_dam(sheet: Sheet) -> TableMap:
    """The map with the dam as it is drafted so far, by which rows are told to be littermates."""
    drafted = {
        plain_heading(h): name for h, name in sheet.meant.items() if name in ("dam_id", "born_at", "born_on")
    }
    return replace(sheet.own, columns={**drafted, **sheet.own.columns})


def _ages_of_the_dead(sheet: Sheet, heading: str) -> Line | None:
    """Ages where a day of death is asked for."""
    if sheet.table != "births" or "died_at" not in sheet.may_mean(heading):
        return None
    aged = _all_ages(sheet.cells[heading]) and not sheet.taken & {"died_at", *AGED}
    return sheet.by_cells(heading, "age_at_death") if aged else None


def _all_ages(cells: RawColumn) -> bool:
    """True for ages with their units ("14 days") and words for the time of birth alone."""
    texts = [str(cell) for cell in cells.distinct if tells(cell)]
    ages = [text for text in texts if fates.age_said(text)]
    return bool(ages) and all(
        fates.age_said(text) or folded(text) in fates.AT_BIRTH or folded(text) in fates.BORN_DEAD
        for text in texts
    )


def _clock_of_birth(sheet: Sheet, heading: str) -> Line | None:
    """A clock time that stands for nearly all, the living too, beside the day of birth is the time of birth."""
    if sheet.table != "births" or "born_at" not in sheet.may_mean(heading):
        return None
    cells = sheet.cells[heading]
    days = [other for other, name in sheet.meant.items() if name == "born_at" and other != heading]
    told = np.array([tells(cell) for cell in cells.distinct], dtype=bool)
    clocks = np.isfinite(clocks_in(cells))
    of_all = cells.filled.mean() >= NEARLY_ALL if len(cells.codes) else False
    if len(days) != 1 or not of_all or not clocks.any():
        return None
    if has_dates(cells) or all_dead(sheet, heading):
        return None
    if np.isfinite(clocks_in(sheet.cells[days[0]])).any() or not has_dates(sheet.cells[days[0]]):
        return None
    if (told & ~clocks).any():
        return sheet.line(heading, "", f"left out; not all are times of day: {sheet.shown(heading)}")
    return sheet.line(heading, "born_at", f"the time of birth, beside {days[0]}: {sheet.shown(heading)}")


def _cause_of_the_dead(sheet: Sheet, heading: str) -> Line | None:
    """What may be a cause, and stands for the dead alone."""
    if sheet.table != "births" or "cause" in sheet.taken or "cause" not in sheet.may_mean(heading):
        return None
    if not all_dead(sheet, heading):
        return None
    return sheet.line(heading, "cause", f"filled for the dead alone: {sheet.shown(heading)}")


def all_dead(sheet: Sheet, heading: str) -> bool:
    """True where another column says of every row with a cell under this heading that the newborn died."""
    columns = sheet.raw.columns
    aged = columns[heading].rows_of(tells)
    return bool(aged.any()) and any(
        not (aged & ~_dead(name, other, columns[other])).any()
        for other, name in sheet.meant.items()
        if other != heading and other in columns
    )


def _dead(name: str, heading: str, cells: RawColumn) -> Mask:
    """The rows of which a column of that meaning says dead."""
    if name in ("died", "alive_now", "born_dead"):
        asked = outcome_asked(heading, "alive" if name == "alive_now" else "dead")
        return cells.rows_of(np.isin(read_died(cells, asked, {}, {}).state, DEATHS))
    if name == "born_alive":
        return cells.rows_of(np.isin(read_born_alive(cells, {}), (DEAD, BORN_DEAD)))
    return cells.rows_of(tells) if name in FILLED_FOR_THE_DEAD else np.zeros_like(cells.filled)


def _the_one_that_fits(sheet: Sheet, heading: str) -> Line | None:
    """The one column of those that a heading may mean which its cells fit; an age only where all aged are dead."""
    possible = sheet.may_mean(heading)
    if not possible:
        return None
    unit = unit_said(sheet.table, heading)
    chosen = chosen_by_cells(possible, sheet.cells[heading], sheet.taken, sheet.table, unit)
    if chosen is not None and sheet.table == "births" and chosen in AGED and not all_dead(sheet, heading):
        beside = f"holds {sheet.shown(heading)}; {chosen} only if every row with an age is of one that died"
        return sheet.line(heading, OPEN, beside)
    return sheet.by_cells(heading, chosen) if chosen else None


def unit_said(table: str, heading: str) -> str:
    """The unit that a heading names; "" where it names none."""
    return next((meaning.unit for meaning in possible_meanings(table, heading) if meaning.unit), "")


def _clock_beside_a_day(sheet: Sheet, heading: str) -> Line | None:
    """A time of day is left out of a list whose one moment has its day in another column."""
    if sheet.table == "births":
        return None
    cells = sheet.cells[heading]
    days = {name for name in sheet.may_mean(heading) if name in sheet.meant.values() and name not in DAY_OF}
    if not days or has_dates(cells) or not np.isfinite(clocks_in(cells)).all():
        return None
    return sheet.line(
        heading, "", f"left out; holds {sheet.shown(heading)}, and the day alone is {sorted(days)[0]}"
    )


def _its_own_words(sheet: Sheet, heading: str) -> Line | None:
    """A heading that lists the very words of its cells ("Own dam / powder") is the column that takes them."""
    texts = {plain(cell) for cell in sheet.cells[heading].distinct if tells(cell)}
    listed = {plain(part) for part in re.split(r"[/,|]| or ", heading)}
    if len(listed) < 2 or not texts or not texts <= listed:
        return None
    near = like_values(sheet.table, tuple(texts))
    free = [name for name in near if name not in sheet.taken]
    return sheet.by_cells(heading, free[0]) if len(near) == 1 == len(free) else None


def _season_of_mobs(sheet: Sheet, heading: str) -> Line | None:
    """Every cell names a season and no other column nobody knows does so too."""
    if sheet.table != "mobs" or "season" in sheet.taken:
        return None
    open_ = [other for other in sheet.cells if other not in sheet.known]
    named = [other for other in open_ if _all_seasons(sheet.cells[other])]
    return sheet.by_cells(heading, "season") if named == [heading] else None


def _all_seasons(cells: RawColumn) -> bool:
    """True where every filled cell names a season ("Spring 2024")."""
    texts = [_spelt(cell) for cell in cells.distinct if tells(cell)]
    return bool(texts) and all(map(names_a_season, texts))


def _spelt(cell: object) -> str:
    """A cell as text, a year from a workbook without its decimals."""
    return f"{cell:.0f}" if isinstance(cell, float) and cell.is_integer() else str(cell)


def _says_what_became(sheet: Sheet, heading: str) -> Line | None:
    """Words of death and life under a heading that asks for them ("Sold/Died"), where none else does."""
    if sheet.table != "births" or sheet.taken & {"died", "alive_now"} or not fates.asks_for(heading):
        return None
    cells = sheet.cells[heading]
    known = [answer not in (UNREAD, "") for answer in read_died(cells, "either", {}, {}).state]
    proven = bool(known) and all(known) and fits(known_column("births", "died"), cells)
    return sheet.by_cells(heading, "died") if proven else None


def made_by_cells(sheet: Sheet, name: str, heading: str) -> str:
    """The sure column of a heading, or the other one that its cells make of it: dates under "died", say."""
    table, cells = sheet.table, sheet.cells[heading]
    if _denied(sheet, name, heading):
        return OPEN
    if name == "litter_id" and table == "births":
        return litter_or_parity(heading, sheet.raw, sheet.own) or OPEN
    rivals = [other for other, meant in sheet.meant.items() if meant == name and other != heading]
    if name in DAY_OF and len(rivals) == 1:
        return DAY_OF[name] if has_dates(cells) and not has_dates(sheet.cells[rivals[0]]) else name
    if name == "laboratory" and "agent" not in sheet.meant.values() and names_agents(cells):
        return "agent"
    others = [other for other in sheet.may_mean(heading) if other != name]
    if others and not fits(known_column(table, name), cells):
        return chosen_by_cells(others, cells, sheet.taken - {name}, table) or name
    if name == "died" and not fits(known_column("births", "died"), cells) and has_dates(cells):
        return "died_at" if "died_at" not in sheet.meant.values() else name
    return name


def _denied(sheet: Sheet, name: str, heading: str) -> bool:
    """True where the cells cannot be what the heading surely says, and are nothing else that is known."""
    cells = sheet.cells[heading]
    bare = name == "age_at_death" and any(_is_bare(cell) for cell in cells.distinct)
    undated = name == "born_at" and not dates_in(cells)
    kinds = name == "dam_id" and sheet.table in LISTS and _are_kinds(cells)
    return bare or undated or kinds or is_no_time(sheet, name, cells)


def _is_bare(cell: object) -> bool:
    """True for a number without a unit."""
    found = NUMBER.fullmatch(str(cell))
    return found is not None and not found[2]


def _are_kinds(cells: RawColumn) -> bool:
    """True for a few words, each in many rows: kinds of dams ("heifer", "cow"), no dam's identity."""
    texts = [str(cell) for cell in cells.distinct if tells(cell)]
    few = 0 < len(texts) <= FEW_KINDS and len(texts) * FEW_KINDS < len(cells.codes)
    return few and all(re.search(r"[^\W\d_]{2}", text) for text in texts)


def is_no_time(sheet: Sheet, name: str, cells: RawColumn) -> bool:
    """True for words alone ("before birth") where a list asks for a moment; in births any cell tells of a death."""
    column = known_column(sheet.table, name)
    asked = sheet.table != "births" and column.kind in ("moment", "date")
    return asked and bool(cells.rows_of(tells).any()) and not fits(column, cells)


def tells_apart(sheet: Sheet, cells: RawColumn) -> bool:
    """True for what may name the newborns of a list without their names: with the dam, none stands twice."""
    if "newborn_id" in sheet.meant.values() or not len(cells.codes) or cells.filled.mean() < NEARLY_ALL:
        return False
    dam, codes = sheet.heading_of("dam_id"), cells.codes
    alone = _apart(codes)
    if dam is None:
        return alone >= NEARLY_ALL
    dams_ = sheet.cells[dam].codes
    both = _apart((dams_ + 1) * (codes.max() + 2) + codes + 1)
    return alone >= NEARLY_ALL or (both >= NEARLY_ALL and both > _apart(dams_))


def _apart(codes: NDArray[np.int64]) -> float:
    """The share of rows that a column's cells tell from all others."""
    return len(np.unique(codes)) / len(codes)


def has_dates(cells: RawColumn) -> bool:
    """True where more than half of the filled distinct cells are dates."""
    found = [take_apart(cell, {}) is not None for cell in cells.distinct if tells(cell)]
    return bool(found) and sum(found) > len(found) / 2


def _used(cells: RawColumn) -> RawColumn:
    """The column with only those distinct cells that stand in a row."""
    used = cells.uses > 0
    return RawColumn(cells.spread(np.cumsum(used) - 1, -1), cells.distinct[used])


BY_CELLS = (
    _size_in_words,
    _dated_as_the_dam_is_named,
    _letters_beside_the_sexes,
    _number_in_litters,
    _ages_of_the_dead,
    _clock_of_birth,
    _cause_of_the_dead,
    _the_one_that_fits,
    _clock_beside_a_day,
    _its_own_words,
    _season_of_mobs,
    _says_what_became,
)
"""What is asked of a heading with cells below it, in this order: the first that proves something is believed."""
