"""The top of the page says what is open about the outcomes, under both readings; the records chapter's lines add up."""

from __future__ import annotations

from pathlib import Path

import pytest

from neonatal_stats.report.outcomes import outcomes_said
from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Settings

# 40 newborns in 20 litters: 30 lived, 8 died, 1 cell is a word for neither and 1 is blank
FATES = ["no"] * 30 + ["yes"] * 8 + ["gone west", ""]


def review(folder: Path, fates: list[str] = FATES, **settings: object) -> Review:
    rows = [f"2026,E{n // 2:02d},{1 + n % 27}/3/2026,{fate}" for n, fate in enumerate(fates)]
    path = folder / "births.csv"
    path.write_text("\n".join(["season,dam_id,born_on,died", *rows, "total,,,8"]) + "\n")
    return build(read_season(path, settings=Settings(**settings)))  # type: ignore[arg-type]


def test_both_readings_stand_at_the_top(tmp_path: Path) -> None:
    """8 of 40 had both lived, 10 of 40 had both died (counted by hand)."""
    made = review(tmp_path)
    (said, *_) = outcomes_said(made)
    assert said == (
        "The outcome of 2 of 40 lambs is open: not written for 1, not readable for 1. They are in no figure of this "
        "page. Had all of them lived, the loss would be 8 of 40 (20.0\xa0%); had all died, 10 of 40 (25.0\xa0%)."
    ).replace("lambs", made.voice.say("{newborns}"))
    assert said in page_html(made)
    assert (
        "What became of 2 more is not written down. Had they died, 25 in 100 would be lost."
        in keeper_html(made)
    )


def test_nothing_is_said_where_every_outcome_was_read(tmp_path: Path) -> None:
    made = review(tmp_path, ["no"] * 30 + ["yes"] * 10)
    assert outcomes_said(made) == ()
    assert "To be known before" not in page_html(made)


@pytest.mark.parametrize("language", ["en", "de"])
def test_lines_add_up_in_the_first_chapter(tmp_path: Path, language: str) -> None:
    """42 lines: one of headings, 40 of records, and a total that names no dam."""
    made = review(tmp_path, language=language)
    (table,) = [table for table in made.tables if table.name == "records-lines"]
    line = table.raw().iloc[0]
    assert (line["lines"], line["headings"], line["no_record"]) == (42, 1, 1)
    assert line[["records", "no_record", "left_out", "headings", "titles", "blank"]].sum() == line["lines"]
