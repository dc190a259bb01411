"""What those who work in Python take from a season and its review."""

from __future__ import annotations

import html
import json
import re
from datetime import date
from io import StringIO
from pathlib import Path

import pandas as pd
import pytest
from matplotlib.figure import Figure as Canvas

import neonatal_stats
from neonatal_stats import CannotRead, Review, Season, read_season
from neonatal_stats.report.review import build
from neonatal_stats.report.write import headline

COWS = Path(__file__).parents[2] / "data" / "demo" / "suckler_cows.csv"
MADE_ON = date(2026, 6, 1)


@pytest.fixture(scope="module")
def cows() -> Season:
    """The invented suckler herd, from a DataFrame."""
    return read_season(pd.read_csv(COWS, dtype={"newborn_id": str, "dam_id": str, "sire_id": str}))


@pytest.fixture(scope="module")
def shown(cows: Season) -> Review:
    """Its review."""
    return cows.review(made_on=MADE_ON)


@pytest.fixture
def two_seasons() -> Season:
    """Three newborns of one year and two of the next."""
    told = {
        "season": ["2025"] * 3 + ["2026"] * 2,
        "dam_id": list("AABAC"),
        "died": [True, False, False, False, True],
    }
    return read_season(pd.DataFrame(told))


def test_one_season_by_its_name(two_seasons: Season) -> None:
    alone = two_seasons["2026"]
    assert alone.seasons == ("2026",)
    assert alone.births["dam_id"].tolist() == ["A", "C"]
    assert alone.births["lost"].tolist() == [False, True]
    assert len(two_seasons[2025].births) == 3
    assert list(two_seasons) == ["2025", "2026"]
    assert "2026" in two_seasons
    assert "1999" not in two_seasons


def test_no_such_season_names_those_there_are(two_seasons: Season) -> None:
    with pytest.raises(KeyError, match="no season '1999' in these records; they hold 2025, 2026"):
        two_seasons["1999"]


def test_settings_of_a_season_are_changed_in_a_copy(two_seasons: Season) -> None:
    shorter = two_seasons.with_settings(follow_up_d=28)
    assert (shorter.settings.follow_up_d, two_seasons.settings.follow_up_d) == (28, 42)
    assert "follow_up_d=28" in str(Season.with_settings.__doc__)


def test_everything_has_a_short_repr(cows: Season, shown: Review) -> None:
    lost = cows.births["lost"].sum()
    assert repr(cows).startswith(
        f"<Season {', '.join(cows.seasons)}: {lost} of {len(cows.births):,} newborns lost, "
    )
    for one in (cows, shown, *shown.tables, *shown.figures):
        assert len(repr(one)) < 600
        assert "\n" not in repr(one)
    assert repr(shown.tables["losses-windows"]).startswith(
        "<Table losses-windows, 6 rows: out_of, window, events, n"
    )
    assert (
        repr(shown.figures["losses-windows"])
        == f"<Figure losses-windows: {shown.figures['losses-windows'].title}>"
    )


def test_parts_by_name_and_by_place(shown: Review) -> None:
    assert shown.tables["losses-windows"] is next(t for t in shown.tables if t.name == "losses-windows")
    assert shown.tables[0].name == shown.tables.names[0]
    assert [one.name for one in shown.figures[:2]] == list(shown.figures.names[:2])
    assert "losses-windows" in shown.figures
    assert "losses" not in shown.figures
    assert shown.tables[0] in shown.tables
    with pytest.raises(KeyError, match='did you mean "losses-windows"'):
        shown.tables["losses-window"]


@pytest.mark.slow
def test_the_numbers_are_those_of_the_file(shown: Review) -> None:
    from_file = build(read_season(COWS), made_on=MADE_ON)
    ours, theirs = dict(shown.headline), headline(from_file)
    assert ours.pop("sources") != theirs.pop("sources")
    assert ours == theirs
    assert [table.name for table in shown.tables] == [table.name for table in from_file.tables]
    for one, other in zip(shown.tables, from_file.tables, strict=True):
        if not one.name.startswith("records"):
            pd.testing.assert_frame_equal(one.raw(), other.raw())


def test_page_one_shows_itself_and_leads_nowhere(shown: Review) -> None:
    frame = shown._repr_html_()
    found = re.fullmatch(r'<iframe sandbox title="([^"]*)" style="[^"]*" srcdoc="([^"]*)"></iframe>', frame)
    assert found is not None
    page = html.unescape(found[2])
    assert '<section id="top"' in page
    assert not [part for part in ("<script", "href=", 'id="chapters"') if part in page]
    week = shown.tables["losses-windows"].raw().set_index(["out_of", "window"]).loc[("born", "7 d")]
    assert f"Counted: {int(week['events'])} of {int(week['n'])} watched so long." in page


def test_written_as_the_command_writes(shown: Review, tmp_path: Path) -> None:
    out = shown.write(tmp_path / "out", parts=("headline", "tables"))
    assert out == tmp_path / "out"
    assert json.loads((out / "headline.json").read_text(encoding="utf-8")) == shown.headline
    written = pd.read_csv(out / "tables" / "losses-windows.csv")
    assert written["events"].tolist() == shown.tables["losses-windows"].raw()["events"].tolist()


