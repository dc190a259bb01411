"""Lines that are no record, and lines that a broken file swallows: every one must be accounted for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.season.farm_files.case import Made, add, case
from tests.season.farm_files.truth import Newborn, by_litter, season_of
from tests.season.farm_files.writing import ENDED, Row, columns, grid, put, table, text_of, workbook

NO_RECORD = "lines that are no record"
BROKEN = "broken lines"
HEADINGS = "repeated headings, several tables"

Change = Callable[[list[list[Any]]], list[Row]]


def book(truth: list[Newborn]) -> list[list[Any]]:
    return grid(truth, columns(**ENDED))


def lined(name: str, seed: int, change: Change, accept: str = "mapped", lean: bool = False) -> None:
    """A good book with lines added; a lean one leaves the living blank, and of odd number begins with the tag."""

    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=20 + seed % 20)
        without = "season species" if seed % 2 else "season"
        rows = grid(truth, columns(without, died=lambda n: "yes" if n.dead else "")) if lean else book(truth)
        return Made([table(folder / "lambs.csv", change(rows))], truth, "litter season")

    add(NO_RECORD, name, accept, build)


def after(*lines: Row) -> Change:
    return lambda rows: [*rows, *lines]


def each(every: int, line: Callable[[int], Row]) -> Change:
    """A line of its own after each so many rows."""

    def change(rows: list[list[Any]]) -> list[Row]:
        out: list[Row] = [rows[0]]
        for place, row in enumerate(rows[1:], 1):
            out.append(row)
            if place % every == 0:
                out.append(line(place))
        return out

    return change


lined("footnotes below", 400, after([], ["* tagged late"], ["** weighed wet"]), lean=True)
lined(
    "a footnote in another column",
    401,
    after(["", "", "", "", "lambs of the hill lot are missing"]),
    lean=True,
)
lined("a total", 402, after(["Total", "", "", "", "", "", "7"]), lean=True)
lined("totals in Spanish", 403, after(["Suma", "", "", "40", "", "5"]), lean=True)
lined("a legend", 404, after([], ["Legend:"], ["yes", "died"], ["blank", "alive"]), lean=True)
lined("pen rows", 405, each(9, lambda place: [f"PEN {place // 9}"]), lean=True)
lined("rows of the day", 406, each(7, lambda place: [f"--- Day {place // 7} ---"]), lean=True)
lined("comment lines", 407, lambda rows: [["# kept by the night shift"], *rows, ["# end of book"]], lean=True)
lined("empty check boxes", 408, after(*[["", "", "", "", "", "", "FALSE"]] * 40), lean=True)
lined(
    "empty check boxes of a full book",
    409,
    after(*[["2026", "sheep", "", "", "", "", "", "no", "", ""]] * 60),
    "said",
)
lined("the species copied down", 410, after(*[["sheep"]] * 25), lean=True)
lined("a signature", 411, after(["", "", ""], ["checked by the shepherd 12 May"]), lean=True)
lined("a grand total between pens", 412, each(10, lambda place: ["sub-total", "", "", "", "10"]), lean=True)
lined("blank lines between litters", 413, each(3, lambda place: []))
lined("rows of dashes", 414, each(8, lambda place: ["-----"] * 7), lean=True)
lined("average and count below", 415, after(["Average", "", "", "1.9"], ["Count", "", "", "40"]), lean=True)
lined("the vet's note", 416, after(["NB vet says watch the twins of 014, two were lost"]), lean=True)
lined(
    "a remark with died beside it",
    417,
    after(["dead lambs collected on Friday", "", "", "", "", "yes"]),
    "said",
    True,
)
lined("zeros below", 418, after(*[["", "", "", "", "0", "", ""]] * 12), lean=True)
lined("a title above", 419, lambda rows: [["Lambing 2026, low shed"], [], *rows])
lined("three lines above", 420, lambda rows: [["Low Shed"], ["2026"], ["yes = died"], *rows], lean=True)


def halves(rows: list[list[Any]]) -> tuple[list[Any], list[list[Any]], list[list[Any]]]:
    middle = len(rows) // 2
    return rows[0], rows[1:middle], rows[middle:]


@case(HEADINGS, "the heading on each printed page")
def heading_each_page(folder: Path) -> Made:
    truth = season_of(430, litters=34)
    rows = book(truth)
    paged = [
        row for place, row in enumerate(rows[1:]) for row in ([rows[0], row] if place % 15 == 0 else [row])
    ]
    return Made([table(folder / "l.csv", paged)], truth, "litter")


@case(HEADINGS, "two tables, one under the other")
def two_tables(folder: Path) -> Made:
    truth = season_of(431, litters=34)
    head, upper, lower = halves(book(truth))
    rows = [["Top shed"], head, *upper, [], [], ["Low shed"], head, *lower]
    return Made([table(folder / "l.csv", rows)], truth, "litter")


@case(HEADINGS, "the second table has its columns in another order", "said")
def other_order(folder: Path) -> Made:
    truth = season_of(432, litters=34)
    head, upper, lower = halves(book(truth))
    rows = [head, *upper, [], head[::-1], *[row[::-1] for row in lower]]
    return Made([table(folder / "l.csv", rows)], truth, "litter")


@case(HEADINGS, "two tables side by side", "said")
def side_by_side(folder: Path) -> Made:
    truth = season_of(433, litters=30)
    head, upper, lower = halves(book(truth))
    lower += [[""] * len(head)] * (len(upper) - len(lower))
    upper += [[""] * len(head)] * (len(lower) - len(upper))
    rows = [[*head, "", *head], *[[*left, "", *right] for left, right in zip(upper, lower, strict=True)]]
    return Made([workbook(folder / "b.xlsx", {"Shed": rows})], truth)


@case(HEADINGS, "a small summary beside the table", "said")
def summary_beside(folder: Path) -> Made:
    truth = season_of(434, litters=24)
    rows = book(truth)
    beside = [["born", len(truth)], ["dead", sum(bool(n.dead) for n in truth)]]
    wide = [[*row, "", *beside[place]] if place < 2 else row for place, row in enumerate(rows)]
    return Made([workbook(folder / "b.xlsx", {"Shed": wide})], truth)


@case(HEADINGS, "a heading of two rows", "said")
def two_rows_of_heading(folder: Path) -> Made:
    truth = season_of(435, litters=24)
    rows = book(truth)
    over = ["", "", "lamb", "ewe", "birth", "birth", "lamb", "loss", "loss", "loss"]
    return Made([workbook(folder / "b.xlsx", {"Shed": [over, *rows]})], truth, "litter")


@case(HEADINGS, "a sheet a pen")
def sheet_a_pen(folder: Path) -> Made:
    truth = season_of(436, litters=30)
    head, upper, lower = halves(book(truth))
    return Made(
        [workbook(folder / "b.xlsx", {"Pen 1": [head, *upper], "Pen 2": [head, *lower]})], truth, "litter"
    )


@case(HEADINGS, "headings of one letter case and spaces", "right")
def shouted(folder: Path) -> Made:
    truth = season_of(437, litters=30)
    rows = book(truth)
    rows[0] = [f" {name.upper().replace('_', '  ')} " for name in rows[0]]
    return Made([table(folder / "l.csv", rows)], truth, "litter")


def broken(
    name: str, seed: int, change: Callable[[list[str]], list[str]], accept: str = "said", cut: int = 0
) -> None:
    """A good file's lines, damaged; `cut` of its last newborns cannot be rescued."""

    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=30)
        lines = text_of(grid(truth, columns(note=lambda n: "", **ENDED))).splitlines()
        path = put(folder / "lambs.csv", "\n".join(change(lines)) + "\n")
        return Made(
            [path],
            truth,
            "litter",
            frozenset(n.tag for n in truth[len(truth) - cut :]) if cut else frozenset(),
        )

    add(BROKEN, name, accept, build)


