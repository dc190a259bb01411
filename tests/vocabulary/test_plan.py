"""One registry of measures: each is counted, has its words, and is read back as any language writes it."""

from __future__ import annotations

import pytest

from neonatal_stats.measures.plan_measures import COUNTED
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.languages import languages
from neonatal_stats.vocabulary.plan import (
    MEASURES,
    PLAN,
    done_meant,
    is_plan,
    measure_meant,
    plan_column,
    plan_measures,
)
from neonatal_stats.words.names import measure_name
from neonatal_stats.words.voice import Voice

SETTINGS = Settings()
KNOWN = plan_measures(SETTINGS.windows_h, SETTINGS.causes)


def test_every_measure_of_the_registry_is_counted_and_nothing_else_is() -> None:
    assert {one.counted for one in MEASURES} == set(COUNTED)


def test_what_was_done_comes_first_and_losses_fall() -> None:
    losses = [one.loss for one in KNOWN]
    assert losses == sorted(losses)
    assert all(one.more_is_better is not one.loss for one in KNOWN)
    windows = [f"lost by {name}" for name in Settings().windows_h]
    assert [one.name for one in KNOWN if one.loss][: len(windows) + 2] == [
        *windows,
        "lost by the end",
        "born dead",
    ]
    assert not {"lost to unknown", "lost to stillbirth"} & {one.name for one in KNOWN}


@pytest.mark.parametrize("language", languages())
def test_names_and_headings_of_every_language_are_read_back(language: str) -> None:
    voice = Voice(language)
    assert [measure_meant(measure_name(voice, one), KNOWN) for one in KNOWN] == list(KNOWN)
    assert [plan_column(voice.say(column.name.replace("_", " "))) for column in PLAN] == [
        one.name for one in PLAN
    ]
    assert [done_meant(voice.say(word)) for word in ("yes", "partly", "no")] == ["yes", "partly", "no"]


def test_a_sheet_of_births_is_no_plan() -> None:
    assert is_plan(["action", "who", "to"])
    assert not is_plan(["season", "dam_id", "born_at", "died", "cause", "weight"])
    assert not is_plan(["who", "when", "done"])
