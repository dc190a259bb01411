"""Next season planned: what could be seen, what could be won, at what cost, and what to record."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted import Shown
from neonatal_stats.estimates.control_limits import RepeatLosers, repeat_losers
from neonatal_stats.estimates.planning import fall_seen, newborns_a_season, newborns_needed, seasons_needed
from neonatal_stats.estimates.verdict import MINIMUM_EVENTS
from neonatal_stats.measures.before_after import Swing, swing_of
from neonatal_stats.measures.birth_factors import factor_of, factors
from neonatal_stats.measures.claims import Claim, claim_of_counts, keyed
from neonatal_stats.measures.contrasts import with_verdicts
from neonatal_stats.measures.curves import as_lost, before_ages, survival
from neonatal_stats.measures.milestones import not_asked
from neonatal_stats.measures.rates import Counted, rates
from neonatal_stats.measures.risk_groups import TO_LEVELS, flock_design_effect, risk_groups, stratified
from neonatal_stats.measures.windows import (
    END,
    UNKNOWN_AGES,
    Window,
    compared_window,
    deaths_without_age,
    known_in,
    not_known_in,
    stated_windows,
)
from neonatal_stats.season.actions import CostedAction
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.factors import BY_NAME

FALLS = (0.20, 0.25, 0.33, 0.50)
SEASONS = (2, 4, 8)
"""Seasons before a change, and as many after it, for which it is said what they would show."""
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

COLUMNS = (
    "what", "source", "factor", "group", "window", "end_h", "weeks", "cost", "least", "most", "n", "lost", "why",
    "aimed", "aimed_low", "aimed_high", "spared", "spared_low", "spared_high", "net", "net_low", "net_high",
    "even", "even_low", "even_high",
)  # fmt: skip
ABSENT, FEW, UNWATCHED = "absent", "few", "unwatched"
"""Why an action cannot be weighed: no newborn of its group, too few of them or of their losses, not watched so long."""

READ = {"": "share", "_low": "low", "_high": "high"}


@dataclass(frozen=True, eq=False)
class Planning(Shown):
    """Next season.

    ``period`` the seasons counted; ``last`` one row: season, events, n, share, design_effect; ``swing`` of the seasons;
    ``needed`` fall, p0, p1, n (newborns in each half of one season), n_2, n_4, n_8 (a season, with so many before and
    after; missing where no number is enough), seasons (before and after, of as many newborns as the last);
    ``shows`` seasons (before and after; 0: two halves of one), fall (the smallest that would be seen, missing where
    none would); ``avoidable`` the levels of changeable factors that lost more than the rest as
    in `measures.risk_groups`, with saved, saved_low, saved_high a season and the same in cost, keyed as the chapter of
    the groups keys them; ``actions`` of the settings as `weighed`; ``repeat`` dams that lost in several
    seasons; ``record`` the columns to record.
    """

    last: pd.DataFrame
    swing: Swing
    needed: pd.DataFrame
    shows: pd.DataFrame
    avoidable: pd.DataFrame
    actions: pd.DataFrame
    repeat: RepeatLosers
    record: pd.DataFrame
    period: tuple[str, ...]
    window: Window
    counted: Counted
    settings: Settings
    species: str


LOSING_AGAIN = "planning/losing again"


def claims(result: Planning) -> tuple[Claim, ...]:
    """Whether more dams lost again than chance gives; what groups could save rests on the claims of their chapter."""
    found = result.repeat
    if not found.dams or math.isnan(found.expected):
        return ()
    counts = (found.observed, found.dams, round(found.expected), found.dams)
    again = claim_of_counts(
        LOSING_AGAIN,
        "losing again",
        found.p,
        counts,
        chapter="planning",
        family="dam",
        period=result.period,
        settings=result.settings,
    )
    return (replace(again, excess=found.observed - found.expected),)


def answer(season: Season) -> Planning:
    """Plan from all seasons recorded; newborns needed and cost from the last.

    Counted: newborns of which it is known whether they were lost in the compared window; for what to record every
    newborn of the last season.
    """
    settings = season.settings
    window = compared_window(season.births, settings)
    births = known_in(season.births, window)
    latest = season.under_review
    last_births = births[births["season"].astype(str) == latest]
    last, between = _last(last_births, latest), swing_of(births, settings.minimum_group)
    return Planning(
        last=last,
        swing=between,
        needed=_needed(last, between.taken, settings.level),
        shows=_shows(last, between.taken, settings.level),
        avoidable=_avoidable(births, settings, len(season.seasons)),
        actions=weighed(season.births, settings),
        repeat=repeat_losing_dams(births),
        record=to_record(season.births[season.births["season"].astype(str) == latest], settings),
        period=season.seasons,
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
    row = (name, int(event.sum()), len(births), share, effect)
    return pd.DataFrame([row], columns=["season", "events", "n", "share", "design_effect"])


def _needed(last: pd.DataFrame, between: float, level: float) -> pd.DataFrame:
    """Newborns, and seasons, needed for each fall; no rows where nobody or everybody was lost."""
    p0, born, effect = (float(last.iloc[0][name]) for name in ("share", "n", "design_effect"))
    given: Any = {"power": POWER, "level": level, "design_effect": effect}
    rows = []
    for fall in FALLS if 0 < p0 < 1 else ():
        p1 = p0 * (1 - fall)
        halves = newborns_needed(p0, p1, **given)
        a_season = (newborns_a_season(p0, p1, seasons, swing=between, **given) for seasons in SEASONS)
        rows.append((fall, p0, p1, halves, *a_season, seasons_needed(p0, p1, born, swing=between, **given)))
    names = ["fall", "p0", "p1", "n", *(f"n_{seasons}" for seasons in SEASONS), "seasons"]
    return pd.DataFrame(rows, columns=names)


def _shows(last: pd.DataFrame, between: float, level: float) -> pd.DataFrame:
    """The smallest fall that seasons of the last one's size would show; no rows where nobody or everybody was lost."""
    p0, born, effect = (float(last.iloc[0][name]) for name in ("share", "n", "design_effect"))
    given: Any = {"swing": between, "power": POWER, "level": level, "design_effect": effect}
    rows = []
    for seasons in (0, 1, *SEASONS) if 0 < p0 < 1 else ():
        each = born if seasons else born / 2
        rows.append((seasons, each, fall_seen(p0, each, seasons, **given)))
    return pd.DataFrame(rows, columns=["seasons", "n", "fall"])


