"""A claim in at most 20 plain words: who, and how many in 100 on each side; nothing that the counts do not say."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from neonatal_stats.measures.claims import Claim
from neonatal_stats.report.in_short import MOST_WORDS, in_short, span
from neonatal_stats.report.review import Review
from neonatal_stats.vocabulary.factors import AT_BIRTH, FACTORS
from neonatal_stats.words import Voice

SHEEP, GERMAN = Voice(species="sheep"), Voice("de", species="sheep")
OWN = "a very long name of a pen that a farm uses"


def claim(chapter: str = "groups", *about: tuple[str, str], **more: Any) -> Claim:
    """16 in 100 against 11 in 100."""
    given: dict[str, Any] = {
        "measure": "risk ratio",
        "estimate": 1.5,
        "low": 1.2,
        "high": 1.8,
        "line": "line",
    } | more
    return Claim(
        "key", chapter, "place", p=0.001, events=160, n=1000, events_versus=110, n_versus=1000, excess=50.0,
        period=("2023", "2026"), about=about, **given,
    )  # fmt: skip


def group(factor: str, level: str, versus: str, with_factor: str = "", with_group: str = "") -> Claim:
    return claim("groups", ("factor", factor), ("group", level), ("with_factor", with_factor),
                 ("with_group", with_group), ("versus", versus))  # fmt: skip


SAID = [
    (group("several", "twin or more", "single"), "Twins and more: 16 in 100 lost, single lambs 11 in 100."),
    (group("several", "twin or more", "the rest"), "Twins and more: 16 in 100 lost, the rest 11 in 100."),
    (
        group("difficulty", "difficult", "the rest", "dam_condition", "2.5 to 3.5"),
        "Birth difficult, condition 2.5 to 3.5: 16 in 100 lost, the rest 11 in 100.",
    ),
    (
        claim("first_hours", ("check", "standing"), ("versus", "met")),
        "Not standing in time: 16 in 100 lost, the others 11 in 100.",
    ),
    (
        claim("first_hours", ("check", "suck"), ("factor", "birth_type"), ("group", "twin"), ("versus", "single")),
        "Weak or no suck reflex: twin lambs, 16 in 100; single lambs, 11 in 100.",
    ),
    (
        claim("colostrum", ("how", "landmark"), ("mark_h", "8.0"), ("adjusted", "True"), ("versus", "fed")),
        "Not fed by 8 hours: 16 in 100 lost later, those fed by then 11 in 100.",
    ),
    (
        claim("colostrum", ("how", "hourly"), ("mark_h", "nan"), ("adjusted", "True"), ("versus", "fed")),
        "Not yet fed, lambs died 1.50 times as fast as once fed.",
    ),
    (
        claim("mothering", ("how", "within difficulty"), ("handled", "yes"), ("versus", "no")),
        "Not mothered up: handled before bonding, 16 in 100; not handled, 11 in 100.",
    ),
    (
        claim("weather", ("seasons", "all"), ("hours", "24"), ("versus", "the others"), estimate=2.0),
        "Lambs died 2.00 times as fast in the coldest fifth of their hours.",
    ),
    (
        claim("years", ("part", "change"), ("season", "2026"), ("versus", "2025"), measure="risk difference",
              estimate=0.05),
        "2026: 16 in 100 lost. 2025: 11 in 100.",
    ),
    (
        claim("years", ("part", "rate"), ("season", "2026"), ("versus", "2025"), measure="risk difference",
              estimate=-0.054),
        "On the same mix of births, 2026 lost 5 in 100 fewer than 2025.",
    ),
    (
        claim("years", ("part", "mix"), ("season", "2026"), ("versus", "2025"), measure="risk difference",
              estimate=0.054),
        "By the mix of births alone, 2026 would lose 5 in 100 more than 2025.",
    ),
    (
        claim("years", ("cause", "stillbirth"), ("season", "2026"), ("versus", "2025")),
        "Born dead: 16 in 100 in 2026, 11 in 100 in 2025.",
    ),
    (
        claim("years", ("cause", "infection"), ("season", "2026"), ("versus", "2025")),
        "Lost to infection: 16 in 100 in 2026, 11 in 100 in 2025.",
    ),
    (claim("years", line="trend"), "Loss rose over the seasons: 11 in 100 lost in 2023, 16 in 100 in 2026."),
    (
        replace(claim("years", line="trend", measure="test", estimate=math.nan), excess=-40.0),
        "Loss fell over the seasons as a whole, though not from the first to the last.",
    ),
    (claim("farms", line="B"), "Farm B: 16 in 100 lost, the other farms 11 in 100."),
    (claim("planning"), "160 of 1\u202f000 ewes lost lambs again; chance alone gives about 110."),
    (claim("causes", line="infection"), "Lost to infection: birth types differ by more than chance."),
    (claim("causes", line="stillbirth"), "Born dead: birth types differ by more than chance."),
    (claim("losses", ("night", "by night"), ("versus", "by day")), "Born by night: 16 in 100 lost, by day 11 in 100."),
]  # fmt: skip


@pytest.mark.parametrize(("made", "said"), SAID, ids=[said[:24] for _, said in SAID])
def test_who_and_how_many_in_100(made: Claim, said: str) -> None:
    assert in_short(SHEEP, made) == said


@pytest.mark.parametrize("voice", [SHEEP, GERMAN], ids=["en", "de"])
def test_no_group_or_pair_of_groups_takes_more_than_twenty_words(voice: Voice) -> None:
    levels = [
        (entry.name, level) for entry in FACTORS for level in (*entry.levels, *([OWN] if entry.own else []))
    ]
    at_birth = [one for one in levels if one[0] in AT_BIRTH]  # only of these are pairs made
    pairs = [(one, other) for one, other in combinations(at_birth, 2) if one[0] != other[0]]
    made = [group(*one, "the rest") for one in levels] + [
        group(*one, "the rest", *other) for one, other in pairs
    ]
    made += [
        group(factor, level, versus)
        for factor, level in levels
        for other, versus in levels
        if other == factor
    ]
    too_long = {said for said in (in_short(voice, one) for one in made) if len(said.split()) > MOST_WORDS}
    assert too_long == set()


def test_where_the_counts_point_the_other_way_no_counts_are_told() -> None:
    """16 in 100 against 11 in 100, and yet 0.7 times the risk season by season."""
    said = in_short(SHEEP, replace(group("sex", "male", "female"), estimate=0.7))
    assert said == "Male lambs: lower than female lambs, once like is held against like."


def test_shares_that_round_alike_are_told_out_of_a_thousand() -> None:
    close = replace(group("sex", "male", "female"), events=24, events_versus=21)
    assert in_short(SHEEP, close) == "Male lambs: 24 in 1\u202f000 lost, female lambs 21 in 1\u202f000."


def test_the_seasons_are_named_as_short_as_can_be() -> None:
    assert span(SHEEP, claim()) == "2023 to 2026"
    assert span(GERMAN, claim()) == "2023 bis 2026"
    assert span(SHEEP, replace(claim(), period=("2026",))) == "2026"


def test_every_claim_of_a_review_is_told_in_short(hill_review: Review) -> None:
    for entry in hill_review.ledger.entries:
        said = in_short(hill_review.voice, entry.claim)
        assert len(said.split()) <= MOST_WORDS, said
        assert said.endswith(".")
        assert not re.search(r"\bnan\b|[{}]|_|One group", said), said
