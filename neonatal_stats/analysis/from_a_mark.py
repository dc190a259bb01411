"""What happens to a newborn after birth, and who died afterwards: counted from a mark, among those alive at it.

A newborn that dies at three hours cannot be fed at six. Held against each other from birth, those fed late would be
credited with the hours that they had to live (immortal time); from a mark on, nobody is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from pandas.api.types import is_bool_dtype, is_numeric_dtype

from neonatal_stats.analysis.asked import (
    OF_THE_OUTCOME,
    absent,
    births_of,
    clusters,
    groups_of,
    level_of,
    names_of,
    reference_of,
    refuse_undated,
)
from neonatal_stats.analysis.held_against import Contrasts
from neonatal_stats.analysis.results import common, few_clusters, left_out
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.estimates.cox_regression import CoxFit, cox
from neonatal_stats.estimates.time_dependent import apart
from neonatal_stats.measures.contrasts import contrast_rows
from neonatal_stats.season.model import Season
from neonatal_stats.vocabulary.derived import OF_WINDOW
from neonatal_stats.words import voice_of
from neonatal_stats.words.names import factor

BY_MARK, NOT_BY_MARK = "by the mark", "not by the mark"
HAPPENED = pd.CategoricalDtype([BY_MARK, NOT_BY_MARK], ordered=True)


@dataclass(frozen=True, eq=False, repr=False)
class Landmark(Contrasts):
    """Groups at the mark, each held against the reference by its hazard of loss afterwards; see `Contrasts`.

    ``mark_h`` is the mark, ``adjusted`` the columns allowed for, ``fit`` the Cox model itself.
    """

    mark_h: float
    adjusted: tuple[str, ...]
    fit: CoxFit


def landmark(
    season: Season,
    column: str,
    *,
    mark_h: float,
    versus: str | None = None,
    adjust: str | Sequence[str] = (),
    cluster: str | None = None,
) -> Landmark:
    """Loss after a mark among newborns alive and watched at it, by what had happened to them until then.

    Parameters
    ----------
    column : ages in hours at which it happened ("fed_after_h", "stood_after_h", or your own, with infinity for never):
        the groups are "by the mark" and "not by the mark". Or a column of few values ("mothered_up", your own), which
        is taken as known at the mark: choose a mark at which everybody had been judged.
    mark_h : the mark, in hours after birth.
    versus : the group to hold the others against; unless said "by the mark", else as `contrasts`.
    adjust : columns known at birth to allow for, such as weakness ("weight_class", "suck_class"): whoever is weak feeds
        late and dies early for the same reason.
    cluster : as `survival`.

    Counted
    -------
    Newborns alive and watched after the mark, of which group and adjusted columns are known. One not written down to
    have been fed, nor seen unfed until the mark, is not known. Risk sets are formed within farm and season.

    Raises
    ------
    NotRecorded : where the column is not recorded, or nobody was watched after the mark.
    ValueError : as `contrasts`; for a mark that is no age; for columns that tell what became of a newborn.

    Method
    ------
    Landmark analysis (Anderson, Cain & Gelber 1983, J Clin Oncol 1:710) by Cox regression with Efron's ties, errors
    summed over clusters (Lin & Wei 1989), limits by Student's t on the clusters; see `neonatal_stats.estimates.cox`. It
    says nothing of losses before the mark.

    Examples
    --------
    >>> from neonatal_stats import analysis, read_season
    >>> season = read_season(["data/demo/suckler_cows.csv", "data/demo/suckler_cows_feeds.csv"])
    >>> late = analysis.landmark(season, "fed_after_h", mark_h=4, adjust="difficulty").to_frame().round(2)
    >>> late[["group", "events", "n", "estimate", "low", "high", "verdict"]]
                 group  events   n  estimate   low  high  verdict
    0  not by the mark       6  40      2.89  0.95  8.81  leaning
    """
    if not isinstance(mark_h, int | float) or not 0 < mark_h < np.inf:
        raise ValueError(f"mark_h: a mark is an age in hours above 0; found {mark_h!r}.")
    adjusted = names_of(adjust) if adjust else ()
    if column in adjusted:
        raise ValueError(f"adjust: it holds {column}, whose groups are compared; leave it out.")
    exposed = _exposed(season, column, mark_h)
    code, named = clusters(season, cluster)
    births = season.with_beside.assign(asked=exposed, asked_cluster=code)
    births = births.assign(**{name: groups_of(season, name, True, "adjust") for name in adjusted})
    refuse_undated(births, "age_h", "the hazard after a mark")
    there = births[births["age_known"] & (births["age_h"] > mark_h)]
    known = there.dropna(subset=["asked", *adjusted])
    levels = known["asked"].cat.remove_unused_categories()
    if known.empty or len(levels.cat.categories) < 2:
        raise NotRecorded(
            f"{column}: of the newborns alive at {mark_h:g} h not two groups are known, so there is nothing to compare."
        )
    reference = _reference(column, levels, versus, season.settings.minimum_group)
    fit, others = _fitted(season, known, levels, reference, adjusted, mark_h)
    frame = contrast_rows(
        _rows(column, known, levels, reference, fit, others),
        ("factor", "group"),
        settings=season.settings,
        many=len(others) > 1,
        extra=("note",),
    )
    said = _said(season, births, there, known, column, mark_h, adjusted, named)
    return Landmark(
        **common(season, frame, (column,), named, len(known), *said),
        measure="hazard ratio",
        outcome="lost",
        mark_h=float(mark_h),
        adjusted=adjusted,
        fit=fit,
    )


def _reference(column: str, levels: pd.Series, versus: str | None, minimum: int) -> str:
    """The group that the others are held against: the one named, else "by the mark", else as `contrasts` takes it."""
    if versus is not None:
        return level_of(column, levels.cat.categories, versus)
    return BY_MARK if BY_MARK in levels.cat.categories else reference_of(column, levels, minimum)


def _exposed(season: Season, column: str, mark_h: float) -> pd.Series:
    """Each newborn's group at the mark, missing where it is not known."""
    births = births_of(season)
    if column in OF_THE_OUTCOME or column.startswith(OF_WINDOW):
        raise ValueError(
            f"column: {column} tells what became of a newborn; name what had happened to it by the mark."
        )
    name = column.replace("_after_min", "_after_h") if column.endswith("_after_min") else column
    if name not in births:
        raise absent(births, name, "column")
    values = births[name]
    if not is_numeric_dtype(values.dtype) or is_bool_dtype(values.dtype) or values.dropna().nunique() <= 2:
        known_h = season.own_known_h.get(name, 0.0)
        if mark_h < known_h:
            raise ValueError(
                f"mark_h: {name} is known from {known_h:g} h on (known_at_h); set the mark no earlier."
            )
        return groups_of(season, name, False, "column")
    seen_without = births.get(name.replace("_after_h", "_not_by_h"), pd.Series(np.nan, index=births.index))
    if name == seen_without.name:
        seen_without = pd.Series(np.nan, index=births.index)
    yet = (values <= mark_h).to_numpy()
    never = ((values > mark_h) | (values.isna() & (seen_without >= mark_h))).to_numpy()
    code = np.select([yet, never], [0, 1], -1)
    return pd.Series(pd.Categorical.from_codes(code, dtype=HAPPENED), index=births.index)


