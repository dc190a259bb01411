"""Sheets that count newborns for each dam: a row whose counts cannot be is set aside, and never half believed."""

from __future__ import annotations

from pathlib import Path

import pytest

from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season

POSSIBLE = "D1,4,2,1"


def read(tmp_path: Path, row: str) -> Season:
    path = tmp_path / "births.csv"
    path.write_text(f"dam_id,total born,born dead,died later\n{POSSIBLE}\n{row}\n", encoding="utf-8")
    return read_season(path)


@pytest.mark.parametrize(
    "row",
    [
        pytest.param("D2,2,1,2", id="more dead and died than born"),
        pytest.param("D2,2,0,3", id="more died than born"),
        pytest.param("D2,2,3,0", id="more dead than born"),
        pytest.param("D2,2,-1,0", id="fewer than none dead"),
        pytest.param("D2,2,0,-1", id="fewer than none died"),
        pytest.param("D2,2.5,0,1", id="half a newborn"),
        pytest.param("D2,3,0.5,0", id="half a death"),
        pytest.param("D2,13,1,1", id="more than any litter"),
        pytest.param("D2,-1,0,0", id="fewer than none born"),
    ],
)
def test_counts_that_cannot_be_are_set_aside(tmp_path: Path, row: str) -> None:
    season = read(tmp_path, row)
    assert season.births["dam_id"].tolist() == ["D1"] * 4
    listed = season.problems[season.problems["ended"] == "set aside"]
    assert listed["row"].tolist() == [3]
    assert listed["problem"].tolist() == ["the counts of this row do not add up to whole newborns"]


@pytest.mark.parametrize(
    ("row", "stillborn", "lost", "born"),
    [("D2,2,1,1", 1, 2, 2), ("D2,2,2,0", 2, 2, 2), ("D2,2,0,2", 0, 2, 2), ("D2,12,0,0", 0, 0, 12)],
    ids=["all lost", "all dead at birth", "all died later", "the largest litter"],
)
def test_counts_at_the_edge_of_what_can_be_are_counted(
    tmp_path: Path, row: str, stillborn: int, lost: int, born: int
) -> None:
    births = read(tmp_path, row).births
    litter = births[births["dam_id"] == "D2"]
    assert (int(litter["stillborn"].sum()), int(litter["died"].sum()), len(litter)) == (stillborn, lost, born)
