"""The adviser's desk: the bad farm of twelve, farms that are alike, farms not compared, letters for names."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from neonatal_stats.chapters import desk
from neonatal_stats.chapters.counted.desk import FEW, SEASON, WATCHED, Desk, OnDesk, desk_window
from neonatal_stats.chapters.desk import answer, jointly
from neonatal_stats.measures.desk_farm import FarmMeasures, as_json, farm_measures, from_json, pooled
from neonatal_stats.measures.farms import expected_by_what_is_recorded, named_farms
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import printed
from neonatal_stats.words import Verdict
from tests.chapters.build import season
from tests.chapters.flocks import flock

NAMES = ["Brook", "Crag", "Dale", "Fell", "Garth", "Heath", "Knoll", "Marsh", "Ridge", "Tarn", "Wold", "Yard"]
SETTINGS = Settings()


@cache
def counted(lost: int, n: int, **more: Any) -> FarmMeasures:
    """A farm of so many newborns in litters of two, so many of them lost."""
    rows = flock([({}, lost, n)], litter=2, **more)
    of = season(rows)
    return farm_measures(of, of.under_review, SETTINGS)


def on_desk(lost: dict[str, tuple[int, int]], **more: Any) -> Desk:
    return answer([OnDesk(name, counted(*counts, **more)) for name, counts in lost.items()], SETTINGS)


def usual() -> dict[str, tuple[int, int]]:
    """Twelve farms of 250 newborns, 24 to 35 lost."""
    return {name: (24 + place, 250) for place, name in enumerate(NAMES)}


def said(result: Desk) -> str:
    return " ".join(sentence.text for sentence in desk.sentences(result))


def test_of_twelve_farms_the_bad_one_is_named_at_once_and_stands_first() -> None:
    result = on_desk(usual() | {"Fell": (75, 250)})
    assert result.farms["name"].iloc[0] == "Fell"
    assert result.named["name"].tolist() == ["Fell"]
    first = desk.sentences(result)[0]
    assert first.verdict is Verdict.CLEAR
    assert first.text.startswith(
        "Fell lost more than the other farms lead one to expect: 75 of 250 (30.0\u00a0%)"
    )
    drawn = desk.figures(result)[0]
    assert "Fell" in drawn.alt


def test_the_bad_farm_leads_in_nearly_every_desk_and_no_other_does() -> None:
    # tests/simulations/desk.txt: of 12 farms one with three times the odds is named in 95 % of desks, and first in all
    rng = np.random.default_rng(12)
    n, named, others = np.full(12, 480.0), 0, 0
    for _ in range(60):
        risk = np.full(12, 0.12)
        risk[0] = 0.29
        events = rng.binomial(480, risk).astype(float)
        found = named_farms(events, n, n * events.sum() / n.sum(), np.full(12, 1.2), SETTINGS)[2]
        named, others = named + int(found[0]), others + int(found[1:].any())
    assert named >= 57
    assert others <= 12  # a tenth of 60, and two standard errors and a half


def test_where_farms_are_alike_none_is_named_and_their_order_says_nothing() -> None:
    result = on_desk(usual())
    assert result.named.empty
    assert not result.spread
    assert "No farm clearly lost more" in said(result)
    assert "their order says nothing of where to go first" in said(result)


def test_of_many_farms_the_first_are_drawn_and_all_stand_in_the_table() -> None:
    result = on_desk({f"Farm {place}": (24 + place, 250) for place in range(24)})
    assert "The first 20 are drawn; all of them stand in the table." in said(result)
    assert len(desk.tables(result)[0].frame) == 24


def test_of_one_farm_it_is_said_that_there_is_nothing_to_hold_it_against() -> None:
    result = on_desk({"Brook": (20, 250)})
    assert "so there is nothing to hold it against; lost by" in said(result)
    assert desk.figures(result) == ()
    assert result.farms["excess"].isna().all()
    assert len(desk.among_sentences(result, "Brook")) == 2


def test_of_three_farms_none_is_named() -> None:
    result = on_desk({"Brook": (20, 250), "Dale": (20, 250), "Fell": (120, 250)})
    assert "Of fewer than four farms nobody can say" in said(result)
    assert result.named.empty


def test_farms_that_cannot_be_compared_are_listed_with_the_reason() -> None:
    farms = [OnDesk(name, counted(*counts)) for name, counts in usual().items()]
    farms += [OnDesk("Late", counted(20, 200, season="2025")), OnDesk("Small", counted(2, 6))]
    alive = {"born_alive": "yes", "died": "no", "seen_after_h": 100}
    gone = season([*flock([({}, 20, 100)]), *({"dam_id": f"x{place}", **alive} for place in range(60))])
    farms.append(OnDesk("Gone", farm_measures(gone, "2026", SETTINGS)))
    result = answer(farms, SETTINGS)
    why = result.farms.set_index("name")["why"]
    assert (why["Late"], why["Small"], why["Gone"]) == (SEASON, FEW, WATCHED)
    assert result.window.name == "end"
    assert result.farms["name"].tolist()[-3:] == ["Gone", "Late", "Small"]
    assert len(result.compared) == 12
    assert "since their season is another: Late (2025)." in said(result)
    assert "fewer than 10 lambs are known: Small." in said(result)
    assert "Your farm is not among those compared" in desk.among_sentences(result, "Late")[0]
    assert desk.among_figures(result, "Late") == ()


def test_one_farm_that_was_not_watched_to_the_end_takes_the_window_from_no_other() -> None:
    whole, early = counted(20, 200), replace(counted(20, 200), windows=("24 h", "7 d"))
    nineteen = {str(place): whole for place in range(19)}
    assert desk_window(nineteen | {"early": early}, SETTINGS).name == "end"
    assert desk_window({"whole": whole, "early": early}, SETTINGS).name == "7 d"


def test_no_other_farms_name_shows_on_a_keepers_page() -> None:
    result = on_desk(usual() | {"Fell": (75, 250)})
    told = " ".join(desk.among_sentences(result, "Dale"))
    figure = desk.among_figures(result, "Dale")[0]
    drawn = figure.svg() + figure.alt + figure.title
    assert not [name for name in NAMES if name in told + drawn]
    letter = result.farms.set_index("name").loc["Dale", "letter"]
    assert told.startswith(f"Your farm is {letter}: 26 of 250")
    assert "it is not told apart from them" in told
    bad = desk.among_sentences(result, "Fell")[0]
    assert "more than the other farms lead one to expect of it" in bad


def test_a_farm_that_leaves_a_column_blank_does_not_take_it_from_the_others() -> None:
    # worked by hand: singles lose 10 of 100 on A and twins 30 of 100; B writes no litter size and lost 20 of 100
    rows = {
        "A": flock([({"litter_size": 1}, 10, 100), ({"litter_size": 2}, 30, 100)]),
        "B": flock([({"litter_size": None}, 20, 100)]),
    }
    farms = {name: farm_measures(season(of), "2026", SETTINGS) for name, of in rows.items()}
    blank = farms["B"].newborns.assign(birth_type=None, parity_class=None, born_by=None)
    births = pooled(farms | {"B": replace(farms["B"], newborns=blank)}, SETTINGS)
    risk, columns = expected_by_what_is_recorded(
        births.assign(event=births["lost"].astype(bool)), ["birth_type"]
    )
    assert columns == {"A": ("birth_type",), "B": ()}
    assert sorted(set(np.round(risk[births["farm"] == "A"], 9))) == [0.1, 0.3]
    assert set(risk[births["farm"] == "B"]) == {60 / 300}


def test_two_species_are_decided_together() -> None:
    sheep = on_desk(usual() | {"Fell": (52, 250)})
    cattle = on_desk({name: (10 + place % 3, 100) for place, name in enumerate(NAMES)}, species="cattle")
    alone = sheep.farms.set_index("name").loc["Fell", "q"]
    both = jointly([sheep, cattle])
    assert [one.species for one in both] == ["sheep", "cattle"]
    assert both[0].farms.set_index("name").loc["Fell", "q"] > alone
    assert "calves" in said(both[1])


def test_what_is_kept_of_a_farm_comes_back_the_same_and_names_no_animal() -> None:
    farm = counted(30, 250)
    text = json.dumps(as_json(farm))
    back = from_json(json.loads(text))
    assert (back.season, back.windows, dict(back.records)) == (farm.season, farm.windows, dict(farm.records))
    assert back.newborns.to_dict("list") == farm.newborns.to_dict("list")
    assert back.process.equals(farm.process)
    assert "2026-0-1" not in text  # a dam


@pytest.mark.parametrize("lost", [0, 250])
def test_edges_are_answered_without_a_hitch(lost: int) -> None:
    result = on_desk(dict.fromkeys(NAMES[:5], (lost, 250)))
    shown = " ".join(str(printed(table).to_numpy().tolist()) for table in desk.tables(result))
    shown += said(result) + " ".join(desk.among_sentences(result, "Brook"))
    assert all(figure.png() for figure in (*desk.figures(result), *desk.among_figures(result, "Brook")))
    assert not {"nan", "inf", "NaN"} & set(shown.replace("(", " ").replace("'", " ").split())
    assert result.named.empty


def test_in_german_nothing_stays_english() -> None:
    farms = [OnDesk(name, counted(*counts)) for name, counts in (usual() | {"Fell": (75, 250)}).items()]
    english, german = (answer(farms, Settings(language=one)) for one in ("en", "de"))
    for one, other in zip(desk.sentences(english), desk.sentences(german), strict=True):
        assert one.text != other.text
    headings = [column.heading for table in desk.tables(german) for column in table.shown]
    assert "Überschuss, eingezogen" in headings
    assert "verlor mehr, als die anderen Betriebe erwarten lassen" in desk.sentences(german)[0].text