def swap(lines: list[str], place: int, old: str, new: str) -> list[str]:
    assert old in lines[place], lines[place]
    return [line.replace(old, new, 1) if at == place else line for at, line in enumerate(lines)]


broken("a quotation mark opened in a note", 440, lambda lines: swap(lines, 9, ",,", ',"ewe rough,'))
broken("a quotation mark before a sex", 441, lambda lines: swap(lines, 5, "male", '"male'))
broken(
    "two quotation marks far apart",
    442,
    lambda lines: swap(swap(lines, 8, ",,", ',"big,'), 20, ",,", ',small",'),
)
broken("inches in a note", 443, lambda lines: swap(lines, 12, ",,", ',6" of snow,'))
broken(
    "a quotation mark opened in the last rows",
    444,
    lambda lines: swap(lines, len(lines) - 4, ",,", ',"late,'),
)
broken(
    "commas become semicolons halfway",
    445,
    lambda lines: [*lines[:20], *(line.replace(",", ";") for line in lines[20:])],
)
broken(
    "tabs for three lines",
    446,
    lambda lines: [*lines[:9], *(line.replace(",", "\t") for line in lines[9:12]), *lines[12:]],
)
broken("a comma in an unquoted note", 447, lambda lines: swap(lines, 7, ",,", ",small, weak,"), "said")
broken(
    "line ends of two kinds",
    449,
    lambda lines: [line + "\r" if place % 3 else line for place, line in enumerate(lines)],
    "mapped",
)
broken("one row twice on a line", 450, lambda lines: [*lines[:10], lines[10] + lines[11], *lines[12:]])


