"""Reviews of counts by the mob, alone and beside single newborns: page, keeper's sheet, workbook, headline."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path

import jsonschema
import openpyxl
import pytest

from neonatal_stats.report.at_a_glance import at_a_glance
from neonatal_stats.report.how_bad import main_loss
from neonatal_stats.report.keeper import keeper_sheet
from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.report.write import headline, write_review
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Settings
from tests.conftest import MADE_ON

BOOK = Path(__file__).parents[2] / "data" / "demo" / "mobs" / "high_country_mobs.csv"
SHED = "season,dam_id,died,species\n" + "".join(
    f"2026,E{n},{'yes' if n < 3 else 'no'},sheep\n" for n in range(30)
)


def reviewed(language: str = "en", *more: Path) -> Review:
    settings = Settings(language=language, region="New Zealand", price=88.0, currency="NZD")
    return build(read_season([BOOK, *more], settings=settings), made_on=MADE_ON)


@pytest.fixture(scope="module")
def alone() -> Review:
    return reviewed()


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> Review:
    shed = tmp_path_factory.mktemp("shed") / "births.csv"
    shed.write_text(SHED, encoding="utf-8")
    return reviewed("en", shed)


def test_mobs_alone_open_their_chapter_and_close_what_needs_single_newborns(alone: Review) -> None:
    assert [section.name for section in alone.sections] == ["mobs"]
    assert alone.ledger.looked == 0


def test_page_one_leads_with_those_scanned_and_missing_at_marking(alone: Review) -> None:
    glance = at_a_glance(alone)
    assert glance.lost is not None
    assert (glance.lost.number, glance.lost.words) == ("22", "in 100 lambs scanned were not there at docking")
    main = main_loss(alone)
    assert main is not None
    assert sum(int(stage.n) for stage in glance.stages) == main.events == 512
    assert glance.cannot_say[0] == "All other chapters need single lambs on record, and stay closed."
    assert glance.who == ()


def test_the_page_holds_the_chapter_whole_and_says_once_what_is_closed(alone: Review) -> None:
    page = page_html(alone)
    assert page.count("All other chapters need single lambs") == 2
    for words in ("From mating to weaning", "Mob by mob", "lambs scanned, 512 of"):
        assert words in page
    assert "nothing stands out" not in page.lower()


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_keepers_sheet_says_the_one_loss(language: str) -> None:
    review = reviewed(language)
    sheet = keeper_sheet(review)
    lead = {
        "en": "Of every 100 lambs scanned, 22 were not there at docking.",
        "de": "Von je 100 im Ultraschall gezählten Lämmern fehlten 22 beim Kupieren.",
    }
    assert sheet.lead == lead[language]
    assert sum(int(mark.n) for mark in sheet.legend if mark.name not in ("not lost", "nicht verloren")) == 22
    assert "{" not in keeper_html(review).partition("<body")[2]


def test_the_headline_numbers_follow_their_schema(alone: Review, both: Review) -> None:
    schema = json.loads(
        resources.files("neonatal_stats.report").joinpath("headline.schema.json").read_text(encoding="utf-8")
    )
    for review in (alone, both):
        told = json.loads(json.dumps(headline(review), allow_nan=False))
        jsonschema.validate(told, schema)
        assert told["numbers"]["mobs_lost"]["events"] == 512
        assert told["numbers"]["mobs_kept_of_joined"] == {
            "events": 1868, "n": 1689, "share": None, "low": None, "high": None,
        }  # fmt: skip
    assert headline(alone)["chapters"] == {"mobs": "answered"}


def test_the_folder_is_written_whole(alone: Review, tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_review(alone, out, parts=("headline", "tables", "workbook", "page"))
    assert {"review.html", "keeper.html", "review.xlsx", "headline.json"} <= {
        path.name for path in out.iterdir()
    }
    book = openpyxl.load_workbook(out / "review.xlsx")
    assert "mobs-each" in " ".join(book.sheetnames) or "Mob by mob" in " ".join(book.sheetnames)
    tables = {path.stem for path in (out / "tables").iterdir()}
    assert tables == {f"mobs-{name}" for name in ("flow", "shares", "per-dam", "each", "classes", "seasons")}


def test_beside_single_newborns_these_lead_and_the_mobs_have_their_chapter(both: Review) -> None:
    opened = [section.name for section in both.sections if section.open]
    assert opened[:3] == ["records", "losses", "mobs"]
    main = main_loss(both)
    assert main is not None
    assert (main.events, main.n) == (3, 30)


def test_mobs_without_a_share_lost_have_a_page_and_no_keepers_sheet(tmp_path: Path) -> None:
    path = tmp_path / "mobs.csv"
    path.write_text("season,mob,joined,marked\n2026,A,100,120\n2026,B,90,101\n", encoding="utf-8")
    review = build(read_season(path), made_on=MADE_ON)
    assert "At marking per 100 dams put to the male: 116." in page_html(review)
    assert at_a_glance(review).lost is None
    write_review(review, tmp_path / "out", parts=("headline", "page"))
    assert not (tmp_path / "out" / "keeper.html").exists()
