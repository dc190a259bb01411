"""What was asked, made sure of before anything is counted: groups, outcome and clusters, or one sentence why not.

Every refusal is a `ValueError` that names the argument, what was found there and what to do instead; a column of the
vocabulary that these records lack is `NotRecorded`, which is one too.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from numbers import Real
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas.api.types import is_bool_dtype, is_datetime64_any_dtype, is_numeric_dtype

from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.drawing import Axes
from neonatal_stats.measures.birth_factors import MAKERS, MANY_LEVELS, factor_of
from neonatal_stats.measures.windows import UNKNOWN_AGES, deaths_without_age, window_columns
from neonatal_stats.season.following.own import age_h
from neonatal_stats.season.model import Season
from neonatal_stats.season.toml_file import nearest, quoted
from neonatal_stats.vocabulary.columns import BIRTHS
from neonatal_stats.vocabulary.derived import OF_BIRTHS, OF_WINDOW
from neonatal_stats.vocabulary.factors import BY_NAME
from neonatal_stats.vocabulary.farm_words import possible_meanings
from neonatal_stats.vocabulary.spelling import words

MANY_NUMBERS = 12
"""A column of more different numbers than this is measured, not grouped."""
OF_THE_OUTCOME = words(
    """died lost outcome stillborn born_alive cause cause_basis age_h age_low_h age_high_h age_known age_precision
    died_at last_alive_at found_dead_at age_at_death_h age_at_death_d left_at left_reason last_seen_at"""
)
"""Columns that tell what became of a newborn."""
TAKES_TIME = words(
    """stood_after_min fed_after_min meconium_after_min stood_after_h fed_after_h meconium_after_h stood_not_by_h
    fed_not_by_h meconium_not_by_h mothered_up failed_mothering rearing handled"""
)
"""Columns of what happens to a newborn only if it lives long enough."""
CLUSTER_COLUMNS = {"litter": "litter", "dam": "dam", "farm": "farm_code"}
KNOWN = frozenset((*(column.name for column in BIRTHS), *(one.name for one in OF_BIRTHS), *BY_NAME, *MAKERS))

By = str | Sequence[str] | None


def names_of(by: By) -> tuple[str, ...]:
    """The columns that were named: none, one or several."""
    if by is None:
        return ()
    names = (by,) if isinstance(by, str) else tuple(by) if isinstance(by, Iterable) else (by,)
    if not names or len(set(names)) < len(names) or not all(isinstance(name, str) for name in names):
        raise ValueError(
            "by: give the name of a column, several different names in a list, or leave it away."
        )
    return names


def births_of(season: Season) -> pd.DataFrame:
    """The births with the columns that stand beside them."""
    if not isinstance(season, Season):
        raise TypeError(f"season: give the season that read_season gives; found {type(season).__name__}.")
    return season.with_beside


def in_groups(season: Season, by: By, *, of_loss: bool) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """The births with each column of ``by`` as ordered groups, missing where it is not known; and the names.

    Parameters
    ----------
    by : factors of the vocabulary, other columns of births, or columns of one's own (`Season.with_column`).
    of_loss : the outcome is loss, which what happened after birth must not be held against.
    """
    names = names_of(by)
    births = births_of(season)
    made = {name: groups_of(season, name, of_loss, "by") for name in names}
    for name, values in made.items():
        if of_loss and name not in KNOWN:
            _no_copy_of_the_outcome(name, values, births["lost"])
        levels = values.cat.categories[np.unique(values.cat.codes[values.notna()])]
        if len(levels) < 2:
            raise ValueError(
                f"by: all newborns with a value of {name} have {quoted(levels[0])}, so there is nothing to "
                "hold it against."
            )
    return births.assign(**made), names


def _no_copy_of_the_outcome(name: str, values: pd.Series, lost: pd.Series) -> None:
    """Refuse a column of one's own of which every group was lost whole or not at all, though some of each were."""
    of_groups = lost.groupby(values, observed=True).mean()
    if len(of_groups) > 1 and of_groups.isin((0.0, 1.0)).all() and of_groups.nunique() == 2:
        raise ValueError(
            f"by: every group of {name} was lost whole or not at all, so it tells what became of a newborn "
            "and has no risk of its own; group by what was known at birth."
        )


