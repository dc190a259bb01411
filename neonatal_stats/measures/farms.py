"""Farms side by side: letters for names, small ones left out, what their mix and the others lead one to expect."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.control_limits import funnel
from neonatal_stats.estimates.excess import (
    FEWEST_OTHERS,
    BeyondOthers,
    ShrunkenExcess,
    beyond_the_others,
    shrunken_excess,
)
from neonatal_stats.estimates.many_groups import benjamini_hochberg
from neonatal_stats.estimates.results import critical, ratio
from neonatal_stats.measures.rates import Alike, each_row, grouped, newborns_in, rates
from neonatal_stats.measures.standardised import CommonMix
from neonatal_stats.season.files.header import letters as in_letters
from neonatal_stats.season.settings import Settings

OUTER_LEVEL = 0.998
FEWEST = FEWEST_OTHERS + 1
"""Farms from which the others tell how far farms swing; of fewer, none can lie outside."""
FEWEST_LOST = 5
HALF = 0.5
TINY = 1e-9


@dataclass(frozen=True, eq=False)
class FarmFunnel:
    """Farms large enough to show, against the funnel and against each other.

    ``farms`` one row a farm, by letter: letter, own (yes-no), events, n, share, low, high, expected, standardised,
    funnel_low, funnel_high, outer_low, outer_high; other_low, other_high and p, what the other farms lead one to
    expect of one of its size (missing under `FEWEST` farms), and more, whether it lost more; ``line`` the limits over
    sizes: n, low, high, outer_low, outer_high; ``hidden`` farms under the minimum size and ``hidden_newborns`` theirs.
    """

    farms: pd.DataFrame
    line: pd.DataFrame
    centre: float
    phi: float
    hidden: int
    hidden_newborns: int


def farm_funnel(births: pd.DataFrame, risk: Floats, settings: Settings) -> FarmFunnel:
    """Each farm's loss, observed over expected from the common risks of its kinds of birth.

    Parameters
    ----------
    births : newborns with `event`, over all farms.
    risk : of each newborn, were its farm like all (`expected_by_mix`).

    Farms with fewer than the setting minimum_group are counted in the common risks and not shown.
    """
    letter = letters(digests(births))
    farm = births["farm"].astype(str).map(letter)
    order = pd.CategoricalDtype(sorted(letter.values(), key=_order), ordered=True)
    frame = births.assign(letter=farm.astype(order))
    crude = rates(frame, ("letter",), "event", level=settings.level, cluster="litter")
    expected = pd.Series(risk).groupby(farm.to_numpy()).sum()
    named = crude["letter"].astype(str)
    crude = crude.assign(
        letter=named,
        expected=named.map(expected).to_numpy(float),
        own=named == letter.get(settings.own_farm, ""),
    )
    large = _shown(crude["n"], settings.minimum_group)
    shown = crude[large].reset_index(drop=True)
    return _with_limits(shown, settings.level, int((~large).sum()), int(crude.loc[~large, "n"].sum()))


def expected_by_mix(births: pd.DataFrame, mix: CommonMix) -> Floats:
    """Each newborn's risk were its farm like all: that of its kind of birth over all farms."""
    event = births["event"].to_numpy(float)
    code = np.where(mix.code < 0, len(mix.strata), mix.code)
    n = np.bincount(code)
    risk = np.divide(np.bincount(code, weights=event), n, out=np.zeros(len(n)), where=n > 0)
    return risk[code]


def letters(records: Mapping[str, str]) -> dict[str, str]:
    """A letter for each farm, in an order that follows from its own records, so that names alone do not give it away.

    Parameters
    ----------
    records : each farm's name and a digest of its records; the same records always give the same letters.

    >>> sorted(letters({"North": "12 of 100", "South": "9 of 80"}).values())
    ['A', 'B']
    """
    drawn = {name: sha256(f"{name} {digest}".encode()).hexdigest() for name, digest in records.items()}
    return {name: in_letters(place) for place, name in enumerate(sorted(drawn, key=lambda name: drawn[name]))}


def _order(letter: str) -> tuple[int, str]:
    return len(letter), letter


