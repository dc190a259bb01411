"""What was known by a day: nothing recorded later is seen, and a death is never undone that was known."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pandas as pd
import pytest

from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import WrongSetting
from tests.chapters.build import season
from tests.chapters.running_farms import as_kept_by, finished

DAY = pd.Timestamp("2026-03-05")


def known(rows: list[dict[str, Any]], **more: Any) -> Season:
    return season(
        [{"dam_id": str(place), "died": "no", **row} for place, row in enumerate(rows)], **more
    ).known_by(DAY)


def one(row: dict[str, Any]) -> dict[str, Any]:
    """The only newborn, as it was known that evening."""
    births = known([{"born_at": "2026-03-02 06:00", **row}]).births
    assert len(births) == 1
    return births.iloc[0].to_dict()


@pytest.mark.parametrize("farm", ["meadow", "ridge"])
@pytest.mark.parametrize("days", [3, 12, 19])
def test_a_cut_season_is_what_the_keepers_book_held_that_evening(farm: str, days: int) -> None:
    day = pd.Timestamp("2026-03-02") + pd.Timedelta(days=days)
    cut, book = finished(farm).known_by(day), season(as_kept_by(day, farm))
    told = [
        "born",
        "died",
        "age_h",
        "age_known",
        "stillborn",
        "lost_by_24_h",
        "lost_by_7_d",
        "lost",
        "litter",
        "cause",
    ]
    order = ["born", "dam_id", "age_h"]
    left, right = (one.births.sort_values(order)[told].reset_index(drop=True) for one in (cut, book))
    pd.testing.assert_frame_equal(left.drop(columns="litter"), right.drop(columns="litter"))
    assert left["litter"].nunique() == right["litter"].nunique()


def test_births_of_the_evening_are_known_and_those_of_the_next_morning_are_not() -> None:
    births = known([{"born_at": "2026-03-05 23:50"}, {"born_at": "2026-03-06 00:10"}]).births
    assert births["born"].tolist() == [pd.Timestamp("2026-03-05 23:50")]


def test_one_that_died_later_was_alive_and_watched_until_then() -> None:
    found = one({"died": "yes", "died_after_h": 100, "cause": "infection"})
    assert not found["died"]
    assert pd.isna(found["cause"])
    assert found["age_h"] == 89.0  # from 06:00 on the second to 23:59 on the fifth


def test_one_found_dead_later_was_not_known_to_be_dead() -> None:
    found = one({"died": "yes", "alive_after_h": 70, "found_after_h": 95})
    assert not found["died"]
    assert found["age_h"] == 89.0


def test_a_known_death_stays_whole() -> None:
    found = one({"died": "yes", "died_after_h": 50, "cause": "infection"})
    assert (found["died"], found["cause"], found["age_h"]) == (True, "infection", 50.0)


def test_a_stillborn_stays_lost_at_birth() -> None:
    found = one({"born_alive": "no", "died": "yes"})
    assert (found["stillborn"], found["died"], found["age_h"]) == (True, True, 0.0)


def test_a_death_without_any_time_stays_a_death() -> None:
    found = one({"died": "yes"})
    assert found["died"]
    assert not found["age_known"]


@pytest.mark.parametrize(("age_h", "dead"), [(48, True), (96, False)])
def test_an_age_at_death_dates_it(age_h: float, dead: bool) -> None:
    assert one({"died": "yes", "age_at_death_h": age_h})["died"] == dead


def test_one_last_seen_early_is_not_said_to_have_been_watched_longer() -> None:
    assert one({"seen_after_h": 20})["age_h"] == 20.0


def test_one_sold_later_was_still_there() -> None:
    found = one({"left_after_h": 200, "left_reason": "sold"})
    assert pd.isna(found["left_at"])
    assert found["age_h"] == 89.0


def test_feeds_samples_and_weather_of_later_days_are_not_seen() -> None:
    cut = known(
        [{"born_at": "2026-03-06 09:00"}, {"born_at": "2026-03-02 06:00", "fed_after_min": 30.0}],
        feeds=[
            {"newborn_id": "2", "fed_after_h": 2, "volume_ml": 100},
            {"newborn_id": "2", "fed_after_h": 200},
        ],
        samples=[
            {"newborn_id": "2", "sampled_after_h": 48, "brix_pct": 9},
            {"newborn_id": "2", "sampled_after_h": 99},
        ],
        weather=[
            {"at": "2026-03-05 12:00", "temperature_c": 3},
            {"at": "2026-03-06 12:00", "temperature_c": 4},
        ],
    )
    assert (cut.feeds["newborn"].tolist(), cut.feeds["age_h"].tolist()) == ([0], [2.0])
    assert cut.samples["age_h"].tolist() == [48.0]
    assert cut.weather["temperature_c"].tolist() == [3.0]


def test_hours_to_standing_that_lie_after_the_evening_are_not_seen() -> None:
    births = known([{"born_at": "2026-03-05 23:30", "stood_after_min": 60.0, "fed_after_min": 20.0}]).births
    assert births["stood_after_h"].isna().all()
    assert births["fed_after_h"].tolist() == pytest.approx([1 / 3])


def test_births_known_to_the_day_only() -> None:
    rows = [{"born_at": None, "born_on": "2026-03-02"}, {"born_at": None, "born_on": "2026-03-06"}]
    births = known(rows).births
    assert births["age_h"].tolist() == [72.0]


def test_a_season_without_what_was_recorded_says_so() -> None:
    with pytest.raises(WrongSetting, match="known_by: this season does not hold what was recorded"):
        replace(season([{"dam_id": "A"}]), recorded=None).known_by(DAY)


def written_up(days: int, tail: int, **more: object) -> list[str]:
    """What is said of lambs born day by day, none of which died, one of them ``tail`` days after the others."""
    born = [f"2026-03-{1 + place % days:02}" for place in range(60)] + [f"2026-03-{days + tail:02}"] * bool(
        tail
    )
    frame = pd.DataFrame(
        {"dam_id": range(len(born)), "species": "sheep", "born_on": born, "died": "no", **more}
    )
    return [str(one) for one in read_season(frame).problems["problem"] if "births go on" in str(one)]


def test_a_season_written_up_while_births_go_on_is_not_taken_for_a_finished_one() -> None:
    (said,) = written_up(20, 0)
    assert (
        "the last day that is written down, 2026-03-20: 21 of 60 newborns were then under 7 days old" in said
    )
    assert written_up(18, 9) == []
    assert written_up(20, 0, last_seen_at="2026-05-10 12:00") == []


def test_births_without_a_season_hide_no_season_that_goes_on() -> None:
    born = [f"2026-03-{1 + place % 20:02}" for place in range(60)] + [None] * 30
    frame = pd.DataFrame({"dam_id": range(90), "species": "sheep", "born_on": born, "died": "no"})
    assert any("births go on" in str(one) for one in read_season(frame).problems["problem"])
