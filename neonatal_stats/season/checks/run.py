"""All rules in their order, over the births and over what was joined to them."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.season.checks import outcomes
from neonatal_stats.season.gathered import Gathered
from neonatal_stats.season.settings import Settings

BIRTH_RULES = (*outcomes.RULES,)


def check_births(births: Gathered, settings: Settings) -> None:
    """Hold the births against every rule; each rule sees what those before it set to missing."""
    for rule in BIRTH_RULES:
        births.enter(rule(births.frame, settings))


def check_events(events: Gathered, births: pd.DataFrame, settings: Settings) -> None:
    """Hold feeds, samples or weather against their rules."""