def groups_of(season: Season, name: str, of_loss: bool, argument: str) -> pd.Series:
    """One column of births as ordered groups, missing where it is not known; see `in_groups`.

    ``argument`` is what a refusal calls the column.
    """
    births = births_of(season)
    if of_loss and (name in OF_THE_OUTCOME or name.startswith(OF_WINDOW)):
        raise ValueError(
            f"{argument}: {name} tells what became of a newborn, so groups of it have no risk of their own; "
            "losses cause by cause are incidence(season, by), and any yes-no column can be an outcome of rates()."
        )
    known_h = season.own_known_h.get(name, 0.0)
    if of_loss and (name in TAKES_TIME or known_h > 0):
        raise ValueError(
            f"{argument}: {name} takes time to happen, and a newborn that dies first is not in its group; "
            f"landmark(season, {name!r}, mark_h={f'{known_h:g}' if known_h else '...'}) counts from a mark on, among "
            "those alive at it."
        )
    if name not in births and not (name in MAKERS and set(MAKERS[name][0]) <= set(births)):
        raise absent(births, name, argument)
    if name in BY_NAME:
        factor = factor_of(births, name)
        if factor is not None:
            kind = pd.CategoricalDtype(list(factor.levels), ordered=True)
            return pd.Series(pd.Categorical.from_codes(factor.code, dtype=kind), index=births.index)
    if not births[name].notna().any():
        raise NotRecorded(f"{argument}: no newborn of these records has a value of {name}.")
    return _own_groups(births[name], name, argument)


def absent(births: pd.DataFrame, name: str, argument: str) -> ValueError:
    """The error for a column that births do not have: not recorded, or no column at all."""
    if name in KNOWN:
        return NotRecorded(f"{argument}: these records do not hold {name}.")
    meant = {one.column for one in possible_meanings("births", name)} & {str(column) for column in births}
    if len(meant) == 1:
        return ValueError(
            f"{argument}: {quoted(name)} was read as the column {meant.pop()}; group by that name."
        )
    near = nearest(name, [str(column) for column in births])
    hint = near if near.startswith("; did") else "; season.births and season.beside hold those there are."
    return ValueError(
        f"{argument}: births have no column {quoted(name)}{hint} "
        f"A column of your own is added with season.with_column({name!r}, values)."
    )


def _own_groups(values: pd.Series, name: str, argument: str) -> pd.Series:
    """A column as ordered groups: its own order, no before yes, numbers by size, words by the alphabet."""
    if isinstance(values.dtype, pd.CategoricalDtype):
        kind = pd.CategoricalDtype([str(level) for level in values.cat.categories], ordered=True)
        code = values.cat.codes.to_numpy(np.int64)
        made = pd.Series(pd.Categorical.from_codes(code, dtype=kind), index=values.index)
        return _few_enough(made.cat.remove_unused_categories(), name, argument)
    if is_bool_dtype(values.dtype):
        return _in_order(values.map({True: "yes", False: "no"}, na_action="ignore"), ["no", "yes"])
    if is_numeric_dtype(values.dtype):
        numbers = sorted(values.dropna().unique())
        if len(numbers) > MANY_NUMBERS:
            raise ValueError(
                f"{argument}: {name} holds {len(numbers):,} different numbers, which are no groups; cut them into "
                f"classes first: season.with_column('{name}_class', lambda births: pd.qcut(births[{name!r}], 4))."
            )
        return _in_order(values.map(_number, na_action="ignore"), [_number(one) for one in numbers])
    if is_datetime64_any_dtype(values.dtype):
        raise ValueError(
            f"{argument}: {name} holds times; make groups of them first, such as "
            f"season.with_column('month', lambda births: births[{name!r}].dt.month)."
        )
    texts = values.map(str, na_action="ignore")
    return _few_enough(_in_order(texts, sorted(texts.dropna().unique())), name, argument)


def _few_enough(values: pd.Series, name: str, argument: str) -> pd.Series:
    if len(values.cat.categories) > MANY_LEVELS:
        raise ValueError(
            f"{argument}: {name} holds {len(values.cat.categories):,} different words, more than the {MANY_LEVELS} "
            "that can be groups; it seems to name animals. Join them into fewer groups first."
        )
    return values


def _number(value: float) -> str:
    return f"{value:g}"


def _in_order(values: pd.Series, levels: Sequence[str]) -> pd.Series:
    return pd.Series(pd.Categorical(values.astype(object), list(levels), ordered=True), index=values.index)


