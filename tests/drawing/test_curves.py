"""Curves over age: whole, counted up from none, stacked where they are parts, with the numbers watched below."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.colors import to_hex

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.colours import CAUSE_LOOKS
from neonatal_stats.drawing.curves import draw_incidence, draw_loss
from neonatal_stats.tables import Printer
from tests.drawing.drawn import (
    above,
    across,
    bands,
    colour,
    height_at,
    lines,
    reach,
    solid,
    step_lines,
    texts,
    words_at,
)

WORDS: dict[str, Any] = {
    "printer": Printer(),
    "name": "f",
    "title": "t",
    "alt": "a",
    "age_axes": ("age, hours", "age, days"),
    "at_risk": "watched",
}


def curve(*shares: float) -> pd.DataFrame:
    """A curve over 1 000 hours that was watched to its end."""
    share = np.array(shares)
    return pd.DataFrame(
        {
            "age_h": [10.0, 50.0, 200.0, 1000.0],
            "at_risk": [20.0, 18.0, 15.0, 10.0],
            "share": share,
            "low": share - 0.03,
            "high": share + 0.06,
        }
    )


SINGLE, TWIN = curve(0.05, 0.10, 0.20, 0.25), curve(0.10, 0.20, 0.40, 0.50)


def _loss(*curves: tuple[str, pd.DataFrame], follow_up_h: float = 1000.0, **more: Any) -> Figure:
    return draw_loss(curves, follow_up_h=follow_up_h, marks_h=[24.0, 168.0], axis="lost, %", **WORDS, **more)


def test_a_curve_stands_at_its_share_from_birth_to_the_end_in_both_panels() -> None:
    for panel, until_h in zip(_loss(("all", SINGLE)).canvas.axes, (72, 1000), strict=True):
        (line,) = step_lines(panel)
        shown = [(age, share) for age, share in ((0, 0), (9, 0), (11, 0.05), (60, 0.1)) if age <= until_h]
        later = [(199, 0.1), (201, 0.2), (999, 0.2), (1000, 0.25)] if until_h == 1000 else []
        assert [height_at(line, age) for age, _ in (*shown, *later)] == [
            share for _, share in (*shown, *later)
        ]
        assert (min(line.get_xdata()), max(line.get_xdata())) == (0, until_h)
        assert panel.get_xlim() == (0, until_h)
        assert solid(line)


def test_one_curve_has_its_interval_as_a_band() -> None:
    for panel in _loss(("all", SINGLE)).canvas.axes:
        (band,) = bands(panel)
        assert reach(band, 5) == (0, 0)
        assert reach(band, 30) == pytest.approx((0.02, 0.11))
        assert reach(band, 60) == pytest.approx((0.07, 0.16))
        assert colour(band.get_facecolor()[0]) == "blue"
        assert lines(panel)[0].colour == "blue"


def _whiskers(panel: Any) -> list[Any]:
    return [line for line in lines(panel) if len(line.x) == 2 and line.x[0] == line.x[1]]


def test_several_curves_have_whiskers_at_the_ages_named_each_at_its_own_heights() -> None:
    _, late = _loss(("single", SINGLE), ("twin", TWIN)).canvas.axes
    single, twin = step_lines(late)
    assert (height_at(single, 500), height_at(twin, 500)) == (0.2, 0.4)
    assert [colour(line.get_color()) for line in (single, twin)] == ["blue", "ochre"]
    assert single.get_linestyle() != twin.get_linestyle()
    assert [(line.y, line.colour) for line in _whiskers(late)] == [
        (pytest.approx([0.07, 0.16]), "blue"),
        (pytest.approx([0.22, 0.31]), "blue"),
        (pytest.approx([0.17, 0.26]), "ochre"),
        (pytest.approx([0.47, 0.56]), "ochre"),
    ]
    assert [round(line.x[0]) for line in _whiskers(late)] == [
        135,
        967,
        157,
        989,
    ]  # before 168 and 1 000 hours, side by side
    assert bands(late) == []


def test_the_season_under_review_is_thick_in_ink_and_in_its_band_the_others_grey() -> None:
    later = curve(0.02, 0.08, 0.10, 0.15)
    figure = _loss(("2024", SINGLE), ("2025", TWIN), ("2026", later), reviewed="2026")
    _, late = figure.canvas.axes
    looks = [(colour(line.get_color()), line.get_linewidth()) for line in step_lines(late)]
    assert [shade for shade, _ in looks] == ["grey", "grey", "ink"]
    assert looks[2][1] > 1.5 * max(looks[0][1], looks[1][1])
    assert step_lines(late)[0].get_linestyle() != step_lines(late)[1].get_linestyle()
    assert [height_at(line, 500) for line in step_lines(late)] == [0.2, 0.4, 0.1]
    (band,) = bands(late)
    assert reach(band, 500) == pytest.approx((0.07, 0.16))
    assert [(line.y, line.colour) for line in _whiskers(late)] == [
        (pytest.approx([0.22, 0.31]), "grey"),
        (pytest.approx([0.47, 0.56]), "grey"),
    ]
    bold = {text.get_text() for text in late.texts if text.get_fontweight() == "bold"}
    assert bold == {"2026"}


def test_each_curves_name_stands_at_its_end_and_the_numbers_watched_under_their_ages() -> None:
    few = TWIN.assign(at_risk=[19.0, 18, 17, 16])
    early, late = _loss(("single", SINGLE), ("twin", few)).canvas.axes
    ends = [(words, x, y) for words, x, y in words_at(late) if words in ("single", "twin")]
    assert sorted(ends) == [
        ("single", 1000, 0),
        ("single", 1000, 0.25),
        ("twin", 1000, 0),
        ("twin", 1000, 0.5),
    ]
    below = [(words, age) for words, age, _ in words_at(early) if words != "watched"]
    first = list(zip(("20", "18", "18", "15"), (0, 24, 48, 72), strict=True))
    second = list(zip(("19", "18", "18", "17"), (0, 24, 48, 72), strict=True))
    assert below == [*first, *second]
    assert [age for words, age, _ in words_at(late) if words == "10"] == [336, 672, 984]
    assert "watched" in texts(early)


def test_numbers_watched_do_not_touch() -> None:
    many = SINGLE.assign(at_risk=[1234567.0, 1234567, 1234567, 1234567])
    figure = _loss(("all", many))
    figure.canvas.draw_without_rendering()
    for panel in figure.canvas.axes:
        written = Printer().count(1234567)
        boxes = [text.get_window_extent() for text in panel.texts if text.get_text() == written]
        assert 1 <= len(boxes) < len(panel.get_xticks())
        for left, right in pairwise(sorted(boxes, key=lambda box: box.x0)):
            assert left.x1 < right.x0


def test_ages_are_hours_first_and_days_after() -> None:
    early, late = _loss(("all", SINGLE)).canvas.axes
    assert (early.get_xlabel(), late.get_xlabel()) == ("age, hours", "age, days")
    assert [(tick, x.get_text()) for tick, x in zip(early.get_xticks(), early.get_xticklabels(), strict=True)] == [
        (0, "0"), (24, "24"), (48, "48"), (72, "72")
    ]  # fmt: skip
    said = {x.get_text(): tick for tick, x in zip(late.get_xticks(), late.get_xticklabels(), strict=True)}
    assert said == {str(day): 24.0 * day for day in (0, 14, 28, 41)}
    assert across(early)[0] == [24]
    assert across(late)[0] == [168]


def test_a_short_watch_has_one_panel() -> None:
    (panel,) = _loss(("all", SINGLE), follow_up_h=48).canvas.axes
    assert panel.get_xlim() == (0, 48)
    assert panel.get_xticks().tolist() == [0, 24, 48]
    assert panel.get_xlabel() == "age, hours"
    assert height_at(step_lines(panel)[0], 48) == 0.05


@pytest.mark.parametrize(("follow_up_h", "panels"), [(48, 1), (72, 1), (96, 2)])
def test_a_watch_of_three_days_or_less_has_one_panel(follow_up_h: float, panels: int) -> None:
    axes = _loss(("all", SINGLE), follow_up_h=follow_up_h).canvas.axes
    assert len(axes) == panels
    assert axes[-1].get_xlim() == (0, follow_up_h)


def test_shares_are_read_in_percent_and_counted_up_from_none() -> None:
    early, late = _loss(("all", curve(0.05, 0.1, 0.16, 0.22))).canvas.axes
    assert [early.yaxis.get_major_formatter()(share) for share in (0, 0.05, 1)] == ["0", "5", "100"]
    assert height_at(step_lines(early)[0], 0) == height_at(step_lines(early)[0], 5) == 0
    assert height_at(step_lines(late)[0], 500) == 0.16
    assert (early.get_ylim(), above(early)) == ((0, pytest.approx(0.3)), "lost, %")


def test_watching_that_ends_ends_the_line() -> None:
    _, late = _loss(("all", SINGLE.assign(at_risk=[20, 18, 15, 0]))).canvas.axes
    assert max(step_lines(late)[0].get_xdata()) == 200


def test_nothing_is_solid_where_fewer_than_ten_or_a_tenth_are_watched() -> None:
    for at_risk in ([20.0, 18, 9, 5], [900.0, 700, 89, 60]):
        _, late = _loss(("all", SINGLE.assign(at_risk=at_risk))).canvas.axes
        whole, rest = step_lines(late)
        assert (solid(whole), max(whole.get_xdata())) == (True, 50)
        assert (solid(rest), min(rest.get_xdata()), max(rest.get_xdata())) == (False, 50, 1000)
        assert height_at(rest, 500) == 0.2
        assert rest.get_linewidth() < whole.get_linewidth()


def test_a_line_of_few_sets_no_scale_with_its_interval() -> None:
    wide = SINGLE.assign(at_risk=[20.0, 18, 9, 5], high=[0.11, 0.16, 0.9, 0.95])
    early, _ = _loss(("all", wide)).canvas.axes
    assert early.get_ylim() == (0, pytest.approx(0.3))


def test_a_group_too_small_to_draw_is_written_in_its_row() -> None:
    words = "too few: 10 lambs of 3 litters"
    figure = _loss(("single", SINGLE), ("twin", TWIN), too_few=[("four or more", words)])
    early, late = figure.canvas.axes
    assert len(step_lines(late)) == 2
    assert {words, "four or more"} <= set(texts(early)) | set(texts(late))
    figure.canvas.draw_without_rendering()
    rows = {t.get_text(): t.get_window_extent() for panel in (early, late) for t in panel.texts}
    assert abs(rows[words].y1 - rows["four or more"].y1) < 5
    assert rows[words].y1 < rows["twin"].y1
    assert rows[words].x1 < rows["four or more"].x0


def test_a_line_tells_its_values_and_a_whisker_its_own() -> None:
    svg = _loss(("single", SINGLE), ("twin", TWIN)).svg()
    assert (
        "single: 24\u00a0h 5.0\u00a0% (2.0 to 11.0\u00a0%); 7\u00a0d 10.0\u00a0% (7.0 to 16.0\u00a0%); "
        in svg
    )
    assert "<title>twin: 7\u00a0d 20.0\u00a0% (17.0 to 26.0\u00a0%)</title>" in svg


CHILL, CRUSHED, UNKNOWN = (
    curve(*x) for x in ((0.02, 0.03, 0.06, 0.10), (0.04, 0.05, 0.05, 0.06), (0, 0, 0.02, 0.04))
)
LAYERS = [("infection", "chill", CHILL), ("accident", "crushed", CRUSHED), ("unknown", "not known", UNKNOWN)]


def _causes(layers: list[tuple[str, str, pd.DataFrame]] = LAYERS) -> Figure:
    return draw_incidence(
        layers, causes=list(CAUSE_LOOKS), follow_up_h=1000, marks_h=[24.0], axis="lost", **WORDS
    )


def test_causes_lie_on_top_of_each_other_in_order_up_to_the_line_of_all() -> None:
    early, late = _causes().canvas.axes
    for panel, age, edges in (
        (early, 5, [0, 0, 0, 0]),
        (early, 30, [0, 0.02, 0.06, 0.06]),
        (late, 100, [0, 0.03, 0.08, 0.08]),
        (late, 500, [0, 0.06, 0.11, 0.13]),
    ):
        for band, ends in zip(bands(panel), pairwise(edges), strict=True):
            assert reach(band, age) == pytest.approx(ends)
        (total,) = step_lines(panel)
        assert height_at(total, age) == pytest.approx(edges[-1])
    assert height_at(step_lines(late)[0], 1000) == pytest.approx(0.2)
    assert early.get_ylim() == (0, pytest.approx(0.25))
    assert texts(early)["20"] == (0, 0)


def test_a_cause_has_its_colour_and_hatching_whatever_its_rank() -> None:
    for layers in (LAYERS, LAYERS[::-1]):
        bands_of = dict(
            zip((cause for cause, _, _ in layers), bands(_causes(layers).canvas.axes[1]), strict=True)
        )
        for cause, band in bands_of.items():
            tint, hatch = CAUSE_LOOKS[cause]
            assert (to_hex(band.get_facecolor()[0]), band.get_hatch() or "") == (tint, hatch)
    assert [colour(CAUSE_LOOKS[cause][0]) for cause, _, _ in LAYERS] == ["purple", "grey", "grey"]


def test_layers_are_pale_where_few_are_watched() -> None:
    layers = [(cause, name, frame.assign(at_risk=[20.0, 18, 9, 5])) for cause, name, frame in LAYERS]
    _, late = _causes(layers).canvas.axes
    alphas = [(band.get_alpha(), reach(band, 500) if band.get_alpha() < 1 else None) for band in bands(late)]
    assert [alpha for alpha, _ in alphas] == [1, 0.45] * 3
    assert [ends for _, ends in alphas if ends] == [
        pytest.approx(ends) for ends in pairwise([0, 0.06, 0.11, 0.13])
    ]
    assert [solid(line) for line in step_lines(late)] == [True, False]


def test_the_key_names_the_layers_as_they_lie_with_their_share_at_the_end() -> None:
    (key,) = _causes().canvas.legends
    assert [text.get_text() for text in key.get_texts()] == [
        "not known 4.0\u00a0%",
        "crushed 6.0\u00a0%",
        "chill 10.0\u00a0%",
    ]
    looks = [(to_hex(patch.get_facecolor()), patch.get_hatch()) for patch in key.get_patches()]
    assert looks == [CAUSE_LOOKS[cause] for cause in ("unknown", "accident", "infection")]
