"""The page of a season in progress: 11 % wherever the truth is 11 %, nothing that was recorded later, one screen."""

from __future__ import annotations

import csv
import json
from datetime import date
from functools import cache
from html import unescape
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import openpyxl
import pandas as pd
import pytest

from neonatal_stats import read_season
from neonatal_stats.chapters.counted.progress import season_in_progress
from neonatal_stats.report.folder import MARK
from neonatal_stats.report.progress import Running, progress_headline, progress_html, running, write_progress
from neonatal_stats.report.review import build
from neonatal_stats.report.write import write_review
from neonatal_stats.season.model import Season
from tests.chapters.build import AFTER_BIRTH, season
from tests.chapters.running_farms import FIRST, as_kept_by, finished, rows
from tests.commands import run
from tests.report.browser import opened

pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore:Workbook contains no default style:UserWarning"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]
MADE_ON = date(2026, 6, 1)
SCHEMA = json.loads((resources.files("neonatal_stats.report") / "headline.schema.json").read_text())
DAY = FIRST + pd.Timedelta(days=18)


def found(of: Season, day: pd.Timestamp = DAY, **more: Any) -> Running:
    cut = of.known_by(day)
    return running(cut, season_in_progress(cut), made_on=MADE_ON, **more)


@cache
def folder(farm: str, tmp: Path) -> Path:
    write_progress(found(finished(farm)), tmp / farm)
    return tmp / farm


