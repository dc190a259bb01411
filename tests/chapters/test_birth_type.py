"""The groups of the twelve births, counted by hand, and comparisons worked by hand on larger ones."""

from __future__ import annotations

from typing import Any

import pytest

from neonatal_stats.chapters import birth_type
from neonatal_stats.chapters.birth_type import BirthType
from neonatal_stats.words import Verdict
from tests.chapters.build import season
from tests.chapters.twelve import twelve


@pytest.fixture(scope="module")
def result() -> BirthType:
    return birth_type.answer(twelve())


def test_losses_of_every_group(result: BirthType) -> None:
    # worked by hand from the table of the twelve; weights: fifths cut at 2.62 and 3.96 kg (numbers 3.2 and 9.8 of 12)
    found = {(row.factor, row.group): (row.events, row.n) for row in result.groups.itertuples()}
    assert found == {
        ("several", "single"): (1, 3),
        ("several", "twin or more"): (5, 9),
        ("birth_type", "single"): (1, 3),
        ("birth_type", "twin"): (3, 6),
        ("birth_type", "triplet"): (2, 3),
        ("delivery", "unassisted"): (3, 8),
        ("delivery", "easy assist"): (0, 1),
        ("delivery", "hard assist"): (2, 2),
        ("delivery", "caesarean"): (1, 1),
        ("born_by", "born vaginally"): (5, 11),
        ("born_by", "born by surgery"): (1, 1),
        ("difficulty", "easy"): (3, 9),
        ("difficulty", "difficult"): (3, 3),
        ("sex", "female"): (2, 7),
        ("sex", "male"): (4, 5),
        ("weight_class", "lowest fifth"): (2, 3),
        ("weight_class", "middle"): (3, 6),
        ("weight_class", "highest fifth"): (1, 3),
        ("first_litter", "first litter"): (1, 3),
        ("first_litter", "later litter"): (5, 9),
        ("parity_class", "first litter"): (1, 3),
        ("parity_class", "second or third"): (3, 5),
        ("parity_class", "fourth or later"): (2, 4),
    }


def test_birth_type_within_delivery(result: BirthType) -> None:
    crossed = {(row.birth_type, row.delivery): (row.events, row.n) for row in result.crossed.itertuples()}
    assert crossed == {
        ("single", "unassisted"): (0, 2),
        ("single", "caesarean"): (1, 1),
        ("twin", "unassisted"): (1, 4),
        ("twin", "hard assist"): (2, 2),
        ("triplet", "unassisted"): (2, 2),
        ("triplet", "easy assist"): (0, 1),
    }


def test_twelve_are_too_few_to_compare(result: BirthType) -> None:
    (said,) = birth_type.sentences(result)
    assert said.verdict is Verdict.TOO_FEW
    assert said.text == (
        "Too few to say: no two groups of at least 10 lambs to compare; the table has the counts."
    )


def _flock(lost: dict[tuple[str, str], tuple[int, int]]) -> list[dict[str, Any]]:
    """Singles, one a litter: (sex, delivery) -> (lost, born)."""
    rows: list[dict[str, Any]] = []
    for (sex, delivery), (dead, born) in lost.items():
        for i in range(born):
            row = {
                "dam_id": str(len(rows)),
                "litter_size": 1,
                "sex": sex,
                "delivery": delivery,
                "born_alive": "yes",
            }
            rows.append(row | ({"died": "yes", "died_after_h": 5 + i % 7} if i < dead else {}))
    return rows


def test_ratio_and_difference_worked_by_hand() -> None:
    # 30/100 against 10/100: ratio 3; log ratio +- 1.95996 x sqrt(1/30 - 1/100 + 1/10 - 1/100) = 1.95996 x 0.33665
    # = 0.65982, so 3 / 1.93444 = 1.5508 to 3 x 1.93444 = 5.8033; difference 20 points (one a litter: no clustering)
    flock = _flock({("male", "unassisted"): (30, 100), ("female", "unassisted"): (10, 100)})
    groups = birth_type.answer(season(flock)).groups
    row = groups[groups["group"] == "male"].iloc[0]
    assert row["estimate"] == pytest.approx(3)
    assert [row["low"], row["high"]] == pytest.approx([1.5508, 5.8033], abs=1e-4)
    assert row["difference"] == pytest.approx(0.20)
    said = birth_type.sentences(birth_type.answer(season(flock)))
    assert said[0].verdict is Verdict.CLEAR
    assert said[0].text.startswith(
        "Losses were higher among male lambs, 30 of 100 (30.0\u00a0%), than among female lambs, 10 of 100 "
        "(10.0\u00a0%)"
    )
    assert said[0].deaths == pytest.approx(20)


