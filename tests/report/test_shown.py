"""What stands open of a chapter: the finding, all that is clear or on page one, a few more; nothing of it folded."""

from __future__ import annotations

import re
from collections import Counter as Tally
from html.parser import HTMLParser
from itertools import chain

import pytest

from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.rates import Counted
from neonatal_stats.report.first_page import claims_on_top, first_page
from neonatal_stats.report.page import page_html
from neonatal_stats.report.review import Review, Section
from neonatal_stats.report.shown import BESIDE, Shown, shown
from neonatal_stats.words import Method, Sentence, Verdict

METHOD = Method(("So.",), limits=("A caveat.", "Another limit."))
CLEAR, LEANING = Verdict.CLEAR, Verdict.LEANING


def chapter(*sentences: Sentence) -> Section:
    return Section("losses", "Losses", "How many?", (), sentences, method=METHOD, counted=Counted(1, 1))


def texts(sentences: tuple[Sentence, ...]) -> list[str]:
    return [sentence.text for sentence in sentences]


def test_the_first_answer_is_the_finding_and_a_few_stand_beside_it() -> None:
    page = shown(chapter(*(Sentence(str(i)) for i in range(6))))
    assert page.finding is not None
    assert page.finding.text == "0"
    assert texts(page.beside) == ["1", "2"]
    assert texts(page.answers) == ["3", "4", "5"]
    assert len(page.beside) == BESIDE


def test_what_answers_in_short_is_the_finding() -> None:
    page = shown(chapter(Sentence("first"), Sentence("in short", lead=True)))
    assert page.finding is not None
    assert page.finding.text == "in short"


def test_all_that_is_clear_stands_open_before_the_rest() -> None:
    clear = [Sentence(f"clear {i}", CLEAR, claim=f"c{i}") for i in range(5)]
    page = shown(chapter(Sentence("finding"), Sentence("plain"), *clear))
    assert texts(page.beside) == [f"clear {i}" for i in range(5)]
    assert texts(page.answers) == ["plain"]


def test_a_sentence_that_goes_on_stays_with_the_one_before_it() -> None:
    said = (
        Sentence("finding"),
        Sentence("plain"),
        Sentence("counts"),
        Sentence("clear", CLEAR, goes_on=True),
        Sentence("to explain this away", goes_on=True),
        Sentence("other"),
    )
    page = shown(chapter(*said))
    assert texts(page.beside) == ["counts", "clear", "to explain this away", "plain"]
    assert texts(page.answers) == ["other"]


def test_a_caution_is_no_answer_and_the_first_limit_is_the_caveat() -> None:
    page = shown(chapter(Sentence("finding"), Sentence("Wear gloves.", role="caution")))
    assert page.cautions == ("Wear gloves.",)
    assert (page.caveat, page.limits) == ("A caveat.", ("Another limit.",))
    assert page.beside == ()


def test_a_closed_chapter_has_nothing_but_its_section() -> None:
    shut = Section("farms", "Farms", "Which?", ("One farm.",))
    assert shown(shut).finding is None


def test_no_clear_sentence_and_none_of_page_one_is_folded(hill_review: Review) -> None:
    top = first_page(hill_review)
    assert sum(len(claims_on_top(top, section.name)) for section in hill_review.sections) >= 6
    for section in hill_review.sections:
        on_top = claims_on_top(top, section.name)
        page = shown(section, on_top)
        assert not [one.text for one in page.answers if one.verdict is CLEAR or one.claim in on_top]


def test_every_sentence_and_figure_stands_once(hill_review: Review) -> None:
    for section in hill_review.sections:
        page = shown(section)
        said = Tally(one.text for one in _all(page))
        answers = Tally(one.text for one in section.sentences if one.role == "answer")
        assert said == answers, section.name
        figures = [one for one in (page.figure, *page.figures) if one]
        assert figures == list(section.figures)


def _all(page: Shown) -> list[Sentence]:
    return [one for one in chain((page.finding,), page.beside, page.answers) if one]


class Anchors(HTMLParser):
    """The ids of a page, where each stands (in how many folds), and the links within the page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.ids: list[tuple[str, int]] = []
        self.links: list[str] = []
        self._folds = 0
        self.feed(html)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        named = dict(attributes)
        if named.get("id"):
            self.ids.append((str(named["id"]), self._folds))
        href = named.get("href") or ""
        if tag == "a" and href.startswith("#"):
            self.links.append(href[1:])
        self._folds += tag == "details"

    def handle_endtag(self, tag: str) -> None:
        self._folds -= tag == "details"


def test_every_link_leads_to_one_place_that_is_not_folded(hill_review: Review) -> None:
    page = Anchors(page_html(hill_review))
    assert [name for name, n in Tally(name for name, _ in page.ids).items() if n > 1] == []
    folded = dict(page.ids)
    assert len(page.links) > 30
    assert {link: folded.get(link) for link in page.links if folded.get(link) != 0} == {}


def test_a_claim_of_page_one_that_no_sentence_names_leads_to_its_chapter(
    hill_review: Review, monkeypatch: pytest.MonkeyPatch
) -> None:
    unsaid = Claim(
        "losses/nobody says", "losses", "time", "", "risk ratio", 1, 1, 1, 1, 1, 1, 1, 1, 1, ("2026",)
    )
    monkeypatch.setattr(
        "neonatal_stats.report.page.claims_on_top",
        lambda top, chapter: frozenset({unsaid.key} if chapter == "losses" else ()),
    )
    html = page_html(hill_review)
    assert re.search(r'<h2 id="losses-heading"><a id="losses-nobody-says"></a>', html)
