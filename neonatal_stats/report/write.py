"""Everything that goes out, in one folder, whole or not at all: page, workbook, loose tables and figures, headline."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

from neonatal_stats.report.folder import written_whole
from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review, version
from neonatal_stats.report.texts import first_page
from neonatal_stats.report.workbook import write_workbook
from neonatal_stats.tables.table import harmless
from neonatal_stats.words.problems import said_in

SCHEMA = "neonatal_stats headline 1"
PAGE, KEEPER, WORKBOOK = "review.html", "keeper.html", "review.xlsx"


def write_review(
    review: Review, out: Path, *, force: bool = False, progress: Callable[[str], None] = lambda stage: None
) -> Path:
    """Write page, keeper's summary, workbook, tables, figures, set-aside list and headline numbers.

    Parameters
    ----------
    out : the folder; made whole in a temporary folder and then moved to its place.
    force : replace the folder of an earlier review.
    progress : told each stage before it starts.

    Returns
    -------
    The path of the page.
    """
    say = review.voice.say
    with written_whole(out, force=force) as folder:
        progress(say("Drawing the page"))
        (folder / PAGE).write_text(page_html(review), encoding="utf-8")
        (folder / KEEPER).write_text(keeper_html(review), encoding="utf-8")
        progress(say("Filling the workbook"))
        write_workbook(review, folder / WORKBOOK)
        progress(say("Saving tables and figures"))
        write_tables(review, folder)
        write_figures(review, folder)
        write_headline(review, folder)
    return Path(out) / PAGE


def write_tables(review: Review, folder: Path) -> None:
    """`tables/<name>.csv`: raw numbers, shares 0 to 1, farm text that a spreadsheet would run made harmless."""
    (folder / "tables").mkdir()
    for table in review.tables:
        harmless(table.raw()).to_csv(
            folder / "tables" / f"{table.name}.csv", index=False, lineterminator="\n"
        )
    problems = harmless(said_in(review.voice, review.season.problems))
    problems.to_csv(folder / "set-aside.csv", index=False, lineterminator="\n")


def write_figures(review: Review, folder: Path) -> None:
    """`figures/<name>.svg` and `.png`."""
    (folder / "figures").mkdir()
    for figure in review.figures:
        (folder / "figures" / f"{figure.name}.svg").write_text(figure.svg(), encoding="utf-8")
        (folder / "figures" / f"{figure.name}.png").write_bytes(figure.png())


def write_headline(review: Review, folder: Path) -> None:
    """`headline.json`, described by `headline.schema.json` in this package."""
    text = json.dumps(headline(review), indent=2, ensure_ascii=False, allow_nan=False)
    (folder / "headline.json").write_text(text + "\n", encoding="utf-8")


def headline(review: Review) -> dict[str, Any]:
    """The headline numbers for other programs."""
    top = first_page(review)
    return {
        "schema": SCHEMA,
        "version": version(),
        "made_on": review.made_on.isoformat(),
        "season": review.focus,
        "seasons": list(review.season.seasons),
        "species": review.season.species,
        "records": [vars(balance) for balance in review.season.balances],
        "sources": [vars(source) for source in review.season.sources],
        "numbers": {
            line.key: {part: _plain(getattr(line, part)) for part in ("events", "n", "share", "low", "high")}
            for line in review.headlines
        },
        "stand_out": [{"chapter": point.chapter, "sentence": point.text} for point in top.stand_out],
        "chapters": {section.name: "answered" if section.open else "closed" for section in review.sections},
    }


def _plain(value: float) -> float | int | None:
    if math.isnan(value):
        return None
    return int(value) if float(value).is_integer() and abs(value) > 1 else float(value)
