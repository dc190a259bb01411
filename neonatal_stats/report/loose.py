"""Loose files: every table as CSV, every figure as SVG and PNG, the set-aside list, and the headline numbers."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pandas as pd

from neonatal_stats.report.first_page import first_page
from neonatal_stats.report.review import Review
from neonatal_stats.report.version import version
from neonatal_stats.words.problems import said_in

SCHEMA = "neonatal_stats headline 1"


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


def harmless(frame: pd.DataFrame) -> pd.DataFrame:
    """The frame with text that begins with = + - @ (or a tab or return) led by an apostrophe."""
    columns = frame.select_dtypes(["object", "category", "string"]).columns
    return frame.assign(**{name: [_harmless(value) for value in frame[name]] for name in columns})


def _harmless(value: Any) -> Any:
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")):
        return "'" + value
    return value


def _plain(value: float) -> float | int | None:
    if math.isnan(value):
        return None
    return int(value) if float(value).is_integer() and abs(value) > 1 else float(value)
