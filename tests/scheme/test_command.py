"""The command `scheme`: what it writes, what it says when something is wrong, and what a kill leaves."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import pandas as pd
import pytest

from neonatal_stats.cli.scheme import run_scheme
from neonatal_stats.scheme import engines
from neonatal_stats.season.finding import CannotRead
from tests.scheme.made import scheme_births, with_more, written

pytestmark = pytest.mark.filterwarnings(
    "ignore:fetch_arrow_table:DeprecationWarning", "ignore:Workbook contains no default style:UserWarning"
)
SCHEMA = json.loads((resources.files("neonatal_stats.report") / "scheme.schema.json").read_text())


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    births = with_more(scheme_births(800, farms=4)).drop(columns=["dam_parity", "birth_weight_kg"])
    return written(births, tmp_path_factory.mktemp("births") / "data")


def run(dataset: Path, out: Path, **more: Any) -> dict[str, Any]:
    """The command in this process, and what it tells."""
    told: list[dict[str, Any]] = []
    given: dict[str, Any] = {
        "settings_file": None, "engine_address": "duckdb", "season": None, "more": (), "smallest": 5,
        "memory": None, "threads": 1, "force": False, "quiet": True, "tell": told.append,
    }  # fmt: skip
    run_scheme(dataset, out, **(given | more))
    return told[0]


def test_page_workbook_tables_numbers_and_counts(place: Path, tmp_path: Path) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text('language = "de"\n', encoding="utf-8")
    told = run(place, tmp_path / "out", more=("region",), settings_file=settings)
    jsonschema.validate(told["headline"], SCHEMA)
    assert told["headline"] == json.loads((tmp_path / "out" / "headline.json").read_text(encoding="utf-8"))
    assert {"scheme.html", "scheme.xlsx", "codebook.csv", "tables/scheme-groups.csv"} <= set(told["files"])
    page = (tmp_path / "out" / "scheme.html").read_text(encoding="utf-8")
    assert '<html lang="de">' in page
    assert "4 Betriebe" in page
    assert "Was beim Betrieb bleibt" in page
    region = pd.read_parquet(tmp_path / "out" / "counts" / "region.parquet")
    assert not region["newborns"].between(1, 4).any()
    assert set(region["group"]) == {"north", "south", "west", "all"}
    farms = pd.read_csv(tmp_path / "out" / "tables" / "scheme-farms.csv")
    assert set(farms["farm"]) == {f"farm {number:03d}" for number in range(4)}
    assert "farm 001" not in page  # by letter there
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out", "settings.toml"]


@pytest.mark.slow
def test_killed_between_questions_it_leaves_nothing_half_written_and_goes_on(
    place: Path, tmp_path: Path
) -> None:
    command = [sys.executable, "-m", "neonatal_stats", "scheme", place, "--out", tmp_path / "out"]
    with subprocess.Popen(
        [*map(str, command), "--threads", "1"], stderr=subprocess.PIPE, text=True
    ) as running:
        assert running.stderr is not None
        for line in running.stderr:
            if line.startswith("birth_type "):
                break
        running.send_signal(signal.SIGKILL)
        running.wait()
    assert not (tmp_path / "out").exists()
    assert [path.name.startswith(".out-answers-") for path in tmp_path.iterdir()] == [True]
    told = run(place, tmp_path / "out")
    again = [one["question"] for one in told["headline"]["cost"] if one["again"]]
    assert again[:3] == ["overview", "outcomes", "birth_type"]
    assert len(again) < len(told["headline"]["cost"])
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize(
    "more, sentence",
    [
        ({"engine_address": "oracle"}, "--engine oracle: there is no such engine; write duckdb"),
        ({"memory": "lots"}, "--memory lots: the engine cannot read it; write it as 2GB or 800MB"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(
    place: Path, tmp_path: Path, more: dict[str, str], sentence: str
) -> None:
    with pytest.raises(CannotRead, match=sentence):
        run(place, tmp_path / "out", **more)
    assert list(tmp_path.iterdir()) == []


def test_an_output_within_the_data_set_is_refused(place: Path) -> None:
    with pytest.raises(CannotRead, match=r"--out .*: it lies within the data set; name a folder elsewhere"):
        run(place, place / "farm=farm 001" / "out")


def test_no_births_at_all(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="there is no such folder"):
        run(tmp_path / "none", tmp_path / "out")
    (tmp_path / "data").mkdir()
    with pytest.raises(CannotRead, match="it holds no births as Parquet; write them, farm by farm"):
        run(tmp_path / "data", tmp_path / "out")


@pytest.mark.parametrize(
    "change, sentence",
    [
        (
            {"died": "yes"},
            r"b/births.parquet: the column died of the births holds string, and should hold true or",
        ),
        (None, r"b/births.parquet: it cannot be read as Parquet: "),
    ],
)
def test_the_file_at_fault_is_named(tmp_path: Path, change: dict[str, str] | None, sentence: str) -> None:
    births = scheme_births(40, farms=1)
    for name in ("a", "b"):
        (tmp_path / "data" / name).mkdir(parents=True)
        births.to_parquet(tmp_path / "data" / name / "births.parquet")
    at_fault = tmp_path / "data" / "b" / "births.parquet"
    if change is None:
        at_fault.write_text("season,died\n2026,yes\n")
    else:
        births.assign(**change).to_parquet(at_fault)
    with pytest.raises(CannotRead, match=sentence):
        run(tmp_path / "data", tmp_path / "out")


def test_spark_that_is_not_installed_and_java_that_lacks(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engines, "has_java", lambda: False)
    try:
        import pyspark.sql  # noqa: F401
    except ImportError:
        pass
    else:
        with pytest.raises(
            CannotRead, match=r"Spark needs Java 17 or newer, and there is none on this machine"
        ):
            run(place, tmp_path / "out", engine_address="local[1]")
    monkeypatch.setitem(sys.modules, "pyspark", None)
    monkeypatch.setitem(sys.modules, "pyspark.sql", None)
    with pytest.raises(CannotRead, match=r"install the extra neonatal_stats\[spark\]"):
        run(place, tmp_path / "out", engine_address="local[1]")
