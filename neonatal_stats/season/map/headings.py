"""Which lines of a map does one sheet need: heading by heading, then its words, units, species and year?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from neonatal_stats.season.cells.fates import tells_of_deaths
from neonatal_stats.season.cells.parsed import plain
from neonatal_stats.season.cells.restated import marked_apart
from neonatal_stats.season.cells.typed import ANSWERS, DAY_OF
from neonatal_stats.season.cells.years import NoYear, with_years
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.gathering.counted import COUNTED_INSTEAD
from neonatal_stats.season.gathering.litters import holds_litters, numbered, without_young
from neonatal_stats.season.gathering.which_table import RESULTS, is_percentage
from neonatal_stats.season.grid import RawColumn
from neonatal_stats.season.map.counts import counts_agree, counts_of_born, open_counts, proven_count
from neonatal_stats.season.map.likeness import (
    AGED,
    chosen_by_cells,
    fits,
    like_heading,
    like_values,
    words_left,
)
from neonatal_stats.season.map.map_text import Line, quoted_key, shown
from neonatal_stats.season.map.proofs import (
    BY_CELLS,
    OUTCOMES,
    Sheet,
    at_a_stage,
    has_dates,
    is_no_time,
    made_by_cells,
    stands_for_several,
    tells_apart,
    unit_said,
)
from neonatal_stats.season.records_map import AGAIN, OPEN
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import ALONE, LISTS, column_of
from neonatal_stats.vocabulary.farm_words import (
    count_meant,
    is_no_column,
    known_column,
    near_by_words,
    possible_meanings,
    species_spoken_of,
    sure_meaning,
)
from neonatal_stats.vocabulary.fates import asks_for, stage_asked
from neonatal_stats.vocabulary.heading_words import mob_meaning, pattern_of

TIME_OF_A_LIST = {
    "samples": "sampled_at",
    "colostrum": "milked_at",
    "examinations": "examined_at",
    "treatments": "given_at",
}
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
OF_DEATHS = {*OUTCOMES - {"alive_now", "born_alive", "newborns_reared"}, "left_at", "left_reason"}
"""Columns whose values show no life; who left is spoken of by its own column."""
UNSURE = ("dead", "alive")
"""Counts of which the heading does not say whom they count: at birth, later, or both."""


def lines_of(sheet: Sheet) -> list[Line]:
    """The lines that a sheet needs, in the order of its headings; what each means is known to the sheet then."""
    found: list[Line] = []
    for heading in sorted(sheet.raw.columns, key=lambda heading: _turn(sheet, heading)):
        line = _line(sheet, heading)
        if line is not None:
            sheet.meant[heading] = line.meant.replace(OPEN, "")
        if line is not None and line.said not in {other.said for other in found}:
            found.append(line)
    if sheet.table in LISTS:
        found = _with_a_result(sheet, _one_heading_each(sheet, found))
    order = list(sheet.raw.columns)
    found.sort(key=lambda line: order.index(line.said) if line.said in order else len(order))
    return [*found, *_words(sheet), *_units(sheet, found), *_species(sheet), *_years(sheet)]


def _turn(sheet: Sheet, heading: str) -> tuple[bool, bool]:
    """What is known comes first, and ages last: only what became of the newborns tells at what they stand."""
    may_be = {meaning.column for meaning in possible_meanings(sheet.table, heading)}
    return heading not in sheet.meant, bool(may_be & AGED)


def _line(sheet: Sheet, heading: str) -> Line | None:
    """The line of a heading; None where it needs none."""
    if sheet.mapped(heading) or column_of(sheet.table, heading) is not None:
        return None
    if sheet.table == "mobs" and is_percentage(heading):
        return sheet.line(heading, "", "left out; a percentage is no count")
    if heading in sheet.counts:
        return _counted(sheet, heading)
    if (pattern := _pattern(sheet, heading)) is not None:
        return _numbered(sheet, pattern, heading)
    if (again := AGAIN.fullmatch(heading)) or f"{heading} [2]" in sheet.raw.columns:
        return _twice(sheet, heading, again[1] if again else heading)
    if (spoken := sure_meaning(sheet.table, heading)) is not None:
        return _spoken(sheet, heading, spoken.column)
    if heading in sheet.meant:
        return None
    if line := at_a_stage(sheet, heading) or stands_for_several(sheet, heading):
        return line
    return _by_its_cells(sheet, heading) if sheet.cells[heading].filled.any() else None


def _counted(sheet: Sheet, heading: str) -> Line | None:
    """A count of a litter's newborns: what it counts, by its words or by the sums."""
    count = sheet.counts[heading]
    if count in UNSURE:
        if count_meant(heading) == count and counts_agree(sheet.raw, sheet.counts):
            return None
        if proven := proven_count(sheet.raw, sheet.counts, heading):
            return sheet.line(heading, proven, "by its sums")
        return sheet.line(heading, OPEN, sheet.shown(heading))
    return sheet.line(heading, count, "" if count else "left out; it is the born less the dead")


