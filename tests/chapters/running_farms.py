"""Two invented farms of which it is known, by hand, that 11 of every 100 newborns are lost by seven days of age.

On each farm all births of one day fare exactly as those of any other day, so that the share is the same of whatever
births are known, and a share that is not 11 % comes from counting and not from chance.

Meadow: lambs, 100 a day, in twins; 3 are born dead, 4 die at 10 h, 2 at 30 h, 1 at 80 h and 1 at 150 h: 11 by 7 d. One
more dies at 20 d. Nobody wrote down when the living were last seen.

Ridge: kids, 400 every third day, singles. 40 are born dead or die by 60 h, and 90 of the others are sold at 96 h; of
the 270 that are left 3 die at 120 h: (360/400) (267/270) = 89/100 live to 7 d. Of those whose fate is known 43 of 310
were lost, and 43 of the 400 born: neither is 11 %.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

import pandas as pd

from neonatal_stats.season.model import Season
from tests.chapters.build import season

FIRST = pd.Timestamp("2026-03-02")
Row = dict[str, Any]


def meadow_day(day: int) -> Iterator[Row]:
    """The lambs of one day, the first first."""
    deaths: list[float | None] = [0, 0, 0, *[10.0] * 4, *[30.0] * 2, 80.0, 150.0, 480.0]
    for place in range(100):
        age = deaths[place] if place < len(deaths) else None
        row: Row = {
            "dam_id": f"{day}-{place % 50}",
            "litter_size": 2,
            "born_at": FIRST + pd.Timedelta(days=day, hours=6),
        }
        if age == 0:
            yield row | {"born_alive": "no", "died": "yes"}
        elif age is None:
            yield row | {"born_alive": "yes", "died": "no"}
        else:
            yield row | {"born_alive": "yes", "died": "yes", "died_after_h": age}


def ridge_day(day: int) -> Iterator[Row]:
    """The kids of one day."""
    for place in range(400):
        row: Row = {
            "dam_id": f"{day}-{place}",
            "species": "goat",
            "born_at": FIRST + pd.Timedelta(days=day, hours=7),
        }
        row["born_alive"] = "no" if place < 16 else "yes"
        if place < 16:
            yield row | {"died": "yes"}
        elif place < 40:
            yield row | {"died": "yes", "died_after_h": (5.0, 20.0, 60.0)[place % 3]}
        elif place < 130:
            yield row | {"died": "no", "left_after_h": 96.0}
        elif place < 133:
            yield row | {"died": "yes", "died_after_h": 120.0}
        else:
            yield row | {"died": "no", "seen_after_h": 42 * 24.0}


def rows(farm: str) -> list[Row]:
    """All births of a farm: of 30 days, and of 10."""
    if farm == "meadow":
        return [row for day in range(30) for row in meadow_day(day)]
    return [row for day in range(0, 30, 3) for row in ridge_day(day)]


@cache
def finished(farm: str, **settings: Any) -> Season:
    """The whole season of a farm."""
    return season(rows(farm), **settings)


def as_kept_by(day: pd.Timestamp, farm: str) -> list[Row]:
    """What the keeper's book holds in the evening of a day: made by hand from the rows, without the code under test.

    The living are written as last seen at midnight.
    """
    end, kept = day + pd.Timedelta(days=1), []
    for row in rows(farm):
        born = row["born_at"]
        ended = next((row[name] for name in ("died_after_h", "left_after_h") if name in row), None)
        if born >= end:
            continue
        dead_now = row["born_alive"] == "no" or (
            "died_after_h" in row and born + pd.Timedelta(hours=row["died_after_h"]) < end
        )
        sold_now = "left_after_h" in row and born + pd.Timedelta(hours=row["left_after_h"]) < end
        plain = {name: cell for name, cell in row.items() if not name.endswith("_after_h")} | {"died": "no"}
        if dead_now:
            kept.append(plain | {"died": "yes"} | ({} if ended is None else {"died_after_h": ended}))
        elif sold_now:
            kept.append(plain | {"left_after_h": ended})
        else:
            kept.append(plain | {"seen_after_h": (end - born).total_seconds() / 3600 - 1 / 60})
    return kept
