"""The yardstick on page one, on the keeper's sheet and in headline.json: by the interval, named, and no verdict."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from neonatal_stats.report.at_a_glance import at_a_glance
from neonatal_stats.report.folder import HEADLINE
from neonatal_stats.report.keeper import keeper_sheet
from neonatal_stats.report.page import page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.report.write import headline
from tests.chapters.build import season
from tests.chapters.flocks import flock
from tests.conftest import MADE_ON

pytestmark = pytest.mark.slow

SCHEMA = Path(__file__).parents[2] / "neonatal_stats" / "report" / "headline.schema.json"


@cache
def lost_of(lost: int, n: int, species: str = "sheep", language: str = "en", target: float = 0.0) -> Review:
    """A season with so many lost at 30 h, none born dead, all others seen to the end."""
    rows = flock([({"species": species}, lost, n)])
    targets = {"lost by 7 d": target, "fed in time": 0.8} if target else {}
    made = season(rows, language=language, targets=targets)
    return build(made, made_on=MADE_ON, parts=(HEADLINE,))


def band(review: Review) -> str:
    yardstick = at_a_glance(review).yardstick
    assert yardstick is not None
    return yardstick.band


@pytest.mark.parametrize(
    ("lost", "n", "said"),
    [
        (4, 400, "This season lies below."),
        (40, 400, "This season lies within."),
        (120, 400, "This season lies above."),
        (7, 40, "Chance leaves open where this season lies."),
    ],
)
def test_where_the_season_lies_is_said_by_its_interval(lost: int, n: int, said: str) -> None:
    """Lambs lost by a week: 5.4 to 17.2 % in three studies (Norway; Massif Central; a range flock of 1960)."""
    assert (
        band(lost_of(lost, n))
        == f"Published flocks: on average 5 to 17 in 100 by about that age (3 studies). {said}"
    )


def test_the_sources_stand_in_a_fold_with_number_and_definition_and_it_is_no_verdict() -> None:
    yardstick = at_a_glance(lost_of(120, 400)).yardstick
    assert yardstick is not None
    assert yardstick.no_verdict.startswith(
        "No verdict on the keeper: they differ from this flock in breed, weather"
    )
    (norway,) = [one for one in yardstick.sources if "57:65" in one]
    assert "stillborn, or died on days 0 to 5" in norway
    assert "6 435 715 newborns, Norway" in re.sub(r"\s", " ", norway)
    assert yardstick.sources[0].startswith("Counted differently: they count by 5 to 10")
    page = page_html(lost_of(120, 400))
    fold = page.index("Who published them")
    assert page.index('id="yardstick"') < fold < page.index('id="strip"')


def test_the_keepers_own_target_stands_in_the_same_place() -> None:
    for lost, said in ((4, "below it."), (120, "above it.")):
        yardstick = at_a_glance(lost_of(lost, 400, target=0.08)).yardstick
        assert yardstick is not None
        assert yardstick.target == f"Your own target: 8 in 100. This season lies {said}"
        assert 'stroke="var(--clear)"' in yardstick.mark


def test_a_target_stands_alone_where_nothing_is_published() -> None:
    """Kids by a week; but of those born alive by the end there is a band, which names its own share."""
    review = lost_of(60, 400, species="goat", target=0.08)
    yardstick = at_a_glance(review).yardstick
    assert yardstick is not None
    assert yardstick.band.startswith("Of those born alive, 15 in 100 were lost by 42 days. Published herds")
    assert yardstick.target.endswith("This season lies above it.")
    alone = at_a_glance(lost_of(60, 400, species="camelid", target=0.08)).yardstick
    assert alone is not None
    assert (alone.band, alone.no_verdict, alone.sources) == ("", "", ())
    assert "var(--rule)" not in alone.mark


def test_a_target_for_the_first_hours_goes_before_our_own_line() -> None:
    """70 of 100 fed in time is under our line of eight in ten, and over a target of six in ten by its interval."""
    rows = [
        {"dam_id": f"d{i}", "born_alive": "yes", "seen_after_h": 1008, "fed_after_min": 60 if i < 70 else 300}
        for i in range(100)
    ]
    told = {}
    for wanted in (0.6, 0.9):
        review = build(season(rows, targets={"fed in time": wanted}), made_on=MADE_ON, parts=(HEADLINE,))
        (row,) = at_a_glance(review).hours
        told[wanted] = (row.word.replace("\xa0", " "), keeper_sheet(review).change)
    assert told[0.6][0] == "your target 60 %"
    assert told[0.6][1] == ()
    assert told[0.9] == ("your target 90 %", ("Feed sooner: only 70 of 100 watched had fed within 2 hours.",))


def test_no_yardstick_no_comment() -> None:
    review = lost_of(60, 400, species="camelid")
    assert at_a_glance(review).yardstick is None
    assert "yardstick" not in page_html(review).split("</style>")[1]
    assert headline(review)["yardstick"] == []
    assert "published" not in keeper_sheet(review).range


def test_the_keeper_is_told_with_the_range() -> None:
    told = {lost: keeper_sheet(lost_of(lost, 400)).range for lost in (4, 40, 120)}
    assert told[4].endswith("; fewer than in published flocks.")
    assert told[40].endswith("; published flocks alike.")
    assert told[120].endswith("; more than in published flocks, which is no verdict.")
    assert re.fullmatch(r"Allowing for chance: \d+ to \d+\.", keeper_sheet(lost_of(7, 40)).range)


def test_it_is_german_in_german() -> None:
    assert band(lost_of(120, 400, language="de")) == (
        "Veröffentlichte Herden: im Mittel 5 bis 17 von 100 bis etwa zu diesem Alter (3 Studien). Diese Saison liegt "
        "darüber."
    )


def test_other_programs_get_every_share_with_its_band_and_the_schema_holds() -> None:
    found: dict[str, Any] = headline(lost_of(120, 400, target=0.08))
    jsonschema.validate(json.loads(json.dumps(found)), json.loads(SCHEMA.read_text(encoding="utf-8")))
    items = {one["key"]: one for one in found["yardstick"]}
    assert set(items) == {
        "born_dead",
        "lost_by_7_d",
        "lost_by_7_d_of_born_alive",
        "lost",
        "lost_of_born_alive",
    }
    week = items["lost_by_7_d"]
    assert (week["verdict"], week["against"], week["target"], week["studies"]) == ("above", "above", 0.08, 3)
    assert (week["band_low"], week["band_high"], week["from_h"], week["to_h"]) == (0.054, 0.172, 120, 240)
    assert (week["events"], week["n"]) == (120, 400)
    assert found["numbers"]["lost_by_7_d"]["share"] == week["share"]


def test_every_share_and_every_source_stands_in_a_table_of_the_losses() -> None:
    made = build(season(flock([({}, 120, 400)])), made_on=MADE_ON, parts=("tables",))
    tables = {table.name: table for table in made.tables}
    shares, figures = tables["losses-beside"].raw(), tables["losses-published"].raw()
    assert set(shares["verdict"]) <= {"below", "within", "above", "cannot say"}
    assert "no verdict on the keeper" in tables["losses-beside"].note
    assert set(figures["key"]) == set(shares["key"])
    assert figures[["source", "definition", "n"]].notna().all().all()
