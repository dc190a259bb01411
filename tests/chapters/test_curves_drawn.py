"""What the chapters' curves and points show, read off the drawing, against counts by hand or the chapter's tables."""

from __future__ import annotations

from typing import Any

import pytest
from matplotlib.colors import to_hex

from neonatal_stats.chapters import causes, colostrum, farms, first_hours, survival, years
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.colours import CAUSE_LOOKS
from neonatal_stats.report.review import Review
from tests.chapters.build import season
from tests.chapters.flocks import flock
from tests.drawing.drawn import above, bands, colour, height_at, marks, solid, step_lines, texts


def _figure(review: Review, name: str) -> Figure:
    (figure,) = [figure for figure in review.figures if figure.name == name]
    return figure


def _litters(size: int, litters: int, lost: int, **more: Any) -> list[dict[str, Any]]:
    """Litters of one size, of which so many newborns die at 10 hours."""
    rows: list[dict[str, Any]] = [
        {"dam_id": f"{size} {litter}", "litter_size": size, "born_alive": "yes", **more}
        for litter in range(litters)
        for _ in range(size)
    ]
    for row in rows[:lost]:
        row |= {"died": "yes", "died_after_h": 10}
    return rows


def test_loss_is_counted_up_and_a_birth_type_of_few_litters_is_written_not_drawn() -> None:
    # 3 of 20 singles and 9 of 30 twins lost; 12 newborns of 3 litters are enough newborns and too few litters
    rows = _litters(1, 20, 3) + _litters(2, 15, 9) + _litters(4, 3, 11)
    result = survival.answer(season(rows))
    assert result.few.astype(object).to_numpy().tolist() == [["four or more", 12, 3]]
    figure = survival.figures(result)[0]
    early, _ = figure.canvas.axes
    assert [height_at(line, 20) for line in step_lines(early)] == pytest.approx([3 / 20, 9 / 30])
    assert [height_at(line, 5) for line in step_lines(early)] == [0, 0]
    assert "too few: 12 lambs of 3 litters" in texts(early)
    assert early.get_ylim()[1] < 0.7  # 11 of 12 set no scale
    assert above(early) == "lost, % of lambs born alive"
    assert figure.alt.index("twin 30.0") < figure.alt.index("single 15.0")
    assert "four or more" not in figure.alt


def test_the_curve_of_the_demo_season_is_dotted_where_a_tenth_is_watched(hill_review: Review) -> None:
    _, late = _figure(hill_review, "survival-total-loss").canvas.axes
    whole, rest = step_lines(late)
    assert [solid(whole), solid(rest)] == [True, False]
    (table,) = [one for one in hill_review.tables if one.name == "survival-ages"]
    born = 606  # in the curve of all born; a tenth of them is 61
    assert whole.get_xdata()[-1] < 35 * 24
    watched = table.frame[table.frame["birth_type"] == "all"].set_index("age_h")["watched"]
    assert watched[35 * 24] < born / 10


def test_the_causes_of_the_demo_lie_as_the_table_has_them(hill_review: Review) -> None:
    figure = _figure(hill_review, "causes-incidence")
    (table,) = [one for one in hill_review.tables if one.name == "causes-losses"]
    (key,) = figure.canvas.legends
    voice = hill_review.voice
    rows = list(zip(table.frame["cause"].astype(str), table.frame["at_end"], strict=True))
    assert [text.get_text() for text in key.get_texts()] == [
        f"{cause} {voice.percent(share)}" for cause, share in rows[::-1]
    ]
    looks = [(to_hex(patch.get_facecolor()), patch.get_hatch() or "") for patch in key.get_patches()]
    assert looks == [CAUSE_LOOKS[cause] for cause, _ in rows[::-1]]
    early, late = figure.canvas.axes
    whole = float(table.frame["at_end"].sum())
    assert height_at(step_lines(late)[-1], 35 * 24) == pytest.approx(whole)
    assert f"By 35\u00a0d {voice.percent(whole)} of the lambs born had been lost" in figure.alt
    assert height_at(step_lines(early)[0], 0) == pytest.approx(
        25 / 605
    )  # born dead, of those whose age is known


