"""High-risk groups: counts by hand, the rows always shown, what may not be grouped by, the edges."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.chapters import groups
from neonatal_stats.chapters.groups import tried_sentence
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.measures.birth_factors import Factor, factors
from neonatal_stats.measures.risk_groups import TO_LEVELS, risk_groups, with_shrunken_share
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import printed
from neonatal_stats.words import Verdict, Voice
from tests.chapters.build import season
from tests.chapters.flocks import flock
from tests.chapters.twelve import twelve


def row_of(frame: pd.DataFrame, factor: str, level: str) -> Any:
    found = frame[(frame["factor"] == factor) & (frame["group"] == level) & (frame["with_factor"] == "")]
    assert len(found) == 1
    return found.iloc[0]


def spoken(result: groups.Groups) -> str:
    return " ".join(sentence.text for sentence in groups.sentences(result))


def test_excess_losses_by_hand() -> None:
    # worked by hand: 10 of 50 twins and 5 of 50 singles lost: 10 - 50 x 0.1 = 5 more, ratio 2, 10 of 15 losses
    rows = flock([({"litter_size": 1}, 5, 50), ({"litter_size": 2}, 10, 50)])
    twins = row_of(groups.answer(season(rows)).groups, "several", "twin or more")
    assert (twins["events"], twins["n"], twins["events_versus"], twins["n_versus"]) == (10, 50, 5, 50)
    assert twins["estimate"] == pytest.approx(2)
    assert twins["excess"] == pytest.approx(5)
    assert twins["share_of_events"] == pytest.approx(2 / 3)
    assert twins["excess_low"] < 0 < twins["excess_high"]


def test_the_twelve() -> None:
    # worked by hand: twins and more are B, C, E, F, nine lambs, of which 2, 4, 5, 9 and 10 were lost (8 left, and was
    # not); of the singles A, D, G only 6. First litters are A and B: 2 of the three lambs 1, 2, 3 lived.
    records = twelve()
    result = groups.answer(replace(records, settings=replace(records.settings, minimum_group=2)))
    twins = row_of(result.groups, "several", "twin or more")
    assert twins[["events", "n", "events_versus", "n_versus"]].tolist() == [5, 9, 1, 3]
    first = row_of(result.groups, "parity_class", "first litter")
    assert first[["events", "n"]].tolist() == [1, 3]
    surgery = row_of(result.groups, "born_by", "born by surgery")
    assert surgery[["events", "n"]].tolist() == [1, 1]
    assert surgery["verdict"] is Verdict.TOO_FEW
    weak = row_of(result.groups, "suck_class", "weak or absent")
    assert weak["n"] + weak["n_versus"] <= 11  # 4 was stillborn and cannot have been checked


def test_a_true_group_is_on_the_watch_list_and_chance_is_not() -> None:
    blocks = [({"suck_reflex": "weak", "sex": sex}, 15, 30) for sex in ("male", "female")]
    blocks += [({"suck_reflex": "strong", "sex": sex}, 27, 270) for sex in ("male", "female")]
    result = groups.answer(season(flock(blocks)))
    # worked by hand: 30 of 60 weak against 54 of 540: ratio 5, 30 - 60 x 0.1 = 24 more
    assert [(row.factor, row.group) for row in result.watch.itertuples()] == [
        ("suck_class", "weak or absent")
    ]
    assert result.watch.iloc[0]["excess"] == pytest.approx(24)
    assert "Watch list: lambs with a weak or absent suck reflex" in spoken(result)
    assert "30 of 60 (50.0" in spoken(result)
    pairs = result.groups[result.groups["with_factor"] == "sex"]
    assert (pairs["q"] > 0.1).all()  # each half does as badly as the whole: nothing beyond its levels
    beyond = pairs[pairs["low"] > 1]
    assert (
        len(beyond) == 2
    )  # both halves lost more than the rest of the flock, but no more than the other weak ones
    assert set(beyond["verdict"]) == {Verdict.NO_CLEAR}


def test_who_lost_less_is_never_on_the_watch_list_however_many_false_alarms_are_allowed() -> None:
    rows = flock([({"sex": "male"}, 32, 100), ({"sex": "female"}, 18, 100)])
    result = groups.answer(season(rows, false_discovery_share=0.995))
    assert set(result.watch["group"]) == {"male"}
    assert row_of(result.groups, "sex", "female")["high"] < 1


def test_rows_always_shown_even_when_there_is_little_to_say() -> None:
    rows = flock([({"litter_size": 1, "delivery": "unassisted"}, 5, 50), ({"delivery": "caesarean"}, 1, 3)])
    result = groups.answer(season(rows))
    assert len(result.always) == 6
    by_level = result.always.set_index("group")
    assert list(by_level.loc["born by surgery", ["events", "n"]]) == [1, 3]
    assert by_level["verdict"]["born by surgery"] == Verdict.TOO_FEW
    assert by_level.loc["twin or more", "n"] == 0
    assert not by_level.loc["weak or absent", "recorded"]
    said = spoken(result)
    assert "Lambs born by surgery: too few to say (1 of 3; the rest 5 of 50 (10.0" in said
    assert (
        "The records do not say: the ewe's litters so far, suck reflex at about 10 minutes, birth weight"
        in said
    )


def test_suck_reflex_groups_only_those_born_alive() -> None:
    rows = flock([({"suck_reflex": "strong"}, 2, 20), ({"suck_reflex": "weak"}, 5, 20)])
    rows += flock([({"suck_reflex": "absent", "born_alive": "no"}, 15, 15)], sex="male")
    weak = row_of(groups.answer(season(rows)).groups, "suck_class", "weak or absent")
    assert (weak["events"], weak["n"]) == (5, 20)


def test_nothing_after_birth_forms_a_group() -> None:
    rows = flock(
        [({"mothered_up": "no", "fed_after_min": 300, "rearing": "artificial", "handled": "yes"}, 20, 40)]
    )
    rows += flock(
        [({"mothered_up": "yes", "fed_after_min": 30, "rearing": "dam", "handled": "no"}, 2, 60)], sex="male"
    )
    result = groups.answer(season(rows))
    assert not {"mothered_up", "fed_after_min", "rearing", "handled"} & set(result.groups["factor"])


def test_groups_of_the_same_newborns_are_named_once() -> None:
    rows = flock([({"delivery": "caesarean"}, 6, 20), ({"delivery": "unassisted"}, 8, 80)])
    result = groups.answer(season(rows))
    same = result.groups[result.groups["n"] == 20]
    assert same[["factor", "group"]].to_numpy().tolist() == [["born_by", "born by surgery"]]


def test_an_always_shown_level_has_its_counts_under_another_levels_name_too() -> None:
    # the very same newborns are triplets and born by surgery: named once in the list, by litter size; 6 of 20 against 8
    # of 80, and of the 80 ten have no delivery written down, 1 of them lost: 7 of 70 are the rest of those by surgery
    rows = flock([({"litter_size": 3, "delivery": "caesarean"}, 6, 20)])
    rows += flock([({"litter_size": 1, "delivery": "unassisted"}, 7, 70)], sex="male")
    rows += flock([({"litter_size": 1, "delivery": None}, 1, 10)], sex="male", dam_parity=4)
    result = groups.answer(season(rows))
    assert "born_by" not in set(result.groups["factor"][result.groups["n"] == 20])
    shown = result.always.set_index("group")
    counts = ["events", "n", "events_versus", "n_versus"]
    assert shown.loc["born by surgery", counts].tolist() == [6, 20, 7, 70]
    assert shown.loc["born by surgery", "estimate"] == pytest.approx(3)
    assert shown.loc["born by surgery", "q"] == shown.loc["twin or more", "q"]
    assert shown.loc["twin or more", counts].tolist() == [6, 20, 8, 80]
    assert shown.loc["first litter", "n"] == 0
    tables = {table.name: printed(table) for table in groups.tables(result)}
    assert tables["groups-always"].iloc[0, 1:3].tolist() == ["6", "20"]


@pytest.mark.quickly(3)
@pytest.mark.parametrize(
    ("blocks", "what"),
    [
        ([({"sex": "male"}, 5, 60)], "a single level"),
        ([({"sex": "male"}, 0, 30), ({"sex": "female"}, 9, 30)], "a level with no deaths"),
        ([({"sex": "male"}, 30, 30), ({"sex": "female"}, 0, 30)], "all deaths in one level"),
        ([({"sex": "male"}, 0, 30), ({"sex": "female"}, 0, 30)], "no deaths"),
        ([({"sex": "male"}, 30, 30), ({"sex": "female"}, 30, 30)], "all dead"),
        ([({"sex": "male"}, 1, 1)], "one newborn"),
        (
            [({"sex": "male", "born_alive": "no"}, 20, 20), ({"sex": "female", "born_alive": "no"}, 5, 5)],
            "stillborn",
        ),
    ],
)
def test_edges_are_answered_without_a_hitch(blocks: list[tuple[dict[str, Any], int, int]], what: str) -> None:
    result = groups.answer(season(flock(blocks)))
    shown = spoken(result) + " ".join(
        str(printed(table).to_numpy().tolist()) for table in groups.tables(result)
    )
    assert not {"nan", "inf", "NaN"} & set(shown.replace("(", " ").replace("'", " ").split()), what
    assert all(figure.png() for figure in groups.figures(result))
    assert groups.method(result).limits


def test_all_deaths_in_one_level_have_a_finite_one_sided_ratio() -> None:
    rows = flock([({"sex": "male"}, 12, 40), ({"sex": "female"}, 0, 40)])
    male = row_of(groups.answer(season(rows)).groups, "sex", "male")
    assert np.isnan(male["estimate"])
    assert np.isnan(male["high"])
    assert 1 < male["low"] < 100
    assert "at least" in spoken(groups.answer(season(rows)))


def test_closed_without_a_factor() -> None:
    records = season([{"dam_id": None, "litter_size": None, "born_at": None, "died": "no"}])
    births = records.births.drop(columns=["birth_type", "born_hour"])
    bare = replace(records, births=births)
    assert factors(births) == ()
    assert "nothing known at birth was recorded" in groups.missing(bare)[0]
    with pytest.raises(NotRecorded, match="nothing known at birth was recorded"):
        groups.answer(bare)


def test_shuffled_rows_give_the_same_groups() -> None:
    rng = np.random.default_rng(4)
    lost, litter = rng.random(300) < 0.2, np.repeat(np.arange(150), 2)
    codes = rng.integers(-1, 3, 300), rng.integers(0, 2, 300)

    def tried(order: np.ndarray) -> pd.DataFrame:
        found = [Factor(f"f{i}", ("a", "b", "c"), code[order]) for i, code in enumerate(codes)]
        return risk_groups(lost[order], litter[order], found, settings=Settings())

    as_written, shuffled = tried(np.arange(300)), tried(rng.permutation(300))
    pd.testing.assert_frame_equal(as_written, shuffled, rtol=1e-9)


def test_q_is_never_below_what_benjamini_and_hochberg_give_for_levels_alone() -> None:
    rng = np.random.default_rng(8)
    lost, litter = rng.random(400) < 0.15, np.arange(400)
    found = [Factor(f"f{i}", ("a", "b", "c"), rng.integers(0, 3, 400)) for i in range(4)]
    both, alone = (
        risk_groups(lost, litter, found, settings=Settings(), pairs=pairs) for pairs in (True, False)
    )
    levels = both[both["with_factor"] == ""]
    assert levels["q"].to_numpy() == pytest.approx(np.minimum(1, alone["q"].to_numpy() / TO_LEVELS))


def test_shrunken_risk_lies_between_the_group_and_the_flock() -> None:
    rng = np.random.default_rng(2)
    code = np.repeat(np.arange(4), 50)
    lost = rng.random(200) < np.array([0.05, 0.1, 0.2, 0.5])[code]
    levels = [Factor("f", ("a", "b", "c", "d"), code)]
    tried = risk_groups(lost, np.arange(200), levels, settings=Settings(), pairs=False)
    found = with_shrunken_share(tried, effect=1.0)
    flock_risk = lost.mean()
    inside = (found["shrunken_share"] - flock_risk) * (found["share"] - found["shrunken_share"])
    assert (inside > 0).all()


def test_the_model_holds_no_mediator_fixed_and_keeps_the_stillborn() -> None:
    # difficult births are lost through being stillborn and through a weak suck reflex; males are lost more too
    blocks: list[Any] = []
    for sex, more in (("male", 20), ("female", 0)):
        blocks += [
            ({"sex": sex, "delivery": "hard assist", "suck_reflex": "weak"}, 30 + more, 80),
            ({"sex": sex, "delivery": "hard assist", "born_alive": "no"}, 20, 20),
            ({"sex": sex, "delivery": "unassisted", "suck_reflex": "strong"}, 20 + more, 300),
        ]
    result = groups.answer(season(flock(blocks)))
    assert "suck_class" in set(result.watch["factor"])
    assert result.adjusted is not None
    assert "suck_class" not in set(result.adjusted.groups["factor"])
    assert (result.adjusted.n, result.adjusted.left_out) == (800, 0)
    said = [one for one in groups.sentences(result) if "in one model" in one.text]
    assert said
    assert all(
        one.claim for one in said
    )  # the model is told beside a group that the ledger passed, and only there
    none = {claim.key: Verdict.NO_CLEAR for claim in groups.claims(result)}
    assert "in one model" not in " ".join(one.text for one in groups.sentences(result, none))
    assert not [table for table in groups.tables(result, none) if table.name == "groups-adjusted"]


def test_a_bad_season_with_other_dams_makes_no_group() -> None:
    # worked by hand: within each season both ages are lost alike, 10 % and 40 %; the bad season has 160 old dams of 200
    # and the good one 40 of 200, so together 68 of 200 old against 32 of 200 young, a ratio of 2.1
    rows = []
    for name, old, young in (("2025", (4, 40), (16, 160)), ("2026", (64, 160), (16, 40))):
        rows += flock([({"dam_parity": 5}, *old), ({"dam_parity": 1}, *young)], season=name)
    result = groups.answer(season(rows))
    late = row_of(result.groups, "parity_class", "fourth or later")
    assert late["estimate"] == pytest.approx(1)
    assert late["excess"] == pytest.approx(0, abs=1e-9)
    assert "fourth or later" not in set(result.watch["group"])


def test_words_follow_the_pages_verdicts() -> None:
    rows = flock([({"suck_reflex": "weak"}, 30, 60), ({"suck_reflex": "strong"}, 27, 270)])
    result = groups.answer(season(rows))
    (weak,) = [claim for claim in groups.claims(result) if "weak" in claim.key]
    assert (weak.family, weak.events, weak.n, weak.period) == ("first hours", 30, 60, ("2026",))
    assert "Watch list" in spoken(result)
    leaning = {claim.key: Verdict.LEANING for claim in groups.claims(result)}
    text = " ".join(sentence.text for sentence in groups.sentences(result, leaning))
    assert "Watch list" not in text
    assert "it leans, but chance is not ruled out" in text


def test_a_group_is_checked_season_by_season() -> None:
    # worked by hand: the weak lose 15 of 30 against 27 of 270 in two seasons, and 3 of 30 against 60 of 270 in a third
    rows = []
    for name, weak, strong in (("2024", 15, 27), ("2025", 15, 27), ("2026", 3, 60)):
        rows += flock(
            [({"suck_reflex": "weak"}, weak, 30), ({"suck_reflex": "strong"}, strong, 270)], season=name
        )
    result = groups.answer(season(rows))
    assert result.watch[["seasons_more", "seasons_seen"]].to_numpy().tolist() == [[2, 3]]
    assert "They lost more in 2 of the 3 seasons with enough of them." in spoken(result)


def test_the_watch_list_says_which_records_and_by_when() -> None:
    rows = flock([({"suck_reflex": "weak"}, 30, 60), ({"suck_reflex": "strong"}, 27, 270)])
    said = spoken(groups.answer(season(rows)))
    assert re.search(r"In \d{4} they lost 30 of 60 \(50\.0\s%\) by \d+\sd, the rest 27 of 270", said)


def test_no_group_tried_is_not_called_a_group_that_lost_no_more() -> None:
    said = tried_sentence(Voice(species="sheep"), 0, 0, "7 d", 0.10)
    assert said.startswith("No groups could be tried")
