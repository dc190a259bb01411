"""A column of somebody's own beside the births: laid by identity, never by an order that only looks right."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats import Season, read_season

RECORDS = pd.DataFrame(
    {
        "season": 2026,
        "species": "sheep",
        "newborn_id": ["L3", "L1", None, "L2"],
        "dam_id": ["E2", "E1", "E1", "E3"],
        "born_on": ["2026-04-03", "2026-04-01", "2026-04-01", "2026-04-02"],
        "died": [False, False, True, True],
    }
)


@pytest.fixture(scope="module")
def flock() -> Season:
    """Three newborns with an identity and one without, in another order than they were written."""
    return read_season(RECORDS)


def by_identity(season: Season, name: str) -> dict[object, object]:
    births = season.births.dropna(subset=["newborn_id"])
    return dict(zip(births["newborn_id"], births[name], strict=True))


def test_by_the_identity_of_newborns_or_of_dams(flock: Season) -> None:
    with pytest.warns(
        UserWarning, match="1 of 3 labels are no newborn_id of these records and were not used"
    ):
        own = flock.with_column("badge", {"L1": "a", "L2": "b", "L9": "c"})
    assert by_identity(own, "badge") == {"L1": "a", "L2": "b", "L3": None} or pd.isna(
        by_identity(own, "badge")["L3"]
    )
    fed = flock.with_column("fed", pd.Series({"E1": True, "E2": False}), of="dam_id")
    assert fed.births.groupby("dam_id")["fed"].first().to_dict()["E1"] is True
    assert fed.births.loc[fed.births["dam_id"] == "E1", "fed"].tolist() == [True, True]
    assert fed.births.loc[fed.births["dam_id"] == "E3", "fed"].isna().all()
    assert "badge" not in flock.births


def test_made_of_the_births_or_in_their_order(flock: Season) -> None:
    own = flock.with_column("late", lambda births: births["born"].dt.day > 1)
    assert by_identity(own, "late") == {"L1": False, "L2": True, "L3": True}
    listed = flock.with_column("place", range(4))
    assert listed.births["place"].tolist() == [0, 1, 2, 3]


def test_a_column_of_the_file_is_not_laid_by_its_place(flock: Season) -> None:
    with pytest.raises(
        ValueError, match=r"none of the labels of the values is a newborn_id.*which look like 'L"
    ):
        flock.with_column("again", RECORDS["dam_id"])


def test_it_stays_with_its_newborns(flock: Season) -> None:
    own = flock.with_column("badge", {"L1": "a", "L2": "b", "L3": "c"})
    assert by_identity(own.with_settings(follow_up_d=20), "badge") == by_identity(own, "badge")
    assert by_identity(own["2026"], "badge") == by_identity(own, "badge")
    known = own.known_by(pd.Timestamp("2026-04-02"))
    assert by_identity(known, "badge") == {"L1": "a", "L2": "b"}
    assert own.own_columns == ("badge",)


def test_ones_own_column_is_replaced_and_no_other(flock: Season) -> None:
    once = flock.with_column("badge", {"L1": "a"})
    again = once.with_column("badge", {"L1": "z"})
    assert by_identity(again, "badge")["L1"] == "z"
    assert again.own_columns == ("badge",)
    for name in ("sex", "age_h", "lost_by_7_d", "night"):
        with pytest.raises(ValueError, match=f"'{name}' is a column of the records already"):
            flock.with_column(name, range(4))


def test_what_does_not_fit_is_refused(flock: Season) -> None:
    with pytest.raises(ValueError, match="2 values for 4 newborns"):
        flock.with_column("badge", ["a", "b"])
    with pytest.raises(ValueError, match="newborn_id 'L1' has several values"):
        flock.with_column("badge", pd.Series(["a", "b"], index=["L1", "L1"]))
    twice = read_season(pd.concat([RECORDS, RECORDS.assign(season=2025, born_on="2025-04-01")]))
    with pytest.raises(ValueError, match="stands at several newborns"):
        twice.with_column("badge", {"L1": "a"})


def test_a_column_that_means_nothing_here_stays_with_its_newborns(tmp_path: Path) -> None:
    """Under its own heading, past rows set aside, seasons and settings; one of numbers is numeric."""
    frame = RECORDS.assign(shift=["day", "night", None, "day"], score=[1, 2, 3, 4])
    season = read_season(pd.concat([frame, frame.assign(died=[None] * 4, season=2025, born_on="2025-04-01")]))
    assert len(season.births) == 4
    assert season.beside["score"].dtype.kind in "if"
    told = dict(zip(season.births["newborn_id"].fillna("none"), season.beside["shift"], strict=True))
    assert {name: shift for name, shift in told.items() if name != "none"} == {
        "L3": "day",
        "L1": "night",
        "L2": "day",
    }
    for other in (
        season["2026"],
        season.with_settings(follow_up_d=20),
        season.known_by(pd.Timestamp("2026-04-09")),
    ):
        assert other.beside["score"].tolist() == season.beside["score"].tolist()
    first = season.known_by(pd.Timestamp("2026-04-01"))
    assert sorted(first.beside["score"]) == [2, 3]
    frame.to_csv(tmp_path / "births.csv", index=False)
    from_file = read_season(tmp_path / "births.csv")
    assert from_file.beside["score"].tolist() == season.beside["score"].tolist()
    assert "shift" not in from_file.births
    assert from_file.with_column("high", lambda births: births["score"] > 2).births["high"].sum() == 2


def test_a_litter_written_in_one_row_gives_its_column_to_each_newborn() -> None:
    told = {
        "season": 2026,
        "species": "sheep",
        "dam_id": list("ABCD"),
        "vaccinated": ["yes", "no", "yes", "no"],
    }
    told |= {"lamb 1 died": ["no", "yes", "no", "no"], "lamb 2 died": ["no", "no", "yes", None]}
    season = read_season(pd.DataFrame(told))
    given = season.with_beside.groupby("dam_id")["vaccinated"].agg(list).to_dict()
    assert given == {"A": ["yes", "yes"], "B": ["no", "no"], "C": ["yes", "yes"], "D": ["no"]}


def test_records_without_such_columns_have_none_beside(flock: Season) -> None:
    assert flock.beside.shape[1] == 0
    assert flock.with_beside is flock.births


def test_a_heading_of_what_the_review_works_out_is_told_from_one_that_means_nothing() -> None:
    said = read_season(RECORDS.assign(litter=1, shift="day")).problems.set_index("column")["problem"]
    assert said["litter"].startswith("the review works out a column of this name by itself")
    assert said["shift"].startswith("no column of births is called so")
