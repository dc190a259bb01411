"""The season week by week: births, the lost inside them, and the share below, each week at its own place."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.drawing.on_the_calendar import draw_weeks
from neonatal_stats.tables import Printer
from tests.drawing.drawn import across, bars, lines, marks, texts
from tests.drawing.svg_text import cut, hovered, overlapping

NAMED: dict[str, Any] = {
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
    births, shares = draw_weeks(WEEKS, average=(0.2, "all: 20 %"), **NAMED).canvas.axes
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
    births, shares = draw_weeks(WEEKS, average=(0.2, "all: 20 %"), **NAMED).canvas.axes
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
    figure = draw_weeks(WEEKS, **NAMED)
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
    figure = draw_weeks(many, **NAMED)
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
    figure = draw_weeks(rows, average=(0.2, "alle zusammen: 20,0 %"), **{**NAMED, "axes_words": long})
    assert (cut(figure.svg()), overlapping(figure.svg())) == ([], [])
