"""What an examination says of its newborn's birth: that it died, and of what where its row gives no cause."""

from __future__ import annotations

import numpy as np
import pandas as pd

from neonatal_stats.season.checks.agreement import LIVED
from neonatal_stats.season.finding import found_in, say
from neonatal_stats.season.following.ages import answered, birth
from neonatal_stats.season.following.links import newborn_of
from neonatal_stats.season.following.placing import when
from neonatal_stats.season.gathering.gathered import Gathered
from neonatal_stats.season.grid import Mask
from neonatal_stats.vocabulary.terms import STILLBIRTH

SIGN = "examinations|sign"
"""The column of births that says so to `settled.settle`."""


def examined_dead(births: Gathered, examinations: Gathered) -> None:
    """Mark the newborns of examinations as dead before outcomes are settled; those said to live are asked about.

    A newborn is known by its identity alone here: an examination that names only the dam makes no death.
    """
    frame = births.frame
    if not len(births.origin) or not len(examinations.origin) or "newborn_id" not in frame:
        return
    kept = examinations.frame[examinations.ledger.kept]
    known = frame.assign(newborn=np.arange(len(frame)), born=birth(frame))
    places, _ = newborn_of(kept.assign(when=when("examinations", kept)), known, "when")
    opened = np.zeros(len(frame), dtype=bool)
    opened[places.dropna().astype(int).to_numpy()] = True
    nothing = pd.Series(None, index=frame.index, dtype=object)
    state = frame.get("died|state", nothing).astype(object)
    living = opened & (state == "alive").to_numpy()
    problem = say("its carcass was examined, and it is said not to have died; it was counted as dead")
    remedy = say("look which of the two is right and mend the other")
    births.enter(found_in(frame, living, "died", problem, remedy, "asked", about="outcome"))
    births.frame = frame.assign(
        **{"died|state": state.mask(living, "dead"), SIGN: nothing.mask(opened, "dead")}
    )
    births.frame[LIVED] = _lived(kept, places, len(frame))
    if living.any():
        births.frame["died"] = frame["died"].mask(living, True)
    _causes(births, kept, places)


def with_keepers_stillbirths(examinations: pd.DataFrame, refuted: pd.Series) -> pd.DataFrame:
    """The examinations with "stillbirth" as the keeper's word, where a birth's row said so and was not believed.

    ``refuted`` holds the newborns (numbers as in ``examinations``) that were written down as born dead.
    """
    if examinations.empty or refuted.empty:
        return examinations
    own = examinations.get("keeper_cause", pd.Series(None, index=examinations.index, dtype=object)).astype(
        object
    )
    said = own.isna() & examinations["newborn"].isin(refuted)
    return examinations.assign(keeper_cause=own.mask(said, STILLBIRTH)) if said.any() else examinations


def _lived(examined: pd.DataFrame, places: pd.Series, n: int) -> Mask:
    """The newborns that had breathed, walked or fed, by their examination."""
    signs = [answered(examined, name, True) for name in ("breathed", "walked", "fed")]
    lived = np.zeros(n, dtype=bool)
    lived[places[np.logical_or.reduce(signs) & places.notna()].astype(int).to_numpy()] = True
    return lived


def _causes(births: Gathered, examined: pd.DataFrame, places: pd.Series) -> None:
    """Where a birth's row gives no cause, that of its examination, with what it rests on; a written one stays."""
    if "cause" not in examined:
        return
    said = examined["cause"].notna() & (examined["cause"] != "unknown") & places.notna()
    rows = places[said].astype(int).to_numpy()
    nothing = pd.Series(None, index=births.frame.index, dtype=object)
    basis = examined.get("cause_basis", pd.Series(None, index=examined.index, dtype=object))
    found, rests = nothing.copy(), nothing.copy()
    found.iloc[rows] = examined["cause"][said].to_numpy(dtype=object)
    rests.iloc[rows] = basis[said].where(basis[said].notna(), "post-mortem").to_numpy(dtype=object)
    own = births.frame.get("cause", nothing).astype(object)
    blank = found.notna() & (own.isna() | (own == "unknown"))
    problem = say("its row gives no cause of loss; that of its examination was taken")
    births.enter(found_in(births.frame, blank, "cause", problem, say("nothing need be done"), "noted"))
    old = births.frame.get("cause_basis", nothing).astype(object)
    births.frame = births.frame.assign(cause=own.mask(blank, found), cause_basis=old.mask(blank, rests))
