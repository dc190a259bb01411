"""Actions weighed against their cost: every number worked by hand."""

from __future__ import annotations

import math
import re
from typing import Any

import pandas as pd
import pytest

from neonatal_stats.chapters import planning
from neonatal_stats.chapters.counted.planning import busiest
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.chapters.test_said_and_shown import NUMBER

LAMBER: dict[str, Any] = {
    "what": "a night lamber",
    "cost": 300,
    "spares": [0.25, 0.5],
    "source": "our vet",
    "factor": "night",
    "level": "by night",
    "window": "7 d",
}


def flock(name: str, lost_by_night: int = 12) -> list[dict[str, Any]]:
    """100 singles: 60 born at 23:00, of whom some are lost at 10 h, 40 at noon, of whom 3 are; all in one week."""
    rows = []
    for place in range(100):
        night = place < 60
        lost = place < lost_by_night if night else place < 63
        born = f"{name}-03-{2 + place % 7:02d} {'23:00' if night else '12:00'}"
        row: dict[str, Any] = {"season": name, "dam_id": f"{name}-{place}", "litter_size": 1, "born_at": born}
        rows.append(row | ({"died": "yes", "died_after_h": 10} if lost else {"died": "no"}))
    return rows


TWO = [*flock("2025"), *flock("2026")]


def weighed(made: list[dict[str, Any]], price: float | None = 100.0, **changed: Any) -> planning.Planning:
    of = season(made, action=[LAMBER | changed], price=price, currency="EUR")
    return planning.answer(of)


def row(result: planning.Planning) -> dict[Any, Any]:
    (found,) = result.actions.to_dict("records")
    return found


def said(result: planning.Planning) -> str:
    return " ".join(sentence.text for sentence in planning.sentences(result))


def test_losses_net_and_break_even_worked_by_hand() -> None:
    """Worked by hand: 24 of 120 over two seasons, 12 a season; of these 3 to 6, 4.5 in the middle, at 100 EUR each.

    450 EUR less the cost of 300 is 150; the cost is a quarter of 1200, what all twelve are worth.
    """
    found = row(weighed(TWO))
    assert (found["n"], found["lost"]) == (120, 24)
    assert found["aimed"] == pytest.approx(12)
    assert found["spared"] == pytest.approx(4.5)
    assert found["net"] == pytest.approx(150)
    assert found["even"] == pytest.approx(0.25)
    assert found["spared_low"] == pytest.approx(0.25 * found["aimed_low"])
    assert found["spared_high"] == pytest.approx(0.5 * found["aimed_high"])
    assert found["net_low"] == pytest.approx(100 * found["spared_low"] - 300)
    assert found["even_low"] == pytest.approx(300 / (100 * found["aimed_high"]))
    assert found["aimed_low"] < 12 < found["aimed_high"]


def test_the_interval_is_that_of_the_share_of_the_group() -> None:
    """20 % of 120 independent newborns: R's survfit, conf.type "log-log", gives 0.738 to 0.862 alive (by its formula).

    Worked by hand: log(-log 0.8) +/- 1.96 sqrt(0.2 / (0.8 * 120)) / |log 0.8|; times 60 newborns a season. A litter
    here is one newborn; the few-clusters correction moves neither end by a tenth.
    """
    wide = 1.959964 * math.sqrt(0.2 / (0.8 * 120)) / abs(math.log(0.8))
    ends = [1 - 0.8 ** math.exp(sign * wide) for sign in (-1, 1)]
    found = row(weighed(TWO))
    assert (found["aimed_low"], found["aimed_high"]) == pytest.approx([60 * end for end in ends], abs=0.1)


def test_what_is_said() -> None:
    told = said(weighed(TWO))
    assert (
        "A night lamber: 300 EUR a season. Aimed at lambs born by night, it meets about 12.0 losses a season by 7 d"
        in told
    )
    assert "If it spared 25\xa0% to 50\xa0% of these (our vet)" in told
    assert "it pays for itself from 25\xa0% spared on" in told
    assert "What an action spares is the range given for it and nothing that these records show" in told


def test_every_number_said_of_an_action_stands_in_its_table() -> None:
    result = weighed(TWO)
    table = next(one for one in planning.tables(result) if one.name == "planning-actions")
    shown = set(NUMBER.findall(f"{printed(table).to_csv()} {table.note}")) | {"95", "2025", "2026"}
    sentences = [one.text for one in planning.sentences(result) if "night lamber" in one.text]
    assert len(sentences) == 1
    assert set(NUMBER.findall(sentences[0])) <= shown


def test_an_action_that_could_never_pay_says_so() -> None:
    """All 12 losses are worth 1200 EUR; it costs 1300."""
    result = weighed(TWO, cost=1300)
    assert row(result)["even"] == pytest.approx(13 / 12)
    assert "it would not pay for itself if it spared them all" in said(result)


