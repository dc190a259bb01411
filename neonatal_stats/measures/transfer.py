"""Passive transfer: blood samples classed by published cut points, each newborn once, those drawn in time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.vocabulary.passive_transfer import BRIX, IGG, PROTEIN, Scheme, scheme

MEASURES = (IGG, PROTEIN, BRIX)
"""Serum measures, the one that is asked first before the others."""
TOO_EARLY, TOO_LATE, NO_AGE = "drawn too early", "drawn too late", "age at sampling not known"


def schemes(samples: pd.DataFrame, species: str) -> tuple[Scheme, ...]:
    """The scheme of every serum measure with a value for which the species has one."""
    held = (scheme(species, one) for one in MEASURES if one in samples and samples[one].notna().any())
    return tuple(one for one in held if one is not None)


@dataclass(frozen=True, eq=False)
class Classed:
    """Samples of one measure, classed.

    ``samples`` one row a newborn (its first sample inside the window): newborn, age_h, value, group (ordered
    categorical, best class first), cluster; ``left_out`` samples not classed, by reason.
    """

    scheme: Scheme
    samples: pd.DataFrame
    left_out: tuple[tuple[str, int], ...]


def classed(births: pd.DataFrame, samples: pd.DataFrame, scheme: Scheme) -> Classed:
    """Class the samples of a measure.

    Counted
    -------
    Samples with a value, drawn within the window of the scheme; the first of a newborn where it has several.
    The others are counted by reason: too early (the gut may still be absorbing), too late (the newborn makes
    its own, and what it had wears off), no age.

    Examples
    --------
    Calves with IgG 25.0 and 24.9 g/l at 30 h are excellent and good; one sampled at 10 h is set aside as too
    early.
    """
    known = samples[samples[scheme.measure].notna()] if scheme.measure in samples else samples.head(0)
    age = known["age_h"].astype(float) if len(known) else pd.Series(dtype=float)
    why = pd.Series(
        np.select([age.isna(), age < scheme.from_h, age > scheme.to_h], [NO_AGE, TOO_EARLY, TOO_LATE], ""),
        index=known.index,
    )
    kept = known[why == ""].sort_values(["newborn", "age_h"], kind="stable")
    repeated = int(kept["newborn"].duplicated().sum())
    kept = kept.drop_duplicates("newborn").reset_index(drop=True)
    value = kept[scheme.measure].astype(float) if len(kept) else pd.Series(dtype=float)
    place = np.zeros(len(kept), dtype=np.int64)
    for cut in scheme.cuts:
        place += (value < cut).to_numpy()
    named = np.asarray(scheme.classes, dtype=object)[place]
    codes = pd.Categorical(named, list(scheme.classes), ordered=True)
    frame = kept[["newborn", "age_h"]].assign(value=value, group=codes) if len(kept) else _empty(scheme)
    frame["cluster"] = frame["newborn"].map(births.set_index("newborn")["cluster"])
    counts = tuple((reason, int((why == reason).sum())) for reason in (TOO_EARLY, TOO_LATE, NO_AGE))
    return Classed(scheme, frame, (*counts, ("a later sample of the same newborn", repeated)))


def _empty(scheme: Scheme) -> pd.DataFrame:
    frame = pd.DataFrame({"newborn": pd.Series(dtype=int), "age_h": pd.Series(dtype=float)})
    return frame.assign(
        value=pd.Series(dtype=float), group=pd.Categorical([], list(scheme.classes), ordered=True)
    )
