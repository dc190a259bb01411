"""Counts by the dam with blanks and zeros mixed: what the reared prove is read, what stays open counts its newborns."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from neonatal_stats import read_season
from neonatal_stats.season.map.draft_map import draft_map
from neonatal_stats.season.model import Season

HEAD = "Ewe tag,Lambed,Lambs born,Born dead,Died,Reared"
OTHERS = "E1,2026-03-01,2,0,0,2\nE2,2026-03-01,2,1,0,1\nE3,2026-03-02,3,0,1,2\nE4,2026-03-02,1,0,0,1\n"
OTHERS += "E5,2026-03-03,2,1,1,0"


def read(folder: Path, row: str, head: str = HEAD, others: str = OTHERS) -> Season:
    path = folder / "ewes.csv"
    path.write_text(f"{head}\n{others}\n{row}\n", encoding="utf-8")
    (folder / "map.toml").write_text(draft_map(path), encoding="utf-8")
    return read_season(path, map=folder / "map.toml")


@pytest.mark.parametrize(
    ("row", "still", "died"),
    [
        ("E9,2026-03-04,2,,0,2", 0, 0),
        ("E9,2026-03-04,2,0,,2", 0, 0),
        ("E9,2026-03-04,3,,,3", 0, 0),
        ("E9,2026-03-04,3,1,,2", 1, 1),
        ("E9,2026-03-04,3,,1,2", 0, 1),
    ],
)
def test_a_blank_is_none_where_the_reared_make_up_the_born(
    tmp_path: Path, row: str, still: int, died: int
) -> None:
    births = read(tmp_path, row).births
    litter = births[births["dam_id"] == "E9"]
    assert len(litter) == int(row.split(",")[2])
    assert (int(litter["stillborn"].sum()), int(litter["died"].sum())) == (still, died)


@pytest.mark.parametrize("row", ["E9,2026-03-04,3,0,,2", "E9,2026-03-04,3,,,1", "E9,2026-03-04,3,,0,2"])
def test_a_litter_that_stays_open_counts_as_many_newborns_as_were_born(tmp_path: Path, row: str) -> None:
    season = read(tmp_path, row)
    assert "E9" not in set(season.births["dam_id"])
    assert season.undecided[["born", "not_written"]].to_numpy().tolist() == [[13, 3]]
    assert season.balances[0].set_aside == 3
    assert "died" not in season.open_births or not season.open_births["died"].notna().any()


def test_a_total_row_and_signs_for_none_change_no_draft(tmp_path: Path) -> None:
    path = tmp_path / "ewes.csv"
    rows = OTHERS.replace(",0", ",nil", 1).replace(",0", ",-", 1)
    path.write_text(f"{HEAD}\n{rows}\nE6,2026-03-05,2,,nil,2\n", encoding="utf-8")
    without = tomllib.loads(draft_map(path))
    path.write_text(f"{HEAD}\n{rows}\nE6,2026-03-05,2,,nil,2\nTotal,,128,126,7,117\n", encoding="utf-8")
    assert tomllib.loads(draft_map(path)) == without
    assert without["births"]["columns"]["Lambs born"] == "newborns_born"
