"""Whole files and folders: given twice, copied, in two versions, locked, hidden, in subfolders; odd sheets."""

from __future__ import annotations

from pathlib import Path

from openpyxl import Workbook

from tests.season.farm_files.case import Made, case
from tests.season.farm_files.truth import Newborn, season_of
from tests.season.farm_files.writing import ENDED, columns, grid, put, table, workbook

COPIES = "files given twice, copies"
VERSIONS = "two versions of a season"
FOLDERS = "folders, lock files, hidden sheets"


def book(truth: list[Newborn], path: Path, without: str = "") -> Path:
    return table(path, grid(truth, columns(without, **ENDED)))


@case(COPIES, "the same path twice")
def twice(folder: Path) -> Made:
    truth = season_of(700)
    path = book(truth, folder / "lambs.csv")
    return Made([path, path], truth, "litter age")


@case(COPIES, "by two ways to it")
def two_ways(folder: Path) -> Made:
    truth = season_of(701)
    path = book(truth, folder / "2026" / "lambs.csv")
    return Made([path, folder / "2026" / ".." / "2026" / "lambs.csv"], truth, "litter age")


@case(COPIES, "a download (1)", "said")
def download(folder: Path) -> Made:
    truth = season_of(702)
    return Made([book(truth, folder / "lambs.csv"), book(truth, folder / "lambs (1).csv")], truth, "litter")


@case(COPIES, "a folder with a copy in it", "said")
def folder_with_copy(folder: Path) -> Made:
    truth = season_of(703)
    book(truth, folder / "in" / "lambs.csv")
    book(truth, folder / "in" / "lambs - Copy.csv")
    return Made([folder / "in"], truth, "litter")


@case(COPIES, "a copy without tags", "said")
def copy_without_tags(folder: Path) -> Made:
    truth = season_of(704)
    paths = [book(truth, folder / name, "newborn_id") for name in ("lambs.csv", "lambs_backup.csv")]
    return Made(paths, truth, "litter")


@case(COPIES, "the workbook and its export", "said")
def workbook_and_export(folder: Path) -> Made:
    truth = season_of(705)
    rows = grid(truth, columns(**ENDED))
    return Made(
        [workbook(folder / "l.xlsx", {"Lambs": rows}), table(folder / "l.csv", rows)], truth, "litter"
    )


@case(COPIES, "a copy sorted another way", "said")
def sorted_copy(folder: Path) -> Made:
    truth = season_of(706)
    return Made(
        [book(truth, folder / "by date.csv"), book(truth[::-1], folder / "by tag.csv")], truth, "litter"
    )


@case(COPIES, "a file and the folder that holds it")
def file_and_folder(folder: Path) -> Made:
    truth = season_of(707)
    path = book(truth, folder / "in" / "lambs.csv")
    return Made([path, folder / "in"], truth, "litter")


def early(truth: list[Newborn]) -> list[Newborn]:
    """The book as it stood before half of the deaths."""
    return [n.but(dead=False, age_h=None, cause=None) if n.dead and n.order == 1 else n for n in truth]


@case(VERSIONS, "a later one with more deaths", "said")
def later_deaths(folder: Path) -> Made:
    truth = season_of(710, litters=30)
    return Made(
        [book(early(truth), folder / "lambs.csv"), book(truth, folder / "lambs v2.csv")], truth, "litter"
    )


@case(VERSIONS, "a first half and the whole", "said")
def half_and_whole(folder: Path) -> Made:
    truth = season_of(711, litters=30)
    half = next(place for place in range(20, 60) if truth[place].order == 1)
    return Made(
        [book(truth[:half], folder / "april 1.csv"), book(truth, folder / "april 30.csv")], truth, "litter"
    )


@case(VERSIONS, "two sheets of one book", "said")
def two_sheets(folder: Path) -> Made:
    truth = season_of(712, litters=30)
    sheets = {"draft": grid(early(truth), columns(**ENDED)), "final": grid(truth, columns(**ENDED))}
    return Made([workbook(folder / "b.xlsx", sheets)], truth, "litter")


@case(VERSIONS, "with dates, without tags", "said")
def without_tags(folder: Path) -> Made:
    truth = season_of(713, litters=30)
    paths = [
        book(early(truth), folder / "l_2026-04-10.csv", "newborn_id"),
        book(truth, folder / "l_2026-05-10.csv", "newborn_id"),
    ]
    return Made(paths, truth, "litter")


