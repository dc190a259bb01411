"""Lines that are no record: never a newborn, always counted; and records that look like none."""

from __future__ import annotations

import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season
from tests.season.books import read, said

pytestmark = pytest.mark.quickly(4)

FULL = "newborn_id,dam_id,born_on,species,litter_size,sex,died\n"
LEAN = "season,dam_id,died\n"


def full_book(*lines: str, every: int = 0) -> str:
    """Thirty newborns, the given lines below them (or one of them after so many rows)."""
    rows = [
        f"{n:05d},{n // 2:03d},2026-04-{1 + n % 28:02d},sheep,2,female,{'yes' if n % 7 == 0 else 'no'}"
        for n in range(30)
    ]
    if every:
        rows = [
            line
            for n, row in enumerate(rows)
            for line in ([row, lines[0]] if n % every == every - 1 else [row])
        ]
        return FULL + "\n".join(rows) + "\n"
    return FULL + "\n".join([*rows, *lines]) + "\n"


def counts(season: Season) -> tuple[int, int, int]:
    """Births, lines that are no record, rows set aside."""
    balance = season.balances[0]
    assert balance.used + balance.used_with_missing == len(season.births)
    return len(season.births), balance.no_record, balance.set_aside


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "line",
    [
        "* tagged late,,,,,,",
        "** weighed wet,,,,,,",
        ",,lambs of the hill lot are missing,,,,",
        ",,,,,,FALSE",
        ",,,sheep,,,no",
        ",,,sheep,,,",
        ",,,,0,,",
        ",,,,0,,0",
        "Total,,,,60,,5",
        "Summe,,,,60,,",
        "Suma,,,,60,,5",
        "Razem,,,,60,,5",
        "Cyfanswm,,,,60,,",
        "sub-total,,,,10,,",
        "Average,,,,1.9,,",
        "-----,-----,-----,-----,-----,-----,-----",
        "PEN 3,,,,,,",
        "--- Day 2 ---,,,,,,",
        "Legend:,,,,,,",
        "# end of book,,,,,,",
        "checked by the shepherd 12 May,,,,,,",
        ",,,,,,☐",
        "newborn_id,dam_id,born_on,species,litter_size,sex,died",
    ],
)
def test_a_line_that_names_nobody_is_no_record(line: str) -> None:
    season = read(full_book(line))
    assert counts(season) == (30, 1, 0)
    assert season.births["died"].sum() == 5
    assert set(season.births["season"].astype(str)) == {"2026"}
    shown = season.problems[season.problems["ended"] == "no record"]
    assert shown["row"].tolist() == [32]


@pytest.mark.parametrize("line", ["PEN 3,,,,,,", "--- Day 2 ---,,,,,,", "sub-total,,,,10,,", ",,,,,,FALSE"])
def test_such_lines_between_the_records_are_none_either(line: str) -> None:
    assert counts(read(full_book(line, every=6))) == (30, 5, 0)


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "line",
    [
        "dead lambs collected on Friday,,,,,,yes",
        ",,,,,,yes",
        ",,,sheep,,female,",
        ",,,,,male,no",
        ",,,,,,2026-04-09",
    ],
)
def test_a_line_that_tells_of_a_newborn_without_naming_it_is_set_aside(line: str) -> None:
    season = read(full_book(line))
    assert counts(season)[0] == 30 or "2026-04-09" in line
    assert counts(season)[1] == 0
    if "2026-04-09" not in line:
        assert "the line names no dam, no newborn and no date, and yet tells of a newborn" in said(
            season, "set aside"
        )
        assert not season.all_well


def test_a_line_that_is_no_record_and_speaks_of_a_death_is_asked_about() -> None:
    season = read(full_book("NB two of pen 4 found dead on Sunday,,,,,,"))
    assert counts(season) == (30, 1, 0)
    assert 'row 32 is no record and speaks of a death ("NB two of pen 4 found dead on Sunday")' in " ".join(
        season.outcome_remarks
    )


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "line",
    [
        "Count,,2026-04-09,sheep,1,male,no",
        "00999,Total,2026-04-09,sheep,1,male,no",
        "00999,Sum,,sheep,1,male,no",
        ",123,,,,,no",
        "00999,,,,,,no",
        ",,2026-04-09,,,,no",
        ",,31/04/2026,,,,yes",
        "black one,Old Mary,,sheep,1,male,no",
    ],
)
def test_a_row_that_names_a_dam_a_newborn_or_a_date_stays(line: str) -> None:
    assert counts(read(full_book(line))) == (31, 0, 0)


def test_a_ram_called_count_takes_no_lamb_with_him() -> None:
    rows = [f"{n},{n // 2},{'Count' if n % 3 else 'Baron'},{'yes' if n == 4 else 'no'}" for n in range(20)]
    season = read("newborn_id,dam_id,sire_id,died\n" + "\n".join([*rows, "Total,,,1"]) + "\n")
    assert counts(season) == (20, 1, 0)


def test_a_tag_alone_on_its_line_is_no_life() -> None:
    season = read(full_book("00777,,,,,,", "00778,,,,,,"))
    assert counts(season) == (30, 0, 2)
    assert season.undecided["not_written"].tolist() == [2]


@pytest.mark.parametrize("heads", ["season,dam_id,died", "born_on,died", "dam_id,died", "newborn_id,died"])
def test_lean_books_keep_every_row(heads: str) -> None:
    cells = {"season": "2026", "dam_id": "E{n}", "born_on": "2026-04-{d:02d}", "newborn_id": "{n:04d}"}
    rows = [
        ",".join(
            cells.get(name, "yes" if n % 6 == 0 else "").format(n=n, d=1 + n) for name in heads.split(",")
        )
        for n in range(24)
    ]
    season = read("\n".join([heads, *rows, "* end of book"]) + "\n")
    assert counts(season)[0] == 24
    assert season.births["died"].sum() == 4


def test_a_book_of_outcomes_alone_is_taken_whole() -> None:
    rows = [f"{'hill' if n % 2 else 'low'},{'dead' if n % 5 == 0 else 'alive'}" for n in range(20)]
    season = read("\n".join(["farm,died", *rows, "hill,", ","]) + "\n")
    assert counts(season) == (20, 1, 0)
    assert season.births["died"].sum() == 4


def test_headings_that_are_not_known_make_no_survivor_vanish() -> None:
    rows = [f"{n:04d},{2000 + n},{'2026-04-09' if n % 6 == 0 else ''}" for n in range(24)]
    season = read("\n".join(["Lammnummer,Mutterschaf,died_at", *rows]) + "\n")
    assert counts(season) == (24, 0, 0)
    assert season.births["died"].sum() == 4


def test_litters_parted_by_a_line_with_the_dam_are_not_more_newborns() -> None:
    lines = []
    for dam in range(10):
        lines += [
            f"Ewe {dam:03d},,,",
            f"{2 * dam:04d},2026-04-0{1 + dam % 9},female,no",
            f"{2 * dam + 1:04d},2026-04-0{1 + dam % 9},male,yes",
        ]
    season = read("\n".join(["newborn_id,born_on,sex,died", *lines]) + "\n")
    assert counts(season) == (20, 10, 0)


def test_a_file_of_which_no_line_is_a_record_is_refused() -> None:
    with pytest.raises(CannotRead, match="none of its lines names a dam, a newborn or a date"):
        read("newborn_id,dam_id,born_on,species,died\n,,,sheep,\n,,,sheep,\n")
