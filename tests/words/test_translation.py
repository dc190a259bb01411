"""The whole vocabulary can be translated: nothing is missing in German, nothing stale, nothing said past the voice."""

from __future__ import annotations

import pickle
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from html import unescape
from pathlib import Path

import pytest

from docs.list_templates import all_templates, lacking, main, stale
from neonatal_stats.chapters import outbreak, records
from neonatal_stats.report.folder import FIGURES, HEADLINE, PAGE, PARTS
from neonatal_stats.report.page import keeper_html, page_html
from neonatal_stats.report.review import Review, build
from neonatal_stats.report.write import write_review
from neonatal_stats.season.finding import CannotRead, Said, say, term
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import read_settings
from neonatal_stats.vocabulary import species as animals
from neonatal_stats.vocabulary.columns import BIRTHS
from neonatal_stats.vocabulary.languages import languages
from neonatal_stats.vocabulary.terms import SPECIES
from neonatal_stats.words import Voice
from neonatal_stats.words.problems import heard
from neonatal_stats.words.voice import Catalogue, catalogue
from tests.chapters.flock import flock
from tests.chapters.test_edges import SEASONS
from tests.conftest import DEMO, MADE_ON
from tests.demo import HERDS, hearing, review_of, said_of
from tests.report.test_at_a_glance import prints_no_number_that_is_none
from tests.thinned import thinned

GERMAN = catalogue("de")
OTHERS = [language for language in languages() if language != "en"]


def placeholders(text: str) -> set[str]:
    return set(re.findall(r"\{(\w+)\}", text))


def in_language(season: Season, language: str) -> Season:
    return replace(season, settings=replace(season.settings, language=language))


