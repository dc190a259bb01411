"""The reviews of the demo herds, each made once and read by many tests; all of them whole, by ``herd`` and language."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from neonatal_stats.chapters import agreed
from neonatal_stats.report.review import Review, build
from neonatal_stats.season.model import Season, in_focus
from neonatal_stats.season.plan import read_plan
from neonatal_stats.season.read import read_season
from neonatal_stats.words import Voice
from tests.conftest import DEMO, MADE_ON

SHEEP, GOATS, COWS = "hill_sheep", "dairy_goats", "suckler_cows"
HERDS = {SHEEP: "settings.toml", GOATS: "dairy_goats_settings.toml", COWS: "suckler_cows_settings.toml"}
PLANS = {SHEEP: "plan_hill_sheep.csv", GOATS: "plan_dairy_goats.csv", COWS: "plan_suckler_cows.toml"}
LAST = "hill_sheep, its last season alone"


def season_of(herd: str, language: str = "en", *, plan: bool = False) -> Season:
    """All seasons of a demo herd with feeds, samples and weather, as its settings read them; or `LAST`."""
    return _otherwise(herd, language, plan) if language != "en" or plan else _read(herd)


@cache
def _otherwise(herd: str, language: str, plan: bool) -> Season:
    made = _read(herd)
    actions = read_plan(DEMO / PLANS[herd], made.settings).actions if plan else ()
    return replace(made, settings=replace(made.settings, language=language, plan=actions))


@cache
def _read(herd: str) -> Season:
    """The same in English, without its plan."""
    if herd == LAST:
        return in_focus(_read(SHEEP), _read(SHEEP).under_review)
    return read_season(sorted(DEMO.glob(f"{herd}*.csv")), settings=DEMO / HERDS[herd])


def review_of(herd: str, language: str = "en", *, plan: bool = False) -> Review:
    """The whole review of a demo herd, of its plan too where asked for."""
    return _with_plan(herd, language) if plan else _made(herd, language)[0]


def said_of(herd: str, language: str) -> frozenset[str]:
    """Every template that was said while the chapters of that review were asked."""
    return _made(herd, language)[1]


@cache
def _made(herd: str, language: str) -> tuple[Review, frozenset[str]]:
    with pytest.MonkeyPatch.context() as patch:
        heard = hearing(patch)
        return build(season_of(herd, language), made_on=MADE_ON), frozenset(heard)


@cache
def _with_plan(herd: str, language: str) -> Review:
    """The same sections behind that of the plan; that a plan changes none of them is held by `test_what_to_do.py`."""
    plain, planned = review_of(herd, language), season_of(herd, language, plan=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("neonatal_stats.report.review.in_reading_order", lambda *_: (agreed,))
        alone = build(planned, made_on=MADE_ON)
    return replace(plain, season=planned, sections=(*alone.sections, *plain.sections))


def hearing(patch: pytest.MonkeyPatch) -> set[str]:
    """A set that fills with every template said from now on."""
    heard: set[str] = set()
    say = Voice.say

    def noted(self: Voice, template: str, **values: str) -> str:
        heard.add(template)
        return say(self, template, **values)

    patch.setattr(Voice, "say", noted)
    return heard