def _pattern(sheet: Sheet, heading: str) -> str | None:
    """The heading with {n} for its number, where two headings or more differ by that alone."""
    pattern = pattern_of(heading)
    alike = [other for other in sheet.raw.columns if pattern_of(other).casefold() == pattern.casefold()]
    return pattern if "{n}" in pattern and len(alike) > 1 and not AGAIN.fullmatch(heading) else None


def _numbered(sheet: Sheet, pattern: str, heading: str) -> Line | None:
    """One line for repeated columns: those of numbered newborns, and those that nobody knows."""
    cells, place = sheet.cells[heading], numbered(heading, sheet.own)
    if place is not None:
        whose = possible_meanings("births", pattern.partition("{n}")[0])
        of_newborns = any(meaning.column == "newborn_id" for meaning in whose)
        return sheet.line(pattern, place[0]) if of_newborns else None
    stem = _stem(pattern)
    possible = sheet.may_mean(stem)
    if sheet.table == "births" and (
        chosen := chosen_by_cells(possible, cells, sheet.taken, unit=unit_said(sheet.table, stem))
    ):
        return sheet.line(pattern, chosen, f"by its cells: {shown(cells)}")
    near = possible or like_heading(sheet.table, stem, sheet.tongues).candidates
    if _is_left_out(sheet, stem, cells, near):
        return sheet.line(pattern, "", f"left out; holds {shown(cells)}")
    return sheet.line(pattern, OPEN, _beside(sheet, stem, cells))


def _stem(pattern: str) -> str:
    """What a numbered heading says without its number and its word for the young."""
    bare = pattern.replace("{n}", "").strip(" :.-")
    bare = " ".join((bare if bare.count("(") == bare.count(")") else bare.strip("() ")).split())
    return without_young(bare.casefold())


def _twice(sheet: Sheet, heading: str, base: str) -> Line | None:
    """A heading that stands over two columns: asked, where it may mean anything."""
    may_mean = sheet.own.column_of(sheet.table, base) or possible_meanings(sheet.table, base)
    return sheet.line(heading, OPEN, _beside(sheet, base, sheet.cells[heading])) if may_mean else None


def _spoken(sheet: Sheet, heading: str, name: str) -> Line:
    """What farms surely mean by a heading, unless its cells say something else."""
    if name in ANSWERS and counts_of_born(sheet.raw, heading):
        beside = f"holds {sheet.shown(heading)}; counts newborns of a litter, perhaps {COUNTED_INSTEAD[name]}"
        return sheet.line(heading, OPEN, beside)
    return _or_asked(sheet, heading, made_by_cells(sheet, name, heading))


def _or_asked(sheet: Sheet, heading: str, name: str) -> Line:
    """The line of a column, which needs no remark unless it is open."""
    return sheet.line(heading, name, _beside(sheet, heading, sheet.cells[heading]) if name == OPEN else "")


def _by_its_cells(sheet: Sheet, heading: str) -> Line:
    """What cells, other columns or a likeness make of a heading that words leave open, else that it is asked."""
    if line := next((line for proof in BY_CELLS if (line := proof(sheet, heading))), None):
        return line
    if line := _of_a_mob(sheet, heading):
        return line
    cells, possible = sheet.cells[heading], sheet.may_mean(heading)
    like = like_heading(sheet.table, heading, sheet.tongues)
    likely = not possible and like.sure and like.meant not in sheet.taken
    if likely and fits(known_column(sheet.table, like.meant), cells):
        sure = made_by_cells(sheet, like.meant, heading) if like.meant == "litter_id" else like.meant
        return _or_asked(sheet, heading, sure)
    if _is_left_out(sheet, heading, cells, possible or like.candidates):
        return sheet.line(heading, "", f"left out; holds {shown(cells)}")
    return sheet.line(heading, OPEN, _beside(sheet, heading, cells))


