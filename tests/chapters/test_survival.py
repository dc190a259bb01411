"""The survival of the twelve births, counted by hand."""

from __future__ import annotations

import pytest

from neonatal_stats.chapters import survival
from neonatal_stats.chapters.survival import Survival
from tests.chapters.build import season
from tests.chapters.twelve import twelve


@pytest.fixture(scope="module")
def result() -> Survival:
    return survival.answer(twelve())


def test_curve_of_those_born_alive(result: Survival) -> None:
    # worked by hand: the product of the twelve's docstring
    steps = result.whole[result.whole["events"] > 0]
    assert steps["age_h"].tolist() == [2, 6, 30, 200]
    assert steps["at_risk"].tolist() == [11, 10, 8, 6]
    assert steps["share"].tolist() == pytest.approx([10 / 11, 8 / 11, 7 / 11, 35 / 66])


def test_loss_of_all_born_begins_with_the_stillborn(result: Survival) -> None:
    steps = result.loss[result.loss["events"] > 0]
    assert steps["age_h"].tolist() == [0, 2, 6, 30, 200]
    assert steps["share"].tolist() == pytest.approx([1 / 12, 2 / 12, 4 / 12, 5 / 12, 37 / 72])


@pytest.mark.parametrize(
    ("birth_type", "age_h", "lost", "watched", "share"),
    [
        # worked by hand. Twins born alive: 2 (died 6 h), 3, 5 (died 30 h), 7, 8 (sold at 100 h)
        ("all", 24, 3, 8, 8 / 11),
        ("all", 168, 4, 6, 7 / 11),
        ("all", 1008, 5, 5, 35 / 66),
        ("single", 1008, 1, 2, 2 / 3),
        ("twin", 24, 1, 4, 4 / 5),
        ("twin", 168, 2, 2, 3 / 5),
        ("twin", 1008, 2, 2, 3 / 5),
        ("triplet", 1008, 2, 1, 1 / 3),
    ],
)
def test_at_the_ends_of_the_windows(
    result: Survival, birth_type: str, age_h: float, lost: int, watched: int, share: float
) -> None:
    rows = result.at_ages
    row = rows[(rows["birth_type"] == birth_type) & (rows["age_h"] == age_h)].iloc[0]
    assert (row["lost"], row["watched"]) == (lost, watched)
    assert row["share"] == pytest.approx(share)


def test_days_alive(result: Survival) -> None:
    # worked by hand: the area under 1, 10/11, 8/11, 7/11, 35/66 from 0 by way of 2, 6, 30 and 200 to 1008 h:
    # 2 + 4 x 10/11 + 24 x 8/11 + 170 x 7/11 + 808 x 35/66 = 559.75757...; over 24
    days = result.days.set_index("birth_type")["days"]
    hours = 2 + 4 * 10 / 11 + 24 * 8 / 11 + 170 * 7 / 11 + 808 * 35 / 66
    assert days["all"] == pytest.approx(hours / 24)
    assert days["single"] == pytest.approx((2 * 1008 + 6) / 3 / 24)
    assert result.days.set_index("birth_type").loc["triplet", ["low", "high"]].isna().all()  # one litter


def test_a_group_of_one_litter_has_no_interval(result: Survival) -> None:
    triplets = result.by_type[result.by_type["birth_type"] == "triplet"]
    assert triplets[["low", "high"]].isna().all(axis=None)
    assert triplets["share"].notna().all()


def test_who_is_in_the_curves(result: Survival) -> None:
    assert result.who == {
        "born alive": 11,
        "watched to the end": 5,
        "left alive or out of sight": 1,
        "died at a known hour": 5,
        "died on a known day": 0,
        "died between checks over an hour apart": 0,
        "died at an unknown age": 0,
    }
    assert result.counted.n == 11
    assert result.counted.total == 12


def test_few_born_alive_get_no_percentages(result: Survival) -> None:
    said = [sentence.text for sentence in survival.sentences(result)]
    assert said[0] == "Born alive: 11, too few to give shares; the table has the counts."
    assert not any("%" in text for text in said)


def test_a_share_is_not_carried_past_the_last_sight() -> None:
    rows = [{"dam_id": f"s{i}", "litter_size": 1, "born_alive": "yes"} for i in range(20)]
    rows += [
        {"dam_id": f"t{i // 2}", "litter_size": 2, "born_alive": "yes", "seen_after_h": 100}
        for i in range(20)
    ]
    rows[0] |= {"died": "yes", "died_after_h": 5}
    found = survival.answer(season(rows))
    at_end = found.at_ages[found.at_ages["age_h"] == found.end_h].set_index("birth_type")
    assert at_end.loc["single", "share"] == pytest.approx(19 / 20)
    assert at_end["share"].isna()["twin"]
    assert found.common_h == 96  # four completed days, to which both were watched


def test_between_two_checks_the_answer_is_a_range() -> None:
    # worked by hand: of 20 alive, one was seen alive at 20 h and found dead at 30 h; at 24 h 19/20 or 20/20 alive
    rows = [{"dam_id": str(i), "litter_size": 1, "born_alive": "yes"} for i in range(20)]
    rows[0] |= {"died": "yes", "alive_after_h": 20, "found_after_h": 30}
    between = survival.answer(season(rows)).between
    assert between is not None
    assert (between.between_checks, between.deaths, between.typical_h) == (1, 1, 10)
    first = between.frame.iloc[0]
    assert (first["age_h"], first["found"]) == (24, 1)
    assert (first["earliest"], first["latest"]) == (pytest.approx(19 / 20), 1)
    assert between.moves == pytest.approx(1 / 20)


def test_closed_without_ages_and_says_what_would_open_it() -> None:
    rows = [{"dam_id": str(i), "born_at": None, "died": "yes" if i < 5 else "no"} for i in range(20)]
    (said,) = survival.missing(season(rows))
    assert said.startswith("Not answered: the age at death is not known")
    assert "found_dead_at" in said
    stillborn = season([{"dam_id": "A", "born_alive": "no", "died": "yes"}])
    assert survival.missing(stillborn) == (
        "Not answered: no lamb was born alive, so there is no survival to follow.",
    )


@pytest.mark.filterwarnings("error")
def test_a_flock_of_which_neither_dam_nor_litter_is_known_has_its_curve_all_the_same() -> None:
    rows = [
        {
            "born_at": f"2026-03-{1 + n % 25:02d} 10:00",
            "born_alive": "yes",
            "died_after_h": 10 if n % 7 == 0 else None,
        }
        | ({} if n % 7 == 0 else {"seen_after_h": 1100})
        for n in range(60)
    ]
    found = survival.answer(season(rows))
    assert found.by_type.empty
    assert found.at_ages["birth_type"].unique().tolist() == ["all"]
