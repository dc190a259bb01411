"""The records looked at: read and set aside, whole or not, rounded or not, and who stands in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.contrast import compare
from neonatal_stats.estimates.counts import count_events
from neonatal_stats.estimates.proportion import wilson
from neonatal_stats.estimates.survival import product_limit
from neonatal_stats.measures.contrasts import counts_of
from neonatal_stats.measures.milestones import not_asked
from neonatal_stats.measures.rates import Counted
from neonatal_stats.season.ledger import Balance, Source
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

AT_BIRTH = (
    "dam_id",
    "born_at",
    "litter_size",
    "sex",
    "birth_weight_kg",
    "delivery",
    "dam_parity",
    "dam_condition",
    "sire_id",
    "breed",
    "birth_place",
    "group",
    "born_alive",
)

AFTER_BIRTH = (
    "breathing_after_s",
    "suck_reflex",
    "stood_after_min",
    "fed_after_min",
    "meconium_after_min",
    "mothered_up",
    "rectal_temperature_c",
)


@dataclass(frozen=True, eq=False)
class Records(Shown):
    """What the records are worth.

    ``balances`` rows read, used and set aside by table; ``sources`` the lines of each file;
    ``problems`` how often each problem occurred;
    ``missing`` newborns without a value by column and season (columns filled after birth: of those born
    alive); ``by_outcome`` how often each column known at birth was filled for those lost against the others;
    ``heaped`` round numbers; ``ages`` how exactly age at death is known; ``described`` dams and newborns;
    ``watched`` follow-up by season; ``not_asked`` columns that are not asked of every newborn of these.
    """

    balances: tuple[Balance, ...]
    sources: tuple[Source, ...]
    problems: pd.DataFrame
    missing: pd.DataFrame
    by_outcome: pd.DataFrame
    heaped: pd.DataFrame
    ages: dict[str, int]
    described: pd.DataFrame
    watched: dict[str, FollowUp]
    counted_litters: int
    unknown_dams: int
    not_asked: frozenset[str]
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Records:
    """Look at all seasons read."""
    births, settings = season.births, season.settings
    alive = births[~births["stillborn"]]
    known_at_birth = [name for name in AT_BIRTH if season.has(name)]
    seen_after = [name for name in AFTER_BIRTH if season.has(name)]
    missing = missing_by_season(births, known_at_birth)
    after = missing_by_season(alive, seen_after)
    return Records(
        balances=season.balances,
        sources=season.sources,
        problems=_problems(season.problems),
        missing=pd.concat([missing, after], ignore_index=True) if len(missing) and len(after) else missing,
        by_outcome=recorded_by_outcome(births, known_at_birth, settings),
        heaped=heaping(births, level=settings.level),
        ages=_ages(alive[alive["died"]]),
        described=described(births),
        watched={str(name): follow_up(mine) for name, mine in births.groupby("season", observed=True)},
        counted_litters=int(births["litter_size_counted"].sum()),
        unknown_dams=_unknown_dams(births),
        not_asked=not_asked(births, settings),
        counted=Counted(len(births)),
        settings=settings,
        species=season.species,
    )


def _problems(problems: pd.DataFrame) -> pd.DataFrame:
    """One row a problem and what was done: table, problem, ended, events; the commonest first."""
    if problems.empty:
        return pd.DataFrame(columns=["table", "ended", "problem", "events"])
    counted = problems.groupby(["table", "ended", "problem"], as_index=False).size()
    said = {str(problem): problem for problem in problems["problem"]}
    as_said = pd.Series([said[problem] for problem in counted["problem"]], dtype=object)
    counted = counted.rename(columns={"size": "events"}).assign(problem=as_said)
    return counted.sort_values(
        ["ended", "events", "table", "problem"], ascending=[False, False, True, True], ignore_index=True
    )


NEWBORN_TERMS = ("species", "birth_type", "sex", "delivery", "birth_place")
DAM_TERMS = ("breed", "parity_class")
MEASURED = ("birth_weight_kg",)
MOST_TERMS = 12


def described(births: pd.DataFrame) -> pd.DataFrame:
    """Dams and newborns by what was recorded of them, in each season.

    Returns
    -------
    One row a season, level ("newborns", "dams", "litters"), about (a column) and term: events, n (with a
    value), missing; for a measured column term is "" and median, low, high (middle half) are given instead of
    events.

    Counted
    -------
    Newborns once each; of dams the first row of each litter. Columns nobody filled (a species of "" is
    one not known) are left out, and terms beyond the twelve commonest of a column are one row "other".
    """
    litters = births.drop_duplicates("litter")
    parts = [_counts(births, name, "newborns") for name in NEWBORN_TERMS]
    parts += [_measured(births, name) for name in MEASURED]
    parts += [_counts(litters, name, "dams") for name in DAM_TERMS]
    kept = [part for part in parts if len(part)]
    return pd.concat(kept, ignore_index=True) if kept else pd.DataFrame(columns=["season", "level", "about"])


def _counts(rows: pd.DataFrame, name: str, level: str) -> pd.DataFrame:
    values = rows[name].mask(rows[name].astype(object) == "") if name in rows else pd.Series(dtype=object)
    if not values.notna().any():
        return pd.DataFrame()
    order = _order(values)
    text = values.astype(object).where(values.isna() | values.astype(str).isin(order), "other")
    out = []
    for season, mine in text.groupby(rows["season"], observed=True):
        n = int(mine.notna().sum())
        counted = mine.dropna().astype(str).value_counts()
        for term in order:
            out.append((season, level, name, term, int(counted.get(term, 0)), n, len(mine) - n))
    return pd.DataFrame(out, columns=["season", "level", "about", "term", "events", "n", "missing"])


def _order(values: pd.Series) -> list[str]:
    """Printed order: a categorical's own, with the terms that occur; else the commonest first."""
    present = values.dropna().astype(str)
    if isinstance(values.dtype, pd.CategoricalDtype):
        return [str(term) for term in values.cat.categories if (present == str(term)).any()]
    common = list(present.value_counts().sort_index().sort_values(ascending=False, kind="stable").index)
    return common if len(common) <= MOST_TERMS else [*common[: MOST_TERMS - 1], "other"]


