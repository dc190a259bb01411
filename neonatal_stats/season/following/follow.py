"""What follows from a season's records: ages, outcomes, litters and the classes that chapters group by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas.api.types import (
    is_bool_dtype,
    is_datetime64_any_dtype,
    is_float_dtype,
    is_integer_dtype,
    is_object_dtype,
    is_string_dtype,
)

from neonatal_stats.season.following.ages import (
    ELAPSED,
    birth,
    born,
    causes,
    day_of,
    died,
    lost_by,
    numbers,
    stillborn,
    watched,
)
from neonatal_stats.season.following.links import (
    Codes,
    cluster_name,
    codes,
    count_litters,
    dam_codes,
    litter_codes,
    over_group,
)
from neonatal_stats.season.following.seasons import in_time
from neonatal_stats.season.grid import in_order_of
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import BIRTHS
from neonatal_stats.vocabulary.derived import OF_WINDOW, derived

SHAPED: tuple[str, ...] = ("died", "cause", "lost", "outcome", "cluster")
SHAPED += ("age_h", "age_low_h", "age_high_h", "age_known", "age_precision")
"""Columns on which the settings act, besides those of the windows."""
FIRST_ORDER = ("farm", "season", "born", "dam_id", "birth_order", "newborn_id")
GROUPED = (
    "delivery",
    "sex",
    "birth_place",
    "suck_reflex",
    "mothered_up",
    "rearing",
    "left_reason",
    "cause_basis",
)
OF_KIND = {
    "text": "text",
    "terms": "text",
    "moment": "moment",
    "date": "moment",
    "number": "number",
    "integer": "number",
    "elapsed": "number",
    "yes_no": "flag or missing",
}
THREE_DAYS = np.timedelta64(3, "D")
"""numpy's weeks begin on Thursday: so many days later than ours."""
ORDERED = ("farm", "season", "cause", *GROUPED)
"""Tidy columns that are ordered classes, those of the season by time."""


def ordered(values: pd.Series | NDArray[Any] | Sequence[object], categories: Sequence[str]) -> pd.Series:
    """An ordered categorical column; what is none of the categories is missing."""
    given = pd.Index(np.asarray(values, dtype=object), dtype=object)
    return by_place(pd.CategoricalDtype(list(categories)).categories.get_indexer(given), categories)


def by_place(place: NDArray[np.integer[Any]], categories: Sequence[str]) -> pd.Series:
    """An ordered categorical column from places in its categories; -1 is missing."""
    kind = pd.CategoricalDtype(list(categories), ordered=True)
    return pd.Series(pd.Categorical.from_codes(place, dtype=kind))


def birth_type(litter_size: pd.Series) -> pd.Series:
    """Single, twin, triplet, four or more."""
    size = litter_size.to_numpy(dtype=float, na_value=np.nan)
    place = np.where(np.isnan(size), 0, np.minimum(size, 4)).astype(int) - 1
    return by_place(place, terms.BIRTH_TYPES)


def born_by(delivery: pd.Series) -> pd.Series:
    """Born vaginally, by surgery, or by embryotomy, which is for a newborn that is lost already."""
    named = delivery.astype(object).map(terms.BORN_BY).astype(object).reset_index(drop=True)
    known = named.where(named.notna(), "born vaginally").where(delivery.notna().to_numpy())
    return ordered(known, ("born vaginally", *terms.BORN_BY.values()))


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


def sex_mix(sex: pd.Series, litter: Codes) -> pd.Series:
    """All female, all male or mixed, over the litter; missing where the sex of any of it is not known."""
    text = sex.astype(object)
    female, male = (text == "female").to_numpy(), text.isin(("male", "castrated male")).to_numpy()
    odd, males, females = (over_group(np.maximum, of, litter) for of in (~(female | male), male, female))
    return by_place(np.select([odd, ~males, ~females], [-1, 0, 1], 2), ("all female", "all male", "mixed"))


def failed_mothering(mothered_up: pd.Series) -> pd.Series:
    """Rejected, abandoned or mismothered; missing where not judged."""
    text = mothered_up.astype(object)
    failed = pd.arrays.BooleanArray((text == "no").to_numpy(), (~text.isin(("yes", "no"))).to_numpy())
    return pd.Series(failed, index=mothered_up.index)