def test_a_farms_own_cause_is_drawn_with_a_look_of_its_own() -> None:
    rows: list[dict[str, Any]] = [{"dam_id": str(i), "born_alive": "yes"} for i in range(30)]
    for i, cause in enumerate(["infection"] * 5 + ["fox"] * 4):
        rows[i] |= {"died": "yes", "cause": cause, "died_after_h": 5.0 + i}
    result = causes.answer(season(rows, causes=("stillbirth", "infection", "fox", "unknown")))
    (stacked,) = [figure for figure in causes.figures(result) if figure.name == "causes-incidence"]
    infection, fox = bands(stacked.canvas.axes[0])
    looks = [(to_hex(band.get_facecolor()[0]), band.get_hatch() or "") for band in (infection, fox)]
    assert looks[0] == CAUSE_LOOKS["infection"]
    assert looks[1] not in CAUSE_LOOKS.values()


def test_each_time_is_drawn_in_one_place(hill_review: Review) -> None:
    standing = _figure(hill_review, "first_hours-times")
    (axes,) = standing.canvas.axes
    assert "standing" in texts(axes)
    assert "fed" not in texts(axes)
    assert standing.title == "When lambs stood"
    (axes,) = _figure(hill_review, "colostrum-timing").canvas.axes
    assert "fed" in texts(axes)
    (table,) = [one for one in hill_review.tables if one.name == "colostrum-timing"]
    (line,) = step_lines(axes)
    for row in table.frame.to_dict("records"):
        assert height_at(line, row["age_h"]) == pytest.approx(100 * row["share"])


def test_where_only_feeds_were_timed_the_first_hours_draw_no_curve_of_all() -> None:
    rows = [
        {"dam_id": str(i), "litter_size": 1, "born_alive": "yes", "fed_after_min": 30 + i} for i in range(20)
    ]
    one = season(rows)
    names = [figure.name for figure in first_hours.figures(first_hours.answer(one))]
    assert names == ["first_hours-milestones"]
    assert "colostrum-timing" in [figure.name for figure in colostrum.figures(colostrum.answer(one))]


def _seasons(**sizes: tuple[int, int]) -> years.Years:
    rows: list[dict[str, Any]] = []
    for name, (lost, n) in sizes.items():
        block = flock([({}, lost, n)], season=name[1:])
        rows += [row | ({"died_after_h": 10} if row.get("died") == "yes" else {}) for row in block]
    return years.answer(season(rows))


def test_the_season_under_review_is_in_ink_and_one_of_few_births_is_written() -> None:
    result = _seasons(s2023=(10, 100), s2024=(3, 6), s2025=(12, 100), s2026=(5, 100))
    figures = {figure.name: figure for figure in years.figures(result)}
    chart = marks(figures["years-chart"].canvas.axes[0])
    assert [mark.colour for mark in chart if mark.shape == "o"] == ["grey", "grey", "grey", "ink"]
    early, _ = figures["years-survival"].canvas.axes
    drawn = {colour(line.get_color()): height_at(line, 20) for line in step_lines(early)}
    assert drawn == {"grey": pytest.approx(0.12), "ink": pytest.approx(0.05)}
    assert len(step_lines(early)) == 3
    assert "too few: 6 lambs of 6 litters" in texts(early)
    assert "2026 5 of 100 (5.0" in figures["years-chart"].alt


def test_the_funnel_is_told_by_who_lies_outside() -> None:
    rows: list[dict[str, Any]] = []
    for name, lost in {"Brook": 10, "Dale": 9, "Fell": 10, "Heath": 11, "Crag": 45}.items():
        rows += [row | {"dam_id": f"{name} {row['dam_id']}"} for row in flock([({}, lost, 100)], farm=name)]
    result = farms.answer(season(rows, own_farm="Fell"))
    found = result.funnel.farms.set_index("events")["letter"]
    assert (result.funnel.farms["standardised"] > result.funnel.farms["funnel_high"]).sum() == 1
    (figure,) = farms.figures(result)
    (own,) = result.funnel.farms.loc[result.funnel.farms["own"], "letter"]
    assert f"outside the limits at their size: {found[45]} 45.0" in figure.alt
    assert f"Your farm: {own} 10.0" in figure.alt
    written = set(texts(figure.canvas.axes[0]))
    assert {found[45], f"{own}, your farm"} <= written
    assert not {found[9], found[11]} & written
