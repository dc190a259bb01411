"""Counted marks: as many as what they count, each way to go in a shape of its own."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from neonatal_stats.drawing.marks import Went, flow_marks_stand_for, squares_stand_for
from neonatal_stats.drawing.tallies import draw_flow, draw_tally
from neonatal_stats.tables import Printer
from tests.drawing.drawn import bars, counted_marks, line_of, row_words, top_down, words_at
from tests.drawing.svg_text import hovered

NAMED: dict[str, Any] = {"printer": Printer(), "name": "f", "title": "t", "alt": "a"}

DAMS = pd.DataFrame(
    {
        "label": ["expected", "lambed"],
        "n": [10, 7],
        "went": [[], [Went("no birth: 2", 2, "never there"), Went("lost all: 1", 1, "lost")]],
    }
)
NEWBORNS = pd.DataFrame(
    {
        "label": ["born", "born alive", "alive at 3 days", "alive at the end"],
        "n": [20, 17, 12, 1],
        "went": [
            [],
            [Went("born dead: 3", 3, "lost")],
            [
                Went("lost: 2", 2, "lost"),
                Went("left: 1", 1, "left"),
                Went("when, unknown: 2", 2, "age unknown"),
            ],
            [Went("gone: 11", 11, "lost")],
        ],
    }
)
FLOW: dict[str, Any] = {**NAMED, "headings": ("Ewes", "Lambs"), "one_mark": "one mark: one"}


def test_the_flow_is_bars_from_zero_and_every_newborn_that_went_is_a_mark() -> None:
    (axes,) = draw_flow(DAMS, NEWBORNS, **FLOW).canvas.axes
    assert top_down(axes) == [
        "expected", "no birth: 2", "lost all: 1", "lambed", "born", "born dead: 3", "born alive", "lost: 2", "left: 1",
        "when, unknown: 2", "alive at 3 days", "gone: 11", "alive at the end",
    ]  # fmt: skip
    at = [line_of(axes, label) for label in (*DAMS["label"], *NEWBORNS["label"])]
    assert [(bar.left, bar.right, bar.middle, bar.colour) for bar in bars(axes)] == [
        (0, n, pytest.approx(line), shade)
        for n, line, shade in zip((10, 7, 20, 17, 12, 1), at, ["grey"] * 2 + ["ink"] * 4, strict=True)
    ]
    assert axes.get_xlim() == (0, 20)
    assert [n for n, *_ in counted_marks(axes)] == [2, 1, 3, 2, 1, 2, 11]
    before, went = 20, iter([3, 5, 11])
    for n in (17, 12, 1):
        assert before - next(went) == n
        before = n


def test_a_further_block_of_dams_stands_between_both_in_their_colour() -> None:
    alive = pd.DataFrame(
        {"label": ["joined", "alive"], "n": [20, 18], "went": [[], [Went("died: 2", 2, "lost")]]}
    )
    (axes,) = draw_flow(DAMS, NEWBORNS, also=(alive, "Ewes, to weaning"), **FLOW).canvas.axes
    assert top_down(axes)[4:8] == ["joined", "died: 2", "alive", "born"]
    assert [bar.colour for bar in bars(axes)] == ["grey"] * 4 + ["ink"] * 4


def test_only_what_was_lost_is_filled_and_each_way_to_go_has_its_shape() -> None:
    (axes,) = draw_flow(DAMS, NEWBORNS, **FLOW).canvas.axes
    looks = [(shade, filled) for _, shade, filled, _ in counted_marks(axes)]
    assert looks == [
        ("grey", False), ("ink", True), ("ink", True), ("ink", True), ("grey", False), ("ink", True), ("ink", True),
    ]  # fmt: skip
    never, lost, _, _, left, unknown, _ = (
        patch.get_path() for patch in axes.patches if isinstance(patch, PathPatch)
    )
    assert Path.CURVE4 in left.codes
    assert Path.CURVE4 not in never.codes
    assert len(set(np.round(lost.vertices[:4, 1], 3))) == 2  # a square has two heights, a diamond three
    assert len(set(np.round(unknown.vertices[:4, 1], 3))) == 3


def test_marks_stand_beside_their_words_and_before_the_step_they_lead_to() -> None:
    (axes,) = draw_flow(DAMS.head(0), NEWBORNS, **FLOW).canvas.axes
    unit = 20 / 232  # newborns a point of the panel
    said = [words for words in row_words(axes) if not words.bold and ":" in words.words]
    starts = set()
    for words, (_, _, _, (left, right, top, foot)) in zip(said, counted_marks(axes), strict=True):
        assert words.line - 10 < top < foot < words.line + 1
        assert words.indent > 0
        assert left > 60 * unit
        assert right < 20
        starts.add(left)
    assert max(starts) - min(starts) < 0.5 * unit
    assert line_of(axes, "born") < said[0].line < line_of(axes, "born alive")


def test_the_flow_tells_what_its_bars_and_marks_count() -> None:
    told = hovered(draw_flow(DAMS.head(0), NEWBORNS, **FLOW).svg())
    assert {"born: 20", "born dead: 3", "alive at the end: 1", "gone: 11"} <= set(told)
    assert len(told) == 9


def test_more_at_a_step_than_before_is_said_and_has_no_mark() -> None:
    more = NEWBORNS.head(2).assign(went=[[], [Went("4 more", -4, "never there")]])
    (axes,) = draw_flow(DAMS.head(0), more, **FLOW).canvas.axes
    assert counted_marks(axes) == []
    assert "4 more" in top_down(axes)


@pytest.mark.parametrize(("n", "each", "marks"), [(50, 1, 50), (51, 2, 26), (101, 5, 21), (4000, 100, 40)])
def test_a_mark_of_the_flow_stands_for_as_few_as_fit(n: int, each: int, marks: int) -> None:
    went = [Went(f"lost: {n}", n, "lost")]
    assert flow_marks_stand_for(went) == each
    steps = pd.DataFrame({"label": ["born", "alive"], "n": [n, 0], "went": [[], went]})
    (axes,) = draw_flow(DAMS.head(0), steps, **FLOW).canvas.axes
    ((drawn, _, _, (_, right, _, _)),) = counted_marks(axes)
    assert drawn == marks
    assert right < n


def _tally(counts: list[list[int]], rows: list[str], columns: list[str], *colours: str) -> Any:
    return draw_tally(
        pd.DataFrame(counts), rows=rows, columns=columns, colours=colours, one_square="1 loss", **NAMED
    )


BLUE, OCHRE = "#1b4f72", "#8a5800"


def test_a_tally_puts_every_square_into_the_cell_of_its_cause_and_age() -> None:
    figure = _tally([[3, 1], [0, 7]], ["chill", "crushed"], ["first day", "later"], BLUE, OCHRE)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["chill", "crushed"]
    heads = {words.replace("\n", " "): x for words, x, _ in words_at(axes) if words[:5] in ("first", "later")}
    cells = counted_marks(axes)
    assert [(n, shade) for n, shade, _, _ in cells] == [(3, "blue"), (1, "blue"), (7, "ochre")]
    lines = [line_of(axes, name) for name in ("chill", "chill", "crushed")]
    for (_, _, _, (left, right, top, foot)), line, head in zip(
        cells, lines, ("first day", "later", "later"), strict=True
    ):
        assert line - 15 < top < foot < line + 15
        assert left == pytest.approx(heads[head])
        assert right < left + 30
    assert heads["later"] > heads["first day"] + 30
    numbers = {words: (x, y) for words, x, y in words_at(axes) if words in ("3", "1", "7")}
    for (_, _, _, (left, _, top, _)), words in zip(cells, ("3", "1", "7"), strict=True):
        assert numbers[words][0] == pytest.approx(left)
        assert top - 11 < numbers[words][1] < top
    assert [words.words for words in row_words(axes, side=1)] == ["4", "7", "1 loss"]
    assert hovered(figure.svg()) == ["chill, first day: 3", "chill, later: 1", "crushed, later: 7"]


def test_squares_of_a_full_cell_keep_apart() -> None:
    (axes,) = _tally([[1], [30]], ["a", "b"], ["x"], BLUE, BLUE).canvas.axes
    _, full = (patch.get_path() for patch in axes.patches if isinstance(patch, PathPatch))
    starts = np.flatnonzero(full.codes == Path.MOVETO)
    squares = [Path(full.vertices[place : place + 5]).get_extents() for place in starts]
    assert len(squares) == 30
    for one, other in combinations(squares, 2):
        beside = one.x1 < other.x0 or other.x1 < one.x0
        above = one.y1 < other.y0 or other.y1 < one.y0
        assert beside or above


def test_columns_of_the_tally_keep_apart_however_many() -> None:
    names = ["tot geboren", *(f"{day} bis {day + 7} d" for day in range(0, 49, 7)), "Alter unbekannt"]
    (axes,) = _tally([[30] * len(names)], ["a"], names, BLUE).canvas.axes
    cells = [place for _, _, _, place in counted_marks(axes)]
    assert len(cells) == len(names)
    assert all(one[1] < other[0] for one, other in pairwise(cells))
    assert cells[-1][1] < 244


@pytest.mark.parametrize(
    ("largest", "each"),
    [(0, 1), (1, 1), (30, 1), (31, 2), (61, 5), (150, 5), (151, 10), (301, 20), (601, 50), (900, 50), (1501, 100),
     (15001, 501)],
)  # fmt: skip
def test_one_square_stands_for_as_few_as_fit(largest: int, each: int) -> None:
    assert squares_stand_for(largest) == each


def test_where_a_square_stands_for_several_the_last_one_may_be_begun() -> None:
    (axes,) = _tally([[61, 4]], ["a"], ["x", "y"], BLUE).canvas.axes
    assert [n for n, *_ in counted_marks(axes)] == [13, 1]
    assert {"61", "4"} <= {words for words, _, _ in words_at(axes)}


def test_many_columns_have_fewer_squares_side_by_side_and_their_words_whole() -> None:
    heads = ["tot geboren", *(f"{n} bis {n + 9}\u00a0d" for n in range(10, 80, 10)), "Alter unbekannt"]
    figure = _tally([[25] + [9] * 8], ["chill"], heads, BLUE)
    (axes,) = figure.canvas.axes
    written = {words.replace("\n", " ") for words, _, _ in words_at(axes)}
    assert set(heads) <= written
    edges = [(left, right) for _, _, _, (left, right, _, _) in counted_marks(axes)]
    assert all(right < left for (_, right), (left, _) in pairwise(edges))
    assert [n for n, _, _, _ in counted_marks(axes)] == [25] + [9] * 8