def _of_a_mob(sheet: Sheet, heading: str) -> Line | None:
    """The column of mobs that the single words of a heading speak of, where it is free and the cells fit it."""
    if sheet.table != "mobs":
        return None
    cells, meant, taken = sheet.cells[heading], mob_meaning(heading), sheet.taken
    if not meant:
        unnamed = "mob" not in taken and not any(mob_meaning(h) == "mob" for h in sheet.raw.columns)
        named = unnamed and len(cells.distinct) >= 2 and not fits(known_column("mobs", "joined"), cells)
        return sheet.line(heading, OPEN, f"holds {shown(cells)}; perhaps mob") if named else None
    if not fits(known_column("mobs", meant), cells):
        return None
    alone = sum(mob_meaning(h) == meant for h in sheet.raw.columns if h not in sheet.known) == 1
    if meant not in taken and alone:
        return sheet.line(heading, meant, f"by its words; holds {shown(cells)}")
    return sheet.line(heading, OPEN, _beside(sheet, heading, cells))


def _is_left_out(sheet: Sheet, heading: str, cells: RawColumn, near: tuple[str, ...]) -> bool:
    """True for what is known to be no column, or is like none and tells of no deaths."""
    if is_no_column(heading):
        return True
    if sheet.table in LISTS and (tells_apart(sheet, cells) or near_by_words(sheet.table, heading)):
        return False
    alone = {"newborn_id", "birth_order"} & set(sheet.meant.values())
    if not alone and heading in open_counts(sheet.raw, sheet.own):
        return False
    if sheet.table == "births" and (asks_for(heading) or tells_of_deaths(heading, cells).any()):
        return False
    return not near and not like_values(sheet.table, tuple(plain(cell) for cell in cells.distinct))


def _beside(sheet: Sheet, heading: str, cells: RawColumn) -> str:
    """The first values of a column and the nearest candidates, for the person who completes the map."""
    if sheet.table == "births" and holds_litters(cells):
        return (
            f"holds {shown(cells)}; a cell tells of a whole litter: write one row a newborn, or born, born dead "
            "and died later in columns of numbers"
        )
    near = sheet.may_mean(heading) or like_heading(sheet.table, heading, sheet.tongues).candidates
    near = near or like_values(sheet.table, tuple(plain(cell) for cell in cells.distinct))
    if not near and sheet.table in LISTS:
        near = near_by_words(sheet.table, heading)
    if not near and sheet.table in LISTS and tells_apart(sheet, cells):
        time = TIME_OF_A_LIST[sheet.table]
        near = (time,) if has_dates(cells) and time not in sheet.meant.values() else ("newborn_id",)
    near = tuple(name for name in dict.fromkeys(near) if not is_no_time(sheet, name, cells))
    perhaps = f"; perhaps {' or '.join(near)}" if near else ""
    return f"holds {shown(cells)}{perhaps}"


def _one_heading_each(sheet: Sheet, lines: list[Line]) -> list[Line]:
    """The lines of a list, of which no two headings may mean one column: those that nobody has said are asked."""
    means: dict[str, list[str]] = {}
    for heading, name in sheet.meant.items():
        if name and sheet.cells[heading].filled.any():
            means.setdefault(name, []).append(heading)
    for name, headings in means.items():
        if len(headings) < 2 or name in DAY_OF:
            continue
        for heading in headings:
            if not sheet.own.only_spoken(sheet.table, heading) or sheet.mapped(heading):
                continue
            others = ", ".join(f'"{other}"' for other in headings if other != heading)
            beside = f"holds {sheet.shown(heading)}; perhaps {name}, as {others} may be too"
            lines = [line for line in lines if line.said != heading]
            lines.append(sheet.line(heading, OPEN, beside))
            sheet.meant[heading] = ""
    return lines


