"""Dots with intervals, one line a group: every dot at its share, every interval at its ends, on the right line."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from neonatal_stats.drawing.dots import (
    draw_dumbbell,
    draw_grouped_rates,
    draw_pairs,
    draw_ranked,
    draw_rates,
    draw_ratios,
)
from neonatal_stats.tables import Printer
from tests.drawing.drawn import Mark, across, legend, line_of, lines, marks, texts, top_down, words_at

NAMED: dict[str, Any] = {"printer": Printer(), "name": "f", "title": "t", "alt": "a", "axis": "lost, %"}
RATES = pd.DataFrame(
    {
        "by": ["single", "twin", "triplet"],
        "events": [2, 9, 6],
        "n": [40, 60, 20],
        "share": [0.05, 0.15, 0.30],
        "low": [0.01, 0.08, 0.14],
        "high": [0.16, 0.26, 0.52],
    }
)


def test_rates_are_dots_at_their_share_on_their_interval() -> None:
    (axes,) = draw_rates(RATES, "by", reference=0.14, **NAMED).canvas.axes
    assert top_down(axes) == ["single", "twin", "triplet"]
    assert [line_of(axes, name) for name in RATES["by"]] == [0, 1, 2]
    assert marks(axes) == [
        Mark(5, 0, "blue", True, "o"),
        Mark(15, 1, "blue", True, "o"),
        Mark(30, 2, "blue", True, "o"),
    ]
    assert [(line.x, line.y) for line in lines(axes)] == [
        (pytest.approx([1, 16]), [0, 0]),
        (pytest.approx([8, 26]), [1, 1]),
        (pytest.approx([14, 52]), [2, 2]),
    ]
    assert across(axes) == ([pytest.approx(14)], [])
    assert {words: y for words, (_, y) in texts(axes).items()} == {"2 of 40": 0, "9 of 60": 1, "6 of 20": 2}
    assert axes.get_xlim()[0] == 0
    assert axes.get_xlim()[1] > 52
    assert axes.get_xlabel() == "lost, %"


def test_rates_without_a_reference_have_no_line_across() -> None:
    (axes,) = draw_rates(RATES, "by", **NAMED).canvas.axes
    assert across(axes) == ([], [])


def test_grouped_rates_stand_under_their_heading() -> None:
    rates = RATES.rename(columns={"by": "name"}).assign(
        heading=["birth type", "birth type", "delivery"], quiet=[False, False, False]
    )
    (axes,) = draw_grouped_rates(rates, reference=0.14, **NAMED).canvas.axes
    assert top_down(axes) == ["single", "twin", "triplet"]
    at = {name: line_of(axes, name) for name in rates["name"]}
    assert [(mark.x, mark.y, mark.colour) for mark in marks(axes)] == [
        (5, at["single"], "blue"),
        (15, at["twin"], "blue"),
        (30, at["triplet"], "blue"),
    ]
    assert [line.x for line in lines(axes)] == [pytest.approx(x) for x in ([1, 16], [8, 26], [14, 52])]
    assert [line.y for line in lines(axes)] == [[y, y] for y in at.values()]
    where = {words: y for words, (_, y) in texts(axes).items()}
    assert [where[counts] for counts in ("2 of 40", "9 of 60", "6 of 20")] == list(at.values())
    assert where["birth type"] < at["single"] < at["twin"] < where["delivery"] < at["triplet"]
    bottom, top = axes.get_ylim()
    assert bottom > at["triplet"]
    assert top < where["birth type"]
    assert across(axes)[0] == [pytest.approx(14)]
    assert axes.get_xlim()[0] == 0


EXCESS = pd.DataFrame(
    {
        "label": ["ram 7", "pen 2", "ram 1"],
        "excess": [9.0, 4.0, -3.0],
        "excess_low": [3.0, -1.0, -8.0],
        "excess_high": [15.0, 9.0, 2.0],
        "clear": [True, False, False],
        "counts": ["20 of 60", "10 of 40", "2 of 50"],
    }
)


def test_more_losses_stand_right_of_zero_and_fewer_left_of_it() -> None:
    (axes,) = draw_ranked(EXCESS, counts_heading="lost", **NAMED).canvas.axes
    assert top_down(axes) == ["ram 7", "pen 2", "ram 1"]
    assert [(mark.x, mark.y) for mark in marks(axes)] == [(9, 0), (4, 1), (-3, 2)]
    assert [(line.x, line.y) for line in lines(axes)] == [
        ([3, 15], [0, 0]),
        ([-1, 9], [1, 1]),
        ([-8, 2], [2, 2]),
    ]
    assert across(axes)[0] == [0]
    left, right = axes.get_xlim()
    assert left < -8
    assert right > 15
    where = {words: y for words, (_, y) in texts(axes).items()}
    assert [where[counts] for counts in EXCESS["counts"]] == [0, 1, 2]
    assert axes.get_ylim()[1] < where["lost"] < 0


def test_a_clear_excess_is_red_filled_and_thick_the_others_blue_open_and_thin() -> None:
    (axes,) = draw_ranked(EXCESS, counts_heading="lost", **NAMED).canvas.axes
    assert [(mark.colour, mark.filled) for mark in marks(axes)] == [
        ("red", True),
        ("blue", False),
        ("blue", False),
    ]
    assert [line.colour for line in lines(axes)] == ["red", "blue", "blue"]
    clear, *others = (line.wide for line in lines(axes))
    assert clear > max(others)


RATIOS = pd.DataFrame(
    {
        "label": ["fed late", "fed little", "not weighed"],
        "ratio": [2.0, 0.5, 3.0],
        "low": [1.25, 0.0, 0.4],
        "high": [3.2, 0.8, float("inf")],
        "quiet": [False, False, True],
    }
)


def test_ratios_are_dots_at_the_ratio_on_a_log_scale_with_one_marked() -> None:
    (axes,) = draw_ratios(RATIOS, quiet_words="not to be read", **NAMED).canvas.axes
    assert top_down(axes) == ["fed late", "fed little", "not weighed"]
    assert axes.get_xscale() == "log"
    assert across(axes)[0] == [1]
    assert [(mark.x, mark.y) for mark in marks(axes)] == [(2, 0), (0.5, 1), (3, 2)]
    left, right = axes.get_xlim()
    first, second, third = lines(axes)
    assert (first.x, first.y) == ([1.25, 3.2], [0, 0])
    assert (second.x, second.y) == (
        [left, 0.8],
        [1, 1],
    )  # an end at nothing, or without end, is the panel's edge
    assert (third.x, third.y) == ([0.4, right], [2, 2])
    assert (left, right) == (0.01, 100)
    said = [label.get_text() for label in axes.get_xticklabels()]
    assert said == ["0.01", "0.1", "0.2", "0.5", "1", "2", "5", "10", "20", "50", "100"]
    assert axes.get_xticks().tolist() == [float(words) for words in said]


def test_a_ratio_that_is_no_answer_is_grey_open_and_dashed() -> None:
    (axes,) = draw_ratios(RATIOS, quiet_words="not to be read", **NAMED).canvas.axes
    assert [(mark.colour, mark.filled) for mark in marks(axes)] == [
        ("blue", True),
        ("blue", True),
        ("grey", False),
    ]
    assert [(line.colour, line.dashed) for line in lines(axes)] == [
        ("blue", False),
        ("blue", False),
        ("grey", True),
    ]
    where = {words: y for words, (_, y) in texts(axes).items()}
    assert where["2.00 (1.25 to 3.20)"] == 0
    assert 1 < where["not to be read"] < 2


@pytest.mark.parametrize(("low", "high", "ends"), [(0.9, 1.1, (0.4, 2.5)), (0.001, 900.0, (0.01, 100.0))])
def test_the_axis_of_ratios_is_never_narrow_and_never_endless(
    low: float, high: float, ends: tuple[float, float]
) -> None:
    one = RATIOS.head(1).assign(ratio=1.0, low=low, high=high)
    (axes,) = draw_ratios(one, **NAMED).canvas.axes
    assert axes.get_xlim() == pytest.approx(ends)


PAIRS = pd.DataFrame(
    {"label": ["birth weight", "sex", "dam"], "first": [0.62, 0.95, 1.0], "second": [0.88, 0.90, 1.0]}
)


def test_pairs_are_a_red_triangle_of_the_lost_and_a_blue_ring_of_the_others() -> None:
    figure = draw_pairs(PAIRS, names=("the lost", "the others"), **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["birth weight", "sex", "dam"]
    lost = [mark for mark in marks(axes) if mark.shape == "v"]
    others = [mark for mark in marks(axes) if mark.shape == "o"]
    assert lost == [
        Mark(62, 0, "red", True, "v"),
        Mark(95, 1, "red", True, "v"),
        Mark(100, 2, "red", True, "v"),
    ]
    assert others == [
        Mark(88, 0, "blue", False, "o"),
        Mark(90, 1, "blue", False, "o"),
        Mark(100, 2, "blue", False, "o"),
    ]
    assert [line.x for line in lines(axes)] == [[62, 88], [95, 90], [100, 100]]
    assert [line.y for line in lines(axes)] == [[0, 0], [1, 1], [2, 2]]
    assert legend(figure) == [("the lost", "red", True, "v"), ("the others", "blue", False, "o")]
    assert axes.get_xlim() == (50, 100)


def test_of_equal_pairs_both_marks_can_be_seen() -> None:
    (axes,) = draw_pairs(PAIRS.tail(1), names=("the lost", "the others"), **NAMED).canvas.axes
    by_shape = {line.get_marker(): line for line in axes.lines if line.get_label().startswith("_")}
    assert by_shape["v"].get_zorder() > by_shape["o"].get_zorder()
    assert by_shape["v"].get_markersize() < by_shape["o"].get_markersize()


SEASONS = pd.DataFrame(
    {
        "label": ["single", "twin"],
        "share_a": [0.06, 0.10],
        "share_b": [0.05, 0.19],
        "difference": [-0.01, 0.09],
        "clear": [False, True],
    }
)


def test_the_earlier_season_is_open_and_the_later_filled() -> None:
    figure = draw_dumbbell(SEASONS, seasons=("2024", "2025"), **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["single", "twin"]
    assert marks(axes) == [
        Mark(6, 0, "blue", False, "o"),
        Mark(5, 0, "blue", True, "o"),
        Mark(10, 1, "red", False, "o"),
        Mark(19, 1, "red", True, "o"),
    ]
    assert legend(figure) == [("2024", "blue", False, "o"), ("2025", "blue", True, "o")]
    first, second = lines(axes)
    assert (first.x, first.y, first.colour) == ([6, 5], [0, 0], "blue")
    assert (second.x, second.y, second.colour) == ([10, 19], [1, 1], "red")
    assert second.wide > first.wide
    assert words_at(axes) == [("-1.0", 1.02, 0), ("+9.0", 1.02, 1)]
    assert axes.get_xlim()[0] == 0