@case(BROKEN, "a cell with a line break, well quoted", "mapped")
def break_in_cell(folder: Path) -> Made:
    truth = season_of(451, litters=24)
    say = columns(note=lambda n: "ewe restless\nwatched, then left" if n.order == 2 else "", **ENDED)
    return Made([table(folder / "l.csv", grid(truth, say))], truth, "litter age")


@case(BROKEN, "a line break in a heading", "said")
def break_in_heading(folder: Path) -> Made:
    truth = season_of(452, litters=24)
    rows = book(truth)
    rows[0][4] = "born\nat"
    return Made([table(folder / "l.csv", rows)], truth, "litter")


@case(BROKEN, "cut off in its middle", "said")
def cut_off(folder: Path) -> Made:
    truth = season_of(453, litters=30)
    text = text_of(book(truth))
    whole = text.splitlines()
    kept = "\n".join(whole[:-3])
    return Made(
        [put(folder / "l.csv", kept + "\n" + whole[-3][:21])],
        truth[:-2],
        "litter",
        frozenset({truth[-3].tag}),
    )


@case(BROKEN, "cut inside a quoted note", "said")
def cut_in_quote(folder: Path) -> Made:
    truth = season_of(454, litters=30)
    lines = text_of(grid(truth, columns(**ENDED, note=lambda n: ""))).splitlines()
    return Made([put(folder / "l.csv", "\n".join(lines) + '"the ewe was')], truth, "litter")


@case(BROKEN, "a zero byte and a form feed", "said")
def stray_bytes(folder: Path) -> Made:
    truth = season_of(455, litters=24)
    text = text_of(book(truth))
    return Made([put(folder / "l.csv", text.replace("female", "fem\x0cale", 1) + "\x1a")], truth, "litter")


@case(BROKEN, "a separator named on its first line", "mapped")
def sep_line(folder: Path) -> Made:
    truth = season_of(456, litters=24)
    return Made([put(folder / "l.csv", "sep=;\n" + text_of(book(truth), ";"))], truth, "litter age")


@case(BROKEN, "bars between the cells", "mapped")
def bars(folder: Path) -> Made:
    truth = season_of(457, litters=24)
    return Made([table(folder / "l.txt", book(truth), "|")], truth, "litter age")


@case(BROKEN, "rows with fewer cells than headings", "mapped")
def short_rows(folder: Path) -> Made:
    truth = season_of(458, litters=24)
    lines = [line.rstrip(",") for line in text_of(book(truth)).splitlines()]
    return Made([put(folder / "l.csv", "\n".join(lines) + "\n")], truth, "litter age")


@case(NO_RECORD, "litters parted by a line with the ewe's name", "said")
def dam_lines(folder: Path) -> Made:
    truth = season_of(459, litters=20)
    rows: list[Row] = [["Lamb", "Born", "Sex", "Died"]]
    for litter in by_litter(truth):
        rows.append([f"Ewe {litter[0].dam}"])
        rows += [[n.tag, n.born, n.sex, "yes" if n.dead else "no"] for n in litter]
    return Made([table(folder / "l.csv", rows)], truth)
