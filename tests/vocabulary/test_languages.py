"""The trade's words by species and region: ram, buck and bull; first-calvers; marking, docking and tailing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from neonatal_stats.chapters import birth_type, losses
from neonatal_stats.season.settings import Settings, WrongSetting
from neonatal_stats.tables import printed
from neonatal_stats.vocabulary.languages import REGIONAL, REGIONS
from neonatal_stats.vocabulary.species import FORMS
from neonatal_stats.vocabulary.terms import SPECIES
from neonatal_stats.words import Voice
from neonatal_stats.words.names import label, phrase
from tests.chapters.build import season
from tests.chapters.flocks import flock


@pytest.mark.parametrize("region", REGIONS)
def test_a_region_names_only_species_and_forms_that_there_are(region: str) -> None:
    words = REGIONAL[region]
    assert set(words) <= {"", *SPECIES}
    assert {form for one in words.values() for form in one} <= set(FORMS)
    assert all(word for one in words.values() for word in one.values())


def test_a_region_that_is_not_known_is_refused_with_the_nearest() -> None:
    assert Settings(region="New Zealand").region == "New Zealand"
    with pytest.raises(WrongSetting, match=r"region.*is not accepted"):
        Settings(region="Atlantis")


def test_the_male_is_named_by_its_species() -> None:
    # common usage of the trade
    said = {
        name: Voice(species=name).say("{male}") for name in ("sheep", "goat", "cattle", "buffalo", "deer")
    }
    assert said == {"sheep": "ram", "goat": "buck", "cattle": "bull", "buffalo": "bull", "deer": "stag"}


@pytest.mark.parametrize(
    ("region", "words"),
    [  # common usage of the trade, from memory, unchecked
        ("UK", "tailing, put to the ram, rearing percentage"),
        ("Australia", "marking, joined, marking percentage"),
        ("New Zealand", "docking, mated, docking percentage"),
        ("North America", "docking, exposed to the ram, lamb crop"),
        ("", "marking, put to the ram, rearing percentage"),
    ],
)
def test_later_counts_have_the_regions_own_words(region: str, words: str) -> None:
    assert Voice(species="sheep", region=region).say("{marking}, {joined}, {crop}") == words


def test_cows_have_calvings_and_no_first_litter() -> None:
    cows, ewes = Voice(species="cattle"), Voice(species="sheep")
    assert phrase(cows, "parity_class", "first litter") == "calves of heifers and first-calvers"
    assert phrase(ewes, "parity_class", "first litter") == "lambs of ewes with their first litter"
    assert label(cows, "first litter") == "first calving"
    assert label(ewes, "first litter") == "first litter"
    assert "litter" not in phrase(cows, "parity_class", "second or third")
    american = Voice(species="cattle", region="North America")
    assert phrase(american, "first_litter", "first litter") == "calves of first-calf heifers"


def test_cows_in_german_have_kalbungen() -> None:
    cows = Voice(language="de", species="cattle")
    assert phrase(cows, "parity_class", "first litter") == "Kälber von Färsen und Erstkalbenden"
    assert label(cows, "first litter") == "erste Kalbung"
    assert label(Voice(language="de", species="sheep"), "first litter") == "erster Wurf"
    assert cows.say("{joined}") == "zum Bullen gestellt"


def test_a_language_of_its_own_has_the_words_of_its_own_trade() -> None:
    assert Voice(language="de", species="sheep", region="Australia").say("{joined}") == "zum Bock gestellt"


def test_a_herd_of_cows_is_never_told_of_litters_of_the_dam() -> None:
    rows = flock(
        [({"dam_parity": 1}, 12, 60), ({"dam_parity": 2}, 6, 60), ({"dam_parity": 5}, 4, 60)],
        species="cattle",
    )
    result = birth_type.answer(season(rows))
    told = " ".join(one.text for one in birth_type.sentences(result))
    told += " ".join(printed(table).to_string() for table in birth_type.tables(result))
    assert "heifers and first-calvers" in told
    assert "first calving" in told
    assert "first litter" not in told
    assert "litters" not in told


def test_reared_per_hundred_joined_by_hand() -> None:
    # worked by hand: 6 dams joined; A rears 2, B 1 of 2, C none of 1, D 1, two have no birth: 4 of 6 dams, 67 per 100.
    # squares 4 + 1 + 1 = 6, less 6 x (2/3)^2 = 2.667, over 5: variance 0.6667; its error over 6 dams 0.3333
    fates = [("A", "no"), ("A", "no"), ("B", "no"), ("B", "yes"), ("C", "yes"), ("D", "no")]
    rows = [
        {"dam_id": dam, "born_alive": "yes", "died": died}
        | ({"died_after_h": 30} if died == "yes" else {"seen_after_h": 1100})
        for dam, died in fates
    ]
    expected = ({"season": "2026", "dams_put_to_male": 6},)
    of = season(rows, expected=expected, region="Australia")
    result = losses.answer(of)
    assert result.joined is not None
    assert (result.joined.reared, result.joined.dams) == (4, 6)
    assert result.joined.each == pytest.approx(4 / 6)
    assert result.joined.high - result.joined.each == pytest.approx(1.959964 / 3)
    (said,) = (one.text for one in losses.sentences(result) if "Reared per" in one.text)
    assert said == "Reared per 100 ewes joined: 67 (1 to 132), 4 lambs of 6 ewes."
    table = next(one for one in losses.tables(result) if one.name == "losses-joined")
    assert "The marking percentage of the trade is counted later, at marking or weaning" in table.note
    assert {"67", "1 to 132"} <= set(printed(table).iloc[0])
    flow = next(one for one in losses.tables(result) if one.name == "losses-flow-dams")
    assert printed(flow).iloc[0, 0] == "joined"


def test_nothing_is_said_per_dam_joined_where_more_gave_birth_than_were_joined() -> None:
    rows = [{"dam_id": str(n), "born_alive": "yes", "seen_after_h": 1100} for n in range(8)]
    fewer = season(rows, expected=({"season": "2026", "dams_put_to_male": 6},))
    assert losses.answer(fewer).joined is None
    assert losses.answer(replace(fewer, settings=Settings())).joined is None


def test_hard_pulls_and_turned_newborns_stand_apart_among_the_vaginal_births() -> None:
    rows = flock(
        [
            ({"delivery": "unassisted"}, 10, 100),
            ({"delivery": "hard assist"}, 6, 20),
            ({"delivery": "malpresentation corrected"}, 4, 20),
            ({"delivery": "caesarean"}, 8, 20),
            ({"delivery": "embryotomy"}, 2, 2),
        ]
    )
    result = birth_type.answer(season(rows))
    surgical = result.groups.set_index(["factor", "group"]).loc[("born_by", "born by surgery")]
    assert surgical[["events", "n", "events_versus", "n_versus", "versus"]].tolist() == [
        8, 20, 20, 140, "born vaginally"
    ]  # fmt: skip
    table = next(one for one in birth_type.tables(result) if one.name == "birth_type-kinds")
    shown = printed(table).set_index("Delivery")
    assert shown["surgical or vaginal birth"].tolist() == ["born vaginally"] * 3 + [
        "born by surgery", "born by embryotomy"
    ]  # fmt: skip
    counts = {name: (shown.loc[name, "Lost"]) for name in shown.index}
    assert counts == {
        "unassisted": "10", "hard assist": "6", "malpresentation corrected": "4", "caesarean": "8", "embryotomy": "2"
    }  # fmt: skip
    told = next(one for one in birth_type.sentences(result) if one.text.startswith("Vaginal births"))
    assert told.verdict is None
    assert "hard assist 6 of 20 (30.0\u00a0%); malpresentation corrected 4 of 20 (20.0\u00a0%)" in told.text
    assert "caesarean" not in told.text
    assert "embryotomy" not in told.text