CLASSES: tuple[tuple[str, str, Callable[[pd.Series], pd.Series]], ...] = (
    ("birth_type", "litter_size", birth_type),
    ("born_by", "delivery", born_by),
    ("difficulty", "delivery", difficulty),
    ("parity_class", "dam_parity", parity_class),
    ("suck_class", "suck_reflex", suck_class),
    ("failed_mothering", "mothered_up", failed_mothering),
)
"""Columns that follow from one column of the same row, each with it."""


def follow(births: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Tidy births with everything that follows from them, in an order that does not depend on the rows' order.

    Parameters
    ----------
    births : frame
        Tidy columns of the vocabulary; at least farm, season and species.
    settings : Settings

    Returns
    -------
    frame
        One row a newborn with the added columns: litter, dam, farm_code, cluster, litter_size_counted, birth_type,
        born_by, difficulty, parity_class, weight_class, suck_class, sex_mix, born, born_precision, born_week,
        born_hour, stillborn, died, cause, age_h, age_low_h, age_high_h, age_known, age_precision, lost, lost_by_*,
        stood_after_h, fed_after_h, meconium_after_h with *_not_by_h, failed_mothering and newborn (its row number).
        Their kinds and meanings stand in `vocabulary.derived`, and are checked.

    Counted
    -------
    Every row; nothing is dropped here. A death after the end of follow-up counts as alive at that end.
    """
    frame = in_order(births)
    frame = _birth_moment(frame)
    frame = _outcome(frame, settings)
    frame = _together(frame, settings)
    frame = _classes(frame)
    frame = _first_hours(frame)
    return checked(frame.assign(newborn=np.arange(len(frame))))


def followed_again(births: pd.DataFrame, recorded: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """The births with what other windows, another follow-up or another cluster make of the same recorded rows."""
    fresh = follow(recorded, settings)
    kept = births.drop(columns=[name for name in births if str(name).startswith(OF_WINDOW)])
    shaped = [name for name in fresh if name in SHAPED or str(name).startswith(OF_WINDOW)]
    return checked(kept.assign(**{str(name): fresh[name] for name in shaped}))


def in_order(births: pd.DataFrame) -> pd.DataFrame:
    """The rows in canonical order: farm, season, birth, dam, order of birth, identity, then everything else."""
    frame = births.reset_index(drop=True)
    keyed = {**{str(name): frame[name].to_numpy() for name in frame}, "born": birth(frame)}
    names = dict.fromkeys([*(name for name in FIRST_ORDER if name in keyed), *keyed])
    order = in_order_of((keyed[name] for name in names), len(frame))
    return frame.take(order).reset_index(drop=True)


def _birth_moment(frame: pd.DataFrame) -> pd.DataFrame:
    moment, precision = born(frame)
    day = day_of(moment)
    hour = (moment.astype("datetime64[h]") - day) / np.timedelta64(1, "h")
    return frame.assign(
        born=moment,
        born_precision=precision,
        born_week=((day + THREE_DAYS).astype("datetime64[W]") - THREE_DAYS).astype(moment.dtype),
        born_hour=np.where(precision == "time", hour, np.nan),
    )


def _outcome(frame: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    dead, still = died(frame), stillborn(frame)
    ages = watched(frame, dead, still, settings)
    lost = dead & ~ages.pop("outlived")
    cause = ordered(causes(frame, lost, still), settings.causes)
    outcome = np.where(lost, "dead", "alive").astype(object)
    frame = frame.assign(stillborn=still, died=lost, **ages, cause=cause, lost=lost, outcome=outcome)
    windows = {
        f"{OF_WINDOW}{name.replace(' ', '_')}": lost_by(frame, end_h, end_h >= settings.follow_up_h)
        for name, end_h in settings.windows_h.items()
    }
    return frame.assign(**windows)


def _together(frame: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    litter, dam, farm = litter_codes(frame), dam_codes(frame), codes(frame, ["farm"])
    cluster = {"litter": litter, "dam": dam, "farm": farm}[cluster_name(frame, settings)]
    if "litter_size_counted" not in frame:
        frame = count_litters(frame, np.ones(len(frame), dtype=bool))
    return frame.assign(litter=litter, dam=dam, farm_code=farm, cluster=cluster)


def _classes(frame: pd.DataFrame) -> pd.DataFrame:
    found = {name: classed(frame[of]) for name, of, classed in CLASSES if of in frame}
    if "birth_weight_kg" in frame:
        found["weight_class"] = weight_class(frame["birth_weight_kg"], frame["species"])
    if "sex" in frame:
        found["sex_mix"] = sex_mix(frame["sex"], frame["litter"].to_numpy())
    words = {c.name: c.words for c in BIRTHS if c.name in GROUPED and c.name in frame}
    found |= {name: ordered(frame[name], categories) for name, categories in words.items()}
    found["farm"] = ordered(frame["farm"], sorted(map(str, frame["farm"].unique())))
    found["season"] = ordered(frame["season"], in_time(frame["season"], frame["born"]))
    return frame.assign(**found)


def _first_hours(frame: pd.DataFrame) -> pd.DataFrame:
    """Hours to standing, first feed and meconium, and until when each was seen not to have happened."""
    hours = {}
    for name in ELAPSED:
        if name in frame:
            stem = name.removesuffix("_after_min")
            hours[f"{stem}_after_h"] = numbers(frame, name) / 60
            hours[f"{stem}_not_by_h"] = numbers(frame, f"{name}_not_by") / 60
    return frame.assign(**hours)


def with_first_feed(births: pd.DataFrame, feeds: pd.DataFrame) -> pd.DataFrame:
    """Births whose first feed is the earlier of the one written with the birth and the first in the feeds.

    ``feeds`` are tidy, with ``newborn`` (row of births in the canonical order) and ``age_h``.
    """
    if not len(feeds) or not feeds["age_h"].notna().any():
        return births
    earliest = feeds.groupby("newborn")["age_h"].min().reindex(births.index)
    written = births.get("fed_after_h", pd.Series(np.nan, index=births.index))
    first = pd.concat([written, earliest], axis=1).min(axis=1)
    not_by = births.get("fed_not_by_h", pd.Series(np.nan, index=births.index)).where(first.isna())
    return births.assign(fed_after_h=first, fed_not_by_h=not_by)


@cache
def kind_of(name: str) -> str:
    """The kind of a column of births as `follow` leaves it; "" for a column that is not of the vocabulary."""
    if (found := derived("births", name)) is not None:
        return found.kind
    if name == "died" or name.endswith("_is_day"):
        return "flag"
    if name in ORDERED:
        return "class"
    if name.endswith("_not_by"):
        return "number"
    return next((OF_KIND.get(column.kind, "text") for column in BIRTHS if column.name == name), "")


def checked(births: pd.DataFrame) -> pd.DataFrame:
    """The frame itself. Raises `TypeError`, naming each column of another kind than agreed."""
    odd = [
        f"{name} is {births[name].dtype} and should be a {kind}"
        for name in map(str, births.columns)
        if (kind := kind_of(name)) and not _is(births[name], kind)
    ]
    if odd:
        raise TypeError(f"births: {'; '.join(odd)}")
    return births


def _is(values: pd.Series, kind: str) -> bool:
    dtype = values.dtype
    if kind == "class":
        return isinstance(dtype, pd.CategoricalDtype) and bool(dtype.ordered)
    if isinstance(dtype, pd.CategoricalDtype):
        return False
    if kind == "flag":
        return is_bool_dtype(dtype) and isinstance(dtype, np.dtype)
    if kind == "flag or missing":
        return is_bool_dtype(dtype) and not isinstance(dtype, np.dtype)
    if kind == "number":
        return is_float_dtype(dtype)
    if kind == "code":
        return is_integer_dtype(dtype)
    if kind == "moment":
        return is_datetime64_any_dtype(dtype)
    return is_object_dtype(dtype) or is_string_dtype(dtype)
