"""From mating to weaning, by the mob: published counts come out as published, and words say no more than they hold."""

from __future__ import annotations

import math
import re
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.chapters import mobs as chapter
from neonatal_stats.chapters.counted.mobs import Mobs
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.measures.mobs import class_limits
from neonatal_stats.report.page import title
from neonatal_stats.report.review import Review
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import printed
from neonatal_stats.words import voice_of
from tests.chapters.build import season as single_newborns

BOOK = Path(__file__).parents[2] / "data" / "demo" / "mobs" / "high_country_mobs.csv"
NUMBER = {
    language: re.compile(rf"\d+(?:[\u202f\u00a0]\d{{3}})*(?:{sign}\d+)?")
    for language, sign in (("en", r"\."), ("de", ","))
}


def mobs(rows: list[dict[str, Any]], **settings: Any) -> Mobs:
    frame = pd.DataFrame(
        [{"season": "2026", "species": "sheep", "mob": f"M{n}", **row} for n, row in enumerate(rows)]
    )
    return chapter.answer(read_season({"mobs": frame}, settings=Settings(**settings)))


@cache
def demo(language: str = "en", region: str = "Australia") -> Season:
    return read_season(BOOK, settings=Settings(language=language, region=region, price=88.0, currency="AUD"))


def said(result: Mobs) -> str:
    return " ".join(one.text for one in chapter.sentences(result))


def share(result: Mobs, what: str) -> pd.Series:
    return result.shares.set_index("what").loc[what]


# Published shares, each with its source.


def test_survival_by_scanned_class_is_that_of_winchmore() -> None:
    """Lost to 25 days: singles 14.1, twins 14.7, triplets 33.0 % (Winchmore flock 1976-1981), as of 1 000 each."""
    rows = [
        {"scanned_single": 500, "marked": 430}, {"scanned_single": 500, "marked": 429},
        {"scanned_twin": 250, "marked": 427}, {"scanned_twin": 250, "marked": 426},
        {"scanned_triplet": 200, "marked": 402}, {"scanned_triplet": 133, "marked": 267},
    ]  # fmt: skip
    classes = mobs(rows).classes.set_index("scan_class")
    lost = {name: round(100 * (1 - row["share"]), 1) for name, row in classes.iterrows()}
    assert lost == {"single": 14.1, "twin": 14.7, "triplet": 33.0}
    assert classes["survival"].tolist() == pytest.approx(classes["share"].tolist())


def test_twins_and_singles_are_those_of_stevens_and_others() -> None:
    """37.4 % of the twins of 103 ewes died, 9.6 % of singles (Stevens and others 1982 Appl Anim Ethol 8:243)."""
    rows = [{"scanned_twin": 60, "marked": 75}, {"scanned_twin": 43, "marked": 54}]
    rows += [{"scanned_single": 63, "marked": 57}, {"scanned_single": 62, "marked": 56}]
    classes = mobs(rows).classes.set_index("scan_class")
    assert (classes.loc["twin", "events"], classes.loc["twin", "n"]) == (129, 206)
    assert round(100 * (1 - classes.loc["twin", "share"]), 1) == 37.4
    assert round(100 * (1 - classes.loc["single", "share"]), 1) == 9.6


def test_a_range_flock_lost_from_birth_to_weaning_as_published() -> None:
    """1 693 of 7 191 lambs born, 23.5 % (A Study of Lamb Mortality in a Western Range Flock, 1960, J Anim Sci)."""
    result = mobs(
        [{"born": 2400, "weaned": 1830}, {"born": 2391, "weaned": 1841}, {"born": 2400, "weaned": 1827}]
    )
    main = result.main
    assert main is not None
    assert (main["events"], main["n"], round(100 * main["share"], 1)) == (1693, 7191, 23.5)
    assert "1\u202f693 of 7\u202f191 (23.5\u00a0%" in said(result)