def test_the_function_and_the_method_are_one(cows: Season) -> None:
    with pytest.raises(ValueError, match="season: no records of '1999'"):
        neonatal_stats.review(cows, "1999")
    with pytest.raises(ValueError, match="season: no records of '1999'"):
        cows.review("1999")
    assert set(dir(neonatal_stats)) == set(neonatal_stats.__all__)


def test_the_curves_redraw_the_figures(shown: Review, tmp_path: Path) -> None:
    assert {"survival-birth-types-curve", "causes-incidence-curve"} <= set(shown.curves.names)
    together = shown.curves["survival-birth-types-curve"].raw().query("birth_type == 'all'")
    at_end = shown.tables["survival-ages"].raw().query("birth_type == 'all'").iloc[-1]
    assert together.iloc[-1]["share"] == pytest.approx(at_end["share"])
    assert together["events"].sum() == at_end["lost"]
    causes = shown.curves["causes-incidence-curve"].raw()
    assert (causes.groupby("age_h")["share"].sum() - 1).abs().max() < 1e-12
    assert not set(shown.curves.names) & set(shown.tables.names)


def test_every_csv_is_in_the_codebook(shown: Review, tmp_path: Path) -> None:
    out = shown.write(tmp_path / "out", parts=("headline", "tables"))
    book = pd.read_csv(out / "codebook.csv", keep_default_na=False)
    files = {path.stem: path for path in [*(out / "tables").glob("*.csv"), out / "set-aside.csv"]}
    assert set(files) == set(book["table"]) | {
        name for name in files if not len(pd.read_csv(files[name]).columns)
    }
    for name, path in files.items():
        assert list(pd.read_csv(path, nrows=0)) == book.loc[book["table"] == name, "name"].tolist(), name
    assert book["heading"].str.len().min() > 0
    assert {*shown.curves.names} <= set(files)


def test_figures_are_saved_and_put_on_ones_own_axes(shown: Review, tmp_path: Path) -> None:
    figure = shown.figures["losses-windows"]
    assert figure.save(tmp_path / "windows.svg").read_text(encoding="utf-8") == figure.svg()
    assert figure.save(str(tmp_path / "windows.png")).read_bytes() == figure.png()
    with pytest.raises(ValueError, match=r"neither \.svg nor \.png"):
        figure.save(tmp_path / "windows.pdf")
    mine = Canvas().subplots()
    assert figure.draw(mine) is mine
    assert len(mine.images) == 1


def test_a_season_is_named_by_a_number_too(two_seasons: Season) -> None:
    assert two_seasons.review(2025, made_on=MADE_ON).focus == "2025"
    assert two_seasons.ask("losses", 2025).season.seasons == ("2025",)
    with pytest.raises(
        TypeError, match=r"made_on: give a datetime\.date, or leave it away for today; found '2026"
    ):
        two_seasons.review(made_on="2026-01-01")  # type: ignore[arg-type]


def test_what_is_no_part_is_refused(shown: Review, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="parts: 'tabels' is no part of a review; did you mean \"tables\""):
        shown.write(tmp_path / "out", parts=["tabels"])
    assert not (tmp_path / "out").exists()
    assert (shown.write(tmp_path / "one", parts="headline") / "headline.json").exists()  # type: ignore[arg-type]


@pytest.mark.parametrize("wrong", [{"map": {}}, {"plan": pd.DataFrame()}, {"map": ["a"]}])
def test_what_is_no_path_is_said(wrong: dict[str, object]) -> None:
    (name,) = wrong
    with pytest.raises(CannotRead, match=f"{name}: give the path of a file.*; found "):
        read_season(COWS, **wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize("records", [pd.Series(["a.csv"]), StringIO("dam_id\nA"), b"dam_id", iter])
def test_what_is_no_record_is_said(records: object) -> None:
    with pytest.raises(CannotRead, match="neither a path nor a pandas DataFrame"):
        read_season(records)  # type: ignore[arg-type]


def of_deaths(ages_d: list[float | None]) -> Season:
    """Single lambs born on one day, each dead at its age or, without one, alive at the end of watching."""
    born = pd.Timestamp("2026-04-01 10:00")
    died = [None if age is None else born + pd.Timedelta(days=age) for age in ages_d]
    told = {
        "season": 2026,
        "species": "sheep",
        "dam_id": [f"E{n}" for n in range(len(ages_d))],
        "born_at": born,
        "died": [age is not None for age in ages_d],
        "died_at": died,
    }
    return read_season(pd.DataFrame(told))


@pytest.mark.parametrize("n", [3, 14, 40])
def test_a_season_that_lost_every_newborn_makes_its_page(n: int) -> None:
    whole = of_deaths([0.5 + place % 7 for place in range(n)])
    review = whole.review(made_on=MADE_ON)
    assert review.headline["numbers"]["lost"]["events"] > 0
    assert review._repr_html_()


def test_losses_after_the_end_of_the_numbers_are_not_called_alive() -> None:
    """Of fourteen that all died two died when fewer than ten were watched: not lost by then, and said so."""
    review = of_deaths([0.3] * 3 + [2.0] * 9 + [4.6, 8.4]).review(made_on=MADE_ON)
    numbers = review.headline["numbers"]["lost"]
    assert numbers["events"] < 14
    assert "not lost by " in review._repr_html_()
