"""Page one says what the ledger decided: what stands out or what could have been seen, and what is always asked."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from html import unescape
from importlib import resources
from typing import Any

import jsonschema
import pytest

from neonatal_stats.measures.claims import QUESTIONS, Claim
from neonatal_stats.measures.ledger import decide
from neonatal_stats.measures.rates import Counted
from neonatal_stats.report.first_page import first_page, looked
from neonatal_stats.report.page import page_html
from neonatal_stats.report.review import Review, Section, anchor, build
from neonatal_stats.report.write import headline
from neonatal_stats.season.model import Season
from neonatal_stats.words import Method, Sentence, Verdict, voice_of
from tests.chapters.build import season

FLOCK = [
    {"dam_id": f"E{dam}", "born_alive": "yes", **({"died_after_h": 30} if dam < 7 and not twin else {})}
    for dam in range(40)
    for twin in range(2)
]
"""40 dams with twins, 7 losses."""


def claim(key: str, p: float, **more: Any) -> Claim:
    made = Claim(key, "losses", "place", key, "risk ratio", 3.0, 1.6, 5.5, p, 12, 40, 40, 400, 8.0, ("2026",))
    return replace(made, **more)


def review(*claims: Claim, of: Season | None = None, **settings: Any) -> Review:
    """A review of one chapter whose sentences assert these claims."""
    records = of or season(FLOCK, **settings)
    ledger = decide(claims, records.settings)
    said = tuple(
        Sentence(f"The sentence of {one.key}.", ledger.verdicts[one.key], claim=one.key) for one in claims
    )
    section = Section(
        "losses", "Losses", "How many?", (), (Sentence("The answer in short.", lead=True), *said)
    )
    return Review(records, "2026", (section,), voice_of(records), date(2026, 6, 1), ledger)


def test_what_stands_out_is_said_in_the_chapters_words_with_its_period_and_place() -> None:
    made = review(claim("losses/group/north pen", 1e-6), claim("losses/sex/male", 0.4))
    (point,) = first_page(made).stand_out
    assert point.text == "The sentence of losses/group/north pen."
    assert (point.period, point.anchor) == ("2026", "losses-group-north-pen")
    assert first_page(made).nothing == ()


def test_leaning_stays_in_its_chapter() -> None:
    made = review(claim("a", 0.06))
    assert made.ledger.verdicts["a"] is Verdict.LEANING
    assert first_page(made).stand_out == ()


def test_at_most_three_stand_out_and_this_seasons_first() -> None:
    older = ("2024", "2026")
    made = review(
        *(claim(f"old {i}", 1e-8, period=older, excess=50.0 + i) for i in range(4)), claim("now", 1e-4)
    )
    assert [point.claim.key for point in first_page(made).stand_out] == ["now", "old 3", "old 2"]
    assert first_page(made).stand_out[1].period == "2024 to 2026, season by season"


def test_forty_dams_and_seven_losses_are_told_what_such_a_season_can_show() -> None:
    """80 newborns, a group of the smallest size, 10: hardly anything but most of it lost would be seen."""
    nothing = first_page(review(*(claim(str(i), 0.3 + i / 100) for i in range(20)))).nothing
    assert len(nothing) == 3
    assert nothing[0] == "Nothing stands out: of 20 comparisons none is clear of chance."
    assert nothing[1].startswith("A group of 10 lost ")
    assert nothing[1].endswith("less than that could have been missed.")
    assert nothing[2].startswith("So few losses show how many were lost, and when;")


def test_records_without_a_comparison_say_so() -> None:
    said, can_show = first_page(review()).nothing
    assert said.startswith("Nothing stands out: these records hold no comparison")
    assert can_show.startswith("So few losses show")


@pytest.mark.parametrize(
    ("more", "text"),
    [
        ({"p": 0.001}, "Higher: 12 of 40 (30.0 %) against 40 of 400 (10.0 %), 3.00 times the risk"),
        (
            {"p": 0.001, "estimate": 0.4, "low": 0.2, "high": 0.8, "excess": -3.0},
            "Lower: 12 of 40 (30.0 %) against 40 of 400 (10.0 %), 0.40 times the risk",
        ),
        ({"p": 0.15}, "Not clear once all that was looked at is allowed for: 12 of 40"),
        ({"p": 0.15, "low": 0.9}, "No clear difference: 12 of 40"),
        ({"p": 0.5, "low": 0.7}, "No clear difference: 12 of 40"),
        ({"p": 0.001, "sayable": False, "events": 1, "n": 3}, "Too few to say: 1 of 3 against 40 of 400"),
    ],
)
def test_a_question_always_asked_is_answered_whatever_the_answer(more: dict[str, Any], text: str) -> None:
    made = review(claim("s", asked="surgery", family="delivery", **more))
    answers = {answer.key: answer for answer in first_page(made).asked}
    assert list(answers) == list(QUESTIONS)
    assert answers["surgery"].text.replace("\xa0", " ").startswith(text)
    assert answers["mothering after surgery"].text == "Not answered: not recorded."
    assert answers["twins"].text == "Too few to say."
    assert answers["season"].text == "Not answered: there is no other season."


def test_a_question_with_several_claims_is_answered_by_the_clear_one_else_by_most_newborns() -> None:
    now = claim("now", 0.4, asked="surgery", family="delivery", low=0.9)
    all_seasons = replace(now, key="all", n=160, n_versus=1600, period=("2024", "2026"))
    for pair, expected in (
        ((now, all_seasons), "all"),
        ((replace(now, p=1e-5, low=1.6), all_seasons), "now"),
    ):
        answer = first_page(review(*pair)).asked[0]
        assert answer.claim is not None
        assert answer.claim.key == expected


def four_seasons() -> Season:
    return season(
        [{**row, "dam_id": f"{name}{row['dam_id']}", "season": name} for name in "ABCD" for row in FLOCK]
    )


def test_the_season_is_answered_with_the_seasons_that_are_compared() -> None:
    """Both comparisons are named, the clear one first, in the text and in the headline of other programs."""
    given: dict[str, Any] = {"asked": "season", "family": "season", "measure": "risk difference"}
    pair = claim("pair", 0.3, period=("C", "D"), against=("C",), estimate=0.02, low=-0.02, high=0.05, **given)
    others = claim(
        "others",
        1e-5,
        period=("A", "B", "C", "D"),
        against=("A", "B", "C"),
        estimate=0.07,
        low=0.03,
        high=0.11,
        **given,
    )
    others = replace(others, measure="standardised difference")
    made = review(pair, others, of=four_seasons())
    answer = next(one for one in first_page(made).asked if one.key == "season")
    assert answer.text.replace("\xa0", " ") == (
        "Higher: D against A to C, 12 of 40 (30.0 %) against 40 of 400 (10.0 %); on one mix of births +7.0 percentage "
        "points (95 % interval +3.0 to +11.0). No clear difference: D against C, 12 of 40 (30.0 %) against 40 of 400 "
        "(10.0 %), +2.0 percentage points (95 % interval −2.0 to +5.0)."
    )
    assert answer.period == ""
    assert first_page(made).stand_out[0].period == "D against A to C"
    found = headline(made)["asked"]["season"]
    assert (found["period"], found["against"]) == (["A", "B", "C", "D"], ["A", "B", "C"])
    assert "D against A to C" in found["text"]
    turned = review(replace(pair, p=1e-6, low=0.01), replace(others, p=0.4, low=-0.1), of=four_seasons())
    text = next(one for one in first_page(turned).asked if one.key == "season").text
    assert text.startswith("Higher: D against C, ")
    assert "No clear difference: D against A to C, " in text


def test_what_must_stand_beside_a_claim_stands_beside_it_wherever_page_one_says_it() -> None:
    made = review(
        claim("s", 1e-6, asked="season", family="season", period=("C", "D"), against=("C",)),
        of=four_seasons(),
    )
    section = made.sections[0]
    told = [replace(one, beside="Mix, not rate." if one.claim else "") for one in section.sentences]
    whole = replace(section, sentences=tuple(told), counted=Counted(1), method=Method(("By hand.",)))
    made = replace(made, sections=(whole,))
    (point,) = first_page(made).stand_out
    assert (point.beside, point.period) == ("Mix, not rate.", "D against C")
    assert next(one for one in first_page(made).asked if one.key == "season").text.endswith("Mix, not rate.")
    assert headline(made)["stands_out"][0]["text"].endswith("Mix, not rate.")
    assert page_html(made).count("Mix, not rate.") == 2  # beside the answer and beside what stands out


def test_the_fold_counts_what_was_looked_at() -> None:
    few = claim("few", 0.01, sayable=False)
    made = review(claim("a", 1e-6), claim("b", 0.5), few, claim("s", 0.5, asked="surgery", family="delivery"))
    fold = looked(made)
    assert fold.sentences[0] == (
        "Comparisons decided together: 3. Questions asked beforehand among them: 1; families of comparisons found by "
        "looking: 1. Left undecided for want of lambs or losses: 1."
    )
    assert fold.sentences[1].startswith("Called clear: 1, in 1 of the questions and families, of which chance alone is "
                                        "expected to give at most 0.1.")  # fmt: skip
    assert fold.lines == (("Places and pens", "2", "1"), ("Born by surgery against born vaginally", "1", "0"))


def test_the_headline_follows_its_schema_with_everything_in_it() -> None:
    made = review(claim("a", 1e-6), claim("s", 0.001, asked="surgery", family="delivery", high=float("nan")))
    found = headline(made)
    schema = json.loads((resources.files("neonatal_stats.report") / "headline.schema.json").read_text())
    jsonschema.validate(found, schema)
    assert found["asked"]["surgery"]["verdict"] == "clear"
    assert found["asked"]["surgery"]["high"] is None
    assert found["asked"]["mothering after surgery"]["verdict"] == "not recorded"
    assert [point["claim"] for point in found["stands_out"]] == ["a", "s"]
    assert found["looked"]["comparisons"] == 2


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_page_links_what_stands_out_to_the_sentence_that_says_it(language: str) -> None:
    key = "losses/group/Südstall"
    made = build(season(FLOCK, language=language), made_on=date(2026, 6, 1), parts=("headline",))
    ledger = decide([claim(key, 1e-6)], made.season.settings)
    first, *rest = made.sections
    says = Sentence("Said of the pen.", Verdict.CLEAR, claim=key)
    section = replace(next(one for one in made.sections if one.name == "losses"), sentences=(says,))
    made = replace(
        made, sections=(first, section, *(one for one in rest if one.name != "losses")), ledger=ledger
    )
    page = page_html(made)
    assert f'href="#{anchor(key)}"' in page
    assert f'id="{anchor(key)}"' in page
    assert "Said of the pen." in page
    assert unescape(first_page(made).stand_out[0].short) in unescape(page)


def test_names_that_an_id_cannot_hold_are_told_apart() -> None:
    assert anchor("losses/group/Süd") != anchor("losses/group/Sud")
    assert anchor("losses/group/Süd").startswith("losses-group-s-d-")
