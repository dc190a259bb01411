"""A season's shares beside the band and the keeper's target: by the interval, and only where there is one."""

from __future__ import annotations

import math
from typing import Any

import pytest

from neonatal_stats.measures.beside_published import COLUMNS, beside_published, foremost, target_name
from neonatal_stats.season.settings import Settings

BY_A_WEEK: dict[str, Any] = {
    "key": "lost_by_7_d",
    "outcome": "lost",
    "of": "born",
    "window": "7 d",
    "window_h": 168.0,
}
BORN_DEAD: dict[str, Any] = {
    "key": "born_dead",
    "outcome": "born dead",
    "of": "born",
    "window": "",
    "window_h": 0.0,
}


def share(of: dict[str, Any], low: float, middle: float, high: float, n: int = 500) -> dict[str, Any]:
    return {**of, "events": round(middle * n), "n": n, "share": middle, "low": low, "high": high}


@pytest.mark.parametrize(
    ("low", "middle", "high", "n", "word"),
    [
        (0.01, 0.02, 0.04, 500, "below"),
        (0.07, 0.10, 0.14, 500, "within"),
        (0.20, 0.25, 0.31, 500, "above"),
        (0.10, 0.15, 0.20, 500, "cannot say"),
        (0.20, 0.90, 0.99, 9, "cannot say"),
        (math.nan, 0.30, math.nan, 500, "cannot say"),
    ],
)
def test_lambs_lost_by_a_week_lie_by_their_interval(
    low: float, middle: float, high: float, n: int, word: str
) -> None:
    """The band runs from 5.4 (Norway, its best years together) to 17.2 % (a range flock, 1960); nine are too few."""
    rows, read = beside_published([share(BY_A_WEEK, low, middle, high, n)], "sheep", Settings())
    (row,) = rows.to_dict("records")
    assert list(rows.columns) == list(COLUMNS)
    assert (row["band_low"], row["band_high"], row["studies"], row["verdict"]) == (0.054, 0.172, 3, word)
    assert (row["from_h"], row["to_h"]) == (120, 240)
    assert set(read["key"]) == {"lost_by_7_d"}
    assert (row["against"], math.isnan(row["target"])) == ("", True)


def test_a_target_is_met_or_missed_by_the_interval_without_any_band() -> None:
    """Nothing is published on kids lost by a week; a target is the keeper's own."""
    settings = Settings(targets={"lost by 7 d": 0.10})
    for low, high, word in ((0.02, 0.06, "below"), (0.12, 0.2, "above"), (0.06, 0.14, "cannot say")):
        rows, read = beside_published([share(BY_A_WEEK, low, (low + high) / 2, high)], "goat", settings)
        (row,) = rows.to_dict("records")
        assert (row["verdict"], row["against"], row["target"], len(read)) == ("", word, 0.10, 0)


def test_without_band_and_target_there_is_no_row() -> None:
    rows, read = beside_published([share(BY_A_WEEK, 0.1, 0.2, 0.3)], "camelid", Settings())
    assert (len(rows), len(read)) == (0, 0)


def test_the_share_told_is_the_last_early_one_else_the_whole_else_born_dead() -> None:
    whole = {**BY_A_WEEK, "key": "lost", "window": "end", "window_h": 1008.0}
    shares = [share(one, 0.05, 0.06, 0.07) for one in (BORN_DEAD, BY_A_WEEK, whole)]
    for given, told in ((shares, "lost_by_7_d"), ([shares[0], shares[2]], "lost"), (shares[:1], "born_dead")):
        row = foremost(beside_published(given, "sheep", Settings())[0])
        assert row is not None
        assert row["key"] == told
    assert foremost(beside_published([], "sheep", Settings())[0]) is None


def test_targets_have_the_names_of_the_settings() -> None:
    assert [target_name(*one) for one in (("born dead", ""), ("lost", "7 d"), ("lost", "end"))] == [
        "born dead",
        "lost by 7 d",
        "lost",
    ]
