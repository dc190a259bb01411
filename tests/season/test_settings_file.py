"""Settings and maps: every key is checked, and a wrong one is named with what is allowed."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.records_map import read_map
from neonatal_stats.season.settings import READERS, Settings, read_settings

WHOLE = """
cluster = "farm"
follow_up_d = 56
season_first_month = 1
day_first = true
time_zone = "Europe/London"
minimum_group = 12
level = 0.9
price = 80
currency = "GBP"
kind = "hill"
compare = ["2025", "2026"]
standard_mix = ["birth_type"]
[windows_h]
"7 d" = 168
"48 h" = 48
[marks]
fed_h = 3
colostrum_h = [12, 4]
[cause_words]
scours = "infection"
[ranges]
birth_weight_kg = [1, 9]
[ranges_by_species.cattle]
birth_weight_kg = [15, 75]
[targets]
"lost by 48 h" = 0.05
"absorbed" = 0.9
[[reference]]
species = "sheep"
kind = "hill"
outcome = "lost"
window_h = 168
low = 0.06
middle = 0.1
high = 0.14
spread = "quartiles"
n = 9
counted_in = "flocks"
year = 2025
definition = "lost by a week, the born dead with them"
source = "flocks of the practice"
[[expected]]
season = "2026"
dams_scanned = 410
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "settings.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_every_setting_can_be_said_in_a_file(tmp_path: Path) -> None:
    settings = read_settings(written(tmp_path, WHOLE))
    assert (settings.cluster, settings.follow_up_h, settings.level, settings.price) == (
        "farm",
        1344.0,
        0.9,
        80.0,
    )
    assert list(settings.windows_h) == ["48 h", "7 d"]
    assert (settings.marks.fed_h, settings.marks.colostrum_h, settings.marks.standing_h) == (
        3.0,
        (4.0, 12.0),
        1.0,
    )
    assert settings.ranges_by_species["cattle"]["birth_weight_kg"] == (15.0, 75.0)
    assert (settings.expected[0].season, settings.expected[0].dams_scanned) == ("2026", 410)
    assert (settings.kind, settings.targets) == ("hill", {"lost by 48 h": 0.05, "absorbed": 0.9})
    (mine,) = settings.reference
    assert (mine.low, mine.n, mine.of, mine.year) == (0.06, 9, "born", "2025")
    assert set(READERS) == {field.name for field in fields(Settings)}


def test_an_empty_file_leaves_every_default(tmp_path: Path) -> None:
    assert read_settings(written(tmp_path, "")) == Settings()


WRONG = {
    'clustr = "farm"': 'settings.toml: "clustr" is no key here; did you mean "cluster"?',
    'cluster = "herd"': 'settings.toml, cluster: "herd" is not accepted; use one of litter, dam, farm.',
    "level = 95": 'settings.toml, level: a share between 0 and 1, such as 0.95, belongs here, found "95".',
    "season_first_month = 13": 'settings.toml, season_first_month: a whole number from 1 to 12 belongs here, found "13".',
    'time_zone = "Mars"': 'settings.toml, time_zone: "Mars" is no time zone; write one such as "Europe/London".',
    "[marks]\nfed = 3": 'settings.toml, marks: "fed" is no key here; did you mean "fed_h"?',
    "[ranges]\nbirth_weight_kg = [9, 1]": (
        "settings.toml, ranges, birth_weight_kg: a pair such as [0.5, 10], the lower end first, belongs here, "
        'found "[9, 1]".'
    ),
    '[cause_words]\nscours = "infecton"': (
        'settings.toml, cause_words: "scours" is said to mean "infecton", which is no cause; did you mean "infection"?'
    ),
    "level = ": "settings.toml: it is not valid TOML (Invalid value (at end of document)); mend it there.",
    'kind = "hil"': 'settings.toml, kind: "hil" is not accepted; did you mean "hill"?',
    '[targets]\n"lost by 7d" = 0.1': (
        'settings.toml, targets: there is no share "lost by 7d" (the windows of [windows_h] are '
        f'{", ".join(Settings().windows_h)}); did you mean "lost by 7 d"?'
    ),
    '[targets]\n"born dead" = 5': (
        'settings.toml, targets, "born dead": a share between 0 and 1, such as 0.95, belongs here, found "5".'
    ),
    '[[reference]]\nspecies = "sheep"\nn = 3\nmiddle = 0.1': (
        "settings.toml, reference, entry 1: it lacks outcome, definition, source."
    ),
    "[[expected]]\ndams_scanned = -1": (
        'settings.toml, expected, entry 1, dams_scanned: a whole number from 0 to 10,000,000 belongs here, found "-1".'
    ),
}


@pytest.mark.parametrize("text", WRONG)
def test_a_wrong_setting_gives_one_sentence(tmp_path: Path, text: str) -> None:
    with pytest.raises(CannotRead) as raised:
        read_settings(written(tmp_path, text))
    assert str(raised.value) == WRONG[text]


WRONG_MAPS = {
    '[colums]\nTag = "newborn_id"': 'settings.toml: "colums" is no key here; did you mean "columns"?',
    '[columns]\nTag = "newborn"': 'settings.toml, [columns]: "Tag" = "newborn" is no column; did you mean "newborn_id"?',
    '[columns]\nTag = "?"': 'settings.toml, [columns]: "Tag" is still open; write what it means, or "" to leave it out.',
    '[words.sex]\nhe = "mail"': 'settings.toml, [words.sex]: "he" = "mail" is not accepted; did you mean "male"?',
    '[words.breed]\nx = "y"': "settings.toml, [words.breed]: breed takes no list of words; remove the section.",
    '[units]\nbirth_weight_kg = "stone"': (
        'settings.toml, [units]: "stone" is no unit of birth_weight_kg; use one of kg, g, lb, oz.'
    ),
    '[feeds.columns]\nTag = "dam_id"': (
        'settings.toml, [feeds.columns]: "Tag" = "dam_id" is no column of feeds; use one of newborn_id, fed_at, '
        "volume_ml, source, brix_pct, igg_g_per_l, person, farm."
    ),
    "[months]\navril = 14": 'settings.toml, [months]: "avril" must be a number from 1 to 12, found "14".',
    '[tables]\nSheet1 = "lambs"': (
        'settings.toml, [tables]: "Sheet1" = "lambs" is no table; use one of births, feeds, samples, weather, '
        "colostrum, examinations, treatments, mobs."
    ),
}


@pytest.mark.parametrize("text", WRONG_MAPS)
def test_a_wrong_map_gives_one_sentence(tmp_path: Path, text: str) -> None:
    with pytest.raises(CannotRead) as raised:
        read_map(written(tmp_path, text))
    assert str(raised.value) == WRONG_MAPS[text]


def test_a_map_of_one_table_goes_before_the_shared_one(tmp_path: Path) -> None:
    text = '[columns]\nDate = "born_on"\n[feeds.columns]\nDate = "fed_at"\n[births.fixed]\nspecies = "goat"\n'
    records_map = read_map(written(tmp_path, text))
    assert records_map.of("births").column_of("births", " date ") == "born_on"
    assert records_map.of("feeds").column_of("feeds", "Date") == "fed_at"
    assert records_map.of("births").fixed == {"species": "goat"}
