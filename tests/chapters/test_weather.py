"""Weather: the chill met by hand, who is counted, records that cannot answer."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from neonatal_stats.chapters import weather
from neonatal_stats.chapters.counted.weather import chill_class, hourly_chill, lived
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.chapters.flocks import flock

pytestmark = pytest.mark.quickly(3)

MILD = {"temperature_c": 10.0, "wind_m_per_s": 4.0, "rain_mm": 0.0}  # (11.7 + 6.2) x 30 + 481 = 1018
COLD = {"temperature_c": 0.0, "wind_m_per_s": 4.0, "rain_mm": 0.0}  # (11.7 + 6.2) x 40 + 481 = 1197


def hours(first: str, n: int, **what: float) -> list[dict[str, Any]]:
    return [{"farm": "home", "at": str(at), **what} for at in pd.date_range(first, periods=n, freq="h")]


def days(first: str, n: int, **what: float) -> list[dict[str, Any]]:
    return [{"farm": "home", "at": str(at), **what} for at in pd.date_range(first, periods=n, freq="D")]


def test_the_index_of_an_hour_and_of_a_day() -> None:
    records = season([{"dam_id": "A"}], weather=hours("2026-03-02", 30, **MILD))
    table = hourly_chill(records.weather)
    assert len(table) == 30
    assert table["chill"].tolist() == pytest.approx([1018.0] * 30)
    daily = hourly_chill(season([{"dam_id": "A"}], weather=days("2026-03-02", 2, **COLD)).weather)
    assert len(daily) == 48
    assert daily["chill"].tolist() == pytest.approx([1197.0] * 48)


def test_rain_is_the_total_of_its_day() -> None:
    # worked by hand: 24 hours of 0.5 mm are 12 mm: 418 x (1 - exp(-0.48)) = 159.35 more
    rainy = MILD | {"rain_mm": 0.5}
    table = hourly_chill(season([{"dam_id": "A"}], weather=hours("2026-03-02", 24, **rainy)).weather)
    assert table["chill"].iloc[0] == pytest.approx(1018 + 159.35, abs=0.01)


def test_the_chill_of_the_hours_before() -> None:
    # worked by hand: born at 06:00; mild to 08:59, cold from 09:00. The sixth hour of life (11:00) ends 3 mild and 3
    # cold ones, the 24th 3 mild and 21 cold ones; by the last 6 hours that one is cold
    records = season(
        [{"dam_id": "A", "died": "no", "seen_after_h": 40}],
        weather=hours("2026-03-02 00:00", 9, **MILD) + hours("2026-03-02 09:00", 120, **COLD),
    )
    met = lived(records.births, records.weather).set_index("age_h")
    assert met.loc[2, "chill_24_h"] == pytest.approx(1018)
    assert met.loc[5, "chill_24_h"] == pytest.approx(1107.5)
    assert met.loc[23, "chill_24_h"] == pytest.approx((3 * 1018 + 21 * 1197) / 24)
    assert met.loc[23, "chill_6_h"] == pytest.approx(1197)
    assert len(met) == 40  # as long as it was watched
    assert chill_class(pd.Series([999.0, 1000.0, 1250.0])).astype(str).tolist() == [
        "under 1000",
        "1000 to 1100",
        "1200 and over",
    ]


def test_weather_after_a_death_is_not_met() -> None:
    # two lambs born in a mild hour, one dies at 5 h; from 12 h on it is cold: the dead one met none of that
    records = season(
        [
            {"dam_id": "A", "died": "yes", "died_after_h": 5},
            {"dam_id": "B", "died": "no", "seen_after_h": 100},
        ],
        weather=hours("2026-03-02 06:00", 12, **MILD) + hours("2026-03-02 18:00", 120, **COLD),
    )
    met = lived(records.births, records.weather)
    (dead,) = met.loc[met["died"], "alike"]
    assert met.loc[met["alike"] == dead, "age_h"].max() == 5
    assert met.loc[met["alike"] == dead, "chill_72_h"].max() == pytest.approx(1018)


def test_too_few_hours_recorded_is_not_known() -> None:
    # 40 hours of weather: the mean of the last 24 is known to the hour that starts at 47 h (16 of 24 recorded)
    births = [{"dam_id": "A", "died": "no", "seen_after_h": 100}]
    records = season(births, weather=hours("2026-03-02 06:00", 40, **MILD))
    met = lived(records.births, records.weather)
    assert met["age_h"].max() == 47


def cold_and_mild() -> weather.Weather:
    """Twenty days, cold on every fourth: 4 of 10 lost on cold days, 1 of 10 on the others; two stillborn."""
    rows, sky = [], []
    for day in range(20):
        date = pd.Timestamp("2026-03-02") + pd.Timedelta(days=4 * day)
        cold = day % 4 == 0
        rows += flock(
            [({}, 4 if cold else 1, 10)],
            season="2026",
            born_at=f"{date.date()} 06:00",
            birth_place="outdoors",
        )
        for row in rows[-10:]:
            row["dam_id"] = f"{day} {row['dam_id']}"
        sky += days(str(date.date()), 4, **(COLD if cold else MILD))
    rows += flock([({"born_alive": "no"}, 2, 2)], born_at="2026-03-02 06:00", birth_place="outdoors")
    rows += flock([({"birth_place": "indoors"}, 2, 2)], born_at="2026-03-02 06:00")
    return weather.answer(season(rows, weather=sky))


def test_deaths_by_the_chill_of_the_hours_before() -> None:
    # worked by hand: five cold days on which 4 of 10 die in the 31st hour, fifteen mild ones on which 1 of 10 does; no
    # other hour matters, since nobody dies in it. 20 of 50 against 15 of 150: odds 20 / 30 over 15 / 135 = 6
    result = cold_and_mild()
    row = result.against.set_index(["seasons", "hours"]).loc[("this", 24)]
    assert row[["events", "events_versus"]].tolist() == [20, 15]
    assert result.counted.n == 200
    assert dict(result.counted.left_out)["stillborn"] == 2
    assert dict(result.counted.left_out)["not born outdoors, or place not known"] == 2
    sentence, counted, caution = weather.sentences(result)
    assert caution.role == "caution"
    assert (sentence.verdict, sentence.claim) == (Verdict.CLEAR, "weather/this/24")
    assert "2026: lambs died faster in the coldest fifth of the hours that they lived" in sentence.text
    assert "20 deaths in" in sentence.text
    assert "200 lambs born alive outdoors had weather recorded over their first week" in counted.text
    assert all(figure.png() for figure in weather.figures(result))
    assert len(weather.tables(result)) >= 2
    assert any("not seen" in source for source in weather.method(result).sources)


def two_seasons() -> list[dict[str, Any]]:
    """Ten days a season. 2025 is colder and deadlier on all its days alike; 2026 mild with few deaths."""
    rows = []
    for year, lost in (("2025", 4), ("2026", 1)):
        for day in range(10):
            born = pd.Timestamp(f"{year}-03-02") + pd.Timedelta(days=8 * day)
            some = flock([({}, lost, 10)], season=year, born_at=f"{born.date()} 06:00")
            rows += [row | {"dam_id": f"{year} {day} {row['dam_id']}"} for row in some]
    return rows


def test_a_cold_season_with_many_deaths_says_nothing_of_the_cold_within_it() -> None:
    # every cold day of 2025 and of 2026 has as many deaths as the mild days of its season: within them the ratio is 1,
    # all lumped together it is far over 1, because 8 of 10 days of 2025 are cold and 2 of 10 of 2026
    sky = []
    for year, cold in (("2025", 8), ("2026", 2)):
        for day in range(10):
            first = pd.Timestamp(f"{year}-03-02") + pd.Timedelta(days=8 * day)
            sky += days(str(first.date()), 8, **(COLD if day < cold else MILD))
    result = weather.answer(season(two_seasons(), weather=sky))
    row = result.against.set_index(["seasons", "hours"]).loc[("all", 24)]
    lumped = (row["events"] / row["lived_h"]) / (row["events_versus"] / row["lived_versus_h"])
    assert lumped > 1.8
    assert row["estimate"] == pytest.approx(1.0, abs=0.01)
    assert [(one.key, one.period) for one in weather.claims(result)] == [
        ("weather/this/24", ("2026",)),
        ("weather/all/24", ("2025", "2026")),
    ]
    assert all(one.verdict is not Verdict.CLEAR for one in weather.sentences(result))


def test_closed_without_weather_or_without_sheep() -> None:
    rows = flock([({}, 1, 10)])
    assert "no weather was recorded" in weather.missing(season(rows))[0]
    with pytest.raises(NotRecorded, match="no weather was recorded"):
        weather.answer(season(rows))
    goats = season([row | {"species": "goat"} for row in rows], weather=days("2026-03-01", 6, **MILD))
    assert weather.missing(goats) == (
        "Not answered: the chill index was made for sheep, and these records name none.",
    )
    other_days = season(rows, weather=days("2025-01-01", 6, **MILD))
    assert "within the days for which weather was recorded" in weather.missing(other_days)[0]


@pytest.mark.parametrize("lost", [0, 12, 1])
def test_edges_are_answered_without_a_hitch(lost: int) -> None:
    records = season(flock([({}, lost, 12)]), weather=days("2026-03-01", 8, **MILD))
    assert weather.missing(records) == ()
    result = weather.answer(records)
    said = " ".join(sentence.text for sentence in weather.sentences(result))
    said += " ".join(str(printed(table).to_numpy().tolist()) for table in weather.tables(result))
    assert not {"nan", "inf", "NaN"} & set(said.replace("(", " ").replace("'", " ").split())
    assert all(figure.png() for figure in weather.figures(result))