def _with_a_result(sheet: Sheet, lines: list[Line]) -> list[Line]:
    """The lines of a list, of which what was left out is asked where no column holds a result."""
    results = RESULTS.get(sheet.table, ())
    if not results or set(results) & set(sheet.meant.values()):
        return lines
    perhaps = " or ".join(results)
    return [
        replace(line, meant=OPEN, beside=f"holds {sheet.shown(line.said)}; perhaps {perhaps}")
        if line.said in sheet.cells and _may_be_a_result(sheet, line)
        else line
        for line in lines
    ]


def _may_be_a_result(sheet: Sheet, line: Line) -> bool:
    left = line.meant == "" and not is_no_column(line.said) and not sheet.mapped(line.said)
    return left and bool(sheet.cells[line.said].filled.any())


def _words(sheet: Sheet) -> Iterator[Line]:
    """A line for each word that is not known; ticks of the dead beside ticks of the living need none."""
    for heading, name in sheet.meant.items():
        if not name or heading in sheet.counts:
            continue
        said = sheet.own.words.get(name, {})
        if name == "product" and "treatment" in sheet.meant.values():
            continue
        if name in ("died", "alive_now") and not said and _marked_apart(sheet):
            continue
        tidy, cells = known_column(sheet.table, name), sheet.cells[heading]
        yield from words_left(sheet.table, tidy, heading, cells, said, sheet.tongues)


def _marked_apart(sheet: Sheet) -> bool:
    """True where one column ticks the dead and one the living, so that the ticks need no words."""
    died, alive = sheet.heading_of("died"), sheet.heading_of("alive_now")
    return bool(died and alive and marked_apart(sheet.cells[died], sheet.cells[alive]))


def _units(sheet: Sheet, lines: list[Line]) -> Iterator[Line]:
    """The unit that headings of numbered newborns name: under one tidy column it stands in no heading any more."""
    for line in lines:
        unit = unit_said(sheet.table, without_young(line.said.replace("{n}", "").casefold()))
        if "{n}" in line.said and line.meant not in ("", OPEN) and unit:
            yield Line(f"{sheet.table}.units", line.meant, unit, "by the headings")


def _species(sheet: Sheet) -> Iterator[Line]:
    names = {*sheet.meant.values(), *sheet.own.fixed}
    if sheet.table in ("births", *ALONE) and "species" not in names:
        species = species_spoken_of([*sheet.raw.columns, sheet.raw.sheet, sheet.raw.file.rpartition(".")[0]])
        if species:
            yield Line(f"{sheet.table}.fixed", "species", species, "by the headings")


def _years(sheet: Sheet) -> Iterator[Line]:
    """An open line for the year, where dates have none and nothing else says it."""
    if sheet.table != "births" or sheet.records_map.dates.year:
        return
    chosen = {name: sheet.cells[heading] for heading, name in sheet.meant.items() if name}
    try:
        with_years(chosen, sheet.raw, sheet.records_map, Settings(day_first=True))
    except NoYear:
        yield Line("dates", "year", OPEN, "dates have no year; write it without quotation marks")
    except CannotRead:
        return


def notes_of(sheet: Sheet) -> Iterator[str]:
    """What the map cannot say of itself, as comments at its top."""
    names = sheet.taken
    alive = sheet.records_map.alive.any_value_in
    if sheet.table != "births" or not names or names & OUTCOMES or alive:
        return
    partly = [heading for heading, name in sheet.meant.items() if not name and _may_show_life(sheet, heading)]
    headings = ", ".join(quoted_key(heading) for heading in partly) or '"weaning weight"'
    name = (sheet.raw.sheet or sheet.raw.file).replace('"', "")
    yield from (line.replace("{headings}", headings) for line in NO_OUTCOME)
    if "newborn_id" not in names:
        yield from (line.replace("{name}", name) for line in NO_BIRTHS)


def _may_show_life(sheet: Sheet, heading: str) -> bool:
    """True for a column filled in part whose values cannot be of the dead."""
    cells = sheet.cells[heading]
    if not cells.filled.any() or cells.filled.all():
        return False
    possible = {meaning.column for meaning in possible_meanings("births", heading)}
    asked = asks_for(heading) not in ("", "alive") or stage_asked(heading) is not None
    return not (asked or possible & OF_DEATHS or tells_of_deaths(heading, cells).any())