def _avoidable(births: pd.DataFrame, settings: Settings, seasons: int) -> pd.DataFrame:
    """Levels that management can change with excess losses, most first, a season; in money where a price is set.

    Counted: each level of at least the minimum size against all newborns whose level is known; those whose
    interval reaches no excess are left out.
    """
    event, cluster = births["event"].to_numpy(bool), births["cluster"].to_numpy()
    found = factors(births)
    tried = risk_groups(event, cluster, found, settings=settings, pairs=False)
    tried = stratified(tried, event, cluster, pd.factorize(births["season"].astype(str))[0], found, settings)
    changeable = tried["factor"].map(lambda name: BY_NAME[name].changeable).astype(bool)
    groups = tried[changeable & tried["tried"].astype(bool) & (tried["excess_low"] > 0)]
    groups = groups.sort_values("excess", ascending=False, kind="stable", ignore_index=True).head(MOST_GROUPS)
    # the chapter of the groups tries pairs beside these levels, so a level is clear here only where it is there
    beside_pairs = with_verdicts(groups.assign(q=groups["q"] / TO_LEVELS), settings)
    price = float("nan") if settings.price is None else settings.price
    for end in ("", "_low", "_high"):
        groups[f"saved{end}"] = groups[f"excess{end}"] / seasons
    for end in ("", "_low", "_high"):
        groups[f"cost{end}"] = groups[f"saved{end}"] * price
    # the claim is that of the chapter of the groups, which decides
    return keyed(groups.assign(verdict=beside_pairs["verdict"]), "groups")


