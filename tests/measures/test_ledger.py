"""The ledger against worked examples, and what must hold of it whatever the claims."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.claims import FAMILIES, Claim
from neonatal_stats.measures.ledger import Ledger, decide, settled
from neonatal_stats.season.settings import Settings

SETTINGS = Settings()


def claim(
    key: str, p: float, family: str = "place", line: str = "", asked: str = "", **more: object
) -> Claim:
    """A test of several groups, which has no interval to speak against it."""
    made = Claim(key, "losses", family, line or key, "test", math.nan, math.nan, math.nan, p, 9, 90, 30, 400, 3.0,
                 ("2026",), asked)  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]


def clear(ledger: Ledger) -> set[str]:
    return {key for key, verdict in ledger.verdicts.items() if verdict is Verdict.CLEAR}


def q_of(ledger: Ledger) -> dict[str, float]:
    return {entry.claim.key: entry.q for entry in ledger.entries}


THROMBOLYSIS = (
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0,
)  # fmt: skip
"""Benjamini & Hochberg (1995) J R Stat Soc B 57:289-300, section 4.1; at 5 % their procedure rejects the first four."""


@pytest.mark.parametrize("line", ["", "one"])
def test_one_family_is_benjamini_and_hochbergs_own_example(line: str) -> None:
    claims = [claim(str(i), p, line=line) for i, p in enumerate(THROMBOLYSIS)]
    found = decide(claims, replace(SETTINGS, false_discovery_share=0.05))
    assert clear(found) == {"0", "1", "2", "3"}
    assert found.units[0].looked == 15
    assert found.units[0].clear == 4


def test_a_family_has_the_simes_p_of_its_members() -> None:
    """Simes (1986): the least of p(i) n / i; by hand of 0.02, 0.03, 0.90: 0.06, 0.045, 0.90."""
    found = decide(
        [claim("a", 0.90, line="x"), claim("b", 0.02, line="x"), claim("c", 0.03, line="x")], SETTINGS
    )
    assert found.units[0].p == pytest.approx(0.045, abs=1e-12)


def test_weights_by_hand() -> None:
    """Surgery, twins, one family weigh 10, 3, 1 of 14, of three units: p x 14 / (3 x weight) is 0.00933, 0.014, over 1.

    Of three, 0.00933 is first (x 3 = 0.028) and 0.014 second (x 3/2 = 0.021): both are clear from 0.021 on.
    """
    claims = [
        claim("s", 0.02, "delivery", asked="surgery"),
        claim("t", 0.009, "litter size", asked="twins"),
        claim("x", 0.5),
    ]
    assert q_of(decide(claims, SETTINGS)) == pytest.approx({"s": 0.021, "t": 0.021, "x": 1.0})


def test_two_families_by_hand() -> None:
    """Families of p (0.01, 0.04) and (0.30): Simes 0.02 and 0.30, q 0.04 and 0.30 of two.

    With one of two selected the members of the first need q within it (0.02, 0.04) at half the level: 0.04 and 0.08.
    """
    claims = [claim("a", 0.01, line="x"), claim("b", 0.04, line="x"), claim("c", 0.30, "time")]
    assert q_of(decide(claims, SETTINGS)) == pytest.approx({"a": 0.04, "b": 0.08, "c": 0.30})


def test_a_family_selected_beside_others_is_tested_at_a_higher_level() -> None:
    """As above with a second family at 0.001: two of two are selected, and 0.04 is clear from 0.04 on."""
    claims = [claim("a", 0.01, line="x"), claim("b", 0.04, line="x"), claim("c", 0.001, "time")]
    assert q_of(decide(claims, SETTINGS)) == pytest.approx({"a": 0.02, "b": 0.04, "c": 0.002})


def test_groups_nested_in_one_another_are_counted_as_one_line() -> None:
    """Four readings of one thing beside one other: as lines 0.004 is one of two, one by one it is one of five."""
    nested = [claim(f"n{i}", 0.8, line="unfed") for i in range(4)]
    as_lines = decide([*nested, claim("a", 0.004)], SETTINGS)
    each = decide([*(replace(one, line=one.key) for one in nested), claim("a", 0.004)], SETTINGS)
    assert q_of(as_lines)["a"] == pytest.approx(0.008)
    assert q_of(each)["a"] == pytest.approx(0.020)


def test_the_weakest_reading_decides() -> None:
    assert clear(decide([claim("a", 0.001, weakest=0.3)], SETTINGS)) == set()
    assert clear(decide([claim("a", 0.001, weakest=0.002)], SETTINGS)) == {"a"}


def test_an_interval_that_holds_no_difference_is_never_clear() -> None:
    held = claim("a", 0.001, measure="risk ratio", estimate=2.0, low=0.99, high=4.0)
    assert decide([held], SETTINGS).verdicts["a"] is Verdict.LEANING
    assert decide([replace(held, low=1.01)], SETTINGS).verdicts["a"] is Verdict.CLEAR
    assert decide([replace(held, estimate=0.0, low=0.0, high=0.9)], SETTINGS).verdicts["a"] is Verdict.CLEAR


def test_what_is_too_little_to_say_is_not_counted() -> None:
    few = claim("few", 1e-9, sayable=False)
    found = decide([few, claim("a", 0.5)], SETTINGS)
    assert found.verdicts["few"] is Verdict.TOO_FEW
    assert (found.looked, found.clear) == (1, 0)
    assert q_of(found)["a"] == q_of(decide([claim("a", 0.5)], SETTINGS))["a"]


def test_two_claims_of_one_key_are_refused() -> None:
    with pytest.raises(ValueError, match="two claims are called 'a'"):
        decide([claim("a", 0.1), claim("a", 0.2)], SETTINGS)


def test_a_chapter_alone_decides_over_its_own_and_the_page_over_all() -> None:
    own = [claim("a", 0.02, "time")]
    page = decide([*own, *(claim(name, 0.9, name) for name in FAMILIES if name != "time")], SETTINGS)
    assert settled(own, SETTINGS, None) == decide(own, SETTINGS).verdicts == {"a": Verdict.CLEAR}
    assert settled(own, SETTINGS, page.verdicts)["a"] is Verdict.LEANING


def test_one_line_stands_out_by_its_clearest_and_this_season_comes_first() -> None:
    claims = [
        claim(
            "twins", 0.001, "litter size", "litter size", asked="twins", excess=9.0, period=("2025", "2026")
        ),
        claim("triplets", 1e-6, "litter size", "litter size", excess=5.0, period=("2025", "2026")),
        claim("pen", 1e-6, excess=2.0),
        claim("night", 1e-6, "time", excess=-8.0),
    ]
    found = decide(claims, SETTINGS)
    assert [entry.claim.key for entry in found.standing_out("2026")] == ["night", "pen", "triplets"]
    assert [entry.claim.key for entry in found.standing_out("2024")] == ["night", "triplets", "pen"]
    assert [entry.claim.key for entry in found.standing_out("2026", {"twins"})] == ["night", "pen", "twins"]
    assert found.by_chance == pytest.approx(0.1 * 4)


def test_a_typical_comparison_is_the_middle_line_and_not_the_middle_claim() -> None:
    """Three families of three lines in all: 0.10 / 3 each, one of them divided among forty pairs."""
    pairs = [claim(f"pair {i}", 0.9, "place", "pairs") for i in range(40)]
    found = decide([*pairs, claim("a", 0.9, "time"), claim("b", 0.9, "sex")], SETTINGS)
    assert found.typical == pytest.approx(0.10 / 3)
    assert math.isnan(decide([], SETTINGS).typical)


P = st.floats(1e-9, 1.0)


@st.composite
def pages(draw: st.DrawFn) -> list[Claim]:
    """Up to thirty claims in a few families and lines, some of them asked."""
    count = draw(st.integers(1, 30))
    made = []
    for i in range(count):
        family, asked = draw(
            st.sampled_from([("place", ""), ("time", ""), ("sex", ""), ("delivery", "surgery")])
        )
        made.append(claim(str(i), draw(P), family, draw(st.sampled_from("xyz")), asked))
    return made


@pytest.mark.slow
@settings(deadline=None)
@given(pages(), st.randoms(use_true_random=False))
def test_the_order_of_the_claims_changes_nothing(page: list[Claim], dealt: object) -> None:
    mixed = list(page)
    dealt.shuffle(mixed)  # type: ignore[attr-defined]
    first, second = q_of(decide(page, SETTINGS)), q_of(decide(mixed, SETTINGS))
    assert second == pytest.approx(first)


@pytest.mark.slow
@settings(deadline=None)
@given(pages(), st.lists(P, min_size=1, max_size=8))
def test_a_family_of_which_nothing_is_clear_makes_nothing_else_clear(
    page: list[Claim], p: Sequence[float]
) -> None:
    more = decide([*page, *(claim(f"new {i}", one, "weather") for i, one in enumerate(p))], SETTINGS)
    if not any(key.startswith("new") for key in clear(more)):
        assert clear(more) <= clear(decide(page, SETTINGS))


@settings(deadline=None)
@given(pages(), st.data())
def test_a_smaller_p_is_never_less_clear(page: list[Claim], data: st.DataObject) -> None:
    place = data.draw(st.integers(0, len(page) - 1))
    smaller = replace(page[place], p=page[place].p * data.draw(st.floats(0.01, 1.0)))
    after = decide([*page[:place], smaller, *page[place + 1 :]], SETTINGS)
    assert all(q_of(after)[key] <= q + 1e-12 for key, q in q_of(decide(page, SETTINGS)).items())


@settings(deadline=None)
@given(pages())
def test_clear_is_what_q_and_its_own_p_allow(page: list[Claim]) -> None:
    found = decide(page, SETTINGS)
    assert clear(found) == {
        e.claim.key for e in found.entries if e.q <= found.share and e.claim.p < 1 - SETTINGS.level
    }
    assert all(unit.q <= found.share for unit in found.units if unit.clear)
    assert sum(unit.looked for unit in found.units) == len(page)


def test_one_comparison_alone_is_clear_at_the_level_and_no_sooner() -> None:
    assert clear(decide([claim("a", 0.049)], SETTINGS)) == {"a"}
    assert clear(decide([claim("a", 0.051)], SETTINGS)) == set()


@settings(deadline=None)
@given(pages(), st.data())
def test_alone_is_the_p_that_is_enough_where_nothing_else_differs(
    page: list[Claim], data: st.DataObject
) -> None:
    flat = [replace(one, p=1.0) for one in page]
    place = data.draw(st.integers(0, len(page) - 1))
    enough = decide(flat, SETTINGS).entries[place].alone

    def with_p(p: float) -> set[str]:
        return clear(decide([*flat[:place], replace(flat[place], p=p), *flat[place + 1 :]], SETTINGS))

    assert with_p(enough * 0.999) == {str(place)}
    assert with_p(enough * 1.001) == set()


def test_the_season_and_surgery_pass_alone_at_the_p_that_their_weights_give() -> None:
    """On a whole page of one farm: six questions, fourteen families; what is asked of the prior weights."""
    questions = {"surgery": "delivery", "twins": "litter size", "first litter": "dam", "fed late": "feeding",
                 "mothering after surgery": "mothering", "season": "season"}  # fmt: skip
    page = [claim(name, 1.0, name) for name in FAMILIES if name != "farm"]
    asked = [claim(f"? {name}", 1.0, family, asked=name) for name, family in questions.items()]
    alone = {entry.claim.key: entry.alone for entry in decide([*page, *asked], SETTINGS).entries}
    assert alone["? surgery"] == pytest.approx(0.10 * 10 / 71)
    assert alone["? season"] == pytest.approx(0.10 * 35 / 71)
    assert alone["? twins"] == pytest.approx(0.10 * 3 / 71)
    several = decide([*page, *asked, claim("farms/A", 1.0, "farm")], SETTINGS).entries
    assert {entry.claim.key: entry.alone for entry in several}["farms/A"] == pytest.approx(0.10 * 3 / 74)


@pytest.mark.slow
def test_where_nothing_differs_one_page_in_ten_calls_anything_clear() -> None:
    """Independent uniform p, 600 pages: at most the share, and not far below it (binomial chance allowed for)."""
    rng = np.random.default_rng(5)
    hits = 0
    for _ in range(600):
        page = [claim(f"{name} {i}", rng.random(), name, str(i // 3)) for name in FAMILIES for i in range(9)]
        hits += bool(clear(decide([*page, claim("s", rng.random(), "delivery", asked="surgery")], SETTINGS)))
    assert 0.06 < hits / 600 < 0.135