@pytest.mark.parametrize(
    ("place", "lost"), [("herded range", 8.7), ("fenced range", 6.3), ("pasture", 4.8), ("dry lot", 5.6)]
)
def test_losses_before_marking_by_kind_of_land_are_those_of_the_survey(place: str, lost: float) -> None:
    """Lost before marking, of born alive (NAHMS Sheep 2011 information sheet, 2014); 96.0 % were born alive."""
    rows = [{"mob": place, "born": 100_000, "born_dead": 4_000, "marked": round(96_000 * (1 - lost / 100))}]
    result = mobs(rows)
    assert round(100 * share(result, "born dead")["share"], 1) == 4.0
    assert round(100 * share(result, "alive to marked")["share"], 1) == lost


def test_lambs_for_each_hundred_ewes_are_those_of_nine_flocks() -> None:
    """Mead, Curnow and Hasted (2002), example 14.6: ewes with 0, 1, 2, 3 live lambs, three breeds on three farms."""
    flocks = [
        (10, 21, 96, 23), (4, 6, 28, 8), (6, 7, 58, 7), (8, 19, 44, 1), (5, 17, 56, 1), (1, 5, 20, 2), (22, 95, 103, 4),
        (18, 49, 62, 0), (4, 12, 16, 2),
    ]  # fmt: skip
    rows = [{"joined": sum(one), "marked": one[1] + 2 * one[2] + 3 * one[3]} for one in flocks]
    result = mobs(rows)
    each = result.per_dam.set_index(["what", "of"]).loc[("marked", "joined")]
    assert (each["numerator"], each["denominator"], round(100 * each["each"])) == (1341, 840, 160)
    assert each["low"] < 1341 / 840 < each["high"]
    assert "At marking per 100 ewes put to the ram: 160 (" in said(result)
    assert result.main is None


# What is counted.


def test_the_flow_adds_up_and_holds_those_that_were_counted_throughout() -> None:
    row = {
        "joined": 100,
        "scanned_dry": 5,
        "scanned_single": 60,
        "scanned_twin": 35,
        "born": 125,
        "born_dead": 4,
    }
    whole = {**row, "marked": 110, "weaned": 108, "dams_died": 3}
    result = mobs([whole, whole, {**row, "marked": 111}])
    assert result.newborns["n"].tolist() == [260, 250, 242, 220, 216]
    assert result.newborns["lost"].tolist() == [0, 10, 8, 22, 4]
    assert result.dams["n"].tolist() == [300, 300, 285]
    assert result.dams_alive["n"].tolist() == [200, 194]
    assert (result.counted.n, result.counted.left_out) == (2, (("not counted at every stage", 1),))
    assert share(result, "foetuses to marked")["n"] == 390


def test_a_mob_that_had_more_at_the_later_count_is_counted_as_it_stands() -> None:
    result = mobs([{"born": 100, "marked": 90, "weaned": 93}, {"born": 100, "marked": 95, "weaned": 90}])
    assert result.newborns["lost"].tolist() == [0, 15, 2]
    assert share(result, "marked to weaned")["events"] == 2
    result = mobs([{"born": 100, "marked": 90, "weaned": 95}])
    assert "5 more than before" in chapter.figures(result)[0].alt


def test_mixed_mobs_tell_of_classes_only_where_their_mixes_differ() -> None:
    alike = [{"scanned_single": 60, "scanned_twin": 40, "marked": 120} for _ in range(6)]
    assert mobs(alike).classes["survival"].isna().all()
    apart = [
        {"scanned_single": one, "scanned_twin": 100 - one, "marked": round(0.9 * one + 0.8 * 2 * (100 - one))}
        for one in (90, 70, 50, 30, 20, 10)
    ]
    assert mobs(apart).classes["survival"].tolist() == pytest.approx([0.9, 0.8])
    text = said(mobs(apart))
    assert "singles about 90\u00a0% (" in text
    assert "twins about 80\u00a0% (" in text


