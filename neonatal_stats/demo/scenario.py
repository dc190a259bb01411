"""The scenario of the invented records, and the draws that are made from it."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from scipy.special import ndtri

Plan = dict[str, Any]
Array = np.ndarray


def scenario_text() -> str:
    """The scenario file as it stands: planted effects, how they are written down, planted faults."""
    return files("neonatal_stats.demo").joinpath("scenario.toml").read_text(encoding="utf-8")


@cache
def scenario() -> Plan:
    """The scenario as nested tables."""
    return tomllib.loads(scenario_text())


def outbreak_text() -> str:
    """The file of the smaller scenario as it stands: enterprises whose records go into a folder of their own."""
    return files("neonatal_stats.demo").joinpath("outbreak.toml").read_text(encoding="utf-8")


def outbreak_readme() -> str:
    """The README of its folder."""
    return files("neonatal_stats.demo").joinpath("outbreak.txt").read_text(encoding="utf-8")


@cache
def outbreaks() -> Plan:
    """The enterprises of the smaller scenario, each like one of the scenario in whatever it does not say itself."""
    told: Plan = tomllib.loads(outbreak_text())
    return {name: _filled_up(own) for name, own in told.items()}


def _filled_up(own: Plan) -> Plan:
    like: Plan = scenario()["enterprises"][own["like"]]
    return {key: value for key, value in like.items() if key not in own["without"]} | own


def plan_of(enterprise: str) -> Plan:
    """One enterprise's plan, with its position, which numbers its random draws."""
    plans: Plan = scenario()["enterprises"] | outbreaks()
    own: Plan = plans[enterprise]
    return own | {"enterprise": enterprise, "position": list(plans).index(enterprise)}


class Draws:
    """A stream of draws named by whole numbers; the same numbers always give the same stream."""

    def __init__(self, *numbers: int) -> None:
        self._generator = np.random.Generator(np.random.PCG64(list(numbers)))

    def uniform(self, n: int) -> Array:
        """Numbers spread evenly over 0 to 1."""
        return self._generator.random(n)

    def normal(self, n: int) -> Array:
        """Standard normal numbers."""
        return np.asarray(ndtri(np.clip(self.uniform(n), 1e-12, 1 - 1e-12)))

    def exponential(self, n: int) -> Array:
        """Waiting times with mean 1."""
        return np.asarray(-np.log1p(-self.uniform(n)))

    def yes(self, share: Array | float, n: int) -> Array:
        """True with the given share."""
        return np.asarray(self.uniform(n) < share)

    def pick(self, words: Sequence[object], shares: Sequence[float], n: int) -> Array:
        """Words in the given shares, which need not sum to 1."""
        upto = np.cumsum(np.asarray(shares, dtype=float))
        found = np.searchsorted(upto / upto[-1], self.uniform(n), side="right")
        return np.asarray(words, dtype=object)[np.minimum(found, len(words) - 1)]
