"""Copies, versions of one book, lists of deaths, and files that hold no records: each birth once, no death lost."""

from __future__ import annotations

import os
import random
import socket
from collections.abc import Callable
from itertools import product
from pathlib import Path

import pytest
import xlsxwriter

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from tests.thinned import thinned

pytestmark = pytest.mark.slow

HEADINGS = ("newborn_id", "dam_id", "born_on", "sex", "birth_weight_kg", "died", "died_at", "cause")
Row = dict[str, str]


def book(seed: int, litters: int = 20) -> list[Row]:
    """Invented newborns, a fifth of them dead."""
    draw = random.Random(seed)
    rows: list[Row] = []
    for litter in range(litters):
        for _ in range(draw.choice((1, 2, 2, 3))):
            dead = draw.random() < 0.2 or len(rows) in (3, 8)
            rows.append(
                {
                    "newborn_id": f"{1001 + len(rows)}",
                    "dam_id": f"D{litter:03d}",
                    "born_on": f"2026-04-{1 + litter % 28:02d}",
                    "sex": draw.choice(("female", "male")),
                    "birth_weight_kg": f"{draw.uniform(3, 5):.1f}",
                    "died": "yes" if dead else "no",
                    "died_at": "2026-05-01" if dead else "",
                    "cause": "infection" if dead else "",
                }
            )
    return rows


