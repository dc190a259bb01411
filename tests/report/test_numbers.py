"""Every number in a sentence stands in a table of its chapter; every figure speaks; every chapter says who counted."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import pytest

from neonatal_stats.measures.claims import QUESTIONS
from neonatal_stats.report.at_a_glance import at_a_glance
from neonatal_stats.report.first_page import first_page
from neonatal_stats.report.review import Review, Section
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printed
from neonatal_stats.words import Verdict

pytestmark = pytest.mark.slow  # the review of four seasons
NUMBER = re.compile(r"\d[\d\u202f]*(?:\.\d+)?")


def numbers(text: str) -> set[str]:
    return set(NUMBER.findall(text))


def table_numbers(table: Table) -> set[str]:
    shown = printed(table)
    texts = [table.title, table.note, *map(str, shown.columns), *map(str, shown.to_numpy().ravel())]
    return {number for text in texts for number in numbers(text)}


def settings_numbers(settings: Settings) -> set[str]:
    """Numbers a sentence may use because they are settings: windows, marks, level, smallest group."""
    marks = settings.marks
    found = {
        settings.follow_up_d,
        settings.minimum_group,
        100 * settings.level,
        100 * settings.false_discovery_share,
    }
    found |= {float(value) for name, value in vars(marks).items() if not isinstance(value, tuple)}
    found |= {float(hour) for hour in marks.colostrum_h} | {100 * marks.colostrum_share_of_weight}
    printed_marks = {f"{value:g}" for value in found}
    return printed_marks | {n for name in settings.windows_h for n in numbers(name)}


def unexplained(section: Section, settings: Settings, seasons: tuple[str, ...]) -> Iterator[str]:
    known = settings_numbers(settings) | {n for table in section.tables for n in table_numbers(table)}
    known |= {n for name in seasons for n in numbers(name)}
    for sentence in section.sentences:
        for number in sorted(numbers(sentence.text) - known):
            yield f"{number} in: {sentence.text}"


def test_every_number_in_a_sentence_is_in_a_table(hill_review: Review) -> None:
    season = hill_review.season
    lost = [
        f"{section.name}: {line}"
        for section in hill_review.sections
        for line in unexplained(section, season.settings, season.seasons)
    ]
    assert lost == []


def test_every_headline_number_is_in_a_table(hill_review: Review) -> None:
    known = {n for table in hill_review.tables for n in table_numbers(table)}
    for line in hill_review.headlines:
        assert numbers(line.printed) <= known, line


def rounded(number: str) -> set[str]:
    """A printed decimal as the whole number that it rounds to, either way where it ends in a half."""
    value = float(number.replace("\u202f", ""))
    return {str(math.floor(value + nudge)) for nudge in (0.45, 0.5, 0.55)}


def test_every_number_that_page_one_draws_is_in_a_table_of_its_chapter(hill_review: Review) -> None:
    settings = settings_numbers(hill_review.season.settings)
    for section in hill_review.sections:
        known = settings | {n for table in section.tables for n in table_numbers(table)}
        for one in section.glance:
            assert numbers(one.printed) <= known, one


def test_every_number_on_page_one_is_in_a_table_or_rounds_one(hill_review: Review) -> None:
    glance, top = at_a_glance(hill_review), first_page(hill_review)
    assert glance.lost is not None
    said = [glance.lost.number, glance.lost.words, glance.lost.range, glance.lost.counts, glance.same_mix]
    said += [f"{one.n} {one.cause}" for one in (*glance.stages, *glance.lost.notes)]
    said += [f"{row.name} {row.word} {row.counts} {row.period}" for row in (*glance.who, *glance.hours)]
    said += [f"{one.name} {one.told}" for one in glance.seasons]
    said += [f"{point.short} {point.span}" for point in top.stand_out]
    shown = {n for table in hill_review.tables for n in table_numbers(table)}
    known = (
        shown | {whole for n in shown for whole in rounded(n)} | settings_numbers(hill_review.season.settings)
    )
    known |= {*hill_review.season.seasons, "100"}
    assert {n for text in said for n in numbers(text)} - known == set()


def test_every_percent_stands_beside_its_counts(hill_review: Review) -> None:
    for section in hill_review.sections:
        for sentence in section.sentences:
            for match in re.finditer(r"\(([\d.]+)\u00a0%, ", sentence.text):
                before = sentence.text[: match.start()]
                assert re.search(r"\d of [\d\u202f]+[\w ]* $", before), f"{section.name}: {sentence.text}"


def test_every_figure_has_a_text_alternative(hill_review: Review) -> None:
    for figure in hill_review.figures:
        assert len(figure.alt) > 40, figure.name
        assert figure.title, figure.name


def test_every_axis_with_numbers_names_its_unit(hill_review: Review) -> None:
    for figure in hill_review.figures:
        for axes in figure.canvas.axes:
            if axes.axison and axes.xaxis.get_visible() and axes.get_xticklabels():
                named = (
                    axes.get_xlabel() or axes.get_ylabel() or axes.get_title("left")
                )  # level above an upright axis
                assert named or not axes.has_data(), figure.name


def test_every_open_chapter_says_who_was_counted(hill_review: Review) -> None:
    for section in hill_review.sections:
        if section.open:
            assert section.counted is not None, section.name
            assert section.sentences, section.name
            assert section.method is not None, section.name
            assert section.method.method, section.name


def test_names_of_figures_and_tables_are_their_own(hill_review: Review) -> None:
    names = [figure.name for figure in hill_review.figures] + [
        f"table {table.name}" for table in hill_review.tables
    ]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("bad", ["nan", "inf", "<NA>", "NaT"])
def test_no_missing_value_shows_as_such(hill_review: Review, bad: str) -> None:
    word = re.compile(rf"(?<![A-Za-z]){re.escape(bad)}(?![A-Za-z])")
    for section in hill_review.sections:
        for text in [s.text for s in section.sentences] + [f.alt for f in section.figures]:
            assert not word.search(text), f"{section.name}: {text}"
        for table in section.tables:
            for cell in printed(table).to_numpy().ravel():
                assert not word.search(str(cell)), f"{table.name}: {cell}"
                assert cell != "None", table.name


def test_the_top_names_at_most_three_or_says_that_nothing_stands_out(hill_review: Review) -> None:
    top = first_page(hill_review)
    assert len(top.stand_out) <= 3
    assert bool(top.nothing) is not bool(top.stand_out)
    assert len(top.nothing) <= 3
    assert top.headlines


def test_what_stands_out_is_a_clear_claim_in_its_chapters_own_words(hill_review: Review) -> None:
    said = {section.name: {s.claim: s.text for s in section.sentences} for section in hill_review.sections}
    for point in first_page(hill_review).stand_out:
        assert hill_review.ledger.verdicts[point.claim.key] is Verdict.CLEAR
        assert said[point.chapter][point.claim.key] == point.text
        assert point.period


def test_every_question_asked_beforehand_is_answered(hill_review: Review) -> None:
    answers = first_page(hill_review).asked
    assert [answer.key for answer in answers] == list(QUESTIONS)
    assert all(answer.text for answer in answers)


def test_every_clear_claim_has_a_sentence_that_names_it(hill_review: Review) -> None:
    said = {sentence.claim for section in hill_review.sections for sentence in section.sentences}
    clear = [entry.claim for entry in hill_review.ledger.entries if entry.verdict is Verdict.CLEAR]
    lines = {(claim.family, claim.line) for claim in clear if claim.key in said}
    # of two sides of one comparison the group that lost more speaks
    assert {claim.key for claim in clear if claim.key not in said and claim.excess > 0} == set()
    assert {(claim.family, claim.line) for claim in clear} == lines
