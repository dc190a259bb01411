"""Mothering-up of the twelve births by hand, a published flock, and handling within difficulty."""

from __future__ import annotations

from dataclasses import replace

import pytest

from neonatal_stats.chapters import mothering
from neonatal_stats.chapters.counted.mothering import LEFT_ALL, LEFT_SOME, handled, separated
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.ledger import decide
from tests.chapters.build import season
from tests.chapters.twelve import twelve


def test_rates_of_the_twelve() -> None:
    # worked by hand: 11 born alive, 6 and 9 not judged; not accepted 2 and 5; judged dams A, B, C, E, F, G,
    # of which B and C failed
    result = mothering.answer(twelve())
    assert result.rates[["events", "n"]].to_numpy().tolist() == [[2, 9], [2, 6]]
    assert result.unjudged == 2
    assert result.counted.total == 12


def test_outcomes_and_deaths_of_the_twelve() -> None:
    # worked by hand: rearing is not written down; 2 died at 6 h, 5 at 30 h; of the accepted 10 died at 200 h,
    # after 7 d,
    # and 8 left before 7 d; judged deaths 2, 5, 10, two of three after a failure
    result = mothering.answer(twelve())
    assert result.outcomes.set_index("reared").loc["not written down", ["n", "died"]].tolist() == [2, 2]
    assert result.outcomes["n"].sum() == 2
    assert result.deaths[["events", "n"]].to_numpy().tolist() == [[2, 2], [0, 6]]
    assert result.passed[["events", "n"]].to_numpy().tolist() == [[2, 3]]


def test_litters_of_the_twelve() -> None:
    # worked by hand: B lost one of two at mothering-up, E kept both; C has one born alive, F one not judged
    result = mothering.answer(twelve())
    assert result.separated["events"].tolist() == [1, 1, 0]
    assert result.separated["n"].tolist() == [2, 2, 2]


def test_ewes_separated_from_a_twin_as_published() -> None:
    # Stevens, Alexander & Lynch (1982) Appl Anim Ethol 8:243-252: 51 of 103 ewes left one twin, 2 left both.
    # Interval 40.1 to 59.0 %: Wilson, worked out apart from this package.
    accepted = [("no", "yes")] * 51 + [("no", "no")] * 2 + [("yes", "yes")] * 50
    rows = [
        {"dam_id": str(dam), "litter_size": 2, "born_alive": "yes", "mothered_up": one}
        for dam, twins in enumerate(accepted)
        for one in twins
    ]
    found = separated(season(rows).births, level=0.95).set_index("kept")
    assert found.loc[LEFT_SOME, ["events", "n"]].tolist() == [51, 103]
    assert found.loc[LEFT_SOME, ["low", "high"]].tolist() == pytest.approx([0.401, 0.590], abs=5e-4)
    assert found.loc[LEFT_ALL, "events"] == 2


def test_handling_is_compared_within_difficulty() -> None:
    # worked by hand: easy 2/10 handled, 4/20 not; difficult 12/20 handled, 6/10 not. Within each the ratio is 1;
    # crude 14/30 against 10/30 is 1.4, only because difficult births are handled more.
    blocks = [("unassisted", "yes", 2, 10), ("unassisted", "no", 4, 20)]
    blocks += [("hard assist", "yes", 12, 20), ("hard assist", "no", 6, 10)]
    rows = [
        {
            "born_alive": "yes",
            "delivery": delivery,
            "handled": touched,
            "mothered_up": "no" if k < failed else "yes",
        }
        for delivery, touched, failed, n in blocks
        for k in range(n)
    ]
    made = season([row | {"dam_id": str(k)} for k, row in enumerate(rows)])
    found = handled(made.births, made.settings)
    assert found is not None
    assert found.contrasts["how"].tolist() == ["crude", "within difficulty"]
    assert found.contrasts["estimate"].tolist() == pytest.approx([1.4, 1.0])
    assert (
        found.contrasts[["events", "n", "events_versus", "n_versus"]].to_numpy().tolist()
        == [[14, 30, 10, 30]] * 2
    )


