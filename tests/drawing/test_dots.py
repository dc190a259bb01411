"""Dots with intervals, one row a group: every dot at its share, every interval at its ends, on the right line."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pandas as pd
import pytest

from neonatal_stats.drawing.dots import draw_dumbbell, draw_pairs, draw_ranked, draw_rates, draw_ratios
from neonatal_stats.tables import NumberWords, Printer
from tests.drawing.drawn import (
    Mark,
    beside_rows,
    legend,
    line_of,
    lines,
    marks,
    row_words,
    texts,
    top_down,
)
from tests.drawing.svg_text import hovered

NAMED: dict[str, Any] = {"printer": Printer(), "name": "f", "title": "t", "alt": "a", "axis": "lost, %"}
RATES = pd.DataFrame(
    {
        "label": ["single", "twin", "triplet"],
        "events": [2, 9, 6],
        "n": [40, 60, 20],
        "share": [0.05, 0.15, 0.30],
        "low": [0.01, 0.08, 0.14],
        "high": [0.16, 0.26, 0.52],
    }
)


def test_rates_are_dots_at_their_share_on_their_interval() -> None:
    (axes,) = draw_rates(RATES, average=(0.14, "all: 14 %"), **NAMED).canvas.axes
    assert top_down(axes) == ["single", "twin", "triplet"]
    at = [line_of(axes, name) for name in RATES["label"]]
    assert all(below - above > 15 for above, below in pairwise(at))
    assert marks(axes) == [
        Mark(5, at[0], "ink", True, "o"),
        Mark(15, at[1], "ink", True, "o"),
        Mark(30, at[2], "ink", True, "o"),
    ]
    assert [(line.x, line.y) for line in lines(axes)] == [
        (pytest.approx([1, 16]), [at[0]] * 2),
        (pytest.approx([8, 26]), [at[1]] * 2),
        (pytest.approx([14, 52]), [at[2]] * 2),
    ]
    assert [(counts.words, counts.line) for counts in row_words(axes, side=1)] == [
        ("2 of 40", at[0]),
        ("9 of 60", at[1]),
        ("6 of 20", at[2]),
    ]
    assert axes.get_xlim()[0] == 0
    assert axes.get_xlim()[1] > 52
    assert axes.get_xlabel() == "lost, %"


def test_the_average_is_dotted_beside_every_line_named_above_the_first_and_strikes_no_words() -> None:
    (axes,) = draw_rates(RATES, average=(0.14, "all: 14 %"), **NAMED).canvas.axes
    ((shade, _, spans),) = [one for one in beside_rows(axes) if one[1]]
    assert shade == "ink"
    ((place, heights),) = spans.items()
    assert place == pytest.approx(14)
    at = [line_of(axes, name) for name in RATES["label"]]
    assert texts(axes)["all: 14 %"] == (pytest.approx(14), heights[0][1])
    assert heights[0][1] < at[0] - 10
    assert len(heights) == 4
    for line, (top, foot) in zip(at, heights[1:], strict=True):
        assert line - 6 < top < line < foot < line + 6


def test_rates_without_an_average_have_rules_alone_beside_their_lines() -> None:
    (axes,) = draw_rates(RATES, **NAMED).canvas.axes
    ((shade, dashed, spans),) = beside_rows(axes)
    assert (shade, dashed) == ("grey", False)
    assert list(spans) == [tick for tick in axes.get_xticks() if 0 <= tick <= axes.get_xlim()[1]]


def test_grouped_rates_stand_under_their_heading_and_parts_are_indented() -> None:
    rates = RATES.assign(heading=["birth type", "birth type", "delivery"], depth=[0, 1, 0])
    (axes,) = draw_rates(rates, **NAMED).canvas.axes
    assert top_down(axes) == ["single", "twin", "triplet"]
    at = {name: line_of(axes, name) for name in rates["label"]}
    assert [(mark.x, mark.y, mark.colour) for mark in marks(axes)] == [
        (5, at["single"], "ink"),
        (15, at["twin"], "ink"),
        (30, at["triplet"], "ink"),
    ]
    assert [line.x for line in lines(axes)] == [pytest.approx(x) for x in ([1, 16], [8, 26], [14, 52])]
    assert [line.y for line in lines(axes)] == [[y, y] for y in at.values()]
    said = {words.words: words for words in row_words(axes)}
    assert {name for name, words in said.items() if words.bold} == {"birth type", "delivery"}
    assert [said[name].line for name in ("birth type", "delivery")] == [at["single"], at["triplet"]]
    assert (
        said["single"].indent == said["triplet"].indent == said["delivery"].indent == 0 < said["twin"].indent
    )
    assert at["triplet"] - at["twin"] > at["twin"] - at["single"] + 10
    bottom, top = axes.get_ylim()
    assert bottom > at["triplet"]
    assert top < at["single"]
    assert axes.get_xlim()[0] == 0


def test_a_group_too_small_is_counted_said_and_sets_no_scale() -> None:
    wide = RATES.assign(high=[0.16, 0.26, 0.99], quiet=[False, False, True])
    figure = draw_rates(wide, few="too few", **NAMED)
    (axes,) = figure.canvas.axes
    assert [mark.x for mark in marks(axes)] == [5, 15]
    assert len(lines(axes)) == 2
    assert row_words(axes, side=1)[-1].words == "6 of 20, too few"
    assert row_words(axes, side=1)[-1].line == line_of(axes, "triplet")
    assert axes.get_xlim()[1] < 30
    assert len(hovered(figure.svg())) == 2


def test_where_all_groups_are_too_small_there_is_no_scale() -> None:
    (axes,) = draw_rates(RATES.assign(quiet=True), few="too few", **NAMED).canvas.axes
    assert (marks(axes), lines(axes), list(axes.get_xticks())) == ([], [], [])
    assert [words.words for words in row_words(axes, side=1)] == [
        "2 of 40, too few", "9 of 60, too few", "6 of 20, too few",
    ]  # fmt: skip


def test_every_dot_tells_its_counts_share_and_interval_as_printed() -> None:
    figure = draw_rates(RATES.assign(told=["", "", "by the curve"]), **NAMED)
    assert hovered(figure.svg()) == [
        "single: 2 of 40 (5.0\u00a0%, 1.0 to 16.0\u00a0%)",
        "twin: 9 of 60 (15.0\u00a0%, 8.0 to 26.0\u00a0%)",
        "triplet: by the curve",
    ]


EXCESS = pd.DataFrame(
    {
        "label": ["ram 7", "pen 2", "ram 1"],
        "excess": [9.0, 4.0, -3.0],
        "excess_low": [3.0, -1.0, -8.0],
        "excess_high": [15.0, 9.0, 2.0],
        "clear": [True, False, False],
        "depth": [0, 1, 0],
        "counts": ["20 of 60", "10 of 40", "2 of 50"],
        "told": ["9 more (3 to 15)", "4 more", "-3 more"],
    }
)
RANKED: dict[str, Any] = {**NAMED, "counts_heading": "lost", "words": ("clear", "not clear")}


def test_more_losses_stand_right_of_zero_and_fewer_left_of_it() -> None:
    figure = draw_ranked(EXCESS, **RANKED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["ram 7", "pen 2", "ram 1"]
    at = [line_of(axes, name) for name in EXCESS["label"]]
    assert [(mark.x, mark.y) for mark in marks(axes)] == [(9, at[0]), (4, at[1]), (-3, at[2])]
    assert [(line.x, line.y) for line in lines(axes)] == [
        ([3, 15], [at[0]] * 2),
        ([-1, 9], [at[1]] * 2),
        ([-8, 2], [at[2]] * 2),
    ]
    (zero,) = [spans for shade, _, spans in beside_rows(axes) if shade == "ink"]
    assert list(zero) == [0]
    assert all(top < line < foot for line, (top, foot) in zip(at, zero[0], strict=True))
    left, right = axes.get_xlim()
    assert left < -8
    assert right > 15
    heading, *counts = row_words(axes, side=1)[-1:] + row_words(axes, side=1)[:-1]
    assert [(words.words, words.line) for words in counts] == list(zip(EXCESS["counts"], at, strict=True))
    assert heading.words == "lost"
    assert axes.get_ylim()[1] < heading.line < at[0]
    assert [words.indent > 0 for words in row_words(axes)] == [False, True, False]
    assert hovered(figure.svg()) == ["ram 7: 9 more (3 to 15)", "pen 2: 4 more", "ram 1: -3 more"]


def test_a_clear_excess_is_red_filled_and_thick_the_others_in_ink_open_and_thin() -> None:
    figure = draw_ranked(EXCESS, **RANKED)
    (axes,) = figure.canvas.axes
    assert [(mark.colour, mark.filled) for mark in marks(axes)] == [
        ("red", True),
        ("ink", False),
        ("ink", False),
    ]
    assert [line.colour for line in lines(axes)] == ["red", "ink", "ink"]
    clear, *others = (line.wide for line in lines(axes))
    assert clear > max(others)
    assert legend(figure) == [("clear", "red", True, "o"), ("not clear", "ink", False, "o")]
    assert legend(draw_ranked(EXCESS.tail(2), **RANKED)) == [("not clear", "ink", False, "o")]


RATIOS = pd.DataFrame(
    {
        "label": ["fed late", "fed little", "fed cold"],
        "ratio": [2.0, 0.5, 3.0],
        "low": [1.25, 0.0, 0.4],
        "high": [3.2, 0.8, float("inf")],
        "quiet": [False, False, False],
    }
)


def test_ratios_are_dots_at_the_ratio_on_a_log_scale_with_one_marked() -> None:
    figure = draw_ratios(RATIOS, **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["fed late", "fed little", "fed cold"]
    assert axes.get_xscale() == "log"
    (one,) = [spans for shade, _, spans in beside_rows(axes) if shade == "ink"]
    assert list(one) == [1]
    at = [line_of(axes, name) for name in RATIOS["label"]]
    assert marks(axes) == [Mark(x, y, "ink", True, "o") for x, y in zip((2, 0.5, 3), at, strict=True)]
    left, right = axes.get_xlim()
    first, second, third = lines(axes)
    assert (first.x, first.y) == ([1.25, 3.2], [at[0]] * 2)
    assert (second.x, second.y) == (
        [left, 0.8],
        [at[1]] * 2,
    )  # an end at nothing, or without end, is the panel's edge
    assert (third.x, third.y) == ([0.4, right], [at[2]] * 2)
    assert (left, right) == (0.01, 100)
    said = [label.get_text() for label in axes.get_xticklabels()]
    assert said == ["0.01", "0.1", "0.2", "0.5", "1", "2", "5", "10", "20", "50", "100"]
    assert axes.get_xticks().tolist() == [float(words) for words in said]
    assert row_words(axes, side=1)[0][:2] == ("2.00 (1.25 to 3.20)", at[0])
    assert hovered(figure.svg())[0] == "fed late: 2.00 (1.25 to 3.20)"


def test_a_ratio_of_too_few_has_words_in_its_row_and_sets_no_scale() -> None:
    (axes,) = draw_ratios(
        RATIOS.assign(quiet=[False, False, True]).tail(2), few="too few", **NAMED
    ).canvas.axes
    assert [mark.x for mark in marks(axes)] == [0.5]
    assert row_words(axes, side=1)[1].words == "too few"
    assert axes.get_xlim()[1] == pytest.approx(2.5)


def test_the_scale_of_ratios_has_the_printers_decimal_sign() -> None:
    german = {**NAMED, "printer": Printer(NumberWords(decimal=","))}
    (axes,) = draw_ratios(RATIOS, **german).canvas.axes
    assert [label.get_text() for label in axes.get_xticklabels()][:3] == ["0,01", "0,1", "0,2"]


@pytest.mark.parametrize(("low", "high", "ends"), [(0.9, 1.1, (0.4, 2.5)), (0.001, 900.0, (0.01, 100.0))])
def test_the_axis_of_ratios_is_never_narrow_and_never_endless(
    low: float, high: float, ends: tuple[float, float]
) -> None:
    one = RATIOS.head(1).assign(ratio=1.0, low=low, high=high)
    (axes,) = draw_ratios(one, **NAMED).canvas.axes
    assert axes.get_xlim() == pytest.approx(ends)


PAIRS = pd.DataFrame(
    {
        "label": ["birth weight", "sex", "dam"],
        "first": [0.38, 0.05, 0.1],
        "second": [0.12, 0.10, 0.1],
        "counts": ["38 %, 12 %", "5 %, 10 %", "10 %, 10 %"],
        "told": ["38 of 100", "5 of 100", "10 of 100"],
    }
)


def test_pairs_are_a_triangle_of_the_lost_in_ink_and_a_grey_ring_of_the_others_from_zero() -> None:
    figure = draw_pairs(PAIRS, names=("the lost", "the others"), **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["birth weight", "sex", "dam"]
    at = [line_of(axes, name) for name in PAIRS["label"]]
    lost = [mark for mark in marks(axes) if mark.shape == "v"]
    others = [mark for mark in marks(axes) if mark.shape == "o"]
    assert lost == [
        Mark(38, at[0], "ink", True, "v"),
        Mark(5, at[1], "ink", True, "v"),
        Mark(10, at[2], "ink", True, "v"),
    ]
    assert others == [
        Mark(12, at[0], "grey", False, "o"),
        Mark(10, at[1], "grey", False, "o"),
        Mark(10, at[2], "grey", False, "o"),
    ]
    assert [line.x for line in lines(axes)] == [[38, 12], [5, 10], [10, 10]]
    assert [line.y for line in lines(axes)] == [[y, y] for y in at]
    assert legend(figure) == [("the lost", "ink", True, "v"), ("the others", "grey", False, "o")]
    assert axes.get_xlim()[0] == 0
    assert 38 < axes.get_xlim()[1] < 60
    assert [words.words for words in row_words(axes, side=1)] == list(PAIRS["counts"])
    assert hovered(figure.svg()) == ["birth weight: 38 of 100", "sex: 5 of 100", "dam: 10 of 100"] * 2


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
        "told": ["6 of 100 then 5 of 100", "10 of 100 then 19 of 100"],
    }
)


def test_the_earlier_season_is_open_and_grey_and_the_later_filled() -> None:
    figure = draw_dumbbell(SEASONS, seasons=("2024", "2025"), difference="points", **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["single", "twin"]
    at = [line_of(axes, name) for name in SEASONS["label"]]
    assert marks(axes) == [
        Mark(6, at[0], "grey", False, "o"),
        Mark(5, at[0], "ink", True, "o"),
        Mark(10, at[1], "grey", False, "o"),
        Mark(19, at[1], "red", True, "o"),
    ]
    assert legend(figure) == [("2024", "grey", False, "o"), ("2025", "ink", True, "o")]
    first, second = lines(axes)
    assert (first.x, first.y, first.colour) == ([6, 5], [at[0]] * 2, "ink")
    assert (second.x, second.y, second.colour) == ([10, 19], [at[1]] * 2, "red")
    assert second.wide > first.wide
    assert [words[:2] for words in row_words(axes, side=1)] == [
        ("−1.0", at[0]), ("+9.0", at[1]), ("points", pytest.approx(10, abs=5)),
    ]  # fmt: skip
    assert axes.get_xlim()[0] == 0
    assert hovered(figure.svg()) == ["single: 6 of 100 then 5 of 100", "twin: 10 of 100 then 19 of 100"]