def test_a_class_fitted_at_the_boundary_or_with_wide_limits_cannot_be_told() -> None:
    """Made so that the singles do worse the more twins there are: the fit gives the twins all."""
    singles = (141, 222, 180, 210, 160, 120, 90, 60)
    twins = (76, 149, 80, 60, 90, 100, 110, 95)
    rows = [
        {"scanned_single": one, "scanned_twin": two, "marked": round(0.55 * one + 2 * two + wobble)}
        for one, two, wobble in zip(singles, twins, (-6, 4, -9, 3, 8, -12, 2, 5), strict=True)
    ]
    text = said(mobs(rows))
    assert "twins cannot be told apart" in text
    assert "100\u00a0%" not in text.split("twins")[1][:40]
    classes = mobs(rows).classes.set_index("scan_class")
    assert np.isnan(classes.loc["twin", "fitted"])


def test_the_limits_of_a_class_are_those_of_weighted_least_squares() -> None:
    """Against numpy's own solver; 2.7764 is Student's t at 97.5 % with 4 degrees of freedom (any printed table)."""
    x = np.array([[90.0, 20], [70, 60], [50, 100], [30, 140], [20, 160], [10, 180]])
    y = x @ [0.9, 0.7] + [5, -6, 4, -5, 7, -4]
    low, high = class_limits(x, y, level=0.95)
    w = np.sqrt(1 / x.sum(axis=1))
    beta, residual, *_ = np.linalg.lstsq(x * w[:, None], y * w, rcond=None)
    scatter = max(residual[0] / 4, y.sum() / x.sum() * (1 - y.sum() / x.sum()))
    error = np.sqrt(scatter * np.diag(np.linalg.inv((x * w[:, None]).T @ (x * w[:, None]))))
    assert low == pytest.approx(beta - 2.7764 * error, abs=1e-4)
    assert high == pytest.approx(np.minimum(beta + 2.7764 * error, 1), abs=1e-4)


def test_a_season_is_held_against_what_its_classes_lead_one_to_expect() -> None:
    """The later season has the same survival of each class and more twins: it lost more, and no more than expected."""
    rows = []
    for year, singles in (("2025", 80), ("2026", 30)):
        for n in range(4):
            single, twin = (100, 0) if n * 25 < singles else (0, 50)
            kept = 90 if single else 75
            rows.append(
                {
                    "season": year,
                    "mob": f"{n}",
                    "scanned_single": single,
                    "scanned_twin": twin,
                    "marked": kept,
                }
            )
    result = mobs(rows)
    earlier, later = (row for _, row in result.seasons.iterrows())
    assert later["share"] > earlier["share"]
    assert later["against"] == pytest.approx(1.0)
    assert "On the same mix of scanned classes 2026 kept 1.00 times" in said(result)


@pytest.mark.parametrize(
    ("n", "words"), [(1, "One mob tells nothing"), (4, "With 4 mobs the intervals are rough")]
)
def test_few_mobs_are_said_to_be_few(n: int, words: str) -> None:
    few = mobs([{"born": 100, "marked": 90 - place} for place in range(n)])
    assert words in said(few)
    assert "rough" not in said(mobs([{"born": 100, "marked": 90 - place} for place in range(6)]))


def _of_one(singles: int, twins: int) -> Mobs:
    return mobs([{"scanned_single": singles, "scanned_twin": twins, "marked": 80}])


def test_of_two_mobs_nobody_says_how_far_mobs_lie_apart() -> None:
    """Nor that they lie no further apart than chance: that takes three."""
    pair = [{"born": 200, "weaned": 190}, {"born": 200, "weaned": 120}]
    assert "By mob the loss ran from 10 of 200" in said(mobs(pair))
    for words in ("apart", "chance", "standard deviation"):
        assert words not in said(mobs(pair))
    assert "apart" in said(mobs([*pair, {"born": 200, "weaned": 150}]))


def test_one_mob_is_not_said_to_have_kept_more_or_less_than_expected() -> None:
    """What it kept of the expected is known; how far one mob may lie from it by itself is not."""
    rows = [
        {"season": "2025", "scanned_single": 100, "marked": 90},
        {"season": "2025", "scanned_twin": 100, "marked": 180},
        {"season": "2026", "scanned_single": 80, "scanned_twin": 60, "marked": 150},
    ]
    main = mobs(rows).main
    assert main is not None
    assert 0.8 < main["against"] < 1
    assert math.isnan(main["against_low"])
    assert "On the same mix" not in said(mobs(rows))


