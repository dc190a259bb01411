"""Rows down the page: words above their lines, nothing cut, nothing over anything, however long and however many."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.lines import Line2D

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_causes, draw_classes, draw_milestones, draw_needed, draw_terms
from neonatal_stats.drawing.colours import BLUE
from neonatal_stats.drawing.dots import draw_dumbbell, draw_pairs, draw_ranked, draw_rates, draw_ratios
from neonatal_stats.drawing.house import house
from neonatal_stats.drawing.lettering import wide, wrapped
from neonatal_stats.drawing.marks import Went
from neonatal_stats.drawing.rows import ROOM, Panel, Row, down_the_page
from neonatal_stats.drawing.tallies import draw_flow, draw_tally
from neonatal_stats.tables import NumberWords, Printer
from tests.drawing.drawn import beside_rows, row_words
from tests.drawing.svg_text import boxes, cut, overlapping

GERMAN = (
    "Lämmer von Mutterschafen mit ihrem vierten oder einem späteren Wurf",
    "nach berichtigter Fehllage geborene Lämmer",
    "Lämmer mit schwachem oder fehlendem Saugreflex, die auch im untersten Fünftel des Geburtsgewichts liegen",
    "Geburtsverletzungsschwergeburtsauskühlungsverhungerungsnichtannahme",
    "Einling",
)


def _figure(panel: Panel) -> Figure:
    return Figure("f", "t", "a", panel.figure)


def _panel(rows: list[Row], **more: Any) -> Panel:
    with house():
        panel = down_the_page(Printer(), rows, **more)
        panel.axes.set_xlim(0, 100)
        panel.rules()
    return panel


def _many(n: int) -> pd.DataFrame:
    share = np.linspace(0.02, 0.9, n)
    return pd.DataFrame(
        {
            "label": [GERMAN[place % 5] for place in range(n)],
            "heading": [f"Würfe der Mutter {place // 7}" for place in range(n)],
            "depth": [place % 2 for place in range(n)],
            "quiet": [place % 11 == 3 for place in range(n)],
            "events": [123456] * n,
            "n": [1234567] * n,
            "share": share,
            "low": share - 0.02,
            "high": share + 0.1,
        }
    )


@pytest.mark.parametrize("n", [1, 3, 50])
def test_long_german_words_and_many_rows_are_neither_cut_nor_over_each_other(n: int) -> None:
    figure = draw_rates(
        _many(n),
        printer=Printer(),
        name="f",
        title="t",
        alt="a",
        axis="verloren, % der in diesen Stunden von diesen Mutterschafen geborenen Lämmer",
        few="zu wenige",
        average=(0.97, "alle Lämmer zusammen: 97,0 %"),
    )
    assert cut(figure.svg()) == []
    assert overlapping(figure.svg()) == []
    assert min(box.size for box in boxes(figure.svg())) >= 8.5


def test_no_line_of_the_scale_or_average_crosses_words() -> None:
    figure = draw_rates(
        _many(12), printer=Printer(), name="f", title="t", alt="a", axis="%", average=(0.3, "alle")
    )
    figure.svg()
    (axes,) = figure.canvas.axes
    renderer = figure.canvas._get_renderer()  # type: ignore[attr-defined]
    for text in axes.texts:
        box = text.get_window_extent(renderer).transformed(axes.transData.inverted())
        for _, _, spans in beside_rows(axes):
            for place, heights in spans.items():
                for top, foot in heights:
                    inside = box.x0 < place < box.x1 and max(top, box.ymin) < min(foot, box.ymax) - 0.5
                    assert not inside, text.get_text()


def test_words_stand_right_above_their_line_and_the_scale_takes_the_whole_width() -> None:
    panel = _panel([Row("single", "2 of 40"), Row("twin", "9 of 60")], axis="%")
    for box in boxes(_figure(panel).svg()):
        if box.words in ("single", "2 of 40"):
            height = 72 * panel.figure.get_figheight()
            line = height * (1 - panel.axes.get_position().y1) + panel.lines[0]
            assert 3 < line - box.bottom < 9
    place = panel.axes.get_position()
    assert place.x1 - place.x0 > 0.9


def test_a_row_without_a_mark_is_shorter_and_a_part_is_indented() -> None:
    rows = [Row("a"), Row("b", drawn=False), Row("c", depth=1), Row("d", heading="block")]
    panel, drawn = _panel(rows, axis="%"), _panel([Row("a"), Row("b"), Row("c"), Row("d")], axis="%")
    assert panel.lines[2] - panel.lines[0] < drawn.lines[2] - drawn.lines[0] - 5
    assert panel.lines[3] - panel.lines[2] > drawn.lines[3] - drawn.lines[2] + 10
    assert [words.indent for words in row_words(panel.axes) if not words.bold] == [0, 0, 10, 0]


def test_a_panel_whose_rows_draw_nothing_has_no_scale() -> None:
    panel = _panel([Row("a", "too few", drawn=False)], axis="%")
    assert panel.axes.get_xlabel() == ""
    assert list(panel.axes.get_xticks()) == []


@pytest.mark.parametrize("place", [0, 50, 100])
def test_the_name_of_an_average_stays_inside_wherever_the_line_stands(place: float) -> None:
    with house():
        panel = down_the_page(
            Printer(), [Row("a", "1 of 2")], axis="%", named="all lambs of the season: 12.4 %"
        )
        panel.axes.set_xlim(0, 100)
        panel.average(place)
    assert cut(_figure(panel).svg()) == []


@pytest.mark.parametrize("entries", [1, 2, 4, 7])
def test_a_legend_takes_as_many_lines_as_it_needs(entries: int) -> None:
    marks = [(Line2D([], [], color=BLUE), GERMAN[place % 5]) for place in range(entries)]
    panel = _panel([Row("a", "1 of 2")], axis="%", legend=marks, right="of these lost")
    assert cut(_figure(panel).svg()) == []
    assert overlapping(_figure(panel).svg()) == []


WORDS = st.lists(
    st.text(st.characters(codec="latin-1", categories=["L", "N"]), min_size=1, max_size=30), min_size=1
)


@settings(max_examples=50, deadline=None)
@given(WORDS, st.floats(60, 200))
def test_wrapped_words_fit_and_none_is_lost(words: list[str], room: float) -> None:
    lines = wrapped(" ".join(words), room)
    assert all(wide(line) <= room for line in lines)
    assert "".join(lines).replace(" ", "").replace("-", "") == "".join(words)


def test_no_number_stands_alone_on_a_last_line() -> None:
    room = wide("left alive or out of sight:") + 1
    assert wrapped("left alive or out of sight: 7", room) == ["left alive or out of", "sight: 7"]
    assert wrapped("standing by 10\u00a0min", wide("standing by")) == ["standing by", "10\u00a0min"]


def test_the_room_of_a_row_is_what_a_phone_has() -> None:
    """3.5 inches are 252 points; at 336 pixels wide 8.5 points are 11.3 pixels, over the 11 that a page asks."""
    assert 225 < ROOM < 252
    assert 8.5 * 336 / 252 > 11


NAMED: dict[str, Any] = {
    "printer": Printer(NumberWords(of="von", decimal=",")),
    "name": "f",
    "title": "t",
    "alt": "a",
}
AXIS = "verloren, % der in diesen Stunden von diesen Mutterschafen geborenen Lämmer"
LONG = [*GERMAN] * 10


def _frame(**columns: Any) -> pd.DataFrame:
    return pd.DataFrame({"label": LONG, **columns})


def _stress() -> Iterator[tuple[str, Figure]]:
    """Every picture in rows with fifty long German labels and large numbers."""
    share, none = np.linspace(0.0, 0.95, 50), [np.nan] * 50
    limits = {"low": share * 0.8, "high": share * 1.05}
    counts = {"counts": ["1 234 567 von 12 345 678 (10,0 %)"] * 50, "told": ["viele"] * 50}
    yield "ranked", draw_ranked(
        _frame(excess=share, excess_low=-share, excess_high=2 * share, clear=share > 0.5, depth=[0, 1] * 25, **counts),
        axis=AXIS, counts_heading="verloren von allen", words=(GERMAN[0], GERMAN[1]), **NAMED,
    )  # fmt: skip
    yield (
        "ratios",
        draw_ratios(
            _frame(ratio=share + 0.5, low=share, high=share + 9, quiet=share > 0.9),
            axis=AXIS,
            few="zu wenige",
            **NAMED,
        ),
    )
    yield (
        "pairs",
        draw_pairs(_frame(first=share, second=share / 2, **counts), names=GERMAN[:2], axis=AXIS, **NAMED),
    )
    yield "dumbbell", draw_dumbbell(
        _frame(share_a=share, share_b=share / 2, difference=-share / 2, clear=share > 0.5, **counts),
        seasons=("2025", "2026"), axis=AXIS, difference="Differenz in Prozentpunkten", **NAMED,
    )  # fmt: skip
    yield "causes", draw_causes(
        _frame(look=[("#1b4f72", "")] * 50, share=share, highest=share + 0.1, **limits, **counts),
        axis=AXIS, words=GERMAN[:2], **NAMED,
    )  # fmt: skip
    states = {name: [n] * 50 for name, n in (("met", 100000), ("not", 300), ("died", 1), ("unseen", 2100))}
    yield (
        "milestones",
        draw_milestones(
            _frame(**states, **counts), list(zip(states, GERMAN, strict=False)), axis=AXIS, **NAMED
        ),
    )
    terms = _frame(
        mix=share - 0.5, rate=0.5 - share, mix_low=none, mix_high=none, rate_low=none, rate_high=none
    )
    yield "terms", draw_terms(terms, axis=AXIS, words=GERMAN[:2], **NAMED)
    classes = _frame(
        events=[123456] * 50, n=[1234567] * 50, share=share, target=share, told=["viele"] * 50, **limits
    )
    yield "classes", draw_classes(classes, axis=AXIS, goal=GERMAN[2], **NAMED)
    yield "needed", draw_needed(_frame(n=range(50)), axis=AXIS, there=(49.0, GERMAN[0]), **NAMED)
    went = [[Went(f"{label}: 123456", 123456, "lost"), Went("verloren: 7", 7, "left")] for label in LONG]
    yield "flow", draw_flow(
        _frame(n=[1234567] * 50, went=went), _frame(n=[1234567] * 50, went=went),
        headings=("Mutterschafe", "Lämmer"), one_mark="ein Zeichen: 5 000 Tiere", **NAMED,
    )  # fmt: skip
    yield "tally", draw_tally(
        pd.DataFrame([[123456] * 9] * 50), rows=LONG, columns=["tot geboren", *["12 bis 24 h"] * 7, "Alter unbekannt"],
        colours=["#1b4f72"] * 50, one_square="ein Quadrat: 5 000 verlorene Lämmer", **NAMED,
    )  # fmt: skip


@pytest.mark.slow
def test_no_picture_in_rows_cuts_or_overprints_words_however_long_and_many() -> None:
    faults = {name: (cut(figure.svg()), overlapping(figure.svg())) for name, figure in _stress()}
    assert len(faults) == 11
    assert {name: found for name, found in faults.items() if any(found)} == {}
