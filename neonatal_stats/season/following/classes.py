"""Ordered classes by which the chapters group newborns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.vocabulary import terms


def ordered(values: pd.Series | Sequence[object], categories: Sequence[str]) -> pd.Series:
    """An ordered categorical column; what is none of the categories is missing."""
    kind = pd.CategoricalDtype(list(categories), ordered=True)
    return pd.Series(np.asarray(values, dtype=object)).astype(kind)


def by_place(place: NDArray[np.integer[Any]], categories: Sequence[str]) -> pd.Series:
    """An ordered categorical column from places in its categories; -1 is missing."""
    kind = pd.CategoricalDtype(list(categories), ordered=True)
    return pd.Series(np.array([*categories, None], dtype=object)[place]).astype(kind)


def birth_type(litter_size: pd.Series) -> pd.Series:
    """Single, twin, triplet, four or more."""
    place = (litter_size.clip(upper=4) - 1).fillna(-1).astype(int)
    return by_place(place.to_numpy(), terms.BIRTH_TYPES)


def born_by(delivery: pd.Series) -> pd.Series:
    """Born naturally or by surgery."""
    surgical = delivery.isin(terms.SURGICAL_DELIVERIES).to_numpy()
    named = np.where(surgical, "born by surgery", "born naturally").astype(object)
    return ordered(pd.Series(named).where(delivery.notna().to_numpy()), ("born naturally", "born by surgery"))


def difficulty(delivery: pd.Series) -> pd.Series:
    """Easy or difficult delivery."""
    hard = delivery.isin(terms.DIFFICULT_DELIVERIES).to_numpy()
    named = np.where(hard, "difficult", "easy").astype(object)
    return ordered(pd.Series(named).where(delivery.notna().to_numpy()), ("easy", "difficult"))


def parity_class(dam_parity: pd.Series) -> pd.Series:
    """First litter, second or third, fourth or later."""
    place = np.select([dam_parity == 1, dam_parity.between(2, 3), dam_parity >= 4], [0, 1, 2], -1)
    return by_place(place, terms.PARITY_CLASSES)


def weight_class(weight_kg: pd.Series, species: pd.Series) -> pd.Series:
    """Lowest fifth (up to the 20 % point), middle, highest fifth (above the 80 % point) within a species."""
    grouped = weight_kg.groupby(species.to_numpy())
    low, high = grouped.transform("quantile", 0.2), grouped.transform("quantile", 0.8)
    lowest = (weight_kg <= low) & (weight_kg < high)
    place = np.select([weight_kg.isna(), lowest, weight_kg > high], [-1, 0, 2], 1)
    return by_place(place, terms.WEIGHT_CLASSES)


def suck_class(suck_reflex: pd.Series) -> pd.Series:
    """Strong, or weak or absent; not checked is missing."""
    meaning = {"strong": "strong", "weak": "weak or absent", "absent": "weak or absent"}
    return ordered(suck_reflex.astype(object).map(meaning), ("strong", "weak or absent"))


def sex_mix(sex: pd.Series, litter: pd.Series) -> pd.Series:
    """All female, all male or mixed, over the litter; missing where the sex of any of it is not known."""
    text = sex.astype(object)
    female, male = (text == "female").to_numpy(), text.isin(("male", "castrated male")).to_numpy()
    by = pd.DataFrame({"female": female, "male": male}).groupby(litter.to_numpy()).transform("all")
    known = pd.Series(female | male).groupby(litter.to_numpy()).transform("all")
    place = np.select([~known, by["female"], by["male"]], [-1, 0, 1], 2)
    return by_place(place, ("all female", "all male", "mixed"))
