"""One chapter asked alone: the review's own answer, or what the records lack, and no notebook ends at it."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats import CannotRead, NotRecorded, Season, ask, chapters, read_season
from neonatal_stats.report.in_python import NotThere

DEMO = Path(__file__).parents[2] / "data" / "demo"


@pytest.fixture(scope="module")
def cows() -> Season:
    """The invented suckler herd without its feeds."""
    return read_season(DEMO / "suckler_cows.csv")


def test_an_open_chapter_gives_its_parts_by_name(cows: Season) -> None:
    losses = cows.ask("losses")
    result = chapters.losses.answer(cows)
    assert not losses.missing
    assert [one.text for one in losses.sentences] == [one.text for one in chapters.losses.sentences(result)]
    assert losses.tables.names == tuple(table.name for table in chapters.losses.tables(result))
    assert losses.table("losses-windows") is losses.tables["losses-windows"]
    assert losses.figure("losses-flow").name == "losses-flow"  # type: ignore[union-attr]
    assert losses.limits == chapters.losses.method(result).limits
    assert repr(losses).startswith(f"- {losses.sentences[0].text}")
    assert losses.sentences[0].text.replace("'", "&#x27;") in losses._repr_html_()


def test_a_closed_chapter_says_what_would_open_it_and_goes_on(cows: Season) -> None:
    years = cows.ask("years")
    assert years.missing
    assert (years.sentences, years.figures, years.tables, years.limits) == ((), (), (), ())
    for part in (years.table("years-seasons"), years.figure("years-chart")):
        assert isinstance(part, NotThere)
        assert repr(part) == " ".join(years.missing)
    assert repr(years) == f"- {years.missing[0]}"
    assert cows.ask("agreed").missing == ("Not answered: no plan was given.",)


def test_a_part_that_these_records_do_not_give_names_those_they_do(cows: Season) -> None:
    lacking = cows.ask("survival").table("survival-nothing")
    assert isinstance(lacking, NotThere)
    assert "survival-ages" in lacking.text


def test_asked_of_one_season_as_the_review_asks() -> None:
    flocks = read_season([DEMO / "hill_sheep_2025.csv", DEMO / "hill_sheep_2026.csv"])
    assert flocks.ask("losses").season.seasons == ("2026",)
    assert flocks.ask("losses", "2025").season.seasons == ("2025",)
    assert flocks.ask("years").season.seasons == ("2025", "2026")
    with pytest.raises(ValueError, match="no records of '1999'"):
        flocks.ask("losses", "1999")


def test_no_such_chapter_names_the_nearest(cows: Season) -> None:
    with pytest.raises(ValueError, match='ask: "loss" is no chapter; did you mean "losses"'):
        ask(cows, "loss")


def test_all_that_is_offered_of_chapters_is_asked_alike(cows: Season) -> None:
    from neonatal_stats.chapters import READING_ORDER

    assert set(chapters.__all__) == {"NotRecorded", *READING_ORDER}
    assert dir(chapters) == chapters.__all__
    assert chapters.NotRecorded is NotRecorded
    with pytest.raises(AttributeError, match="no attribute 'loss'"):
        chapters.loss  # noqa: B018


def test_a_plan_is_given_when_the_records_are_read(tmp_path: Path) -> None:
    plan = DEMO / "plan_suckler_cows.toml"
    season = read_season(DEMO / "suckler_cows.csv", plan=plan)
    assert season.settings.plan
    (tmp_path / "births.csv").write_text("season,dam_id,died\n2026,A,no\n2026,B,yes\n", encoding="utf-8")
    (tmp_path / "plan.csv").write_text("season,action,done,measure\n2027,,,\n", encoding="utf-8")

    with pytest.raises(CannotRead, match=r"plan\.csv: it holds no action"):
        read_season(tmp_path / "births.csv", plan=tmp_path / "plan.csv")
    assert isinstance(season.births, pd.DataFrame)
