"""The invented scenario, read from the one file that also tells a reader what was planted."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

Plan = dict[str, Any]


def scenario_text() -> str:
    """The scenario file as it stands: planted effects, how they are written down, planted faults."""
    return files("neonatal_stats.season.demo").joinpath("scenario.toml").read_text(encoding="utf-8")


@cache
def scenario() -> Plan:
    """The scenario as nested tables."""
    return tomllib.loads(scenario_text())


def plan_of(enterprise: str) -> Plan:
    """One enterprise's plan, with its position, which numbers its random draws."""
    enterprises: Plan = scenario()["enterprises"]
    own: Plan = enterprises[enterprise]
    return own | {"enterprise": enterprise, "position": list(enterprises).index(enterprise)}
