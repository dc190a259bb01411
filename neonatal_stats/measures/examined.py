"""What an examined carcass tells: whether it died before, during or after birth, and how old it was when it died.

The signs are common practice, after the scheme that McFarlane gave for lambs in the 1960s (from memory, unchecked):
lungs without air say that it never breathed, decay in the womb that it was dead before labour, worn soles that it
walked, milk that it fed.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.following.ages import answered
from neonatal_stats.season.following.follow import by_place
from neonatal_stats.season.following.placing import NOBODY
from neonatal_stats.vocabulary.terms import STILLBIRTH

BEFORE, BEFORE_OR_DURING, DURING, AFTER = (
    "before birth",
    "before or during birth",
    "during birth",
    "after birth",
)
TIMES = (BEFORE, BEFORE_OR_DURING, DURING, AFTER)
NOT_WALKED, NOT_FED, FED = "had breathed, not walked", "had walked, not fed", "had fed"
REACHED = (NOT_WALKED, NOT_FED, FED)
"""How far those that died after birth had come."""
AGES_H = (24.0, 168.0)
AGE_CLASSES = ("at or before birth", "first day", "2 to 7 days", "later")


def time_of_death(examined: pd.DataFrame) -> pd.Series:
    """When each died, by the signs; missing where they do not tell.

    Counted
    -------
    Any sign of having breathed, walked or fed says after birth. Never breathed and decayed: before birth; never
    breathed and not decayed: during birth; never breathed, and nobody looked for decay: one of the two. Decay alone
    does not tell: a carcass decays after birth as well.

    Examples
    --------
    >>> signs = {"breathed": [False, False, True, None], "autolysed": [True, False, None, True]}
    >>> frame = pd.DataFrame(signs, dtype="boolean")
    >>> time_of_death(frame).tolist()
    ['before birth', 'during birth', 'after birth', nan]
    """
    after = (
        answered(examined, "breathed", True)
        | answered(examined, "walked", True)
        | answered(examined, "fed", True)
    )
    silent = answered(examined, "breathed", False)
    decayed, fresh = answered(examined, "autolysed", True), answered(examined, "autolysed", False)
    place = np.select([after, silent & decayed, silent & fresh, silent], [3, 0, 2, 1], -1)
    return by_place(place, TIMES).set_axis(examined.index)


def how_far(examined: pd.DataFrame) -> pd.Series:
    """How far one that died after birth had come; missing for the others, and where walking and milk do not tell."""
    after = time_of_death(examined).astype(object) == AFTER
    fed = answered(examined, "fed", True)
    walked = answered(examined, "walked", True) & answered(examined, "fed", False)
    still = answered(examined, "walked", False) & ~fed
    place = np.select([~after, fed, walked, still], [-1, 2, 1, 0], -1)
    return by_place(place, REACHED).set_axis(examined.index)


def age_class(examined: pd.DataFrame, stillborn: pd.Series) -> pd.Series:
    """The age at death in classes: by the signs, or where it was born dead; else by the records.

    Parameters
    ----------
    examined : with age_low_h and age_high_h.
    stillborn : True where the records say that it was born dead.

    Counted
    -------
    A class ends before its last hour, as the windows of loss do. Missing where two classes are possible.
    """
    low, high = (examined[name].to_numpy(float) for name in ("age_low_h", "age_high_h"))
    first, last = np.searchsorted(AGES_H, low, side="right"), np.searchsorted(AGES_H, high, side="left")
    known = ~np.isnan(low) & ((low == high) | (first == last))
    signs = time_of_death(examined).astype(object)
    unborn = signs.isin((BEFORE, BEFORE_OR_DURING, DURING)) | (stillborn & (signs != AFTER))
    place = np.where(unborn, 0, np.where(known, 1 + first, -1))
    return by_place(place, AGE_CLASSES).set_axis(examined.index)


def with_cause(examined: pd.DataFrame) -> pd.Series:
    """Whether the examination found why it died: a cause that is not unknown, and not stillbirth, which only says when;
    or an agent, be it only the laboratory's word that there was one.
    """
    nobody = pd.Series(None, index=examined.index, dtype=object)
    cause = examined.get("cause", nobody).astype(object)
    settled = cause.notna() & ~cause.isin(("unknown", STILLBIRTH))
    return settled | with_agent(examined)


def with_agent(examined: pd.DataFrame) -> pd.Series:
    """Whether the laboratory found an agent, named or not."""
    nobody = pd.Series(None, index=examined.index, dtype=object)
    found = examined.get("laboratory", nobody).astype(object).eq("agent found")
    return found | examined.get("agent", nobody).notna()


def clusters(examined: pd.DataFrame, births: pd.DataFrame) -> pd.Series:
    """The litters (or what else births cluster on) of the examined; one that belongs to none is its own."""
    own = pd.Series(np.arange(len(examined)), index=examined.index)
    if births.empty:
        return examined["litter"]
    by_newborn = births.set_index("newborn")["cluster"]
    by_litter = births.drop_duplicates("litter").set_index("litter")["cluster"]
    found = examined["newborn"].map(by_newborn)
    found = found.fillna(examined["litter"].map(by_litter))
    beyond = int(births["cluster"].max()) + 1
    return found.fillna(own + beyond).astype(np.int64)


def named_birth(examined: pd.DataFrame) -> pd.Series:
    """Whether an examination stands beside a newborn of the births."""
    return examined["newborn"] != NOBODY
