"""Books whose columns and lines are not what their words seem to say: told by the cells, or asked."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from tests.season.test_map_dialogue import put, read


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
    meant = {"Born alive": "born_alive", "Born dead": "born_dead", "Reared": "reared"}
    told = "[columns]\n" + "".join(f'"{heading}" = "newborns_{name}"\n' for heading, name in meant.items())
    season = read(tmp_path, f"Ewe,Lambed,Born alive,Born dead,Reared\n{rows}\n", told)
    assert dead(season) == (6, 60)
    assert (season.births["age_h"] > 0)[~season.births["died"]].all()


def test_a_blank_among_the_living_beside_a_dead_one_is_a_death(tmp_path: Path) -> None:
    rows = "\n".join(
        f"{n},{day(n)},{'' if n % 6 == 0 else 2},{1 if n % 6 == 0 else ''}" for n in range(1, 31)
    )
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
    assert dead(read(tmp_path, text, told))[0] == 6


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


LIVES = [f"{100 + n},{200 + n},{day(n)},{'dead' if n % 6 == 0 else 'alive'}" for n in range(24)]


def test_a_small_table_behind_a_blank_column_is_no_part_of_the_records(tmp_path: Path) -> None:
    beside = [",R1,Texel", ",R2,Charollais", *[",,"] * 22]
    text = "Ewe,Lamb,Born,Fate,,Ram,Breed\n" + "\n".join(
        f"{row},{b}" for row, b in zip(LIVES, beside, strict=True)
    )
    for season in (read(tmp_path, text + "\n"), as_drafted(tmp_path, text + "\n")):
        assert dead(season) == (4, 24)
        assert "sire_id" not in season.births or season.births["sire_id"].isna().all()
        assert 'another table beside the records ("Ram", "Breed"; 2 rows)' in said(season)


def test_columns_behind_a_blank_one_that_go_on_belong_to_the_records(tmp_path: Path) -> None:
    text = "Ewe,Lamb,Born,Fate,,Ram\n" + "\n".join(f"{row},,R{n % 3}" for n, row in enumerate(LIVES)) + "\n"
    assert read(tmp_path, text).births["sire_id"].notna().all()


def test_lines_of_a_date_alone_are_the_day_of_the_rows_below(tmp_path: Path) -> None:
    rows = [f"{100 + n},{200 + n},0{n % 9}:15,{'dead' if n % 6 == 0 else 'alive'}" for n in range(18)]
    text = "Ewe,Lamb,Time,Fate\nThursday 5 March 2026,,,\n" + "\n".join(rows[:9])
    text += "\nFriday 6 March 2026,,,\n" + "\n".join(rows[9:]) + "\n"
    season = as_drafted(tmp_path, text)
    assert dead(season) == (3, 18)
    assert season.births["born"].dt.strftime("%d %H:%M").min() == "05 00:15"
    assert season.births["born"].dt.day.value_counts().to_dict() == {5: 9, 6: 9}
    assert "2 lines hold a date alone" in said(season, "noted")


def test_a_day_and_a_month_in_two_columns_are_one_date(tmp_path: Path) -> None:
    rows = "\n".join(f"{100 + n},{200 + n},{n + 1},Mar,{'no' if n % 6 else 'yes'}" for n in range(24))
    births = as_drafted(tmp_path, f"Lambing 2026,,,,\nEwe,Lamb,Day,Month,Died\n{rows}\n").births
    assert births["born"].dt.strftime("%Y-%m-%d").iloc[0] == "2026-03-01"
    assert births["died"].sum() == 4


def test_a_result_that_nobody_knows_is_asked_and_never_all_well(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},{day(n)},{10 + n % 9}" for n in range(20))
    text = f"Calf no,Sampled,Zonk test\n{rows}\n"
    draft = drafted([put(tmp_path, text)])
    assert '"Zonk test" = "?"' in draft.text
    season = read(tmp_path, text, draft.text.replace('"?"', '""'))
    assert "no column of this list holds a result that can be read" in said(season)
    assert not season.all_well


def test_values_of_serum_are_never_taken_for_colostrum(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},{day(n)},{4 + n % 20 / 6:.1f}" for n in range(20))
    text = f"Calf,Date,Refractometer\n{rows}\n"
    draft = drafted([put(tmp_path, text)]).text
    assert "[samples.columns]" in draft
    assert '"Refractometer" = "?"' in draft
    assert "perhaps total_protein_g_per_dl" in draft
    told = '[colostrum.columns]\n"Date" = "milked_at"\n"Refractometer" = "brix_pct"\n"Calf" = "newborn_id"\n'
    assert "are those of serum" in refusal(tmp_path, text, told)


def test_colostrum_of_a_dam_stays_colostrum(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},{day(n)},{15 + n % 20 / 2:.1f}" for n in range(20))
    assert "[colostrum.columns]" in drafted([put(tmp_path, f"Cow,Date milked,Refractometer\n{rows}\n")]).text


def test_a_rank_that_every_littermate_shares_is_the_litters_size(tmp_path: Path) -> None:
    rows = [
        f"{100 + n},{300 + 3 * n + k},{day(n)},{n % 3 + 1},no" for n in range(20) for k in range(n % 3 + 1)
    ]
    text = "Ewe,Lamb,Born,Birth rank,Died\n" + "\n".join(rows) + "\n101,999,2026-03-02,2,yes\n"
    assert '"Birth rank" = "litter_size"' in drafted([put(tmp_path, text)]).text


def test_a_death_at_an_age_of_0_is_no_blank(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},{200 + n},{day(n)},{0 if n % 5 == 0 else ''}" for n in range(30))
    season = read(tmp_path, f"Ewe,Lamb,Born,Age at death (days)\n{rows}\n")
    assert dead(season) == (0, 30) or season.births["lost"].sum() == 6
    assert "blank cells taken as alive: 24" in said(season)


def test_plain_records_in_json_are_read_and_other_json_is_refused(tmp_path: Path) -> None:
    one = '{"Ewe": 1, "Lamb": 2, "Born": "2026-03-05T10:12:00.000", "Fate": "%s", "Cause": null}'
    text = f"[{one % 'alive'}, {one.replace('2,', '3,', 1) % 'dead'}]"
    assert dead(read(tmp_path, text, name="book.json")) == (1, 2)
    assert dead(read(tmp_path, f'{{"births": {text}}}', name="book.json")) == (1, 2)
    assert "is no list of plain records" in refusal(tmp_path, '{"a": {"b": 1}}', name="book.json")


def test_a_reason_for_leaving_that_says_dead_is_never_alive(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},{200 + n},{day(n)},lebend,{'verendet' if n == 4 else ''}" for n in range(20))
    season = read(tmp_path, f"Kuh,Kalb,Kalbedatum,lebend/tot,Weg warum\n{rows}\n20,220,2026-03-09,tot,\n")
    assert season.open_births["newborn_id"].tolist() == ["204"]


def test_a_comment_that_says_born_dead_is_told(tmp_path: Path) -> None:
    rows = "\n".join(
        f"{n},{200 + n},{day(n)},{'no' if n % 9 == 0 else 'yes'},{'born dead' if n == 9 else ''}"
        for n in range(30)
    )
    season = read(tmp_path, f"Ewe,Lamb,Born,Alive now,Comments\n{rows}\n")
    assert "a text says that it was born dead" in said(season)


def test_a_column_without_any_cell_asks_nothing(tmp_path: Path) -> None:
    text = "Ewe,Lamb,Born,Fate,Weight of it\n" + "\n".join(f"{row}," for row in LIVES) + "\n"
    assert not drafted([put(tmp_path, text)]).open


def test_numbered_headings_keep_their_unit(tmp_path: Path) -> None:
    rows = "\n".join(
        f"{n},{day(n)},F,{'M' if n % 2 else ''},6.6,{7 if n % 2 else ''},ok,{'dead' if n % 2 else ''}"
        for n in range(20)
    )
    text = f"Doe,Kidding date,Kid 1 sex,Kid 2 sex,Kid 1 weight (lbs),Kid 2 weight (lbs),Kid 1 died,Kid 2 died\n{rows}\n"
    text = text.replace(",ok,", ",no,").replace(",dead", ",yes")
    draft = drafted([put(tmp_path, text)]).text
    assert '"Kid {n} weight (lbs)" = "birth_weight_kg"' in draft
    births = as_drafted(tmp_path, text).births
    assert births["birth_weight_kg"].max() == pytest.approx(7 * 0.45359237, abs=0.01)
    assert len(births) == 30


SLASHED = "\n".join(
    f"{n},{day(n)},{'/'.join('FMF'[: n % 3 + 1])},{'/'.join(['ok', 'dead' if n % 4 == 0 else 'ok', 'ok'][: n % 3 + 1])}"
    for n in range(1, 31)
)


def test_cells_that_hold_a_litter_are_unfolded_where_their_parts_agree(tmp_path: Path) -> None:
    text = f"Ewe,Lambed,Sex,Fate\n{SLASHED}\n"
    season = as_drafted(tmp_path, text)
    assert dead(season) == (5, 60)
    assert season.births["litter_size"].max() == 3
    assert "30 rows were unfolded to 60 newborns" in said(season, "noted")


def test_cells_that_hold_a_litter_are_refused_where_nothing_tells_its_size(tmp_path: Path) -> None:
    rows = "\n".join(f"{n},{day(n)},{'1 SB' if n % 3 else '1 died d2'}" for n in range(1, 31))
    text = f"Ewe,Lambed,Losses\n{rows}\n"
    assert "a cell tells of a whole litter" in drafted([put(tmp_path, text)]).text
    answer = refusal(tmp_path, text, '[columns]\n"Losses" = "died"\n')
    assert answer.startswith('book.csv, row 2, column "Losses": "1 SB" tells of a whole litter')
    slashed = f"Ewe,Lambed,Fate\n{SLASHED}\n"
    bare = "\n".join(",".join(line.split(",")[:2] + line.split(",")[3:]) for line in slashed.splitlines())
    assert "tells of a whole litter" in refusal(tmp_path, bare.replace("Lambed", "Lambed,Fate", 1) + "\n")


def test_a_summary_beside_the_records_stops_nothing_and_the_map_leaves_it_out(tmp_path: Path) -> None:
    book = tmp_path / "book.xlsx"
    rows = [row.split(",") for row in LIVES]
    with pd.ExcelWriter(book) as writer:
        pd.DataFrame(rows, columns=["Ewe", "Lamb", "Born", "Fate"]).to_excel(
            writer, sheet_name="Lambs", index=False
        )
        pd.DataFrame([["Born", 24], ["Dead", 4]]).to_excel(
            writer, sheet_name="Summary", index=False, header=False
        )
    draft = drafted([book]).text
    assert '[tables]\n"Summary" = ""' in draft
    put(tmp_path, draft, "map.toml")
    for season in (read_season(book), read_season(book, map=tmp_path / "map.toml")):
        assert dead(season) == (4, 24)
    assert "the map leaves this sheet out" in said(read_season(book, map=tmp_path / "map.toml"), "noted")


def test_merged_headings_that_number_newborns_take_the_words_below_them(tmp_path: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Ewe", "Lambed", "Lamb 1", None, "Lamb 2", None])
    sheet.append([None, None, "Sex", "Fate", "Sex", "Fate"])
    for n in range(20):
        second = ["M", "dead" if n % 4 == 0 else "alive"] if n % 2 == 0 else [None, None]
        sheet.append([n, pd.Timestamp(day(n)).to_pydatetime(), "F", "alive", *second])
    for block in ("C1:D1", "E1:F1"):
        sheet.merge_cells(block)
    book.save(tmp_path / "book.xlsx")
    assert dead(read_season(tmp_path / "book.xlsx")) == (5, 30)


def test_mobs_in_columns_are_turned_round(tmp_path: Path) -> None:
    text = "2025,North,South\nEwes joined,236,185\nDry,16,7\nSingles,150,114\nTwins,70,64\nLambs marked,232,196\n"
    mobs = read(tmp_path, text, name="mobs 2025.csv").mobs
    assert mobs["mob"].tolist() == ["North", "South"]
    assert mobs["joined"].tolist() == [236, 185]
    assert mobs["marked"].tolist() == [232, 196]


def test_dates_in_the_rows_that_name_the_dam_are_those_of_birth(tmp_path: Path) -> None:
    rows = "".join(f"{n},{day(n)},2,{n}a,no\n,,,{n}b,{'yes' if n % 5 == 0 else 'no'}\n" for n in range(1, 21))
    text = f"Ewe,Date,Litter,Lamb,Died\n{rows}"
    assert read(tmp_path, text).births["litter"].nunique() == 20
    births = as_drafted(tmp_path, text).births
    assert (len(births), births["litter"].nunique(), int(births["died"].sum())) == (40, 20, 4)
    assert births["born"].notna().all()


def test_words_of_death_under_a_heading_that_asks_for_them_are_the_outcome(tmp_path: Path) -> None:
    kinds = ("Sold", "Kept", "Died", "Stillborn")
    rows = "\n".join(f"{n},{200 + n},{day(n)},{kinds[n % 4]}" for n in range(24))
    text = f"Ewe,Lamb,Born,Sold/Died\n{rows}\n"
    assert '"Sold/Died" = "died"' in drafted([put(tmp_path, text)]).text
    births = as_drafted(tmp_path, text).births
    assert (int(births["lost"].sum()), int(births["stillborn"].sum())) == (12, 6)


def test_a_blank_among_the_living_proves_nothing_of_whom_they_are(tmp_path: Path) -> None:
    rows = "\n".join(
        f"{n},{day(n)},{'' if n % 6 == 0 else 2},{1 if n % 6 == 0 else ''}" for n in range(1, 31)
    )
    text = f"Ewe,Lambed,Alive,Dead\n{rows}\n"
    assert "born alive or those alive now" in refusal(tmp_path, text)
    season = read(
        tmp_path, text, '[columns]\n"Alive" = "newborns_born_alive"\n"Dead" = "newborns_born_dead"\n'
    )
    assert dead(season) == (5, 55)
    assert "nothing is said of later" in said(season)