def test_without_a_price_nothing_is_set_against_the_cost() -> None:
    result = weighed(TWO, price=None)
    assert math.isnan(row(result)["net"])
    assert "With a price of a lamb in the settings this would be set against its cost." in said(result)
    table = next(one for one in planning.tables(result) if one.name == "planning-actions")
    assert not [column for column in printed(table).columns if "Net" in column or "Pays" in column]


def test_all_newborns_and_a_source_of_the_readers_own() -> None:
    """Worked by hand: 30 of 200 over two seasons, 15 a season."""
    result = weighed(TWO, factor="", level="", source="")
    assert row(result)["aimed"] == pytest.approx(15)
    assert "Aimed at all lambs" in said(result)
    assert "(the reader's own range)" in said(result)


@pytest.mark.parametrize(
    ("made", "changed", "sentence"),
    [
        (
            flock("2026", 4),
            {},
            "A night lamber: too few to say, with 4 known to be lost of 60 lambs in its group.",
        ),
        (
            TWO,
            {"factor": "group", "level": "Top"},
            "nothing can be said, since no lamb of its group is recorded",
        ),
        (
            [one | {"last_seen_at": pd.Timestamp(one["born_at"]) + pd.Timedelta(days=2)} for one in TWO],
            {},
            "nothing can be said, since too few lambs were watched for so long",
        ),
    ],
)
def test_what_cannot_be_weighed_is_said_and_has_a_row(
    made: list[Any], changed: dict[str, Any], sentence: str
) -> None:
    result = weighed(made, **changed)
    assert sentence in said(result)
    assert math.isnan(row(result)["spared"])
    table = next(one for one in planning.tables(result) if one.name == "planning-actions")
    assert len(printed(table)) == 1
    assert not re.search(r"\b(nan|inf)\b", printed(table).to_csv() + said(result))


def test_deaths_without_a_time_are_counted_to_the_end() -> None:
    """Worked by hand: nothing but died yes or no: 24 of 120 by night over two seasons."""
    undated = [{name: cell for name, cell in one.items() if name != "died_after_h"} for one in TWO]
    assert row(weighed(undated, window=""))["aimed"] == pytest.approx(12)


def test_a_share_counts_those_that_left_for_as_long_as_they_were_watched() -> None:
    """Worked by hand: of 60 by night 30 are sold at 5 h, before any loss; of the 30 left 6 die: 20 %, 12 of 60."""
    made = flock("2026", 0)[:60]
    for place, one in enumerate(made):
        if place < 30:
            one |= {"left_after_h": 5}
        elif place < 36:
            one |= {"died": "yes", "died_after_h": 10}
    assert row(weighed(made, window="24 h"))["aimed"] == pytest.approx(12)


def test_the_weeks_in_which_most_are_born() -> None:
    """Worked by hand: 5 on the 1st, 4 on the 10th, 6 on the 12th, 3 on the 26th: two weeks from the 1st hold 15."""
    days = [1] * 5 + [10] * 4 + [12] * 6 + [26] * 3
    born = pd.Series([pd.Timestamp(2026, 3, day, 9) for day in days])
    assert busiest(born, 2).tolist() == [True] * 15 + [False] * 3
    assert busiest(born, 1).tolist() == [False] * 5 + [True] * 10 + [False] * 3
    assert busiest(pd.Series([pd.NaT, pd.NaT]), 1).tolist() == [False, False]


def test_only_the_losses_of_those_weeks_are_aimed_at() -> None:
    """A second lot of 20 by night, ten weeks on, of whom 10 are lost: outside of one week, inside of twelve."""
    late = [
        one | {"born_at": "2026-05-20 23:00", "dam_id": f"late-{place}"}
        for place, one in enumerate(flock("2026", 10)[:20])
    ]
    made = [*flock("2026"), *late]
    assert row(weighed(made, weeks=1))["aimed"] == pytest.approx(12)
    assert row(weighed(made, weeks=12))["aimed"] == pytest.approx(22)
    assert "lambs born by night in the week in which most are born" in said(weighed(made, weeks=1))
    assert "in which most are born" not in said(weighed(made))


def test_nothing_is_claimed_and_nothing_is_said_where_no_action_is_named() -> None:
    result = planning.answer(season(TWO, price=100.0))
    assert result.actions.empty
    assert "planning-actions" not in [one.name for one in planning.tables(result)]
    assert {claim.key for claim in planning.claims(weighed(TWO))} == {
        claim.key for claim in planning.claims(result)
    }


def test_german() -> None:
    told = said(planning.answer(season(TWO, action=[LAMBER], price=100.0, currency="EUR", language="de")))
    assert "Gerichtet auf nachts geborene Lämmer" in told
    assert "es trägt sich, wenn es 25\xa0% davon erspart oder mehr" in told
