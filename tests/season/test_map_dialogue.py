"""The map as a dialogue: drafted, gone on from, asked about; what it declares of a farm's own manner of writing."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from neonatal_stats.cli.files import asked
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.draft_map import Draft, drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from tests.commands import run

BOOK = """Shed tag,Ewe,DOB,Fate of lamb,Colour,Weaning weight
1,E1,2026-04-01,gone west,red,22
2,E1,2026-04-01,here,blue,
3,E2,2026-04-13,gone west,red,25
4,E3,2026-04-14,here,red,24
"""


def put(folder: Path, text: str, name: str = "book.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def read(folder: Path, text: str, map_text: str = "", name: str = "book.csv") -> Season:
    path = put(folder, text, name)
    return read_season(path, map=put(folder, map_text, "map.toml") if map_text else None)


def refusal(folder: Path, text: str, map_text: str = "") -> str:
    with pytest.raises(CannotRead) as raised:
        read(folder, text, map_text)
    return str(raised.value)


def fates(season: Season) -> list[tuple[object, bool]]:
    return [(row.dam_id, bool(row.died)) for row in season.births.itertuples()]


def test_a_map_is_gone_on_from_and_its_lines_and_comments_stay(tmp_path: Path) -> None:
    path = put(tmp_path, BOOK)
    old = '# our own map\n[births.columns]\n"Shed tag" = "newborn_id"   # said by the shepherd\n"Fate of lamb" = "died"\n'
    new = drafted([path], old).text
    assert new.startswith(
        '# our own map\n[births.columns]\n"Shed tag" = "newborn_id"   # said by the shepherd\n'
    )
    known = tomllib.loads(new)["births"]
    assert known["columns"] == {
        "Shed tag": "newborn_id", "Fate of lamb": "died", "Ewe": "dam_id", "DOB": "born_at", "Colour": "", "Weaning weight": "",
    }  # fmt: skip
    assert known["words"]["died"] == {"gone west": "?", "here": "?"}


def test_words_of_a_newly_mapped_column_are_drafted_with_their_counts(tmp_path: Path) -> None:
    path = put(tmp_path, BOOK)
    first = drafted([path])
    mapped = first.text.replace('"Fate of lamb" = "?"', '"Fate of lamb" = "died"')
    second = drafted([path], mapped)
    assert '"gone west" = "?"  # 2 cells; one of alive, dead, stillborn, left, unknown\n' in second.text
    done = second.text.replace('"gone west" = "?"', '"gone west" = "yes"').replace(
        '"here" = "?"', '"here" = "no"'
    )
    third = drafted([path], done.replace('"?"', '""'))
    assert third.open == ()
    told = fates(read(tmp_path, BOOK, third.text))
    assert sorted(told) == [("E1", False), ("E1", True), ("E2", True), ("E3", False)]


def test_a_map_gone_on_from_twice_is_the_same(tmp_path: Path) -> None:
    path = put(tmp_path, BOOK)
    once = drafted([path]).text
    assert drafted([path], once).text == once


def test_an_open_line_that_can_be_placed_now_is_closed(tmp_path: Path) -> None:
    path = put(tmp_path, "Ewe,DOB,Dead\nA,2026-04-01,no\nB,2026-04-02,yes\n")
    new = drafted([path], '[columns]\n"Ewe" = "?"  # whose?\n').text
    assert tomllib.loads(new)["columns"] == {"Ewe": "dam_id"}


@pytest.mark.parametrize(
    "old",
    [
        'births = {columns = {"Ewe" = "dam_id", "Colour" = "?"}}\n',
        'births.columns."Ewe" = "dam_id"\n',
        '[births]\ncolumns."Ewe" = "dam_id"\n[months]\nmai = 5\n',
    ],
)
def test_a_map_written_in_another_manner_keeps_its_meaning(tmp_path: Path, old: str) -> None:
    found = tomllib.loads(drafted([put(tmp_path, BOOK)], old).text)
    assert found["births"]["columns"]["Ewe"] == "dam_id"
    assert found["births"]["columns"]["DOB"] == "born_at"


def test_a_map_that_is_no_toml_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match=r"^map.toml: it is not valid TOML"):
        drafted([put(tmp_path, BOOK)], "[births\n")


@pytest.mark.slow
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    headings=st.lists(st.text(max_size=12), min_size=1, max_size=4),
    meant=st.sampled_from(["dam_id", "", "?"]),
)
def test_whatever_a_map_says_what_goes_on_from_it_is_valid(
    headings: list[str], meant: str, tmp_path: Path
) -> None:
    from neonatal_stats.season.map.map_text import quoted_key

    path = put(tmp_path, BOOK)
    old = "[births.columns]\n" + "".join(
        f"{quoted_key(h)} = {quoted_key(meant)}\n" for h in dict.fromkeys(headings)
    )
    try:
        text = drafted([path], old).text
    except CannotRead:
        return
    assert {"Ewe", "DOB"} <= set(tomllib.loads(text)["births"]["columns"])


@pytest.mark.slow
def test_the_printed_draft_is_valid_and_dash_o_never_asks(tmp_path: Path) -> None:
    path = put(tmp_path, BOOK)
    printed = run("map", path)
    assert printed.returncode == 0
    assert tomllib.loads(printed.stdout)["births"]["columns"]["Ewe"] == "dam_id"
    out = tmp_path / "map.toml"
    written = run("map", path, "-o", out)
    assert written.returncode == 0
    assert out.read_text(encoding="utf-8") == printed.stdout
    assert "[births.columns] Fate of lamb: holds gone west, here" in written.stdout


def test_asking_needs_a_terminal(tmp_path: Path) -> None:
    done = run("map", put(tmp_path, BOOK), "--ask")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "neonatal-stats: map --ask: there is no terminal to ask on; leave --ask away and fill in the map by hand.\n"
    )


def test_answers_close_lines_and_bring_up_the_words_of_their_column(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = put(tmp_path, BOOK)
    said = {
        "Shed tag": ["newborn", "newborn_id"],
        "Fate of lamb": ["died"],
        "gone west": ["yes"],
        "here": ["no"],
    }
    questions: list[str] = []

    def answer(question: str) -> str:
        questions.append(question)
        found = re.match(r"\[[^]]+\] (.+?) \(", question)
        assert found is not None
        return said[found[1]].pop(0)

    done = asked(drafted([path]), lambda text: drafted([path], text), answer)
    assert done.open == ()
    assert "not accepted; perhaps newborn_id" in capsys.readouterr().out
    assert fates(read(tmp_path, BOOK, done.text))[0] == ("E1", True)


def test_no_answer_leaves_a_line_open(tmp_path: Path) -> None:
    draft = drafted([put(tmp_path, BOOK)])
    done = asked(draft, lambda text: Draft(text, draft.open), lambda _: "")
    assert done.text == draft.text


def test_two_columns_of_one_name_are_asked_about_and_can_be_named(tmp_path: Path) -> None:
    text = "Ewe,Date,Died,Date\nE1,2026-04-01,no,\nE2,2026-04-13,yes,2026-04-14\n"
    said = refusal(tmp_path, text)
    assert 'the heading "Date" stands over two columns, one with 2026-04-01 and one with 2026-04-14' in said
    assert '"Date" = ... and "Date [2]" = ...' in said
    assert {line.said for line in drafted([put(tmp_path, text)]).open} == {"Date", "Date [2]"}
    season = read(tmp_path, text, '[columns]\n"Date" = "born_at"\n"Date [2]" = "died_at"\n')
    assert season.births["age_h"].tolist() == [1008.0, 24.0]


def test_the_same_column_twice_is_read_once(tmp_path: Path) -> None:
    season = read(tmp_path, "Ewe,DOB,Died,Died\nE1,2026-04-01,no,no\nE2,2026-04-13,yes,yes\n")
    assert fates(season) == [("E1", False), ("E2", True)]


def test_two_outcomes_of_one_name_that_differ_are_never_one(tmp_path: Path) -> None:
    text = "dam_id,born_at,died,died\nE1,2026-04-01,no,yes\nE2,2026-04-13,no,no\n"
    assert 'the heading "died" stands over two columns' in refusal(tmp_path, text)


MANY = "season,birth type,died,count\n2026,twin,no,12\n2026,single,yes,2\n"


def test_rows_that_stand_for_many_are_asked_about(tmp_path: Path) -> None:
    assert '"count" may say how many newborns a row stands for' in refusal(tmp_path, MANY)


def test_rows_that_stand_for_many_are_declared_in_the_map_and_drafted(tmp_path: Path) -> None:
    assert '"count" = "newborns_in_row"' in drafted([put(tmp_path, MANY)]).text
    births = read(tmp_path, MANY, '[columns]\ncount = "newborns_in_row"\n').births
    assert (len(births), int(births["died"].sum())) == (14, 2)


def test_rows_that_stand_for_many_are_drafted_where_litter_sizes_prove_it(tmp_path: Path) -> None:
    rows = [f"E{n},2026-04-0{n},3,no,2\nE{n},2026-04-0{n},3,yes,1\n" for n in range(1, 9)]
    text = "Ewe,DOB,litter_size,died,number\n" + "".join(rows)
    draft = drafted([put(tmp_path, text)])
    assert '"number" = "newborns_in_row"' in draft.text
    births = read(tmp_path, text, draft.text).births
    assert (len(births), int(births["died"].sum())) == (24, 8)
    assert (births["litter_size"] == 3).all()


def test_born_minus_weaned_is_the_loss_where_the_map_says_so(tmp_path: Path) -> None:
    text = "Ewe,DOB,Born,Weaned\nE1,2026-04-01,2,2\nE2,2026-04-13,3,1\n"
    assert '"Weaned" = "newborns_reared"' in refusal(tmp_path, text)
    told = '[columns]\n"Born" = "newborns_born"\n"Weaned" = "newborns_reared"\n'
    assert read(tmp_path, text, told).births.groupby("dam_id")["died"].sum().to_dict() == {"E1": 0, "E2": 2}


WEIGHED = "Ewe,DOB,Weaning weight\nE1,2026-04-01,22\nE2,2026-04-13,\nE3,2026-04-14,25\n"


def test_any_value_can_mean_alive(tmp_path: Path) -> None:
    assert "no column says what became of the newborns" in refusal(tmp_path, WEIGHED)
    assert '# any_value_in = ["Weaning weight"]' in drafted([put(tmp_path, WEIGHED)]).text
    told = read(tmp_path, WEIGHED, '[alive]\nany_value_in = ["weaning weight"]\nno_value_means = "dead"\n')
    assert fates(told) == [("E1", False), ("E2", True), ("E3", False)]


def test_without_a_value_the_outcome_is_not_written_unless_said(tmp_path: Path) -> None:
    season = read(tmp_path, WEIGHED, '[alive]\nany_value_in = ["Weaning weight"]\n')
    assert fates(season) == [("E1", False), ("E3", False)]
    assert season.undecided["not_written"].tolist() == [1]


def test_a_death_written_elsewhere_outranks_a_value(tmp_path: Path) -> None:
    text = "Ewe,DOB,died,Weaning weight\nE1,2026-04-01,yes,22\nE2,2026-04-13,,21\n"
    assert fates(read(tmp_path, text, '[alive]\nany_value_in = ["weaning weight"]\n')) == [
        ("E1", True),
        ("E2", False),
    ]


@pytest.mark.parametrize(
    ("map_text", "said"),
    [
        (
            '[alive]\nany_value_in = "weight"\n',
            'any_value_in must be a list of headings such as ["weaning weight"]',
        ),
        (
            '[alive]\nany_value_in = ["x"]\nno_value_means = "alive"\n',
            'no_value_means must be "dead" or "" (not written)',
        ),
        ('[alive]\nany_value_in = ["x"]\n', 'no column is called "x", as the map says under [alive]'),
        ("[dates]\nyear = 1820\n", "year must be a number from 1980 to 2099"),
        ("[dates]\nfirst_month = 13\n", "first_month must be a number from 1 to 12"),
        ('[dates]\nyear = "?"\n', '"year" is still open'),
        ('[units]\nbirth_weight_kg = "?"\n', '"birth_weight_kg" is still open'),
        ('[words.litter_size]\n"double" = "two"\n', '"double" = "two" is not accepted'),
    ],
)
def test_what_a_map_declares_wrongly_is_one_sentence(tmp_path: Path, map_text: str, said: str) -> None:
    assert said in refusal(tmp_path, WEIGHED, map_text)


WIDE = (
    "Ewe,DOB,Lamb 1 tag,Lamb 2 tag,Lamb 1 died,Lamb 2 died,Paint 1,Paint 2\n"
    "E1,2026-04-01,1,2,no,yes,r,b\nE2,2026-04-13,3,,no,,r,\n"
)


def test_repeated_columns_are_drafted_with_one_line(tmp_path: Path) -> None:
    columns = tomllib.loads(drafted([put(tmp_path, WIDE)]).text)["births"]["columns"]
    assert columns["Lamb {n} tag"] == "newborn_id"
    assert columns["Lamb {n} died"] == "died"
    assert columns["Paint {n}"] == ""
    assert "Lamb 1 tag" not in columns


def test_one_line_stands_for_repeated_columns(tmp_path: Path) -> None:
    text = WIDE.replace("Lamb 1", "Nr 1").replace("Lamb 2", "Nr 2")
    told = '[columns]\n"Nr {n} tag" = "newborn_id"\n"Nr {n} died" = "died"\n"Paint {n}" = ""\n'
    season = read(tmp_path, text, told)
    assert fates(season) == [("E1", False), ("E1", True), ("E2", False)]
    assert not season.problems["problem"].str.contains("it was left out").any()


def test_a_sheet_of_which_only_the_cause_is_known_is_refused_with_the_rest(tmp_path: Path) -> None:
    text = "Syn,Emä,Karitsoi,Kuollut,Cause\n1,7,2026-03-22,ei,\n2,8,2026-03-23,kyllä,fox\n"
    said = refusal(tmp_path, text)
    assert 'not known: "Syn", "Emä", "Karitsoi", "Kuollut"' in said
    assert said.endswith("draft a map of them with: neonatal-stats map FILE -o map.toml")


def test_a_remark_is_never_an_outcome_and_is_asked_about(tmp_path: Path) -> None:
    text = (
        "dam_id,born_at,died,Remarks\nE1,2026-04-01,,\nE2,2026-04-02,yes,fox\nE3,2026-04-02,,found dead 3/4\n"
    )
    season = read(tmp_path, text)
    assert fates(season) == [("E1", False), ("E2", True)]
    assert not season.all_well
    assert season.undecided["not_readable"].tolist() == [1]
    assert season.births["remarks"].tolist()[1] == "fox"
