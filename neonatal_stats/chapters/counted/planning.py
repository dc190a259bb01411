"""Next season planned: what could be seen, what could be won, at what cost, and what to record."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.intraclass import RepeatLosers, repeat_losers
from neonatal_stats.estimates.planning import newborns_needed
from neonatal_stats.measures.birth_factors import factors
from neonatal_stats.measures.compared_window import Window, compared_window, known_in, not_known_in
from neonatal_stats.measures.counted import Counted
from neonatal_stats.measures.risk_groups import TO_LEVELS, flock_design_effect, risk_groups
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

FALLS = (0.20, 0.25, 0.33, 0.50)
POWER = 0.80
MOST_GROUPS = 10
SHUFFLES = 500
OF_CHANCE = 0.95  # the share of the draws that `low` and `high` enclose, whatever the level of the review
NO_DAM = RepeatLosers(
    0, float("nan"), float("nan"), float("nan"), float("nan"), 0, "no dam seen in two seasons"
)
ENOUGH = 0.80
"""Share recorded from which a column can carry its question."""

WANTED = (
    ("born_at", "all"),
    ("birth_weight_kg", "all"),
    ("delivery", "all"),
    ("dam_parity", "all"),
    ("sex", "all"),
    ("suck_reflex", "alive"),
    ("stood_after_min", "alive"),
    ("fed_after_min", "alive"),
    ("mothered_up", "alive"),
    ("died_at", "lost"),
    ("cause", "lost"),
    ("cause_basis", "lost"),
    ("last_seen_at", "living"),
)
"""Columns that open a chapter, and of whom they are asked: all, born alive, lost after a live birth, not lost."""


@dataclass(frozen=True, eq=False)
class Planning(Shown):
    """Next season.

    ``last`` one row: season, events, n, share, design_effect; ``needed`` fall, p0, p1, n (newborns in each of two
    seasons); ``avoidable`` the levels that lost more than the rest as in `measures.risk_groups`, with clear (yes-no),
    saved, saved_low, saved_high a season and the same in cost; ``repeat`` dams that lost in several seasons;
    ``record`` the columns to record.
    """

    last: pd.DataFrame
    needed: pd.DataFrame
    avoidable: pd.DataFrame
    repeat: RepeatLosers
    record: pd.DataFrame
    seasons: tuple[str, ...]
    window: Window
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Planning:
    """Plan from all seasons recorded; newborns needed and cost from the last.

    Counted: newborns of which it is known whether they were lost in the compared window; for what to record every
    newborn of the last season.
    """
    settings = season.settings
    window = compared_window(season.births, settings)
    births = known_in(season.births, window)
    latest = season.seasons[-1]
    last_births = births[births["season"].astype(str) == latest]
    last = _last(last_births, latest)
    return Planning(
        last=last,
        needed=_needed(last, settings.level),
        avoidable=_avoidable(births, settings, len(season.seasons)),
        repeat=repeat_losing_dams(births),
        record=to_record(season.births[season.births["season"].astype(str) == latest]),
        seasons=season.seasons,
        window=window,
        counted=Counted(len(births), left_out=not_known_in(season.births, window)),
        settings=settings,
        species=season.species,
    )


def _last(births: pd.DataFrame, name: str) -> pd.DataFrame:
    """Losses of the last season among those whose fate is known, and by how much its litters shrink them."""
    event = births["event"].to_numpy(bool)
    effect = flock_design_effect(event, births["litter"].to_numpy()) if len(births) else 1.0
    share = float(event.mean()) if len(births) else float("nan")
    row = {
        "season": name,
        "events": int(event.sum()),
        "n": len(births),
        "share": share,
        "design_effect": effect,
    }
    return pd.DataFrame([row])


def _needed(last: pd.DataFrame, level: float) -> pd.DataFrame:
    """Newborns needed for each fall; no rows where nobody or everybody was lost."""
    row = last.iloc[0]
    columns = ["fall", "p0", "p1", "n"]
    if not 0 < row["share"] < 1:
        return pd.DataFrame(columns=columns)
    p0, effect = float(row["share"]), float(row["design_effect"])
    rows = []
    for fall in FALLS:
        p1 = p0 * (1 - fall)
        n = newborns_needed(p0, p1, power=POWER, level=level, design_effect=effect)
        rows.append((fall, p0, p1, n))
    return pd.DataFrame(rows, columns=columns)


def _avoidable(births: pd.DataFrame, settings: Settings, seasons: int) -> pd.DataFrame:
    """Levels with excess losses, most first, a season; in money where a price is set.

    Counted: each level of at least the minimum size against all newborns whose level is known; those whose
    interval reaches no excess are left out.
    """
    groups = risk_groups(
        births["event"].to_numpy(bool),
        births["cluster"].to_numpy(),
        factors(births),
        minimum_group=settings.minimum_group,
        level=settings.level,
        pairs=False,
    )
    groups = groups[groups["tried"].astype(bool) & (groups["excess_low"] > 0)]
    groups = groups.sort_values("excess", ascending=False, kind="stable", ignore_index=True).head(MOST_GROUPS)
    price = settings.price if settings.price is not None else float("nan")
    names = {"excess": "saved", "excess_low": "saved_low", "excess_high": "saved_high"}
    a_season = {new: groups[old] / seasons for old, new in names.items()}
    cost = {new.replace("saved", "cost"): value * price for new, value in a_season.items()}
    # the chapter of the groups tries pairs beside these levels, so a level is clear here only where it is there
    within = groups["q"] / TO_LEVELS <= settings.false_discovery_share
    return groups.assign(clear=within, **a_season, **cost)


def repeat_losing_dams(births: pd.DataFrame) -> RepeatLosers:
    """Dams that lost newborns in two seasons or more.

    Counted: newborns of known dams with `event`; losses are dealt by chance within season and litter size.
    """
    known = births[births["dam_id"].notna()] if "dam_id" in births else births.head(0)
    if known.empty or known["season"].nunique() < 2:
        return NO_DAM
    kind = known["birth_type"].cat.codes.to_numpy() + 1 if "birth_type" in known else None
    return repeat_losers(
        known["event"].to_numpy(int),
        known["dam"].to_numpy(),
        pd.factorize(known["season"])[0],
        stratum=kind,
        shuffles=SHUFFLES,
        level=OF_CHANCE,
    )


def to_record(births: pd.DataFrame) -> pd.DataFrame:
    """Recorded newborns per wanted column: column, of, recorded, n, share, enough.

    Counted: of `births` those the column is asked of, as `WANTED` says; asked of nobody, it is enough.
    """
    alive = ~births["stillborn"].astype(bool)
    died = births["died"].astype(bool)
    asked = {"all": alive | True, "alive": alive, "lost": died & alive, "living": ~died}
    rows = []
    for column, of in WANTED:
        here = births[asked[of]]
        recorded = int(_recorded(here, column).sum())
        share = recorded / len(here) if len(here) else float("nan")
        rows.append((column, of, recorded, len(here), share, not share < ENOUGH))
    return pd.DataFrame(rows, columns=["column", "of", "recorded", "n", "share", "enough"])


def _recorded(births: pd.DataFrame, column: str) -> pd.Series:
    """A value that says something: a time for a time of birth, a cause that is not "unknown"."""
    if column == "born_at":
        return births["born_precision"].eq("time")
    if column == "last_seen_at":
        seen = [births[name].notna() for name in ("last_seen_at", "left_at") if name in births]
        return pd.concat(seen, axis=1).any(axis=1) if seen else pd.Series(False, index=births.index)
    if column == "died_at":
        return births["age_known"].astype(bool)
    if column not in births:
        return pd.Series(False, index=births.index)
    values = births[column].astype(object)
    extra = f"{column}_not_by"
    known = values.notna() & ~values.isin(["unknown", "none", "not checked", "not judged"])
    return known | births[extra].notna() if extra in births else known
