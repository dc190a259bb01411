"""Newborns over a plane: each at its two numbers, coloured by what it means; of too many, where they lie."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.drawing.points import MOST_MARKS, draw_dose, draw_response, draw_smooth
from neonatal_stats.tables import Printer
from tests.drawing.drawn import (
    Mark,
    above,
    across,
    bands,
    colour,
    dots,
    height_at,
    legend,
    lines,
    marks,
    reach,
    solid,
    texts,
)

NAMED: dict[str, Any] = {"printer": Printer(), "name": "f", "title": "t", "alt": "a"}


def _dose(weight: Any, volume: Any) -> Any:
    words = {"line": "50 ml/kg", "reached": ("reached", "not"), "middles": "medians"}
    return draw_dose(
        np.asarray(weight),
        np.asarray(volume),
        50.0,
        weight_axis="weight, kg",
        volume_axis="volume, ml",
        **words,
        **NAMED,
    )


def test_a_dot_is_full_where_the_volume_reaches_the_target_for_its_weight() -> None:
    figure = _dose([3.0, 4.0, 5.0, 4.0], [150.0, 180.0, 300.0, 200.0])
    (axes,) = figure.canvas.axes
    rings, holes, full = dots(axes)
    assert rings == ([(4, 180)], "ochre")
    assert holes == ([(4, 180)], "white")
    assert full == ([(3, 150), (5, 300), (4, 200)], "blue")  # just enough is enough
    assert figure.svg().count("<title>reached: 3</title>") == 1
    outer, inner, _ = (patch.get_linewidth() for patch in axes.patches)
    assert outer > inner + 1
    assert legend(figure) == [
        ("50 ml/kg", "ink", False, "line"),
        ("reached", "blue", True, "o"),
        ("not", "ochre", False, "o"),
    ]
    (target,) = lines(axes)
    assert [y / x for x, y in zip(target.x, target.y, strict=True) if x] == [50]
    assert (target.x[0], target.y[0], target.dashed) == (0, 0, True)
    assert (axes.get_xlabel(), above(axes)) == ("weight, kg", "volume, ml")
    left, right = axes.get_xlim()
    assert left < 3
    assert right == target.x[-1] > 5
    assert axes.get_ylim()[0] == 0
    assert axes.get_ylim()[1] > 300


def test_of_too_many_newborns_each_tenth_stands_at_its_medians() -> None:
    n = MOST_MARKS + 500
    weight = np.linspace(3.0, 5.0, n)
    volume = 100.0 + np.arange(n) % 4 * 20.0
    figure = _dose(weight, volume)
    (axes,) = figure.canvas.axes
    assert dots(axes) == []
    middles = marks(axes)
    assert len(middles) == 10
    tenth = n // 10
    assert [mark.x for mark in middles] == pytest.approx(
        [float(np.mean(weight[tenth * k : tenth * (k + 1)])) for k in range(10)]
    )
    # worked by hand: a quarter each of 100, 120, 140 and 160: middle half 115 to 145, median 130
    assert {mark.y for mark in middles} == {130}
    assert [line.y for line in lines(axes)[1:]] == [[115, 145]] * 10
    assert [said[0] for said in legend(figure)] == ["50 ml/kg", "medians"]
    (axes,) = _dose(weight[:MOST_MARKS], volume[:MOST_MARKS]).canvas.axes
    assert sum(len(where) for where, shade in dots(axes) if shade != "white") == MOST_MARKS


WEIGHTS = np.array([2.0, 4.0, 4.0, 5.0, 3.0, 3.0, 3.0])
LOST = np.array([True, False, False, False, True, False, True])
SMOOTH = pd.DataFrame(
    {"value": [2.0, 3.0, 5.0], "share": [0.6, 0.3, 0.1], "low": [0.3, 0.2, 0.05], "high": [0.8, 0.4, 0.2]}
)


def _smooth(values: Any = WEIGHTS, lost: Any = LOST, curve: pd.DataFrame = SMOOTH) -> Any:
    words = {"axis": "weight, kg", "share_axis": "lost, %", "marks": ("lost", "alive")}
    return draw_smooth(curve, values, lost, **words, **NAMED)


def test_the_lost_stand_above_the_curve_in_red_and_the_others_below_it_in_blue() -> None:
    top, middle, bottom = _smooth().canvas.axes
    heights = [panel.get_position().y0 for panel in (top, middle, bottom)]
    assert heights == sorted(heights, reverse=True)
    assert sorted(marks(top)) == [
        Mark(2, 0, "red", True, "v"),
        Mark(3, 0, "red", True, "v"),
        Mark(3, 1, "red", True, "v"),
    ]
    ((others, shade),) = dots(bottom)
    assert (sorted(others), shade) == ([(3, 0), (4, 0), (4, 1), (5, 0)], "blue")
    assert (above(top), above(bottom)) == ("lost: 3", "alive: 4")
    assert (above(middle), bottom.get_xlabel()) == ("lost, %", "weight, kg")
    assert top.get_xlim() == middle.get_xlim() == bottom.get_xlim()
    left, right = bottom.get_xlim()
    assert left < 2
    assert right > 5


def test_the_smooth_line_runs_through_its_shares_inside_its_band() -> None:
    many = np.concatenate([np.full(10, 2.0), np.full(10, 5.0)])
    _, middle, _ = _smooth(many, np.arange(20) < 8).canvas.axes
    (line,) = [one for one in middle.lines if solid(one) and len(one.get_xdata()) > 1]
    (band,) = bands(middle)
    assert [height_at(line, x) for x in (2, 3, 5)] == [60, 30, 10]
    assert colour(line.get_color()) == colour(band.get_facecolor()[0]) == "blue"
    assert reach(band, 2.5) == pytest.approx((25, 60))
    assert reach(band, 4.0) == pytest.approx((12.5, 30))
    assert middle.get_ylim() == (0, pytest.approx(84))


def test_the_smooth_line_is_dotted_beyond_the_tenth_newborn_from_either_end() -> None:
    values = np.concatenate([[1.0], np.full(9, 2.0), np.full(11, 4.0), [5.0]])
    curve = pd.DataFrame({"value": [1.0, 2.0, 3.0, 4.0, 5.0], "share": [0.2, 0.3, 0.3, 0.2, 0.1]})
    curve = curve.assign(low=curve["share"] - 0.05, high=[0.9, 0.4, 0.4, 0.3, 0.9])
    _, middle, _ = _smooth(values, values > 4.5, curve).canvas.axes
    parts = [(solid(line), list(map(float, line.get_xdata()))) for line in middle.lines]
    assert parts == [(False, [1, 2]), (False, [4, 5]), (True, [2, 3, 4])]
    assert middle.get_ylim() == (0, pytest.approx(42))  # few set no scale


def test_a_smooth_line_tells_what_it_reads() -> None:
    told = "2.0: 60.0 (30.0 to 80.0); 3.0: 30.0 (20.0 to 40.0); 5.0: 10.0 (5.0 to 20.0)"
    assert f"<title>{told}</title>" in _smooth().svg()


def test_many_of_the_same_value_stay_inside_their_strip_and_apart() -> None:
    figure = _smooth(np.full(9, 3.0), np.ones(9, dtype=bool))
    top, _, bottom = figure.canvas.axes
    assert [mark.y for mark in marks(top)] == list(range(9))
    assert top.get_ylim() == (-1, 9)
    assert bottom.get_ylim() == (-1, 6)
    tall = _smooth(np.full(60, 3.0), np.zeros(60, dtype=bool))
    tall.canvas.draw_without_rendering()
    strip = tall.canvas.axes[2]
    (patch,) = strip.patches
    one = strip.transData.transform((3, 1))[1] - strip.transData.transform((3, 0))[1]
    assert patch.get_linewidth() <= one * 72 / tall.canvas.dpi


def test_of_too_many_newborns_the_strips_are_histograms() -> None:
    n = MOST_MARKS + 1
    values, lost = np.linspace(1.0, 5.0, n), np.arange(n) % 3 == 0
    top, _, bottom = _smooth(values, lost).canvas.axes
    for strip, those, shade in ((top, lost, "red"), (bottom, ~lost, "blue")):
        assert marks(strip) == dots(strip) == []
        (steps,) = strip.patches
        heights, edges, _ = steps.get_data()
        assert heights.sum() == those.sum()
        assert 35 < len(heights) < 45
        assert edges[0] < 1 < edges[1]
        assert edges[-2] <= 5 < edges[-1]
        assert heights.tolist() == np.histogram(values[those], bins=edges)[0].tolist()
        assert colour(steps.get_facecolor()) == shade
        assert [label.get_text() for label in strip.get_yticklabels()] == [str(int(heights.max()))]
    top, _, bottom = _smooth(values[:-1], lost[:-1]).canvas.axes
    assert len(marks(top)) + len(dots(bottom)[0][0]) == MOST_MARKS


def test_steps_of_a_histogram_hold_as_many_of_the_weights_that_are_written() -> None:
    values = np.tile(np.arange(10, 91), 40) / 10.0  # 1.0 to 9.0 kg, to a tenth
    top, _, _ = _smooth(values, np.ones(len(values), dtype=bool)).canvas.axes
    heights = top.patches[0].get_data()[0]
    assert set(heights[:-1]) == {80}  # each holds two of the tenths of a kilogram, of which there are 40 each


RESPONSE = pd.DataFrame(
    {
        "fed_h": [1.0, 3.0, 7.0],
        "value": [30.0, 22.0, 8.0],
        "low": [26.0, 19.0, 2.0],
        "high": [34.0, 25.0, 14.0],
    }
)


def _response(points: pd.DataFrame) -> Any:
    cuts = ((25.0, "good from 25"), (10.0, "fair from 10"))
    words = {"fed_axis": "fed at, h", "value_axis": "g/l", "middles": "medians"}
    return draw_response(RESPONSE, points, cuts, **words, **NAMED)


def test_a_serum_result_stands_against_the_age_at_the_first_feed() -> None:
    points = pd.DataFrame(
        {"fed_h": [1.0] * 10 + [2.0] + [7.0] * 10, "value": [33.0] * 10 + [21.0] + [9.0] * 10}
    )
    (axes,) = _response(points).canvas.axes
    ((where, shade),) = dots(axes)
    assert where == [*[(1, 33)] * 10, (2, 21), *[(7, 9)] * 10]
    assert shade == "grey"
    mean = next(line for line in axes.lines if len(line.get_xdata()) == 3 and line.get_marker() == "None")
    assert solid(mean)
    assert [height_at(mean, age) for age in (1, 3, 7)] == [30, 22, 8]
    (band,) = bands(axes)
    assert reach(band, 2) == pytest.approx((22.5, 29.5))
    assert across(axes)[1] == [25, 10]
    assert (texts(axes)["fair from 10"][1], texts(axes)["good from 25"][1]) == (10, 25)
    assert (axes.get_xlabel(), above(axes)) == ("fed at, h", "g/l")
    assert axes.get_xlim()[0] == 0
    assert axes.get_ylim() == (0, pytest.approx(33 * 1.06))


def test_of_few_samples_the_mean_is_dotted() -> None:
    (axes,) = _response(pd.DataFrame({"fed_h": [1.0, 2.0, 7.0], "value": [33.0, 21.0, 9.0]})).canvas.axes
    drawn = [
        line for line in axes.lines if len(line.get_xdata()) > 1 and line.get_transform() == axes.transData
    ]
    assert [solid(line) for line in drawn] == [False]


def test_of_too_many_samples_each_tenth_stands_at_its_medians() -> None:
    n = MOST_MARKS + 500
    points = pd.DataFrame({"fed_h": np.linspace(1, 7, n), "value": 20.0 + np.arange(n) % 4})
    figure = _response(points)
    (axes,) = figure.canvas.axes
    assert dots(axes) == []
    assert [mark.y for mark in marks(axes)] == [21.5] * 10
    assert [said[0] for said in legend(figure)] == ["medians"]
