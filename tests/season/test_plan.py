"""A plan is read as a farm writes it: headings, words and shares; a bad cell is named with how to mend it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import xlsxwriter

from neonatal_stats.season.actions import Action, Share
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.plan import Plan, read_plan
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Settings, WrongSetting, read_settings
from tests.conftest import DEMO

HEADINGS = "action,who,by when,cost,done,measure,from,to"


def csv(tmp_path: Path, *rows: str, headings: str = HEADINGS) -> Path:
    file = tmp_path / "plan.csv"
    file.write_text("\n".join([headings, *rows]) + "\n", encoding="utf-8")
    return file


def refused(read: Callable[[], object]) -> str:
    with pytest.raises(CannotRead) as told:
        read()
    return str(told.value)


def test_a_plan_as_written(tmp_path: Path) -> None:
    file = csv(
        tmp_path,
        '"Feed within two hours, at night too",Ann,before the first lamb,£ 200,Yes,fed by the mark,51.5 %,85%',
        "Weigh colostrum,,2027-03-01,,,Enough colostrum,73 of 168 (43.5 %),0.6",
        "Mend the gate,Ben,,,not done,,,",
    )
    assert read_plan(file) == Plan(
        (
            Action(
                "Feed within two hours, at night too",
                "Ann",
                "before the first lamb",
                "£ 200",
                "yes",
                "fed by the mark",
                Share("51.5 %", 0.515),
                Share("85%", 0.85),
            ),
            Action(
                "Weigh colostrum",
                by_when="2027-03-01",
                measure="enough colostrum",
                stood=Share("73 of 168 (43.5 %)", 73 / 168, 73, 168),
                target=Share("0.6", 0.6),
            ),
            Action("Mend the gate", "Ben", done="no"),
        )
    )


def test_a_blank_done_is_not_recorded_and_never_guessed(tmp_path: Path) -> None:
    (one,) = read_plan(csv(tmp_path, "Feed early,Ann,,,,fed by the mark,,")).actions
    assert one.done == ""


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("85 %", 0.85),
        ("85", 0.85),
        ("0.85", 0.85),
        ("0,85", 0.85),
        ("≥ 85 %", 0.85),
        ("1 %", 0.01),
        ("0", 0.0),
    ],
)
def test_shares_as_farms_write_them(tmp_path: Path, cell: str, value: float) -> None:
    (one,) = read_plan(csv(tmp_path, f'Feed early,,,,,fed by the mark,,"{cell}"')).actions
    assert one.target is not None
    assert one.target.value == pytest.approx(value)


def test_a_german_plan_with_semicolons(tmp_path: Path) -> None:
    file = csv(
        tmp_path,
        "2027;Früh füttern;Anna;teilweise;bis zur Frist versorgt;51,5 %;31 von 40",
        "2027;Kalte Nächte;;nein;verloren durch Infektion;;5 %",
        headings="Saison;Maßnahme;Wer;Erledigt;Messgröße;von;bis",
    )
    first, second = read_plan(file).actions
    assert (first.season, first.done, first.measure) == ("2027", "partly", "fed by the mark")
    assert first.stood == Share("51,5 %", 0.515)
    assert first.target == Share("31 von 40", 31 / 40, 31, 40)
    assert (second.done, second.measure) == ("no", "lost to infection")


def test_measures_without_an_action_are_counted_and_notes_are_no_rows(tmp_path: Path) -> None:
    file = csv(
        tmp_path, ",,,,,absorbed,51 of 60,", "Feed early,,,,,fed,,", "# one action a line,,,,,,,", ",,,,,,,"
    )
    assert [one.action for one in read_plan(file).actions] == ["Feed early"]
    assert read_plan(file).unused == ("absorbed",)


BAD = [
    (
        "x,,,,perhaps,,,",
        'column done: "perhaps" is not understood; write yes, partly or no, or leave it blank',
    ),
    ("x,,,,,fed in the marsh,,", 'column measure: "fed in the marsh" is no measure'),
    (
        "x,,,,,lost by 24 days,,",
        'column measure: "lost by 24 days" is no measure; did you mean "lost by 24 h"?',
    ),
    ("x,,,,,,,80 %", 'column to: "80 %" is a target of no measure; name the measure'),
    ("x,,,,,fed,80 %,60 %", 'column to: "60 %" is worse than "80 %" in column from, since more is better'),
    ("x,,,,,born dead,4 %,6 %", 'column to: "6 %" is worse than "4 %" in column from, since less is better'),
    ("x,,,,,fed,1,", 'column from: "1" may mean 1 % or all of them; write 1 % or 100 %.'),
    ("x,,,,,fed,120 %,", 'column from: "120 %" is more than all of them; write a percent such as 85 %'),
    ("x,,,,,fed,12 of 4,", 'column from: "12 of 4" is no part of a whole'),
    ("x,,,,,fed,a lot,", 'column from: "a lot" is no share'),
    (",Ann,,,,fed,,", "column action: there is no action, though who is filled in"),
]


@pytest.mark.parametrize(("row", "told"), BAD)
def test_a_bad_cell_is_named_with_file_row_column_and_how_to_mend_it(
    tmp_path: Path, row: str, told: str
) -> None:
    said = refused(lambda: read_plan(csv(tmp_path, "good,,,,,,,", row)))
    assert said.startswith(f"plan.csv, row 3, {told}")


def test_columns_that_mean_nothing_or_the_same_are_refused(tmp_path: Path) -> None:
    said = refused(lambda: read_plan(csv(tmp_path, "x,y,z", headings="action,who,wheather")))
    assert said.startswith("plan.csv: no headings of a plan were found")
    said = refused(lambda: read_plan(csv(tmp_path, "x,y,yes,z", headings="action,who,done,meassure")))
    assert said.endswith('row 1: the heading "meassure" means nothing in a plan; did you mean "measure"?')
    said = refused(lambda: read_plan(csv(tmp_path, "x,y,yes,z", headings="action,who,done,what to do")))
    assert "mean the same; keep one of the two columns." in said
    (tmp_path / "empty.csv").write_text("\n")
    assert refused(lambda: read_plan(tmp_path / "empty.csv")).startswith("empty.csv: it is empty;")
    assert "cannot be opened" in refused(lambda: read_plan(tmp_path / "none.csv"))


def book(file: Path, *sheets: tuple[str, list[list[object]]]) -> Path:
    with xlsxwriter.Workbook(file) as made:
        for name, rows in sheets:
            sheet = made.add_worksheet(name)
            for row, cells in enumerate(rows):
                sheet.write_row(row, 0, cells)
    return file


PLAN_ROWS: list[list[object]] = [["Our plan", "", "", ""], ["action", "done", "measure", "to"]]


def test_a_sheet_of_a_workbook_below_a_title(tmp_path: Path) -> None:
    """A cell that holds 85 % is 0.85 in a workbook; the row is named as the workbook counts it."""
    rows = [*PLAN_ROWS, ["Feed early", True, "fed by the mark", 0.85]]
    file = book(tmp_path / "births.xlsx", ("births", [["dam_id", "died"], ["E1", "no"]]), ("plan", rows))
    (one,) = read_plan(file).actions
    assert (one.action, one.done) == ("Feed early", "yes")
    assert one.target == Share("0.85", 0.85)
    bad = book(tmp_path / "bad.xlsx", ("plan", [*rows, ["More", "", "fed by the mark", 1]]))
    said = refused(lambda: read_plan(bad))
    assert said == (
        'bad.xlsx, sheet plan, row 4, column to: "1" may mean 1 % or all of them; write 0.01 or 100.'
    )


def test_of_several_sheets_with_a_plan_one_is_named_so(tmp_path: Path) -> None:
    rows = [*PLAN_ROWS, ["Feed early", "", "", ""]]
    said = refused(lambda: read_plan(book(tmp_path / "two.xlsx", ("last", rows), ("next", rows))))
    assert said == 'two.xlsx: several sheets hold a plan ("last", "next"); call the one that is meant plan.'
    assert read_plan(book(tmp_path / "named.xlsx", ("last", rows), ("Plan", rows))).actions


def test_the_plan_of_a_settings_file_and_of_a_toml_file(tmp_path: Path) -> None:
    text = '[[plan]]\naction = "Feed early"\nby_when = 2027-03-01\ndone = true\n'
    text += 'measure = "fed by the mark"\nto = 0.85\n'
    (tmp_path / "s.toml").write_text(text, encoding="utf-8")
    (one,) = read_settings(tmp_path / "s.toml").plan
    assert (one.done, one.by_when, one.target) == ("yes", "2027-03-01", Share("0.85", 0.85))
    assert read_plan(tmp_path / "s.toml").actions == (one,)
    (tmp_path / "s.toml").write_text(
        text.replace("fed by", "felt by") + '[[plan]]\nwho = "Ann"\n', encoding="utf-8"
    )
    assert refused(lambda: read_settings(tmp_path / "s.toml")).startswith(
        's.toml, plan, entry 1, measure: "felt by the mark" is no measure; did you mean "fed by the mark"?'
    )
    (tmp_path / "s.toml").write_text('[[plan]]\nactoin = "Feed"\n', encoding="utf-8")
    said = refused(lambda: read_plan(tmp_path / "s.toml"))
    assert said == 's.toml, plan, entry 1: "actoin" is no key here; did you mean "action"?'


def test_measures_speak_of_the_windows_and_causes_of_the_settings(tmp_path: Path) -> None:
    settings = Settings(windows_h={"50 h": 50.0}, causes=("stillbirth", "scours", "unknown"))
    file = csv(tmp_path, "a,,,,,lost by 50 h,,", "b,,,,,lost to scours,,")
    assert [one.measure for one in read_plan(file, settings).actions] == ["lost by 50 h", "lost to scours"]
    assert '"lost by 50 h" is no measure' in refused(lambda: read_plan(file))
    assert "is no measure" in refused(lambda: read_plan(csv(tmp_path, "c,,,,,lost to unknown,,"), settings))


def test_a_plan_made_in_python_is_held_to_the_same(tmp_path: Path) -> None:
    assert Settings(plan=({"action": "Feed early", "measure": "fed"},)).plan == (  # type: ignore[arg-type]
        Action("Feed early", measure="fed by the mark"),
    )
    with pytest.raises(WrongSetting, match="settings, plan, entry 1, measure"):
        Settings(plan=(Action("Feed early", measure="fed by noon"),))


@pytest.mark.parametrize("name", ["plan_hill_sheep.csv", "plan_dairy_goats.csv", "plan_suckler_cows.toml"])
def test_the_demo_plans_are_read_whole_and_say_that_they_are_invented(name: str) -> None:
    plan = read_plan(DEMO / name)
    assert len(plan.actions) >= 4
    assert plan.unused == ()
    assert "Invented" in (DEMO / name).read_text(encoding="utf-8")


def test_a_plan_beside_the_records_is_left_out_with_a_note_and_all_is_well(tmp_path: Path) -> None:
    csv(tmp_path, "Feed early,Ann,,,,fed by the mark,,")
    births = "season,dam_id,born_at,died\n2026,E1,2026-04-01 06:10,no\n2026,E2,2026-04-02 06:10,yes\n"
    (tmp_path / "births.csv").write_text(births)
    made = read_season(tmp_path, settings=Settings())
    (noted,) = made.problems[made.problems["file"] == "plan.csv"].to_dict("records")
    assert (noted["ended"], str(noted["problem"])) == ("noted", "the sheet is a plan and holds no records")
    assert not (made.problems["ended"] == "asked").any()
