"""The desk's page and the keepers' pages in a real browser: nothing fetched, nothing to scroll sideways, accessible."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import axe_core_python
import pytest

from neonatal_stats.chapters.desk import Moved, OnDesk, answer
from neonatal_stats.estimates.verdict import Outcome, Verdict
from neonatal_stats.report.desk import AtDesk, _block, among_html, desk_html
from neonatal_stats.report.desk_farm import Done
from neonatal_stats.season.settings import Settings
from tests.chapters.test_desk import counted, usual
from tests.report.browser import opened

pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning")
AXE = Path(axe_core_python.__file__).parent / "axe.min.js"
MADE_ON = date(2026, 6, 1)


def at_desk(language: str) -> AtDesk:
    """Twelve farms, one of them a bad one, one with a plan, and one that could not be read."""
    settings = Settings(language=language)
    farms = [OnDesk(name, counted(*counts)) for name, counts in (usual() | {"Fell": (75, 250)}).items()]
    kept = (("Dry pens", "yes", Outcome.NO_CHANGE), ("Scan the ewes", "no", Outcome.NOT_RECORDED))
    farms[0] = replace(
        farms[0], moved=Moved("2025", -0.02, -0.06, 0.02, Verdict.NO_CLEAR), kept=kept, beside="within"
    )
    desk = answer(farms, settings)
    block = _block(desk, several=False)
    done = [Done(one.name, one.name.lower(), births=250) for one in farms]
    failed = Done("Moor <b>", "moor-b", "births.csv: it is empty")
    spoken = {one.name: {"language": language, "spelling": "british", "region": ""} for one in farms}
    return AtDesk((block,), (*done, failed), settings, block.voice, spoken, MADE_ON)


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("kind", ["desk", "among"])
def test_pages_in_a_browser(kind: str, language: str, tmp_path: Path) -> None:
    found = at_desk(language)
    text = desk_html(found, tmp_path) if kind == "desk" else among_html(found, found.blocks[0], "Fell")
    path = tmp_path / f"{kind}.html"
    path.write_text(text, encoding="utf-8")
    for width in (390, 1100):
        with opened(path, width=width) as (page, requests, errors):
            assert requests == [path.as_uri()]
            assert errors == []
            wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            assert page.evaluate(wide) <= 0
            if width < 1100:
                continue
            page.evaluate(AXE.read_text(encoding="utf-8"))
            run = "axe.run({exclude: [['.drawing svg']]}, {resultTypes: ['violations']})"
            broken = page.evaluate(run)["violations"]
            assert [(one["id"], [node["html"] for node in one["nodes"]]) for one in broken] == []


def test_the_desk_says_who_who_not_and_escapes_what_a_farm_is_called(tmp_path: Path) -> None:
    page = desk_html(at_desk("en"), tmp_path)
    assert "Moor &lt;b&gt;" in page
    assert "<b>" not in page
    assert "Fell lost more than the other farms lead one to expect" in page
    assert "12 of 13 farms read." in page
    assert "1/2" in page  # agreed and done
    assert "within published ones" in page
