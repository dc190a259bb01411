"""Books with a line a dam, under headings of their own, read with the drafted map alone: each newborn as written."""

from __future__ import annotations

from pathlib import Path

import pytest

from neonatal_stats.season.map.draft_map import drafted
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season

Litter = tuple[str, int, int, int]
"""Dam, newborns, born dead among them, lost among them."""

COUNTED = {
    "lambs, tailed": (
        "Ewe;Lambing day;No. dropped;Dropped dead;Dead after;Tailed",
        [
            "Y101;2026-03-02;2;0;1;1",
            "Y102;2026-03-02;1;0;0;1",
            "Y103;2026-03-03;2;1;0;1",
            "Y104;2026-03-03;3;0;2;1",
            "Y105;2026-03-04;2;0;0;2",
            "Y106;2026-03-05;1;1;0;0",
        ],
        [
            ("Y101", 2, 0, 1),
            ("Y102", 1, 0, 0),
            ("Y103", 2, 1, 1),
            ("Y104", 3, 0, 2),
            ("Y105", 2, 0, 0),
            ("Y106", 1, 1, 1),
        ],
    ),
    "kids, alive proven by the sums": (
        "Dam,Kidding,Total kids,Live kids,Stillborn kids,Kids dead before weaning,Kids weaned",
        [
            "N1,2026-02-01,2,2,0,1,1",
            "N2,2026-02-01,3,2,1,0,2",
            "N3,2026-02-02,1,1,0,0,1",
            "N4,2026-02-03,2,2,0,0,2",
            "N5,2026-02-04,2,1,1,1,0",
        ],
        [("N1", 2, 0, 1), ("N2", 3, 1, 1), ("N3", 1, 0, 0), ("N4", 2, 0, 0), ("N5", 2, 1, 2)],
    ),
}
REPEATED = {
    "ordinals": (
        "Mother,Lambed,1st lamb tag,1st lamb sex,1st lamb wt kg,1st lamb fate,2nd lamb tag,2nd lamb sex,2nd lamb wt kg,"
        "2nd lamb fate",
        [
            "Y101,2026-03-02,a1,ewe,4.1,alive,a2,ram,3.9,died",
            "Y102,2026-03-02,b1,ram,5.0,alive,,,,",
            "Y103,2026-03-03,c1,ewe,3.8,born dead,c2,ewe,4.0,alive",
        ],
    ),
    "letters": (
        "Ewe tag,Date lambed,A: id,A: sex,A: weight,A: fate,B: id,B: sex,B: weight,B: fate",
        [
            "Y101,2026-03-02,a1,f,4.1,alive,a2,m,3.9,died",
            "Y102,2026-03-02,b1,m,5.0,alive,,,,",
            "Y103,2026-03-03,c1,f,3.8,born dead,c2,f,4.0,alive",
        ],
    ),
}
EACH = [
    ("a1", "Y101", "female", 4.1, False),
    ("a2", "Y101", "male", 3.9, True),
    ("b1", "Y102", "male", 5.0, False),
    ("c1", "Y103", "female", 3.8, True),
    ("c2", "Y103", "female", 4.0, False),
]


def read(folder: Path, headings: str, rows: list[str]) -> Season:
    """The book with the map that is drafted of it, which must leave nothing open."""
    book, own = folder / "book.csv", folder / "map.toml"
    book.write_text("\n".join([headings, *rows]) + "\n", encoding="utf-8")
    draft = drafted(book)
    assert draft.open == ()
    own.write_text(draft.text, encoding="utf-8")
    return read_season(book, map=own)


def litters(season: Season) -> list[Litter]:
    by_dam = season.births.groupby("dam_id", observed=True)
    return [(str(dam), len(one), int(one["stillborn"].sum()), int(one["lost"].sum())) for dam, one in by_dam]


@pytest.mark.parametrize("way", COUNTED)
def test_a_book_of_counts_is_read_dam_by_dam(tmp_path: Path, way: str) -> None:
    headings, rows, known = COUNTED[way]
    season = read(tmp_path, headings, rows)
    assert litters(season) == known
    assert season.births["died_at"].isna().all() if "died_at" in season.births else True
    said = " ".join(map(str, season.problems["problem"]))
    assert "which littermate died, and when, is not known" in said


@pytest.mark.parametrize("way", REPEATED)
def test_a_book_of_repeated_columns_is_read_newborn_by_newborn(tmp_path: Path, way: str) -> None:
    headings, rows = REPEATED[way]
    births = read(tmp_path, headings, rows).births.sort_values("newborn_id")
    columns = ["newborn_id", "dam_id", "sex", "birth_weight_kg", "lost"]
    assert list(births[columns].itertuples(index=False, name=None)) == EACH


def test_a_count_that_does_not_add_up_is_refused_with_its_line(tmp_path: Path) -> None:
    headings, rows, known = COUNTED["lambs, tailed"]
    season = read(tmp_path, headings, [*rows, "Y108;2026-03-06;2;2;1;0"])
    assert litters(season) == known
    refused = season.problems[season.problems["ended"] == "set aside"]
    assert refused["row"].tolist() == [8]
    assert refused["value"].tolist() == ["No. dropped 2, Dropped dead 2, Dead after 1, Tailed 0"]


def test_newborns_that_no_count_holds_are_an_open_outcome_and_not_alive(tmp_path: Path) -> None:
    headings, rows, known = COUNTED["lambs, tailed"]
    season = read(tmp_path, headings, [*rows, "Y109;2026-03-06;3;0;1;1"])
    assert litters(season) == known
    said = season.problems[season.problems["ended"] == "set aside"]
    open_litter = "some of this litter are counted neither among the dead nor among those reared"
    assert said["problem"].tolist() == [open_litter] * 3
    assert season.undecided["not_written"].tolist() == [3]


def test_alive_that_may_be_at_birth_or_now_is_asked(tmp_path: Path) -> None:
    book = tmp_path / "book.csv"
    book.write_text(
        "Ewe,Lambing day,Total lambs,Live lambs\nE1,2026-03-01,2,1\nE2,2026-03-02,2,2\nE3,2026-03-02,1,1\n",
        encoding="utf-8",
    )
    assert [line.said for line in drafted(book).open] == ["Live lambs"]
