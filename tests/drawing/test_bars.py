"""Bars: as long as what they count, stacked where they are parts, each on its own row."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.drawing.bars import draw_causes, draw_classes, draw_milestones, draw_needed, draw_terms
from neonatal_stats.drawing.colours import CAUSE_LOOKS, contrast
from neonatal_stats.tables import Printer
from tests.drawing.drawn import (
    Mark,
    across,
    bars,
    beside_rows,
    legend,
    line_of,
    lines,
    marks,
    row_words,
    texts,
    top_down,
    words_at,
)
from tests.drawing.svg_text import hovered

NAMED: dict[str, Any] = {"printer": Printer(), "name": "f", "title": "t", "alt": "a"}

CAUSES = pd.DataFrame(
    {
        "label": ["infection", "accident", "unknown"],
        "look": [CAUSE_LOOKS["infection"], CAUSE_LOOKS["accident"], CAUSE_LOOKS["unknown"]],
        "counts": ["20 of 400", "8 of 400", "12 of 400"],
        "share": [0.05, 0.02, 0.03],
        "low": [0.03, 0.01, 0.02],
        "high": [0.08, 0.04, 0.05],
        "highest": [0.08, 0.05, np.nan],
        "told": ["20 of 400 born", "8 of 400 born", "12 of 400 born"],
    }
)


def test_causes_are_bars_from_zero_in_their_own_look_with_interval_and_bound() -> None:
    figure = draw_causes(CAUSES, axis="%", words=("interval", "with the unknown"), **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["infection", "accident", "unknown"]
    at = [line_of(axes, name) for name in CAUSES["label"]]
    of_cause = [bar for bar in bars(axes) if bar.left == 0]
    assert [(bar.right, bar.middle, bar.hatch) for bar in of_cause] == [
        (pytest.approx(5), pytest.approx(at[0]), CAUSE_LOOKS["infection"][1]),
        (pytest.approx(2), pytest.approx(at[1]), CAUSE_LOOKS["accident"][1]),
        (pytest.approx(3), pytest.approx(at[2]), CAUSE_LOOKS["unknown"][1]),
    ]
    bounds = [bar for bar in bars(axes) if bar.left > 0]
    assert [(bar.left, bar.right, bar.middle, bar.colour) for bar in bounds] == [
        (pytest.approx(5), pytest.approx(8), pytest.approx(at[0]), "white"),
        (pytest.approx(2), pytest.approx(5), pytest.approx(at[1]), "white"),
    ]
    dark = [line for line in lines(axes) if line.colour == "ink"]
    assert [(line.x, line.y) for line in dark] == [
        (pytest.approx([3, 8]), [at[0]] * 2),
        (pytest.approx([1, 4]), [at[1]] * 2),
        (pytest.approx([2, 5]), [at[2]] * 2),
    ]
    assert axes.get_xlim()[0] == 0
    assert axes.get_xlim()[1] > 8
    assert [words.words for words in row_words(axes, side=1)] == list(CAUSES["counts"])
    assert [words for words, *_ in legend(figure)] == ["interval", "with the unknown"]
    assert hovered(figure.svg()) == [
        "infection: 20 of 400 born", "accident: 8 of 400 born", "unknown: 12 of 400 born",
    ]  # fmt: skip


def test_without_unknown_losses_no_bound_is_drawn_or_explained() -> None:
    figure = draw_causes(
        CAUSES.assign(highest=np.nan), axis="%", words=("interval", "with the unknown"), **NAMED
    )
    assert [bar.left for bar in bars(figure.canvas.axes[0])] == [0, 0, 0]
    assert [words for words, *_ in legend(figure)] == ["interval"]


def test_no_two_causes_look_alike() -> None:
    looks = list(CAUSE_LOOKS.values())
    assert len(set(looks)) == len({colour for colour, _ in looks}) == len(looks)
    assert len({hatch for _, hatch in looks}) == len(looks) - 1  # two are plain: a dark and a pale one
    plain = [colour for colour, hatch in looks if not hatch]
    assert contrast(*plain) > 2


MILESTONES = pd.DataFrame(
    {
        "label": ["stood", "fed"],
        "counts": ["30 of 36", "20 of 30"],
        "met": [30, 20],
        "not_met": [6, 10],
        "died": [1, 4],
        "not_seen": [3, 6],
    }
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
            ("ochre", "////"),
            ("ink", "xxxx"),
            ("white", ""),
        ]
    assert legend(figure) == [
        ("met in time", "blue", True, ""),
        ("not met", "ochre", True, "////"),
        ("died before", "ink", True, "xxxx"),
        ("not seen", "white", True, ""),
    ]
    assert axes.get_xlim() == (0, 40)
    assert [words.words for words in row_words(axes, side=1)] == ["30 of 36", "20 of 30"]
    assert hovered(figure.svg())[:4] == [
        "stood, met in time: 30", "stood, not met: 6", "stood, died before: 1", "stood, not seen: 3",
    ]  # fmt: skip


def test_a_milestones_count_stands_in_the_middle_of_its_part_and_under_it_where_it_is_thin() -> None:
    (axes,) = draw_milestones(MILESTONES, PARTS, axis="newborns", **NAMED).canvas.axes
    stood, fed = line_of(axes, "stood"), line_of(axes, "fed")
    assert [found for found in words_at(axes) if 0 < found[1] != 1] == [
        ("30", 15, stood),
        ("6", 33, stood),
        ("3", 38.5, stood),
        ("1", 36.5, stood),
        ("20", 10, fed),
        ("10", 25, fed),
        ("4", 32, fed),
        ("6", 37, fed),
    ]
    (under,) = [text for text in axes.texts if text.get_text() == "1"]
    assert under.xyann[0] == pytest.approx(36.5)
    assert stood + 8 < under.xyann[1] < fed - 15
    assert under.get_verticalalignment() == "bottom"
    assert all(text.xyann == text.xy for text in axes.texts if text.get_text() in ("30", "20", "10"))


def test_counts_under_thin_neighbours_keep_apart() -> None:
    thin = MILESTONES.head(1).assign(met=380, not_met=12, died=1, not_seen=11)
    (axes,) = draw_milestones(thin, PARTS, axis="newborns", **NAMED).canvas.axes
    under = sorted(text.xyann[0] for text in axes.texts if text.get_text() in ("12", "1", "11"))
    unit = 404 / 230  # newborns a point
    assert all(right - left > 11 * unit for left, right in pairwise(under))
    assert max(under) < 404


TERMS = pd.DataFrame(
    {
        "label": ["all", "single", "twin"],
        "mix": [-0.01, 0.01, -0.02],
        "mix_low": [-0.02, np.nan, np.nan],
        "mix_high": [0.005, np.nan, np.nan],
        "rate": [0.035, -0.005, 0.04],
        "rate_low": [0.01, np.nan, np.nan],
        "rate_high": [0.06, np.nan, np.nan],
    }
)


def test_the_mix_is_the_plain_upper_bar_and_the_rate_the_hatched_lower_one() -> None:
    figure = draw_terms(TERMS, axis="points", words=("mix", "rate"), **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["all", "single", "twin"]
    assert legend(figure) == [("mix", "ochre", True, ""), ("rate", "blue", True, "////")]
    mix = [bar for bar in bars(axes) if bar.colour == "ochre"]
    rate = [bar for bar in bars(axes) if bar.colour == "blue"]
    assert [(bar.left, bar.right) for bar in mix] == [(-1, 0), (0, 1), (-2, 0)]
    assert [(bar.left, bar.right) for bar in rate] == [(0, pytest.approx(3.5)), (-0.5, 0), (0, 4)]
    for label, above, below in zip(TERMS["label"], mix, rate, strict=True):
        assert above.middle < line_of(axes, label) < below.middle
        assert above.high == pytest.approx(below.low)
    assert [bar.hatch for bar in (*mix, *rate)] == [""] * 3 + ["////"] * 3
    (zero,) = beside_rows(axes)
    assert list(zero[2]) == [0]


def test_every_term_is_written_past_the_end_of_its_bar_and_the_sum_comes_first_set_apart() -> None:
    figure = draw_terms(TERMS, axis="points", words=("mix", "rate"), **NAMED)
    (axes,) = figure.canvas.axes
    written = [text for text in axes.texts if text.get_text()[0] in "+−"]
    assert [text.get_text() for text in written] == ["−1.0", "+3.5", "+1.0", "−0.5", "−2.0", "+4.0"]
    middles = [bar.middle for bar in bars(axes)]
    assert [text.xy for text in written] == [
        (pytest.approx(x), pytest.approx(y)) for x, y in zip((-2, 6, 1, -0.5, -2, 4), middles, strict=True)
    ]
    assert [text.get_horizontalalignment() for text in written] == [
        "right", "left", "left", "right", "right", "left",
    ]  # fmt: skip
    dark = [line for line in lines(axes) if line.colour == "ink"]
    assert [line.x for line in dark] == [pytest.approx([-2, 0.5]), pytest.approx([1, 6])]
    (rule,) = across(axes)[1]
    assert line_of(axes, "all") < rule < line_of(axes, "single")
    gaps = [below - above for above, below in pairwise(line_of(axes, name) for name in TERMS["label"])]
    assert gaps[0] > gaps[1]
    assert hovered(figure.svg())[:2] == ["all, mix: −1.0 (−2.0 to +0.5)", "all, rate: +3.5 (+1.0 to +6.0)"]


CLASSES = pd.DataFrame(
    {
        "label": ["excellent", "good", "poor"],
        "events": [8, 20, 12],
        "n": [40, 40, 40],
        "share": [0.2, 0.5, 0.3],
        "low": [0.1, 0.35, 0.18],
        "high": [0.35, 0.65, 0.46],
        "target": [0.4, np.nan, 0.1],
        "told": ["excellent 8 of 40", "good 20 of 40", "poor 12 of 40"],
    }
)


def test_classes_are_bars_with_their_interval_and_a_diamond_at_the_goal() -> None:
    figure = draw_classes(CLASSES, axis="%", goal="goal", **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["excellent", "good", "poor"]
    at = [line_of(axes, name) for name in CLASSES["label"]]
    assert [(bar.left, bar.right, bar.middle, bar.colour) for bar in bars(axes)] == [
        (0, 20, pytest.approx(at[0]), "blue"),
        (0, 50, pytest.approx(at[1]), "blue"),
        (0, 30, pytest.approx(at[2]), "blue"),
    ]
    assert [(line.x, line.y) for line in lines(axes) if line.colour == "ink"] == [
        ([10, 35], [at[0]] * 2),
        ([35, 65], [at[1]] * 2),
        ([18, 46], [at[2]] * 2),
    ]
    assert marks(axes) == [Mark(40, at[0], "ochre", False, "D"), Mark(10, at[2], "ochre", False, "D")]
    assert legend(figure) == [("goal", "ochre", False, "D")]
    counts = [(words.words, words.line) for words in row_words(axes, side=1)]
    assert counts[:2] == [("8 of 40 (20.0\u00a0%)", at[0]), ("20 of 40 (50.0\u00a0%)", at[1])]
    assert axes.get_xlim() == (0, 100)
    assert hovered(figure.svg()) == list(CLASSES["told"])


def test_without_a_goal_there_is_no_diamond() -> None:
    figure = draw_classes(CLASSES.assign(target=np.nan), axis="%", goal="goal", **NAMED)
    assert marks(figure.canvas.axes[0]) == []
    assert not figure.canvas.legends


def test_newborns_needed_are_bars_from_zero_beside_those_there_were() -> None:
    needed = pd.DataFrame({"label": ["by 20 %", "by 50 %"], "n": [3000, 420]})
    figure = draw_needed(needed, axis="lambs", there=(606.0, "2026: 606"), **NAMED)
    (axes,) = figure.canvas.axes
    assert top_down(axes) == ["by 20 %", "by 50 %"]
    at = [line_of(axes, name) for name in needed["label"]]
    assert [(bar.left, bar.right, bar.middle) for bar in bars(axes)] == [
        (0, 3000, pytest.approx(at[0])),
        (0, 420, pytest.approx(at[1])),
    ]
    (there,) = [spans for _, dashed, spans in beside_rows(axes) if dashed]
    assert list(there) == [606]
    assert texts(axes)["2026: 606"][0] == 606
    assert axes.get_xlim()[0] == 0
    assert [words.words for words in row_words(axes, side=1)] == ["3\u202f000", "420"]
    assert hovered(figure.svg()) == ["by 20 %: 3\u202f000", "by 50 %: 420"]


def test_bars_of_neighbouring_rows_do_not_touch() -> None:
    classes = draw_classes(CLASSES, axis="%", goal="goal", **NAMED).canvas.axes
    milestones = draw_milestones(MILESTONES, PARTS, axis="newborns", **NAMED).canvas.axes
    causes = draw_causes(CAUSES, axis="%", words=("", ""), **NAMED).canvas.axes
    for (axes,) in (classes, milestones, causes):
        spans = sorted({(bar.low, bar.high) for bar in bars(axes)})
        assert len(spans) > 1
        assert all(below[0] - above[1] > 10 for above, below in pairwise(spans))  # room for a line of words
        assert all(high - low > 5 for low, high in spans)
