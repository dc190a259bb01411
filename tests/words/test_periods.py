"""Every sentence that gives a result says of which season, where the records hold several."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from neonatal_stats.report.review import DATED, Review, build
from neonatal_stats.words import Sentence, Voice
from neonatal_stats.words.evidence import dated
from neonatal_stats.words.names import season_names
from tests.chapters.build import season

SEASONS = ("2023", "2024", "2025", "2026")
OF_NO_SEASON = ("records", "planning", "years")
"""Chapters that read all seasons and say for themselves what they speak of."""


@pytest.fixture(scope="module")
def review() -> Review:
    rows: list[dict[str, Any]] = []
    for place, name in enumerate(SEASONS):
        for dam in range(60):
            twins, lost = dam % 2 == 0, dam % 5 == 0 and dam < 40 + 5 * place
            for one in range(1 + twins):
                rows.append(
                    {
                        "dam_id": f"E{dam}",
                        "season": name,
                        "born_at": f"{name}-03-0{1 + dam % 9} 06:00",
                        "sex": "male" if one else "female",
                        "delivery": "caesarean" if dam % 12 == 0 else "unassisted",
                        "suck_reflex": "weak" if dam % 7 == 0 else "strong",
                        "fed_after_min": 60 + 30 * (dam % 11),
                        "mothered_up": "no" if dam % 17 == 0 else "yes",
                        "born_alive": "yes",
                        "birth_place": "outdoors" if dam % 3 else "indoors",
                        **({"died_after_h": 10 + dam, "cause": "infection"} if lost else {}),
                    }
                )
    return build(season(rows), made_on=date(2026, 7, 1), parts=("headline",))


def test_the_season_stands_before_every_result_of_one_season_while_several_are_read(review: Review) -> None:
    chapters = [section for section in review.sections if section.open and section.name not in OF_NO_SEASON]
    assert len(chapters) >= 7
    undated = [
        f"{section.name}: {sentence.text}"
        for section in chapters
        for sentence in section.sentences
        if sentence.role in DATED and not any(name in sentence.text for name in SEASONS)
    ]
    # what nobody wrote down, in any season, is no result of one
    assert [one for one in undated if "The records do not say" not in one] == []


def test_every_claim_states_the_seasons_that_it_speaks_of(review: Review) -> None:
    claims = {entry.claim.key: entry.claim for entry in review.ledger.entries}
    said = [one for section in review.sections for one in section.sentences if one.claim in claims]
    assert {claims[one.claim].period for one in said} >= {("2026",), SEASONS, ("2025", "2026")}
    for one in said:
        period = claims[one.claim].period
        assert period[0] in one.text or period[-1] in one.text, one.text
        if len(period) > 1:
            assert all(name in one.text for name in (period[0], period[-1])), one.text


def test_records_of_one_season_need_not_say_which() -> None:
    rows = [{"dam_id": f"E{dam}", "died": "yes" if dam < 9 else "no", "litter_size": 1} for dam in range(60)]
    made = build(season(rows), made_on=date(2026, 7, 1), parts=("headline",))
    losses = next(section for section in made.sections if section.name == "losses")
    assert losses.sentences[0].text.startswith("Of all lambs born, 9 of 60")


def test_a_sentence_that_names_its_seasons_is_left_as_it_is() -> None:
    voice = Voice(species="sheep")
    plain = Sentence(voice.say("Lost: {lost}.", lost="2026 of 9000"))
    named = Sentence(voice.say("In {period} {lost} were lost.", period="2024, 2026", lost="7"))
    assert dated(voice, plain, ("2026",), SEASONS).text == "2026: Lost: 2026 of 9000."
    assert dated(voice, named, ("2026",), SEASONS) is named
    assert dated(voice, plain, SEASONS, SEASONS).text.startswith("2023 to 2026: ")
    assert dated(voice, plain, SEASONS, SEASONS, SEASONS[:3]).text.startswith("2026 against 2023 to 2025: ")
    assert dated(voice, plain, ("2026",), ("2026",)) is plain
    assert dated(voice, plain, (), SEASONS) is plain


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (("2025",), "2025"),
        (("2023", "2024"), "2023 and 2024"),
        (("2023", "2024", "2025"), "2023 to 2025"),
        (("2023", "2025", "2026"), "2023, 2025 and 2026"),
    ],
)
def test_seasons_are_named_as_a_span_only_where_they_follow_one_another(
    names: tuple[str, ...], words: str
) -> None:
    assert season_names(Voice(), names, SEASONS) == words
