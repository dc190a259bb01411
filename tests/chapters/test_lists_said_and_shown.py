"""Of the invented lists: numbers said stand in tables, all is translated, and the order of the rows changes nothing."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import ModuleType

import pandas as pd
import pytest

from docs.list_templates import all_templates
from neonatal_stats import read_season
from neonatal_stats.chapters import colostrum, examinations, treatments
from neonatal_stats.season.model import Season
from neonatal_stats.tables import printed
from neonatal_stats.words import Voice
from neonatal_stats.words.voice import catalogue

DEMO = Path(__file__).parents[2] / "data" / "demo"
LISTS = DEMO / "laboratory"
NUMBER = re.compile(r"\d+(?:[\u202f\u00a0]\d{3})*(?:\.\d+)?")
SETTINGS = {"95", "24", "7", "37", "39", "5", "22.0", "10", "1960"}
ASKED = {
    "bloods": (colostrum,),
    "carcasses": (examinations, treatments),
    "beside births": (examinations, treatments),
}


@cache
def season(name: str) -> Season:
    files = {
        "bloods": [LISTS / "parlour_samples.csv", LISTS / "parlour_colostrum.csv"],
        "carcasses": [LISTS / "vale_examinations.csv", LISTS / "vale_treatments.csv"],
    }
    files["beside births"] = [DEMO / "outbreak" / "vale_sheep_2026.csv", *files["carcasses"]]
    made = read_season(files[name])
    return made[made.under_review]


def asked() -> list[tuple[str, ModuleType]]:
    return [(name, chapter) for name, chapters in ASKED.items() for chapter in chapters]


each = pytest.mark.parametrize(
    ("name", "chapter"), asked(), ids=[f"{name} {chapter.__name__}" for name, chapter in asked()]
)


def shown(chapter: ModuleType, of: Season) -> str:
    tables = chapter.tables(chapter.answer(of))
    return " ".join(f"{printed(table).to_csv()} {table.title} {table.note}" for table in tables)


@each
def test_numbers_said_are_numbers_shown(name: str, chapter: ModuleType) -> None:
    numbers = set(NUMBER.findall(shown(chapter, season(name)))) | SETTINGS
    said = [one for one in chapter.sentences(chapter.answer(season(name))) if one.role == "answer"]
    assert said
    missing = {
        (number, one.text) for one in said for number in NUMBER.findall(one.text) if number not in numbers
    }
    assert missing == set()


@each
def test_nothing_is_shown_that_is_no_number_and_every_figure_has_words(
    name: str, chapter: ModuleType
) -> None:
    result = chapter.answer(season(name))
    texts = [one.text for one in chapter.sentences(result)]
    figures = chapter.figures(result)
    text = " ".join([*texts, *(figure.alt for figure in figures), shown(chapter, season(name))])
    assert not re.search(r"\b(nan|inf|None|NaT|<NA>)\b", text)
    assert "{" not in text
    assert len({figure.name for figure in figures}) == len(figures)


@each
def test_all_that_is_said_is_translated(
    name: str, chapter: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard: set[str] = set()
    say = Voice.say

    def noted(self: Voice, template: str, **values: str) -> str:
        heard.add(template)
        return say(self, template, **values)

    monkeypatch.setattr(Voice, "say", noted)
    german = replace(season(name), settings=replace(season(name).settings, language="de"))
    result = chapter.answer(german)
    for part in (chapter.sentences, chapter.figures, chapter.tables, chapter.method):
        part(result)
    assert len(heard) > 20
    assert heard - set(catalogue("de").templates) == set()
    assert heard - set(all_templates()) == set()


def test_the_order_of_the_rows_and_the_names_of_the_dams_change_nothing(tmp_path: Path) -> None:
    for path in LISTS.glob("vale_*.csv"):
        rows = pd.read_csv(path, dtype=str, keep_default_na=False).sample(frac=1, random_state=3)
        rows["dam_id"] = rows["dam_id"].map(lambda dam: f"ewe {dam}" if dam else "")
        rows.to_csv(tmp_path / path.name, index=False)
    other = read_season(tmp_path)
    for chapter in ASKED["carcasses"]:
        assert shown(chapter, other["2026"]) == shown(chapter, season("carcasses"))
