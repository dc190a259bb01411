"""Deaths on the calendar: bars by day on one scale, what was to be expected, and the day on which they rose."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from neonatal_stats.drawing.on_the_calendar import Rose, draw_days
from neonatal_stats.tables import Printer
from tests.drawing.drawn import across, bars, lines
from tests.drawing.svg_text import cut, hovered, overlapping

NAMED: dict[str, Any] = {
    "printer": Printer(), "name": "f", "title": "t", "alt": "a", "axis": "day of death", "look": ("#1b4f72", "////"),
    "words": ("infection", "other causes", "expected"),
}  # fmt: skip
ROSE = Rose(2, 1, 3, 0, "rose from 4 Mar (3 Mar to 5 Mar)")


def panel(events: list[int], others: list[int], days: int = 5) -> pd.DataFrame:
    labels = [f"{day + 2} Mar" for day in range(days)]
    return pd.DataFrame({"label": labels, "events": events, "others": others, "expected": [0.5] * days})


CROFT, TOP = panel([0, 0, 3, 5, 1], [1, 0, 0, 1, 0]), panel([0, 1, 0, 0, 0], [0, 0, 0, 2, 0])


def test_bars_stand_at_their_days_the_other_causes_on_top() -> None:
    croft, top = draw_days([("Croft", CROFT), ("Top", TOP)], rose=ROSE, **NAMED).canvas.axes
    own = [
        (round((bar.left + bar.right) / 2), bar.low, bar.high, bar.hatch) for bar in bars(croft) if bar.hatch
    ]
    assert own == [(2, 0, 3, "////"), (3, 0, 5, "////"), (4, 0, 1, "////")]
    pale = [(round((bar.left + bar.right) / 2), bar.low, bar.high) for bar in bars(top) if not bar.hatch]
    assert pale == [(3, 0, 2)]
    stacked = [(bar.low, bar.high) for bar in bars(croft) if bar.colour == "grey"]
    assert stacked == [(0, 1), (5, 6)]


def test_all_places_have_one_scale_and_what_was_expected() -> None:
    croft, top = draw_days([("Croft", CROFT), ("Top", TOP)], rose=ROSE, **NAMED).canvas.axes
    assert croft.get_ylim() == top.get_ylim()
    assert croft.get_ylim()[1] >= 6
    for axes in (croft, top):
        assert any(line.dashed and set(line.y) == {0.5} for line in lines(axes))
    assert (croft.get_title(loc="left"), top.get_title(loc="left")) == ("Croft", "Top")


def test_the_rise_stands_where_it_is_said_to_be_and_nowhere_else() -> None:
    croft, top = draw_days([("Croft", CROFT), ("Top", TOP)], rose=ROSE, **NAMED).canvas.axes
    assert across(croft)[0] == [1.5]
    assert across(top)[0] == []
    everywhere = Rose(2, 1, 3, None, "rose from 4 Mar (3 Mar to 5 Mar)")
    both = draw_days([("Croft", CROFT), ("Top", TOP)], rose=everywhere, **NAMED).canvas.axes
    assert [across(axes)[0] for axes in both] == [[1.5], [1.5]]


def test_each_bar_tells_its_place_day_and_counts() -> None:
    told = hovered(draw_days([("Croft", CROFT), ("Top", TOP)], rose=ROSE, **NAMED).svg())
    assert "Croft, 5 Mar: 5 (0.5)" in told
    assert "Croft, 5 Mar: 5 (0.5) + 1" in told
    assert ROSE.words in told


@pytest.mark.parametrize("days", [1, 12, 60])
@pytest.mark.parametrize("places", [1, 5])
def test_however_many_days_and_places_no_words_meet(days: int, places: int) -> None:
    frame = panel([1] * days, [0] * days, days)
    long = ("Verhungern-Verwaisung-Unterkühlung", "andere Ursachen", "erwartet")
    named = {**NAMED, "words": long, "axis": "Todestag, ein Balken je 2 Tage"}
    figure = draw_days([(f"Bucht {n}", frame) for n in range(places)], rose=None, **named)
    assert (cut(figure.svg()), overlapping(figure.svg())) == ([], [])
