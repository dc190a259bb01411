"""The order of the rows and of the files changes nothing."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.season.read import read_season

DEMO = Path(__file__).parents[2] / "data" / "demo"


@pytest.mark.slow
@pytest.mark.parametrize("flock", ["dairy_goats", "suckler_cows"])
def test_shuffled_rows_give_the_same_frames(flock: str, tmp_path: Path) -> None:
    files = sorted(DEMO.glob(f"{flock}*.csv"))
    for number, path in enumerate(files):
        rows = pd.read_csv(path, dtype=str, keep_default_na=False)
        order = np.random.default_rng(number).permutation(len(rows))
        rows.take(order).to_csv(tmp_path / path.name, index=False)
    one, other = read_season(files), read_season([tmp_path / path.name for path in reversed(files)])
    for name in ("births", "feeds", "samples", "weather"):
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name))
    counted = ["table", "column", "value", "problem", "ended"]
    by = [
        problems[counted].sort_values(counted, ignore_index=True)
        for problems in (one.problems, other.problems)
    ]
    pd.testing.assert_frame_equal(by[0], by[1])
    assert set(one.balances) == set(other.balances)


@pytest.mark.slow
def test_one_season_of_several_is_the_same_as_its_file_alone(hill_season) -> None:
    files = [DEMO / "hill_sheep_2026.csv", DEMO / "hill_sheep_feeds.csv", DEMO / "hill_sheep_samples.csv"]
    alone = read_season(files, settings=DEMO / "settings.toml", season="2026")
    among = read_season(sorted(DEMO.glob("hill_sheep*.csv")), settings=DEMO / "settings.toml", season="2026")
    pd.testing.assert_frame_equal(alone.births, among.births)
    assert hill_season.seasons == ("2023", "2024", "2025", "2026")
