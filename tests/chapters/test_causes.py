"""The causes of the twelve births, counted by hand, and the balance of every incidence."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from neonatal_stats.chapters import causes
from neonatal_stats.chapters.causes import Causes
from neonatal_stats.chapters.counted.causes import largest_stands
from neonatal_stats.measures.curves import incidence
from tests.chapters.build import season
from tests.chapters.twelve import twelve

INJURY, STARVED = "birth injury or difficult birth", "starvation-mismothering-exposure"


@pytest.fixture(scope="module")
def result() -> Causes:
    return causes.answer(twelve())


def test_counts_and_shares_of_losses(result: Causes) -> None:
    found = result.by_cause.set_index("cause")
    assert found["events"].to_dict() == {
        INJURY: 2,
        "infection": 1,
        "premature or weak": 1,
        STARVED: 1,
        "stillbirth": 1,
    }
    assert (found["n"] == 6).all()
    assert found.loc[INJURY, "share"] == pytest.approx(2 / 6)


def test_incidence_at_the_end(result: Causes) -> None:
    # worked by hand: the twelve's docstring, in 72ths
    at_end = (72 * result.by_cause.set_index("cause")["at_end"]).to_dict()
    assert at_end == pytest.approx(
        {INJURY: 12, "infection": 7, "premature or weak": 6, STARVED: 6, "stillbirth": 6}
    )


def test_causes_by_age(result: Causes) -> None:
    assert list(result.edges_h) == [0, 12, 24, 72, 168, 336, 1008]
    found = result.by_age[result.by_age["events"] > 0]
    assert {tuple(row) for row in found[["cause", "window", "events"]].to_numpy()} == {
        ("stillbirth", -1, 1),
        (INJURY, 0, 2),
        ("premature or weak", 0, 1),
        (STARVED, 2, 1),
        ("infection", 4, 1),
    }


def test_the_largest_cause_at_each_time_of_loss(result: Causes) -> None:
    """The rows of the test above, by stage; one born dead is no cause, and nothing was lost of no known age."""
    found = result.by_stage.set_index("stage")
    assert found["n"].to_dict() == {"born dead": 1, "24 h": 3, "7 d": 1, "end": 1}
    assert found["cause"].to_dict() == {"born dead": "", "24 h": INJURY, "7 d": STARVED, "end": "infection"}
    assert found["unknown"].to_dict() == {"born dead": 1, "24 h": 0, "7 d": 0, "end": 0}


def test_causes_that_tie_are_named_together_and_the_unknown_stay_unknown() -> None:
    lost = [
        {"born_alive": "yes", "died_after_h": 5 + i, "cause": cause}
        for i, cause in enumerate(["accident", "infection", None, "unknown"])
    ]
    result = causes.answer(season([*lost, *[{"born_alive": "yes", "seen_after_h": 1008}] * 20]))
    (stage,) = result.by_stage.to_dict("records")
    assert stage == {"stage": "24 h", "n": 4, "cause": "accident; infection", "events": 1, "unknown": 2}
    first, second = causes.glance(result)
    assert (first.label, first.printed) == ("accident, infection", "(1 each)")
    assert (second.label, second.printed) == ("cause unknown", "2")


def test_what_the_causes_rest_on(result: Causes) -> None:
    basis = result.by_basis.set_index("cause")
    assert basis.loc[INJURY, "post-mortem"] == 2
    assert basis["vet's opinion"].sum() == 1
    assert basis["keeper's opinion"].sum() == 3
    assert basis["not given"].sum() == 0


def test_what_is_said(result: Causes) -> None:
    said = [sentence.text for sentence in causes.sentences(result)]
    assert said[0] == "Birth injury or difficult birth: 2 of 6 losses."
    assert "The cause rests on a post-mortem examination in 2 of 6 losses." in said
    (headline,) = causes.headlines(result)
    assert headline.printed == "birth injury or difficult birth: 2 of 6"


def test_unknown_is_a_cause_and_bounds_the_others() -> None:
    rows: list[dict[str, Any]] = [{"dam_id": str(i), "born_alive": "yes"} for i in range(30)]
    for i in range(10):
        cause = ["infection"] * 5 + ["accident"] * 3 + [None] * 2
        rows[i] |= {"died": "yes", "died_after_h": 5 + i, "cause": cause[i]}
    found = causes.answer(season(rows))
    shares = found.by_cause.set_index("cause")
    assert list(shares.index) == ["infection", "accident", "unknown"]
    assert shares.loc["infection", "highest"] == pytest.approx(7 / 10)
    assert np.isnan(shares["highest"]["unknown"])
    said = [sentence for sentence in causes.sentences(found) if sentence.role == "cannot say"]
    assert said[0].text == (
        "No cause is known for 2 of 10 losses: enough that another cause than infection could be the largest."
    )  # 3 + 2 = 5, no fewer than infection


def test_beside_stillbirth_stands_the_largest_cause_after_birth() -> None:
    rows: list[dict[str, Any]] = [{"dam_id": str(i), "born_alive": "yes"} for i in range(30)]
    for i in range(9):
        rows[i] = {"dam_id": str(i), "born_alive": "no"} if i < 5 else rows[i]
        rows[i] |= {"died": "yes", "died_after_h": 5 + i, "cause": "infection"} if i >= 5 else {}
    printed = [one.printed for one in causes.headlines(causes.answer(season(rows)))]
    assert printed == ["stillbirth: 5 of 9", "infection: 4 of 9"]


def test_the_largest_stands_only_where_the_unknown_cannot_overtake_it() -> None:
    assert largest_stands(6, 3, 2)
    assert not largest_stands(5, 3, 2)


EDGES: dict[str, list[dict[str, Any]]] = {
    "ties, stillborn and sold": [
        {"dam_id": str(i % 7), "born_alive": "no" if i % 9 == 0 else "yes"}
        | ({"died": "yes", "died_after_h": i % 5, "cause": ["infection", "accident"][i % 2]} if i % 3 else {})
        | ({"left_after_h": 30} if i % 4 == 0 and not i % 3 else {})
        for i in range(60)
    ],
    "everyone dead at age 0": [
        {"dam_id": str(i), "died": "yes", "died_after_h": 0, "cause": "infection"} for i in range(7)
    ],
    "all stillborn": [{"dam_id": str(i), "born_alive": "no", "died": "yes"} for i in range(5)],
    "nobody dead": [{"dam_id": str(i), "born_alive": "yes"} for i in range(5)],
    "one newborn": [{"dam_id": "A", "died": "yes", "died_after_h": 3, "cause": "predation"}],
}


@pytest.mark.parametrize("name", EDGES)
@pytest.mark.parametrize("by", [(), ("birth_type",)], ids=["all", "by birth type"])
def test_alive_and_lost_to_each_cause_add_up_to_one(name: str, by: tuple[str, ...]) -> None:
    frame = incidence(season(EDGES[name]).births, by, level=0.95)
    total = frame.groupby([*by, "age_h"], observed=True)["share"].sum()
    assert len(total) > 0
    assert np.abs(total - 1).max() < 1e-12


def test_the_twelve_add_up_to_one_at_every_age() -> None:
    total = incidence(twelve().births, level=0.95).groupby("age_h")["share"].sum()
    assert np.abs(total - 1).max() < 1e-12


def test_closed_without_a_cause_or_a_loss() -> None:
    (said,) = causes.missing(season(EDGES["nobody dead"]))
    assert said == "Nothing to answer: no loss was recorded."
    without = [{"dam_id": str(i), "died": "yes", "died_after_h": 3} for i in range(3)]
    (said,) = causes.missing(season(without))
    assert said.startswith("Not answered: no cause is written down for any loss.")


def test_stillbirth_is_a_time_and_leads_no_causes() -> None:
    """12 born dead, 8 of infection, 2 unknown: what leads is of the causes after birth."""
    rows: list[dict[str, Any]] = [{"dam_id": str(i), "born_alive": "yes"} for i in range(60)]
    for i in range(22):
        rows[i] |= {"born_alive": "no"} if i < 12 else {"died": "yes", "died_after_h": 5 + i}
        rows[i] |= {"cause": "infection"} if 12 <= i < 20 else {}
    found = causes.answer(season(rows))
    said = " ".join(sentence.text for sentence in causes.sentences(found))
    assert "even if all were of one other cause, infection would lead the causes after birth" in said
    assert "had been lost to infection" in said
    assert "lost to stillbirth" not in said.split("No clear difference")[0]
    largest, after = causes.headlines(found)
    assert largest.label == "Largest group of losses, by time or cause"
    assert after.printed.startswith("infection: 8 of 22")
