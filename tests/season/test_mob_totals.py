"""A row of totals is no mob, whether its words say so or its counts alone; a row without a name is no double."""

from __future__ import annotations

from pathlib import Path

import pytest

from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season

HEADINGS = "farm,season,mob,joined,scanned_dry,scanned_single,scanned_twin,marked"
MOBS = (
    ("2025", "Broad Rig", (120, 6, 70, 44, 140)),
    ("2025", "Whin Knowe", (90, 4, 50, 36, 111)),
    ("2026", "Broad Rig", (110, 5, 65, 40, 131)),
    ("2026", "Whin Knowe", (95, 7, 52, 36, 108)),
)


def _sum(season: str) -> tuple[int, ...]:
    return tuple(
        sum(column) for column in zip(*(counts for year, _, counts in MOBS if year == season), strict=True)
    )


def _read(folder: Path, totals: list[tuple[str, str, str, tuple[int, ...]]]) -> Season:
    rows = [("Burnside", season, mob, counts) for season, mob, counts in MOBS]
    lines = [",".join([*keys, *map(str, counts)]) for *keys, counts in rows + totals]
    path = folder / "mobs.csv"
    path.write_text("\n".join([HEADINGS, *lines]) + "\n", encoding="utf-8")
    return read_season(path)


def _ended(season: Season) -> list[tuple[object, str]]:
    return list(zip(season.problems["row"], season.problems["ended"], strict=True))


@pytest.mark.parametrize(
    ("farm", "year", "mob"),
    [
        ("Burnside", "2026", "All mobs"),
        ("Burnside", "2026", "Whole flock"),
        ("Burnside", "2026", "Farm total"),
        ("Burnside", "2026", "Gesamt"),
        ("Burnside", "2026", "Overall"),
        ("Burnside", "Total 2026", ""),
        ("Burnside", "2026 subtotal", ""),
        ("Burnside", "All years", ""),
        ("Grand total", "2026", ""),
        ("All farms", "2026", "x"),
        ("Total for Burnside", "2026", "x"),
        ("", "", "Summe"),
    ],
)
def test_a_word_for_a_total_in_any_naming_column_takes_the_row_out(
    tmp_path: Path, farm: str, year: str, mob: str
) -> None:
    season = _read(tmp_path, [(farm, year, mob, _sum("2026"))])
    assert season.seasons == ("2025", "2026")
    assert season.mobs["joined"].sum() == sum(counts[0] for _, _, counts in MOBS)
    assert _ended(season) == [(6, "no record")]
    assert "a row of totals is no mob" in set(map(str, season.problems["problem"]))
    balance = next(one for one in season.balances if one.table == "mobs")
    assert (balance.used, balance.no_record) == (4, 1)


def test_a_sum_that_only_its_counts_show_is_asked_about_and_not_counted(tmp_path: Path) -> None:
    season = _read(tmp_path, [("Burnside", "2026", "Both hills", _sum("2026"))])
    assert season.mobs["joined"].sum() == sum(counts[0] for _, _, counts in MOBS)
    assert _ended(season) == [(6, "set aside")]
    assert "is it a row of totals?" in str(season.problems["problem"].iloc[0])
    assert not season.all_well


def test_a_sum_of_sums_is_found_as_well(tmp_path: Path) -> None:
    every = tuple(a + b for a, b in zip(_sum("2025"), _sum("2026"), strict=True))
    totals = [("Burnside", one, "Both hills", _sum(one)) for one in ("2025", "2026")]
    season = _read(tmp_path, [*totals, ("Burnside", "both", "Hills", every)])
    assert len(season.mobs) == 4
    assert {row for row, _ in _ended(season)} == {6, 7, 8}


def test_a_mob_that_differs_in_one_count_and_a_flock_counted_whole_stay_mobs(tmp_path: Path) -> None:
    joined, *others = _sum("2026")
    season = _read(
        tmp_path,
        [
            ("Burnside", "2026", "Moss", (joined + 1, *others)),
            ("Burnside", "2024", "All ewes", (200, 9, 120, 70, 240)),
            ("Burnside", "2026", "All Saints", (50, 1, 30, 19, 60)),
            ("Burnside", "2026", "Summit", (40, 2, 20, 18, 50)),
        ],
    )
    assert len(season.mobs) == 8
    assert season.all_well


def test_rows_without_a_name_are_no_doubles_and_the_column_is_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "count.csv"
    rows = [f"{year},{mob}," + ",".join(map(str, counts)) for year, mob, counts in MOBS]
    headings = "Year,Zzyx,joined,scanned_dry,scanned_single,scanned_twin,marked"
    path.write_text("\n".join([headings, *rows]) + "\n", encoding="utf-8")
    season = read_season(path)
    assert len(season.mobs) == 4
    asked = season.problems[season.problems["ended"] == "asked"]
    assert any("no column names the mob" in str(problem) for problem in asked["problem"])
    assert not any("twice" in str(problem) for problem in season.problems["problem"])


@pytest.mark.parametrize("heading", ["Hirsel", "Hefting", "Block", "Camp", "Paddock", "Field", "Flock"])
def test_the_trades_words_for_a_mob_are_read_without_a_map(tmp_path: Path, heading: str) -> None:
    path = tmp_path / "count.csv"
    rows = [f"{year},{mob}," + ",".join(map(str, counts)) for year, mob, counts in MOBS]
    headings = f"Year,{heading},joined,scanned_dry,scanned_single,scanned_twin,marked"
    path.write_text("\n".join([headings, *rows]) + "\n", encoding="utf-8")
    season = read_season(path)
    assert sorted(set(season.mobs["mob"])) == ["Broad Rig", "Whin Knowe"]
    assert season.all_well
    assert drafted(path).open == ()