def written(path: Path, rows: list[Row], without: str = "") -> Path:
    names = [name for name in HEADINGS if name not in without.split()]
    path.parent.mkdir(parents=True, exist_ok=True)
    lines = [",".join(names), *(",".join(row[name] for name in names) for row in rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def alive_again(row: Row) -> Row:
    return row | {"died": "no", "died_at": "", "cause": ""}


def dead_of(rows: list[Row]) -> list[tuple[str, str, bool]]:
    return sorted((row["dam_id"], row["sex"], row["died"] == "yes") for row in rows)


def as_read(season: Season) -> list[tuple[str, str, bool]]:
    births = season.births
    return sorted(
        zip(births["dam_id"].astype(str), births["sex"].astype(str), births["died"].astype(bool), strict=True)
    )


def said(season: Season, ended: str) -> list[str]:
    return season.problems.loc[season.problems["ended"] == ended, "problem"].astype(str).tolist()


def adds_up(season: Season) -> None:
    assert [source.unaccounted for source in season.sources] == [0] * len(season.sources)


Change = Callable[[list[Row]], list[Row]]
EARLIER: dict[str, Change] = {
    "half of the deaths not yet": lambda rows: [
        alive_again(row) if at % 2 else row for at, row in enumerate(rows)
    ],
    "no death yet": lambda rows: [alive_again(row) for row in rows],
    "the first half": lambda rows: rows[: len(rows) // 2],
    "the first half, no death yet": lambda rows: [alive_again(row) for row in rows[: len(rows) // 2]],
    "no weights yet": lambda rows: [row | {"birth_weight_kg": ""} for row in rows],
    "sorted another way": lambda rows: sorted(rows, key=lambda row: row["sex"]),
    "times of death not yet": lambda rows: [row | {"died_at": "", "cause": ""} for row in rows],
    "the same": lambda rows: [*rows, *[]],
}


@pytest.mark.quickly(7)
@pytest.mark.parametrize(
    ("name", "order", "without"),
    thinned(
        list(product(EARLIER, ["earlier first", "later first"], ["", "newborn_id", "birth_weight_kg"])), 5
    ),
)
def test_of_two_versions_each_birth_is_counted_once_with_every_death(
    tmp_path: Path, name: str, order: str, without: str
) -> None:
    """One in five of the combinations, in steps that meet each pair of versions, and each order with each lack."""
    rows = book(len(name))
    paths = [
        written(tmp_path / "lambs april.csv", EARLIER[name](rows), without),
        written(tmp_path / "lambs.csv", rows, without),
    ]
    season = read_season(paths if order == "earlier first" else paths[::-1])
    assert as_read(season) == dead_of(rows)
    adds_up(season)
    if len(season.sources) > 1:
        assert season.balances[0].set_aside == len(EARLIER[name](rows))
        assert any("each is counted once" in one for one in said(season, "asked"))
        assert not season.all_well


def test_two_keepers_books_give_the_deaths_of_both_and_the_rows_that_each_has_alone(tmp_path: Path) -> None:
    rows = book(31)
    day = [alive_again(row) if at % 2 else row for at, row in enumerate(rows)][:-3]
    night = [row if at % 2 else alive_again(row) for at, row in enumerate(rows)][2:]
    season = read_season([written(tmp_path / "day.csv", day), written(tmp_path / "night.csv", night)])
    lost = {rows[at]["newborn_id"] for at in range(len(rows)) if rows[at]["died"] == "yes"}
    only = {row["newborn_id"] for row in (day[0], day[1], *night[-3:])}
    read = season.births.set_index("newborn_id")["died"].astype(bool)
    assert set(read.index) == {row["newborn_id"] for row in rows}
    assert {str(tag) for tag in read.index[read]} == lost - {
        tag for tag in only if not _dead_in(tag, day) and not _dead_in(tag, night)
    }
    adds_up(season)


def _dead_in(tag: str, rows: list[Row]) -> bool:
    return any(row["newborn_id"] == tag and row["died"] == "yes" for row in rows)


def test_what_the_row_that_stands_leaves_blank_comes_from_the_other(tmp_path: Path) -> None:
    rows = book(32)
    early = [alive_again(row) for row in rows]
    late = [row | {"birth_weight_kg": ""} for row in rows]
    season = read_season([written(tmp_path / "a.csv", early), written(tmp_path / "b.csv", late)])
    assert sorted(season.births["birth_weight_kg"]) == sorted(float(row["birth_weight_kg"]) for row in rows)
    assert as_read(season) == dead_of(rows)


def test_two_books_that_contradict_each_other_are_refused_with_the_rows(tmp_path: Path) -> None:
    rows = book(33)
    other = [row | {"sex": "male" if row["sex"] == "female" else "female"} for row in rows]
    with pytest.raises(CannotRead) as raised:
        read_season([written(tmp_path / "a.csv", rows), written(tmp_path / "b.csv", other)])
    assert str(raised.value).startswith(
        f"a.csv and b.csv hold the same {len(rows)} births and contradict each other in {len(rows)} of them "
        "(sex in rows 2 and 2:"
    )


@pytest.mark.quickly(4)
@pytest.mark.parametrize("differ", ["farm", "season", "day", "dam"])
def test_the_same_tags_on_two_farms_or_in_two_seasons_are_two_newborns(tmp_path: Path, differ: str) -> None:
    rows = book(34)
    change = {
        "farm": lambda row: row,
        "season": lambda row: row | {"born_on": row["born_on"].replace("2026", "2025"), "died_at": ""},
        "day": lambda row: row | {"born_on": row["born_on"].replace("-04-", "-06-"), "died_at": ""},
        "dam": lambda row: row | {"dam_id": "E" + row["dam_id"], "born_on": ""},
    }[differ]
    paths = [written(tmp_path / "a.csv", rows), written(tmp_path / "b.csv", [change(row) for row in rows])]
    if differ == "farm":
        for path, farm in zip(paths, ("Hill", "Vale"), strict=True):
            head, *lines = path.read_text(encoding="utf-8").splitlines()
            path.write_text(
                "\n".join([f"{head},farm", *(f"{line},{farm}" for line in lines)]), encoding="utf-8"
            )
    season = read_season(paths)
    aside = season.problems[season.problems["problem"].str.contains("counted from there")]
    assert aside.empty
    assert len(season.births) == 2 * len(rows)


@pytest.mark.parametrize("unmatched", [0, 2])
@pytest.mark.parametrize("likened", [False, True])
def test_a_list_of_deaths_is_put_to_its_newborns(tmp_path: Path, likened: bool, unmatched: int) -> None:
    rows = book(35)
    dead = [row for row in rows if row["died"] == "yes"]
    lines = [f"{'0' if likened else ''}{row['newborn_id']},{row['died_at']},accident" for row in dead]
    lines += [f"99{at},2026-05-02,accident" for at in range(unmatched)]
    losses = tmp_path / "losses.csv"
    losses.write_text("\n".join(["newborn_id,died_at,cause", *lines]) + "\n", encoding="utf-8")
    season = read_season([written(tmp_path / "lambs.csv", [alive_again(row) for row in rows]), losses])
    assert as_read(season) == dead_of(rows)
    assert season.unmatched_deaths == unmatched
    assert season.all_well == (not likened and not unmatched)
    assert set(season.births.loc[season.births["died"].astype(bool), "cause"].astype(str)) == {"accident"}
    adds_up(season)


def test_a_death_in_a_list_whose_time_cannot_be_read_is_a_death(tmp_path: Path) -> None:
    rows = book(36)
    losses = tmp_path / "found.csv"
    losses.write_text(f"newborn_id,died_at\n{rows[0]['newborn_id']},Tuesday\n", encoding="utf-8")
    season = read_season([written(tmp_path / "lambs.csv", rows, "died_at cause"), losses])
    read = season.births.set_index("newborn_id")["died"].astype(bool)
    assert read[rows[0]["newborn_id"]]


def two_paths(tmp_path: Path, rows: list[Row]) -> dict[str, list[Path]]:
    path = written(tmp_path / "in" / "lambs.csv", rows)
    (tmp_path / "link.csv").symlink_to(path)
    (tmp_path / "copy (1).csv").write_bytes(path.read_bytes())
    return {
        "named twice": [path, path],
        "through the folder above": [path, tmp_path / "in" / ".." / "in" / "lambs.csv"],
        "a link": [path, tmp_path / "link.csv"],
        "the file and its folder": [path, path.parent],
        "a copy": [path, tmp_path / "copy (1).csv"],
    }


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "name", ["named twice", "through the folder above", "a link", "the file and its folder", "a copy"]
)
def test_the_same_content_is_read_once_and_said(tmp_path: Path, name: str) -> None:
    rows = book(37)
    season = read_season(two_paths(tmp_path, rows)[name])
    assert as_read(season) == dead_of(rows)
    assert [one for one in said(season, "noted") if "read once" in one]
    assert len(season.sources) == 1


def test_files_of_one_name_are_told_apart_by_the_shortest_part_of_their_folders(tmp_path: Path) -> None:
    rows = book(38)
    paths = [
        written(tmp_path / "hill" / "2026" / "lambs.csv", rows[:9]),
        written(tmp_path / "vale" / "2026" / "lambs.csv", rows[9:]),
        written(
            tmp_path / "late.csv", [rows[0] | {"newborn_id": "5", "dam_id": "X", "born_on": "2026-06-01"}]
        ),
    ]
    season = read_season(paths)
    assert sorted(source.file for source in season.sources) == [
        "hill/2026/lambs.csv",
        "late.csv",
        "vale/2026/lambs.csv",
    ]
    assert len(season.births) == len(rows) + 1


def test_what_in_a_folder_is_not_read_is_named(tmp_path: Path) -> None:
    rows = book(39)
    written(tmp_path / "lambs.csv", rows)
    written(tmp_path / "may" / "may.csv", rows)
    for name in ("~$lambs.xlsx", ".~lock.lambs.csv#", "notes.docx", "shed.jpg", "Thumbs.db", "settings.toml"):
        (tmp_path / name).write_bytes(b"\x00keeper")
    (tmp_path / "empty").mkdir()
    os.mkfifo(tmp_path / "pipe.csv")
    season = read_season(tmp_path)
    assert as_read(season) == dead_of(rows)
    assert sorted(one for one in said(season, "asked") if "were not read" in one) == [
        "files of other kinds were not read: notes.docx, pipe.csv",
        "folders inside this one, with files of records were not read: may",
    ]
    assert sorted(one for one in said(season, "noted") if "were not read" in one) == [
        "lock files of open workbooks were not read: .~lock.lambs.csv#, ~$lambs.xlsx",
        "pictures and pages were not read: shed.jpg",
    ]


def test_a_lock_file_that_a_pattern_caught_is_passed_over_and_alone_is_refused(tmp_path: Path) -> None:
    rows = book(40)
    (tmp_path / "~$lambs.xlsx").write_bytes(b"keeper")
    paths = [tmp_path / "~$lambs.xlsx", written(tmp_path / "lambs.csv", rows)]
    assert as_read(read_season(paths)) == dead_of(rows)
    with pytest.raises(CannotRead) as raised:
        read_season(paths[:1])
    assert str(raised.value) == (
        "~$lambs.xlsx: it is the lock file of an open workbook and holds no records; name the workbook itself."
    )


def test_pipes_devices_and_sockets_are_refused_in_one_sentence(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(tmp_path / "s.csv"))
        for path in (tmp_path / "pipe.csv", tmp_path / "s.csv", Path("/dev/zero")):
            with pytest.raises(CannotRead) as raised:
                read_season(path)
            assert str(raised.value) == (
                f"{path.name}: it is a pipe, a device or a socket, not a file; save the records in one and name that."
            )


def test_control_signs_reach_no_name_no_heading_and_no_sentence(tmp_path: Path) -> None:
    rows = book(41, litters=4)
    path = written(tmp_path / "la\x1b[31mmbs\u202e.csv", rows)
    text = path.read_text(encoding="utf-8").replace("cause", "cause\x1b[2J", 1).replace("sex", "s\x07ex", 1)
    path.write_text(text, encoding="utf-8")
    season = read_season(path)
    everything = season.problems.astype(str).to_csv() + str(season.sources)
    assert not any(sign in everything for sign in "\x1b\x07\u202e")
    with pytest.raises(CannotRead) as raised:
        read_season(tmp_path / "no\x1bne.csv")
    assert "\x1b" not in str(raised.value)


def test_an_inline_string_of_a_workbook_is_bounded_like_any_cell(tmp_path: Path) -> None:
    path = tmp_path / "long.xlsx"
    with xlsxwriter.Workbook(path, {"in_memory": True, "constant_memory": False}) as made:
        made.add_worksheet("births").write(0, 0, "dam_id")
    _put_inline(path, "a" * 200_000)
    with pytest.raises(CannotRead) as raised:
        read_season(path)
    assert str(raised.value) == (
        "long.xlsx, sheet births: one cell is longer than 100,000 characters; shorten it and save it again."
    )


def _put_inline(path: Path, text: str) -> None:
    import io
    import zipfile

    old = zipfile.ZipFile(io.BytesIO(path.read_bytes()))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "xl/worksheets/sheet1.xml":
                start, end = data.index(b"<sheetData>"), data.index(b"</sheetData>")
                cell = f'<row r="1"><c r="A1" t="inlineStr"><is><t>{text}</t></is></c></row>'.encode()
                data = data[:start] + b"<sheetData>" + cell + data[end:]
            new.writestr(name, data)


def test_sheets_of_a_book_are_versions_too_and_a_hidden_one_is_named(tmp_path: Path) -> None:
    rows = book(42)
    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(path) as made:
        for title, kept in (("final", rows), ("draft", [alive_again(row) for row in rows])):
            sheet = made.add_worksheet(title)
            sheet.write_row(0, 0, HEADINGS)
            for at, row in enumerate(kept, start=1):
                sheet.write_row(at, 0, [row[name] for name in HEADINGS])
            if title == "draft":
                sheet.very_hidden()
    season = read_season(path)
    assert as_read(season) == dead_of(rows)
    hidden = season.problems[season.problems["problem"].str.startswith("the sheet is hidden")]
    assert hidden["sheet"].tolist() == ["draft"]
    adds_up(season)