@pytest.fixture(scope="module")
def tmp(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("running")


def words(path: Path) -> str:
    """Every cell of a workbook."""
    book = openpyxl.load_workbook(path)
    return " ".join(
        str(cell) for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row if cell
    )


def number(told: dict[str, Any]) -> float:
    return float(told["numbers"]["lost_by_7_d"]["share"])


@pytest.mark.parametrize("farm", ["meadow", "ridge"])
def test_a_running_season_says_eleven_percent_everywhere(farm: str, tmp: Path) -> None:
    out = folder(farm, tmp)
    told = json.loads((out / "headline.json").read_text())
    jsonschema.validate(told, SCHEMA)
    assert told["as_of"] == "2026-03-20"
    assert number(told) == pytest.approx(0.11, abs=1e-12)
    page = unescape((out / "progress.html").read_text())
    assert "<strong>11</strong>" in page
    assert "are lost by 7 days, as far as this season has gone" in page
    assert page.count("11.0\u00a0%") >= 1
    windows = pd.read_csv(out / "tables" / "progress-windows.csv").set_index("window")
    assert windows.loc["7 d", "share"] == pytest.approx(0.11, abs=1e-12)
    book = words(out / "progress.xlsx")
    assert "By 7 d of age 11.0\u00a0% had been lost by the curve" in book
    assert "0.11" in book


@pytest.mark.usefixtures("undrawn")
@pytest.mark.parametrize("farm", ["meadow", "ridge"])
def test_records_cut_by_their_keeper_say_eleven_percent_on_every_page_of_the_review(
    farm: str, tmp: Path
) -> None:
    """No --as-of: the book as it stood that evening, through the ordinary review."""
    review = build(season(as_kept_by(FIRST + pd.Timedelta(days=25), farm)), made_on=MADE_ON)
    out = tmp / f"{farm}-book"
    write_review(review, out, parts=("page", "workbook"))
    assert number(json.loads((out / "headline.json").read_text())) == pytest.approx(0.11, abs=1e-12)
    page, keeper = (unescape((out / name).read_text()) for name in ("review.html", "keeper.html"))
    newborns = review.voice.say("{newborns}")
    assert '<p class="lost"><strong>11</strong>' in page
    assert f"in 100 {newborns} born were lost by 7 days" in page
    assert f"Of every 100 {newborns} born, 11 were lost by 7 days." in keeper
    assert f"11 in 100 {newborns} born were lost by 7 days" in words(out / "review.xlsx")


def test_nothing_recorded_later_changes_a_byte(tmp: Path) -> None:
    """The same page from the finished season and from one in which all that came later went otherwise."""
    later = []
    for row in rows("meadow"):
        died = row["born_at"] + pd.Timedelta(hours=row.get("died_after_h", 0))
        if row["born_at"] > DAY + pd.Timedelta(days=1):
            continue
        if row["died"] == "no" or died >= DAY + pd.Timedelta(days=1):
            row = {
                **row,
                "died": "yes",
                "died_after_h": 24.0 * 30 + 1,
                "cause": "infection",
                "born_alive": "yes",
            }
        later.append(row)
    feeds = [{"newborn_id": "1", "fed_after_h": 700, "volume_ml": 90.0}]
    one, other = found(finished("meadow")), found(season(later, feeds=feeds))
    assert progress_html(one) == progress_html(other)
    told = [progress_headline(which) for which in (one, other)]
    assert all(told[0][name] == told[1][name] for name in told[0] if name not in ("records", "sources"))


def test_nothing_is_claimed(tmp: Path) -> None:
    told = progress_headline(found(finished("meadow")))
    assert told["stands_out"] == []
    assert {answer["verdict"] for answer in told["asked"].values()} == {"season in progress"}
    assert told["looked"]["comparisons"] == 0
    page = progress_html(found(finished("meadow")))
    assert "stands out" not in page
    assert "clear" not in page.partition("<body")[2].replace("var(--clear)", "")


def test_only_what_is_asked_for_is_written(tmp: Path) -> None:
    write_progress(found(finished("meadow"), parts=("tables",)), tmp / "tables-only", parts=("tables",))
    assert {one.name for one in (tmp / "tables-only").iterdir()} == {
        "tables",
        "codebook.csv",
        "set-aside.csv",
        MARK,
    }


def test_a_herd_without_losses(tmp: Path) -> None:
    made = [
        {"dam_id": str(n), "died": "no", "born_at": FIRST + pd.Timedelta(days=n % 20)} for n in range(100)
    ]
    page = unescape(progress_html(found(season(made))))
    assert "100 born so far, 0 of them known to be lost." not in page  # 19 days: 95 of the 100 are born
    assert "95 born so far, 0 of them known to be lost." in page
    assert "Alarm: not on yet." in page
    assert "nan" not in page.partition("<body")[2]


@pytest.mark.browser
@pytest.mark.parametrize("language", ["en", "de"])
def test_it_fits_one_screen_and_a_phone(tmp: Path, language: str) -> None:
    two = [
        row | {"season": "2025", "born_at": row["born_at"] - pd.DateOffset(years=1)} for row in rows("meadow")
    ]
    path = tmp / f"{language}.html"
    path.write_text(
        progress_html(found(season([*two, *rows("meadow")], language=language))), encoding="utf-8"
    )
    with opened(path, width=1280, height=800) as (page, requests, errors):
        assert (len(requests), errors) == (1, [])
        assert page.evaluate("document.querySelector('.caution').getBoundingClientRect().bottom") <= 800
    with opened(path, width=360, height=740) as (page, _, _errors):
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        assert page.evaluate("document.querySelector('.lost').getBoundingClientRect().bottom") <= 740


# the command


def csv_of(made: list[dict[str, Any]], path: Path) -> Path:
    """The rows as a keeper's file."""
    plain = []
    for place, row in enumerate(made):
        moments = {
            column: f"{row['born_at'] + pd.Timedelta(hours=row[name]):%Y-%m-%d %H:%M}"
            for name, column in AFTER_BIRTH.items()
            if row.get(name) is not None
        }
        cells = {name: cell for name, cell in row.items() if name not in AFTER_BIRTH}
        plain.append({"season": "2026", "species": "sheep", "newborn_id": f"N{place}", **cells, **moments})
        plain[-1]["born_at"] = f"{row['born_at']:%Y-%m-%d %H:%M}"
    names = list(dict.fromkeys(name for row in plain for name in row))
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, names)
        writer.writeheader()
        writer.writerows(plain)
    return path


@pytest.fixture(scope="module")
def meadow(tmp: Path) -> Path:
    return csv_of(rows("meadow"), tmp / "meadow.csv")


