"""What became of each newborn: in words, dates, marks and codes, by every sign of death, and where nobody can know."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest
from openpyxl.styles import Font, PatternFill

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.read import read_season
from tests.season.books import book, fates, read, said

pytestmark = pytest.mark.quickly(3)

LIVING = 30
LANGUAGES = {
    "English": (
        ("dead", "Died", "found dead", "put down", "stillborn", "DOA"),
        ("alive", "Lived", "survived", "no"),
    ),
    "German": (("tot", "verendet", "totgeboren", "Gestorben"), ("lebt", "lebend", "nein")),
    "French": (("mort", "morte", "mort-né", "décédé"), ("vivant", "vivante", "non", "en vie")),
    "Spanish": (("muerto", "muerta", "murió", "nacido muerto"), ("vivo", "viva", "no")),
    "Dutch": (("dood", "doodgeboren", "gestorven"), ("levend", "leeft", "nee")),
    "Norwegian": (("død", "dødfødt", "ja"), ("lever", "levende", "nei")),
    "Swedish": (("död", "dödfödd", "avlivad"), ("lever", "levande", "nej")),
    "Danish": (("død", "dødfødt", "aflivet død"), ("lever", "levende", "nej")),
    "Polish": (("padło", "martwe", "padła", "tak"), ("żywe", "żyje", "nie")),
    "Welsh": (("wedi marw", "marw", "marw-anedig"), ("byw", "yn fyw", "na")),
    "Portuguese": (("morto", "morreu", "natimorto", "sim"), ("vivo", "viva", "não")),
    "Italian": (("morto", "morta", "nato morto", "sì"), ("vivo", "viva", "no")),
}


@pytest.mark.quickly(4)
@pytest.mark.parametrize("language", LANGUAGES)
def test_clear_words_for_dead_and_alive_in_twelve_languages(language: str) -> None:
    dead, alive = LANGUAGES[language]
    words = [*dead, *alive]
    season = read(book("died", words))
    expected = {f"{place:03d}": "dead" if word in dead else "alive" for place, word in enumerate(words)}
    assert fates(season) == expected
    assert season.all_well


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "word",
    [
        "yes - smothered", "yes, watery mouth", "yes (twisted gut)", "dead 3/4", "found dead at the gate",
        "Dead at birth", "died overnight", "dead, ewe trod on it", "2026-04-20", "20/04/2026",
        "2026-04-20 found stiff", "12/4", "in April", "3 Apr", "fox", "Fox got it", "hypothermia", "not alive",
        "did not survive", "fallen stock", "to post mortem", "†", "euthanised", "yes?", "found dead?", "05:30",
    ],
)  # fmt: skip
def test_whatever_tells_of_a_death_is_a_death(word: str) -> None:
    season = read(book("died", [word, *["no"] * LIVING]))
    assert fates(season)["000"] == "dead"
    assert season.births["died"].sum() == 1


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "word",
    ["ysno", "?", "unknown", "weak", "cold", "not dead yet, poorly", "its twin was dead", "nearly died", "ewe died",
     "gone", "7", "no?", "maybe", "#REF!", "A", "1 dead", "culled"],
)  # fmt: skip
def test_a_word_that_cannot_be_read_is_neither_dead_nor_alive(word: str) -> None:
    season = read(book("died", ["yes", word, *["no"] * 40]))
    assert fates(season)["001"] == "not readable"
    assert len(season.births) == 41
    assert season.undecided[["born", "not_written", "not_readable"]].to_numpy().tolist() == [[42, 0, 1]]
    assert not season.all_well
    assert any("cannot be read" in sentence for sentence in season.outcome_remarks)
    line = season.problems[season.problems["ended"] == "set aside"].iloc[0]
    assert (line["value"], line["row"]) == (word, 3)


def test_many_unreadable_words_are_refused_with_their_counts() -> None:
    with pytest.raises(CannotRead) as refused:
        read(book("died", [*["zonk"] * 3, *["blub"] * 2, *["no"] * 20, "yes"]))
    assert str(refused.value) == (
        'lambs.csv, column died: what became of 5 of 26 newborns cannot be read ("zonk" (3), "blub" (2)); '
        "say in the map under [words.died] which of these words mean dead, stillborn, alive, left (it left alive) "
        "or unknown."
    )


def test_a_map_says_what_the_farms_own_words_mean() -> None:
    text = book("died", [*["zonk"] * 3, *["blub"] * 2, *["no"] * 20])
    season = read(text, '[words.died]\n"zonk" = "yes"\n"blub" = "no"\n')
    assert season.births["died"].sum() == 3
    assert season.all_well


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    ("dead", "alive", "heading", "exit_well"),
    [
        ("x", "", "died", False),
        ("✓", "", "died", False),
        ("✔", "no", "died", True),
        ("*", "", "died", False),
        ("1", "0", "died", True),
        ("TRUE", "FALSE", "died", True),
        ("D", "A", "died", True),
        ("D", "L", "died", True),
        ("D", "", "died", False),
        ("dead", "ok", "died", True),
    ],
)
def test_marks_and_letters_that_the_column_itself_proves(
    dead: str, alive: str, heading: str, exit_well: bool
) -> None:
    season = read(book(heading, [dead, *[alive] * 6, dead, *[alive] * 6]))
    assert [number for number, fate in fates(season).items() if fate == "dead"] == ["000", "007"]
    assert len(season.births) == 14
    assert season.all_well is exit_well


@pytest.mark.parametrize(
    ("first", "second"),
    [("1", "2"), ("✓", "✗"), ("A", "B"), ("x", "✓"), ("ok", "gone"), ("A", "L"), ("+", "*")],
)
def test_codes_without_a_legend_are_asked_about(first: str, second: str) -> None:
    with pytest.raises(CannotRead, match=r"cannot be read|if they are codes"):
        read(book("died", [first, second] * 10))


@pytest.mark.parametrize(
    ("heading", "dead", "alive"),
    [
        ("Alive now", "no", "yes"),
        ("Survived?", "N", "Y"),
        ("lebt", "nein", "ja"),
        ("Alive", "✗", "✓"),
        ("vivo", "0", "1"),
    ],
)
def test_a_heading_that_asks_for_life_turns_the_answers(heading: str, dead: str, alive: str) -> None:
    season = read(book(heading, [dead, *[alive] * 9]), f'[columns]\n"{heading}" = "died"\n')
    assert fates(season) == {f"{place:03d}": "alive" if place else "dead" for place in range(10)}


def test_yes_under_a_heading_that_asks_for_either_is_not_decided() -> None:
    with pytest.raises(CannotRead, match=r'"no" \(9\), "yes" \(1\)'):
        read(book("Outcome", ["yes", *["no"] * 9]), '[columns]\n"Outcome" = "died"\n')
    season = read(book("Outcome", ["dead", *["sold"] * 9]), '[columns]\n"Outcome" = "died"\n')
    assert season.births["died"].sum() == 1


def test_a_date_under_died_is_a_death_at_that_date() -> None:
    season = read(book("died", ["2026-04-03", "2026-04-05 08:00", "dead", *["no"] * 5]))
    births = season.births.set_index("newborn_id")
    assert births.loc["000", "age_h"] == 48  # born on the 1st, dead on the 3rd, by day
    assert births.loc["001", "died_at"].hour == 8
    assert births["died"].sum() == 3
    assert not births.loc["002", "age_known"]


def test_how_it_died_stands_in_for_yes() -> None:
    season = read(book("died", ["fox", "stillborn", "yes, pneumonia", *["no"] * 5]))
    causes = season.births.set_index("newborn_id")["cause"].astype(str)
    assert causes[["000", "001", "002"]].tolist() == ["predation", "stillbirth", "infection"]
    assert season.births.set_index("newborn_id").loc["001", "stillborn"]


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "word", ["found dead", "fox", "?", "unknown", "overnight", "31/04/2026", "yes", "early am"]
)
def test_a_word_where_a_time_of_death_belongs_is_a_death_at_an_unknown_time(word: str) -> None:
    season = read(book("died_at", [word, "2026-04-09", *[""] * 12]))
    assert fates(season)["000"] == "dead"
    assert not season.births.set_index("newborn_id").loc["000", "age_known"]
    assert season.births["died"].sum() == 2


@pytest.mark.quickly(4)
@pytest.mark.parametrize("word", ["no", "-", "n/a", "alive", "0", "0000-00-00", "none"])
def test_a_word_for_none_where_a_time_of_death_belongs_is_no_death(word: str) -> None:
    season = read(book("died_at", ["2026-04-09", *[word] * 12]))
    assert season.births["died"].tolist() == [True, *[False] * 12]


@pytest.mark.quickly(4)
@pytest.mark.parametrize("word", ["no luck", "old tom", "?", "rattle belly", "unknown", "3", "lay on it"])
def test_any_filled_cause_is_a_death(word: str) -> None:
    season = read(book("cause", [word, "infection", *[""] * 12]))
    assert fates(season)["000"] == "dead"
    assert season.births.set_index("newborn_id").loc["000", "cause"] == "unknown"


@pytest.mark.parametrize("word", ["none", "-", "no", "alive", "n/a", "0"])
def test_a_cause_that_says_none_is_no_death(word: str) -> None:
    season = read(book("cause", ["infection", *[word] * 12]))
    assert season.births["died"].sum() == 1


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    ("columns", "cells"),
    [
        ("died,cause_basis", ",post-mortem"),
        ("died,left_reason", ",carcass"),
        ("died,last_seen_at", ",dead 4 April"),
        ("died,birth_weight_kg", ",dead"),
        ("died,rearing", ",died"),
        ("died,found_dead_at", ",in the morning"),
    ],
)
def test_signs_of_death_in_other_columns(columns: str, cells: str) -> None:
    season = read(book(columns, [cells, "yes,", *[","] * 12]))
    assert fates(season)["000"] == "dead"
    assert season.births["died"].sum() == 2


def test_a_tag_that_says_dead_is_no_tag() -> None:
    text = "newborn_id,dam_id,born_on,species,died\ndead,A,2026-04-01,sheep,\nDOA,B,2026-04-02,sheep,\n"
    season = read(text + "101,C,2026-04-03,sheep,yes\n102,D,2026-04-03,sheep,\n103,E,2026-04-04,sheep,\n")
    assert season.births["died"].sum() == 3
    assert season.births["newborn_id"].isna().sum() == 2


def test_one_unknown_word_never_makes_most_newborns_dead() -> None:
    with pytest.raises(CannotRead, match=r'column cause: "n.v.t." \(20\) would make 20 of 24 newborns dead'):
        read(book("cause", [*["n.v.t."] * 20, *["infection"] * 4]))
    with pytest.raises(CannotRead, match=r'column died_at: "see book" \(20\) would make 20 of 24'):
        read(book("died_at", [*["see book"] * 20, *["2026-04-30"] * 4]))


def test_a_death_before_its_birth_is_a_death_at_an_unknown_age() -> None:
    season = read(book("died_at", ["2026-03-01", "2026-04-09", *[""] * 10]))
    first = season.births.set_index("newborn_id").loc["000"]
    assert (first["outcome"], first["age_known"]) == ("dead", False)


@pytest.mark.parametrize(
    ("columns", "cells", "sentence"),
    [
        ("died,died_at", "no,2026-04-20", "it is said not to have died, and yet a time of death is given"),
        ("died,died_at", "no,2026-03-01", "it is said not to have died, and yet a time of death is given"),
        ("died,died_at", "no,overnight", "it is said not to have died, and yet a time of death is given"),
        ("died,cause", "no,infection", "it is said not to have died, and yet a cause of loss is given"),
        ("died,cause", "no,rattle belly", "it is said not to have died, and yet a cause of loss is given"),
        ("died,Alive", "no,dead", "what became of it cannot be read: this is no word for dead or alive"),
    ],
)
def test_a_row_that_says_both_is_asked_about(columns: str, cells: str, sentence: str) -> None:
    season = read(book(columns, [cells, "yes,", *["no,"] * 40]))
    assert fates(season)["000"] == "not readable"
    assert sentence in said(season, "set aside")


def test_a_question_mark_yields_to_no() -> None:
    season = read(book("died,cause", ["no,?", "yes,infection", *["no,"] * 5]))
    assert season.births["died"].sum() == 1
    assert len(season.births) == 7


def test_the_cause_stillbirth_outweighs_no_under_died() -> None:
    season = read(book("died,cause", ["no,stillbirth", "yes,infection", *["no,"] * 5]))
    assert season.births.set_index("newborn_id").loc["000", ["outcome", "stillborn"]].tolist() == [
        "dead",
        True,
    ]


def test_blank_is_alive_only_where_the_column_writes_only_the_dead() -> None:
    season = read(book("died", ["yes", *[""] * 9]))
    assert season.births["died"].sum() == 1
    assert len(season.births) == 10
    assert season.outcome_remarks == (
        "lambs.csv, died: blank cells taken as alive: 9, since the column writes the dead and leaves the others blank; "
        "1 of 10 are lost, and without the blanks it would be 1 of 1",
    )
    assert not season.all_well


def test_blank_among_yes_and_no_is_not_written() -> None:
    season = read(book("died", ["yes", "no", *[""] * 3, *["no"] * 5]))
    assert list(fates(season).values()).count("not written") == 3
    assert season.undecided[["born", "not_written", "not_readable"]].to_numpy().tolist() == [[10, 3, 0]]


def test_blank_is_judged_file_by_file(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(book("died", ["yes", *[""] * 4]), encoding="utf-8")
    other = book("died", ["yes", "no", "", "no"]).replace("sheep,", "sheep,").replace("2026-", "2025-")
    (tmp_path / "b.csv").write_text(other, encoding="utf-8")
    season = read_season([tmp_path / "a.csv", tmp_path / "b.csv"])
    assert season.undecided[["season", "not_written"]].to_numpy().tolist() == [["2025", 1]]
    assert len(season.births) == 8


def test_the_map_may_declare_that_blank_means_alive() -> None:
    season = read(book("died", [*[""] * 9]), '[fixed]\ndied = "no"\n')
    assert season.births["died"].sum() == 0
    assert season.all_well


@pytest.mark.parametrize("columns", ["died", "died,died_at,cause", "born_alive"])
def test_an_outcome_that_was_never_filled_in_is_refused(columns: str) -> None:
    with pytest.raises(CannotRead, match="no column says what became of the newborns, since"):
        read(book(columns, [","] * 9 if "," in columns else [""] * 9))


def test_a_last_day_seen_tells_of_life_where_died_is_blank() -> None:
    season = read(book("died,last_seen_at", ["yes,", "no,", ",2026-06-01", ","]))
    assert fates(season) == {"000": "dead", "001": "alive", "002": "alive", "003": "not written"}


def test_born_alive_alone_says_so_little_that_it_is_asked_about() -> None:
    season = read(book("born_alive", ["no", "dead", "stillborn", *["yes"] * 9]))
    assert season.births["stillborn"].sum() == season.births["died"].sum() == 3
    assert not season.all_well
    assert (
        "born alive, and nothing is said of later: 9 newborns, watched at birth alone"
        in season.outcome_remarks[0]
    )


def test_a_later_death_is_never_erased_by_born_alive() -> None:
    season = read(book("born_alive,died_at", ["no,2026-04-20", *["yes,"] * 9]))
    first = season.births.set_index("newborn_id").loc["000"]
    assert (first["outcome"], first["stillborn"], first["age_h"]) == ("dead", False, 19 * 24)
    assert (
        "it is said to have been born dead, and yet a later time of death is given; the later death was kept"
        in said(season, "set to missing")
    )


@pytest.mark.parametrize(
    "remark", ["found dead by the gate", "died in the night", "fox got it", "dödfödd", "tot gefunden"]
)
def test_a_death_that_only_a_remark_tells_of_is_not_read_as_a_life(remark: str) -> None:
    season = read(book("died,Remarks", ["yes,", f",{remark}", *[",fine lamb"] * 9]))
    assert fates(season)["001"] == "not readable"
    assert len(season.births) == 10


@pytest.mark.parametrize(
    "remark", ["ewe died", "its twin was dead", "nearly died", "not dead", "1 dead", "dead twin"]
)
def test_a_remark_about_another_is_no_sign(remark: str) -> None:
    season = read(book("died,Remarks", ["yes,", f",{remark}", *[","] * 9]))
    assert fates(season)["001"] == "alive"


@pytest.mark.parametrize(
    ("heading", "dead", "alive"),
    [
        ("Fate", "dead", "reared"),
        ("PM finding", "lungs empty", ""),
        ("Dead?", "x", ""),
    ],
)
def test_a_column_that_was_left_out_and_sounds_like_an_outcome_is_asked_about(
    heading: str, dead: str, alive: str
) -> None:
    season = read(book(f"died,{heading}", [f"yes,{dead}", f",{dead}", *[f",{alive}"] * 9]))
    assert fates(season)["001"] == "not readable"
    assert not season.all_well


@pytest.mark.parametrize("heading", ["PM finding", "Result of it", "State"])
def test_a_column_that_only_sounds_like_an_outcome_is_none(heading: str) -> None:
    with pytest.raises(CannotRead, match="no column says what became of the newborns by its heading, though"):
        read(book(heading, ["dead", *["reared"] * 9]))


def test_alive_at_turnout_says_what_became_of_it() -> None:
    season = read(book("died,Alive at turnout", ["yes,no", ",no", *[",yes"] * 9]))
    assert fates(season)["001"] == "dead"
    assert sum(fate == "alive" for fate in fates(season).values()) == 9


@pytest.mark.parametrize("how", ["struck out", "red ground", "red letters"])
def test_rows_struck_out_or_red_are_asked_about(how: str, tmp_path: Path) -> None:
    sheet = openpyxl.Workbook()
    for line in book("died", ["yes", *[""] * 9]).splitlines():
        sheet.active.append([cell or None for cell in line.split(",")])
    for cell in sheet.active[4]:
        cell.font = Font(strike=how == "struck out", color="FFFF0000" if how == "red letters" else None)
        if how == "red ground":
            cell.fill = PatternFill("solid", fgColor="FFFFC7CE")
    sheet.save(tmp_path / "book.xlsx")
    season = read_season(tmp_path / "book.xlsx")
    assert fates(season)["002"] == "not readable"
    assert len(season.births) == 9


def test_a_formula_without_its_value_is_not_readable(tmp_path: Path) -> None:
    sheet = openpyxl.Workbook()
    for line in book("died", ["yes", *["no"] * 30]).splitlines():
        sheet.active.append([cell or None for cell in line.split(",")])
    sheet.active["E3"] = '=IF(F3="","no","yes")'
    sheet.save(tmp_path / "book.xlsx")
    season = read_season(tmp_path / "book.xlsx")
    assert fates(season)["001"] == "not readable"


def test_littermates_keep_the_litter_size_of_a_newborn_whose_outcome_is_open() -> None:
    text = "newborn_id,dam_id,born_on,species,died\n" + "".join(
        f"{n:03d},{n // 2},2026-04-01,sheep,{'ysno' if n == 1 else 'no' if n else 'yes'}\n" for n in range(60)
    )
    season = read(text)
    assert season.births.set_index("newborn_id").loc["000", "litter_size"] == 2
    assert len(season.births) == 59


def test_check_prints_the_cell_that_it_could_not_read(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    from neonatal_stats.cli.check import run_check

    path = tmp_path / "lambs.csv"
    path.write_text(book("died", ["yes", "ysno", "ysno", *["no"] * 60]), encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        run_check([path], None, None, None)
    printed = capsys.readouterr().out
    assert ended.value.code == 1
    assert 'Found: "ysno" (2).' in printed
    assert "the farm, 2026: the outcome of 2 of 63 births is open (0 not written, 2 not readable)" in printed


@pytest.mark.slow
def test_review_repeats_what_touches_outcomes_and_exits_1(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    from neonatal_stats.cli.review import run_review

    path = tmp_path / "lambs.csv"
    path.write_text(book("died", ["yes", "ysno", *["no"] * 40]), encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        run_review([path], tmp_path / "out", None, None, None, None, False)
    assert ended.value.code == 1
    assert (tmp_path / "out" / "review.html").exists()
    assert "what became of it cannot be read" in capsys.readouterr().out


def test_the_outcome_stands_in_the_births_and_agrees_with_the_losses() -> None:
    births = read(book("died", ["yes", "no", "fox", "no"])).births
    assert births["outcome"].tolist() == ["dead", "alive", "dead", "alive"]
    assert (births["outcome"] == "dead").tolist() == births["lost"].tolist()


def test_nothing_is_read_from_a_column_that_the_map_leaves_out() -> None:
    season = read(book("died,Remarks", ["yes,", ",found dead", ","]), '[columns]\n"Remarks" = ""\n')
    assert fates(season)["001"] == "alive"
    assert io.StringIO("\n".join(said(season))).read().count("left out") == 0


LEFT = ["dead", "sold", "exported", "verkauft", "lent out", *["alive"] * 5]


def test_what_left_alive_without_a_date_is_watched_from_birth_on_no_longer() -> None:
    season = read(book("Fate", LEFT))
    births = season.births.set_index("newborn_id")
    assert births["died"].sum() == 1
    assert births["left_reason"].dropna().tolist() == ["sold", "other", "sold", "lent"]
    assert births.loc[["001", "002", "003", "004"], "age_h"].tolist() == [0] * 4
    assert births.loc["005", "age_h"] == 42 * 24
    assert births["lost_by_24_h"].isna().sum() == 5  # those four, and the death at an unknown time
    assert [row for row in said(season, "noted") if row.startswith("left alive")] == [
        "left alive (sold, moved and the like), and no date says when: 4; they count as born alive, and from birth on "
        "as no longer watched"
    ]
    assert not said(season, "asked")  # nobody is asked what a keeper cannot know


def test_with_a_date_it_is_watched_to_that_date() -> None:
    cells = ["dead,", "sold,2026-04-20", "sold,", *["alive,"] * 5]
    births = read(book("Fate,last_seen_at", cells)).births.set_index("newborn_id")
    assert births.loc[["001", "002"], "age_h"].tolist() == [18 * 24, 0]  # the first was born on the 2nd


def test_a_reason_for_leaving_tells_it_too() -> None:
    season = read(book("died,left_reason", ["yes,", "no,sold", ",moved", "no,", "no,"]))
    births = season.births.set_index("newborn_id")
    assert births["died"].tolist() == [True, False, False, False, False]
    assert births["age_h"].tolist()[1:] == [0, 0, 42 * 24, 42 * 24]
    assert any("no date says when: 2;" in problem for problem in said(season, "noted"))


def test_gone_may_be_dead_and_is_asked_about_and_the_map_may_call_it_left() -> None:
    cells = ["dead", "gone", *["alive"] * 30]
    season = read(book("Fate", cells))
    assert fates(season)["001"] == "not readable"
    births = read(book("Fate", cells), '[words.died]\n"gone" = "left"\n').births.set_index("newborn_id")
    assert (births.loc["001", "left_reason"], births.loc["001", "age_h"]) == ("other", 0)
    assert not births.loc["001", "died"]


def test_alive_now_tells_who_left_as_well() -> None:
    season = read(book("died,Alive at turnout", ["yes,no", ",sold", ",yes", ",yes"]), MAP_OF_TURNOUT)
    births = season.births.set_index("newborn_id")
    assert births["died"].tolist() == [True, False, False, False]
    assert births["age_h"].tolist()[1:] == [0, 42 * 24, 42 * 24]


MAP_OF_TURNOUT = '[columns]\n"Alive at turnout" = "alive_now"\n'