def _measured(births: pd.DataFrame, name: str) -> pd.DataFrame:
    if name not in births or not births[name].notna().any():
        return pd.DataFrame()
    out = []
    for season, mine in births[name].groupby(births["season"], observed=True):
        known = mine.dropna().to_numpy(float)
        low, median, high = np.quantile(known, [0.25, 0.5, 0.75]) if len(known) else (np.nan,) * 3
        out.append((season, "newborns", name, "", len(known), len(mine) - len(known), median, low, high))
    columns = ["season", "level", "about", "term", "n", "missing", "median", "low", "high"]
    return pd.DataFrame(out, columns=columns)


def missing_by_season(births: pd.DataFrame, columns: Sequence[str]) -> pd.DataFrame:
    """Newborns without a value in each column, by season.

    Returns
    -------
    One row a column and season: column, season, events (without a value), n, share.

    Counted: every newborn given; whoever asks leaves out the stillborn for what is seen after birth.
    """
    if not len(columns) or births.empty:
        return pd.DataFrame(columns=["column", "season", "events", "n", "share"])
    season = births["season"]
    n = season.groupby(season, observed=True).size()
    empty = pd.DataFrame({column: births[column].isna() for column in columns})
    empty = empty.groupby(season, observed=True).sum()
    long = empty.rename_axis("season").reset_index().melt("season", var_name="column", value_name="events")
    sizes = long["season"].map(n).astype(int)
    place = long["column"].map({column: place for place, column in enumerate(columns)})
    frame = long.assign(n=sizes, share=long["events"] / sizes, place=place)
    frame = frame.sort_values(["place", "season"], ignore_index=True).drop(columns="place")
    return frame.astype({"season": str})


LESS = 0.10
"""A column is pointed at where those lost have a value less often than the others by this much."""


def recorded_by_outcome(births: pd.DataFrame, columns: Sequence[str], settings: Settings) -> pd.DataFrame:
    """Share of newborns with a value in each column, of those lost against those not lost.

    Returns
    -------
    One row a column: column, events of n lost, events_versus of n_versus others, estimate (the difference of the two
    shares) with low and high, less (by `LESS` or more, where both groups hold the setting minimum_group). It is
    description: no row has a verdict. None where all or none of the newborns were lost.

    Counted: every newborn born, the stillborn among those lost; intervals allow for litters.
    """
    lost, litters = births["died"].to_numpy(bool), births["cluster"].to_numpy()
    rows = []
    for name in columns if 0 < lost.sum() < len(lost) else ():
        filled = births[name].notna().to_numpy()
        found = compare(filled, lost, cluster=litters, measure="risk_difference", level=settings.level)
        counts = counts_of(filled, lost)
        enough = min(counts["n"], counts["n_versus"]) >= settings.minimum_group
        less = enough and found.estimate <= 1e-9 - LESS
        rows.append((name, *counts.values(), found.estimate, found.low, found.high, less, enough))
    names = ("events", "n", "events_versus", "n_versus", "estimate", "low", "high", "less", "enough")
    return pd.DataFrame(rows, columns=["column", *names])


