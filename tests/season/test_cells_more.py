"""Clock times, dates in words and without a year, litter words and answers, as farms write them in twelve languages."""

from __future__ import annotations

from datetime import time
from pathlib import Path

import numpy as np
import pytest

from neonatal_stats.season.cells.dates import (
    clock_seconds,
    clocks_in,
    proven_order,
    read_dates,
    take_apart,
    written_clock,
)
from neonatal_stats.season.cells.numbers import litter_words
from neonatal_stats.season.cells.parsed import read_words
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.grid import raw_column
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.columns import column

pytestmark = pytest.mark.quickly(4)


@pytest.mark.parametrize(
    ("cell", "clock"),
    [
        ("5:30", "05:30"), ("05:30:20", "05:30:20"), ("5.30", "05:30"), ("5h30", "05:30"), ("5 h 30", "05:30"),
        ("0530", "05:30"), ("5:30pm", "17:30"), ("5:30 p.m.", "17:30"), ("5:30p", "17:30"), ("12:10 am", "00:10"),
        ("5 pm", "17:00"), ("kl. 05.30", "05:30"), ("um 5:30 Uhr", "05:30"), ("5.30 uur", "05:30"), ("às 17:30", "17:30"),
        ("a las 5:30", "05:30"), ("alle 5.30", "05:30"), ("godz. 5:30", "05:30"), (time(5, 30), "05:30"), ("24:00", "24:00"),
    ],
)  # fmt: skip
def test_clock_times_alone(cell: object, clock: str) -> None:
    seconds = clock_seconds(cell)
    assert seconds is not None
    assert written_clock(seconds) == clock


@pytest.mark.parametrize(
    "cell", ["530", "25:10", "5:75", "13 pm", "13:10 pm", "morning", 5.3, "5.3", "2026-04-03", ""]
)
def test_what_is_no_clock_time_alone(cell: object) -> None:
    assert clock_seconds(cell) is None


@pytest.mark.parametrize(
    ("cells", "clocks"),
    [
        (["530", "0545", "1215", "2359", "5"], ["05:30", "05:45", "12:15", "23:59", "00:05"]),
        ([530.0, 1745.0, 605.0, 15.0], ["05:30", "17:45", "06:05", "00:15"]),
        (["5.30", "17.05", "6.40"], ["05:30", "17:05", "06:40"]),
        ([5.3, 17.05, 6.4, 23.1, 9.55, 11.2], ["05:30", "17:05", "06:40", "23:10", "09:55", "11:20"]),
        ([0.2291666667, 0.5104166667], ["05:30", "12:15"]),
    ],
)
def test_a_column_of_clock_times_proves_its_own_manner(cells: list[object], clocks: list[str]) -> None:
    found = clocks_in(raw_column([*cells, *cells[:1]] * 6))
    assert [None if np.isnan(seconds) else written_clock(seconds) for seconds in found] == clocks


@pytest.mark.parametrize(
    "cells",
    [
        [5.5, 6.25, 7.75, 8.0, 9.5, 4.25],
        ["5.5", "6.25", "7.75"],
        [4.2, 3.9, 5.1, 4.86, 3.7, 4.61],
        ["E1", "E2"],
        [],
    ],
    ids=["hours and parts", "the same as text", "weights", "tags", "nothing"],
)
def test_numbers_that_may_be_something_else_are_no_clock_times(cells: list[object]) -> None:
    assert not np.isfinite(clocks_in(raw_column(cells))).any()


@pytest.mark.parametrize(
    "cell",
    [
        "3 April 2026", "3. April 2026", "3 avril 2026", "3 de abril de 2026", "3 aprile 2026", "3 april 2026", "3 kwietnia 2026",
        "3 Ebrill 2026", "3 abr 2026", "Friday 3 April 2026", "Freitag, 3. April 2026", "vendredi 3 avril 2026",
        "viernes 3 de abril de 2026", "fredag 3. april 2026", "piątek 3 kwietnia 2026", "dydd Gwener 3 Ebrill 2026".partition(" ")[2],
    ],
)  # fmt: skip
def test_months_and_days_of_the_week_in_twelve_languages(cell: str) -> None:
    moment = take_apart(cell, {})
    assert moment is not None
    assert f"{moment.at(True):%Y-%m-%d}" == "2026-04-03"


@pytest.mark.parametrize(
    ("cell", "month"),
    [("5 März 2026", 3), ("5 mars 2026", 3), ("5 maart 2026", 3), ("5 marts 2026", 3), ("5 août 2026", 8), ("5 Mehefin 2026", 6),
     ("5 września 2026", 9), ("5 settembre 2026", 9), ("5 outubro 2026", 10), ("5 dez. 2026", 12), ("5 enero 2026", 1), ("5 maj 2026", 5)],
)  # fmt: skip
def test_names_of_months(cell: str, month: int) -> None:
    moment = take_apart(cell, {})
    assert moment is not None
    assert moment.at(True).month == month


