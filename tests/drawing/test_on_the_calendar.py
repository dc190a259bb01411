"""Pictures on the calendar: births and losses week by week; deaths day by day, what was to be expected, and the day on
which they rose."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.drawing.marks import Rose
from neonatal_stats.drawing.on_the_calendar import draw_days, draw_weeks
from neonatal_stats.tables import Printer
from tests.drawing.drawn import across, bars, lines, marks, texts
from tests.drawing.svg_text import cut, hovered, overlapping

OF_WEEKS: dict[str, Any] = {
    "printer": Printer(), "name": "f", "title": "t", "alt": "a", "few": "too few",
    "axes_words": ("born", "of these lost", "lost, %", "week"),
}  # fmt: skip
WEEKS = pd.DataFrame(
    {
        "label": ["2 Mar", "9 Mar", "16 Mar", "23 Mar"],
        "quiet": [False, True, False, True],
        "events": [4, 0, 2, 1],
        "n": [16, 0, 8, 3],
        "share": [0.25, np.nan, 0.25, 0.33],
        "low": [0.1, np.nan, 0.07, 0.06],
        "high": [0.5, np.nan, 0.6, 0.8],
    }
)


def test_weeks_show_the_lost_dark_and_hatched_inside_the_births() -> None:
    births, shares = draw_weeks(WEEKS, average=(0.2, "all: 20 %"), **OF_WEEKS).canvas.axes
    born, lost = bars(births)[::2], bars(births)[1::2]
    assert [(bar.low, bar.high, bar.colour, bar.hatch) for bar in born] == [
        (0, 16, "grey", ""),
        (0, 0, "grey", ""),
        (0, 8, "grey", ""),
        (0, 3, "grey", ""),
    ]
    assert [(bar.low, bar.high, bar.colour, bar.hatch) for bar in lost] == [
        (0, 4, "ink", "////"),
        (0, 0, "ink", "////"),
        (0, 2, "ink", "////"),
        (0, 1, "ink", "////"),
    ]
    assert [(bar.left + bar.right) / 2 for bar in born] == pytest.approx([0, 1, 2, 3])
    assert [bar[:2] for bar in born] == [bar[:2] for bar in lost]
    assert texts(births) == {"16": (0, 16), "0": (1, 0), "8": (2, 8), "3": (3, 3)}
    assert [label.get_text() for label in births.get_xticklabels()] == ["4", "0", "2", "1"]
    assert (births.get_title(loc="left"), births.get_xlabel()) == ("born", "of these lost")
    assert (shares.get_title(loc="left"), shares.get_xlabel()) == ("lost, %", "week")


def test_weeks_have_their_share_and_interval_below_the_bars() -> None:
    births, shares = draw_weeks(WEEKS, average=(0.2, "all: 20 %"), **OF_WEEKS).canvas.axes
    assert births.get_position().y0 > shares.get_position().y0
    assert [(mark.x, mark.y, mark.colour) for mark in marks(shares)] == [(0, 25, "ink"), (2, 25, "ink")]
    assert [(line.x, line.y) for line in lines(shares)] == [
        ([0, 0], [10, 50]),
        ([2, 2], [pytest.approx(7), 60]),
    ]
    assert across(shares)[1] == [20]
    assert "all: 20 %" in texts(shares)
    assert shares.get_ylim()[0] == 0
    assert [label.get_text() for label in shares.get_xticklabels()] == list(WEEKS["label"])


def test_a_week_too_small_has_words_in_its_place_and_sets_no_scale() -> None:
    figure = draw_weeks(WEEKS, **OF_WEEKS)
    _, shares = figure.canvas.axes
    assert texts(shares) == {"too few": (3, 0)}
    assert shares.get_ylim()[1] < 70
    assert overlapping(figure.svg()) == []
    told = hovered(figure.svg())
    assert "16 Mar: 2 of 8" in told
    assert "23 Mar: 1 of 3" in told


def test_of_many_weeks_every_other_one_is_named_and_numbers_stand_where_they_fit() -> None:
    many = pd.concat([WEEKS.head(1)] * 11, ignore_index=True).assign(
        label=[f"{n} Mar" for n in range(11)], n=116
    )
    figure = draw_weeks(many, **OF_WEEKS)
    births, shares = figure.canvas.axes
    named = dict(zip(shares.get_xticks(), [x.get_text() for x in shares.get_xticklabels()], strict=True))
    assert named == {place: f"{place} Mar" for place in range(0, 11, 2)}
    assert across(shares) == ([], [])
    assert len(births.texts) == 0
    assert overlapping(figure.svg()) == []


@pytest.mark.parametrize("weeks", [2, 8, 20, 52])
def test_however_many_weeks_no_words_meet(weeks: int) -> None:
    rows = pd.concat([WEEKS] * 13, ignore_index=True).head(weeks)
    long = (
        "geborene Lämmer",
        "davon verloren",
        "verloren, % der in dieser Saison geborenen Lämmer",
        "Geburtswoche",
    )
    figure = draw_weeks(rows, average=(0.2, "alle zusammen: 20,0 %"), **{**OF_WEEKS, "axes_words": long})
    assert (cut(figure.svg()), overlapping(figure.svg())) == ([], [])


OF_DAYS: dict[str, Any] = {
    "printer": Printer(), "name": "f", "title": "t", "alt": "a", "axis": "day of death", "look": ("#1b4f72", "////"),
    "words": ("infection", "other causes", "expected"),
}  # fmt: skip
ROSE = Rose(2, 1, 3, 0, "rose from 4 Mar (3 Mar to 5 Mar)")


def panel(events: list[int], others: list[int], days: int = 5) -> pd.DataFrame:
    labels = [f"{day + 2} Mar" for day in range(days)]
    return pd.DataFrame({"label": labels, "events": events, "others": others, "expected": [0.5] * days})


CROFT, TOP = panel([0, 0, 3, 5, 1], [1, 0, 0, 1, 0]), panel([0, 1, 0, 0, 0], [0, 0, 0, 2, 0])


def test_bars_stand_at_their_days_the_other_causes_on_top() -> None:
    croft, top = draw_days([("Croft", CROFT), ("Top", TOP)], rose=ROSE, **OF_DAYS).canvas.axes
    own = [
        (round((bar.left + bar.right) / 2), bar.low, bar.high, bar.hatch) for bar in bars(croft) if bar.hatch
    ]
    assert own == [(2, 0, 3, "////"), (3, 0, 5, "////"), (4, 0, 1, "////")]
    pale = [(round((bar.left + bar.right) / 2), bar.low, bar.high) for bar in bars(top) if not bar.hatch]
    assert pale == [(3, 0, 2)]
    stacked = [(bar.low, bar.high) for bar in bars(croft) if bar.colour == "grey"]
    assert stacked == [(0, 1), (5, 6)]


def test_all_places_have_one_scale_and_what_was_expected() -> None:
    croft, top = draw_days([("Croft", CROFT), ("Top", TOP)], rose=ROSE, **OF_DAYS).canvas.axes
    assert croft.get_ylim() == top.get_ylim()
    assert croft.get_ylim()[1] >= 6
    for axes in (croft, top):
        assert any(line.dashed and set(line.y) == {0.5} for line in lines(axes))
    assert (croft.get_title(loc="left"), top.get_title(loc="left")) == ("Croft", "Top")


def test_the_rise_stands_where_it_is_said_to_be_and_nowhere_else() -> None:
    croft, top = draw_days([("Croft", CROFT), ("Top", TOP)], rose=ROSE, **OF_DAYS).canvas.axes
    assert across(croft)[0] == [1.5]
    assert across(top)[0] == []
    everywhere = Rose(2, 1, 3, None, "rose from 4 Mar (3 Mar to 5 Mar)")
    both = draw_days([("Croft", CROFT), ("Top", TOP)], rose=everywhere, **OF_DAYS).canvas.axes
    assert [across(axes)[0] for axes in both] == [[1.5], [1.5]]


def test_each_bar_tells_its_place_day_and_counts() -> None:
    told = hovered(draw_days([("Croft", CROFT), ("Top", TOP)], rose=ROSE, **OF_DAYS).svg())
    assert "Croft, 5 Mar: 5 (0.5)" in told
    assert "Croft, 5 Mar: 5 (0.5) + 1" in told
    assert ROSE.words in told


@pytest.mark.parametrize("days", [1, 12, 60])
@pytest.mark.parametrize("places", [1, 5])
def test_however_many_days_and_places_no_words_meet(days: int, places: int) -> None:
    frame = panel([1] * days, [0] * days, days)
    long = ("Verhungern-Verwaisung-Unterkühlung", "andere Ursachen", "erwartet")
    named = {**OF_DAYS, "words": long, "axis": "Todestag, ein Balken je 2 Tage"}
    figure = draw_days([(f"Bucht {n}", frame) for n in range(places)], rose=None, **named)
    assert (cut(figure.svg()), overlapping(figure.svg())) == ([], [])