def test_the_interval_of_one_mob_reckons_with_whole_litters() -> None:
    twins, singles = _of_one(0, 50), _of_one(100, 0)
    wide, narrow = ((row["high"] - row["low"]) for row in (twins.each.iloc[0], singles.each.iloc[0]))
    assert wide / narrow == pytest.approx(math.sqrt(2), rel=0.05)


def test_rows_that_were_not_used_are_said_in_number() -> None:
    result = mobs(
        [{"born": 100, "marked": 90}, {"born": 100, "marked": 120}, {"mob": "M0", "born": 50, "marked": 40}]
    )
    assert "Of 3 rows on mobs, of all seasons, 1 were set aside and 1 used without some" in said(result)
    (table,) = (table for table in chapter.tables(result) if table.name == "mobs-read")
    assert table.raw().iloc[0].tolist() == [3, 1, 1, 1, 0]


# What is said.


@pytest.mark.parametrize("language", ["en", "de"])
def test_numbers_said_are_numbers_shown_and_nothing_is_left_unsaid(language: str) -> None:
    result, of = chapter.answer(demo(language)), NUMBER[language]
    shown = " ".join(
        f"{printed(table).to_csv(sep='|')} {table.title} {table.note}" for table in chapter.tables(result)
    )
    text = said(result)
    assert set(of.findall(text)) <= set(of.findall(shown)) | {"100", "88"}
    assert not re.search(r"\b(nan|inf|None|NaT|<NA>)\b|\{", f"{text} {shown}")


def test_each_region_has_the_words_of_its_trade() -> None:
    words = {
        region: said(chapter.answer(demo("en", region))) for region in ("Australia", "New Zealand", "UK")
    }
    assert "ewes joined" in words["Australia"]
    assert "not there at docking" in words["New Zealand"]
    assert "not there at tailing" in words["UK"]
    assert "beim Kupieren" in said(chapter.answer(demo("de")))


def test_no_mob_is_called_worse_and_the_chapter_claims_nothing() -> None:
    assert not hasattr(chapter, "claims")
    assert "no mob is called worse" in " ".join(chapter.method(chapter.answer(demo())).limits)


def test_shuffled_rows_change_nothing() -> None:
    frame = pd.read_csv(BOOK, dtype={"season": str})
    texts = {
        said(chapter.answer(read_season({"mobs": one})))
        for one in (frame, frame.sample(frac=1, random_state=3))
    }
    assert len(texts) == 1


def test_the_season_under_review_is_the_one_told() -> None:
    result = chapter.answer(demo()["2024"])
    assert result.season == "2024"
    assert result.period == ("2023", "2024", "2025", "2026")
    assert said(result).startswith("In 2024, ")


def test_without_mobs_it_is_not_asked() -> None:
    without = single_newborns([{"dam_id": "A", "died": "no"}])
    assert not chapter.opened(without)
    with pytest.raises(NotRecorded):
        chapter.answer(without)


def test_the_flow_is_one_figure_of_dams_and_newborns() -> None:
    figures = {figure.name: figure for figure in chapter.figures(chapter.answer(demo()))}
    assert list(figures) == ["mobs-flow", "mobs-each", "mobs-seasons"]
    told = figures["mobs-flow"].alt
    assert "not in young: 82" in told
    assert "died: 57" in told
    assert "between birth and marking: 327" in told


def test_a_page_without_season_and_farm_is_called_by_the_births_alone() -> None:
    frame = pd.DataFrame([{"species": "sheep", "mob": "Hill", "joined": 100, "marked": 110}])
    undated = read_season({"mobs": frame})
    shown = SimpleNamespace(voice=voice_of(undated), season=undated, focus="season not recorded")
    assert title(cast(Review, shown)) == "Lambing"
    shown.focus = "2026"
    assert title(cast(Review, shown)) == "Lambing 2026"
