"""Planning: newborns needed, losses avoidable and their cost, dams that lost again, what to record."""

from __future__ import annotations

import math

import pytest

from neonatal_stats.chapters import groups, planning
from neonatal_stats.chapters.counted.planning import to_record
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import printed
from neonatal_stats.words import Verdict
from tests.chapters.build import season
from tests.chapters.flocks import flock


def spoken(result: planning.Planning) -> str:
    return " ".join(sentence.text for sentence in planning.sentences(result))


def test_newborns_needed_as_power_prop_test_gives() -> None:
    # R stats::power.prop.test(p1 = 0.2, p2 = 0.1, power = 0.8): n = 198.96; a fall of 50 % from 20 of 100, singles
    result = planning.answer(season(flock([({"litter_size": 1}, 20, 100)])))
    half = result.needed.set_index("fall").loc[0.5]
    assert (half["p0"], half["p1"], half["n"]) == (pytest.approx(0.2), pytest.approx(0.1), 199)
    assert "From" in printed(planning.tables(result)[0]).columns


def test_avoidable_losses_and_cost_by_hand() -> None:
    # worked by hand: 30 of 60 outdoors, 54 of 540 indoors: 30 - 60 x 0.1 = 24, a season of one; at 50 each 1,200
    rows = flock([({"birth_place": "outdoors"}, 30, 60), ({"birth_place": "indoors"}, 54, 540)])
    result = planning.answer(season(rows, price=50.0, currency="EUR"))
    first = result.avoidable.iloc[0]
    assert first["saved"] == pytest.approx(24)
    assert first["cost"] == pytest.approx(1200)
    assert 0 < first["saved_low"] < 24 < first["saved_high"]
    said = spoken(result)
    assert (
        "Lambs born outdoors had about 24 losses a season more than the risk of the rest would give" in said
    )
    assert "worth 1\u202f200 EUR" in said
    assert "84, worth 4\u202f200 EUR at 50 EUR each" in said  # 84 x 50


def test_avoidable_losses_are_a_season() -> None:
    rows = [
        row
        for name in ("2025", "2026")
        for row in flock(
            [({"birth_place": "outdoors"}, 30, 60), ({"birth_place": "indoors"}, 54, 540)], season=name
        )
    ]
    assert planning.answer(season(rows)).avoidable.iloc[0]["saved"] == pytest.approx(24)


def test_without_a_price_no_cost_is_said() -> None:
    result = planning.answer(season(flock([({"litter_size": 1}, 5, 50)])))
    assert "No price of a lamb is set" in spoken(result)
    shown = [column.heading for table in planning.tables(result) for column in table.shown]
    assert "Design effect" in shown
    assert not [heading for heading in shown if "Cost" in heading or "orth" in heading]


def test_dams_that_lost_again_beside_chance() -> None:
    # worked by hand: ten ewes, two lose in each season: by chance 10 x 0.2 x 0.2 = 0.4; here the same two
    rows = [
        {"dam_id": f"E{ewe}", "season": name, "litter_size": 1, "died": "yes" if ewe < 2 else "no"}
        for name in ("2025", "2026")
        for ewe in range(10)
    ]
    found = planning.answer(season(rows)).repeat
    assert (found.observed, found.dams) == (2, 10)
    assert found.expected == pytest.approx(0.4)
    assert "2 of 10 ewes seen in more than one season lost lambs in two or more" in spoken(
        planning.answer(season(rows))
    )


def test_what_to_record_counts_only_what_says_something() -> None:
    rows = flock(
        [
            ({"suck_reflex": "not checked", "sex": "male"}, 0, 3),
            ({"suck_reflex": "weak", "sex": "unknown"}, 1, 1),
        ]
    )
    rows += flock([({"born_alive": "no", "suck_reflex": None, "sex": "female"}, 1, 1)], died_after_h=None)
    found = to_record(season(rows).births, Settings()).set_index("column")
    assert list(found.loc["suck_reflex", ["recorded", "n"]]) == [1, 4]  # of those born alive
    assert list(found.loc["sex", ["recorded", "n"]]) == [4, 5]
    assert list(found.loc["cause", ["recorded", "n"]]) == [0, 1]  # lost after a live birth, no cause given
    assert found.loc["birth_weight_kg", "recorded"] == 0
    assert not found.loc["suck_reflex", "enough"]


def test_columns_are_named_as_a_keeper_reads_them() -> None:
    result = planning.answer(season(flock([({"litter_size": 1}, 3, 30)])))
    said = next(sentence.text for sentence in planning.sentences(result) if sentence.role == "record next")
    assert "birth weight (kg)" in said
    table = next(table for table in planning.tables(result) if table.name == "planning-record")
    assert "birth weight (kg)" in printed(table)["Column"].tolist()
    assert "_" not in said + "".join(printed(table)["Column"])


