"""One review of the demo hill flock, made once and read by many tests."""

from __future__ import annotations

import gc
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from neonatal_stats.report.folder import FIGURES, PARTS
from neonatal_stats.report.review import Review
from neonatal_stats.report.write import write_review
from neonatal_stats.season.model import Season
from tests.long_tests import long_tests

gc.disable()  # while tests are collected, until `pytest_collection_finish`
collect_ignore_glob = ["season/farm_files/*", "simulations/*", "benchmarks/*", "gold.py"]
"""Scripts and their parts, which hold no test; looking in them for examples would load them a second time."""

DEMO = Path(__file__).parents[1] / "data" / "demo"
LONGEST = (
    "output", "spark", "notebooks", "farm_files", "page_claims", "cli_manners", "short", "outcomes", "asking",
    "nobody_left", "simulations", "desk_command", "histories", "corpus", "frames",
)  # fmt: skip
"""Files that take ten seconds and more, the longest first, and before them all that read the demo reviews: so they are
begun, and no process is left waiting for the last of them."""
OF_THE_DEMO_REVIEWS = (
    "output", "keeper", "all_figures", "contrast", "translation", "browser", "places", "pdf", "formats", "in_short",
    "outbreak_told", "page_tables", "shown", "numbers", "what_to_do", "what_is_drawn", "curves_drawn",
)  # fmt: skip
"""Files that read them."""
MADE_ON = date(2026, 6, 1)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Tests of a file run one after another in one process, so that what they share is made once.

    So do the files that read the reviews of the demo herds.
    """
    from xdist.scheduler import LoadFileScheduling

    class Sharing(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file: str = super()._split_scope(nodeid)
            return (
                "the demo reviews" if Path(file).stem.removeprefix("test_") in OF_THE_DEMO_REVIEWS else file
            )

    config.option.loadscopereorder = False  # by how many tests a file has, which is not how long they take
    return Sharing(config, log)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Marks as ``slow`` what is measured to take long (`long_tests`), and what reads the whole review.

    Of a test marked ``quickly(n)``, or listed with n forms, one form in n stays quick.
    """
    forms, long = Counter[str](), long_tests()
    for item in items:
        name = item.nodeid.partition("[")[0]
        mark = item.get_closest_marker("quickly")
        one_in = long.get(name, 1)
        one_in = mark.args[0] if mark is not None and one_in else one_in
        if "hill_review" in getattr(item, "fixturenames", ()) or not one_in or forms[name] % one_in:
            item.add_marker(pytest.mark.slow)
        forms[name] += 1


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_collection_finish(session: pytest.Session) -> Iterator[None]:
    """The longest files first, whatever order the tests of a file stand in.

    What was loaded to get so far stays to the end: Python looks for rubbish among what comes after alone, and seldom.
    """
    place = {f"test_{name}.py": number for number, name in enumerate(LONGEST)}
    session.items.sort(key=lambda item: place.get(item.path.name, len(place)))
    yield
    gc.freeze()
    gc.set_threshold(5000, 10, 10)
    gc.enable()


@pytest.fixture(scope="session", autouse=True)
def _no_browser_is_left() -> Iterator[None]:
    """The browser that the tests have opened, if any, ends with them."""
    yield
    _end_the_browser()


@pytest.fixture(scope="module", autouse=True)
def _browser_is_shared_as_the_reviews_are(request: pytest.FixtureRequest) -> Iterator[None]:
    """The files that read the demo reviews share one; no other file is left one by another."""
    shared = request.path.stem.removeprefix("test_") in OF_THE_DEMO_REVIEWS
    if not shared:
        _end_the_browser()
    yield
    if not shared:
        _end_the_browser()


def _end_the_browser() -> None:
    if (browser := sys.modules.get("tests.report.browser")) is not None:
        browser.end()


@pytest.fixture
def undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages without the pictures of their chapters, for tests that read words: nothing is said while one is drawn."""
    from neonatal_stats.drawing import Figure

    monkeypatch.setattr(Figure, "inline", lambda figure: '<svg role="img"></svg>')


@pytest.fixture(scope="session")
def hill_season() -> Season:
    """Four seasons of the invented hill flock, with feeds, samples and weather."""
    from tests.demo import SHEEP, season_of

    return season_of(SHEEP)


@pytest.fixture(scope="session")
def hill_review() -> Review:
    """The review of its last season."""
    from tests.demo import SHEEP, review_of

    return review_of(SHEEP)


@pytest.fixture(scope="session")
def hill_folder(hill_review: Review, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that `review` writes, without the loose pictures."""
    out = tmp_path_factory.mktemp("review") / "out"
    write_review(hill_review, out, parts=set(PARTS) - {FIGURES})
    return out


@pytest.fixture(scope="session")
def last_season_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pages of a review of the last season alone, with its feeds, samples and weather."""
    from tests.demo import LAST, review_of

    out = tmp_path_factory.mktemp("last") / "out"
    write_review(review_of(LAST), out, parts=("page",))
    return out
