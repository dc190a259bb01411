"""What `tidy` writes: tidy columns, what follows from them, a codebook; all of it reads back as the same season."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats.season.map.draft_map import draft_map
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.tidy import codebook, derived_columns, write_tidy
from neonatal_stats.vocabulary.columns import TABLES
from neonatal_stats.vocabulary.derived import CODEBOOK_COLUMNS, OF_BIRTHS, derived

pytestmark = pytest.mark.quickly(2)

DEMO = Path(__file__).parents[2] / "data" / "demo"
BIRTHS = """
newborn_id,dam_id,born_at,born_on,died,died_at,last_alive_at,found_dead_at,stood_after_min,litter_size
1,A,2026-04-13 10:00,,no,,,,25,2
2,A,2026-04-13 10:20,,yes,2026-04-14 10:19,,,not by 90,2
3,B,,2026-04-14,yes,2026-04-16,,,,
4,C,2026-04-15 00:00,,yes,,2026-04-16 20:00,2026-04-17 07:30,12,1
"""
FEEDS = "newborn_id,fed_at,volume_ml\n1,2026-04-13 11:00,50\n4,2026-04-15 02:00,60\n"


@pytest.fixture
def season(tmp_path: Path) -> Season:
    (tmp_path / "births.csv").write_text(BIRTHS.strip() + "\n", encoding="utf-8")
    (tmp_path / "feeds.csv").write_text(FEEDS, encoding="utf-8")
    return read_season([tmp_path / "births.csv", tmp_path / "feeds.csv"])


def same(one: pd.DataFrame, other: pd.DataFrame) -> None:
    for name in one:
        if one[name].notna().any():
            pd.testing.assert_series_equal(one[name], other[name], check_categorical=False)


def test_outcome_age_litter_and_windows_are_written(season: Season, tmp_path: Path) -> None:
    write_tidy(season, tmp_path / "out")
    written = pd.read_csv(tmp_path / "out" / "births.csv", dtype=str, keep_default_na=False).set_index(
        "newborn_id"
    )
    # worked by hand: 23 h 59 min; two whole days; found dead 55.5 h after birth, last seen alive 44 h after it
    assert written["age_h"].to_dict() == {"1": "1008", "2": "23", "3": "48", "4": "55"}
    assert written.loc["4", ["age_low_h", "age_high_h"]].tolist() == ["44", "55"]
    assert written.loc["1", "age_high_h"] == ""
    assert written["outcome"].to_dict() == {"1": "alive", "2": "dead", "3": "dead", "4": "dead"}
    assert written["lost_by_24_h"].to_dict() == {"1": "no", "2": "yes", "3": "no", "4": "no"}
    assert written["litter_size"].to_dict() == {"1": "2", "2": "2", "3": "", "4": "1"}
    assert written["litter_size_used"].to_dict() == {"1": "2", "2": "2", "3": "1", "4": "1"}
    assert written["birth_type"].to_dict() == {"1": "twin", "2": "twin", "3": "single", "4": "single"}
    assert written.loc["1", "litter"] == written.loc["2", "litter"] != written.loc["3", "litter"]
    feeds = pd.read_csv(tmp_path / "out" / "feeds.csv")
    assert feeds.set_index("newborn_id")["age_h"].to_dict() == {1: 1.0, 4: 2.0}


@pytest.mark.parametrize("parquet", [False, True])
def test_the_written_tables_read_back_as_the_same_season(
    season: Season, tmp_path: Path, parquet: bool
) -> None:
    files = write_tidy(season, tmp_path / "out", parquet=parquet)
    tables = [path for path in files if path.stem in TABLES]
    again = read_season(tables)
    same(season.births, again.births)
    same(season.feeds, again.feeds)
    assert again.problems["problem"].tolist() == season.problems["problem"].tolist()


@pytest.mark.parametrize("parquet", [False, True])
def test_the_whole_folder_reads_back_with_nothing_asked(
    season: Season, tmp_path: Path, parquet: bool
) -> None:
    write_tidy(season, tmp_path / "out", parquet=parquet)
    again = read_season(tmp_path / "out")
    same(season.births, again.births)
    assert not again.problems["problem"].str.contains("left out").any()


@pytest.mark.slow
@pytest.mark.parametrize("parquet", [False, True])
def test_a_demo_herd_reads_back_the_same(tmp_path: Path, parquet: bool) -> None:
    season = read_season(sorted(DEMO.glob("suckler_cows*.csv")))
    again = read_season(
        [path for path in write_tidy(season, tmp_path, parquet=parquet) if path.stem in TABLES]
    )
    same(season.births.drop(columns="litter_size_counted"), again.births)
    same(season.samples, again.samples)
    assert [balance.set_aside for balance in again.balances] == [0, 0, 0, 0]


def test_parquet_columns_are_typed(season: Season, tmp_path: Path) -> None:
    write_tidy(season, tmp_path / "out", parquet=True)
    births = pd.read_parquet(tmp_path / "out" / "births.parquet")
    assert {
        name: str(births[name].dtype) for name in ("born_at", "age_h", "lost", "litter_size", "died")
    } == {
        "born_at": "datetime64[us]",
        "age_h": "float64",
        "lost": "bool",
        "litter_size": "Int64",
        "died": "boolean",
    }
    assert not (tmp_path / "out" / "births.csv").exists()


def test_every_written_column_stands_in_the_codebook_once(season: Season, tmp_path: Path) -> None:
    write_tidy(season, tmp_path)
    book = pd.read_csv(tmp_path / "codebook.csv", keep_default_na=False)
    assert tuple(book.columns) == CODEBOOK_COLUMNS
    for table in ("births", "feeds"):
        written = list(pd.read_csv(tmp_path / f"{table}.csv", nrows=0).columns)
        assert book.loc[book["table"] == table, "column"].tolist() == written
    age = book[(book["table"] == "births") & (book["column"] == "age_h")].iloc[0]
    assert (age["unit"], age["kind"], age["derived"]) == ("h", "number", "yes")
    assert book.set_index("column").loc["birth_type", "words"] == "single; twin; triplet; four or more"
    assert (book["meaning"] != "").all()


def test_every_derived_column_of_births_is_written_and_explained(hill_season: Season) -> None:
    tidy = {column.name for column in TABLES["births"]}
    carried = {name for name in hill_season.births if str(name).endswith(("_is_day", "_not_by"))}
    added = set(hill_season.births) - tidy - carried
    written = {column.name for column, _ in derived_columns(hill_season, "births")}
    assert added <= written
    assert set(codebook(hill_season, ["births"])["column"]) >= written


def test_derived_names_in_a_farms_own_book_are_not_dropped_in_silence(tmp_path: Path) -> None:
    path = tmp_path / "births.csv"
    path.write_text("newborn_id,dam_id,born_on,died,cluster\n1,A,2026-04-13,no,north\n", encoding="utf-8")
    left_out = read_season(path).problems
    assert "cluster" in left_out["column"].tolist()


def test_a_tidy_table_needs_no_map(season: Season, tmp_path: Path) -> None:
    write_tidy(season, tmp_path / "out")
    drafted = draft_map(tmp_path / "out" / "births.csv")
    assert [line for line in drafted.splitlines() if line.strip() and not line.startswith("#")] == []


@pytest.mark.parametrize("name", [column.name for column in OF_BIRTHS] + ["lost_by_48_h"])
def test_each_derived_column_has_a_kind_and_a_meaning(name: str) -> None:
    column = derived("births", name)
    assert column is not None
    assert column.meaning
    assert name not in {tidy.name for tidy in TABLES["births"]}


def test_the_command_writes_parquet(tmp_path: Path) -> None:
    from tests.season.farm_files.reconcile import command

    path = tmp_path / "births.csv"
    path.write_text(BIRTHS.strip() + "\n", encoding="utf-8")
    code, out, _ = command("tidy", path, "--out", tmp_path / "out", "--parquet")
    assert code == 0
    assert "codebook.csv" in out
    assert sorted(found.name for found in (tmp_path / "out").iterdir()) == [
        "births.parquet",
        "codebook.csv",
        "set-aside.csv",
    ]
