"""Passive transfer: blood samples classed by published cut points, each newborn once, those drawn in time.

A sample whose age is known only to lie between two ages is classed where both lie in the window; where one lies
outside, its class is kept apart, and shares are bounded by it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.measures.colostrum import first_feeds
from neonatal_stats.season.following.follow import birth_type, born_by, ordered, parity_class
from neonatal_stats.vocabulary.passive_transfer import BRIX, IGG, PROTEIN, TURBIDITY, Scheme, scheme
from neonatal_stats.vocabulary.terms import FEED_SOURCES

MEASURES = (IGG, PROTEIN, BRIX, TURBIDITY)
"""Serum measures, the one that is asked first before the others."""
TOO_EARLY, TOO_LATE, NO_AGE, UNDECIDED, LIMIT_OPEN = (
    "drawn too early",
    "drawn too late",
    "age at sampling not known",
    "perhaps drawn outside the window",
    "a limit that leaves its class open",
)
DAY_H = 24.0
"""Ages further apart than this are by two days, of birth and of sampling; both ends then lie just outside."""
GROUPED_BY = ("parity_class", "source", "birth_type", "born_by")
"""By what samples are counted: the dam's litters, the source of the first colostrum, the kind of birth."""


def limits(samples: pd.DataFrame, measure: str) -> pd.Series:
    """What stands for a value and is a limit ("<8"); missing elsewhere."""
    return samples.get(f"{measure}_limit", pd.Series(None, index=samples.index, dtype=object))


def measured(samples: pd.DataFrame, measure: str) -> pd.Series:
    """Where a measure has a value, or a limit in its place."""
    if measure not in samples:
        return pd.Series(False, index=samples.index)
    return samples[measure].notna() | limits(samples, measure).notna()


def schemes(samples: pd.DataFrame, species: str) -> tuple[Scheme, ...]:
    """The scheme of every serum measure with a value for which the species has one."""
    held = (scheme(species, one) for one in MEASURES if measured(samples, one).any())
    return tuple(one for one in held if one is not None)


def unclassed(samples: pd.DataFrame, species: str) -> tuple[str, ...]:
    """The serum measures with a value for which no cut points of the species are at hand."""
    held = (one for one in MEASURES if measured(samples, one).any())
    return tuple(one for one in held if scheme(species, one) is None)


@dataclass(frozen=True, eq=False)
class Classed:
    """Samples of one measure, classed.

    ``samples`` one row a newborn (its first sample inside the window): newborn, age_h, value (missing where a limit
    alone tells the class), group (ordered categorical, best class first), cluster; ``undecided`` the same of newborns
    without such a sample of which one may have been drawn inside the window or outside; ``between`` of newborns without
    either whose sample is a limit that several classes allow: best and worst (their places among the classes), surely
    (drawn inside the window); ``left_out`` samples not classed, by reason.
    """

    scheme: Scheme
    samples: pd.DataFrame
    left_out: tuple[tuple[str, int], ...]
    undecided: pd.DataFrame
    between: pd.DataFrame


def classed(births: pd.DataFrame, samples: pd.DataFrame, scheme: Scheme) -> Classed:
    """Class the samples of a measure.

    Parameters
    ----------
    births : newborn and cluster; empty where the samples stand alone, which are then clustered on their ``litter``.

    Counted
    -------
    Samples with a value, or with a limit that tells the class, drawn within the window of the scheme; the first of a
    newborn where it has several.
    The others are counted by reason: too early (the gut may still be absorbing; so is whatever was drawn on the day of
    birth, where samples are classed from 24 h on), too late (the newborn makes
    its own, and what it had wears off), no age, or not certain: birth or sample is known to the day only, and one end
    of what is possible lies outside the window.

    Examples
    --------
    Calves with IgG 25.0 and 24.9 g/l at 30 h are excellent and good; one sampled at 10 h is set aside as too
    early.
    """
    known = samples[measured(samples, scheme.measure).to_numpy()]
    known = known.assign(**_places(known, scheme))
    open_class = known["best"] != known["worst"]
    low, high = _ages(known)
    why = pd.Series(
        np.select(
            [
                low.isna(),
                (high < scheme.from_h)
                | ((high == scheme.from_h) & (low < high)),  # a day ends before its end
                (low > scheme.to_h)
                | ((low == scheme.to_h) & (high - low > DAY_H)),  # born before the day's end
                (low < scheme.from_h) | (high > scheme.to_h),
            ],
            [NO_AGE, TOO_EARLY, TOO_LATE, UNDECIDED],
            "",
        ),
        index=known.index,
    )
    ranked = known.assign(low=low, surely=why == "").sort_values(["newborn", "low"], kind="stable")
    why = why.mask((why == "") & open_class, LIMIT_OPEN)
    kept = ranked[(why == "").reindex(ranked.index).to_numpy()]
    repeated = int(kept["newborn"].duplicated().sum())
    between = ranked[(why.isin((UNDECIDED, LIMIT_OPEN)) & open_class).reindex(ranked.index).to_numpy()]
    between = between.sort_values(["newborn", "surely"], ascending=[True, False], kind="stable")
    between = between[~between["newborn"].isin(kept["newborn"])].drop_duplicates("newborn")
    open_ones = ranked[((why == UNDECIDED) & ~open_class).reindex(ranked.index).to_numpy()]
    open_ones = open_ones[~open_ones["newborn"].isin([*kept["newborn"], *between["newborn"]])]
    counts = tuple(
        (reason, int((why == reason).sum()))
        for reason in (TOO_EARLY, TOO_LATE, NO_AGE, UNDECIDED, LIMIT_OPEN)
        if reason != LIMIT_OPEN or (why == LIMIT_OPEN).any()
    )
    return Classed(
        scheme,
        _grouped(kept, births, scheme),
        (*counts, ("a later sample of the same newborn", repeated)),
        _grouped(open_ones, births, scheme),
        between[["newborn", "best", "worst", "surely"]].reset_index(drop=True),
    )


