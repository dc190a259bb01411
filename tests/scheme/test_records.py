"""Tidy Parquet by farm and season: written farm by farm, read as one table; columns of another kind are refused."""

from __future__ import annotations

from pathlib import Path

import ibis
import pandas as pd
import pytest

from neonatal_stats.scheme.deriving import followed
from neonatal_stats.scheme.engines import embedded
from neonatal_stats.scheme.records import births_of, write_births
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.settings import Settings
from tests.chapters.build import season

pytestmark = pytest.mark.filterwarnings("ignore:fetch_arrow_table:DeprecationWarning")
"""Ibis asks DuckDB in a way that its newest versions would like to be rid of."""


def test_farms_are_written_apart_and_read_together(tmp_path: Path) -> None:
    hill = [
        {"farm": "Hill / 1", "season": s, "dam_id": "A", "died": "yes", "died_after_h": 5}
        for s in ("2025", "2026")
    ]
    dale = [{"farm": "Dale", "dam_id": "A", "sex": "male", "born_alive": "yes"}] * 3
    for rows in (hill, dale):
        files = write_births(season(rows), tmp_path)
    assert [str(path.relative_to(tmp_path)) for path in files] == ["farm=Dale/season=2026/births.parquet"]
    assert [path.name for path in tmp_path.iterdir() if path.name != "farm=Dale"] == ["farm=Hill%20%2F%201"]
    read = followed(births_of(embedded(threads=1), tmp_path), Settings()).execute()
    counted = read.groupby(["farm", "season"])[["age_h", "lost"]].agg(["size", "sum"])
    assert counted.index.tolist() == [("Dale", "2026"), ("Hill / 1", "2025"), ("Hill / 1", "2026")]
    assert counted["lost"]["sum"].tolist() == [0, 1, 1]
    assert counted["age_h"]["sum"].tolist() == [3 * 1008, 5, 5]
    assert read["sex"].notna().sum() == 3  # which Hill has not written


def test_a_season_written_again_is_replaced(tmp_path: Path) -> None:
    for n in (4, 2):
        write_births(season([{"dam_id": "A"}] * n), tmp_path)
    assert births_of(embedded(threads=1), tmp_path).count().execute() == 2
    assert [path.name for path in tmp_path.rglob("*.*")] == ["births.parquet"]


def test_nothing_to_read_is_said(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="it holds no births as Parquet; write them"):
        births_of(embedded(threads=1), tmp_path)


@pytest.mark.parametrize(
    "change, sentence",
    [
        ({"died": "yes"}, "the column died of the births holds string, and should hold true or false"),
        (
            {"born_at": "2026-03-02"},
            "the column born_at of the births holds string, and should hold a date and time",
        ),
        ({"born_at": pd.Timestamp("2026-03-02", tz="UTC")}, "and should hold a date and time without a zone"),
        (
            {"litter_size": "two"},
            "the column litter_size of the births holds string, and should hold a number",
        ),
    ],
)
def test_a_column_of_another_kind_is_refused(
    tmp_path: Path, change: dict[str, object], sentence: str
) -> None:
    births = pd.DataFrame({"farm": ["a"], "season": ["1"], "species": ["sheep"]}).assign(**change)
    births.to_parquet(tmp_path / "births.parquet")
    with pytest.raises(CannotRead, match=sentence):
        births_of(embedded(threads=1), tmp_path / "births.parquet")


def test_births_without_a_farm_are_refused(tmp_path: Path) -> None:
    pd.DataFrame({"season": ["1"], "species": ["sheep"]}).to_parquet(tmp_path / "births.parquet")
    with pytest.raises(CannotRead, match="the births have no column farm"):
        births_of(embedded(threads=1), tmp_path / "births.parquet")


def test_the_embedded_engine_keeps_to_its_memory(tmp_path: Path) -> None:
    engine = embedded(threads=1, memory="100MB", spill=tmp_path)
    assert isinstance(engine, ibis.BaseBackend)
    settings = dict(engine.raw_sql("select name, value from duckdb_settings()").fetchall())
    assert (settings["threads"], settings["memory_limit"]) == ("1", "95.3 MiB")
    assert settings["temp_directory"] == str(tmp_path)
