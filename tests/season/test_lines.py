"""Broken text files: no line is swallowed, every line is accounted for, and what was mended is named.

Where several things vary at once, one in so many of their combinations is read, in steps that meet each value of each
of them; all are with EVERY_FORM=yes.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from itertools import product
from pathlib import Path

import pytest

from neonatal_stats.season.files.delimited import read_delimited
from neonatal_stats.season.files.lines import count_lines, said_lines, shape, split
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from tests.commands import run
from tests.thinned import thinned

pytestmark = pytest.mark.slow

HEADINGS = ("newborn_id", "dam_id", "born_at", "sex", "birth_weight_kg", "group", "died", "died_at", "cause")
NOTE, DIED, SEX = HEADINGS.index("group"), HEADINGS.index("died"), HEADINGS.index("sex")
SEPARATORS = (",", ";", "\t", "|")
Rows = list[list[str]]


def book(seed: int, litters: int = 24) -> Rows:
    """An invented book: litters of one to three, a fifth of them dead, a note here and there."""
    draw = random.Random(seed)
    rows: Rows = []
    for litter in range(litters):
        born = f"2026-04-{1 + litter % 28:02d} {draw.randrange(24):02d}:{draw.randrange(60):02d}"
        for _ in range(draw.choice((1, 2, 2, 3))):
            dead = draw.random() < 0.2 or len(rows) in (4, 11)
            rows.append(
                [
                    f"{1000 + len(rows)}",
                    f"D{litter:03d}",
                    born,
                    draw.choice(("female", "male")),
                    f"{draw.uniform(3, 5):.1f}",
                    draw.choice(("", "", "", "weak", "ewe restless")),
                    "yes" if dead else "no",
                    f"2026-05-0{1 + len(rows) % 9} 10:00" if dead else "",
                    draw.choice(("infection", "accident", "unknown")) if dead else "",
                ]
            )
    return rows


def lines_of(rows: Rows, separator: str = ",") -> list[str]:
    return [separator.join(cells) for cells in (HEADINGS, *rows)]


def read(folder: Path, text: str) -> Season:
    path = folder / "lambs.csv"
    path.write_text(text, encoding="utf-8", newline="")
    return read_season(path)


def fates(season: Season) -> dict[str, bool]:
    return dict(zip(season.births["newborn_id"].astype(str), season.births["died"].astype(bool), strict=True))


def truth(rows: Rows) -> dict[str, bool]:
    return {cells[0]: cells[DIED] == "yes" for cells in rows}


def asked(season: Season) -> list[str]:
    return season.problems.loc[season.problems["ended"] == "asked", "problem"].astype(str).tolist()


def accounted(season: Season, text: str) -> None:
    """The lines that stand in the file, counted without splitting a cell, are those that the reader names."""
    (source,) = season.sources
    assert source.lines == len(text.replace("\r\n", "\n").replace("\r", "\n").removesuffix("\n").split("\n"))
    assert source.unaccounted == 0


def with_note(rows: Rows, place: int, note: str) -> Rows:
    return [
        [*cells[:NOTE], note, *cells[NOTE + 1 :]] if at == place else cells for at, cells in enumerate(rows)
    ]


Damage = Callable[[Rows, str], list[str]]


def opened(place: int, cell: int) -> Damage:
    """A quotation mark opened before a cell of one row and never closed."""

    def damage(rows: Rows, separator: str) -> list[str]:
        broken = [list(cells) for cells in rows]
        broken[place][cell] = '"' + (broken[place][cell] or "rough")
        return lines_of(broken, separator)

    return damage


def two_apart(first: int, second: int) -> Damage:
    """One row opens a quotation mark, a row below closes it: all between is one cell to a plain reader."""

    def damage(rows: Rows, separator: str) -> list[str]:
        return lines_of(with_note(with_note(rows, first, '"big'), second, 'small"'), separator)

    return damage


def three_opened(rows: Rows, separator: str) -> list[str]:
    for place in (3, 9, 20):
        rows = with_note(rows, place, '"torn ear')
    return lines_of(rows, separator)


def a_good_quote_after(rows: Rows, separator: str) -> list[str]:
    rows = with_note(rows, 3, '"torn ear')
    return lines_of(with_note(rows, 9, f'"weak{separator} watched"'), separator)


def good_notes_around(rows: Rows, separator: str) -> list[str]:
    rows = with_note(rows, 2, '"weak\nthen fed"')
    return lines_of(with_note(with_note(rows, 6, '"odd'), 12, '"slow\nto stand"'), separator)


STRAY: dict[str, Damage] = {
    "in a note": opened(9, NOTE),
    "in the first row": opened(0, NOTE),
    "in the last row": opened(-1, NOTE),
    "before a sex": opened(7, SEX),
    "before the tag": opened(5, 0),
    "before an outcome": opened(4, DIED),
    "one row between": two_apart(4, 5),
    "twelve rows between": two_apart(6, 18),
    "three of them": three_opened,
    "a good one after": a_good_quote_after,
    "good notes over two lines around it": good_notes_around,
}


@pytest.mark.quickly(12)
@pytest.mark.parametrize(("name", "separator"), thinned(list(product(STRAY, SEPARATORS)), 3))
def test_a_quotation_mark_left_open_swallows_no_row(tmp_path: Path, name: str, separator: str) -> None:
    rows = book(len(name))
    text = "\n".join(STRAY[name](rows, separator)) + "\n"
    season = read(tmp_path, text)
    assert fates(season) == truth(rows)
    accounted(season, text)
    assert any("a quotation mark" in one for one in asked(season))


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_a_cell_that_goes_on_over_lines_is_one_cell(tmp_path: Path, ends: str) -> None:
    rows = with_note(with_note(book(3), 5, f'"weak{ends}fed at night, then slept"'), 8, f'"a{ends}{ends}b"')
    text = ends.join(lines_of(rows)) + ends
    season = read(tmp_path, text)
    assert fates(season) == truth(rows)
    assert asked(season) == []
    accounted(season, text)
    assert season.sources[0].records == len(rows) + 3


def test_a_heading_over_two_lines_is_one_heading(tmp_path: Path) -> None:
    rows = book(4)
    head, *lines = lines_of(rows)
    text = "\n".join([head.replace("born_at", '"born\nat"'), *lines]) + "\n"
    season = read(tmp_path, text)
    assert fates(season) == truth(rows)
    accounted(season, text)
    assert (season.sources[0].headings, asked(season)) == (2, [])


@pytest.mark.quickly(12)
@pytest.mark.parametrize(
    ("parted", "length", "start"),
    thinned(list(product([",;", ";,", ",\t", "\t;", "|,"], [1, 4, 100], [1, 3, 20])), 4),
)
def test_a_separator_that_changes_is_followed(tmp_path: Path, parted: str, length: int, start: int) -> None:
    usual, other = parted
    rows = book(start + length)
    good, changed = lines_of(rows, usual), lines_of(rows, other)
    text = "\n".join([*good[:start], *changed[start : start + length], *good[start + length :]]) + "\n"
    season = read(tmp_path, text)
    assert fates(season) == truth(rows)
    accounted(season, text)
    (said,) = asked(season)
    assert "the cells are parted by another sign" in said


@pytest.mark.quickly(5)
@pytest.mark.parametrize(("separator", "cut"), thinned(list(product(SEPARATORS, [1, 3, 15, 24, 30])), 2))
def test_a_file_cut_off_in_a_row_is_named_and_the_row_is_set_aside(
    tmp_path: Path, separator: str, cut: int
) -> None:
    rows = book(cut)
    *whole, last = lines_of(rows, separator)
    text = "\n".join([*whole, last[:cut]])
    season = read(tmp_path, text)
    expected = truth(rows[:-1])
    assert fates(season) == expected
    accounted(season, text)
    assert season.balances[0].set_aside == 1
    assert any(f"its last line, {len(rows) + 1}, ends in its middle" in one for one in asked(season))


def test_a_file_without_an_end_to_its_last_line_is_whole(tmp_path: Path) -> None:
    rows = book(5)
    season = read(tmp_path, "\n".join(lines_of(rows)))
    assert fates(season) == truth(rows)
    assert asked(season) == []
    assert season.balances[0].set_aside == 0


def test_a_file_that_leaves_blank_cells_out_at_the_end_of_its_rows_is_whole(tmp_path: Path) -> None:
    rows = book(6)
    season = read(tmp_path, "\n".join(line.rstrip(",") for line in lines_of(rows)))
    assert fates(season) == truth(rows)
    assert asked(season) == []


@pytest.mark.parametrize("note", ["small, weak", "rough, then fed, then left"])
def test_a_separator_inside_a_text_is_taken_as_one_cell_where_all_else_fits(
    tmp_path: Path, note: str
) -> None:
    rows = book(7)
    text = "\n".join(lines_of(with_note(rows, 6, note))) + "\n"
    season = read(tmp_path, text)
    assert fates(season) == truth(rows)
    (said,) = asked(season)
    assert "a text holds the sign that parts the cells on line 8" in said
    accounted(season, text)


@pytest.mark.parametrize("cell", [1, 2, NOTE, DIED])
def test_a_line_end_inside_a_row_does_not_part_it(tmp_path: Path, cell: int) -> None:
    rows = with_note(book(15), 4, "rough ewe, watched".replace(",", ""))
    assert rows[4][DIED] == "yes"
    lines = lines_of(rows)
    text = rows[4][cell]
    cut = text.index(" ") if " " in text else len(text) // 2
    before = ",".join([*rows[4][:cell], text[:cut]])
    lines[5:6] = [before, ",".join([text[cut:].lstrip(), *rows[4][cell + 1 :]])]
    broken = "\n".join(lines) + "\n"
    season = read(tmp_path, broken)
    assert fates(season) == truth(rows)
    accounted(season, broken)
    assert any("a line ends inside a row on line 6" in one for one in asked(season))


def test_a_row_of_too_many_cells_that_fits_in_no_way_is_set_aside(tmp_path: Path) -> None:
    rows = book(8)
    lines = lines_of(rows)
    lines[5] = lines[5].replace(",", ",??,", 3)
    season = read(tmp_path, "\n".join(lines) + "\n")
    assert fates(season) == {tag: dead for tag, dead in truth(rows).items() if tag != rows[4][0]}
    assert season.balances[0].set_aside == 1


def test_a_row_that_lacks_a_separator_is_set_aside_not_read_as_living(tmp_path: Path) -> None:
    rows = book(9)
    lines = lines_of(rows)
    assert rows[4][DIED] == "yes"
    lines[5] = lines[5].replace(f",{rows[4][SEX]},", f",{rows[4][SEX]}", 1)
    season = read(tmp_path, "\n".join(lines) + "\n")
    assert rows[4][0] not in fates(season)
    problems = season.problems[season.problems["ended"] == "set aside"]
    assert problems["row"].tolist() == [6]
    assert problems["problem"].iloc[0].startswith("the row has fewer cells than there are headings")


@pytest.mark.parametrize("end", ["", ","])
def test_two_rows_on_one_line_are_read_as_two(tmp_path: Path, end: str) -> None:
    rows = book(10)
    lines = lines_of(rows)
    text = "\n".join([*lines[:10], lines[10] + end + lines[11], *lines[12:]]) + "\n"
    season = read(tmp_path, text)
    assert fates(season) == truth(rows)
    accounted(season, text)
    assert asked(season) == ["two rows stand on one line (line 11); they were read as two"]


def test_titles_blank_lines_and_headings_are_counted_as_such(tmp_path: Path) -> None:
    rows = book(11)
    head, *lines = lines_of(rows)
    text = "\n".join(["Lambing 2026", "", head, *lines[:5], "", "", *lines[5:], head, ""]) + "\n"
    (source,) = read(tmp_path, text).sources
    assert (source.titles, source.headings, source.blank, source.no_record) == (1, 1, 4, 1)
    assert source.records == len(rows)
    accounted(read(tmp_path, text), text)


@pytest.mark.parametrize("blocks", [2, 3])
def test_tables_side_by_side_under_the_same_headings_are_read_one_below_another(
    tmp_path: Path, blocks: int
) -> None:
    rows = book(13)
    size = -(-len(rows) // blocks)
    parts = [rows[start : start + size] for start in range(0, len(rows), size)]
    wide = [",,".join([",".join(HEADINGS)] * blocks)]
    blank = [""] * len(HEADINGS)
    for place in range(size):
        wide.append(",,".join(",".join(part[place] if place < len(part) else blank) for part in parts))
    text = "\n".join(wide) + "\n"
    season = read(tmp_path, text)
    assert fates(season) == truth(rows)
    accounted(season, text)


def test_headings_that_stand_again_in_another_order_move_the_cells_below_them(tmp_path: Path) -> None:
    rows = book(14)
    order = [3, 0, 8, 1, 2, 7, 4, 6, 5]
    moved = [",".join(cells[place] for place in order) for cells in (list(HEADINGS), *rows[20:])]
    text = "\n".join([*lines_of(rows[:20]), "", *moved]) + "\n"
    season = read(tmp_path, text)
    assert fates(season) == truth(rows)
    accounted(season, text)
    assert season.balances[0].no_record == 1


def test_a_male_called_count_stands_in_records_and_a_count_below_does_not(tmp_path: Path) -> None:
    rows = [["7", "D1", f"2026-04-{day:02d}", "Count" if day % 3 else "Duke", "no"] for day in range(1, 19)]
    rows = [[str(1000 + at), *cells[1:]] for at, cells in enumerate(rows)]
    lines = ["newborn_id,dam_id,born_on,sire_id,died", *map(",".join, rows), "Count,,,,18"]
    season = read(tmp_path, "\n".join(lines) + "\n")
    assert len(season.births) == 18
    assert (season.balances[0].no_record, season.balances[0].set_aside) == (1, 0)


def test_check_prints_where_the_lines_of_each_file_are(tmp_path: Path) -> None:
    rows = book(12, litters=6)
    path = tmp_path / "lambs.csv"
    path.write_text("\n".join(["Low shed", "", *lines_of(rows)]) + "\n", encoding="utf-8")
    done = run("check", path)
    total = len(rows) + 3
    assert (
        f"lambs.csv: {total} lines = {len(rows)} of records + 1 headings + 1 titles + 1 blank" in done.stdout
    )


@pytest.mark.parametrize("seed", range(12))
def test_no_line_is_lost_whatever_signs_are_strewn_into_a_file(seed: int) -> None:
    """Quotation marks, separators and line ends anywhere: every line stands in exactly one row, and rows in order."""
    draw = random.Random(seed)
    text = list("\n".join(lines_of(book(seed))) + "\n")
    for _ in range(12):
        text.insert(draw.randrange(len(text)), draw.choice('",;\n\r\t"'))
    broken = "".join(text)
    grid = read_delimited("x.csv", broken.encode(), "")
    spans = sum(grid.spans.get(place, 1) for place in range(grid.height))
    assert spans == grid.lines == count_lines(broken)


@pytest.mark.quickly(12)
@pytest.mark.parametrize("seed", thinned(range(60), 2))
def test_a_file_damaged_at_random_is_read_with_every_line_accounted_for_or_refused(
    tmp_path: Path, seed: int
) -> None:
    """Signs put in, cells cut out and doubled: no death becomes a life while all is said to be well."""
    draw = random.Random(seed)
    rows, separator = book(seed, litters=draw.choice((3, 8, 24))), draw.choice(SEPARATORS)
    text = list("\n".join(lines_of(rows, separator)) + draw.choice(("\n", "")))
    for _ in range(draw.choice((1, 2, 5, 12))):
        at = draw.randrange(len(separator.join(HEADINGS)), len(text))
        kind = draw.random()
        if kind < 0.6:
            text.insert(at, draw.choice('",;\n\r\t"|'))
        elif kind < 0.8:
            del text[at : at + draw.choice((1, 3, 30))]
        else:
            text[at:at] = text[at : at + draw.choice((5, 60))]
    try:
        season = read(tmp_path, "".join(text))
    except CannotRead:
        return
    assert [source.unaccounted for source in season.sources] == [0]
    lost = {tag for tag, dead in truth(rows).items() if dead}
    living = (
        {tag for tag, dead in fates(season).items() if not dead} if "newborn_id" in season.births else set()
    )
    assert not (season.all_well and lost & living)


def test_lines_are_counted_whatever_ends_them() -> None:
    assert [count_lines(text) for text in ("", "a", "a\n", "a\r\nb", "a\rb\r", "a\n\n", "\u2028\n")] == [
        0, 1, 1, 2, 2, 2, 1,
    ]  # fmt: skip


def test_cells_are_split_as_rfc_4180_has_them() -> None:
    """Quoting of separators, line breaks and quotation marks inside cells: RFC 4180, section 2, rules 5 to 7."""
    assert split('"a,b","c""d",e', ",") == (["a,b", 'c"d', "e"], False)
    assert split('"a\nb",c', ",") == (["a\nb", "c"], False)
    assert split('a,"b', ",") == (["a", "b"], True)


def test_shapes_and_line_numbers_are_said_shortly() -> None:
    assert [shape(cell) for cell in ("2026-04-13 05:30", "NE-12", "born dead", "4,2")] == [
        "9-9-9 9:9", "a-9", "a a", "9,9",
    ]  # fmt: skip
    assert [str(said_lines(n)) for n in ([7], [7, 8], [7, 9, 12])] == [
        "line 7", "lines 7 and 8", "3 lines from 7 to 12",
    ]  # fmt: skip
