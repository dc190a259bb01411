"""The page in a real browser: private, readable on a phone, printable, accessible."""

from __future__ import annotations

import subprocess
from pathlib import Path

import axe_core_python
import pytest

from tests.report.browser import opened

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]

AXE = Path(axe_core_python.__file__).parent / "axe.min.js"
A4_BETWEEN_MARGINS_PX = 680  # 210 mm less two margins of 15 mm, at 96 px to the inch
PAGES = ("review.html", "keeper.html")


@pytest.mark.parametrize("name", PAGES)
def test_nothing_is_fetched_and_nothing_goes_wrong(hill_folder: Path, name: str) -> None:
    with opened(hill_folder / name) as (page, requests, errors):
        assert requests == [(hill_folder / name).as_uri()]
        assert errors == []
        assert page.locator("h1").count() == 1


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("width", [360, 768, 1280])
def test_no_sideways_scroll(hill_folder: Path, name: str, width: int) -> None:
    with opened(hill_folder / name, width=width) as (page, _, _errors):
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_folds_open_without_script(hill_folder: Path) -> None:
    with opened(hill_folder / "review.html", script=False) as (page, _, _errors):
        fold = page.locator("details").first
        inside = fold.locator("p, table").first
        assert not inside.is_visible()
        fold.locator("summary").click()
        assert inside.is_visible()


@pytest.mark.parametrize("name", PAGES)
def test_accessibility_audit_finds_nothing_serious(hill_folder: Path, name: str) -> None:
    with opened(hill_folder / name) as (page, _, _errors):
        page.evaluate("document.querySelectorAll('details').forEach(fold => fold.open = true)")
        page.evaluate(AXE.read_text(encoding="utf-8"))
        # A drawing is one image, named by its words: its strokes are not looked at.
        found = page.evaluate("axe.run({exclude: [['.drawing svg']]}, {resultTypes: ['violations']})")
    serious = [rule for rule in found["violations"] if rule["impact"] in ("serious", "critical")]
    assert [f"{rule['id']}: {rule['help']}" for rule in serious] == []


def test_prints_to_a4_with_nothing_cut(hill_folder: Path, tmp_path: Path) -> None:
    pdf = tmp_path / "review.pdf"
    with opened(hill_folder / "review.html", width=A4_BETWEEN_MARGINS_PX) as (page, _, _errors):
        page.evaluate("document.querySelectorAll('details').forEach(fold => fold.open = true)")
        page.emulate_media(media="print")
        too_tall = page.evaluate(
            "[...document.querySelectorAll('figure.picture')].filter(f => f.getBoundingClientRect().height > 990)"
            ".map(f => f.id)"
        )
        too_wide = page.evaluate(
            "[...document.querySelectorAll('table, .drawing svg')]"
            ".filter(t => t.getBoundingClientRect().right > document.documentElement.clientWidth + 1)"
            ".map(t => (t.closest('figure') || t).id)"
        )
        page.pdf(path=str(pdf), prefer_css_page_size=True, print_background=True)
    assert too_tall == []
    assert too_wide == []
    size = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, text=True, check=True).stdout
    assert "A4" in size


def test_the_keepers_summary_is_one_side(hill_folder: Path, tmp_path: Path) -> None:
    pdf = tmp_path / "keeper.pdf"
    with opened(hill_folder / "keeper.html") as (page, _, _errors):
        page.pdf(path=str(pdf), prefer_css_page_size=True)
    pages = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, text=True, check=True).stdout
    assert "Pages:           1\n" in pages
