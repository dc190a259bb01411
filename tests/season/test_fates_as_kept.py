"""Fates as keepers write them: what a reader of the trade knows is read, a death is never a life, the rest is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.read import read_season
from neonatal_stats.season.records_map import read_map
from neonatal_stats.vocabulary.fates import says_itself, stage_asked
from tests.season.books import book, fates, read, said

LIVING = ("alive", "dead", "alive", "alive", "alive", "alive", "alive")


def by_draft(folder: Path, text: str) -> tuple[str, str]:
    """The drafted map of a book, and what became of its newborns by that map, one letter each."""
    path = folder / "lambs.csv"
    path.write_text(text, encoding="utf-8")
    draft = drafted([path])
    (folder / "map.toml").write_text(draft.text, encoding="utf-8")
    season = read_season(path, map=read_map(folder / "map.toml"))
    outcomes = fates(season)
    return draft.text, "".join(outcomes[number][0] for number in sorted(outcomes))


@pytest.mark.parametrize(
    "cell",
    ["alive 12/4", "ok", "lives", "pet", "cade lamb", "tiddler", "fostered to 214", "adopted", "bottle baby",
     "sold store", "sold 3 wks", "sold 12/6, alive", "retained", "kept for breeding", "to hill", "to grass", "fat",
     "zur Zucht", "Flaschenlamm", "adopté", "au biberon", "a biberón", "adoptado"],
)  # fmt: skip
def test_a_fate_that_only_the_living_have_is_read_as_alive(cell: str) -> None:
    assert fates(read(book("fate", [cell, *LIVING])))["000"] == "alive"


@pytest.mark.parametrize(
    "cell",
    ["RIP", "r.i.p.", "dd", "† 12/3", "alive 20/3 died 25/3", "crows got it", "taken by eagle", "Vom Fuchs geholt",
     "pris par le renard", "comido por el zorro", "didn't make it", "lived 2 days", "dead in bag", "SB", "s/b", "BD",
     "slipped", "aborted", "mummified", "mort à la naissance", "bei Geburt tot", "muerta al nacer", "sold, then died"],
)  # fmt: skip
def test_a_fate_that_only_the_dead_have_is_read_as_dead(cell: str) -> None:
    assert fates(read(book("fate", [cell, *LIVING])))["000"] == "dead"


@pytest.mark.parametrize(
    "cell",
    ["alive?", "alive 2 days", "gone", "culled", "nearly died, ok now", "pet - ewe died", "left", "weak", "stolen",
     "in freezer", "no", "yes", "SB ewe", "missing"],
)  # fmt: skip
def test_a_fate_that_may_be_either_stays_open(cell: str) -> None:
    assert fates(read(book("fate", [cell, *LIVING, *["alive"] * 30])))["000"] == "not readable"


@pytest.mark.parametrize("cell", ["SB", "S/B", "born dead", "DOA", "still born", "slipped", "mort-né"])
def test_words_for_born_dead_are_a_stillbirth(cell: str) -> None:
    births = read(book("fate", [cell, *LIVING])).births.set_index("newborn_id")
    assert births["stillborn"].tolist() == [True] + [False] * 7


@pytest.mark.parametrize(("heading", "cell"), [("died", "at birth"), ("died", "birth"), ("died_at", "SB")])
def test_at_birth_under_deaths_is_born_dead(heading: str, cell: str) -> None:
    season = read(book(heading, [cell, "2026-04-20", *[""] * 12]))
    assert season.births["stillborn"].sum() == 1
    assert season.births["lost"].sum() == 2
    assert not said(season, "set to missing")


def test_ages_in_a_column_of_deaths_are_ages_at_death() -> None:
    season = read(book("died", ["2d", "birth", "6 h", "day 3", *["no"] * 9]))
    dead = season.births[season.births["lost"]].set_index("newborn_id")
    assert (
        dead["age_h"].round().to_dict() == {"000": 48, "001": 0, "002": 6, "003": 72}
        or dead["age_known"].all()
    )
    assert len(dead) == 4


def test_dead_in_the_bag_is_a_death_at_birth_and_no_stillbirth() -> None:
    season = read(book("fate", ["dead in bag", *LIVING]))
    first = season.births.set_index("newborn_id").loc["000"]
    assert (bool(first["lost"]), bool(first["stillborn"]), bool(first["age_known"])) == (True, False, True)
    assert any("whether it had breathed is not known" in line for line in said(season, "noted"))


def test_what_was_read_by_the_trades_words_is_told() -> None:
    season = read(book("fate", ["pet", "SB", "fox got it", *LIVING]))
    assert said(season, "noted")[:3] != []
    assert {"this was read as alive", "this was read as born dead", "this was read as dead"} <= set(
        said(season)
    )


def test_nobody_knows_is_an_open_outcome_and_no_reason_to_stop() -> None:
    season = read(book("fate", ["?", "missing", "unknown", *LIVING]))
    assert [fates(season)[number] for number in ("000", "001", "002")] == ["not readable"] * 3
    assert len(season.births) == 7


def test_kind_words_need_no_company_where_a_fate_is_asked() -> None:
    assert fates(read(book("fate", ["ok", "d", "zonk", *["ok"] * 40])))["000"] == "alive"


@pytest.mark.parametrize(
    ("heading", "cells", "told"),
    [
        ("A/D", "A D A A", "adaa"),
        ("Fate", "A D SB A", "adda"),
        ("Mort avant 48h", "N O N N", "adaa"),
        ("Verlust bis Absetzen", "nein ja nein nein", "adaa"),
        ("Vivo a los 30 días", "sí no sí sí", "adaa"),
        ("Alive at 28 days", "Y N Y Y", "adaa"),
        ("Present at marking (Y/N)", "Y N Y Y", "adaa"),
        ("Status at weaning", "A D A A", "adaa"),
        ("Lived or died", "lived died lived lived", "adaa"),
        ("Disposition", "retained DOA sold bottle", "adaa"),
    ],
)
def test_headings_of_outcomes_are_placed_by_their_words_and_cells(
    tmp_path: Path, heading: str, cells: str, told: str
) -> None:
    text = book(heading, cells.split(), "Lamb,Ewe,Born,Kind")
    draft, outcomes = by_draft(tmp_path, text.replace("Kind", "species"))
    assert outcomes == told
    assert '= "?"' not in draft


def test_v_and_m_are_fates_only_beside_a_column_of_sexes(tmp_path: Path) -> None:
    heads = "Cordero,Oveja,Nacido,species"
    _, told = by_draft(tmp_path, book("Sexo,V/M", ["H,V", "M,M", "H,V", "M,V"], heads))
    assert told == "adaa"
    with pytest.raises(CannotRead):
        by_draft(tmp_path, book("V/M", ["V", "M", "V", "V"], heads))


def test_of_two_stages_the_later_counts_and_the_earlier_must_agree(tmp_path: Path) -> None:
    heads, asked = "Lamb,Ewe,Born,species", "Alive @ tailing,Alive @ weaning"
    draft, told = by_draft(tmp_path, book(asked, ["yes,yes", "no,no", "yes,no", "yes,yes"], heads))
    assert told == "adda"
    assert '"Alive @ tailing" = ""' in draft
    path = tmp_path / "torn.csv"
    path.write_text(book(asked, ["yes,yes", "no,yes", "yes,no", "yes,yes"], heads))
    assert '"Alive @ tailing" = "?"' in drafted([path]).text


def test_a_heading_that_holds_both_senses_asks_and_offers_unmistakable_words(tmp_path: Path) -> None:
    path = tmp_path / "lambs.csv"
    path.write_text(book("Alive/Dead", ["Y", "N", "Y", "Y"]))
    draft = drafted([path]).text
    assert '"y" = "?"  # 3 cells; one of alive, dead, stillborn, left, unknown\n' in draft
    answered = draft.replace('"y" = "?"', '"y" = "alive"').replace('"n" = "?"', '"n" = "stillborn"')
    (tmp_path / "map.toml").write_text(answered)
    births = read_season(path, map=read_map(tmp_path / "map.toml")).births
    assert births["stillborn"].tolist() == [False, True, False, False]
    assert births["lost"].tolist() == [False, True, False, False]


@pytest.mark.parametrize(
    ("column", "word", "meant"),
    [
        ("died", "alive", "yes"), ("died", "OK", "dead"), ("died", "lives", "stillborn"), ("died", "RIP", "no"),
        ("died", "found dead", "alive"), ("died", "Died", "left"), ("alive_now", "dead", "yes"),
        ("alive_now", "alive", "no"), ("born_dead", "stillborn", "no"), ("born_alive", "dead", "yes"),
    ],
)  # fmt: skip
def test_an_answer_against_the_word_itself_is_refused(
    tmp_path: Path, column: str, word: str, meant: str
) -> None:
    path = tmp_path / "map.toml"
    path.write_text(f'[words.{column}]\n"{word}" = "{meant}"\n')
    with pytest.raises(CannotRead, match=f'"{word}" = "{meant}" says that a newborn (lived|died) of which'):
        read_map(path)


@pytest.mark.parametrize("word", ["gone", "culled", "lost", "y", "sold", "slipped", "2"])
def test_a_word_that_may_mean_either_may_be_answered_either_way(tmp_path: Path, word: str) -> None:
    assert says_itself(word) == ""
    for meant in ("alive", "dead", "yes", "no", "unknown", "left"):
        path = tmp_path / "map.toml"
        path.write_text(f'[words.died]\n"{word}" = "{meant}"\n')
        assert read_map(path).of("births").words["died"] == {word: meant}


def test_losses_are_never_offered_as_a_proof_of_life(tmp_path: Path) -> None:
    path = tmp_path / "lambs.csv"
    for heading, cell in (
        ("Losses", "1 SB"),
        ("When died", "cold night"),
        ("Cause lost", "weak"),
        ("Wool g", "12"),
    ):
        path.write_text(book(heading, [cell, "", "", cell], "Lamb,Ewe,Born,species"))
        assert (f'any_value_in = ["{heading}"]' in drafted([path]).text) is (heading == "Wool g")


def test_stages_stand_in_their_order() -> None:
    headings = [
        "Status at birth",
        "Alive at 24h",
        "Alive at 28 days",
        "Present at marking",
        "Lebt beim Absetzen",
    ]
    found = [stage_asked(heading) for heading in headings[:4]]
    assert [stage[1] for stage in found if stage] == sorted(stage[1] for stage in found if stage)
    assert stage_asked("Weight at weaning") is None
    assert stage_asked("Ewe alive at weaning") is None


def test_v_and_m_of_another_language_are_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "lambs.csv"
    path.write_text(
        book("Geschlecht,V/M", ["w,V", "m,M", "w,V", "m,V"], "Lamm,Mutterschaf,geboren am,Tierart")
    )
    assert '"V/M" = "died"' not in drafted([path]).text


def test_birth_as_a_cause_is_no_stillbirth() -> None:
    season = read(book("died,cause", ["yes,birth", "no,", "no,", "no,"]))
    assert not season.births["stillborn"].any()
    assert season.births["lost"].sum() == 1
