"""The published figures: every row can be traced, and a share is read beside those that counted the same thing."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from neonatal_stats.measures.yardstick import (
    BORN_DEAD,
    COLUMNS,
    FAILED_TRANSFER,
    LOST,
    WINDOWS,
    Yardstick,
    beside,
    published,
    with_own,
    yardstick,
)
from neonatal_stats.season.settings import Reference
from neonatal_stats.vocabulary.published import (
    ALL_KINDS,
    BORN_ALIVE,
    COUNTED_IN,
    DENOMINATORS,
    KINDS,
    OUTCOMES,
    SPREADS,
)
from neonatal_stats.vocabulary.terms import SPECIES

TRACED = pd.read_csv(Path(__file__).with_name("published_traced.csv"), dtype=str, keep_default_na=False)
"""What each source prints, in percent, read again at the source and typed by hand; ``read_in`` says in what. A figure
that was worked out stands as the sum of what is printed."""


def worked(printed: str) -> float:
    """A printed figure, or the sum that was worked out of several, as a share; NaN where nothing is printed."""
    assert re.fullmatch(r"[\d.()+*/-]*", printed), printed
    return float(eval(printed)) / 100 if printed else math.nan


def test_every_row_is_traced_to_what_its_source_prints() -> None:
    """Each figure and its number, to the digits kept; no row without a trace and no trace without a row."""
    left = published()
    for line in TRACED.to_dict("records"):
        same = left[
            left["source"].str.startswith(line["source"])
            & (left["outcome"] == line["outcome"])
            & (left["of"] == line["of"])
            & (left["window_h"] == float(line["window_h"]))
            & (left["n"] == int(line["n"]))
        ]
        agrees = [all(_alike(row[end], worked(line[end])) for end in ("low", "middle", "high"))
                  for row in same.to_dict("records")]  # fmt: skip
        assert sum(agrees) == 1, line
        left = left.drop(same.index[agrees.index(True)])
        assert line["read_in"]
    assert left.empty


def _alike(share: float, printed: float) -> bool:
    return bool(math.isnan(share) and math.isnan(printed)) or abs(share - printed) <= 0.0006


def test_every_row_has_its_number_definition_and_source() -> None:
    table = published()
    assert list(table.columns) == list(COLUMNS)
    assert len(table) >= 40
    filled = [name for name in COLUMNS if name not in ("low", "middle", "high", "spread")]
    assert table[filled].notna().all().all()
    assert (table["n"] > 0).all()
    assert table["definition"].str.len().min() >= 10
    assert table["source"].str.contains(r"\b(?:19|20)\d\d|record").all()


def test_every_word_of_the_table_is_one_of_the_vocabulary() -> None:
    table = published()
    allowed: dict[str, tuple[Any, ...]] = {
        "species": SPECIES,
        "kind": (ALL_KINDS, *KINDS),
        "outcome": OUTCOMES,
        "of": DENOMINATORS,
        "counted_in": COUNTED_IN,
        "in_band": ("yes", "no"),
    }
    for name, words in allowed.items():
        assert set(table[name]) <= set(words), name
    assert set(table["spread"].dropna()) <= set(SPREADS)


def test_shares_lie_in_order_between_0_and_1() -> None:
    table = published()
    ends = table[["low", "middle", "high"]]
    assert (ends.min(axis=1) >= 0).all()
    assert (ends.max(axis=1) <= 1).all()
    assert ends.notna().any(axis=1).all()
    assert not (table["low"] > table["middle"]).any()
    assert not (table["middle"] > table["high"]).any()
    assert (table["spread"].notna() == table["low"].notna()).all()


def found(*asked: str, **more: Any) -> Yardstick:
    band = yardstick(*asked, **more)
    assert band is not None
    return band


def test_the_band_of_lambs_born_dead_is_the_norwegian_years() -> None:
    """Stillborn lambs rose from 3.3 to 4.7 % over 2000-2010 (Norway); 4.0 % in the United States in 2010."""
    band = found("sheep", BORN_DEAD)
    assert (band.low, band.high, band.studies) == (0.033, 0.047, 2)


def test_single_herds_do_not_widen_the_band_and_are_told_beside_it() -> None:
    """Suckler herds, born dead: 3.6, 2.9 and 3.9 %, and 0 to 10.1 % in single herds of the third (Norquay 2020)."""
    band = found("cattle", BORN_DEAD, kind="suckler")
    assert (band.low, band.high, band.single) == (0.029, 0.039, (0.0, 0.101))


def test_only_what_counted_the_same_is_read_beside_it() -> None:
    band = found("sheep", LOST, of=BORN_ALIVE, window_h=168)
    assert set(band.rows["of"]) == {BORN_ALIVE}
    assert band.rows["window_h"].between(*WINDOWS["a week"]).all()
    assert (band.rows["in_band"] == "yes").all()


def test_milk_is_not_read_for_beef_nor_beef_for_milk() -> None:
    assert set(found("cattle", BORN_DEAD, kind="dairy").rows["kind"]) == {"dairy"}
    assert set(found("cattle", BORN_DEAD, kind="beef").rows["kind"]) == {"suckler"}
    assert yardstick("cattle", FAILED_TRANSFER, kind="suckler") is None
    assert found("cattle", FAILED_TRANSFER).kind == ALL_KINDS


def test_a_kind_that_nobody_has_published_on_is_read_beside_all() -> None:
    assert found("sheep", BORN_DEAD, kind="hill").kind == ALL_KINDS


def test_no_yardstick_no_comment() -> None:
    assert yardstick("sheep", LOST, of=BORN_ALIVE, window_h=72) is None
    assert yardstick("goat", FAILED_TRANSFER) is None
    assert yardstick("camelid", LOST, window_h=168) is None


ONE: dict[str, Any] = {
    "species": "goat",
    "kind": "all",
    "outcome": LOST,
    "of": "born",
    "window_h": 168.0,
    "counted_in": "newborns",
    "in_band": "yes",
    "own": False,
}


def test_the_interval_of_one_study_is_no_band_of_farms() -> None:
    table = pd.DataFrame(
        [
            ONE | {"low": 0.01, "middle": 0.05, "high": 0.30, "spread": "interval", "n": 20, "source": "one"},
            ONE
            | {"low": 0.02, "middle": 0.06, "high": 0.12, "spread": "quartiles", "n": 30, "source": "two"},
            ONE | {"low": 0.00, "middle": 0.07, "high": 0.40, "spread": "herds", "n": 30, "source": "three"},
        ]
    )
    band = found("goat", LOST, window_h=168, table=table)
    assert (band.low, band.high, band.single) == (0.02, 0.12, (0.0, 0.40))


def test_one_source_alone_makes_no_band() -> None:
    row = ONE | {"low": math.nan, "middle": 0.05, "high": math.nan, "spread": None, "n": 20, "source": "one"}
    assert yardstick("goat", LOST, window_h=168, table=pd.DataFrame([row])) is None


def test_a_figure_of_ones_own_is_enough_and_stands_beside_the_published() -> None:
    mine = Reference(
        "goat", LOST, 12, "lost by a week in herds of the practice", "practice records 2025",
        window_h=168, low=0.06, middle=0.1, high=0.15, spread="quartiles", counted_in="herds",
    )  # fmt: skip
    band = found("goat", LOST, window_h=168, table=with_own([mine]))
    assert (band.low, band.high, band.studies) == (0.06, 0.15, 1)
    assert len(with_own([mine])) == len(published()) + 1


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