@pytest.mark.parametrize("cell", ["05:30 3 April 2026", "5.30 03/04/2026", "05:30, 2026-04-03"])
def test_a_clock_time_may_stand_before_its_date(cell: str) -> None:
    other = "13/04/2026"
    parsed = read_dates(column("births", "born_at"), raw_column([cell, other]), "a.csv", Settings(), {})
    assert parsed.values[0] == np.datetime64("2026-04-03T05:30")


def test_the_order_of_day_and_month_is_proven_for_the_whole_sheet() -> None:
    born, died = raw_column(["01/04/2026", "02/04/2026"]), raw_column(["13/04/2026"])
    assert proven_order([born, died], {}) is True
    assert proven_order([born], {}) is None
    assert proven_order([raw_column(["04/13/2026"])], {}) is False
    assert proven_order([died, raw_column(["04/13/2026"])], {}) is None


@pytest.mark.parametrize(
    ("cells", "sizes"),
    [
        (["single", "Twins", "Triplet", "quad"], [1, 2, 3, 4]),
        (["S", "T", "Tr"], [1, 2, 3]),
        (["S", "D", "T"], [1, 2, 3]),
        (["Einling", "Zwilling", "Drilling"], [1, 2, 3]),
        (["E", "Z", "D"], [1, 2, 3]),
        (["simple", "double", "triple"], [1, 2, 3]),
        (["simple", "gemelo", "trillizo"], [1, 2, 3]),
        (["singolo", "gemello", "trigemino"], [1, 2, 3]),
        (["simples", "gémeo", "trigémeo"], [1, 2, 3]),
        (["eenling", "tweeling", "drieling"], [1, 2, 3]),
        (["enkling", "tvilling", "trilling", "firling"], [1, 2, 3, 4]),
        (["enkel", "tvilling", "fyrling"], [1, 2, 4]),
        (["pojedyncze", "bliźniak", "trojaczek"], [1, 2, 3]),
        (["sengl", "efaill", "tripled"], [1, 2, 3]),
    ],
)
def test_litter_words(cells: list[str], sizes: list[int]) -> None:
    words = litter_words(raw_column(cells))
    assert [words.get(cell.casefold()) for cell in cells] == sizes


def test_a_farms_own_litter_words_come_first() -> None:
    assert litter_words(raw_column(["couple"]), {"couple": "2"}) == {"couple": 2.0}


@pytest.mark.parametrize(
    ("name", "cell", "word"),
    [
        ("sex", "weiblich", "female"), ("sex", "mâle", "male"), ("sex", "MALE", "male"), ("sex", "hembra", "female"),
        ("sex", "samica", "female"), ("sex", "gwryw", "male"), ("sex", "hun", "female"), ("sex", "hammel", "castrated male"),
        ("delivery", "Kaiserschnitt", "caesarean"), ("delivery", "cesarea", "caesarean"), ("delivery", "uten hjelp", "unassisted"),
        ("delivery", "mauvaise présentation", "malpresentation corrected"), ("handled", "tak", "yes"), ("handled", "nee", "no"),
        ("handled", "não", "no"), ("cause", "Fuchs", "predation"), ("cause", "diarrhoea", "infection"), ("cause", "mort-né", "stillbirth"),
        ("cause", "svag", "premature or weak"), ("birth_place", "bergerie", "indoors"), ("rearing", "Flasche", "artificial"),
        ("handled", "na", None), ("sex", "?", None),
    ],
)  # fmt: skip
def test_words_of_twelve_languages(name: str, cell: str, word: str | None) -> None:
    tidy = column("births", name)
    parsed = read_words(tidy, raw_column([cell]), tidy.words, {})
    assert (parsed.values[0], parsed.trouble[0]) == (word, "")


def read(folder: Path, text: str, name: str = "book.csv", map_text: str = "") -> Season:
    (folder / name).write_text(text, encoding="utf-8")
    if map_text:
        (folder / "map.toml").write_text(map_text, encoding="utf-8")
    return read_season(folder / name, map=folder / "map.toml" if map_text else None)


NO_YEAR = "Ewe,DOB,died,died_at\nE1,13/4,no,\nE2,14/4,yes,20/4\nE3,2 May,no,\n"
EXPECTED = ["2026-04-13", "2026-04-14", "2026-05-02"]


def born(season: Season) -> list[str]:
    return season.births["born"].dt.strftime("%Y-%m-%d").tolist()


@pytest.mark.parametrize(
    ("text", "name", "map_text"),
    [
        ("season," + NO_YEAR.replace("\nE", "\n2026,E"), "book.csv", ""),
        (NO_YEAR, "lambing 2026.csv", ""),
        (NO_YEAR + "E4,15/4/2026,no,\n", "book.csv", ""),
        (NO_YEAR, "book.csv", "[dates]\nyear = 2026\n"),
    ],
    ids=["season", "file name", "another date", "map"],
)
def test_a_year_that_something_proves(text: str, name: str, map_text: str, tmp_path: Path) -> None:
    season = read(tmp_path, text, name, map_text)
    assert born(season)[:3] == EXPECTED or sorted(born(season))[0] == EXPECTED[0]
    dead = season.births[season.births["died"]].iloc[0]
    assert dead["age_h"] == 144.0