def test_within_birth_types_a_mix_does_not_pass_for_a_difference() -> None:
    # worked by hand: in singles 5/50 male and 10/100 female, in twins 60/150 and 20/50: within each the risks are
    # equal, so the Mantel-Haenszel ratio is 1, while the crude one is 65/200 over 30/150 = 1.625
    rows: list[dict[str, Any]] = []
    for size, sex, dead, born in (
        (1, "male", 5, 50),
        (1, "female", 10, 100),
        (2, "male", 60, 150),
        (2, "female", 20, 50),
    ):
        for i in range(born):
            dam = f"{size}{sex}{i}"
            newborn = {"dam_id": dam, "litter_size": size, "sex": sex, "born_alive": "yes"}
            rows.append(newborn | ({"died": "yes", "died_after_h": 4} if i < dead else {}))
    groups = birth_type.answer(season(rows)).groups
    row = groups[groups["group"] == "male"].iloc[0]
    assert row["estimate"] == pytest.approx(1.625)
    assert row["adjusted"] == pytest.approx(1.0)


def test_the_questions_always_asked_are_claims() -> None:
    # ledger's questions: surgery, twins, first litter; counts from the rows below
    rows: list[dict[str, Any]] = []
    for i in range(200):
        row = {"dam_id": str(i), "litter_size": 1, "dam_parity": 1 + i % 4, "born_alive": "yes"}
        row["delivery"] = "caesarean" if i < 40 else "unassisted"
        rows.append(row | ({"died": "yes", "died_after_h": 9} if i < 20 or i >= 192 else {}))
        if i >= 150:
            rows.append(row | {"litter_size": 2})
            rows[-2]["litter_size"] = 2
    asked = {one.asked: one for one in birth_type.claims(birth_type.answer(season(rows))) if one.asked}
    counts = {name: (one.events, one.n, one.events_versus, one.n_versus) for name, one in asked.items()}
    assert counts == {
        "surgery": (20, 40, 8, 210),
        "twins": (8, 100, 20, 150),
        "first litter": (7, 62, 21, 188),
    }


def test_nothing_is_clear_that_the_ledger_did_not_pass() -> None:
    flock = _flock({("male", "unassisted"): (30, 100), ("female", "unassisted"): (10, 100)})
    result = birth_type.answer(season(flock))
    refused = {claim.key: Verdict.NO_CLEAR for claim in birth_type.claims(result)}
    said = birth_type.sentences(result, refused)
    assert {one.verdict for one in said} == {Verdict.NO_CLEAR}
    assert not any("higher" in one.text or "lower" in one.text for one in said)


def test_embryotomy_stands_apart_from_surgery_and_is_no_claim() -> None:
    # all that are born by embryotomy are lost by definition; surgery alone: 6 of 20
    flock = _flock(
        {("male", "unassisted"): (10, 100), ("male", "caesarean"): (6, 20), ("male", "embryotomy"): (12, 12)}
    )
    result = birth_type.answer(season(flock))
    born_by = result.groups[result.groups["factor"] == "born_by"].set_index("group")
    assert born_by[["events", "n"]].to_numpy().tolist() == [[10, 100], [6, 20], [12, 12]]
    keys = [one.key for one in birth_type.claims(result)]
    assert "birth_type/born_by/born by surgery" in keys
    assert not any("embryotomy" in key for key in keys)
    assert not any("embryotomy" in one.text for one in birth_type.sentences(result))


def test_a_cell_of_zero_is_one_sided_and_finite() -> None:
    flock = _flock({("male", "unassisted"): (12, 40), ("female", "unassisted"): (0, 40)})
    said = [sentence.text for sentence in birth_type.sentences(birth_type.answer(season(flock)))]
    assert "the ratio of the risks is at least" in said[0]
    assert "inf" not in said[0]


def test_loss_goes_with_weight_where_it_was_planted() -> None:
    rows = [
        {"dam_id": str(i), "born_alive": "yes", "birth_weight_kg": 2 + i / 50}
        | ({"died": "yes", "died_after_h": 9} if i < 60 and i % 2 else {})
        for i in range(200)
    ]
    found = birth_type.answer(season(rows)).weight
    assert found is not None
    assert found.p < 0.001
    assert found.read["share"].iloc[0] > 0.3 > found.read["share"].iloc[-1]
    assert len(found.weight_kg) == 200


def test_closed_without_groups_or_losses() -> None:
    (said,) = birth_type.missing(season([{"dam_id": str(i), "died": "yes"} for i in range(4)]))
    assert said.startswith("Not answered: the records do not tell groups apart.")
    (said,) = birth_type.missing(season([{"dam_id": str(i), "sex": "male"} for i in range(4)]))
    assert said == "Nothing to compare: no loss was recorded."
