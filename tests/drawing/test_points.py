"""Points over a plane: each newborn, farm or season at its two numbers, coloured by what it means."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.drawing.points import draw_dose, draw_funnel, draw_p_chart, draw_response, draw_smooth
from neonatal_stats.tables import Printer
from tests.drawing.drawn import Mark, across, bands, colour, height_at, legend, lines, marks, reach, texts

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
        "n": [50, 120, 300],
        "standardised": [0.12, 0.10, 0.20],
        "outside": [False, False, True],
    }
)


def _funnel(farms: pd.DataFrame) -> Any:
    words = ("limits", "outer limits", "your farm")
    return draw_funnel(farms, LIMITS, 0.1, axes_words=("newborns", "lost, %"), words=words, **NAMED)


def test_farms_stand_at_their_size_and_loss_the_own_one_filled_those_outside_red() -> None:
    figure = _funnel(FARMS)
    (axes,) = figure.canvas.axes
    assert marks(axes) == [
        Mark(50, 12, "blue", False, "o"),
        Mark(120, 10, "blue", True, "s"),
        Mark(300, 20, "red", False, "o"),
    ]
    assert texts(axes) == {"A": (50, 12), "B": (120, 10), "C": (300, 20)}
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("newborns", "lost, %")
    assert legend(figure) == [
        ("limits", "grey", False, "line"),
        ("outer limits", "grey", False, "line"),
        ("your farm", "blue", True, "s"),
    ]


def test_the_funnel_narrows_around_the_centre() -> None:
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


def test_without_an_own_farm_the_legend_does_not_name_one() -> None:
    assert [said[0] for said in legend(_funnel(FARMS.assign(own=False)))] == ["limits", "outer limits"]


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


def test_seasons_have_a_dot_for_what_was_and_a_diamond_for_the_common_mix() -> None:
    figure = draw_p_chart(SEASONS, 0.16, axis="lost, %", words=("as it was", "common mix", "limits"), **NAMED)
    (axes,) = figure.canvas.axes
    dots = [mark for mark in marks(axes) if mark.shape == "o"]
    diamonds = [mark for mark in marks(axes) if mark.shape == "D"]
    assert [(mark.y, mark.colour, mark.filled) for mark in dots] == [
        (10, "blue", True),
        (25, "red", True),
        (13, "blue", True),
    ]
    assert [(mark.y, mark.colour, mark.filled) for mark in diamonds] == [
        (11, "ochre", False),
        (24, "ochre", False),
    ]
    assert all(place - 0.4 < mark.x < place for place, mark in enumerate(dots))
    assert all(place < mark.x < place + 0.4 for place, mark in enumerate(diamonds))
    upright = {line.x[0]: line.y for line in lines(axes) if line.x[0] == line.x[1]}
    assert [upright[mark.x] for mark in dots] == [pytest.approx(y) for y in ([5, 18], [18, 34], [8, 20])]
    assert [upright[mark.x] for mark in diamonds] == [pytest.approx(y) for y in ([6, 19], [17, 33])]
    assert legend(figure) == [
        ("as it was", "blue", True, "o"),
        ("common mix", "ochre", False, "D"),
        ("limits", "grey", False, "line"),
    ]


def test_every_season_stands_on_its_own_limits_with_its_counts_below() -> None:
    figure = draw_p_chart(SEASONS, 0.16, axis="lost, %", words=("", "", ""), **NAMED)
    (axes,) = figure.canvas.axes
    for place, band in enumerate(bands(axes)):
        limits = (100 * SEASONS["chart_low"][place], 100 * SEASONS["chart_high"][place])
        assert reach(band, place) == pytest.approx(limits)
        level = [line for line in lines(axes) if line.dashed and line.x[0] < place < line.x[1]]
        assert [line.y for line in level] == [pytest.approx([limit] * 2) for limit in limits]
    assert across(axes)[1] == [16]
    said = {x.get_text(): tick for tick, x in zip(axes.get_xticks(), axes.get_xticklabels(), strict=True)}
    assert said == {"2023\n10 / 100": 0, "2024\n30 / 120": 1, "2025\n14 / 110": 2}
    assert axes.get_ylim()[0] == 0
    assert axes.get_xlim()[0] < -0.5
    assert axes.get_xlim()[1] > 2.5


def test_a_dot_is_full_where_the_volume_reaches_the_target_for_its_weight() -> None:
    weight, volume = np.array([3.0, 4.0, 5.0, 4.0]), np.array([150.0, 180.0, 300.0, 200.0])
    figure = draw_dose(
        weight, volume, 50.0, weight_axis="weight, kg", volume_axis="volume, ml", line="50 ml/kg", **NAMED
    )
    (axes,) = figure.canvas.axes
    assert sorted(marks(axes)) == [
        Mark(3, 150, "blue", True, "o"),  # just enough is enough
        Mark(4, 180, "ochre", False, "o"),
        Mark(4, 200, "blue", True, "o"),
        Mark(5, 300, "blue", True, "o"),
    ]
    (target,) = lines(axes)
    assert [y / x for x, y in zip(target.x, target.y, strict=True) if x] == [50]
    assert (target.x[0], target.y[0], target.dashed) == (0, 0, True)
    assert texts(axes)["50 ml/kg"][1] == target.y[-1]
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("weight, kg", "volume, ml")
    left, right = axes.get_xlim()
    assert left < 3
    assert right == target.x[-1] > 5
    assert axes.get_ylim()[0] == 0
    assert axes.get_ylim()[1] > 300


WEIGHTS = np.array([2.0, 4.0, 4.0, 5.0, 3.0, 3.0, 3.0])
LOST = np.array([True, False, False, False, True, False, True])
SMOOTH = pd.DataFrame(
    {"value": [2.0, 3.0, 5.0], "share": [0.6, 0.3, 0.1], "low": [0.3, 0.2, 0.05], "high": [0.8, 0.4, 0.2]}
)


def test_the_lost_stand_above_the_curve_in_red_and_the_others_below_it_in_blue() -> None:
    figure = draw_smooth(
        SMOOTH, WEIGHTS, LOST, axis="weight, kg", share_axis="lost, %", marks=("lost", "alive"), **NAMED
    )
    above, middle, below = figure.canvas.axes
    heights = [panel.get_position().y0 for panel in (above, middle, below)]
    assert heights == sorted(heights, reverse=True)
    assert sorted(marks(above)) == [
        Mark(2, 0, "red", True, "v"),
        Mark(3, 0, "red", True, "v"),
        Mark(3, 1, "red", True, "v"),
    ]
    assert sorted(marks(below)) == [
        Mark(3, 0, "blue", True, "o"),
        Mark(4, 0, "blue", True, "o"),
        Mark(4, 1, "blue", True, "o"),
        Mark(5, 0, "blue", True, "o"),
    ]
    assert (above.get_ylabel(), below.get_ylabel()) == ("lost", "alive")
    assert (middle.get_ylabel(), below.get_xlabel()) == ("lost, %", "weight, kg")
    assert above.get_xlim() == middle.get_xlim() == below.get_xlim()


def test_the_smooth_line_runs_through_its_shares_inside_its_band() -> None:
    figure = draw_smooth(SMOOTH, WEIGHTS, LOST, axis="", share_axis="", marks=("", ""), **NAMED)
    _, middle, _ = figure.canvas.axes
    (line,), (band,) = middle.lines, bands(middle)
    assert [height_at(line, x) for x in (2, 3, 5)] == [60, 30, 10]
    assert colour(line.get_color()) == colour(band.get_facecolor()[0]) == "blue"
    assert reach(band, 2.5) == pytest.approx((25, 60))
    assert reach(band, 4.0) == pytest.approx((12.5, 30))
    assert middle.get_ylim() == (0, pytest.approx(84))


def test_many_of_the_same_value_stay_inside_their_strip() -> None:
    lost = np.ones(9, dtype=bool)
    figure = draw_smooth(SMOOTH, np.full(9, 3.0), lost, axis="", share_axis="", marks=("", ""), **NAMED)
    above, _, below = figure.canvas.axes
    assert [mark.y for mark in marks(above)] == list(range(9))
    assert above.get_ylim() == (-1, 9)
    assert below.get_ylim() == (-1, 6)


def test_a_serum_result_stands_against_the_age_at_the_first_feed() -> None:
    curve = pd.DataFrame(
        {
            "fed_h": [1.0, 3.0, 7.0],
            "value": [30.0, 22.0, 8.0],
            "low": [26.0, 19.0, 2.0],
            "high": [34.0, 25.0, 14.0],
        }
    )
    points = pd.DataFrame({"fed_h": [1.0, 2.0, 6.0], "value": [33.0, 21.0, 9.0]})
    figure = draw_response(curve, points, (10.0, 25.0), fed_axis="fed at, h", value_axis="g/l", **NAMED)
    (axes,) = figure.canvas.axes
    assert [(mark.x, mark.y, mark.filled) for mark in marks(axes)] == [
        (1, 33, True),
        (2, 21, True),
        (6, 9, True),
    ]
    mean = next(line for line in axes.lines if len(line.get_xdata()) == 3 and line.get_marker() == "None")
    assert [height_at(mean, age) for age in (1, 3, 7)] == [30, 22, 8]
    (band,) = bands(axes)
    assert reach(band, 2) == pytest.approx((22.5, 29.5))
    assert across(axes)[1] == [10, 25]
    assert (texts(axes)["10.0"][1], texts(axes)["25.0"][1]) == (10, 25)
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("fed at, h", "g/l")
    assert axes.get_xlim()[0] == 0
    assert axes.get_ylim() == (0, pytest.approx(33 * 1.06))