@pytest.fixture
def said(monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """Every template said while the test runs."""
    return hearing(monkeypatch)


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_file_is_whole_and_holds_nothing_stale(language: str) -> None:
    assert lacking(language) == {}
    assert stale(language) == []


def test_the_list_of_what_is_missing_can_be_pasted(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    short = dict(GERMAN.templates)
    del short["Lost"]
    monkeypatch.setattr("docs.list_templates.catalogue", lambda language: replace(GERMAN, templates=short))
    main("de")
    assert '"Lost" = ""' in capsys.readouterr().out


def test_what_stands_in_the_wrong_table_and_a_species_without_a_line_are_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    templates = dict(GERMAN.templates)
    moved = {**GERMAN.problems, "Lost": templates.pop("Lost")}
    few = {name: words for name, words in GERMAN.species.items() if name != "goat"}
    told = replace(GERMAN, templates=templates, problems=moved, species=few)
    monkeypatch.setattr("docs.list_templates.catalogue", lambda language: told)
    main("de")
    said = capsys.readouterr().out
    assert '# "Lost" stands in [problems] and belongs in [templates]' in said
    assert "# [species] has no line for goat" in said


def test_a_chapters_question_is_listed_under_its_own_file() -> None:
    assert all_templates()[outbreak.QUESTION] == "chapters/outbreak.py"


@pytest.mark.parametrize("language", OTHERS)
def test_placeholders_survive_translation(language: str) -> None:
    spoken = catalogue(language)
    forms = {*spoken.forms, *(form.capitalize() for form in spoken.forms)}
    for english, own in {**spoken.templates, **spoken.problems}.items():
        assert placeholders(own) <= placeholders(english) | forms, english
        assert placeholders(english) - placeholders(own) <= forms | {"dams_word"}, english


@pytest.mark.parametrize("language", OTHERS)
def test_every_species_has_its_words(language: str) -> None:
    spoken = catalogue(language)
    assert set(spoken.species) == {"", *SPECIES}
    assert set(animals.FORMS) <= set(spoken.forms)
    assert all(len(words) == len(spoken.forms) for words in spoken.species.values())


@pytest.mark.slow
@pytest.mark.usefixtures("undrawn")
@pytest.mark.parametrize("herd", HERDS)
def test_every_template_of_the_demo_reviews_is_translated(herd: str, said: set[str], tmp_path: Path) -> None:
    review = review_of(herd, "de")
    write_review(review, tmp_path / "out", parts=set(PARTS) - {FIGURES})
    said |= said_of(herd, "de")
    assert len(said) > 500
    assert said - set(GERMAN.templates) == set()
    assert said - set(all_templates()) == set(), "the list of templates does not see these"
    german = Voice("de")
    for column in ("problem", "remedy", "ended"):
        for text in review.season.problems[column].unique():
            assert heard(german, str(text)) != text


@pytest.mark.slow
@pytest.mark.usefixtures("undrawn")
@pytest.mark.parametrize("name", thinned(sorted(SEASONS), 3))
def test_every_template_of_seasons_at_the_edge_is_translated(name: str, said: set[str]) -> None:
    from tests.chapters.build import season

    page = page_html(build(season(SEASONS[name], language="de"), made_on=MADE_ON, parts=(HEADLINE, PAGE)))
    prints_no_number_that_is_none(page)
    assert said - set(GERMAN.templates) == set()


@cache
def german_review() -> Review:
    return build(in_language(flock(), "de"), made_on=MADE_ON)


@pytest.mark.slow
def test_a_german_page_says_so_and_speaks_german() -> None:
    page = page_html(german_review())
    assert '<html lang="de">' in page
    assert "<h1>Ablammung 2026" in page
    assert "Wie viele Lämmer gingen verloren, und wann?" in page
    assert re.search(r"\d von \d", page)
    assert re.search(r"\d,\d bis \d+,\d\u00a0%", page)
    assert not re.search(r"\d\.\d\u00a0%", page)
    assert '<html lang="de">' in keeper_html(german_review())


@pytest.mark.slow
def test_figures_speak_german() -> None:
    words = {text for figure in german_review().figures for text in _drawn(figure.canvas)}
    assert any("Lämmer" in text for text in words)
    assert not [text for text in words if re.search(r"\b(of|to|lambs?|lost|alive)\b", text)]
    assert not [text for text in words if re.fullmatch(r"\d+\.\d+", text)]


def _drawn(canvas: object) -> Iterator[str]:
    from matplotlib.figure import Figure
    from matplotlib.text import Text

    assert isinstance(canvas, Figure)
    canvas.draw_without_rendering()
    yield from (text.get_text() for text in canvas.findobj(Text) if isinstance(text, Text))


MASKED = "ж"
NOT_SAID = {"home", "births", "csv", "neonatal_stats", "set", "aside", "SHA", "GBP"}


@pytest.mark.slow
def test_nothing_is_said_past_the_voice(monkeypatch: pytest.MonkeyPatch) -> None:
    """A language in which every letter is the same one shows what did not go through the voice."""
    masked = {template: f"{_masked(template)}{number}" for number, template in enumerate(all_templates())}
    mask = Catalogue(masked, {}, animals.FORMS, {"": (MASKED,) * len(animals.FORMS)}, GERMAN.numbers, {}, {})
    monkeypatch.setattr("neonatal_stats.words.voice.catalogue", lambda language: mask)
    monkeypatch.setattr("neonatal_stats.season.settings.languages", lambda: ("en", "xx"))
    made = build(in_language(flock(), "xx"), made_on=MADE_ON)
    body = re.sub(r"<style.*?</style>|<svg.*?</svg>|<[^>]*>", " ", page_html(made), flags=re.DOTALL)
    body = re.sub(r"tables/[\w-]+\.csv", " ", body)  # files and sheets keep their names
    sheets = {word for table in made.tables for word in (table.name.split("-")[0], *table.sheet.split("-"))}
    months = set(GERMAN.numbers.months.replace(".", "").split())
    names = set(re.findall(r"[A-Za-z_]{3,}", unescape(body)))
    columns = {column.name for column in BIRTHS}
    assert names - columns - NOT_SAID - sheets - months - {"bis", "von", "unter", "mindestens"} == set()


def _masked(template: str) -> str:
    parts = re.split(r"(\{\w+\})", template)
    return "".join(part if part.startswith("{") else re.sub(r"[^\W\d_]", MASKED, part) for part in parts)


def test_the_farms_own_text_is_never_translated_or_filled_in() -> None:
    voice = Voice("de", species="sheep")
    assert (
        voice.say("{name}, {farm}", name="Lost", farm="{newborn} of the Lost")
        == "Lost, {newborn} of the Lost"
    )


def test_problems_are_said_with_what_was_filled_in() -> None:
    outside = say(
        "it is outside the plausible {low} to {high} for {species}",
        low=0.5,
        high="10 kg",
        species=term("sheep"),
    )
    found = say("{outside}; it would be inside if {unit} was meant", outside=outside, unit="lb")
    english = "it is outside the plausible 0.5 to 10 kg for sheep; it would be inside if lb was meant"
    german = "es liegt außerhalb des glaubhaften Bereichs 0,5 bis 10 kg (Schafe); es läge darin, wenn lb gemeint war"
    assert heard(Voice("de"), found) == german
    assert heard(Voice(), found) == found == english
    assert (
        heard(Voice("de"), "a sentence that no language file knows")
        == "a sentence that no language file knows"
    )
    assert heard(Voice("de"), "set aside") == "ausgesondert"


def test_what_the_farm_wrote_is_filled_in_as_it_stands() -> None:
    remedy = 'if it belongs to the records, say in the map under [columns] which column "{heading}" is'
    german = (
        'gehört sie zu den Aufzeichnungen, in der Zuordnung unter [columns] sagen, welche Spalte "sheep" ist'
    )
    assert heard(Voice("de"), say(remedy, heading="sheep")) == german
    assert "{n} Lost" in heard(Voice("de"), say(remedy, heading="{n} Lost"))


def test_a_problem_of_the_list_keeps_its_template_through_frames_files_and_counts() -> None:
    season = read_season(sorted(DEMO.glob("suckler_cows*.csv")), settings=DEMO / "suckler_cows_settings.toml")
    for name in ("problem", "remedy"):
        kept = [*season.problems[name], *season.problems[name].drop_duplicates()]
        assert {type(text) for text in kept} == {Said}
        assert all(text == text.template.format(**text.filled) for text in kept)
    assert type(pickle.loads(pickle.dumps(season.problems["problem"].iloc[0]))) is Said
    assert {type(text) for text in records.answer(season).problems["problem"]} == {Said}


def test_an_unknown_language_names_those_there_are(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text('language = "xx"\n', encoding="utf-8")
    with pytest.raises(CannotRead) as refused:
        read_settings(path)
    assert (
        str(refused.value) == 'settings.toml, language: "xx" is not among the languages; use one of en, de.'
    )


def test_a_known_language_is_read(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text('language = "de"\n', encoding="utf-8")
    assert read_settings(path).language == "de"
