"""First-hour columns join exchange messages by identity, and what does not fit is said."""

import json

import pytest

from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Settings
from tests.season.exchange_messages import DEATH, SINGLE, TWINS

LONDON = Settings(time_zone="Europe/London")


@pytest.fixture
def read(tmp_path):
    def write_and_read(sheet, *messages, settings=LONDON):
        (tmp_path / "events.json").write_text(json.dumps(messages), encoding="utf-8")
        (tmp_path / "shed.csv").write_text(sheet, encoding="utf-8")
        return read_season(tmp_path, settings=settings)

    return write_and_read


def test_messages_alone_give_a_season_with_its_balance(tmp_path):
    (tmp_path / "events.json").write_text(json.dumps([TWINS, SINGLE, DEATH]), encoding="utf-8")
    season = read_season(tmp_path / "events.json", settings=LONDON)
    births = season.births
    assert season.balances[0].rows_read == 3
    assert births["stillborn"].tolist().count(True) == 1
    died = births[births["died"] & ~births["stillborn"]].iloc[0]
    assert died["newborn_id"] == "0002"
    assert died["age_h"] == 33  # born 3 April 23:40, died 5 April 09:00 local: 33 h 20 min, whole hours


def test_the_first_hours_of_a_sheet_join_their_newborns(read):
    season = read(
        "newborn id,stood after (min),suck reflex\n0002,45,weak\n0001,20,strong\n", TWINS, SINGLE, DEATH
    )
    births = season.births.set_index("newborn_id")
    assert births.loc["0001", ["stood_after_h", "suck_reflex"]].tolist() == [20 / 60, "strong"]
    assert births.loc["0002", "stood_after_h"] == 0.75
    assert season.balances[0].rows_read == 3
    assert {source.file for source in season.sources} == {"events.json", "shed.csv"}


def test_a_newborn_that_no_message_names_is_said_and_not_counted(read):
    season = read("newborn_id,stood_after_min\n0001,20\n0099,30\n0001,25\n", TWINS)
    said = set(season.problems["problem"])
    assert "shed.csv: 1 newborns are in no message; they were left out" in said
    assert "shed.csv: 1 rows name a newborn a second time; the first row was used" in said
    assert season.births["stood_after_h"].dropna().tolist() == [20 / 60]


def test_where_the_sheet_contradicts_the_messages_the_messages_stand(read):
    season = read("newborn_id,sex,stood_after_min\n0001,male,20\n", TWINS)
    assert season.births.set_index("newborn_id").loc["0001", "sex"] == "female"
    assert "shed.csv: 1 cells say otherwise than the messages; the messages stand" in set(
        season.problems["problem"]
    )


def test_a_sheet_that_tells_outcomes_is_a_table_of_its_own(read):
    season = read("newborn_id,dam_id,born_at,died\n0500,9,2026-04-04 05:00,no\n", TWINS)
    assert season.balances[0].rows_read == 3
