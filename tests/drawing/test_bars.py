"""Bars and squares: as long as what they count, stacked where they are parts, each on its own line."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.drawing.bars import (
    draw_classes,
    draw_flow,
    draw_milestones,
    draw_tally,
    draw_terms,
    draw_weeks,
    squares_stand_for,
)
from neonatal_stats.tables import Printer
from tests.drawing.drawn import (
    Mark,
    across,
    bars,
    colour,
    legend,
    line_of,
    lines,
    marks,
    texts,
    top_down,
    words_at,
)

NAMED: dict[str, Any] = {"printer": Printer(), "name": "f", "title": "t", "alt": "a"}

DAMS = pd.DataFrame(
    {
        "label": ["expected", "lambed"],
        "n": [10, 7],
        "lost": [0, 2],
        "left": [0, 1],
        "age_unknown": [0, 0],
        "went": ["", "lost: 2, barren: 1"],
    }
)
NEWBORNS = pd.DataFrame(
    {
        "label": ["born", "born alive", "alive at 3 days", "alive at the end"],
        "n": [20, 17, 12, 1],
        "lost": [0, 3, 2, 8],
        "left": [0, 0, 1, 2],
        "age_unknown": [0, 0, 2, 1],
        "went": ["", "born dead: 3", "lost: 2", "lost: 8"],
    }
)


def test_the_flow_is_a_staircase_in_which_every_newborn_is_somewhere() -> None:
    dams, newborns = draw_flow(DAMS, NEWBORNS, headings=("Ewes", "Lambs"), **NAMED).canvas.axes
    assert (dams.get_title(loc="left"), newborns.get_title(loc="left")) == ("Ewes", "Lambs")
    assert top_down(dams) == ["expected", "lambed"]
    assert top_down(newborns) == list(NEWBORNS["label"])
    before = 20
    for label, n in zip(NEWBORNS["label"], NEWBORNS["n"], strict=True):
        here = [bar for bar in bars(newborns) if bar.middle == pytest.approx(line_of(newborns, label))]
        assert (here[0].left, here[0].right, here[0].colour) == (0, n, "blue")
        assert here[-1].right == before
        assert all(part.right == following.left for part, following in pairwise(here))
        before = n
    assert newborns.get_xlim() == (0, 20)
    assert {bar.colour for bar in bars(dams) if bar.left == 0} == {"grey"}


def test_in_the_flow_the_lost_the_left_and_those_of_unknown_age_look_different() -> None:
    (panel,) = draw_flow(DAMS.head(0), NEWBORNS, headings=("Ewes", "Lambs"), **NAMED).canvas.axes
    there, lost, left, unknown = (patch for patch in panel.patches if round(patch.get_y() + 0.33) == 2)
    assert [part.get_width() for part in (there, lost, left, unknown)] == [12, 2, 1, 2]
    assert colour(lost.get_edgecolor()) == "red"
    assert [part.get_hatch() for part in (lost, left, unknown)] == ["////", "....", "xxxx"]
    assert {colour(part.get_edgecolor()) for part in (left, unknown)} == {"grey", "ink"}


def test_a_number_stands_inside_its_bar_or_after_it_where_the_bar_is_short() -> None:
    (panel,) = draw_flow(DAMS.head(0), NEWBORNS, headings=("Ewes", "Lambs"), **NAMED).canvas.axes
    where = texts(panel)
    assert where["20"] == (0, 0)
    assert where["17"] == (0, 1)
    assert where["1"] == (1, 3)  # one of twenty: too short to write in
    assert where["born dead: 3"] == (20, 1)
    assert where["lost: 2"] == (17, 2)
    assert where["lost: 8"] == (12, 3)


MILESTONES = pd.DataFrame(
    {"label": ["stood", "fed"], "met": [30, 20], "not_met": [6, 10], "died": [1, 4], "not_seen": [3, 6]}
)
PARTS = (("met", "met in time"), ("not_met", "not met"), ("died", "died before"), ("not_seen", "not seen"))


def test_milestones_are_stacked_so_that_all_newborns_are_in_every_bar() -> None:
    figure = draw_milestones(MILESTONES, PARTS, axis="newborns", **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["stood", "fed"]
    for label, ends in (("stood", [0, 30, 36, 37, 40]), ("fed", [0, 20, 30, 34, 40])):
        here = [bar for bar in bars(axes) if bar.middle == pytest.approx(line_of(axes, label))]
        assert [(bar.left, bar.right) for bar in here] == list(pairwise(ends))
        assert [(bar.colour, bar.hatch) for bar in here] == [
            ("blue", ""),
            ("ochre", ""),
            ("red", "xxxx"),
            ("grey", ""),
        ]
    assert legend(figure) == [
        ("met in time", "blue", True, ""),
        ("not met", "ochre", True, ""),
        ("died before", "red", True, "xxxx"),
        ("not seen", "grey", True, ""),
    ]
    assert axes.get_xlim() == (0, 40)


def test_a_milestones_count_stands_in_the_middle_of_its_part_and_beside_it_where_it_is_thin() -> None:
    (axes,) = draw_milestones(MILESTONES, PARTS, axis="newborns", **NAMED).canvas.axes
    assert words_at(axes) == [
        ("30", 15, 0),
        ("20", 10, 1),
        ("6", 33, 0),
        ("10", 25, 1),
        ("1", 36.5, pytest.approx(-0.43)),
        ("4", 32, 1),
        ("3", 38.5, 0),
        ("6", 37, 1),
    ]


TERMS = pd.DataFrame(
    {"label": ["single", "twin", "all"], "mix_term": [0.01, -0.02, -0.01], "rate_term": [-0.005, 0.04, 0.035]}
)


def test_the_mix_is_the_plain_upper_bar_and_the_rate_the_hatched_lower_one() -> None:
    figure = draw_terms(TERMS, axis="points", words=("mix", "rate"), **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["single", "twin", "all"]
    assert legend(figure) == [("mix", "ochre", True, ""), ("rate", "blue", True, "////")]
    mix = [bar for bar in bars(axes) if bar.colour == "ochre"]
    rate = [bar for bar in bars(axes) if bar.colour == "blue"]
    assert [(bar.left, bar.right) for bar in mix] == [(0, 1), (-2, 0), (-1, 0)]
    assert [(bar.left, bar.right) for bar in rate] == [(-0.5, 0), (0, 4), (0, pytest.approx(3.5))]
    for label, above, below in zip(TERMS["label"], mix, rate, strict=True):
        assert above.middle < line_of(axes, label) < below.middle
        assert above.high == pytest.approx(below.low)
    assert [bar.hatch for bar in (*mix, *rate)] == [""] * 3 + ["////"] * 3
    assert across(axes)[0] == [0]


def test_every_term_is_written_at_the_end_of_its_bar_and_the_sum_is_set_apart() -> None:
    (axes,) = draw_terms(TERMS, axis="points", words=("mix", "rate"), **NAMED).canvas.axes
    ends = [(bar.right if bar.right > 0 else bar.left, bar.middle) for bar in bars(axes)]
    assert [words for words, _, _ in words_at(axes)] == ["+1.0", "-2.0", "-1.0", "-0.5", "+4.0", "+3.5"]
    assert [(x, y) for _, x, y in words_at(axes)] == [(pytest.approx(x), pytest.approx(y)) for x, y in ends]
    assert [text.get_horizontalalignment() for text in axes.texts] == [
        "left", "right", "right", "right", "left", "left",
    ]  # fmt: skip
    (rule,) = across(axes)[1]
    assert line_of(axes, "twin") < rule < line_of(axes, "all")
    assert line_of(axes, "all") - line_of(axes, "twin") > line_of(axes, "twin") - line_of(axes, "single")


CLASSES = pd.DataFrame(
    {
        "label": ["excellent", "good", "poor"],
        "events": [8, 20, 12],
        "n": [40, 40, 40],
        "share": [0.2, 0.5, 0.3],
        "low": [0.1, 0.35, 0.18],
        "high": [0.35, 0.65, 0.46],
        "target": [0.4, np.nan, 0.1],
    }
)


def test_classes_are_bars_with_their_interval_and_a_diamond_at_the_goal() -> None:
    (axes,) = draw_classes(CLASSES, axis="%", goal="goal", **NAMED).canvas.axes
    assert top_down(axes) == ["excellent", "good", "poor"]
    assert [(bar.left, bar.right, bar.middle, bar.colour) for bar in bars(axes)] == [
        (0, 20, pytest.approx(0), "blue"),
        (0, 50, pytest.approx(1), "blue"),
        (0, 30, pytest.approx(2), "blue"),
    ]
    assert [(line.x, line.y) for line in lines(axes)] == [
        ([10, 35], [0, 0]),
        ([35, 65], [1, 1]),
        ([18, 46], [2, 2]),
    ]
    assert marks(axes) == [Mark(40, 0, "ochre", False, "D"), Mark(10, 2, "ochre", False, "D")]
    where = texts(axes)
    assert where["goal"] == (40, 0)
    assert [where[words][1] for words in ("8 of 40 (20.0\u00a0%)", "20 of 40 (50.0\u00a0%)")] == [0, 1]
    assert axes.get_xlim() == (0, 100)


def test_without_a_goal_there_is_no_diamond() -> None:
    (axes,) = draw_classes(CLASSES.assign(target=np.nan), axis="%", goal="goal", **NAMED).canvas.axes
    assert marks(axes) == []
    assert "goal" not in texts(axes)


WEEKS = pd.DataFrame(
    {
        "label": ["2.3.", "9.3.", "16.3."],
        "events": [4, 0, 2],
        "n": [16, 0, 8],
        "share": [0.25, np.nan, 0.25],
        "low": [0.1, np.nan, 0.07],
        "high": [0.5, np.nan, 0.6],
    }
)


def test_weeks_show_the_lost_red_and_hatched_inside_the_births() -> None:
    figure = draw_weeks(WEEKS, axes_words=("born", "lost, %", "week"), reference=0.2, **NAMED)
    births, shares = figure.canvas.axes
    born, lost = bars(births)[:3], bars(births)[3:]
    assert [(bar.low, bar.high, bar.colour, bar.hatch) for bar in born] == [
        (0, 16, "pale", ""),
        (0, 0, "pale", ""),
        (0, 8, "pale", ""),
    ]
    assert [(bar.low, bar.high, bar.colour, bar.hatch) for bar in lost] == [
        (0, 4, "red", "////"),
        (0, 0, "red", "////"),
        (0, 2, "red", "////"),
    ]
    assert [(bar.left + bar.right) / 2 for bar in born] == pytest.approx([0, 1, 2])
    assert [bar[:2] for bar in born] == [bar[:2] for bar in lost]
    assert texts(births) == {"4 / 16": (0, 16), "2 / 8": (2, 8)}
    assert (births.get_ylabel(), shares.get_ylabel(), shares.get_xlabel()) == ("born", "lost, %", "week")


def test_weeks_have_their_share_and_interval_below_the_bars() -> None:
    figure = draw_weeks(WEEKS, axes_words=("born", "lost, %", "week"), reference=0.2, **NAMED)
    births, shares = figure.canvas.axes
    assert births.get_position().y0 > shares.get_position().y0
    assert [(mark.x, mark.y, mark.colour) for mark in marks(shares)] == [(0, 25, "blue"), (2, 25, "blue")]
    assert [(line.x, line.y) for line in lines(shares)] == [
        ([0, 0], [10, 50]),
        ([2, 2], [pytest.approx(7), 60]),
    ]
    assert across(shares)[1] == [20]
    assert shares.get_ylim()[0] == 0
    assert [label.get_text() for label in shares.get_xticklabels()] == ["2.3.", "9.3.", "16.3."]


def test_of_many_weeks_every_other_one_is_named() -> None:
    many = pd.concat([WEEKS.head(1)] * 15, ignore_index=True).assign(label=[f"w{n}" for n in range(15)])
    _, shares = draw_weeks(many, axes_words=("", "", ""), **NAMED).canvas.axes
    named = dict(zip(shares.get_xticks(), [x.get_text() for x in shares.get_xticklabels()], strict=True))
    assert named == {place: f"w{place}" for place in range(0, 15, 2)}
    assert across(shares) == ([], [])


def test_a_tally_puts_every_square_into_the_cell_of_its_cause_and_age() -> None:
    counts = pd.DataFrame([[3, 1], [0, 7]])
    figure = draw_tally(
        counts,
        rows=["chill", "crushed"],
        columns=["first day", "later"],
        axis="age",
        one_square="1 loss",
        **NAMED,
    )
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["chill", "crushed"]
    assert [label.get_text() for label in axes.get_xticklabels()] == ["first\nday", "later"]
    for cell, (line, place, n) in zip(axes.collections, ((0, 0, 3), (0, 1, 1), (1, 1, 7)), strict=True):
        corners = np.vstack([path.vertices for path in cell.get_paths()])
        assert len(cell.get_paths()) == n
        assert line - 0.5 < corners[:, 1].min() < corners[:, 1].max() < line + 0.5
        assert place - 0.5 < corners[:, 0].min() < corners[:, 0].max() < place + 0.5
        assert len({tuple(path.vertices[0].round(6)) for path in cell.get_paths()}) == n
        assert colour(cell.get_facecolor()[0]) == "blue"
    written = {words: (x, y) for words, x, y in words_at(axes)}
    assert {words: y for words, (_, y) in written.items()} == {"3": 0, "1": 0, "7": 1}
    for cell, words in zip(axes.collections, ("3", "1", "7"), strict=True):
        squares_end = max(path.vertices[:, 0].max() for path in cell.get_paths())
        assert squares_end < written[words][0] < squares_end + 0.1
    assert axes.get_title(loc="left") == "1 loss"


def test_squares_of_a_full_cell_keep_apart_and_stand_around_their_line() -> None:
    (axes,) = draw_tally(
        pd.DataFrame([[1], [30]]), rows=["a", "b"], columns=["x"], axis="age", one_square="1", **NAMED
    ).canvas.axes
    squares = [path.get_extents() for path in axes.collections[1].get_paths()]
    assert len(squares) == 30
    for one, other in combinations(squares, 2):
        beside = one.x1 < other.x0 or other.x1 < one.x0
        above = one.y1 < other.y0 or other.y1 < one.y0
        assert beside or above
    middle = (min(square.y0 for square in squares) + max(square.y1 for square in squares)) / 2
    assert middle == pytest.approx(1, abs=0.05)


@pytest.mark.parametrize(
    ("largest", "each"), [(150, 5), (151, 10), (301, 20), (601, 50), (1501, 100), (15001, 501)]
)
def test_one_square_stands_for_as_few_as_fit(largest: int, each: int) -> None:
    assert squares_stand_for(largest) == each


def test_bars_of_neighbouring_lines_do_not_touch() -> None:
    classes = draw_classes(CLASSES, axis="%", goal="goal", **NAMED).canvas.axes
    milestones = draw_milestones(MILESTONES, PARTS, axis="newborns", **NAMED).canvas.axes
    flow = draw_flow(DAMS.head(0), NEWBORNS, headings=("", ""), **NAMED).canvas.axes
    for (axes,) in (classes, milestones, flow):
        assert all(0.3 < bar.high - bar.low < 1 for bar in bars(axes))


def test_where_a_square_stands_for_several_the_last_one_may_be_begun() -> None:
    (axes,) = draw_tally(
        pd.DataFrame([[61, 4]]), rows=["a"], columns=["x", "y"], axis="age", one_square="5", **NAMED
    ).canvas.axes
    assert [len(cell.get_paths()) for cell in axes.collections] == [13, 1]
    assert {words for words, _, _ in words_at(axes)} == {"61", "4"}
