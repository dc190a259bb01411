"""How times reach the shed book: rounded to handy minutes, deaths between two rounds, "not by HH:MM"."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan

LATER_ROUND = (8,)
CLOCK_TIME_SHARE = 0.2
LONGEST_CLOCK_TIME_H = 23.0


def at_age(born: pd.Series, age_h: pd.Series) -> pd.Series:
    """The moment of an age; missing where the age is not finite."""
    return pd.Series(born + whole_minutes(age_h * 60))


def whole_minutes(minutes: pd.Series) -> pd.Series:
    """Lengths of time, rounded to the minute; missing where they are not finite.

    Made from whole numbers: pandas leaves chance values in memory where a fraction is missing, and numpy warns of them.
    """
    known = np.isfinite(minutes)
    lengths = minutes.where(known, 0.0).round().astype("int64").to_numpy().astype("timedelta64[m]")
    return pd.Series(lengths.astype("timedelta64[ns]"), index=minutes.index).where(known)


def heaped_moment(moment: pd.Series, draws: Draws) -> pd.Series:
    """Moments as people write them: mostly to 5 minutes, often to the quarter hour, sometimes to the hour."""
    minutes = draws.pick([1, 5, 15, 30, 60], [0.1, 0.4, 0.25, 0.15, 0.1], len(moment)).astype(int)
    return heaped(moment, minutes)


def heaped(moment: pd.Series, minutes: np.ndarray) -> pd.Series:
    """Moments cut down to whole multiples of the given minutes."""
    day = moment.dt.normalize()
    since = (moment - day).dt.total_seconds() // 60
    return pd.Series(day + whole_minutes((since // minutes) * minutes))


def death_as_seen(births: pd.DataFrame, born_at: pd.Series, plan: Plan, draws: Draws) -> pd.DataFrame:
    """Columns died_at, last_alive_at, found_dead_at, and age_h when known or found (inf for survivors).

    Deaths after the first week are found at the day's one round.
    """
    truly = at_age(births["born"], births["death_h"])
    n = len(births)
    share = np.where(births["death_h"] < 24, plan["died_seen_share"], 0.1)
    live_born_death = ~births["stillborn"] & truly.notna()
    seen = live_born_death & draws.yes(share, n)
    found = live_born_death & ~seen
    died_at = heaped_moment(truly.fillna(born_at), draws)
    before, after = _round_before(truly, plan["rounds"]), _round_after(truly, plan["rounds"])
    late = births["death_h"] > 168
    before = before.mask(late, _round_before(truly, LATER_ROUND))
    after = after.mask(late, _round_after(truly, LATER_ROUND))
    frame = pd.DataFrame(
        {
            "died_at": died_at.where(died_at > born_at, born_at).where(seen),
            "last_alive_at": before.where(before > born_at, born_at).where(found),
            "found_dead_at": after.where(found),
        }
    )
    known = frame["died_at"].fillna(frame["found_dead_at"])
    age = (known - born_at).dt.total_seconds() / 3600
    return frame.assign(age_h=age.where(live_born_death, births["death_h"]))


def _round_before(moment: pd.Series, hours: Sequence[int]) -> pd.Series:
    rounds = _rounds_near(moment, hours)
    return rounds.where(rounds.le(moment, axis=0)).max(axis=1)


def _round_after(moment: pd.Series, hours: Sequence[int]) -> pd.Series:
    rounds = _rounds_near(moment, hours)
    return rounds.where(rounds.gt(moment, axis=0)).min(axis=1)


def _rounds_near(moment: pd.Series, hours: Sequence[int]) -> pd.DataFrame:
    """The rounds of the day before, the day itself and the day after, one column each."""
    day = moment.dt.normalize()
    rounds = [day + pd.Timedelta(days=shift, hours=hour) for shift in (-1, 0, 1) for hour in hours]
    return pd.DataFrame(dict(enumerate(rounds)))


def elapsed_as_written(
    hours: pd.Series, page: pd.DataFrame, births: pd.DataFrame, draws: Draws
) -> tuple[pd.Series, pd.Series]:
    """Age in hours as rounded (NaN where death came first), and the text: minutes, a time, "not by"."""
    alive = ~births["stillborn"]
    minutes = _rounded_minutes(hours, page["_death_h"].clip(upper=births["death_h"]), draws)
    happened = alive & (hours < births["death_h"]) & (minutes > 0)
    minutes = minutes.where(happened)
    text = minutes.map("{:.0f}".format, na_action="ignore").astype(object)
    as_clock = draws.yes(CLOCK_TIME_SHARE, len(hours)) & (minutes / 60 < LONGEST_CLOCK_TIME_H)
    text = text.mask(as_clock, at_age(page["born_at"], minutes / 60).dt.strftime("%H:%M"))
    watched_h = page["_death_h"].clip(upper=LONGEST_CLOCK_TIME_H)
    never = alive & ~happened & (watched_h * 60 >= 1)
    not_by = "not by " + at_age(page["born_at"], watched_h).dt.strftime("%H:%M")
    return minutes / 60, text.mask(never, not_by)


def _rounded_minutes(hours: pd.Series, latest_h: pd.Series, draws: Draws) -> pd.Series:
    minutes = hours * 60
    step = pd.Series(np.select([minutes < 60, minutes < 240], [5, 15], 30), index=hours.index)
    step = step.mask(draws.yes(0.3, len(hours)), 1)
    rounded = ((minutes / step).round() * step).clip(lower=step)
    return pd.Series(np.minimum(rounded, np.floor(latest_h * 60)))
