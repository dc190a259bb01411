"""Weather: the chill met by hand, who is counted, records that cannot answer."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from neonatal_stats.chapters import weather
from neonatal_stats.chapters.counted.weather import chill_class, chill_met, hourly_chill
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.chapters.flocks import flock

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


def test_mean_over_the_first_hours() -> None:
    # worked by hand: born at 06:00; mild to 08:59, cold from 09:00: 6 hours hold 3 of each, (1018 + 1197) / 2
    records = season(
        [{"dam_id": "A"}],
        weather=hours("2026-03-02 00:00", 9, **MILD) + hours("2026-03-02 09:00", 120, **COLD),
    )
    met = {n: float(chill_met(records.births, records.weather, n).iloc[0]) for n in (3.0, 6.0, 24.0)}
    assert met[3.0] == pytest.approx(1018)
    assert met[6.0] == pytest.approx(1107.5)
    assert met[24.0] == pytest.approx((3 * 1018 + 21 * 1197) / 24)
    assert chill_class(pd.Series([999.0, 1000.0, 1250.0])).astype(str).tolist() == [
        "under 1000",
        "1000 to 1100",
        "1200 and over",
    ]


def test_too_few_hours_recorded_is_not_known() -> None:
    records = season([{"dam_id": "A"}], weather=hours("2026-03-02 06:00", 40, **MILD))
    assert chill_met(records.births, records.weather, 24.0).notna().all()
    assert chill_met(records.births, records.weather, 72.0).isna().all()  # 40 of 72 hours


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


def test_loss_by_chill_class() -> None:
    # worked by hand: five cold days of 4 in 10, fifteen mild of 1 in 10; indoors and stillborn left out
    result = cold_and_mild()
    assert result.classes[["events", "n"]].to_numpy().tolist() == [[15, 150], [20, 50]]
    assert result.counted.n == 200
    assert dict(result.counted.left_out)["stillborn"] == 2
    assert dict(result.counted.left_out)["not born outdoors, or place not known"] == 2
    said = " ".join(sentence.text for sentence in weather.sentences(result))
    assert (
        "200 lambs born alive outdoors had weather recorded over their first 72 hours; 35 of them were lost"
        in said
    )
    assert (
        "Losses were higher among lambs in the coldest fifth (a mean chill of 1\u202f190 kJ/m2/h and over"
        in said
    )
    assert all(figure.png() for figure in weather.figures(result))
    assert len(weather.tables(result)) >= 2
    assert any("not seen" in source for source in weather.method(result).sources)


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