def test_only_what_can_be_changed_is_told_as_a_saving() -> None:
    rows = flock([({"litter_size": 1}, 20, 300), ({"litter_size": 2}, 90, 300)])
    assert planning.answer(season(rows)).avoidable.empty
    assert "more than the risk of the rest" not in spoken(planning.answer(season(rows)))


def test_what_a_group_could_save_is_told_only_where_the_page_calls_the_group_clear() -> None:
    rows = flock([({"birth_place": "outdoors"}, 30, 60), ({"birth_place": "indoors"}, 54, 540)])
    result = planning.answer(season(rows))
    key = result.avoidable.iloc[0]["key"]
    assert key in {claim.key for claim in groups.claims(groups.answer(season(rows)))}
    assert "Lambs born outdoors had about 24 losses a season more" in spoken(result)
    said = planning.sentences(result, {key: Verdict.LEANING})
    assert "more than the risk of the rest" not in " ".join(sentence.text for sentence in said)


def test_fewer_dams_that_lost_again_than_chance_gives_are_not_called_unlucky() -> None:
    # worked by hand: ten ewes, five lose in each season, never the same: 0 where chance gives 10 x 0.5 x 0.5 = 2.5
    rows = [
        {"dam_id": f"E{ewe}", "season": name, "litter_size": 1, "died": "yes" if (ewe < 5) is early else "no"}
        for name, early in (("2025", True), ("2026", False))
        for ewe in range(10)
    ]
    result = planning.answer(season(rows))
    assert result.repeat.observed < result.repeat.expected
    assert "no more than chance gives" in spoken(result)
    assert "luck" not in spoken(result)


def clusters(p0: float, p1: float, n: float, k: float) -> float:
    """Hayes & Bennett (1999) Int J Epidemiol 28:319-326, clusters in each arm; 7.849 is (1.960 + 0.842)^2."""
    return 1 + 7.849 * ((p0 * (1 - p0) + p1 * (1 - p1)) / n + k**2 * (p0**2 + p1**2)) / (p0 - p1) ** 2


def test_a_single_season_is_planned_with_a_usual_swing_and_says_that_one_and_one_show_nothing() -> None:
    result = planning.answer(season(flock([({"litter_size": 1}, 100, 500)])))
    assert (result.swing.seasons, result.swing.taken) == (1, 0.20)
    quarter = result.needed.set_index("fall").loc[0.25]
    assert quarter["seasons"] == math.ceil(clusters(0.2, 0.15, 500, 0.2))
    assert math.isnan(quarter["n_2"])
    half = result.needed.set_index("fall").loc[0.5, "n_8"]
    assert clusters(0.2, 0.1, half, 0.2) <= 8.01 < clusters(0.2, 0.1, half - 1, 0.2) + 0.02
    said = spoken(result)
    assert "cannot be measured on 1 of them: 20\xa0% of their loss is taken" in said
    assert "never with one and one" in said
    assert f"{int(quarter['seasons'])} seasons before and" in said
    shows = result.shows.set_index("seasons")["fall"]
    assert math.isnan(shows[1])
    assert clusters(0.2, 0.2 * (1 - shows[8]), 500, 0.2) == pytest.approx(8, rel=1e-3)


def test_the_swing_is_measured_from_three_seasons_on() -> None:
    """10, 20 and 15 % of 400 singles: s2 0.0025, of which chance gives 0.15 x 0.85 / 400; worked by hand."""

    def swung(*lost: int) -> planning.Planning:
        rows = [
            row
            for place, one in enumerate(lost)
            for row in flock([({"litter_size": 1}, one, 400)], season=str(2020 + place))
        ]
        return planning.answer(season(rows))

    wild, calm = swung(40, 80, 60), swung(61, 59, 60)
    measured = math.sqrt(0.0025 - 0.15 * 0.85 / 400) / 0.15
    assert (wild.swing.measured, wild.swing.taken) == (pytest.approx(measured), pytest.approx(measured))
    assert (calm.swing.measured, calm.swing.taken) == (0.0, 0.10)
    assert (wild.needed["seasons"] > calm.needed["seasons"]).all()
    assert wild.needed["n"].tolist() == calm.needed["n"].tolist()  # halves of one season share its swing
    assert "swing by 31\xa0% of their loss beyond chance" in spoken(wild)
    assert "10\xa0% is taken" in spoken(calm)


@pytest.mark.parametrize(("lost", "n"), [(0, 30), (30, 30), (1, 1), (0, 1)])
def test_edges_are_answered_without_a_hitch(lost: int, n: int) -> None:
    result = planning.answer(season(flock([({"litter_size": 1}, lost, n)])))
    shown = spoken(result) + " ".join(
        str(printed(table).to_numpy().tolist()) for table in planning.tables(result)
    )
    assert not {"nan", "inf", "NaN"} & set(shown.replace("(", " ").replace("'", " ").split())
    assert planning.figures(result) == ()
    assert planning.method(result).sources
    if lost in (0, n):
        assert "how many births would show a fall cannot be worked out" in shown