def _fitted(
    season: Season,
    known: pd.DataFrame,
    levels: pd.Series,
    reference: str,
    adjusted: Sequence[str],
    mark_h: float,
) -> tuple[CoxFit, list[str]]:
    """The Cox model from the mark on, a column of 0 and 1 for each group but the reference; and those groups."""
    others = [str(level) for level in levels.cat.categories if level != reference]
    columns = {level: (levels == level).to_numpy(float) for level in others}
    for name in adjusted:
        for level in known[name].cat.remove_unused_categories().cat.categories[1:]:
            columns[f"{name}: {level}"] = (known[name] == level).to_numpy(float)
    stratum = known.groupby(["farm", "season"], observed=True).ngroup().to_numpy()
    since = known["age_h"].to_numpy(float) - mark_h
    entry, stop = apart(np.zeros(len(since)), since, stratum)
    fit = cox(
        stop,
        known["died"].to_numpy(int),
        np.column_stack(list(columns.values())),
        cluster=known["asked_cluster"].to_numpy(),
        entry_h=entry,
        names=list(columns),
        level=season.settings.level,
    )
    return fit, others


def _rows(
    column: str, known: pd.DataFrame, levels: pd.Series, reference: str, fit: CoxFit, others: Sequence[str]
) -> Iterator[dict[str, object]]:
    died, held = known["died"].to_numpy(bool), (levels == reference).to_numpy()
    for place, level in enumerate(others):
        here = (levels == level).to_numpy()
        yield {
            "factor": column,
            "group": level,
            "versus": reference,
            "measure": "hazard ratio",
            "events": int(died[here].sum()),
            "n": int(here.sum()),
            "events_versus": int(died[held].sum()),
            "n_versus": int(held.sum()),
            "estimate": float(fit.hazard_ratio[place]),
            "low": float(fit.low[place]),
            "high": float(fit.high[place]),
            "p": float(fit.p[place]),
            "note": " ".join(note for note in fit.notes if note.startswith(level) or ":" not in note),
        }


def _said(
    season: Season,
    births: pd.DataFrame,
    there: pd.DataFrame,
    known: pd.DataFrame,
    column: str,
    mark_h: float,
    adjusted: Sequence[str],
    cluster: str,
) -> Iterator[str]:
    voice = voice_of(season)
    before = births[births["age_known"] & (births["age_h"] <= mark_h)]
    text = "Counted from {mark} on. {Newborns} lost before: {lost}; left before: {left}; of unknown age: {unknown}."
    yield voice.say(
        text,
        mark=voice.age(mark_h),
        lost=voice.count(int(before["died"].sum())),
        left=voice.count(int((~before["died"]).sum())),
        unknown=voice.count(int((~births["age_known"]).sum())),
    )
    yield from left_out(voice, there, known, [column, *adjusted], from_birth=False)
    yield few_clusters(voice, cluster, known["asked_cluster"].nunique())
    if adjusted:
        yield voice.say(
            "Allowed for: {columns}.", columns=", ".join(factor(voice, name) for name in adjusted)
        )
    else:
        yield voice.say(
            "Not allowed for: weakness at birth, by which a {newborn} may both be late and die; name what tells it "
            "in adjust."
        )
    yield voice.say("An association in these records is no proof of a cause.")
