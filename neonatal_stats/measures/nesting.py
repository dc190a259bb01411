"""Groups that are part of a broader group stand under it: twins and triplets under "twins and more"."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.vocabulary.factors import SAME, WITHIN


def nested(groups: pd.DataFrame) -> pd.DataFrame:
    """The groups in their order, but each part right under the broader group that holds it, where that is there.

    Parameters
    ----------
    groups : frame with factor and group; a row of two levels together (with_factor) is no part of anything.

    Returns
    -------
    The rows with `depth`: 1 for a part under its broader group, else 0. A group that is there twice under two names
    (singles as a birth type and as "not twins and more") stays once, by the name that `vocabulary.factors.SAME` keeps.
    """
    pair = groups["with_factor"] != "" if "with_factor" in groups else [False] * len(groups)
    names = [
        (factor, group) if not two else ("", "")
        for factor, group, two in zip(groups["factor"], groups["group"], pair, strict=True)
    ]
    there = set(names)
    kept = [place for place, name in enumerate(names) if SAME.get(name) not in there]
    broader = {place: WITHIN[names[place]] for place in kept if WITHIN.get(names[place]) in there}
    order: list[int] = []
    for place in kept:
        if place not in broader:
            order += [place, *(part for part, whole in broader.items() if whole == names[place])]
    return groups.iloc[order].assign(depth=[int(place in broader) for place in order])