def digests(births: pd.DataFrame) -> dict[str, str]:
    """A few numbers of each farm's records that outsiders do not know, as text."""
    farm = births["farm"].astype(str)
    moments = births["born"].astype("int64").where(births["born"].notna(), 0)
    told = pd.DataFrame({"n": 1, "lost": births["event"].astype(int), "born": moments // 10**9})
    sums = told.groupby(farm).sum().reset_index(names="farm")
    return {str(row.farm): f"{row.n} {row.lost} {row.born}" for row in each_row(sums)}


def _shown(n: pd.Series, minimum_group: int) -> pd.Series:
    """Farms large enough to show; where a single one is too small the next smallest is held back with it, so that
    it cannot be worked out from the totals.
    """
    large = n >= minimum_group
    if (~large).sum() == 1 and large.any():
        large = large & (n.index != n[large].idxmin())
    return large


def _with_limits(shown: pd.DataFrame, level: float, hidden: int, hidden_newborns: int) -> FarmFunnel:
    """Limits at the number of newborns divided by the design effect, so that litters widen them."""
    events, n, due, effect = (
        shown[name].to_numpy(float) for name in ("events", "n", "expected", "design_effect")
    )
    due = np.minimum(due, n)
    inner, outer = (funnel(events, n, due, level=one, design_effect=effect) for one in (level, OUTER_LEVEL))
    others = beyond_the_others(events, n, due, level=level, design_effect=effect)
    farms = shown.assign(
        standardised=others.share,
        funnel_low=inner.low,
        funnel_high=inner.high,
        outer_low=outer.low,
        outer_high=outer.high,
        other_low=others.low,
        other_high=others.high,
        more=others.more,
        p=others.p,
    )
    line = _line(farms, inner.centre, inner.phi, level)
    return FarmFunnel(farms, line, inner.centre, inner.phi, hidden, hidden_newborns)


def _line(farms: pd.DataFrame, centre: float, phi: float, level: float) -> pd.DataFrame:
    """The limits as a smooth line over the sizes seen, at the farms' mean design effect."""
    if farms.empty:
        return pd.DataFrame(columns=["n", "low", "high", "outer_low", "outer_high"], dtype=float)
    sizes = np.linspace(max(5.0, farms["n"].min() * 0.8), farms["n"].max() * 1.05, 80)
    error = np.sqrt(centre * (1 - centre) * phi * farms["design_effect"].mean() / sizes)
    limits = {"n": sizes}
    for name, one in (("", level), ("outer_", OUTER_LEVEL)):
        width = float(critical(one)) * error
        limits[f"{name}low"] = np.clip(centre - width, 0, 1)
        limits[f"{name}high"] = np.clip(centre + width, 0, 1)
    return pd.DataFrame(limits)


@dataclass(frozen=True, eq=False)
class Visits:
    """Farms by where a visit may buy most: ``order`` their places, the first first; ``named`` those that lost more than
    the others lead one to expect, ``q`` by the false discovery rate over all.
    """

    excess: ShrunkenExcess
    others: BeyondOthers
    q: Floats
    named: NDArray[np.bool_]
    order: NDArray[np.int64]


def expected_by_what_is_recorded(
    births: pd.DataFrame, wanted: Sequence[str], alike: Alike | None = None
) -> tuple[Floats, dict[str, tuple[str, ...]]]:
    """Each newborn's risk were its farm like all, by as many of the wanted columns as its own farm records.

    One farm that leaves a column blank does not take it from the others: the newborns of each farm have the risk that
    their kind of birth has over all farms, kinds made of the columns of which that farm filled at least half.

    Returns
    -------
    (risk, columns) : one risk a newborn, that of all where its kind is not known; the columns used, by farm.
    """
    event, farm = births["event"].to_numpy(float), births["farm"].astype(str)
    each = newborns_in(births, alike)
    born = pd.Series(each, index=births.index).groupby(farm).sum()
    filled = {
        one: pd.Series(each, index=births.index).where(births[one].notna(), 0).groupby(farm).sum() / born
        for one in wanted
        if one in births
    }
    columns = {str(name): tuple(one for one in filled if filled[one][name] >= HALF) for name in born.index}
    risk = np.full(len(births), np.average(event, weights=each))
    of_farm = farm.map(columns)
    for used in set(columns.values()) - {()}:
        _, code = grouped(births, used)
        known = code >= 0
        n = np.bincount(code[known], weights=each[known])
        common = ratio(np.bincount(code[known], weights=event[known] * each[known]), n)
        mine = known & (of_farm == used).to_numpy()
        risk[mine] = common[code[mine]]
    return risk, columns


def named_farms(
    events: Floats, n: Floats, expected: Floats, design_effect: Floats, settings: Settings
) -> tuple[BeyondOthers, Floats, NDArray[np.bool_]]:
    """What the others lead one to expect of each farm, q over all, and which lost more than that; see `visits`."""
    others = beyond_the_others(events, n, expected, level=settings.level, design_effect=design_effect)
    q = benjamini_hochberg(others.p)
    enough = (n >= settings.minimum_group) & (events >= FEWEST_LOST) & (events > expected) & others.more
    return others, q, enough & (q <= settings.false_discovery_share)


def visits(
    events: ArrayLike, n: ArrayLike, expected: ArrayLike, design_effect: ArrayLike, settings: Settings
) -> Visits:
    """Where a visit may buy most, and which farms lost more than the others lead one to expect.

    Parameters
    ----------
    events, n, expected, design_effect : (F,) losses, newborns, losses expected of the mix, design effect of litters.

    Method
    ------
    The order is that of `estimates.shrunken_excess`; where it is the same to a tenth of a newborn, of the excess as it
    was counted. A farm is named where it lost more and its p (`estimates.beyond_the_others`) has a false discovery rate
    over all farms at or under the setting false_discovery_share, and it has minimum_group newborns and five losses.

    References
    ----------
    Benjamini Y, Hochberg Y (1995) J R Stat Soc B 57:289-300; Jones HE, Ohlssen DI, Spiegelhalter DJ (2008) J Clin
    Epidemiol 61:232-240 (its use where providers of care are compared).
    """
    x, size, effect = (np.asarray(values, dtype=np.float64) for values in (events, n, design_effect))
    due = np.maximum(np.asarray(expected, dtype=np.float64), TINY)
    excess = shrunken_excess(x, size, due, level=settings.level, design_effect=effect)
    others, q, named = named_farms(x, size, due, effect, settings)
    order = np.lexsort((np.arange(len(x)), -excess.raw, -np.round(excess.excess, 1)))
    return Visits(excess, others, q, named, order)
