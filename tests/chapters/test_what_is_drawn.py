"""What the figures of the chapters show, read off the drawing, against counts by hand or the chapter's tables."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest
from matplotlib.axes import Axes

from neonatal_stats.chapters import birth_type, causes, losses
from neonatal_stats.chapters.counted.colostrum_effect import ALL_FROM_BIRTH, ONLY_THOSE_FED
from neonatal_stats.drawing import Figure
from neonatal_stats.report.review import Review
from neonatal_stats.season.settings import Expected
from tests.chapters.build import season
from tests.drawing.drawn import bars, counted_marks, line_of, marks, row_words, top_down


def _figure(review: Review, name: str) -> Figure:
    (figure,) = [figure for figure in review.figures if figure.name == name]
    return figure


def _axes(figure: Figure) -> Axes:
    (axes,) = figure.canvas.axes
    return axes


def _table(review: Review, name: str) -> pd.DataFrame:
    (table,) = [table for table in review.tables if table.name == name]
    return table.frame


def _thirty(**dated: Any) -> list[dict[str, Any]]:
    """Thirty born alive: five lost to infection, three to accidents, two to nobody knows what."""
    rows: list[dict[str, Any]] = [{"dam_id": str(i), "born_alive": "yes"} for i in range(30)]
    for i, cause in enumerate(["infection"] * 5 + ["accident"] * 3 + [None] * 2):
        rows[i] |= {"died": "yes", "cause": cause, **({"died_after_h": 5 + i} if dated else {})}
    return rows


@pytest.mark.parametrize("dated", [{"dated": True}, {}], ids=["ages known", "no age known"])
def test_causes_are_ranked_by_the_share_of_newborns_and_bounded_by_the_unknown(
    dated: dict[str, bool],
) -> None:
    result = causes.answer(season(_thirty(**dated)))
    first = causes.figures(result)[0]
    assert first.name == "causes-ranked"
    axes = _axes(first)
    assert top_down(axes) == ["infection", "accident", "unknown"]
    shares = [bar.right for bar in bars(axes) if bar.left == 0]
    assert shares == pytest.approx([500 / 30, 300 / 30, 200 / 30])
    assert [bar.right for bar in bars(axes) if bar.left > 0] == pytest.approx([700 / 30, 500 / 30])
    assert [words.words for words in row_words(axes, side=1)] == ["5 of 30", "3 of 30", "2 of 30"]
    assert "infection: 5 of 30 born, 16.7\u00a0%" in first.alt
    assert "23.3\u00a0% with all unknown losses" in first.alt
    assert ("by" in axes.get_xlabel()) is bool(dated)


def test_the_flow_draws_each_newborn_that_went_and_says_so(hill_review: Review) -> None:
    figure = _figure(hill_review, "losses-flow")
    table = _table(hill_review, "losses-flow-newborns")
    went = table[["lost", "left", "age_unknown"]].to_numpy().ravel()
    drawn = [n for n, *_ in counted_marks(_axes(figure))]
    assert drawn[-len(went[went > 0]) :] == [n for n in went if n > 0]
    gone = table[["lost", "left", "age_unknown"]].sum(axis=1)
    assert list(table["n"].diff().dropna()) == list(-gone[1:])
    for words in ("born dead: 25", "lost: 23", "not scanned: 9", "scanned but not born: 29"):
        assert f"({words})" in figure.alt


def test_not_scanned_and_not_born_look_like_no_death() -> None:
    rows = [{"dam_id": str(i), "born_alive": "no" if i < 2 else "yes"} for i in range(10)]
    expected = (Expected(dams_put_to_male=14, dams_scanned=12, newborns_scanned=13),)
    axes = _axes(losses.figures(losses.answer(season(rows, expected=expected)))[0])
    assert [(n, filled) for n, _, filled, _ in counted_marks(axes)] == [
        (2, False),  # not scanned
        (2, False),  # no birth recorded
        (2, True),  # lost every lamb
        (3, False),  # scanned but not born
        (2, True),  # born dead
    ]


def test_records_are_drawn_by_what_is_missing_from_zero(hill_review: Review) -> None:
    axes, table = _axes(_figure(hill_review, "records-outcome")), _table(hill_review, "records-outcome")
    assert axes.get_xlim()[0] == 0
    lost = [mark.x for mark in marks(axes) if mark.shape == "v"]
    others = [mark.x for mark in marks(axes) if mark.shape == "o"]
    assert lost == pytest.approx(list(100 * (table["n"] - table["events"]) / table["n"]))
    assert others == pytest.approx(
        list(100 * (table["n_versus"] - table["events_versus"]) / table["n_versus"])
    )


def test_the_sum_of_the_split_comes_first(hill_review: Review) -> None:
    axes, table = _axes(_figure(hill_review, "years-split")), _table(hill_review, "years-terms")
    assert top_down(axes)[0] == "all together"
    whole = table.iloc[-1]
    ends = [bar.left if bar.left < 0 else bar.right for bar in bars(axes)][:2]
    assert ends == pytest.approx([100 * whole["mix_term"], 100 * whole["rate_term"]])


def test_groups_stand_once_with_their_parts_under_them(hill_review: Review) -> None:
    axes = _axes(_figure(hill_review, "birth_type-groups"))
    said = row_words(axes)
    labels = [words.words for words in said if not words.bold]
    assert labels[:4] == ["single", "twin or more", "twin", "triplet"]
    assert [words.indent > 0 for words in said if not words.bold][:4] == [False, False, True, True]
    assert labels.count("single") == labels.count("first litter") == 1
    few = [words for words in row_words(axes, side=1) if words.words.endswith("too few")]
    assert {words.words for words in few} == {"1 of 1, too few", "0 of 1, too few", "0 of 4, too few"}
    assert not {words.line for words in few} & {mark.y for mark in marks(axes)}
    assert axes.get_xlim()[1] < 70


def test_what_simply_comparing_says_is_not_drawn(hill_review: Review) -> None:
    labels = top_down(_axes(_figure(hill_review, "colostrum-effect")))
    assert any(label.startswith("hour by hour") for label in labels)
    assert not any("from birth" in label or "ever fed" in label for label in labels)
    simply = _table(hill_review, "colostrum-simply")
    assert {ALL_FROM_BIRTH, ONLY_THOSE_FED} <= set(simply["how"])


def test_newborns_needed_are_those_of_the_table(hill_review: Review) -> None:
    axes, table = _axes(_figure(hill_review, "planning-needed")), _table(hill_review, "planning-needed")
    assert [bar.right for bar in bars(axes)] == list(table["n"])
    assert "planning-avoidable" not in {figure.name for figure in hill_review.figures}
    assert "planning-avoidable" in {table.name for table in hill_review.tables}


def test_a_group_of_few_litters_is_counted_and_not_drawn() -> None:
    """Twelve twins of six ewes share their luck: they tell no more than six ewes can."""
    rows = [{"dam_id": str(i), "litter_size": 1, "died": "yes" if i % 9 == 0 else "no"} for i in range(90)]
    rows += [{"dam_id": f"t{i // 2}", "litter_size": 2, "died": "yes" if i < 4 else "no"} for i in range(12)]
    axes = _axes(birth_type.figures(birth_type.answer(season(rows)))[0])
    assert "4 of 12, too few" in [words.words for words in row_words(axes, side=1)]
    assert line_of(axes, "single") in {mark.y for mark in marks(axes)}
    assert line_of(axes, "twin") not in {mark.y for mark in marks(axes)}
