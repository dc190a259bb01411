"""Which columns are not asked of these newborns: what nobody takes of every one of them in such a flock or herd."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.published import TAKEN_OFF
from neonatal_stats.vocabulary.species import SPECIES

MOST_BY_HAND = 0.5
"""Share of those with a rearing written from which newborns are taken to be taken off their dams."""


def taken_off(births: pd.DataFrame, settings: Settings) -> bool:
    """Are newborns taken off their dams at birth, so that no dam is watched to accept hers?

    So it is where the kind of herd says so, or most were reared by hand, and none was judged at mothering-up.
    """
    judged = "failed_mothering" in births and births["failed_mothering"].notna().any()
    if judged:
        return False
    rearing = births["rearing"].dropna().astype(str) if "rearing" in births else pd.Series(dtype=object)
    by_hand = len(rearing) > 0 and float((rearing == "artificial").mean()) >= MOST_BY_HAND
    return by_hand or settings.kind in TAKEN_OFF


def not_asked(births: pd.DataFrame, settings: Settings) -> frozenset[str]:
    """Columns of births that no review asks to be written for every newborn of these.

    By species, those that its entry names; mothering-up where newborns are taken off at birth.
    """
    here = set(births["species"].dropna().astype(str))
    of_species = {name for one in SPECIES if one.name in here for name in one.not_asked}
    return frozenset(of_species | ({"mothered_up"} if taken_off(births, settings) else set()))