def _places(samples: pd.DataFrame, scheme: Scheme) -> dict[str, pd.Series]:
    """The best and the worst class that each sample allows, by their places; both the same but for some limits.

    >>> from neonatal_stats.vocabulary.passive_transfer import scheme
    >>> rows = pd.DataFrame({"igg_g_per_l": [9.9, None, None], "igg_g_per_l_limit": [None, "<10", "≤10"]})
    >>> [_places(rows, scheme("cattle", "igg_g_per_l"))[end].tolist() for end in ("best", "worst")]
    [[3, 3, 2], [3, 3, 3]]
    """
    if not scheme.cuts:
        place = pd.Series(
            pd.Categorical(samples[scheme.measure], list(scheme.classes)).codes, index=samples.index
        )
        return {"best": place, "worst": place}
    limit = limits(samples, scheme.measure)
    sign, bound = limit.str[:1], pd.to_numeric(limit.str[1:]).astype(float)
    value = samples[scheme.measure].astype(float).fillna(bound)
    at = sum(((value < cut).astype(int) for cut in scheme.cuts), pd.Series(0, index=samples.index))
    under = sum(((value <= cut).astype(int) for cut in scheme.cuts), pd.Series(0, index=samples.index))
    best = at.mask(sign == "<", under).mask(sign.isin((">", "≥")), 0)
    return {"best": best, "worst": at.mask(sign.isin(("<", "≤")), len(scheme.cuts))}


def _ages(samples: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """The least and the greatest age at each sample."""
    age = samples["age_h"].astype(float) if len(samples) else pd.Series(dtype=float)
    if "age_low_h" not in samples:
        return age, age
    return age.fillna(samples["age_low_h"].astype(float)), age.fillna(samples["age_high_h"].astype(float))


def _grouped(samples: pd.DataFrame, births: pd.DataFrame, scheme: Scheme) -> pd.DataFrame:
    """The first of these samples of each newborn, with its class and its cluster."""
    kept = samples.drop_duplicates("newborn").reset_index(drop=True)
    if kept.empty:
        return _empty(scheme)
    value = kept[scheme.measure].astype(float) if scheme.cuts else pd.Series(np.nan, index=kept.index)
    named = np.asarray(scheme.classes, dtype=object)[kept["best"].to_numpy(int)]
    cluster = kept["litter"] if births.empty else kept["newborn"].map(births.set_index("newborn")["cluster"])
    group = pd.Categorical(named, list(scheme.classes), ordered=True)
    return kept[["newborn", "age_h"]].assign(value=value, group=group, cluster=cluster)


def _empty(scheme: Scheme) -> pd.DataFrame:
    frame = pd.DataFrame({"newborn": pd.Series(dtype=int), "age_h": pd.Series(dtype=float)})
    return frame.assign(
        value=pd.Series(dtype=float),
        group=pd.Categorical([], list(scheme.classes), ordered=True),
        cluster=pd.Series(dtype=int),
    )


def with_groups(
    rows: pd.DataFrame, births: pd.DataFrame, feeds: pd.DataFrame, samples: pd.DataFrame
) -> pd.DataFrame:
    """What each sampled newborn is grouped by (`GROUPED_BY`): as its birth and first feed say, else as its sample does.

    Parameters
    ----------
    rows : one row a newborn, with ``newborn``.
    samples : as the readers give them; of several of a newborn the first that says anything speaks.
    """
    own = samples.drop(columns=["age_h"], errors="ignore").groupby("newborn").first()
    known = births.set_index("newborn") if len(births) else pd.DataFrame()
    classes: dict[str, tuple[str, Callable[[pd.Series], pd.Series]]] = {
        "parity_class": ("dam_parity", parity_class),
        "birth_type": ("litter_size", birth_type),
        "born_by": ("delivery", born_by),
    }
    made = rows.reset_index(drop=True)
    for name, (of, classed_by) in classes.items():
        told = made["newborn"].map(own[of]) if of in own else pd.Series(None, index=made.index, dtype=object)
        told = told if of == "delivery" else told.astype(float)
        mine = classed_by(told) if told.notna().any() else None
        if name in known:
            theirs = made["newborn"].map(known[name].astype(object)).astype(object)
            mine = ordered(
                theirs if mine is None else theirs.where(theirs.notna(), mine.astype(object)),
                list(known[name].cat.categories),
            )
        if mine is not None:
            made[name] = mine
    source = _sources(made["newborn"], feeds, own)
    return made if source is None else made.assign(source=source)


def _sources(newborn: pd.Series, feeds: pd.DataFrame, own: pd.DataFrame) -> pd.Series | None:
    """Where the first colostrum came from: of the feeds, else as the sample says; None where nobody wrote it."""
    first = first_feeds(feeds)
    told = own["source"] if "source" in own else pd.Series(dtype=object)
    fed = first.set_index("newborn")["source"] if "source" in first else pd.Series(dtype=object)
    both = newborn.map(fed).astype(object)
    both = both.where(both.notna(), newborn.map(told).astype(object))
    return ordered(both, FEED_SOURCES) if both.notna().any() else None
