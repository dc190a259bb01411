"""Farms side by side: letters for names, small ones left out, a funnel standardised for the mix of births."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.showing import Shown
from neonatal_stats.estimates.arguments import Floats
from neonatal_stats.estimates.control_limits import funnel, intraclass_correlation, predicted
from neonatal_stats.estimates.results import critical
from neonatal_stats.measures.claims import Claim, claim_of_counts
from neonatal_stats.measures.rates import Counted, each_row, rates
from neonatal_stats.measures.standardised import CommonMix, common_mix
from neonatal_stats.measures.windows import Window, compared_window, known_in, not_known_in
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings

OUTER_LEVEL = 0.998
FEWEST = 3
"""Farms from which the others tell how far farms swing; of two, neither can lie outside."""


@dataclass(frozen=True, eq=False)
class FarmFunnel:
    """Farms large enough to show, against the funnel and against each other.

    ``farms`` one row a farm, by letter: letter, own (yes-no), events, n, share, low, high, expected, standardised,
    funnel_low, funnel_high, outer_low, outer_high; other_low, other_high and p, what the other farms lead one to
    expect of one of its size (missing under three farms); ``line`` the limits over sizes: n, low, high,
    outer_low, outer_high; ``hidden`` farms under the minimum size and ``hidden_newborns`` theirs.
    """

    farms: pd.DataFrame
    line: pd.DataFrame
    centre: float
    phi: float
    hidden: int
    hidden_newborns: int


@dataclass(frozen=True, eq=False)
class Farms(Shown):
    """Farms against the funnel; ``agreement`` is the correlation of newborns of one farm (NaN where not known),
    ``period`` the seasons counted.
    """

    funnel: FarmFunnel
    mix: CommonMix
    agreement: float
    period: tuple[str, ...]
    window: Window
    counted: Counted
    settings: Settings
    species: str


def answer(season: Season) -> Farms:
    """Compare the farms.

    Counted: newborns of which it is known whether they were lost in the longest window that nine in ten of every
    farm were watched through; those on farms too small to show are left out of ``counted`` and stay in the common
    risks.
    """
    settings = season.settings
    window = compared_window(season.births, settings, by="farm")
    births = known_in(season.births, window).reset_index(drop=True)
    births = births.assign(farm=births["farm"].cat.remove_unused_categories())
    mix = common_mix(births, settings.standard_mix, by="farm")
    found = farm_funnel(births, mix, settings)
    hidden = (("on farms too small to show", found.hidden_newborns),) if found.hidden else ()
    left_out = (*not_known_in(season.births, window), *hidden)
    event, farm = births["event"].to_numpy(int), births["farm"].cat.codes.to_numpy()
    return Farms(
        funnel=found,
        mix=mix,
        agreement=float(np.clip(intraclass_correlation(event, farm), 0, 1)),
        period=season.seasons,
        window=window,
        counted=Counted(len(births) - found.hidden_newborns, left_out=left_out),
        settings=settings,
        species=season.species,
    )


def claims(result: Farms) -> tuple[Claim, ...]:
    """Each farm against what the others lead one to expect of it."""
    farms = result.funnel.farms
    whole = farms[["events", "n"]].sum()
    found = []
    for row in farms.to_dict("records"):
        counts = (row["events"], row["n"], whole["events"] - row["events"], whole["n"] - row["n"])
        given: Any = {
            "chapter": "farms",
            "family": "farm",
            "period": result.period,
            "settings": result.settings,
        }
        claim = claim_of_counts(key_of(row["letter"]), row["letter"], row["p"], counts, **given)
        found.append(replace(claim, excess=row["events"] - row["expected"]))
    return tuple(found)


def key_of(letter: str) -> str:
    """The key of a farm's claim."""
    return f"farms/{letter}"


def farm_funnel(births: pd.DataFrame, mix: CommonMix, settings: Settings) -> FarmFunnel:
    """Each farm's loss, observed over expected from the common risks of its kinds of birth.

    Counted: newborns with `event`; a kind of birth that is not known takes the common risk of all. Farms with
    fewer than the setting minimum_group are counted in the common risks and not shown.
    """
    letter = letters(digests(births))
    farm = births["farm"].astype(str).map(letter)
    order = pd.CategoricalDtype(sorted(letter.values(), key=_order), ordered=True)
    frame = births.assign(letter=farm.astype(order))
    crude = rates(frame, ("letter",), "event", level=settings.level, cluster="litter")
    expected = pd.Series(_expected(births, mix)).groupby(farm.to_numpy()).sum()
    named = crude["letter"].astype(str)
    crude = crude.assign(
        letter=named,
        expected=named.map(expected).to_numpy(float),
        own=named == letter.get(settings.own_farm, ""),
    )
    large = _shown(crude["n"], settings.minimum_group)
    shown = crude[large].reset_index(drop=True)
    return _with_limits(shown, settings.level, int((~large).sum()), int(crude.loc[~large, "n"].sum()))


def _expected(births: pd.DataFrame, mix: CommonMix) -> np.ndarray:
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
    return {name: _letter(place) for place, name in enumerate(sorted(drawn, key=lambda name: drawn[name]))}


def _letter(place: int) -> str:
    first, second = divmod(place, 26)
    return (chr(64 + first) if first else "") + chr(65 + second)


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
    effect = shown["design_effect"].to_numpy(float)
    events, n = shown["events"].to_numpy(float) / effect, shown["n"].to_numpy(float) / effect
    expected = np.minimum(shown["expected"].to_numpy(float) / effect, n)
    inner, outer = (funnel(events, n, expected, level=one) for one in (level, OUTER_LEVEL))
    farms = shown.assign(
        standardised=inner.share,
        funnel_low=inner.low,
        funnel_high=inner.high,
        outer_low=outer.low,
        outer_high=outer.high,
        **_from_the_others(inner.share, n, level),
    )
    line = _line(farms, inner.centre, inner.phi, level)
    return FarmFunnel(farms, line, inner.centre, inner.phi, hidden, hidden_newborns)


def _from_the_others(share: Floats, n: Floats, level: float) -> dict[str, Floats]:
    """What the other farms lead one to expect of each, their swing beyond chance measured without it."""
    farms = len(share)
    if farms < FEWEST:
        return dict.fromkeys(("other_low", "other_high", "p"), np.full(farms, np.nan))
    others = np.array([np.delete(np.arange(farms), one) for one in range(farms)])
    held = np.clip(share, 0, 1)
    found = predicted(held, n, held[others], n[others], level=level)
    return {"other_low": found.low, "other_high": found.high, "p": found.p}


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