def yes_no(season: Season, outcome: str) -> tuple[pd.Series, bool]:
    """The outcome as yes-no values, missing where it is not known; and whether it is one of loss.

    ``outcome`` is a yes-no column of births, or the name of a window ("7 d").
    """
    births, windows = births_of(season), window_columns(season.settings)
    if not isinstance(outcome, str):
        raise ValueError(
            f"outcome: name a yes-no column, or a window ({', '.join(windows)}); found {outcome!r}."
        )
    name = windows.get(outcome, outcome)
    if name not in births:
        lacking = absent(births, name, "outcome")
        if isinstance(lacking, NotRecorded):
            raise lacking
        raise ValueError(f"{lacking} Losses by a window are asked for by its name: {', '.join(windows)}.")
    values, of_loss = births[name], name in ("lost", "died", "stillborn") or name.startswith(OF_WINDOW)
    if not values.notna().any():
        raise NotRecorded(f"outcome: no newborn of these records has a value of {name}.")
    if not is_bool_dtype(values.dtype):
        answers = values.map({"yes": True, "no": False, 1: True, 0: False}, na_action="ignore")
        if isinstance(values.dtype, pd.CategoricalDtype) or answers.isna().sum() > values.isna().sum():
            instead = (
                "losses cause by cause are incidence(season, by)" if name == "cause" else _as_yes_no(name)
            )
            raise ValueError(f"outcome: {name} is not yes or no, so no share of newborns has it; {instead}.")
        values = answers
    return values.astype("boolean"), of_loss


def _as_yes_no(name: str) -> str:
    return f"make it so: season.with_column('so', lambda births: births[{name!r}] == ...)"


def clusters(season: Season, cluster: str | None) -> tuple[NDArray[np.int64], str]:
    """A number for each newborn's cluster, and its name; the cluster of the settings where none is said.

    It must hold whole litters: littermates share a dam and a night, and are not independent.
    """
    births = season.with_beside
    if cluster is not None and not isinstance(cluster, str):
        raise ValueError(f"cluster: name litter, dam, farm or one column of your own; found {cluster!r}.")
    if cluster is None:
        name = next(
            (one for one, column in CLUSTER_COLUMNS.items() if births["cluster"].equals(births[column])), ""
        )
        return births["cluster"].to_numpy(np.int64), name or season.settings.cluster
    column = CLUSTER_COLUMNS.get(cluster, cluster)
    if column not in births:
        raise absent(births, column, "cluster")
    values = births[column]
    if values.isna().any():
        raise ValueError(
            f"cluster: {int(values.isna().sum()):,} newborns have no value of {cluster}; give each one, or choose "
            "litter, dam or farm."
        )
    code = pd.factorize(values)[0].astype(np.int64)
    of_litter = pd.Series(code).groupby(births["litter"].to_numpy())
    if not of_litter.min().equals(of_litter.max()):
        raise ValueError(
            f"cluster: {cluster} parts littermates, who share a dam and a night and are not independent; choose a "
            "cluster that holds whole litters: litter, dam, farm or a column of your own."
        )
    if len(code) and not code.any() and len(births["litter"].unique()) > 1:
        raise ValueError(
            f"cluster: all newborns are of one {cluster}, and one cluster tells nothing of how clusters differ; choose "
            "litter, dam or a column of several values."
        )
    return code, cluster


def axes_or_none(ax: Any) -> Axes | None:
    """The Axes that were given, or none; one sentence for anything else."""
    if ax is None or isinstance(ax, Axes):
        return ax
    several = " of one panel; of several take one, such as axes[0]" if np.ndim(ax) else ""
    raise TypeError(f"ax: give Axes of matplotlib{several}; found {type(ax).__name__}.")


def ages_of(ages_h: object) -> list[float]:
    """The ages that were asked for, in hours, one or several."""
    given = [ages_h] if isinstance(ages_h, str) or not isinstance(ages_h, Iterable) else list(ages_h)
    return [age_h("at_ages", one) for one in given]


def refuse_undated(births: pd.DataFrame, argument: str, what: str) -> None:
    """Refuse what would leave out too many deaths, since their ages are not known."""
    lost, undated = int(births["died"].sum()), deaths_without_age(births)
    if undated > UNKNOWN_AGES * lost:
        raise NotRecorded(
            f"{argument}: of {lost:,} losses {undated:,} have no known age, too many for {what}, which would leave "
            "them out; rates(outcome='lost') counts them all."
        )


def level_of(name: str, levels: Iterable[object], versus: object) -> str:
    """The level that was named to hold others against, as it is there: in words, or as the column itself holds it."""
    there = [str(level) for level in levels]
    for said in (str(versus), _as_a_group(versus)):
        if said in there:
            return said
    raise ValueError(f"versus: {quoted(versus)} is no group of {name}{nearest(str(versus), there)}")


def _as_a_group(value: object) -> str:
    """How a value of a column is called as a group: yes and no, a number without its zeros."""
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    return _number(float(value)) if isinstance(value, Real) else str(value)


def reference_of(name: str, values: pd.Series, minimum: int) -> str:
    """The level that others are held against unless one is named: the vocabulary's if large, else the largest."""
    counts = values.value_counts()
    given = BY_NAME[name].reference if name in BY_NAME else None
    large = given is not None and counts.get(given, 0) >= minimum
    return str(given) if large else str(counts.index[0])
