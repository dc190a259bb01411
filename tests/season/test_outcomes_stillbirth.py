"""A stillbirth that lived: a time or age of death after birth, or lungs that held air, outweighs the word."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats.chapters import examinations as chapter
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from tests.season.books import book, read

OTHERS = [
    {"newborn_id": f"L{n}", "dam_id": f"D{n}", "born_at": "2026-03-20 05:00", "died": "no", "cause": ""}
    for n in range(20)
]


def _read(folder: Path, examined: list[dict[str, str]] | None = None, **row: str) -> Season:
    one = {"newborn_id": "K1", "dam_id": "Q77", "born_at": "2026-03-20 05:00", "died": "yes", **row}
    pd.DataFrame([one, *OTHERS]).assign(species="sheep").to_csv(folder / "births.csv", index=False)
    if examined:
        pd.DataFrame(examined).assign(species="sheep").to_csv(folder / "examinations.csv", index=False)
    return read_season(folder)


def _of(season: Season) -> pd.Series:
    births = season.births
    return births[births["newborn_id"] == "K1"].iloc[0]


@pytest.mark.parametrize(
    ("row", "age_h"),
    [
        ({"cause": "stillbirth", "died_at": "2026-03-24"}, 96),
        ({"cause": "stillborn", "died_at": "2026-03-21 09:00"}, 28),
        ({"cause": "stillbirth", "age_at_death_d": "6"}, 144),
        ({"cause": "stillbirth", "age_at_death_h": "30"}, 30),
        ({"died": "stillborn", "died_at": "2026-03-22"}, 48),
        ({"born_alive": "no", "cause": "stillbirth", "died_at": "2026-03-22"}, 48),
        ({"born_alive": "no", "age_at_death_d": "3"}, 72),
    ],
)
def test_a_death_after_birth_outweighs_the_cause_stillbirth(
    tmp_path: Path, row: dict[str, str], age_h: float
) -> None:
    season = _read(tmp_path, **row)
    one = _of(season)
    assert (one["age_h"], one["stillborn"], one["died"], one["cause"]) == (age_h, False, True, "unknown")
    assert not season.all_well
    assert set(season.problems["ended"]) >= {"set to missing"}


@pytest.mark.parametrize(
    "row",
    [
        {"cause": "stillbirth", "died_at": "2026-03-20"},
        {"cause": "stillbirth", "age_at_death_d": "0"},
        {"cause": "stillbirth", "found_dead_at": "2026-03-21"},
        {"cause": "stillbirth"},
    ],
)
def test_a_stillbirth_stays_one_where_nothing_later_is_written(tmp_path: Path, row: dict[str, str]) -> None:
    one = _of(_read(tmp_path, **row))
    assert (one["age_h"], one["stillborn"], one["cause"]) == (0, True, "stillbirth")


@pytest.mark.parametrize("sign", ["breathed", "walked", "fed"])
@pytest.mark.parametrize("row", [{"cause": "stillbirth"}, {"born_alive": "no"}])
def test_an_examination_that_says_it_lived_outweighs_the_keepers_stillbirth(
    tmp_path: Path, sign: str, row: dict[str, str]
) -> None:
    examined = [{"newborn_id": "K1", "examined_at": "2026-03-21", sign: "yes"}]
    season = _read(tmp_path, examined, **row)
    one = _of(season)
    assert (one["stillborn"], one["died"], one["cause"]) == (False, True, "unknown")
    assert not season.all_well
    assert any("its examination says that it had lived" in str(line) for line in season.problems["problem"])
    breathed = chapter.answer(season["2026"]).breathed
    assert breathed.iloc[0][["events", "n"]].tolist() == [1, 1]


def test_an_examination_of_lungs_without_air_leaves_the_stillbirth(tmp_path: Path) -> None:
    examined = [{"newborn_id": "K1", "examined_at": "2026-03-21", "breathed": "no"}]
    one = _of(_read(tmp_path, examined, cause="stillbirth"))
    assert (one["stillborn"], one["age_h"]) == (True, 0)


OPEN_AGE = (
    "it is said to have been born dead, and yet to have died later; it is not counted as born dead, and when it died "
    "is open: which of the two is right?"
)


@pytest.mark.parametrize(
    "cells",
    [
        "died next day,no,",
        "dead by morning,no,",
        "died the day after,,stillbirth",
        "am nächsten Tag verendet,no,",
        '"stillborn, died next day",,',
        "died next day,had not breathed,",
    ],
)
def test_born_dead_and_dead_later_in_words_is_neither_in_silence(cells: str) -> None:
    season = read(book("died,born_alive,cause", [cells, "no,yes,", "no,yes,", "yes,no,"]))
    births = season.births.set_index("newborn_id")
    assert births["died"].tolist() == [True, False, False, True]
    assert births["stillborn"].tolist() == [False, False, False, True]
    assert not births.loc["000", "age_known"]
    assert str(births.loc["000", "cause"]) == "unknown"
    assert [(row["row"], row["problem"]) for row in season.problems.to_dict("records")] == [(2, OPEN_AGE)]


def test_a_remark_of_a_later_death_beside_born_dead_is_asked_about() -> None:
    season = read(
        book("died,born_alive,remarks", ["yes,no,died next day", "no,yes,", "yes,no,found dead next day"])
    )
    assert season.births["stillborn"].tolist() == [True, False, True]
    (row,) = season.problems.to_dict("records")
    assert (row["row"], row["value"], row["ended"]) == (2, "remarks: died next day", "asked")
    assert row["problem"] == (
        "it is counted as born dead, and yet its row speaks of a later death: which of the two is right?"
    )


def test_a_carcass_that_never_breathed_did_not_die_days_later(tmp_path: Path) -> None:
    path = tmp_path / "examinations.csv"
    path.write_text(
        "newborn_id,examined_at,species,breathed,age_at_death_d,finding\n1,2026-04-15,sheep,no,2,\n"
        "2,2026-04-16,sheep,no,0,died next day\n3,2026-04-16,sheep,no,0,\n",
        encoding="utf-8",
    )
    season = read_season(path)
    assert season.examinations["breathed"].isna().tolist() == [True, True, False]
    assert set(season.problems["problem"]) == {
        "it is said never to have breathed, and yet to have died some time after birth"
    }