@case(VERSIONS, "both keepers' books", "said")
def two_keepers(folder: Path) -> Made:
    truth = season_of(714, litters=30)
    mine = [n if not n.dead or n.order == 1 else n.but(dead=False, age_h=None, cause=None) for n in truth]
    return Made([book(early(truth), folder / "day.csv"), book(mine, folder / "night.csv")], truth)


@case(FOLDERS, "two farms, one file name")
def two_farms(folder: Path) -> Made:
    one = season_of(720, litters=16, dam="A{:03d}")
    two = season_of(721, litters=16, dam="B{:03d}", tag="7{:04d}")
    paths = [book(one, folder / "hill" / "lambs.csv"), book(two, folder / "vale" / "lambs.csv")]
    return Made(paths, one + [n.but(litter="v" + n.litter) for n in two], "litter")


@case(FOLDERS, "two seasons, one file name")
def two_years(folder: Path) -> Made:
    one = season_of(722, litters=16, first="2025-03-20")
    two = season_of(723, litters=16, tag="8{:04d}")
    return Made(
        [book(one, folder / "2025" / "lambs.csv"), book(two, folder / "2026" / "lambs.csv")],
        one + two,
        "litter season",
    )


@case(FOLDERS, "a lock file beside the book", "said")
def lock_file(folder: Path) -> Made:
    truth = season_of(724)
    workbook(folder / "in" / "lambs.xlsx", {"Lambs": grid(truth, columns(**ENDED))})
    put(folder / "in" / "~$lambs.xlsx", "keeper" + "\0" * 150)
    return Made([folder / "in"], truth, "litter", named=("~$lambs.xlsx",))


@case(FOLDERS, "an office lock file of another kind", "said")
def other_lock(folder: Path) -> Made:
    truth = season_of(725)
    book(truth, folder / "in" / "lambs.csv")
    put(folder / "in" / ".~lock.lambs.csv#", ",keeper,shed,12.04.2026 06:11;")
    return Made([folder / "in"], truth, "litter")


@case(FOLDERS, "a subfolder with half of the season", "said")
def subfolder(folder: Path) -> Made:
    truth = season_of(726, litters=30)
    half = next(place for place in range(20, 60) if truth[place].order == 1)
    book(truth[:half], folder / "in" / "april.csv")
    book(truth[half:], folder / "in" / "may" / "may.csv")
    return Made([folder / "in"], truth, "litter", frozenset(n.tag for n in truth[half:]))


@case(FOLDERS, "a hidden sheet with more lambs", "said")
def hidden_sheet(folder: Path) -> Made:
    truth = season_of(727, litters=30)
    half = next(place for place in range(20, 60) if truth[place].order == 1)
    say = columns(**ENDED)

    def hide(found: Workbook) -> None:
        found["late"].sheet_state = "hidden"

    path = workbook(
        folder / "b.xlsx", {"lambs": grid(truth[:half], say), "late": grid(truth[half:], say)}, hide
    )
    return Made([path], truth, "litter", frozenset(n.tag for n in truth[half:]), ("late",))


@case(FOLDERS, "a sheet that nobody can place", "said")
def odd_sheet(folder: Path) -> Made:
    truth = season_of(728)
    sheets = {"lambs": grid(truth, columns(**ENDED)), "feed bills": [["month", "tons"], ["April", 3.5]]}
    return Made([workbook(folder / "b.xlsx", sheets)], truth, "litter age", named=("feed bills",))


@case(FOLDERS, "a sheet of deaths beside the births", "said")
def deaths_sheet(folder: Path) -> Made:
    truth = season_of(729)
    deaths = [["lamb", "died", "why"], *([n.tag, n.died, n.cause] for n in truth if n.dead)]
    return Made([workbook(folder / "b.xlsx", {"births": grid(truth, columns()), "losses": deaths})], truth)


@case(FOLDERS, "a file of deaths beside a book that leaves some out", "said")
def deaths_file(folder: Path) -> Made:
    truth = season_of(730)
    path = book(early(truth), folder / "lambs.csv")
    losses = [["newborn_id", "died_at"], *([n.tag, n.died] for n in truth if n.dead and n.order == 1)]
    return Made([path, table(folder / "losses.csv", losses)], truth)


@case(FOLDERS, "notes and pictures in the folder", "said")
def other_files(folder: Path) -> Made:
    truth = season_of(731)
    book(truth, folder / "in" / "lambs.csv")
    put(folder / "in" / "notes.docx", "not a document")
    put(folder / "in" / "shed.jpg", "not a picture")
    return Made([folder / "in"], truth, "litter", named=("notes.docx",))
