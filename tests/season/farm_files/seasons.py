"""Seasons where birth dates put them: over New Year, in the south, with slips of the year, undated rows, odd names."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from tests.season.farm_files.case import Made, add, case
from tests.season.farm_files.truth import Newborn, season_of
from tests.season.farm_files.writing import ENDED, columns, grid, table, workbook

KIND = "seasons by the birth dates"
SLIPS = "slips of the year"
UNDATED = "undated rows"

# name, first birth days (one a season), days that births run, species
RUNS: tuple[tuple[str, tuple[str, ...], int, str], ...] = (
    ("over New Year, one season", ("2025-12-08",), 50, "sheep"),
    ("over New Year, three seasons", ("2023-12-01", "2024-12-03", "2025-12-05"), 55, "sheep"),
    ("southern, August to October, one", ("2025-08-05",), 75, "sheep"),
    ("southern, August to October, three", ("2023-08-10", "2024-08-06", "2025-08-08"), 70, "sheep"),
    ("southern calves, July to September", ("2024-07-20", "2025-07-18"), 62, "cattle"),
    ("autumn calves, October to January", ("2024-10-10", "2025-10-12"), 95, "cattle"),
    ("early kids, November to January", ("2024-11-20", "2025-11-18"), 60, "goat"),
    ("spring, two seasons", ("2025-03-20", "2026-03-18"), 40, "sheep"),
    ("late August into September", ("2024-08-25", "2025-08-25"), 20, "goat"),
    ("spring and autumn in a year", ("2026-02-20", "2026-09-10"), 25, "sheep"),
)


def several(seed: int, starts: tuple[str, ...], days: int, species: str, litters: int = 20) -> list[Newborn]:
    truth: list[Newborn] = []
    for place, first in enumerate(starts):
        truth += season_of(
            seed + 50 * place,
            litters=litters,
            species=species,
            first=first,
            days=days,
            season=f"season {place + 1}",
            dam=chr(65 + place) + "{:03d}",
            start=1 + place * 100,
        )
    return truth


def unnamed(seed: int, starts: tuple[str, ...], days: int, species: str, *, by_day: bool):  # type: ignore[no-untyped-def]
    def build(folder: Path) -> Made:
        truth = several(seed, starts, days, species)
        born = {"born_on": lambda n: n.born.date()} if by_day else {"born_at": lambda n: n.born}
        say = columns("season species born_at", {"species": lambda n: species, **born}, died=ENDED["died"])
        return Made([table(folder / "births.csv", grid(truth, say))], truth, "season litter latest")

    return build


for number, (name, starts, days, species) in enumerate(RUNS):
    add(KIND, name, "mapped", unnamed(500 + number, starts, days, species, by_day=number % 3 == 1))


def named(name: str, seed: int, names: tuple[str, ...], accept: str = "mapped") -> None:
    """Seasons named by the farm, which do not sort as text."""

    def build(folder: Path) -> Made:
        starts = tuple(f"{2027 - len(names) + place}-03-20" for place in range(len(names)))
        truth = several(seed, starts, 30, "sheep", litters=14)
        say = columns(season=lambda n: names[int(n.season[-1]) - 1], died=ENDED["died"])
        return Made([table(folder / "births.csv", grid(truth, say))], truth, "season litter latest")

    add("names of seasons", name, accept, build)


named("Year 9 and Year 10", 520, ("Year 9", "Year 10"))
named("Lambing 8, 9, 10, 11", 521, ("Lambing 8", "Lambing 9", "Lambing 10", "Lambing 11"))
named("24/25 and 25/26", 522, ("24/25", "25/26"))
named("spring names", 523, ("Spring 2025", "Spring 2026"))
named("names that sort the other way", 524, ("snowy year", "dry year"))
named("'25 and '26", 525, ("'25", "'26"))


def slipped(name: str, seed: int, year: int, rows: int, facets: str = "season latest") -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=34)
        slips = {n.tag for n in truth[10 : 10 + rows]}
        wrong = {n.tag: n.born.replace(year=year) for n in truth if n.tag in slips}
        say = columns("season", {"born_at": lambda n: wrong.get(n.tag, n.born)}, died=ENDED["died"])
        path = table(folder / "births.csv", grid(truth, say))
        return Made([path], [n.but(season=None) if n.tag in slips else n for n in truth], facets)

    add(SLIPS, name, "said", build)


slipped("2062 for 2026", 530, 2062, 1)
slipped("2002 for 2026", 531, 2002, 1)
slipped("next year typed in January", 532, 2027, 1)
slipped("1926", 533, 1926, 2)
slipped("the year 202", 534, 2202, 1)
slipped("three of the last year", 535, 2025, 3, "latest")


@case(SLIPS, "a spreadsheet's day zero", "said")
def day_zero(folder: Path) -> Made:
    truth = season_of(536, litters=26)
    slip = truth[5].tag
    say = columns(
        "season", {"born_at": lambda n: datetime(1900, 1, 1) if n.tag == slip else n.born}, died=ENDED["died"]
    )
    path = workbook(folder / "b.xlsx", {"Lambs": grid(truth, say)})
    return Made([path], [n.but(season=None) if n.tag == slip else n for n in truth], "season latest")


@case(UNDATED, "some without a date", "said")
def some_undated(folder: Path) -> Made:
    truth = [
        n.but(season=None) if place in (3, 17, 18) else n
        for place, n in enumerate(season_of(540, litters=28))
    ]
    say = columns("season", {"born_at": lambda n: n.born if n.season else ""}, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "season latest")


@case(UNDATED, "the dead without a date", "said")
def dead_undated(folder: Path) -> Made:
    truth = [n.but(season=None) if n.dead else n for n in season_of(541, litters=28)]
    say = columns("season", {"born_at": lambda n: n.born if n.season else ""}, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "season latest")


@case(UNDATED, "two seasons and a few without a date", "said")
def undated_among_two(folder: Path) -> Made:
    truth = several(542, ("2025-03-20", "2026-03-20"), 30, "sheep")
    truth = [n.but(season=None) if place % 9 == 4 else n for place, n in enumerate(truth)]
    say = columns("season", {"born_at": lambda n: n.born if n.season else ""}, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "season latest")


@case(UNDATED, "a date that cannot be read", "said")
def unread_dates(folder: Path) -> Made:
    truth = [
        n.but(season=None) if place in (4, 21) else n for place, n in enumerate(season_of(543, litters=28))
    ]
    say = columns("season", {"born_at": lambda n: n.born if n.season else "last Tuesday"}, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "season latest")


YEARLESS = "dates without a year"


@case(YEARLESS, "day and month beside a season", "mapped")
def day_month(folder: Path) -> Made:
    truth = season_of(550, litters=28)
    say = columns(
        born_at=lambda n: f"{n.born:%d %b %H:%M}", died_at=lambda n: f"{n.died:%d %b %H:%M}" if n.dead else ""
    )
    return Made([table(folder / "b.csv", grid(truth, say))], truth, "age season")


@case(YEARLESS, "dots and no year at all", "said")
def dots(folder: Path) -> Made:
    truth = season_of(551, litters=28)
    say = columns("season", {"born_at": lambda n: f"{n.born:%d.%m.}"}, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth)


@case(YEARLESS, "the year in the file's name only", "said")
def year_in_name(folder: Path) -> Made:
    truth = season_of(552, litters=28)
    say = columns("season", {"born_at": lambda n: f"{n.born:%d/%m}"}, died=ENDED["died"])
    return Made([table(folder / "lambing 2026.csv", grid(truth, say))], truth)


@case(YEARLESS, "day, month and clock in three columns", "said")
def three_columns(folder: Path) -> Made:
    truth = season_of(553, litters=28)
    when = {"day": lambda n: n.born.day, "month": lambda n: n.born.month, "time": lambda n: f"{n.born:%H:%M}"}
    say = columns("born_at", when, died=ENDED["died"])
    return Made([table(folder / "b.csv", grid(truth, say))], truth)