def test_cautions_and_description_stand_where_a_reader_might_act() -> None:
    said = " ".join(sentence.text for sentence in mothering.sentences(mothering.answer(twelve())))
    assert "Handling a lamb before its dam has bonded" in said
    assert "pregnant women" in said
    assert "not how many the failure killed" in said


def test_closed_where_nothing_was_judged() -> None:
    closed = season([{"dam_id": "A", "born_alive": "yes", "mothered_up": "not judged"}])
    (said,) = mothering.missing(closed)
    assert "mothered_up" in said
    assert "20 failures" in said
    with pytest.raises(NotRecorded, match="20 failures"):
        mothering.answer(closed)


def _among_many(result: mothering.Mothering, others: int = 60) -> dict[str, Verdict]:
    """The verdicts of a page on which so many others were tried, none of which shows anything."""
    tried = mothering.claims(result)
    flat = [
        replace(tried[0], key=f"other/{k}", line=f"other {k}", p=0.9, sayable=True) for k in range(others)
    ]
    return dict(decide([*tried, *flat], result.settings).verdicts)


AMONG = "among so many comparisons chance alone may bring one like it"


def test_a_difference_that_many_comparisons_could_bring_only_leans() -> None:
    # worked by hand: first litters 22 of 123 failed, others 8 of 154, risk ratio 3.4: clear alone; beside sixty
    # comparisons in which nothing differs it only leans
    def row(number: int, parity: int, failed: int) -> dict[str, object]:
        sex = ("male", "female")[number % 2]
        return {"dam_id": f"{parity}-{number}", "born_alive": "yes", "dam_parity": parity, "sex": sex} | {
            "mothered_up": "no" if number < failed else "yes"
        }

    rows = [row(k, 1, 22) for k in range(123)] + [row(k, 2, 8) for k in range(154)]
    result = mothering.answer(season(rows))
    key = "mothering/parity_class/first litter"
    assert decide(mothering.claims(result), result.settings).verdicts[key] is Verdict.CLEAR
    crowded = _among_many(result)
    assert crowded[key] is Verdict.LEANING
    text = " ".join(sentence.text for sentence in mothering.sentences(result, crowded))
    assert AMONG in text
    assert " and 0 " not in text


@pytest.mark.parametrize(
    ("first_litters", "many"),
    [((16, 123), True), ((3, 123), True), ((13, 123), False)],
    ids=["clearly more alone", "clearly fewer alone", "not clear alone"],
)
def test_only_what_is_clear_alone_is_said_to_lean_for_being_one_of_many(
    first_litters: tuple[int, int], many: bool
) -> None:
    failed, n = first_litters
    others = (8, 154) if failed > 3 else (16, 154)
    rows = [
        {
            "dam_id": f"{parity}-{k}",
            "born_alive": "yes",
            "dam_parity": parity,
            "mothered_up": "no" if k < bad else "yes",
        }
        for parity, bad, of in ((1, failed, n), (2, *others))
        for k in range(of)
    ]
    result = mothering.answer(season(rows))
    said = mothering.sentences(result, _among_many(result))
    (sentence,) = [one.text for one in said if "their first litter, " in one.text]
    assert "chance is not ruled out" in sentence
    alone = " ".join(one.text for one in mothering.sentences(result))
    assert AMONG not in alone
    assert (AMONG in sentence) == many


def test_failure_after_surgery_is_asked_beforehand_and_answered_whatever_the_answer_is() -> None:
    # 2 of 12 born by surgery and 10 of 60 born vaginally failed: no difference, and said
    rows = [
        {
            "dam_id": f"{how}-{k}",
            "born_alive": "yes",
            "delivery": how,
            "mothered_up": "no" if k < failed else "yes",
        }
        for how, failed, n in (("caesarean", 2, 12), ("unassisted", 10, 60))
        for k in range(n)
    ]
    result = mothering.answer(season(rows))
    (asked,) = [claim for claim in mothering.claims(result) if claim.asked]
    assert (asked.asked, asked.events, asked.n) == ("mothering after surgery", 2, 12)
    (said,) = [one for one in mothering.sentences(result) if one.claim == asked.key]
    assert said.verdict is Verdict.NO_CLEAR
    assert "born by surgery, 2 of 12" in said.text
