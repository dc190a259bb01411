"""Chill classes: every class under its own name, with the newborns that met that chill."""

from __future__ import annotations

from typing import Any

import pandas as pd

from neonatal_stats.chapters import weather
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.chapters.flocks import flock

# worked by hand for dry weather with wind at 4 m/s: (11.7 + 3.1 x 4 ** 0.5) x (40 - temperature) + 481
CHILL = {15.0: 928.5, 10.0: 1018.0, 0.0: 1197.0, -5.0: 1286.5}
LOST = {15.0: 1, 10.0: 2, 0.0: 3, -5.0: 4}


def test_each_class_has_its_own_name_and_its_own_newborns() -> None:
    rows: list[dict[str, Any]] = []
    sky: list[dict[str, Any]] = []
    for number, temperature in enumerate(CHILL):
        first = pd.Timestamp("2026-03-02") + pd.Timedelta(days=5 * number)
        seen = {"birth_place": "outdoors", "seen_after_h": 48}
        born = flock([(seen, LOST[temperature], 10)], born_at=f"{first.date()} 06:00")
        rows += [row | {"dam_id": f"{number} {row['dam_id']}"} for row in born]
        for day in pd.date_range(first, periods=4):
            one = {"temperature_c": temperature, "wind_m_per_s": 4.0, "rain_mm": 0.0}
            sky.append({"farm": "home", "at": str(day), **one})
    result = weather.answer(season(rows, weather=sky))
    table = printed(weather.tables(result)[0])
    # worked by hand: the lost died in their 31st hour, the others were watched for 48: (31 + 9 x 48) / 24 days
    assert table.iloc[:, :3].to_numpy().tolist() == [
        ["under 1\u202f000", "1", "19"],
        ["1\u202f000 to 1\u202f100", "2", "19"],
        ["1\u202f100 to 1\u202f200", "3", "18"],
        ["1\u202f200 and over", "4", "17"],
    ]
