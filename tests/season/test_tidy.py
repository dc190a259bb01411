"""What `tidy` writes reads back as the same season; a drafted map, completed, reads the file it was drafted from."""

from __future__ import annotations

import csv
import tomllib
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.draft_map import draft_map, drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.tidy import write_tidy

DEMO = Path(__file__).parents[2] / "data" / "demo"


@pytest.mark.slow
@pytest.mark.parametrize("flock", ["hill_sheep", "dairy_goats", "suckler_cows"])
def test_a_tidy_season_reads_back_the_same(flock: str, tmp_path: Path) -> None:
    season = read_season(sorted(DEMO.glob(f"{flock}*.csv")))
    write_tidy(season, tmp_path)
    names = ("births", "feeds", "samples", "weather")
    again = read_season([tmp_path / f"{name}.csv" for name in names])
    assert [b.set_aside for b in again.balances] == [0, 0, 0, 0]
    for name in names:
        _same(getattr(season, name), getattr(again, name))


def _same(one: pd.DataFrame, other: pd.DataFrame) -> None:
    shared = [
        name for name in one if name in other and one[name].notna().any() and name != "litter_size_counted"
    ]
    missing = [name for name in one if name not in other and one[name].notna().any()]
    assert missing == []
    for name in shared:
        pd.testing.assert_series_equal(one[name], other[name], check_categorical=False, check_dtype=False)


def test_tidy_leaves_no_part_behind(tmp_path: Path) -> None:
    season = _small(
        tmp_path / "births.csv", "dam_id,born_on,died,stood_after_min\nA,2026-04-13,no,not by 90\n"
    )
    written = write_tidy(season, tmp_path / "tidy")
    assert sorted(path.name for path in (tmp_path / "tidy").iterdir()) == sorted(
        path.name for path in written
    )
    heading, row = (tmp_path / "tidy" / "births.csv").read_text(encoding="utf-8").splitlines()
    assert heading.startswith("farm,season,species,dam_id,born_on,stood_after_min,died,outcome,lost,")
    assert row.startswith("the farm,2026,,A,2026-04-13,not by 90,no,alive,no,")


def _small(path: Path, text: str) -> Season:
    path.write_text(text, encoding="utf-8")
    return read_season(path)


SHED_BOOK = """Lambing 2026,,,,,,,,
Lamb tag,Ewe,DOB,Sex,B.Wt,Help,Alive,Dead?,Cause of death
0001,D1,13/04/2026,Ewe lamb,4.1,none,Y,n,
0002,D1,13/04/2026,ram lamb,3.9,pulled,Y,Y,scours
0003,D2,14/04/2026,tup,3.9,2,Y,Y,mystery
"""

DRAFTED = """
[births.columns]
"Lamb tag" = "newborn_id"
"Ewe" = "dam_id"
"DOB" = "born_at"
"B.Wt" = "birth_weight_kg"
"Help" = "?"  # holds none, pulled, 2; perhaps delivery
"Alive" = "alive_now"
"Dead?" = "died"
"Cause of death" = "cause"

[births.words.cause]
"mystery" = "?"  # 1 cell; one of stillbirth, """


def test_a_map_is_drafted_with_the_unsure_left_open(tmp_path: Path) -> None:
    path = tmp_path / "shed.csv"
    path.write_text(SHED_BOOK, encoding="utf-8")
    text = draft_map(path)
    assert DRAFTED in text
    map_path = tmp_path / "map.toml"
    map_path.write_text(text, encoding="utf-8")
    unfinished = read_season(path, map=map_path).problems
    asked = unfinished[(unfinished["ended"] == "asked") & (unfinished["column"] == "Help")]
    assert asked["problem"].tolist() == ["no column of births is called so; the review leaves it out"]
    completed = text.replace('"Help" = "?"', '"Help" = "delivery"').replace(
        '"mystery" = "?"', '"mystery" = "unknown"'
    )
    again = drafted([path], completed).text
    assert '"none" = "unassisted"\n' in again
    assert '"2" = "?"  # 1 cell; one of unassisted, easy assist, hard assist, ' in again
    completed = again.replace('"2" = "?"', '"2" = "easy assist"')
    map_path.write_text(completed, encoding="utf-8")
    births = read_season(path, map=map_path).births
    assert births["delivery"].astype(str).tolist() == ["unassisted", "hard assist", "easy assist"]
    assert births["cause"].astype(object).map(str).tolist() == ["nan", "infection", "unknown"]
    assert births["birth_weight_kg"].tolist() == [4.1, 3.9, 3.9]


def test_a_heading_that_would_break_the_map_is_written_safely(tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text('dam_id,died,"a ""b"" \\ [c] = #"\nA,no,x\n', encoding="utf-8")
    map_path = tmp_path / "map.toml"
    map_path.write_text(draft_map(path).replace('"?"', '""'), encoding="utf-8")
    assert len(read_season(path, map=map_path).births) == 1


@pytest.mark.slow
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    headings=st.lists(st.text(max_size=10), max_size=4),
    cells=st.lists(st.text(max_size=10), min_size=6, max_size=6),
)
def test_whatever_the_file_holds_a_drafted_map_is_valid(
    headings: list[str], cells: list[str], tmp_path: Path
) -> None:
    path = tmp_path / "any.csv"
    row = cells[: len(headings) + 2]
    with path.open("w", encoding="utf-8", errors="replace", newline="") as stream:
        csv.writer(stream).writerows([["dam_id", "delivery", *headings], row])
    try:
        drafted = tomllib.loads(draft_map(path))
    except CannotRead as error:
        drafted = {"sentence": str(error)}
    assert isinstance(drafted, dict)
    assert "\x1b" not in str(drafted.get("sentence", ""))
