"""Whatever stands in the cells, every row read ends in exactly one place."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.vocabulary.columns import BIRTHS, FEEDS

NAMES = [column.name for column in BIRTHS]
PLAUSIBLE = st.sampled_from(
    [
        "yes",
        "no",
        "2026-04-13",
        "2026-04-13T05:30",
        "13/04/2026",
        "03/04/2026",
        "05:30",
        "46115.25",
        "4.2",
        "4,2",
        "1.234,5",
        "12",
        "-3",
        "0",
        "1e9",
        "nan",
        "inf",
        "-",
        "?",
        "female",
        "male",
        "stillbirth",
        "infection",
        "#REF!",
        "=1+1",
        "not_by_06:30",
        "8.26E+14",
        "000123",
        "caesarean",
        "none",
        "24:00",
        "29/02/2026",
    ]
)
CELL = st.one_of(st.just(""), PLAUSIBLE, st.text(max_size=12))
HEADINGS = st.lists(st.sampled_from(NAMES), min_size=3, max_size=14, unique=True).map(
    lambda names: list(dict.fromkeys(["dam_id", "died", *names]))
)


@st.composite
def tables(draw: st.DrawFn) -> str:
    """A CSV text with true headings and any cells below them."""
    headings = draw(HEADINGS)
    rows = draw(
        st.lists(st.lists(CELL, min_size=len(headings), max_size=len(headings)), min_size=1, max_size=8)
    )
    text = io.StringIO(newline="")
    csv.writer(text).writerows([headings, *rows])
    return text.getvalue()


@pytest.mark.slow
@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=tables())
def test_any_cells_hold_the_balance(text: str, tmp_path: Path) -> None:
    path = tmp_path / "any.csv"
    path.write_text(text, encoding="utf-8", newline="")
    _holds(path)


@pytest.mark.slow
@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.lists(CELL, min_size=len(FEEDS), max_size=len(FEEDS)), min_size=1, max_size=6))
def test_any_feeds_hold_the_balance(rows: list[list[str]], tmp_path: Path) -> None:
    births, feeds = tmp_path / "births.csv", tmp_path / "feeds.csv"
    births.write_text("newborn_id,dam_id,born_at,died\n000123,D1,2026-04-13 05:30,no\n", encoding="utf-8")
    with feeds.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([[column.name for column in FEEDS], *rows])
    _holds([births, feeds])


def _holds(paths: Path | list[Path]) -> None:
    """Either one sentence, or rows that add up, ages that are no nonsense and frames of one row a newborn."""
    try:
        season = read_season(paths)
    except CannotRead as error:
        return _one_sentence(str(error))
    for balance in season.balances:
        placed = balance.used + balance.used_with_missing + balance.set_aside + balance.no_record
        assert placed == balance.rows_read
        assert balance.set_aside == _rows_ending(season, balance.table, "set aside")
    births = season.births
    assert len(births) == season.balances[0].used + season.balances[0].used_with_missing
    ages = births["age_h"].dropna()
    assert ((ages >= 0) & (ages <= season.settings.follow_up_h)).all()
    assert births.loc[births["died"], "cause"].notna().all()
    assert births.loc[~births["died"], "cause"].isna().all()


def _one_sentence(text: str) -> None:
    assert text
    assert "\n" not in text


def _rows_ending(season: Season, table: str, ended: str) -> int:
    lines = season.problems[(season.problems["table"] == table) & (season.problems["ended"] == ended)]
    return len(lines.drop_duplicates(["file", "sheet", "row"]))
