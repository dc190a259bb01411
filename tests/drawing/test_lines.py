"""Pictures are tested by reading what was drawn, not by pixels."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from neonatal_stats.drawing.ages import solid_until, steps, thinned, watched_at
from neonatal_stats.drawing.curves import draw_incidence, draw_loss
from neonatal_stats.drawing.lettering import in_lines as wrapped
from neonatal_stats.drawing.lettering import moved_apart, width_pt
from neonatal_stats.measures.curves import as_lost
from neonatal_stats.tables import Printer

CURVE = pd.DataFrame(
    {
        "age_h": [2.0, 6.0, 30.0, 100.0, 200.0],
        "at_risk": [11.0, 10.0, 8.0, 7.0, 6.0],
        "share": [10 / 11, 8 / 11, 7 / 11, 7 / 11, 35 / 66],
        "low": [0.6, 0.4, 0.3, 0.3, 0.2],
        "high": [0.99, 0.9, 0.85, 0.85, 0.8],
    }
)
WORDS: dict[str, Any] = {
    "printer": Printer(),
    "name": "a-b",
    "title": "t",
    "alt": "a",
    "age_axes": ("hours", "days"),
    "at_risk": "watched",
}


def test_a_curve_is_drawn_from_birth_and_stops_with_the_watching() -> None:
    ages, share = steps(CURVE, "share", 1.0, 1008.0)
    assert ages.tolist() == [0, 2, 6, 30, 100, 200, 200]
    assert share.tolist() == pytest.approx([1, 10 / 11, 8 / 11, 7 / 11, 7 / 11, 35 / 66, 35 / 66])
    assert steps(CURVE, "share", 1.0, 72.0)[0][-1] == 72


@pytest.mark.parametrize(("age_h", "watched"), [(0, 11), (2, 11), (3, 10), (72, 7), (200, 6), (201, 0)])
def test_numbers_below_are_those_watched_just_before(age_h: float, watched: int) -> None:
    assert watched_at(CURVE, age_h) == watched


@pytest.mark.parametrize(
    ("at_risk", "until"), [([11, 10, 8, 7, 6], 6), ([900, 90, 89, 80, 70], 6), ([9, 8, 7, 6, 5], 0)]
)
def test_a_line_is_solid_where_ten_and_a_tenth_are_watched(at_risk: list[int], until: float) -> None:
    assert solid_until(CURVE.assign(at_risk=np.array(at_risk, float))) == until


@given(st.lists(st.floats(0, 100), min_size=2, max_size=60), st.floats(0.1, 10))
def test_a_thinned_line_is_nowhere_further_off_than_the_eye_sees(moments: list[float], finest: float) -> None:
    ages = np.sort(np.array(moments))
    height = np.arange(len(ages)) // 2 / len(ages)
    fewer, (kept,) = thinned(ages, [height], finest)
    assert (fewer[0], fewer[-1]) == (ages[0], ages[-1])
    assert set(zip(fewer, kept, strict=True)) <= set(zip(ages, height, strict=True))
    assert len(fewer) <= (ages[-1] - ages[0]) / finest + 3
    for age in ages:
        shown = kept[np.flatnonzero(fewer <= age)[-1]]
        late = np.flatnonzero(ages <= age - finest)
        lowest = height[late[-1]] if len(late) else height[0]
        assert lowest <= shown <= height[np.flatnonzero(ages <= age)[-1]]


def test_loss_figure() -> None:
    lost = as_lost(CURVE)
    twins = lost.assign(share=lost["share"] * 1.1, high=lost["high"] * 1.1)
    figure = draw_loss(
        [("single", lost), ("twin", twins)], follow_up_h=1008, marks_h=[24, 168], axis="lost, %", **WORDS
    )
    early, late = figure.canvas.axes
    assert early.get_xlim() == (0, 72)
    assert late.get_xlim() == (0, 1008)
    assert early.get_ylim()[0] == 0
    assert early.get_title(loc="left") == "lost, %"
    texts = {text.get_text() for text in (*early.texts, *late.texts)}
    assert {"single", "twin", "watched", "11"} <= texts


def test_stacked_causes_reach_the_total() -> None:
    one = as_lost(CURVE)
    figure = draw_incidence(
        [("infection", "a", one), ("other", "b", one.assign(share=0.1))],
        causes=["infection", "other"],
        follow_up_h=1008,
        marks_h=[],
        axis="%",
        **WORDS,
    )
    line, _ = figure.canvas.axes[0].lines
    assert np.asarray(line.get_ydata())[1] == pytest.approx(1 / 11 + 0.1)


def test_words_go_on_in_another_line_where_they_have_no_room() -> None:
    words = "lost by 42 d, % of the lambs born alive and watched"
    broken = wrapped(words, 100.0)
    assert broken.replace("\n", " ") == words
    assert max(width_pt(line) for line in broken.split("\n")) <= 100
    assert wrapped(words, 1000.0) == words


@given(st.lists(st.floats(0, 1), min_size=1, max_size=9))
def test_labels_are_moved_apart_in_order(heights: list[float]) -> None:
    placed = moved_apart(heights, 0.1, 0.0, 1.0)
    order = sorted(range(len(heights)), key=lambda place: (heights[place], place))
    assert all(placed[b] - placed[a] >= 0.1 - 1e-9 for a, b in pairwise(order))
    assert min(placed) >= -1e-9
    assert max(placed) <= 1 + 1e-9


def test_two_drawings_are_the_same_bytes_and_ids_belong_to_the_figure() -> None:
    first, second = (
        draw_loss([("all", as_lost(CURVE))], follow_up_h=1008, marks_h=[], axis="%", **WORDS)
        for _ in range(2)
    )
    assert first.svg() == second.svg()
    assert first.png() == second.png()
    ids = re.findall(r'\bid="([^"]+)"', first.svg())
    assert ids
    assert all(one.startswith("a-b-") for one in ids)
    assert "<dc:date>" not in first.svg()
