"""Apache Spark through the same expressions: equal to memory row by row, and to the embedded engine in every number.

One session for all, on this machine; a machine without Spark or Java skips them in one line.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import ibis
import numpy as np
import pandas as pd
import pytest

from neonatal_stats.measures.contrasts import by_factor
from neonatal_stats.measures.curves import survival
from neonatal_stats.measures.windows import losses_by_cause, losses_by_window
from neonatal_stats.scheme.asking import overview
from neonatal_stats.scheme.deriving import followed
from neonatal_stats.scheme.engines import embedded, engine_at, has_java
from neonatal_stats.scheme.histories import ALIKE, Question, histories
from neonatal_stats.scheme.records import births_of
from neonatal_stats.season.following.follow import follow
from neonatal_stats.season.settings import Settings
from tests.demo import season_of
from tests.scheme.alike import differing, shuffled, tidy_births
from tests.scheme.made import scheme_births, two_seasons, with_more, written
from tests.scheme.test_command import run
from tests.scheme.test_followed import OF_FEEDS, random_births, typed

pytest.importorskip(
    "pyspark", reason="Apache Spark is not installed (the extra spark): its tests are skipped"
)
if not has_java():
    pytest.skip("Spark needs Java, which this machine lacks: its tests are skipped", allow_module_level=True)

pytestmark = [pytest.mark.slow, pytest.mark.filterwarnings("ignore")]
"""Spark and its bridge warn of what they do themselves."""
CLOSE = {"rtol": 1e-12, "atol": 1e-12}


SHORT_LIVED = "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC"
"""A Java that compiles once and plainly: it lives for four tests, and the better code of the second pass never pays."""


@pytest.fixture(scope="module")
def spark() -> Iterator[ibis.BaseBackend]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("JAVA_TOOL_OPTIONS", SHORT_LIVED)
        engine = engine_at("local[1]")
    engine._session.conf.set("spark.sql.shuffle.partitions", "1")
    yield engine
    engine._session.stop()


def told_by(engine: ibis.BaseBackend, tidy: pd.DataFrame, folder: Path) -> ibis.Table:
    tidy.to_parquet(folder / "births.parquet", index=False)
    return births_of(engine, folder / "births.parquet", ("place",))


def test_every_newborn_of_a_demo_herd(spark: ibis.BaseBackend, tmp_path: Path) -> None:
    season = season_of("dairy_goats")
    births = told_by(spark, tidy_births(season), tmp_path)
    assert differing(season.births, followed(births, season.settings), but=OF_FEEDS) == {}


def test_every_newborn_of_a_random_table(spark: ibis.BaseBackend, tmp_path: Path) -> None:
    """In a time zone, over the nights on which its clock changes."""
    settings = Settings(time_zone="Europe/London")
    frame = random_births(7, 400, frozenset())
    births = follow(frame, settings)
    place = pd.Series(np.arange(len(frame)), index=births["place"].to_numpy())
    tidy = shuffled(typed(frame.assign(place=frame["place"].map(place))))
    derived = followed(told_by(spark, tidy, tmp_path), settings)
    assert differing(births.assign(place=np.arange(len(frame))), derived) == {}


def test_the_numbers_of_four_thousand_births(spark: ibis.BaseBackend, tmp_path: Path) -> None:
    """Litters of five farms, which the command below has not: what there is, all hours and causes, groups by weight."""
    place = written(with_more(scheme_births(4_000, farms=5)), tmp_path / "data")
    settings, level = Settings(), 0.95
    tables = [births_of(engine, place) for engine in (embedded(threads=1), spark)]
    one, other = (overview(table, settings) for table in tables)
    pd.testing.assert_frame_equal(one, other)
    ends = tuple(settings.windows_h.values())

    def both(asked: Question) -> tuple[pd.DataFrame, pd.DataFrame]:
        one, other = (histories(table, settings, asked, cluster="litter") for table in tables)
        assert len(one) == len(other)
        return one, other

    alike = [
        (losses_by_window(told, settings, ALIKE), losses_by_cause(told, level=level, alike=ALIKE), survival(
            told[~told["stillborn"]], level=level, alike=ALIKE
        ))
        for told in both(Question(causes=True))
    ]  # fmt: skip
    for mine, theirs in zip(*alike, strict=True):
        pd.testing.assert_frame_equal(mine, theirs, **CLOSE)
    frames = [
        by_factor(told, ("weight_class",), outcome="lost", settings=settings, alike=ALIKE)
        for told in both(Question(("weight_class",), ends_h=ends))
    ]
    pd.testing.assert_frame_equal(*frames, **CLOSE)


@pytest.mark.usefixtures("undrawn")
def test_every_table_of_the_command(spark: ibis.BaseBackend, tmp_path: Path) -> None:
    """A hundred thousand newborns of two seasons: page, tables, counts and headline of the one engine and the other."""
    place = tmp_path / "data"
    place.mkdir()
    two_seasons(50_000, farms=12).to_parquet(place / "births.parquet", index=False)
    outs = {address: tmp_path / address.partition("[")[0] for address in ("duckdb", "local[1]")}
    for address, out in outs.items():
        run(place, out, engine_address=address, more=("region",))
    mine, theirs = outs.values()
    names = sorted(
        path.relative_to(mine) for folder in ("tables", "counts") for path in (mine / folder).iterdir()
    )
    assert len(names) > 15
    for name in names:
        read = pd.read_csv if name.suffix == ".csv" else pd.read_parquet
        one, other = read(mine / name), read(theirs / name)
        if name.name == "scheme-cost.csv":
            one, other = one.drop(columns="seconds"), other.drop(columns="seconds")
        pd.testing.assert_frame_equal(one, other, **CLOSE, obj=str(name))
    headlines = [json.loads((out / "headline.json").read_text(encoding="utf-8")) for out in outs.values()]
    one, other = (_leaves({key: value for key, value in told.items() if key != "cost"}) for told in headlines)
    assert one.keys() == other.keys()
    numbers = [key for key in one if isinstance(one[key], float)]
    np.testing.assert_allclose([one[key] for key in numbers], [other[key] for key in numbers], rtol=1e-12)
    assert {key for key in one if key not in numbers and one[key] != other[key]} <= {"engine"}


def _leaves(told: Any, name: str = "") -> dict[str, Any]:
    """Every single value of a headline by where it stands."""
    if isinstance(told, dict):
        return {
            k: v for key, value in told.items() for k, v in _leaves(value, f"{name}.{key}".strip(".")).items()
        }
    if isinstance(told, list):
        return {
            k: v for place, value in enumerate(told) for k, v in _leaves(value, f"{name}.{place}").items()
        }
    return {name: told}