def test_the_command_writes_the_page_beside_the_headline(meadow: Path, tmp: Path) -> None:
    done = run("review", meadow, "--as-of", "2026-03-20", "--out", tmp / "by-command")
    assert done.returncode == 0, done.stderr
    assert done.stdout.endswith(f"Open {tmp / 'by-command' / 'progress.html'}\n")
    told = json.loads((tmp / "by-command" / "headline.json").read_text())
    jsonschema.validate(told, SCHEMA)
    assert number(told) == pytest.approx(0.11, abs=1e-12)
    assert told["in_progress"]["alarm"] == "silent"
    names = {one.name for one in (tmp / "by-command").iterdir()}
    assert names == {
        "progress.html",
        "progress.xlsx",
        "tables",
        "figures",
        "codebook.csv",
        "set-aside.csv",
        MARK,
    }


def test_a_day_after_everything_is_a_review_with_a_note(meadow: Path, tmp: Path) -> None:
    done = run("review", meadow, "--as-of", "2027-01-01", "--out", tmp / "after", "--only", "headline,page")
    assert done.returncode == 0, done.stderr
    assert "On 2027-01-01 no newborn of 2026 was under watch any more: the season was over" in done.stdout
    assert "Nothing recorded after 1\u00a0Jan\u00a02027 was read." in unescape(
        (tmp / "after" / "review.html").read_text()
    )
    told = json.loads((tmp / "after" / "headline.json").read_text())
    jsonschema.validate(told, SCHEMA)
    assert (told["as_of"], told["numbers"]["lost"]["events"]) == ("2027-01-01", 12 * 30)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (
            ["--as-of", "20.4.2026"],
            "--as-of: '20.4.2026' is no day of the calendar; write year, month and day",
        ),
        (["--as-of", "2026-02-30"], "--as-of: '2026-02-30' is no day of the calendar"),
        (["--as-of", "2026-03-20", "--pdf"], "--as-of: --pdf prints the review"),
        (["--as-of", "2026-03-20", "--compare", "2025", "2026"], "--as-of: --compare holds finished seasons"),
        (
            ["--as-of", "2026-02-01"],
            "--as-of: nothing was born by 2026-02-01; the first birth of these records was on",
        ),
    ],
)
def test_what_cannot_be_is_one_sentence(meadow: Path, tmp: Path, arguments: list[str], sentence: str) -> None:
    done = run("review", meadow, "--out", tmp / "refused", *arguments)
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1].startswith(f"neonatal-stats: {sentence}")
    assert not (tmp / "refused").exists()


def test_a_bad_day_is_refused_before_the_records_are_read(tmp: Path) -> None:
    done = run("review", tmp / "no-such-file.csv", "--out", tmp / "refused", "--as-of", "tomorrow")
    assert "'tomorrow' is no day of the calendar" in done.stderr
    assert "Reading" not in done.stderr


def test_records_that_stop_early_get_the_page_beside_their_review(tmp: Path) -> None:
    """Eight days of births: most newborns were not watched through a week."""
    day = FIRST + pd.Timedelta(days=8)
    path = csv_of(as_kept_by(day, "meadow"), tmp / "early.csv")
    done = run("review", path, "--out", tmp / "early", "--only", "page")
    assert done.returncode == 0, done.stderr
    assert "progress.html says what is known" in done.stdout
    assert {"review.html", "keeper.html", "progress.html"} <= {one.name for one in (tmp / "early").iterdir()}
    whole = found(read_season([csv_of(rows("meadow"), tmp / "whole.csv")]), day)
    page = unescape((tmp / "early" / "progress.html").read_text())
    assert "<strong>11</strong>" in page
    assert number(progress_headline(whole)) == pytest.approx(0.11, abs=1e-12)


def test_a_finished_season_gets_no_second_page(meadow: Path, tmp: Path) -> None:
    done = run("review", meadow, "--out", tmp / "finished", "--only", "page")
    assert done.returncode == 0, done.stderr
    assert not (tmp / "finished" / "progress.html").exists()
