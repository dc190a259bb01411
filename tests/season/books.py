"""Small books of records as text, for tests that read them."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season

HEADS = "newborn_id,dam_id,born_on,species"


def read(text: str, map_text: str = "") -> Season:
    """The season of one CSV text, through a map where one is given."""
    with tempfile.TemporaryDirectory() as folder:
        path, map_path = Path(folder) / "lambs.csv", Path(folder) / "map.toml"
        path.write_text(text, encoding="utf-8")
        if map_text:
            map_path.write_text(map_text, encoding="utf-8")
        return read_season(path, map=map_path if map_text else None)


def book(heading: str, cells: Sequence[str], heads: str = HEADS) -> str:
    """A book in which every row is one newborn of a dam of its own; the cells may hold several columns."""
    if "," not in heading:
        cells = [f'"{cell}"' if "," in cell else cell for cell in cells]
    rows = [
        f"{place:03d},{500 + place},2026-04-{1 + place % 28:02d},sheep,{cell}"
        for place, cell in enumerate(cells)
    ]
    return "\n".join([f"{heads},{heading}", *rows]) + "\n"


def fates(season: Season) -> dict[str, str]:
    """What became of each newborn by its number: dead, alive, not written, not readable."""
    both = [season.births, season.open_births]
    return {str(row["newborn_id"]): str(row["outcome"]) for frame in both for row in frame.to_dict("records")}


def said(season: Season, ended: str = "") -> list[str]:
    """The problems that the season's list holds."""
    lines = season.problems if not ended else season.problems[season.problems["ended"] == ended]
    return [str(problem) for problem in lines["problem"]]
