"""Groups that are empty: samples of which none is surely in time, mobs of which any of the counts was not written."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import combinations_with_replacement, product
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats import Settings, read_season
from neonatal_stats.chapters import colostrum, examinations
from neonatal_stats.chapters import mobs as by_mob
from neonatal_stats.measures.mobs import BY_CLASS, by_class, with_stages
from neonatal_stats.report.page import page_html
from neonatal_stats.report.review import build
from neonatal_stats.season.model import Season
from neonatal_stats.tables import printed
from neonatal_stats.vocabulary.columns import MOBS
from tests.thinned import EVERY_FORM, thinned

NOT_A_NUMBER = re.compile(r"\b(nan|inf|None|NaT|<NA>)\b")
MEASURES: dict[str, tuple[float | str, ...]] = {
    "igg_g_per_l": (9.0, 13.0, 26.0),
    "total_protein_g_per_dl": (4.8, 5.5, 6.4),
    "brix_pct": (7.5, 8.7, 9.6),
    "turbidity": ("failed", "partial", "adequate"),
}
BORN = "2026-03-01"
DRAWN: dict[str, dict[str, Any]] = {
    "in time": {"born_at": f"{BORN} 06:00", "sampled_at": "2026-03-02 12:00"},
    "perhaps in time": {"born_on": BORN, "sampled_at": "2026-03-02"},
    "too early": {"born_at": f"{BORN} 06:00", "sampled_at": f"{BORN} 09:00"},
    "too late": {"born_at": f"{BORN} 06:00", "sampled_at": "2026-03-20 09:00"},
    "no age": {"sampled_at": "2026-03-02"},
}


def all_said(chapter: Any, season: Season, *, written_out: bool = True) -> str:
    """Everything that a chapter makes of a season, as text: sentences, tables, figures (``written_out`` as pictures
    too), headlines.
    """
    result = chapter.answer(season)
    tables, figures = chapter.tables(result), chapter.figures(result)
    extra = [getattr(chapter, name)(result) for name in ("glance", "headlines") if hasattr(chapter, name)]
    told = [one.text for one in chapter.sentences(result)]
    told += [f"{table.title} {table.note} {printed(table).to_csv(sep='|')}" for table in tables]
    told += [f"{figure.title} {figure.alt} {figure.svg() if written_out else ''}" for figure in figures]
    told += [f"{line.label} {line.printed}" for lines in extra for line in lines]
    chapter.method(result)
    return " ".join(told)


def bloods(species: str, measure: str, drawn: Sequence[str]) -> list[dict[str, Any]]:
    return [
        {"newborn_id": f"N{n}", "species": species, measure: MEASURES[measure][n % 3], **DRAWN[when]}
        for n, when in enumerate(drawn)
    ]


@pytest.mark.parametrize(
    ("species", "measure", "turn"),
    [(*both, turn) for turn, both in enumerate(product(["cattle", "sheep", "goat"], MEASURES))],
)
def test_however_the_samples_were_drawn_the_chapter_answers(species: str, measure: str, turn: int) -> None:
    """Every mix of two samples, each drawn surely in time, perhaps, too early, too late, or at no known age.

    Of the fifteen mixes each species and measure has one in three, in their turn: all of them four times over.
    """
    mixes = list(combinations_with_replacement(DRAWN, 2))
    for drawn in thinned(mixes[turn % 3 :] + mixes[: turn % 3], 3):
        season = read_season({"samples": pd.DataFrame(bloods(species, measure, drawn))})
        text = all_said(colostrum, season)
        assert not NOT_A_NUMBER.search(text), (drawn, NOT_A_NUMBER.search(text))


@pytest.mark.usefixtures("undrawn")
@pytest.mark.parametrize("drawn", [*((when,) for when in DRAWN), ("in time", "perhaps in time")])
def test_beside_births_the_rest_of_the_review_stands_whatever_the_samples_are(drawn: tuple[str, ...]) -> None:
    births = [
        {"newborn_id": f"N{n}", "species": "cattle", "dam_id": f"D{n}", "born_on": BORN, "died": "no"}
        for n in range(3)
    ]
    samples = [
        {name: cell for name, cell in row.items() if name != "species" and not name.startswith("born")}
        for row in bloods("cattle", "brix_pct", drawn)
    ]
    review = build(read_season({"births": pd.DataFrame(births), "samples": pd.DataFrame(samples)}))
    assert next(one for one in review.sections if one.name == "colostrum").open
    assert "passive transfer" in page_html(review).lower()


def test_with_no_sample_classed_nothing_is_called_absorbed_and_the_bounds_are_told() -> None:
    season = read_season({"samples": pd.DataFrame(bloods("cattle", "brix_pct", ["perhaps in time"] * 3))})
    result = colostrum.answer(season)
    assert colostrum.glance(result) == ()
    classes = next(one for one in colostrum.tables(result) if one.name == "colostrum-transfer-brix")
    assert classes.frame["group"].tolist() == ["excellent", "good", "fair", "poor"]
    assert classes.frame["share"].isna().all()
    assert any("whichever of them belong there" in one.text for one in colostrum.sentences(result))


# Mobs: each documented column may lack.

COUNTS = {
    "joined": 100, "scanned": 100, "scanned_dry": 5, "scanned_single": 60, "scanned_twin": 30, "scanned_triplet": 5,
    "foetuses": 135, "born": 130, "born_dead": 4, "marked": 115, "weaned": 112, "dams_died": 2,
}  # fmt: skip
"""One mob of each column that counts, in numbers that fit one another."""
WORDS = {
    "joined_on": "2025-10-01", "scanned_on": "2026-01-10", "marked_on": "2026-04-20", "weaned_on": "2026-06-20",
    "farm": "Top", "species": "sheep", "mob": "Hill", "season": "2026", "remarks": "wet spring",
}  # fmt: skip


def test_every_column_of_mobs_is_among_those_that_may_lack() -> None:
    assert {one.name for one in MOBS} == {*COUNTS, *WORDS}


def written(names: Sequence[str], n: int) -> pd.DataFrame:
    """So many mobs, each a little smaller than the one before, of two seasons, with these columns alone."""
    rows = []
    for place in range(n):
        row: dict[str, Any] = {name: max(0, count - place * (count > 50)) for name, count in COUNTS.items()}
        row |= {**WORDS, "mob": f"Hill {place}", "season": str(2026 - place % 2)}
        rows.append({name: row[name] for name in names})
    return pd.DataFrame(rows)


def subsets(how_many: int) -> list[tuple[str, ...]]:
    """Sets of columns drawn at random, each with a count at least; then each count but one, and each pair of counts."""
    chance = np.random.default_rng(15)
    every = [*COUNTS, *WORDS]
    drawn = {
        tuple(name for name in every if chance.random() < share)
        for share in chance.uniform(0.1, 0.9, how_many)
    }
    drawn |= {tuple(name for name in every if name != left) for left in every}
    pairs = {("season", "species", "mob", *pair) for pair in zip(COUNTS, list(COUNTS)[1:], strict=False)}
    pairs |= {("season", "mob", one, kept) for one in COUNTS for kept in ("marked", "weaned") if one != kept}
    return sorted(names for names in drawn | pairs if set(names) & set(COUNTS))


@pytest.mark.parametrize("n", [1, 4])
def test_whichever_columns_of_mobs_lack_the_chapter_answers(n: int) -> None:
    """Every second set of columns, of one mob or of four by turns."""
    for place, names in enumerate(thinned(subsets(25), 2)):
        if not EVERY_FORM and place % 2 == (n > 1):
            continue
        frame = written(names, n)
        season = read_season({"mobs": frame}, settings=Settings(price=80.0))
        if not len(season.mobs):
            continue
        text = all_said(by_mob, season, written_out=place % 10 < 2)
        assert not NOT_A_NUMBER.search(text), (names, NOT_A_NUMBER.search(text))
        assert re.search(r"not there at|mobs were counted|mob was counted", text), names


def test_the_flow_says_of_which_mobs_it_is_where_not_all_were_counted_at_every_step() -> None:
    frame = written(("season", "mob", "foetuses", "born", "marked", "weaned"), 4).assign(season="2026")
    whole = by_mob.figures(by_mob.answer(read_season({"mobs": frame})))[0]
    frame.loc[3, "born"] = np.nan
    part = by_mob.figures(by_mob.answer(read_season({"mobs": frame})))[0]
    said = "3 of 4 mobs, those counted at each of these steps"
    assert said in part.svg()
    assert "of 4 mobs" not in whole.svg()


def test_a_season_without_a_name_is_called_so_in_a_sentence_in_either_language() -> None:
    frame = written(("species", "mob", "foetuses", "marked"), 4)
    for language, words in (
        ("en", "In the undated season, of the lambs scanned"),
        ("de", "Saison ohne Jahr"),
    ):
        text = all_said(by_mob, read_season({"mobs": frame}, settings=Settings(language=language)))
        assert words in text
        assert "season not recorded" not in text


def test_a_page_of_mobs_defines_what_it_speaks_of_alone() -> None:
    page = page_html(build(read_season({"mobs": written(("season", "species", "mob", "born", "marked"), 4)})))
    assert "not there at the later one" in page
    for word in ("42 days", "Stillborn", "STROBE"):
        assert word not in page


@pytest.mark.parametrize(
    ("tables", "asked", "told", "untold"),
    [
        (
            ("samples",),
            "Did the colostrum reach the blood of our lambs?",
            "classed by",
            "held against the mark",
        ),
        (("colostrum",), "Was the colostrum of our ewes good?", "held against the mark", "classed by"),
        (("samples", "colostrum"), "Was the colostrum of our ewes good, and did it", "classed by", "spline"),
    ],
)
def test_a_page_without_births_asks_and_explains_what_stands_on_it_alone(
    tables: tuple[str, ...], asked: str, told: str, untold: str
) -> None:
    lists = {
        "samples": bloods("sheep", "brix_pct", ["in time"] * 3),
        "colostrum": [
            {"dam_id": f"E{n}", "species": "sheep", "milked_after_h": 1, "brix_pct": 20 + 4 * n}
            for n in range(3)
        ],
    }
    page = page_html(build(read_season({name: pd.DataFrame(lists[name]) for name in tables})))
    assert asked in page
    assert told in page
    for word in (untold, "survival", "q-value", "spline"):
        assert word not in page


SIGNS = {"breathed": "no", "walked": "no", "fed": "no", "autolysed": "no"}


@pytest.mark.parametrize(
    "signs", [SIGNS, {**SIGNS, "breathed": "yes"}, {"breathed": "yes", "walked": "yes"}, {}]
)
def test_carcasses_of_which_none_lived_or_all_did_are_told_without_a_warning(signs: dict[str, str]) -> None:
    """Warnings are errors in these tests: a frame without rows beside one with rows gave one."""
    rows = [
        {
            "newborn_id": f"N{n}",
            "species": "sheep",
            "examined_at": "2026-04-02",
            "cause": "infection",
            **signs,
        }
        for n in range(3)
    ]
    text = all_said(examinations, read_season({"examinations": pd.DataFrame(rows)}))
    assert not NOT_A_NUMBER.search(text)


def test_foetuses_without_the_dams_of_each_class_give_a_table_without_rows() -> None:
    frame = with_stages(written(("season", "mob", "joined", "foetuses", "marked"), 4))
    assert list(by_class(frame, "foetuses", "marked", level=0.95)) == BY_CLASS
    review = build(
        read_season({"mobs": written(("season", "mob", "joined", "foetuses", "marked", "weaned"), 4)})
    )
    assert "not there at marking" in page_html(review)
