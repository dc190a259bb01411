"""Invented identities, each of a kind that a careless reader would spoil: leading zeros, fifteen digits."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.season.demo.draws import Draws
from neonatal_stats.season.demo.scenario import Plan

NO_TAG_IF_STILLBORN = 0.5
TEST_TAG_PREFIX = "999"  # the country part that ISO 11784 leaves to test transponders


def dam_names(number: pd.Series, plan: Plan) -> pd.Series:
    """The dams' identities as text."""
    if plan["species"] == "sheep":
        return number.astype(str).str.zfill(6)
    if plan["species"] == "goat":
        return TEST_TAG_PREFIX + number.astype(str).str.zfill(12)
    return "C" + number.astype(str).str.zfill(4)


def newborn_names(births: pd.DataFrame, plan: Plan, draws: Draws) -> pd.Series:
    """The newborns' identities as text, in order of birth; half of the stillborn were given none."""
    year = births["season"].str[-2:]
    serial = pd.Series(range(1, len(births) + 1)).astype(str)
    if plan["species"] == "sheep":
        names = "0" + year + serial.str.zfill(4)
    elif plan["species"] == "goat":
        names = TEST_TAG_PREFIX + "0000" + year + serial.str.zfill(6)
    else:
        names = year + "-" + serial.str.zfill(3)
    return names.mask(births["stillborn"] & draws.yes(NO_TAG_IF_STILLBORN, len(births)))