def weighed(births: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Each action of the settings beside the losses that it is aimed at, a season, over all seasons recorded.

    Returns
    -------
    One row an action, `COLUMNS`: n and lost newborns of its group over all seasons; aimed, the losses by the window's
    end a season (newborns a season times the curve's share); spared, of these; net, spared times the price less the
    cost; even, the share that it must spare to pay for itself; each with low and high. Missing where ``why`` says why
    not, and net and even where no price is set.

    Counted
    -------
    Newborns of the group with a known level; with ``weeks`` those born in so many weeks of each season, where most are.

    Method
    ------
    The interval of aimed is the Kaplan-Meier curve's, with litters (that of the plain share where over a tenth of the
    losses have no age); spared is the product of both lower and of both upper ends, and so holds at least as surely.

    Limits
    ------
    Losses beside an action are not losses that it would have spared: that share is not in the records. Seasons swing.
    """
    seasons = max(1, births["season"].nunique())
    rows = [_row(births, seasons, action, settings) for action in settings.action]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _row(births: pd.DataFrame, seasons: int, action: CostedAction, settings: Settings) -> dict[str, Any]:
    windows, window = stated_windows(births, settings), action.window or END
    group = _aimed_at(births, action)
    named = ("what", "source", "factor", "weeks", "cost")
    told: dict[str, Any] = {name: getattr(action, name) for name in named}
    told |= {"group": action.level, "window": window, "end_h": windows.get(window, math.nan), "n": len(group)}
    told |= {"least": action.spares[0], "most": action.spares[1], "lost": 0, "why": ""}
    if group.empty:
        return told | {"why": ABSENT}
    if window not in windows:
        return told | {"why": UNWATCHED}
    read = _lost_by(group, windows[window], windows[END], settings.level)
    told["lost"] = int(read["lost"])
    if len(group) < settings.minimum_group or read["lost"] < MINIMUM_EVENTS or math.isnan(read["low"]):
        return told | {"why": FEW}
    aimed = {end: float(read[name]) * len(group) / seasons for end, name in READ.items()}
    return told | _worth(aimed, action, settings.price)


def _lost_by(group: pd.DataFrame, end_h: float, last_h: float, level: float) -> pd.Series:
    """How many were lost by an age, and the share with its interval."""
    if deaths_without_age(group) > UNKNOWN_AGES * int(group["died"].sum()):
        found = rates(group, (), "lost", level=level).rename(columns={"events": "lost"})
    else:
        curve = as_lost(survival(group, level=level))
        found = before_ages(curve, (), [end_h], end_h=last_h, start=0.0)
    first: pd.Series = found.iloc[0]
    return first


def _worth(aimed: dict[str, float], action: CostedAction, price: float | None) -> dict[str, float]:
    """What it could spare of the losses aimed at, net of its cost, and the share at which it pays."""
    least, most = action.spares
    share = {"": (least + most) / 2, "_low": least, "_high": most}
    found = {f"aimed{end}": n for end, n in aimed.items()}
    found |= {f"spared{end}": n * share[end] for end, n in aimed.items()}
    if price is None:
        return found
    found |= {f"net{end}": found[f"spared{end}"] * price - action.cost for end in READ}
    other = {"": "", "_low": "_high", "_high": "_low"}
    even = {f"even{end}": _even(action.cost, aimed[other[end]] * price) for end in READ}
    return found | even


def _even(cost: float, at_stake: float) -> float:
    """The share of what is at stake that pays the cost; missing where nothing is at stake."""
    return cost / at_stake if at_stake > 0 else math.nan


def _aimed_at(births: pd.DataFrame, action: CostedAction) -> pd.DataFrame:
    """The newborns that an action is aimed at."""
    group = births
    if action.factor:
        found = factor_of(births, action.factor)
        if found is None or action.level not in found.levels:
            return births.head(0)
        group = births[found.holds(action.level)]
    if not action.weeks or group.empty:
        return group
    kept = [
        busiest(of_season["born"], action.weeks) for _, of_season in group.groupby("season", observed=True)
    ]
    inside: pd.DataFrame = group[pd.concat(kept).reindex(group.index)]
    return inside


def busiest(born: pd.Series, weeks: int) -> pd.Series:
    """Born in those weeks on end in which most are, the first where several are alike: yes-no, one a newborn."""
    day = born.dt.normalize()
    days = np.sort(day.dropna().unique())
    if not len(days):
        return pd.Series(False, index=born.index)
    span = pd.Timedelta(weeks=weeks)
    within = [int(((day >= first) & (day < first + span)).sum()) for first in days]
    start = pd.Timestamp(days[int(np.argmax(within))])
    inside: pd.Series = (day >= start) & (day < start + span)
    return inside


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


def to_record(births: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Recorded newborns per wanted column: column, of, recorded, n, share, enough.

    Counted: of `births` those the column is asked of, as `WANTED` says; asked of nobody, it is enough. What is not
    asked in such a flock or herd (`not_asked`) has no row.
    """
    left_out = not_asked(births, settings)
    alive, died = ~births["stillborn"], births["died"]
    asked = {"all": alive | True, "alive": alive, "lost": died & alive, "living": ~died}
    rows = []
    for column, of in (one for one in WANTED if one[0] not in left_out):
        recorded, n = int(_recorded(births, column)[asked[of]].sum()), int(asked[of].sum())
        share = recorded / n if n else float("nan")
        rows.append((column, of, recorded, n, share, not share < ENOUGH))
    return pd.DataFrame(rows, columns=["column", "of", "recorded", "n", "share", "enough"])


def _recorded(births: pd.DataFrame, column: str) -> pd.Series:
    """A value that says something: a time for a time of birth, a cause that is not "unknown"."""
    if column == "born_at":
        return births["born_precision"].eq("time")
    if column == "last_seen_at":
        seen = [births[name].notna() for name in ("last_seen_at", "left_at") if name in births]
        return pd.concat(seen, axis=1).any(axis=1) if seen else pd.Series(False, index=births.index)
    if column == "died_at":
        return births["age_known"]
    if column not in births:
        return pd.Series(False, index=births.index)
    values = births[column].astype(object)
    extra = f"{column}_not_by"
    known = values.notna() & ~values.isin(["unknown", "none", "not checked", "not judged"])
    return known | births[extra].notna() if extra in births else known
