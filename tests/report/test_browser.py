"""The page in a real browser: private, readable on a phone, printable, accessible."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import axe_core_python
import pytest

from neonatal_stats.drawing.house import WIDTH_IN
from neonatal_stats.report.page import page_html
from neonatal_stats.report.review import build
from tests.chapters.flock import flock
from tests.conftest import MADE_ON
from tests.report.browser import UNFOLD, numbers_above, opened, words_seen

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
def test_nothing_scrolls_sideways_but_the_bar(hill_folder: Path, name: str) -> None:
    """At three widths; so nothing on the page needs a tab stop of its own; the bar scrolls by the links in it."""
    with opened(hill_folder / name) as (page, _, _errors):
        for fold in ("", UNFOLD):
            page.evaluate(fold)
            for width in (360, 768, 1280):
                page.set_viewport_size({"width": width, "height": 900})
                assert page.evaluate("document.documentElement.scrollWidth") <= width, (width, fold)
                assert not fold or page.evaluate(OVERFLOWING) == [], width
        assert page.locator("[tabindex]").count() == 0


@cache
def german_page() -> str:
    return page_html(build(flock().with_settings(language="de"), made_on=MADE_ON))


@pytest.mark.parametrize("width", [360, 820, 1280])
def test_nothing_scrolls_sideways_in_german(tmp_path: Path, width: int) -> None:
    """Whose words are longer."""
    (tmp_path / "review.html").write_text(german_page(), encoding="utf-8")
    with opened(tmp_path / "review.html", width=width) as (page, _, _errors):
        page.evaluate(UNFOLD)
        assert page.evaluate("document.documentElement.scrollWidth") <= width


OVERFLOWING = """[...document.querySelectorAll('body *')]
  .filter(one => !one.closest('svg, .bar') && getComputedStyle(one).overflowX !== 'visible')
  .filter(one => one.clientWidth > 0 && one.scrollWidth > one.clientWidth + 1)
  .map(one => `${one.tagName} ${one.className} in ${one.closest('[id]').id}`)"""


def test_on_a_phone_a_figure_is_as_wide_as_it_was_drawn(hill_folder: Path) -> None:
    with opened(hill_folder / "review.html", width=360) as (page, _, _errors):
        page.evaluate(UNFOLD)
        widths = page.evaluate("[...document.querySelectorAll('.drawing')].map(one => one.clientWidth)")
    assert set(widths) == {round(96 * WIDTH_IN)}


def test_on_a_phone_no_letter_of_a_figure_is_under_11_pixels(hill_folder: Path) -> None:
    with opened(hill_folder / "review.html", width=360) as (page, _, _errors):
        page.evaluate(UNFOLD)
        small = page.evaluate(
            "[...document.querySelectorAll('.drawing svg text')]"
            ".map(text => [text.closest('figure').id, text.textContent, parseFloat(getComputedStyle(text).fontSize)"
            " * text.ownerSVGElement.clientWidth / text.ownerSVGElement.viewBox.baseVal.width])"
            ".filter(([id, words, size]) => size < 11)"
        )
    assert small == []


def test_folds_open_without_script(hill_folder: Path) -> None:
    with opened(hill_folder / "review.html", script=False) as (page, _, _errors):
        fold = page.locator("details").first
        inside = fold.locator("p, table").first
        assert not inside.is_visible()
        fold.locator("summary").click()
        assert inside.is_visible()


def test_one_link_opens_every_fold_and_the_bar_leads_to_each_chapter(hill_folder: Path) -> None:
    with opened(hill_folder / "review.html", script=False) as (page, _, _errors):
        table = page.locator("details table").last
        assert not table.is_visible()
        page.locator(".paper a").click()
        assert table.is_visible()
        for link in page.locator(".bar a").all()[1:]:
            link.click()
            place = page.locator(str(link.get_attribute("href")))
            assert place.is_visible()
            assert place.locator("h2, h3").first.is_visible()
            assert page.locator(".bar").bounding_box()["y"] == 0


def test_every_chapter_has_a_way_back_to_the_top(hill_folder: Path) -> None:
    with opened(hill_folder / "review.html", script=False) as (page, _, _errors):
        chapters = page.locator("section.chapter").all()
        assert len(chapters) > 10
        assert all(chapter.locator("a.up[href='#start']").count() == 1 for chapter in chapters)
        chapters[-1].locator("a.up").click()
        assert page.locator("h1").bounding_box()["y"] > 0


def test_the_sentence_that_a_link_leads_to_is_marked_and_clear_of_the_bar(hill_folder: Path) -> None:
    with opened(hill_folder / "review.html", width=360, script=False) as (page, _, _errors):
        sentence = page.locator("p[id].clear").last
        shown = sentence.evaluate("one => getComputedStyle(one).backgroundColor")
        page.goto(f"{page.url}#{sentence.get_attribute('id')}")
        assert sentence.evaluate("one => getComputedStyle(one).backgroundColor") != shown
        bar = page.locator(".bar").bounding_box()
        assert sentence.bounding_box()["y"] >= bar["y"] + bar["height"]


def test_a_link_into_a_fold_opens_it(hill_folder: Path) -> None:
    with opened(hill_folder / "review.html", script=False) as (page, _, _errors):
        table = page.locator("details.vet figure.table").first
        page.goto(f"{page.url}#{table.get_attribute('id')}")
        assert table.is_visible()


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("name", PAGES)
def test_accessibility_audit_finds_nothing_serious(hill_folder: Path, name: str, dark: bool) -> None:
    """Folds closed and open; at night the colours alone differ, so there contrast alone is looked at, of all at once.

    Of each table its head and its first four rows: the others are of the same kind.
    """
    rules = ", runOnly: ['color-contrast']" if dark else ""
    with opened(hill_folder / name, dark=dark) as (page, _, _errors):
        page.evaluate(OF_EACH_KIND)
        page.evaluate(AXE.read_text(encoding="utf-8"))
        closed = [] if dark else _serious(page, rules)
        page.evaluate(UNFOLD)
        unfolded = _serious(page, rules)
    assert (closed, unfolded) == ([], [])


OF_EACH_KIND = """() => {
  for (const body of document.querySelectorAll('tbody')) [...body.rows].slice(4).forEach(row => row.remove());
  for (const drawing of document.querySelectorAll('.drawing svg')) drawing.replaceChildren();
}"""


def _serious(page: Any, rules: str) -> list[str]:
    """A drawing is one image, named by its words: its strokes are not looked at."""
    run = f"axe.run({{exclude: [['.drawing svg']]}}, {{resultTypes: ['violations']{rules}}})"
    found = page.evaluate(run)["violations"]
    return [f"{one['id']}: {one['help']}" for one in found if one["impact"] in ("serious", "critical")]


@pytest.mark.parametrize("name", PAGES)
def test_at_night_the_page_is_dark_and_its_figures_with_it(hill_folder: Path, name: str) -> None:
    light, dark = (
        ("rgb(255, 255, 255)", "rgb(34, 48, 58)"),
        ("rgb(21, 27, 32)", "rgb(228, 233, 236)"),
    )  # paper, ink
    for night, colours in ((False, light), (True, dark)):
        with opened(hill_folder / name, dark=night) as (page, _, _errors):
            body = page.evaluate("(s => [s.backgroundColor, s.color])(getComputedStyle(document.body))")
            assert tuple(body) == colours
            letters = page.evaluate(
                "[...document.querySelectorAll('.drawing svg text')].map(text => getComputedStyle(text).fill)"
            )
            assert (colours[1] in letters) is (name == "review.html")
            page.emulate_media(media="print")
            assert page.evaluate("getComputedStyle(document.body).backgroundColor") == light[0]


def test_the_page_is_within_its_bounds(hill_folder: Path) -> None:
    """The bounds of the page of four demo seasons."""
    assert (hill_folder / "review.html").stat().st_size < 1_600_000
    with opened(hill_folder / "review.html", width=1280, height=800) as (page, _, _errors):
        assert page.evaluate("document.querySelectorAll('*').length") <= 12_000
        assert 1_000 < len(words_seen(page)) <= 3_500


def test_the_first_screen_holds_few_numbers(hill_folder: Path) -> None:
    with opened(hill_folder / "review.html", width=1280, height=800) as (page, _, _errors):
        assert len(numbers_above(page, 800)) <= 25


def test_prints_to_a4_with_nothing_cut(hill_folder: Path, tmp_path: Path) -> None:
    pdf = tmp_path / "review.pdf"
    with opened(hill_folder / "review.html", width=A4_BETWEEN_MARGINS_PX) as (page, _, _errors):
        page.evaluate(UNFOLD)
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
