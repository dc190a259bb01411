"""No newborn twice: counts, codes, repeated columns, rows of dams and rows for many are proven, declared or asked."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season

pytestmark = pytest.mark.quickly(3)

Rows = Sequence[Sequence[object]]
LITTERS = (
    (2, 1, 0),
    (1, 0, 0),
    (3, 0, 1),
    (2, 0, 2),
    (1, 1, 0),
    (2, 0, 0),
    (2, 1, 1),
    (3, 2, 0),
    (2, 0, 0),
    (1, 0, 1),
)
"""Born, of these born dead, of the others dead later: worked by hand 19 born, 5 born dead, 5 dead later."""
BORN, STILL, LATER = 19, 5, 5


def read(folder: Path, headings: Sequence[str], rows: Rows, drafted: str = "") -> Season:
    path = folder / "book.csv"
    lines = [
        ",".join(headings),
        *(",".join("" if cell is None else str(cell) for cell in row) for row in rows),
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    if not drafted:
        return read_season(path)
    (folder / "map.toml").write_text(drafted, encoding="utf-8")
    return read_season(path, map=folder / "map.toml")


def counts(season: Season) -> tuple[int, int]:
    return len(season.births), int(season.births["lost"].sum())


def day(place: int) -> str:
    return f"2026-03-{10 + place:02d}"


def newborns() -> list[tuple[int, int, int, bool, bool]]:
    """Litter, its size, its dead, and of each newborn whether it was born dead and whether it died."""
    return [
        (place, born, still + later, order < still, order < still + later)
        for place, (born, still, later) in enumerate(LITTERS)
        for order in range(born)
    ]


DAM_ROWS: dict[str, tuple[tuple[str, ...], str]] = {
    "born, born dead, died": (("born", "born dead", "died"), "{0} {1} {2}"),
    "total born, born alive, died later": (("total born", "born alive", "died later"), "{0} {3} {2}"),
    "born, lost": (("lambs born", "lost"), "{0} {4}"),
    "born alive, born dead, died later": (("born alive", "born dead", "died later"), "{3} {1} {2}"),
    "born, alive, dead": (("born", "alive", "dead"), "{0} {5} {4}"),
    "alive and dead": (("alive", "dead"), "{5} {4}"),
}


@pytest.mark.quickly(3)
@pytest.mark.parametrize("kind", DAM_ROWS)
def test_a_book_of_one_row_a_dam_is_read_whole_where_its_counts_add_up(kind: str, tmp_path: Path) -> None:
    headings, form = DAM_ROWS[kind]
    rows = [
        [f"D{place}", day(place), *form.format(b, s, d, b - s, s + d, b - s - d).split()]
        for place, (b, s, d) in enumerate(LITTERS)
    ]
    season = read(tmp_path, ["dam_id", "born_on", *headings], rows)
    assert counts(season) == (BORN, STILL + LATER)
    sizes = season.births.groupby("litter")["litter_size"].agg(["size", "first"])
    assert (sizes["size"] == sizes["first"]).all()
    assert sorted(sizes["size"]) == sorted(born for born, _, _ in LITTERS)


def test_blanks_count_none_where_no_0_is_written_and_it_is_said(tmp_path: Path) -> None:
    rows = [[f"D{p}", day(p), b, s or "", d or ""] for p, (b, s, d) in enumerate(LITTERS)]
    season = read(tmp_path, ["dam_id", "born_on", "born", "born dead", "died"], rows)
    assert counts(season) == (BORN, STILL + LATER)
    assert season.problems["problem"].str.contains("blank cells were taken as none dead").sum() == 2
    assert not season.all_well


def test_a_blank_among_zeros_is_not_written_and_never_alive(tmp_path: Path) -> None:
    rows = [[f"D{p}", day(p), b, s, "" if p == 6 else d] for p, (b, s, d) in enumerate(LITTERS)]
    season = read(tmp_path, ["dam_id", "born_on", "born", "born dead", "died"], rows)
    assert counts(season) == (BORN - 2, STILL + LATER - 2)
    aside = season.problems[season.problems["ended"] == "set aside"]
    said = "how many of this litter died is not written, though other rows write 0"
    assert aside["problem"].tolist() == [said] * 2  # one for each of the two that were born


def test_counts_that_do_not_add_up_in_one_row_are_set_aside_in_many_asked(tmp_path: Path) -> None:
    rows = [[f"D{p}", day(p % 15), 2, 1, 0] for p in range(30)]
    rows[4][2:] = [1, 1, 1]
    season = read(tmp_path, ["dam_id", "born_on", "born", "born dead", "died later"], rows)
    assert len(season.births) == 58
    for row in rows[:9]:
        row[2:] = [1, 1, 1]
    with pytest.raises(
        CannotRead,
        match=r"in 9 of 30 rows .* do not add up, first in row \d+ \(.*\d.*\); say in the map under \[columns\]",
    ):
        read(tmp_path, ["dam_id", "born_on", "born", "born dead", "died later"], rows)


UNCLEAR = {
    ("born", "born alive", "dead"): ([[3, 2, 2], [2, 2, 1], [1, 1, 0]], '"dead" counts the born dead'),
    ("alive", "dead"): ([[2, 1], [3, 1], [2, 0]], '"alive" counts those born alive or those alive now'),
    ("born alive", "dead"): ([[2, 1], [3, 2], [2, 0]], '"dead" counts the born dead'),
    ("born", "born dead", "dead"): ([[3, 1, 1], [3, 1, 2], [2, 0, 0]], '"dead" counts the born dead'),
}


@pytest.mark.parametrize("headings", UNCLEAR)
def test_counts_that_can_be_read_in_two_ways_are_asked_about(
    headings: tuple[str, ...], tmp_path: Path
) -> None:
    rows, question = UNCLEAR[headings]
    with pytest.raises(CannotRead) as asked:
        read(
            tmp_path,
            ["dam_id", "born_on", *headings],
            [[f"D{p}", day(p), *row] for p, row in enumerate(rows)],
        )
    assert f"it is not clear whether {question}" in str(asked.value)
    assert "say in the map under [columns] whether it is newborns_born" in str(asked.value)


def test_the_map_settles_what_is_unclear(tmp_path: Path) -> None:
    rows = [["D0", day(0), 3, 2, 2], ["D1", day(1), 2, 2, 1], ["D2", day(2), 1, 1, 0]]
    headings = ["dam_id", "born_on", "born", "born alive", "dead"]
    season = read(tmp_path, headings, rows, '[columns]\ndead = "newborns_died"\n')
    assert counts(season) == (6, 4)
    season = read(tmp_path, headings, rows, '[columns]\ndead = "newborns_lost"\n')
    assert counts(season) == (6, 3)


def test_born_minus_reared_needs_the_map(tmp_path: Path) -> None:
    rows = [[f"D{p}", day(p), b, b - s - d] for p, (b, s, d) in enumerate(LITTERS)]
    headings = ["dam_id", "born_on", "lambs born", "lambs reared"]
    with pytest.raises(
        CannotRead, match='say in the map under \\[columns\\] "lambs reared" = "newborns_reared"'
    ):
        read(tmp_path, headings, rows)
    season = read(tmp_path, headings, rows, '[columns]\n"lambs reared" = "newborns_reared"\n')
    assert counts(season) == (BORN, STILL + LATER)


def test_the_reared_are_not_all_that_were_not_born_dead(tmp_path: Path) -> None:
    rows = [[f"D{p}", day(p), b, s, b - s - d] for p, (b, s, d) in enumerate(LITTERS)]
    with pytest.raises(CannotRead, match="nothing counts those that died later"):
        read(tmp_path, ["dam_id", "born_on", "born", "born dead", "reared"], rows)


def test_counts_without_a_known_dam_are_asked_about(tmp_path: Path) -> None:
    rows = [[f"pen {p}", day(p), *row] for p, row in enumerate(LITTERS)]
    with pytest.raises(CannotRead, match="no column is known to name the dam; say in the map"):
        read(tmp_path, ["where", "born_on", "born", "born dead", "died"], rows)


COUNTS_ON_ROWS: dict[str, tuple[str, ...]] = {
    "born and dead": ("born", "dead"),
    "born, born dead, born live": ("total born", "born dead", "born live"),
    "born and reared": ("lambs born", "lambs reared"),
}


@pytest.mark.parametrize("kind", COUNTS_ON_ROWS)
def test_litter_counts_on_each_newborn_s_row_are_not_expanded(kind: str, tmp_path: Path) -> None:
    rows = []
    for place, born, dead, still, died in newborns():
        told = {
            "born": born,
            "total born": born,
            "lambs born": born,
            "dead": dead,
            "lambs reared": born - dead,
        }
        told |= {"born dead": LITTERS[place][1], "born live": born - LITTERS[place][1]}
        rows.append(
            [f"D{place}", day(place), *(told[name] for name in COUNTS_ON_ROWS[kind]), "yes" if died else "no"]
        )
        del still
    season = read(tmp_path, ["dam_id", "born_on", *COUNTS_ON_ROWS[kind], "died"], rows)
    assert counts(season) == (BORN, STILL + LATER)


def test_only_litter_counts_of_the_dead_on_newborns_rows_are_asked_about(tmp_path: Path) -> None:
    rows = [[f"D{place}", day(place), born, dead] for place, born, dead, _, _ in newborns()]
    with pytest.raises(
        CannotRead, match=r'"died" holds numbers \(0 in 5 rows, 1 in 7 rows, 2 in 7 rows\); if they are codes'
    ):
        read(tmp_path, ["dam_id", "born_on", "litter_size", "died"], rows)


@pytest.mark.quickly(3)
@pytest.mark.parametrize(("dead", "alive"), [(1, 2), (2, 1), (3, 0)])
@pytest.mark.parametrize("column", ["died", "born_alive"])
def test_codes_are_asked_about_with_their_counts_until_the_map_gives_words(
    dead: int, alive: int, column: str, tmp_path: Path
) -> None:
    rows = [
        [f"T{n}", f"D{place}", day(place), dead if died else alive]
        for n, (place, _, _, _, died) in enumerate(newborns())
    ]
    headings = ["newborn_id", "dam_id", "born_on", column]
    with pytest.raises(CannotRead) as asked:
        read(tmp_path, headings, rows)
    each = ", ".join(f"{code} in {n} rows" for code, n in sorted({dead: 10, alive: 9}.items()))
    assert f'"{column}" holds numbers ({each})' in str(asked.value)
    yes, no = (dead, alive) if column == "died" else (alive, dead)
    season = read(tmp_path, headings, rows, f'[words.{column}]\n{yes} = "yes"\n{no} = "no"\n')
    assert counts(season) == (BORN, STILL + LATER)


@pytest.mark.parametrize("words", [("1", "0"), ("1", ""), ("yes", "no")])
def test_ones_and_zeros_need_no_word(words: tuple[str, str], tmp_path: Path) -> None:
    rows = [[f"D{place}", day(place), words[0] if died else words[1]] for place, _, _, _, died in newborns()]
    assert counts(read(tmp_path, ["dam_id", "born_on", "died"], rows)) == (BORN, STILL + LATER)


REPEATED: dict[str, tuple[str, str]] = {
    "cause": ("infection", "accident"),
    "dam condition": ("3", "2.5"),
    "birth weight kg": ("4.1", "4.3"),
    "sex": ("male", "male"),
    "treatment": ("navel", ""),
    "died": ("no", "no"),
    "group": ("Pen 1", "Pen 2"),
}


@pytest.mark.quickly(5)
@pytest.mark.parametrize("stem", REPEATED)
@pytest.mark.parametrize("form", ["{} 1", "{}_1", "1. {}"])
def test_repeated_columns_beside_single_newborns_make_none(stem: str, form: str, tmp_path: Path) -> None:
    headings = [form.format(stem), form.format(stem).replace("1", "2")]
    rows = [
        [f"T{n}", f"D{place}", day(place), *REPEATED[stem], "yes" if died else "no"]
        for n, (place, _, _, _, died) in enumerate(newborns())
    ]
    season = read(tmp_path, ["newborn_id", "dam_id", "born_on", *headings, "died"], rows)
    assert counts(season) == (BORN, STILL + LATER)


def test_repeated_columns_of_rows_that_share_dams_make_no_newborns(tmp_path: Path) -> None:
    rows = [[f"D{place}", day(place), "no", "yes" if died else "no"] for place, _, _, _, died in newborns()]
    with pytest.raises(CannotRead, match="no column says what became of the newborns"):
        read(tmp_path, ["dam_id", "born_on", "died 1", "died 2"], rows)


WIDE: dict[str, tuple[str, ...]] = {
    "lamb 1 sex, lamb 1 died": ("lamb {} sex", "lamb {} died"),
    "sex of lamb 1, died lamb 1": ("sex lamb {}", "died lamb {}"),
    "died 1, birth weight 1": ("died {}", "birth_weight_kg {}"),
    "newborn id 1, died 1": ("newborn_id {}", "died {}"),
}


@pytest.mark.quickly(3)
@pytest.mark.parametrize("kind", WIDE)
@pytest.mark.parametrize("dam", ["dam_id", "litter_id"])
def test_columns_for_each_newborn_of_a_dam_are_unfolded(kind: str, dam: str, tmp_path: Path) -> None:
    headings = [pattern.format(n) for n in (1, 2, 3) for pattern in WIDE[kind]]
    rows: list[list[object]] = []
    for place, (born, still, later) in enumerate(LITTERS):
        row: list[object] = [f"D{place}", day(place)]
        for order in range(3):
            died = "yes" if order < still + later else "no"
            what = [
                {"sex": "male", "birth_weight_kg": "4.2", "newborn_id": f"{place}{order}"}.get(name, died)
                for name in (p.replace("{}", "").replace("lamb", "").strip() for p in WIDE[kind])
            ]
            row += what if order < born else [""] * len(what)
        rows.append(row)
    season = read(tmp_path, [dam, "born_on", *headings], rows)
    assert counts(season) == (BORN, STILL + LATER)
    assert sorted(season.births.groupby("litter").size()) == sorted(born for born, _, _ in LITTERS)


def test_a_pattern_of_the_map_unfolds_what_it_names(tmp_path: Path) -> None:
    rows = [
        [f"D{p}", day(p), *["dead"] * (s + d), *["ok"] * (b - s - d), *[""] * (3 - b)]
        for p, (b, s, d) in enumerate(LITTERS)
    ]
    drafted = '[columns]\n"L{n}" = "died"\n[words.died]\ndead = "yes"\nok = "no"\n'
    assert counts(read(tmp_path, ["dam_id", "born_on", "L1", "L2", "L3"], rows, drafted)) == (
        BORN,
        STILL + LATER,
    )


LETTERED = [
    "Nanny",
    "Kidded on",
    "Kid A sex",
    "Kid A kg",
    "Kid A status",
    "Kid B sex",
    "Kid B kg",
    "Kid B status",
]
LETTERED_ROWS = [
    ["N1", "2026-02-01", "F", "3.1", "OK", "M", "2.9", "X"],
    ["N2", "2026-02-02", "M", "3.4", "OK", "", "", ""],
    ["N3", "2026-02-04", "F", "2.2", "X", "F", "2.6", "OK"],
]


@pytest.mark.parametrize("dead", ["X", "x"])
def test_newborns_by_letter_are_drafted_as_one_line_and_words_heed_no_capitals(
    tmp_path: Path, dead: str
) -> None:
    path = tmp_path / "kids.csv"
    path.write_text("\n".join(",".join(row) for row in [LETTERED, *LETTERED_ROWS]), encoding="utf-8")
    columns = tomllib.loads(drafted([path]).text)["births"]["columns"]
    assert columns["Kid {n} sex"] == "sex"
    assert columns["Kid {n} kg"] == "birth_weight_kg"
    assert not [heading for heading in columns if heading.startswith(("Kid A", "Kid B"))]
    said = f'[columns]\n"Kid {{n}} status" = "died"\n[words.died]\n{dead} = "yes"\nOK = "no"\n'
    season = read(tmp_path, LETTERED, LETTERED_ROWS, said)
    assert counts(season) == (5, 2)
    assert sorted(season.births.loc[season.births["died"], "sex"]) == ["female", "male"]


def test_a_word_that_stands_in_the_map_in_two_cases_with_two_meanings_is_refused(tmp_path: Path) -> None:
    said = '[words.died]\nX = "yes"\nx = "no"\n'
    with pytest.raises(CannotRead, match="capitals make no difference"):
        read(tmp_path, ["dam_id", "born_on", "died"], [["D1", "2026-02-01", "x"]], said)


def test_newborn_columns_beside_one_of_the_row_are_asked_about(tmp_path: Path) -> None:
    rows = [["D1", day(1), "male", "female", "no"], ["D2", day(2), "male", "", "yes"]]
    with pytest.raises(
        CannotRead, match='columns for each newborn of a row \\("lamb 1 sex"\\) and one for the row'
    ):
        read(tmp_path, ["dam_id", "born_on", "lamb 1 sex", "lamb 2 sex", "died"], rows)


def test_several_newborns_a_row_without_a_known_dam_are_asked_about(tmp_path: Path) -> None:
    rows = [["7", day(1), "no", "no"], ["9", day(2), "yes", ""]]
    with pytest.raises(CannotRead, match="no column is known to name their dam"):
        read(tmp_path, ["äiti", "born_on", "lamb 1 died", "lamb 2 died"], rows)


def test_without_any_dam_a_row_is_a_litter(tmp_path: Path) -> None:
    season = read(
        tmp_path, ["born_on", "lamb 1 died", "lamb 2 died"], [[day(1), "no", "no"], [day(1), "yes", ""]]
    )
    assert season.births.groupby("litter").size().tolist() == [2, 1]


@pytest.mark.quickly(3)
@pytest.mark.parametrize("heading", ["count", "n", "number of lambs", "Qty"])
def test_rows_that_may_stand_for_many_are_asked_about(heading: str, tmp_path: Path) -> None:
    rows = [
        ["D1", day(1), "no", 2],
        ["D1", day(1), "yes", 1],
        ["D2", day(2), "yes", 3],
        ["D3", day(3), "no", 1],
    ]
    headings = ["dam_id", "born_on", "died", heading]
    with pytest.raises(CannotRead, match=f'"{heading}" may say how many newborns a row stands for'):
        read(tmp_path, headings, rows)
    season = read(tmp_path, headings, rows, f'[columns]\n"{heading}" = "newborns_in_row"\n')
    assert counts(season) == (7, 4)
    assert season.births.groupby("dam_id").size().to_dict() == {"D1": 3, "D2": 3, "D3": 1}
    assert counts(read(tmp_path, headings, rows, f'[columns]\n"{heading}" = ""\n')) == (4, 2)


def test_a_count_that_is_no_whole_number_is_set_aside(tmp_path: Path) -> None:
    rows = [["D1", day(1), "no", 2], ["D2", day(2), "yes", "some"], ["D3", day(3), "no", 0]]
    season = read(tmp_path, ["dam_id", "born_on", "died", "n"], rows, '[columns]\nn = "newborns_in_row"\n')
    assert len(season.births) == 2
    assert season.problems.loc[season.problems["ended"] == "set aside", "row"].tolist() == [3, 4]


def test_the_litter_s_number_on_each_newborn_s_row_is_no_row_for_many(tmp_path: Path) -> None:
    rows = [
        [f"D{place}", day(place), born, "yes" if died else "no"] for place, born, _, _, died in newborns()
    ]
    assert counts(read(tmp_path, ["dam_id", "born_on", "number of lambs", "died"], rows)) == (
        BORN,
        STILL + LATER,
    )


def test_one_row_a_dam_with_litter_sizes_and_yes_or_no_is_asked_about(tmp_path: Path) -> None:
    rows = [[f"D{p}", f"2026-03-{1 + p:02d}", 2, "yes" if p % 4 == 0 else "no"] for p in range(20)]
    with pytest.raises(
        CannotRead, match='nearly every dam stands on one row, though "litter_size" is often over 1'
    ):
        read(tmp_path, ["dam_id", "born_on", "litter_size", "died"], rows)


def test_a_map_that_declares_counts_where_there_are_none_is_refused(tmp_path: Path) -> None:
    rows = [["D1", day(1), 2, "no"], ["D2", day(2), 1, "yes"]]
    with pytest.raises(CannotRead, match='the map says that "born" is newborns_born, but'):
        read(tmp_path, ["dam_id", "born_on", "born", "died"], rows, '[columns]\nborn = "newborns_born"\n')


LITTER = st.integers(1, 4).flatmap(
    lambda born: st.integers(0, born).flatmap(
        lambda still: st.tuples(st.just(born), st.just(still), st.integers(0, born - still))
    )
)


@pytest.mark.slow
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(LITTER, min_size=3, max_size=25), st.booleans())
def test_any_book_of_counts_is_read_whole(
    tmp_path: Path, found: list[tuple[int, int, int]], by_alive: bool
) -> None:
    headings = ["total born", "born alive", "died later"] if by_alive else ["born", "born dead", "died later"]
    rows = [
        [f"D{p}", f"2026-03-{1 + p:02d}", b, b - s if by_alive else s, d] for p, (b, s, d) in enumerate(found)
    ]
    season = read(tmp_path, ["dam_id", "born_on", *headings], rows)
    assert counts(season) == (sum(b for b, _, _ in found), sum(s + d for _, s, d in found))


def test_a_litter_s_deaths_of_0_and_1_on_each_row_beside_its_size_are_asked_about(tmp_path: Path) -> None:
    rows = [[f"D{p}", day(p % 15), 2, 1 if p % 3 == 0 else 0] for p in range(15) for _ in range(2)]
    with pytest.raises(CannotRead, match=r'"died" holds numbers \(0 in 20 rows, 1 in 10 rows\)'):
        read(tmp_path, ["dam_id", "born_on", "lambs born", "died"], rows)


def test_a_row_of_totals_stands_for_nobody(tmp_path: Path) -> None:
    rows = [["D1", day(1), "no", 2], ["D2", day(2), "yes", 1], ["Total", "", "", 3]]
    season = read(tmp_path, ["dam_id", "born_on", "died", "n"], rows, '[columns]\nn = "newborns_in_row"\n')
    assert counts(season) == (3, 1)


@pytest.mark.parametrize(
    "heads", [("born", "born alive", "born dead"), ("total born", "dead", "alive"), ("born", "lost")]
)
def test_proven_litter_counts_are_left_out_and_the_newborn_s_own_outcome_read(
    heads: tuple[str, ...], tmp_path: Path
) -> None:
    rows = []
    for place, born, dead, _, died in newborns():
        still = LITTERS[place][1]
        told = {
            "born": born,
            "total born": born,
            "born alive": born - still,
            "born dead": still,
            "lost": dead,
        }
        told |= {"dead": dead, "alive": born - dead}
        rows.append([f"D{place}", day(place), *(told[head] for head in heads), "yes" if died else "no"])
    season = read(tmp_path, ["dam_id", "born_on", *heads, "died"], rows)
    assert counts(season) == (BORN, STILL + LATER)
    assert season.problems["problem"].str.contains("count the litter on each row of its newborns").any()
