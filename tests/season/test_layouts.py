"""Books whose columns and lines are not what their words seem to say: told by the cells, or asked."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season


def put(folder: Path, text: str, name: str = "book.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def read(folder: Path, text: str, map_text: str = "", name: str = "book.csv") -> Season:
    path = put(folder, text, name)
    return read_season(path, map=put(folder, map_text, "map.toml") if map_text else None)


def as_drafted(folder: Path, text: str, name: str = "book.csv") -> Season:
    """The book read with its own draft, of which no line may be open."""
    return read(folder, text, drafted([put(folder, text, name)]).text, name)


def refusal(folder: Path, text: str, map_text: str = "", name: str = "book.csv") -> str:
    with pytest.raises(CannotRead) as raised:
        read(folder, text, map_text, name)
    return str(raised.value)


def said(season: Season, ended: str = "asked") -> str:
    problems = season.problems
    return " | ".join(problems.loc[problems["ended"] == ended, "problem"])


def dead(season: Season) -> tuple[int, int]:
    return int(season.births["died"].sum()), len(season.births)


def day(n: int) -> str:
    return f"2026-03-{n % 28 + 1:02d}"


NUMBERED = "\n".join(
    f"{100 + n},{200 + n},{day(n)},{n % 5 + 1},{'dead' if n % 6 == 0 else 'alive'}" for n in range(30)
)


@pytest.mark.parametrize("heading", ["Litter no", "Wurf Nr.", "Nº parto"])
def test_a_litter_number_that_many_dams_share_is_the_dams_parity(tmp_path: Path, heading: str) -> None:
    text = f"Cow,Calf,Calved,{heading},Fate\n{NUMBERED}\n"
    assert f'"{heading}" = "dam_parity"' in drafted([put(tmp_path, text)]).text
    for season in (read(tmp_path, text), as_drafted(tmp_path, text)):
        assert season.births["litter"].nunique() == 30
        assert season.births.sort_values("dam_id")["dam_parity"].tolist()[:6] == [1, 2, 3, 4, 5, 1]
        assert dead(season) == (5, 30)


def test_a_litter_number_of_its_own_dam_alone_stays_one(tmp_path: Path) -> None:
    rows = "\n".join(f"{100 + n // 2},{200 + n},{day(n // 2)},{n // 2 + 1},alive" for n in range(30))
    text = f"Cow,Calf,Calved,Litter no,Fate\n{rows}\n"
    assert '"Litter no" = "litter_id"' in drafted([put(tmp_path, text)]).text
    births = read(tmp_path, text).births
    assert (births["litter"].nunique(), births["litter_id"].nunique()) == (15, 15)


def test_a_map_that_makes_one_litter_of_many_dams_is_refused(tmp_path: Path) -> None:
    text = f"Cow,Calf,Calved,Litter no,Fate\n{NUMBERED}\n"
    answer = refusal(tmp_path, text, '[columns]\n"Litter no" = "litter_id"\n')
    assert "under 5 of its 5 litters stand several dams" in answer


def test_one_litter_under_two_dams_is_asked(tmp_path: Path) -> None:
    rows = "\n".join(f"{100 + n},{200 + n},{day(n)},L{max(n, 1)},no" for n in range(12))
    season = read(tmp_path, f"dam_id,newborn_id,born_on,litter_id,died\n{rows}\n")
    assert "several dams stand under this litter_id" in said(season)


BORN_ONLY = "Ewe,Lambed,Born alive,Born dead,Comments\n" + "\n".join(
    f"{n},{day(n)},{2 if n % 8 else 1},{0 if n % 8 else 1},{'lost 1' if n == 5 else ''}" for n in range(1, 33)
)


def test_of_counts_of_the_born_alone_nothing_is_said_of_later(tmp_path: Path) -> None:
    season = read(tmp_path, BORN_ONLY)
    births = season.births
    assert (len(births), int(births["stillborn"].sum()), int(births["died"].sum())) == (64, 4, 4)
    assert births.loc[~births["stillborn"], "age_h"].eq(0).all()
    assert "born alive, and nothing is said of later: 60 newborns" in said(season)
    assert 'a text beside them speaks of a loss: "lost 1"' in said(season)
    assert not season.all_well


def test_without_a_date_of_birth_nothing_is_said_of_later_either(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},2026,2,{n % 2}" for n in range(20))
    births = read(tmp_path, f"Ewe,season,Born alive,Born dead\n{rows}\n").births
    assert births.loc[~births["stillborn"], "age_h"].eq(0).all()


def test_counts_of_the_reared_say_what_came_later(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},{day(n)},2,0,{2 - (n % 5 == 0)}" for n in range(1, 31))
    season = read(tmp_path, f"Ewe,Lambed,Born alive,Born dead,Reared\n{rows}\n")
    assert dead(season) == (6, 60)
    assert (season.births["age_h"] > 0)[~season.births["died"]].all()


def test_a_blank_among_the_living_beside_a_dead_one_is_a_death(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},{day(n)},{'' if n % 6 == 0 else 2},{1 if n % 6 == 0 else ''}" for n in range(1, 31))
    season = read(tmp_path, f"Ewe,Lambed,Born alive,Born dead\n{rows}\n")
    assert dead(season) == (5, 55)
    assert "blank cells beside dead ones were taken as none alive" in said(season)


def test_the_cause_of_a_litters_row_is_that_of_its_dead(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},{day(n)},2,{n % 3 == 0:d},{'fox' if n % 3 == 0 else ''}" for n in range(1, 31))
    season = read(tmp_path, f"Ewe,Lambed,Born,Dead,Cause\n{rows}\n")
    assert dead(season) == (10, 60)
    assert season.births.loc[season.births["died"], "cause"].eq("predation").all()


@pytest.mark.parametrize("heading", ["Type", "Birth type", "Kind of litter"])
def test_one_row_a_dam_of_twins_is_asked_as_any_litter_size_is(tmp_path: Path, heading: str) -> None:
    rows = "\n".join(f"{n},{day(n)},{'Single' if n % 3 == 0 else 'Twin'},alive" for n in range(1, 31))
    text = f"Ewe,Lambed,{heading},Fate\n{rows}\n2,2026-04-01,Twin,died\n"
    for map_text in ("", drafted([put(tmp_path, text)]).text.replace('"?"', '""')):
        assert f'though "{heading}" is often over 1' in refusal(tmp_path, text, map_text) or not map_text


MARKED = "\n".join(
    f"{n},{100 + n},{day(n)},{'' if n % 6 == 0 else 'x'},{'x' if n % 6 == 0 else ''}" for n in range(1, 31)
)


def test_marks_of_the_dead_and_of_the_living_in_two_columns_need_no_question(tmp_path: Path) -> None:
    text = f"Ewe,Lamb,Born,Alive,Dead\n{MARKED}\n"
    for season in (read(tmp_path, text), as_drafted(tmp_path, text)):
        assert dead(season) == (5, 30)


def test_the_word_for_dead_never_answers_a_mark_of_the_living(tmp_path: Path) -> None:
    text = f"Ewe,Lamb,Born,Alive,Dead\n{MARKED}\n99,999,2026-03-05,x,x\n"
    answer = refusal(tmp_path, text, '[births.words.died]\nx = "yes"\n')
    assert "[words.alive_now]" in answer
    told = '[births.words.died]\nx = "yes"\n[births.words.alive_now]\nx = "yes"\n'
    assert dead(read(tmp_path, text, told))[0] == 5


@pytest.mark.parametrize(
    "total",
    [
        "Subtotal week 1,,,2 dead",
        "Week total,12,,",
        "c/f,12,,3",
        "Carried forward,,,3",
        "Sous-total semaine 2,,,",
        "Zwischensumme KW 12,11,,",
        "Total pen 3,11,,2 dead",
    ],
)
def test_a_line_of_a_part_or_of_a_page_is_a_total(tmp_path: Path, total: str) -> None:
    rows = [f"{100 + n},{200 + n},{day(n)},{'dead' if n % 6 == 0 else 'alive'}" for n in range(24)]
    text = "Ewe,Lamb,Born,Fate\n" + "\n".join([*rows[:12], total, *rows[12:], total]) + "\n"
    for season in (read(tmp_path, text), as_drafted(tmp_path, text)):
        assert dead(season) == (4, 24)
        assert season.balances[0].no_record == 2
        assert season.births["newborn_id"].notna().all()
