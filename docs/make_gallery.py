"""Make the README's pictures anew from the demo records: `python -m docs.make_gallery` (needs Chromium)."""

from __future__ import annotations

import shutil
import sys
import tempfile
from datetime import date
from pathlib import Path

from playwright.sync_api import sync_playwright

from docs.sight import SIGHTS, sheet
from neonatal_stats.report.review import Review, build
from neonatal_stats.report.write import write_review
from neonatal_stats.season.read import read_season

ROOT = Path(__file__).parents[1]
GALLERY = ROOT / "docs" / "gallery"
DEMO = ROOT / "data" / "demo"
FIGURES = 9


def main() -> None:
    """Review the demo hill flock, photograph the page, copy one figure of each chapter."""
    season = read_season(sorted(DEMO.glob("hill_sheep*.csv")), settings=DEMO / "settings.toml")
    review = build(season, made_on=date(2026, 6, 1))
    shutil.rmtree(GALLERY, ignore_errors=True)
    GALLERY.mkdir(parents=True)
    with tempfile.TemporaryDirectory() as folder:
        page = write_review(review, Path(folder) / "review")
        _photograph(page, GALLERY / "page-top.png", width=1000, height=1150)
        _photograph(page, GALLERY / "page-phone.png", width=360, height=900)
        _photograph(page.with_name("keeper.html"), GALLERY / "keeper.png", width=794, height=1123)
    for sight in ("", *SIGHTS):
        (GALLERY / _sheet_name(sight)).write_bytes(sheet(review.figures, sight))
    _index(review)


def _sheet_name(sight: str) -> str:
    return f"all-figures{f'-{sight}' if sight else ''}.png"


def _photograph(page: Path, picture: Path, *, width: int, height: int) -> None:
    program = shutil.which("chromium") or sys.exit("Chromium is needed: apt-get install chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox", "--disable-gpu"])
        tab = browser.new_page(viewport={"width": width, "height": height})
        tab.goto(page.as_uri())
        tab.screenshot(path=str(picture))
        browser.close()


def _index(review: Review) -> None:
    lines = [
        "# Gallery",
        "",
        "Real output of the review of the demo hill flock, which is invented.",
        "Made anew by `python -m docs.make_gallery`.",
        "",
        "![The top of the page](page-top.png)",
        "",
        "On a phone, and the keeper's summary:",
        "",
        '<img src="page-phone.png" width="240" alt="The page on a phone"> '
        '<img src="keeper.png" width="420" alt="The keeper\'s summary, one side of A4">',
        "",
    ]
    for section in review.sections:
        if section.figures and sum(line.startswith("## ") for line in lines) < FIGURES:
            figure = section.figures[0]
            (GALLERY / f"{figure.name}.png").write_bytes(figure.png())
            lines += [
                f"## {section.title}",
                "",
                section.question,
                "",
                f"![{figure.alt}]({figure.name}.png)",
                "",
            ]
    lines += ["## Every figure, as others see it", ""]
    lines += [f"- [{sight or 'as drawn'}]({_sheet_name(sight)})" for sight in ("", *SIGHTS)]
    lines += ["", "The sheets are made by `docs/sight.py`, which names the source of its colours.", ""]
    (GALLERY / "README.md").write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
