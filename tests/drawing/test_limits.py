"""Farms and seasons against their limits: each at its numbers, coloured by what it means, named where it matters."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.drawing.limits import MOST_NAMED, MOST_RINGS, draw_funnel, draw_p_chart
from neonatal_stats.tables import Printer
from tests.drawing.drawn import (
    Mark,
    above,
    across,
    bands,
    dots,
    height_at,
    legend,
    lines,
    marks,
    reach,
    texts,
)

NAMED: dict[str, Any] = {"printer": Printer(), "name": "f", "title": "t", "alt": "a"}
LIMITS = pd.DataFrame(
    {
        "n": [10.0, 100.0, 400.0],
        "low": [0.02, 0.06, 0.08],
        "high": [0.30, 0.16, 0.13],
        "outer_low": [0.0, 0.04, 0.07],
        "outer_high": [0.42, 0.19, 0.15],
    }
)
FARMS = pd.DataFrame(
    {
        "letter": ["A", "B", "C"],
        "own": [False, True, False],
        "events": [6, 12, 60],
        "n": [50, 120, 300],
        "standardised": [0.12, 0.10, 0.20],
        "funnel_low": [0.04, 0.06, 0.075],
        "funnel_high": [0.21, 0.155, 0.135],
        "outer_low": [0.02, 0.045, 0.06],
        "outer_high": [0.25, 0.18, 0.15],
        "outside": [False, False, True],
    }
)


def _funnel(farms: pd.DataFrame) -> Any:
    words = ("limits", "outer limits", "your farm", "all farms")
    return draw_funnel(farms, LIMITS, 0.1, axes_words=("newborns", "lost, %"), words=words, **NAMED)


def test_farms_stand_at_their_size_and_loss_the_own_one_filled_those_outside_red() -> None:
    figure = _funnel(FARMS)
    (axes,) = figure.canvas.axes
    assert marks(axes) == [
        Mark(50, 12, "blue", False, "o"),
        Mark(120, 10, "blue", True, "s"),
        Mark(300, 20, "red", False, "o"),
    ]
    assert (axes.get_xlabel(), above(axes)) == ("newborns", "lost, %")


def test_only_the_own_farm_and_those_outside_the_limits_are_named_by_letter() -> None:
    (axes,) = _funnel(FARMS).canvas.axes
    named = {words: at for words, at in texts(axes).items() if at[0] <= 300}
    assert named == {"B, your farm": (120, 10), "C": (300, 20)}
    beyond = FARMS.assign(standardised=[0.22, 0.10, 0.13], outside=False, own=False)
    (axes,) = _funnel(beyond).canvas.axes
    assert {words: at for words, at in texts(axes).items() if at[0] <= 300} == {"A": (50, 22)}
    below = FARMS.assign(standardised=[0.12, 0.05, 0.13], outside=False, own=False)
    (axes,) = _funnel(below).canvas.axes
    assert {words: at for words, at in texts(axes).items() if at[0] <= 300} == {"B": (120, 5)}


def test_a_letter_stands_left_of_a_farm_at_the_right_end() -> None:
    (axes,) = _funnel(FARMS).canvas.axes
    axes.figure.draw_without_rendering()
    letters = {text.get_text(): text.get_window_extent() for text in axes.texts}
    assert letters["C"].x1 < axes.transData.transform((300, 20))[0]
    assert letters["B, your farm"].x0 > axes.transData.transform((120, 10))[0]


def test_the_funnel_narrows_around_the_centre_and_its_lines_are_named_at_their_right_ends() -> None:
    (axes,) = _funnel(FARMS).canvas.axes
    assert across(axes)[1] == [10]
    drawn = [line for line in axes.lines if len(line.get_xdata()) == 3]
    assert [(line.get_linestyle(), [height_at(line, n) for n in (10, 100, 400)]) for line in drawn] == [
        ("--", pytest.approx([2, 6, 8])),
        ("--", pytest.approx([30, 16, 13])),
        (":", pytest.approx([0, 4, 7])),
        (":", pytest.approx([42, 19, 15])),
    ]
    assert axes.get_xlim()[0] == 0
    assert axes.get_ylim()[0] == 0
    written = {words: at[1] for words, at in texts(axes).items()}
    names = ("limits", "outer limits", "all farms")
    assert [written[name] for name in names] == [pytest.approx(height) for height in (13, 15, 10)]


def test_a_farm_tells_its_loss_and_its_counts() -> None:
    svg = _funnel(FARMS).svg()
    assert "<title>A: 12.0\u00a0% (6 of 50)</title>" in svg
    assert svg.count("<title>") == 3


def test_of_many_farms_those_within_the_limits_are_dots() -> None:
    n = MOST_RINGS + 2
    many = pd.DataFrame(
        {
            "letter": [f"F{k}" for k in range(n)], "own": False, "events": 10, "n": np.arange(100, 100 + n),
            "standardised": [0.3, *[0.1] * (n - 1)], "funnel_low": 0.05, "funnel_high": 0.2, "outer_low": 0.02,
            "outer_high": 0.25, "outside": False,
        }
    )  # fmt: skip
    (axes,) = _funnel(many).canvas.axes
    assert marks(axes) == [Mark(100, 30, "blue", False, "o")]
    ((where, shade),) = dots(axes)
    assert shade == "blue"
    assert where == [(100 + k, 10) for k in range(1, n)]
    (axes,) = _funnel(many[:-1]).canvas.axes
    assert len(marks(axes)) == n - 1


def test_of_many_farms_outside_the_inner_limits_those_outside_the_outer_ones_are_named() -> None:
    def named(shares: list[float]) -> set[str]:
        n = len(shares)
        farms = pd.DataFrame(
            {
                "letter": [f"F{k}" for k in range(n)], "own": False, "events": 10, "n": np.arange(100, 100 + n),
                "standardised": shares, "funnel_low": 0.05, "funnel_high": 0.2, "outer_low": 0.02, "outer_high": 0.25,
                "outside": False,
            }
        )  # fmt: skip
        return {words for words in texts(_funnel(farms).canvas.axes[0]) if words.startswith("F")}

    assert named([0.22] * MOST_NAMED) == {f"F{k}" for k in range(MOST_NAMED)}
    assert named([0.22] * MOST_NAMED + [0.01, 0.3]) == {f"F{MOST_NAMED}", f"F{MOST_NAMED + 1}"}


SEASONS = pd.DataFrame(
    {
        "season": ["2023", "2024", "2025"],
        "events": [10, 30, 14],
        "n": [100, 120, 110],
        "share": [0.10, 0.25, 0.13],
        "low": [0.05, 0.18, 0.08],
        "high": [0.18, 0.34, 0.20],
        "standardised": [0.11, 0.24, np.nan],
        "standardised_low": [0.06, 0.17, np.nan],
        "standardised_high": [0.19, 0.33, np.nan],
        "chart_low": [0.07, 0.08, 0.075],
        "chart_high": [0.22, 0.21, 0.215],
        "outside": [False, True, False],
    }
)


def _chart(seasons: pd.DataFrame, reviewed: str = "2025") -> Any:
    words = ("as it was", "common mix", "limits", "all seasons")
    return draw_p_chart(seasons, 0.16, axis="lost, %", words=words, reviewed=reviewed, **NAMED)


def test_seasons_have_a_dot_for_what_was_and_a_diamond_for_the_common_mix() -> None:
    figure = _chart(SEASONS)
    (axes,) = figure.canvas.axes
    dots = [mark for mark in marks(axes) if mark.shape == "o"]
    diamonds = [mark for mark in marks(axes) if mark.shape == "D"]
    assert [(mark.y, mark.colour, mark.filled) for mark in dots] == [
        (10, "grey", True),
        (25, "red", True),
        (13, "ink", True),
    ]
    assert [(mark.y, mark.colour, mark.filled) for mark in diamonds] == [
        (11, "grey", False),
        (24, "grey", False),
    ]
    assert all(place - 0.4 < mark.x < place for place, mark in enumerate(dots))
    assert all(place < mark.x < place + 0.4 for place, mark in enumerate(diamonds))
    upright = {line.x[0]: line for line in lines(axes) if line.x[0] == line.x[1]}
    assert [upright[mark.x].y for mark in dots] == [pytest.approx(y) for y in ([5, 18], [18, 34], [8, 20])]
    assert [upright[mark.x].y for mark in diamonds] == [pytest.approx(y) for y in ([6, 19], [17, 33])]
    assert [upright[mark.x].wide for mark in dots] == [1.3, 1.3, 2.4]
    assert legend(figure) == [
        ("as it was", "ink", True, "o"),
        ("common mix", "ink", False, "D"),
        ("limits", "grey", False, "line"),
    ]
    assert above(axes) == "lost, %"


def test_every_season_stands_on_its_own_limits_with_its_counts_below() -> None:
    (axes,) = _chart(SEASONS).canvas.axes
    for place, band in enumerate(bands(axes)):
        limits = (100 * SEASONS["chart_low"][place], 100 * SEASONS["chart_high"][place])
        assert reach(band, place) == pytest.approx(limits)
        level = [line for line in lines(axes) if line.dashed and line.x[0] < place < line.x[1]]
        assert [line.y for line in level] == [pytest.approx([limit] * 2) for limit in limits]
    assert across(axes)[1] == [16]
    assert texts(axes)["all seasons"][1] == pytest.approx(16)
    said = {x.get_text(): tick for tick, x in zip(axes.get_xticks(), axes.get_xticklabels(), strict=True)}
    assert said == {"2023\n10 / 100": 0, "2024\n30 / 120": 1, "2025\n14 / 110": 2}
    assert axes.get_ylim()[0] == 0
    assert axes.get_ylim()[1] > 34
    assert axes.get_xlim()[0] < -0.5
    assert axes.get_xlim()[1] > 2.5


def test_without_limits_or_a_common_mix_the_key_names_none() -> None:
    bare = SEASONS.assign(
        standardised=np.nan,
        standardised_low=np.nan,
        standardised_high=np.nan,
        chart_low=np.nan,
        chart_high=np.nan,
    )
    figure = _chart(bare)
    assert [said[0] for said in legend(figure)] == ["as it was"]
    assert bands(figure.canvas.axes[0]) == []


def test_of_many_seasons_those_with_room_are_named_the_last_and_those_outside_always() -> None:
    many = pd.concat([SEASONS.iloc[[0]]] * 12, ignore_index=True)
    many["season"] = [str(2010 + k) for k in range(12)]
    many.loc[4, ["outside", "high"]] = [True, 0.4]
    (axes,) = _chart(many, "2021").canvas.axes
    labels = [label.get_text() for label in axes.get_xticklabels()]
    assert labels[-1] == "2021\n10 / 100"
    assert len(labels) < 6
    assert texts(axes)["2014"] == (4, 40)
    axes.figure.draw_without_rendering()
    boxes = [label.get_window_extent() for label in axes.get_xticklabels()]
    assert all(left.x1 < right.x0 for left, right in pairwise(boxes))


def test_a_season_tells_its_share_with_its_interval() -> None:
    svg = _chart(SEASONS).svg()
    assert "<title>2024: 30 of 120 (25.0\u00a0%, 18.0 to 34.0\u00a0%)</title>" in svg
    assert "<title>2024: 24.0\u00a0% (17.0 to 33.0\u00a0%)</title>" in svg
