"""Numbers, dates and units are written in one way in each language: on the page, the keeper's sheet, in figures."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review
from neonatal_stats.report.write import write_tables
from tests.demo import SHEEP, review_of
from tests.report.formats import deviations, visible


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "-1.2 points"),
        ("en", "(-3 to 4)"),
        ("en", "1000 ml"),
        ("en", "12 345 lambs"),
        ("en", "1,234 lambs"),
        ("en", "week of 30.3., 5 lost"),
        ("en", "born 2026-03-30"),
        ("en", "30. März"),
        ("en", "kJ/m2/h"),
        ("en", "12%"),
        ("de", "0.1 Prozent"),
        ("de", "2,548 von 3 Tieren"),
        ("de", "30 Mar"),
        ("de", "am 30.3.2026"),
        ("de", "-1,2 Punkte"),
        ("de", "Rektaltemperatur (Grad C)"),
    ],
)
def test_what_is_written_otherwise_is_found(language: str, text: str) -> None:
    assert deviations(text, language)


@pytest.mark.parametrize(
    ("language", "text"),
    [
        (
            "en",
            "\u22121.2 points; 2\u202f548 lambs in 2026; 30\u00a0Mar 2026; 12.3\u00a0%; kJ/m²/h; q is 0.20.",
        ),
        ("en", "Vet J 30:1887-1890, doi 10.1016/0304-3762(83)90181-5"),
        ("de", "\u22121,2 Punkte; 2\u202f548 Lämmer; 30.\u00a0März 2026; 12,3\u00a0%; p 0,002."),
    ],
)
def test_what_is_written_well_is_let_be(language: str, text: str) -> None:
    assert deviations(text, language) == []


def written(review: Review) -> dict[str, str]:
    """Everything that a person reads of it."""
    texts = {figure.name: figure.svg() for figure in review.figures}
    texts |= {"page": page_html(review), "keeper": keeper_html(review)}
    births = review.season.births
    ids = {
        one for name in ("newborn_id", "dam_id", "sire_id") if name in births for one in births[name].dropna()
    }
    return {name: without(ids, visible(text)) for name, text in texts.items()}


def without(ids: set[str], text: str) -> str:
    """The text without the identities of animals, which are no numbers and are written as the farm writes them."""
    return re.sub(r"[\w-]+", lambda word: "" if word.group() in ids else word.group(), text)


@pytest.mark.slow
@pytest.mark.parametrize("language", ["en", "de"])
def test_the_demo_is_written_in_one_way(language: str) -> None:
    review = review_of(SHEEP, language)
    texts = written(review)
    assert len(texts) > 20
    assert "\u2212" in texts["page"]
    assert "\u202f" in texts["page"]
    assert {name: found for name, text in texts.items() if (found := deviations(text, language))} == {}


@pytest.mark.slow
def test_the_tables_for_programs_keep_plain_signs(hill_review: Review, tmp_path: Path) -> None:
    write_tables(hill_review, tmp_path)
    tables = {path.stem: path.read_text(encoding="utf-8") for path in (tmp_path / "tables").glob("*.csv")}
    assert "\n2026-03-30," in tables["losses-weeks"]
    assert ",-" in tables["groups-always-excess"]
    assert [name for name, text in tables.items() if "\u2212" in text] == []
