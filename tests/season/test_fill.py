"""Dam and date on a litter's first row alone: ditto marks, merged cells and blanks filled where proven, else asked."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.gathering.fill import DITTO
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.records_map import read_map

pytestmark = pytest.mark.quickly(3)

SIZES = (2, 1, 2, 3, 1, 2, 2, 1, 3, 2)
DIED = (0, 3, 9, 14)


def litters(mark: str, *, size: str = "each", date: str = "first") -> list[list[str]]:
    """The rows of ten litters; dam (and date, and litter size) on the first row of each, then the mark."""
    rows, at = [], 0
    for place, n in enumerate(SIZES):
        for order in range(n):
            day = f"2026-03-{10 + place:02d}"
            rows.append(
                [
                    f"D{place}" if order == 0 else mark,
                    day if order == 0 or date == "each" else mark,
                    str(n)
                    if size == "each" or (size == "first" and order == 0)
                    else mark
                    if size == "first"
                    else "",
                    "female" if at % 2 else "male",
                    "yes" if at in DIED else "no",
                ]
            )
            at += 1
    return rows


HEADINGS = ["dam_id", "born_on", "litter_size", "sex", "died"]


def read(
    folder: Path, rows: Sequence[Sequence[str]], drafted: str = "", headings: Sequence[str] = HEADINGS
) -> Season:
    path = folder / "births.csv"
    cells = [['"' + cell.replace('"', '""') + '"' for cell in row] for row in [list(headings), *rows]]
    path.write_text("\n".join(",".join(row) for row in cells) + "\n", encoding="utf-8")
    if not drafted:
        return read_season(path)
    map_path = folder / "map.toml"
    map_path.write_text(drafted, encoding="utf-8")
    return read_season(path, map=map_path)


def whole(season: Season) -> bool:
    """Ten litters of the sizes written above, all dated, the deaths where they were."""
    births = season.births
    by_litter = births.groupby("litter").agg(
        n=("died", "size"), dams=("dam_id", "nunique"), days=("born", "nunique")
    )
    return (
        sorted(by_litter["n"]) == sorted(SIZES)
        and bool((by_litter[["dams", "days"]] == 1).all().all())
        and int(births["lost"].sum()) == len(DIED)
        and season.seasons == ("2026",)
    )


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "mark",
    ['"', "''", "do.", "Ditto", "-\u201d-", "\u3003", "\u00ab", "idem", "gleich", "samma", "j.w.", "\u2193"],
)
def test_a_ditto_mark_is_the_cell_above_it(mark: str, tmp_path: Path) -> None:
    season = read(tmp_path, litters(mark, size="none"))
    assert whole(season)
    assert season.problems["problem"].str.contains("ditto marks were read as the cell above them").any()


@pytest.mark.parametrize(("blank", "size"), [("", "each"), ("", "first"), ("-", "each"), ("\u2013", "first")])
def test_blanks_are_filled_where_the_litter_sizes_agree(blank: str, size: str, tmp_path: Path) -> None:
    season = read(tmp_path, litters(blank, size=size))
    assert whole(season)
    assert season.problems["problem"].str.contains("since the written litter sizes agree").any()


def test_a_dated_row_needs_only_its_dam_filled(tmp_path: Path) -> None:
    assert whole(read(tmp_path, litters("", date="each")))


@pytest.mark.parametrize("date", ["first", "each"])
def test_blanks_in_a_pattern_that_nothing_proves_are_asked_about(date: str, tmp_path: Path) -> None:
    with pytest.raises(CannotRead) as asked:
        read(tmp_path, litters("", size="none", date=date))
    assert str(asked.value) == (
        'births.csv: "dam_id" is blank in 9 rows below filled ones, as where a blank means the same as above; '
        "say in the map under [fill] dam_id = true if it does, or dam_id = false if these are not known."
    )


def test_litter_sizes_that_disagree_prove_nothing(tmp_path: Path) -> None:
    rows = [[*row[:2], "2", *row[3:]] for row in litters("")]
    with pytest.raises(CannotRead, match="as where a blank means the same as above"):
        read(tmp_path, rows)


@pytest.mark.parametrize(
    "fill", ["[fill]\ndam_id = true\n", "[births.fill]\ndam_id = true\nborn_on = true\n"]
)
def test_the_map_declares_the_fill(fill: str, tmp_path: Path) -> None:
    season = read(tmp_path, litters("", size="none"), fill)
    assert whole(season)
    assert season.problems["problem"].str.contains("as the map says").any()


def test_the_map_says_that_blanks_are_unknown_dams(tmp_path: Path) -> None:
    season = read(tmp_path, litters("", size="none", date="each"), "[fill]\ndam_id = false\n")
    assert season.births["dam_id"].isna().sum() == 9
    assert season.births["litter"].nunique() == len(season.births)


def test_a_few_unknown_dams_are_not_asked_about(tmp_path: Path) -> None:
    rows = [[f"D{place // 2}" if place % 12 else "", "2026-03-20", "", "male", "no"] for place in range(36)]
    assert read(tmp_path, rows).births["dam_id"].isna().sum() == 3


def test_singles_without_a_dam_are_no_littermates_of_those_above(tmp_path: Path) -> None:
    rows = [[f"D{place}" if place % 2 else "", "2026-03-20", "1", "male", "no"] for place in range(20)]
    season = read(tmp_path, rows)
    assert season.births["dam_id"].isna().sum() == 10


def test_a_word_for_unknown_is_never_filled(tmp_path: Path) -> None:
    rows = [["?" if row[0] == "" else row[0], *row[1:]] for row in litters("", date="each")]
    assert read(tmp_path, rows).births["dam_id"].isna().sum() == 9


def test_notes_between_litters_are_not_filled(tmp_path: Path) -> None:
    rows = litters("", size="first")
    rows.insert(2, ["", "", "", "", ""])
    noted = [[*row, "pen moved" if place == 2 else ""] for place, row in enumerate(rows)]
    season = read(tmp_path, noted, headings=[*HEADINGS, "notes"])
    assert whole(season)
    assert len(season.births) == sum(SIZES)


def test_dates_below_the_dam_s_first_row_are_those_of_the_dam(tmp_path: Path) -> None:
    rows, dam = [], ""
    for row in litters("", size="none"):
        dam = row[0] or dam
        rows.append([dam, *row[1:]])
    season = read(tmp_path, rows)
    assert whole(season)
    assert season.problems["problem"].str.contains("which names the same dam").any()


def test_dates_once_a_day_are_asked_about(tmp_path: Path) -> None:
    rows = [
        [f"D{place}", f"2026-03-{20 + place // 5}" if place % 5 == 0 else "", "", "male", "no"]
        for place in range(30)
    ]
    season = read(tmp_path, rows)
    asked = season.problems[season.problems["problem"].str.contains("a blank may mean the same as above")]
    assert asked["remedy"].tolist() == [
        "say in the map under [fill] born_on = true if it does, or = false if the date is not known"
    ]
    declared = read(tmp_path, rows, "[fill]\nborn_on = true\n")
    assert declared.births["born"].notna().all()


def test_a_farm_written_once_above_its_rows_is_asked_about(tmp_path: Path) -> None:
    rows = [
        ["Hill" if place == 0 else "Moor" if place == 15 else "", f"D{place}", "2026-03-20", "no"]
        for place in range(30)
    ]
    headings = ["farm", "dam_id", "born_on", "died"]
    with pytest.raises(CannotRead, match=r'"farm" is blank in 28 rows .* \[fill\] farm = true'):
        read(tmp_path, rows, headings=headings)
    farms = read(tmp_path, rows, "[fill]\nfarm = true\n", headings=headings).births["farm"].value_counts()
    assert farms.to_dict() == {"Hill": 15, "Moor": 15}


def test_a_ditto_mark_below_nothing_is_named(tmp_path: Path) -> None:
    rows = [['"', "2026-03-20", "", "male", "no"], ["D1", "2026-03-20", "", "male", "no"]]
    season = read(tmp_path, rows)
    found = season.problems[season.problems["problem"].str.contains("nothing above it")]
    assert (found["row"].tolist(), found["column"].tolist(), found["ended"].tolist()) == (
        [2],
        ["dam_id"],
        ["set to missing"],
    )


def test_a_ditto_mark_in_an_outcome_repeats_the_death(tmp_path: Path) -> None:
    rows = [
        ["D1", "2026-03-20", "", "male", "yes"],
        ["D1", "2026-03-20", "", "male", '"'],
        ["D2", "2026-03-20", "", "male", "no"],
    ]
    assert read(tmp_path, rows).births["lost"].sum() == 2


def test_a_ditto_mark_is_no_identity(tmp_path: Path) -> None:
    rows = [["7", "D1", "2026-03-20", "no"], ["do", "D1", "2026-03-20", "no"]]
    season = read(tmp_path, rows, headings=["newborn_id", "dam_id", "born_on", "died"])
    assert season.births["newborn_id"].dropna().tolist() == ["7"]


def merged(folder: Path, headings: Sequence[str], rows: Sequence[Sequence[object]], columns: str) -> Path:
    """A workbook in which the first columns of a litter are merged over its rows."""
    book = Workbook()
    sheet = book.active
    sheet.append(["Lambing book"])
    sheet.append(list(headings))
    top = 3
    for place, row in enumerate(rows):
        sheet.append([cell or None for cell in row])
        ends = place + 1 == len(rows) or rows[place + 1][0]
        if ends:
            for letter in columns:
                if place + 3 > top:
                    sheet.merge_cells(f"{letter}{top}:{letter}{place + 3}")
            top = place + 4
    path = folder / "book.xlsx"
    book.save(path)
    return path


@pytest.mark.parametrize("size", ["each", "none"])
def test_cells_merged_downwards_hold_for_each_row(size: str, tmp_path: Path) -> None:
    season = read_season(merged(tmp_path, HEADINGS, litters("", size=size), "AB"))
    assert whole(season)
    assert season.problems["problem"].str.contains("merged over several rows").any()


def test_merged_headings_stay_headings(tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    sheet.append(["dam_id", "born_on", "became of it", None, None])
    sheet.append([None, None, "died", "cause", "sex"])
    for place in range(6):
        sheet.append([f"D{place}", f"2026-03-2{place}", "yes" if place == 1 else "no", None, "male"])
    for letter in "AB":
        sheet.merge_cells(f"{letter}1:{letter}2")
    book.save(tmp_path / "book.xlsx")
    births = read_season(tmp_path / "book.xlsx").births
    assert (len(births), int(births["lost"].sum())) == (6, 1)


@pytest.mark.parametrize(
    ("section", "sentence"),
    [
        ("[fill]\nsex = true", 'map.toml, [fill]: "sex" is no key here; use one of farm, season,'),
        ("[fill]\ndam_id = 'down'", 'map.toml, [fill]: dam_id must be true or false, found "down".'),
        (
            "[births.fill]\ndam_idd = true",
            'map.toml, [births.fill]: "dam_idd" is no key here; did you mean "dam_id"?',
        ),
    ],
)
def test_a_wrong_fill_gives_one_sentence(section: str, sentence: str, tmp_path: Path) -> None:
    (tmp_path / "map.toml").write_text(section, encoding="utf-8")
    with pytest.raises(CannotRead) as raised:
        read_map(tmp_path / "map.toml")
    assert str(raised.value).startswith(sentence)


@pytest.mark.slow
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.integers(1, 4), min_size=6, max_size=25), st.sampled_from(["", '"', "-", "do."]), st.data()
)
def test_any_book_of_litters_comes_out_as_if_written_in_full(
    tmp_path: Path, sizes: list[int], mark: str, data: st.DataObject
) -> None:
    dead = data.draw(st.sets(st.integers(0, sum(sizes) - 1), min_size=1))
    full, short = [], []
    for place, n in enumerate(sizes):
        for order in range(n):
            died = "yes" if len(full) in dead else "no"
            row = [f"D{place}", f"2026-03-{1 + place:02d}", str(n), "male", died]
            full.append(row)
            short.append(row if order == 0 else [mark, mark, *row[2:]])
    one, other = read(tmp_path, full).births, read(tmp_path, short).births
    for name in ("dam_id", "born", "litter", "litter_size", "lost", "season"):
        assert one[name].astype(str).tolist() == other[name].astype(str).tolist()


def test_no_ditto_word_is_a_word_for_dead_or_alive() -> None:
    from neonatal_stats.vocabulary import fates

    assert not DITTO & (fates.DEAD | fates.ALIVE | fates.YES | fates.NO)


def test_a_row_with_a_day_of_its_own_takes_no_time_from_above(tmp_path: Path) -> None:
    rows = [
        ["D1", "2026-03-20 05:30", "", "no"],
        ["D1", "", "2026-03-21", "no"],
        ["D2", "2026-03-22 07:00", "", "yes"],
    ]
    births = read(tmp_path, rows, headings=["dam_id", "born_at", "born_on", "died"]).births
    assert births["born_at"].isna().sum() == 1
    assert births["born"].dt.day.tolist() == [20, 21, 22]


def test_a_litter_named_only_where_the_dam_is_not_known_is_not_carried_down(tmp_path: Path) -> None:
    rows = [
        ["" if place < 2 else f"D{place // 2}", "L1" if place < 2 else "", "2", "2026-03-20", "no"]
        for place in range(20)
    ]
    births = read(tmp_path, rows, headings=["dam_id", "litter_id", "litter_size", "born_on", "died"]).births
    assert births["litter_id"].notna().sum() == 2
    assert births["litter"].nunique() == 10


def test_initials_are_no_ditto(tmp_path: Path) -> None:
    rows = [["S1", "D1", "2026-03-20", "no"], ["JW", "D2", "2026-03-20", "no"]]
    births = read(tmp_path, rows, headings=["sire_id", "dam_id", "born_on", "died"]).births
    assert births["sire_id"].tolist() == ["S1", "JW"]