EXPECTED = {
    "time of birth on the quarter hour": 4 / 60,
    "time of death on the quarter hour": 4 / 60,
    "birth weight on the half kilogram": 2 / 10,
}
"""The share of each that would be round if nobody rounded."""

MANY_TIMES = 2.0
"""A share this many times the expected one is called heaped."""

Flags = NDArray[np.bool_]


def heaping(births: pd.DataFrame, *, level: float) -> pd.DataFrame:
    """How many values fall on round numbers, against how many would if nobody rounded.

    Returns
    -------
    ``rates`` frame with `what`, expected (share) and heaped (yes-no): one row a kind of value that was
    recorded.

    Counted: births whose time was written (not only the date), deaths with a date or time, newborns weighed.

    Method
    ------
    Minutes spread evenly over the hour would fall on a quarter hour 4 times in 60; weights to 0.1 kg on a
    half kilogram 2 times in 10. Heaped: the interval lies above twice that.
    """
    round_numbers = {
        "time of birth on the quarter hour": _on_quarter(_timed(births)),
        "time of death on the quarter hour": _on_quarter(births.get("died_at")),
        "birth weight on the half kilogram": _on_half(births.get("birth_weight_kg")),
    }
    rows = []
    for what, hits in round_numbers.items():
        if len(hits):
            low, high = (float(limit) for limit in wilson(hits.sum(), len(hits), level=level))
            heaped = low > MANY_TIMES * EXPECTED[what]
            rows.append((what, int(hits.sum()), len(hits), hits.mean(), low, high, EXPECTED[what], heaped))
    columns = ["what", "events", "n", "share", "low", "high", "expected", "heaped"]
    return pd.DataFrame(rows, columns=columns)


def _timed(births: pd.DataFrame) -> pd.Series | None:
    return births.loc[births["born_precision"] == "time", "born"] if "born_at" in births else None


def _on_quarter(moments: pd.Series | None) -> Flags:
    if moments is None:
        return np.zeros(0, dtype=bool)
    known = pd.to_datetime(moments).dropna()
    return np.asarray(known.dt.minute % 15 == 0)


def _on_half(weights_kg: pd.Series | None) -> Flags:
    """Yes where a weight is a whole or a half kilogram."""
    if weights_kg is None:
        return np.zeros(0, dtype=bool)
    tenths = np.round(weights_kg.dropna().to_numpy(float) * 10, 6)
    return np.asarray(np.isclose(tenths % 5, 0))


def _ages(died: pd.DataFrame) -> dict[str, int]:
    """How exactly age at death is known, of newborns that died after birth; no newborn in two of the classes."""
    precision, known = died["age_precision"], died["age_known"]
    wide = (died["age_high_h"] - died["age_low_h"]) > 1
    return {
        "died after birth": len(died),
        "hour known": int((known & (precision == "hour") & ~wide).sum()),
        "between two checks": int((known & wide).sum()),
        "day known": int((known & (precision == "day") & ~wide).sum()),
        "not known": int((~known).sum()),
    }


def _unknown_dams(births: pd.DataFrame) -> int:
    """Newborns with neither dam nor litter written down: each is a litter of its own."""
    unknown = pd.Series(True, index=births.index)
    for name in ("dam_id", "litter_id"):
        if name in births:
            unknown &= births[name].isna()
    return int(unknown.sum())


@dataclass(frozen=True)
class FollowUp:
    """Newborn-days watched of ``n`` newborns born alive, and the median number of days each."""

    n: int
    total_days: float
    median_days: float


def follow_up(births: pd.DataFrame) -> FollowUp:
    """Total and median time watched.

    Counted: newborns born alive with a known age. The median is of how long a newborn would have been watched
    had it lived: deaths count as the end of sight, leaving or the end of follow-up as the event (reverse
    Kaplan-Meier; Schemper & Smith 1996, Control Clin Trials 17:343).
    """
    alive = births[~births["stillborn"] & births["age_known"]]
    if alive.empty:
        return FollowUp(0, np.nan, np.nan)
    age_h = alive["age_h"].to_numpy(float)
    watched = ~alive["died"].to_numpy(bool)
    table = count_events(age_h, watched.astype(int), n_causes=1)
    half = np.flatnonzero(product_limit(table.at_risk, table.deaths)[0] <= 0.5)
    median_h = float(table.age_h[half[0]]) if len(half) else np.nan
    return FollowUp(len(alive), float(age_h.sum()) / 24, median_h / 24)
