"""How times reach the shed book: rounded to handy minutes, deaths between two rounds, "not by" where it never was."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan

LATER_ROUND = (8,)
CLOCK_TIME_SHARE = 0.2
LONGEST_CLOCK_TIME_H = 23.0


def at_age(born: pd.Series, age_h: pd.Series) -> pd.Series:
    """The moment of an age; missing where the age is not finite."""
    known = age_h.where(np.isfinite(age_h))
    return born + pd.to_timedelta((known * 60).round(), unit="min")


def heaped_moment(moment: pd.Series, draws: Draws) -> pd.Series:
    """Moments as people write them: mostly to 5 minutes, often to the quarter hour, sometimes to the hour."""
    minutes = draws.pick([1, 5, 15, 30, 60], [0.1, 0.4, 0.25, 0.15, 0.1], len(moment)).astype(int)
    return heaped(moment, minutes)


def heaped(moment: pd.Series, minutes: np.ndarray) -> pd.Series:
    """Moments cut down to whole multiples of the given minutes."""
    day = moment.dt.normalize()
    since = (moment - day) / pd.Timedelta(minutes=1)
    return day + pd.to_timedelta((since // minutes) * minutes, unit="min")


def death_as_seen(births: pd.DataFrame, born_at: pd.Series, plan: Plan, draws: Draws) -> pd.DataFrame:
    """Columns died_at, last_alive_at, found_dead_at, and age_h by the time known or found (inf for survivors)."""
    truly = at_age(births["born"], births["death_h"])
    n = len(births)
    share = np.where(births["death_h"] < 24, plan["died_seen_share"], 0.1)
    live_born_death = ~births["stillborn"] & truly.notna()
    seen = live_born_death & draws.yes(share, n)
    found = live_born_death & ~seen
    late = births["death_h"] > 168
    died_at = heaped_moment(truly.fillna(born_at), draws)
    before = _round_near(truly, plan["rounds"], "before").mask(
        late, _round_near(truly, LATER_ROUND, "before")
    )
    after = _round_near(truly, plan["rounds"], "after").mask(late, _round_near(truly, LATER_ROUND, "after"))
    frame = pd.DataFrame(
        {
            "died_at": died_at.where(died_at > born_at, born_at).where(seen),
            "last_alive_at": before.where(before > born_at, born_at).where(found),
            "found_dead_at": after.where(found),
        }
    )
    known = frame["died_at"].fillna(frame["found_dead_at"])
    age = (known - born_at) / pd.Timedelta(hours=1)
    return frame.assign(age_h=age.where(live_born_death, births["death_h"]))


def _round_near(moment: pd.Series, hours: tuple[int, ...] | list[int], side: str) -> pd.Series:
    """The last round at or before each moment, or the first one after it."""
    day = moment.dt.normalize()
    rounds = [day + pd.Timedelta(days=shift, hours=hour) for shift in (-1, 0, 1) for hour in hours]
    table = pd.concat(rounds, axis=1)
    early = table.le(moment, axis=0)
    return table.where(early).max(axis=1) if side == "before" else table.where(~early).min(axis=1)


def elapsed_as_written(
    hours: pd.Series, page: pd.DataFrame, births: pd.DataFrame, draws: Draws
) -> tuple[pd.Series, pd.Series]:
    """Age in hours as rounded (NaN where death came first), and what is written: minutes, a clock time, "not by"."""
    minutes = hours * 60
    steps = np.select([minutes < 60, minutes < 240], [5, 15], 30)
    finer = draws.yes(0.3, len(hours))
    rounded = np.maximum((minutes / steps).round() * steps, 5).where(~finer, np.maximum(minutes.round(), 1))
    seen_h = page["_death_h"]
    rounded = np.minimum(rounded, np.floor(seen_h * 60))
    happened = (hours < births["death_h"]) & (rounded > 0)
    clock = (page["born_at"] + pd.to_timedelta(rounded.where(happened), unit="min")).dt.strftime("%H:%M")
    as_clock = draws.yes(CLOCK_TIME_SHARE, len(hours)) & (rounded / 60 < LONGEST_CLOCK_TIME_H)
    plain = rounded.where(happened).map("{:.0f}".format, na_action="ignore")
    text = plain.astype(object).mask(as_clock & happened, clock)
    watched = np.minimum(seen_h, LONGEST_CLOCK_TIME_H).where(~happened & ~births["stillborn"])
    not_by = "not by " + at_age(page["born_at"], watched).dt.strftime("%H:%M")
    never = ~happened & ~births["stillborn"] & (watched * 60 >= 1)
    return (rounded / 60).where(happened), text.mask(never, not_by).where(~births["stillborn"])
