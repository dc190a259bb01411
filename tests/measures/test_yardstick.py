"""The published figures: every row can be traced, and a share is read beside those that counted the same thing."""

import pandas as pd
import pytest

from neonatal_stats.measures.yardstick import (
    BORN_ALIVE,
    BORN_DEAD,
    COLUMNS,
    FAILED_TRANSFER,
    LOST,
    WINDOWS,
    beside,
    published,
    yardstick,
)


def test_every_row_has_its_number_definition_and_source() -> None:
    table = published()
    assert list(table.columns) == list(COLUMNS)
    assert len(table) >= 40
    for name in (
        "species",
        "kind",
        "outcome",
        "of",
        "window_h",
        "n",
        "counted_in",
        "year",
        "region",
        "definition",
    ):
        assert table[name].notna().all(), name
    assert (table["n"] > 0).all()
    assert table["source"].str.len().min() >= 10
    assert table["source"].str.contains(r"\b(?:19|20)\d\d\b|record \d+").all()


def test_shares_lie_in_order_between_0_and_1() -> None:
    table = published()
    ends = table[["low", "middle", "high"]]
    assert (ends.min(axis=1) >= 0).all()
    assert (ends.max(axis=1) <= 1).all()
    assert ends.notna().any(axis=1).all()
    assert not (table["low"] > table["middle"]).any()
    assert not (table["middle"] > table["high"]).any()
    assert (table["spread"].notna() == table["low"].notna()).all()


@pytest.mark.parametrize(
    ("share", "events", "n"),
    [(0.257, 137, 533), (0.085, 13, 153), (0.104, 131, 1262), (0.078, 1098 / 0.95, 14732)],
)
def test_shares_computed_from_printed_counts(share: float, events: float, n: int) -> None:
    """Counts as printed: Lancelot 1998 (73 + 64 of 533), OJAFR 2020, Todd 2019, Thomson 2020."""
    rows = published()[(published()["middle"] == share) & (published()["n"] == n)]
    assert len(rows) == 1
    assert round(events / n, 3) == pytest.approx(share, abs=0.0006)


def test_the_band_of_lambs_born_dead_is_the_norwegian_years() -> None:
    """Stillborn lambs rose from 3.3 to 4.7 % over 2000-2010 (Norway); 4.0 % in the United States in 2010."""
    found = yardstick("sheep", BORN_DEAD)
    assert found is not None
    assert (found.low, found.high, found.studies) == (0.033, 0.047, 2)


def test_only_what_counted_the_same_is_read_beside_it() -> None:
    found = yardstick("sheep", LOST, of=BORN_ALIVE, window_h=168)
    assert found is not None
    assert set(found.rows["of"]) == {BORN_ALIVE}
    assert found.rows["window_h"].between(*WINDOWS["a week"]).all()


def test_no_yardstick_no_comment() -> None:
    assert yardstick("sheep", LOST, of=BORN_ALIVE, window_h=72) is None
    assert yardstick("goats", FAILED_TRANSFER) is None
    assert yardstick("alpacas", LOST, window_h=168) is None


def test_the_interval_of_one_study_is_no_band_of_farms() -> None:
    one = {
        "species": "sheep",
        "kind": "all",
        "outcome": LOST,
        "of": "born",
        "window_h": 168,
        "counted_in": "newborns",
    }
    table = pd.DataFrame(
        [
            one | {"low": 0.01, "middle": 0.05, "high": 0.30, "spread": "interval", "n": 20, "source": "one"},
            one | {"low": 0.02, "middle": 0.06, "high": 0.12, "spread": "farms", "n": 30, "source": "two"},
        ]
    )
    found = yardstick("sheep", LOST, window_h=168, table=table)
    assert found is not None
    assert (found.low, found.high) == (0.02, 0.12)


@pytest.mark.parametrize(
    ("low", "high", "word"),
    [
        (0.01, 0.03, "below"),
        (0.04, 0.10, "within"),
        (0.11, 0.2, "above"),
        (0.02, 0.06, "cannot say"),
        (0.01, 0.5, "cannot say"),
    ],
)
def test_above_and_below_are_said_by_the_interval(low: float, high: float, word: str) -> None:
    assert beside(low, high, (0.04, 0.10)) == word