@pytest.mark.parametrize(
    ("text", "name"),
    [
        (NO_YEAR, "book.csv"),
        (NO_YEAR, "2025 and 2026.csv"),
        (NO_YEAR + "E4,15/4/2026,no,\nE5,15/4/2025,no,\n", "book.csv"),
        ("season,Ewe,DOB,died\n2026,E1,13/12,no\n2026,E2,14/1,yes\n", "book.csv"),
        ("season,Ewe,DOB,died\n2026,E1,13/11,no\n2026,E2,14/10,yes\n", "book.csv"),
    ],
    ids=[
        "nothing",
        "two years in the name",
        "two years in the dates",
        "over New Year",
        "autumn of either year",
    ],
)
def test_a_year_that_nothing_proves_is_asked_for(text: str, name: str, tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="have no year and nothing beside them settles it"):
        read(tmp_path, text, name)


def test_the_map_says_which_months_belong_to_the_year_before(tmp_path: Path) -> None:
    text = "Ewe,DOB,died,died_at\nE1,13/12,yes,2/1\nE2,14/1,no,\n"
    season = read(tmp_path, text, map_text="[dates]\nyear = 2026\nfirst_month = 9\n")
    assert sorted(born(season)) == ["2025-12-13", "2026-01-14"]
    assert season.births.set_index("dam_id").loc["E1", "age_h"] == 20 * 24.0


def test_the_day_order_of_dates_without_a_year_is_proven_or_asked(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="may have the day or the month first"):
        read(tmp_path, "season,Ewe,DOB,died\n2026,E1,3/4,no\n2026,E2,5/4,yes\n")


CLOCKED = "Ewe,Date born,Time born,died,Date of death,Time of death\n"


@pytest.mark.parametrize(
    "clocks",
    [("530", "1215"), ("0530", "1215"), ("5.30", "12.15"), ("5h30", "12h15"), ("5:30 am", "12:15 pm"), ("kl. 5.30", "kl. 12.15")],
)  # fmt: skip
def test_dates_and_clock_times_in_columns_of_their_own(clocks: tuple[str, str], tmp_path: Path) -> None:
    rows = "".join(f"E{n},{n}/4/2026,{clocks[0]},no,,\n" for n in range(14, 20))
    text = f"{CLOCKED}{rows}E1,13/4/2026,{clocks[0]},yes,14/4/2026,{clocks[1]}\n"
    births = read(tmp_path, text).births
    dead = births[births["died"]].iloc[0]
    # worked by hand: 13 April 05:30 to 14 April 12:15 is 30 h 45 min, in whole hours 30
    assert (dead["age_h"], dead["age_precision"]) == (30.0, "hour")


def test_a_date_of_death_alone_beside_its_time_is_a_death_on_that_day(tmp_path: Path) -> None:
    births = read(tmp_path, CLOCKED + "E1,13/4/2026,5:30,yes,14/4/2026,\nE2,13/4/2026,5:40,no,,\n").births
    assert births.set_index("dam_id").loc["E1", ["age_h", "age_precision"]].tolist() == [24.0, "day"]


@pytest.mark.quickly(3)
@pytest.mark.parametrize(
    ("now", "died", "dead"),
    [("yes", None, False), ("no", None, True), ("Y", "", False), ("N", "", True), ("alive", "no", False), ("dead", "", True),
     ("yes", "yes", True), ("1", None, False), ("0", None, True), ("sold", "", False)],
)  # fmt: skip
def test_alive_now_is_an_outcome(now: str, died: str | None, dead: bool, tmp_path: Path) -> None:
    head, cell = ("Ewe,DOB,Alive now", "") if died is None else ("Ewe,DOB,Alive now,Died", f",{died}")
    rest = "" if died is None else ",no"
    text = f"{head}\nE1,13/4/2026,{now}{cell}\nE2,13/4/2026,yes{rest}\nE3,13/4/2026,no{',yes' if died is not None else ''}\n"
    births = read(tmp_path, text).births.set_index("dam_id")
    assert bool(births.loc["E1", "died"]) is dead
    assert births["died"].tolist()[1:] == [False, True]
    assert not births["stillborn"].any() if "stillborn" in births else True


def test_not_alive_and_not_dead_is_nobodys_guess(tmp_path: Path) -> None:
    season = read(
        tmp_path, "Ewe,DOB,Alive now,Died\nE1,13/4/2026,no,no\nE2,13/4/2026,yes,no\nE3,14/4/2026,no,yes\n"
    )
    assert season.births["dam_id"].tolist() == ["E2", "E3"]
    assert season.undecided["not_readable"].tolist() == [1]


@pytest.mark.parametrize(("said", "stillborn"), [("yes", True), ("no", False), ("ja", True), ("Nein", False)])
def test_born_dead_is_the_other_way_round_than_born_alive(said: str, stillborn: bool, tmp_path: Path) -> None:
    text = f"Ewe,DOB,Born dead,Died later\nE1,13/4/2026,{said},no\nE2,13/4/2026,no,yes\nE3,14/4/2026,no,no\n"
    births = read(tmp_path, text).births.set_index("dam_id")
    assert bool(births.loc["E1", "stillborn"]) is stillborn
    assert births["lost"].tolist() == [stillborn, True, False]
