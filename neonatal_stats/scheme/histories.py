"""Litter histories: what one question needs of each litter, and how many litters are alike in it.

Every marginal estimate here is a function of clusters, and most litters are alike: a litter is reduced to the group,
age and outcome of each of its newborns, the engine counts those that are the same, and the estimates run on the
distinct ones (`estimates.clusters.alike`). Where the intervals cluster on farms, whose newborns are too many for two
farms to be alike, it is the newborns of a farm that are counted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import ibis
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.measures.birth_factors import MANY_LEVELS
from neonatal_stats.measures.rates import Alike
from neonatal_stats.scheme.deriving import (
    DAM,
    LITTER,
    MILESTONES,
    Clock,
    by_row,
    with_classes,
    with_litters,
    with_milestones,
    with_weight_class,
)
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.following.ages import lost_by
from neonatal_stats.season.following.links import cluster_named
from neonatal_stats.season.following.seasons import in_time
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.derived import OF_WINDOW
from neonatal_stats.vocabulary.factors import BY_NAME

ALIKE = Alike()
OF_LITTERS = ("birth_type", "sex_mix")


@dataclass(frozen=True)
class Question:
    """What is asked of every newborn of a scheme, to be answered in one pass.

    Parameters
    ----------
    by : columns of words to group by, recorded or derived; none where all are one group.
    causes : tell the causes of loss apart; there are then more distinct histories.
    ends_h : tell ages by these hours alone (a window's end); None for every hour. There are then fewer distinct ones.
    event : a yes-no column that is asked for besides the outcome; "" for none.
    by_farm : tell the histories of every farm apart, in litters whatever the settings cluster on.
    season : newborns of this season alone; "" for all. What follows from a newborn's like (the classes of birth
        weight) follows from those of all seasons.
    """

    by: tuple[str, ...] = ()
    causes: bool = False
    ends_h: tuple[float, ...] | None = None
    event: str = ""
    by_farm: bool = False
    season: str = ""


@dataclass(frozen=True)
class Cells:
    """What is asked of a newborn, as one whole number: its group, age, whether that is known, born dead, what of it.

    ``levels`` the words of each column of ``by``; a group that is missing is 0, an age that is missing too. ``ages_h``
    the ages that are told apart, each standing for itself and all up to the next; ``causes`` are told apart where
    there are any; ``event`` is a further yes-no column.
    """

    by: tuple[str, ...]
    levels: tuple[tuple[str, ...], ...]
    ages_h: tuple[float, ...]
    causes: tuple[str, ...]
    event: str = ""

    @property
    def sizes(self) -> tuple[int, ...]:
        """How many values each part has, the first of them without a bound."""
        groups = [len(words) + 1 for words in self.levels]
        return 1, *groups, len(self.ages_h) + 1, 2, 2, len(self.causes) + 2, 3 if self.event else 1

    def of(self, births: ibis.Table) -> ibis.Value:
        """The number of each newborn, as an expression."""
        groups = [_place(births[name], words, 1) for name, words in zip(self.by, self.levels, strict=True)]
        outcome = ibis.ifelse(births.died, _place(births.cause, self.causes, 2, otherwise=1), 0)
        event = ibis.literal(0)
        if self.event:
            event = ibis.cases((births[self.event], 2), (~births[self.event], 1), else_=0)
        number = ibis.literal(0, "int64")
        known = (births.age_known.cast("int64"), births.stillborn.cast("int64"))
        for size, part in zip(
            self.sizes[1:], (*groups, self._age(births.age_h), *known, outcome, event), strict=True
        ):
            number = number * size + part.cast("int64")
        return number

    def _age(self, age_h: ibis.Value) -> ibis.Value:
        """The place of an age among those told apart, from 1 on; 0 where it is missing."""
        if self.hourly:
            return ibis.coalesce(age_h.ceil().cast("int64") + 1, 0)
        latest_first = [
            (age_h >= one, place) for place, one in reversed(list(enumerate(self.ages_h, start=1)))
        ]
        return ibis.cases(*latest_first, else_=0)

    @property
    def hourly(self) -> bool:
        """Every whole hour is told apart."""
        return len(self.ages_h) == math.ceil(self.ages_h[-1]) + 1

    def read(self, number: NDArray[np.int64]) -> pd.DataFrame:
        """The columns of births that the numbers stand for."""
        _, *groups, age, known, still, outcome, event = np.unravel_index(number, self.sizes)
        hours = np.array([np.nan, *self.ages_h])[age]
        frame = pd.DataFrame({"age_h": hours, "age_known": known == 1, "stillborn": still == 1})
        frame["died"] = frame["lost"] = outcome > 0
        for name, words, place in zip(self.by, self.levels, groups, strict=True):
            frame[name] = _named(place - 1, words)
        if self.causes:
            frame["cause"] = _named(np.where(outcome < 2, -1, outcome - 2), self.causes)
        if self.event:
            frame[self.event] = pd.array(event == 2, dtype="boolean")
            frame.loc[event == 0, self.event] = pd.NA
        return frame


def _place(values: ibis.Value, words: tuple[str, ...], first: int, otherwise: int = 0) -> ibis.Value:
    """The place of a word among words, from ``first`` on."""
    places = [(values == word, at) for at, word in enumerate(words, start=first)]
    return ibis.cases(*places, else_=otherwise) if places else ibis.literal(otherwise)


def _named(places: NDArray[np.int64], words: tuple[str, ...]) -> pd.Categorical:
    kind = pd.CategoricalDtype(list(words), ordered=True)
    return pd.Categorical.from_codes(places.astype(np.int64), dtype=kind)


def histories(
    births: ibis.Table,
    settings: Settings,
    asked: Question | None = None,
    *,
    cluster: str = "",
    clock: Clock | None = None,
    levels: Mapping[str, Sequence[str]] | None = None,
) -> pd.DataFrame:
    """The distinct litter histories of one question, as births of which each row stands for many.

    Parameters
    ----------
    births : tidy births (`records.births_of`).
    asked : the question; by default survival and losses of all newborns together.
    cluster : what the intervals cluster on, where it is known (`cluster_of`); to find it costs a pass.
    clock : the clock of the records, where it is known (`deriving.clock_of`); to find it in a time zone costs a pass.
    levels : the words of columns to group by, in order, where they are known; to find them costs a pass.

    Returns
    -------
    Frame with the columns age_h, age_known, stillborn, died, lost, those of ``by``, cause, the event, farm (where told
    apart), the windows of loss, cluster, and those of `measures.rates.Alike`, with which `measures` takes it: one row a
    history and kind of newborn in it.

    Raises
    ------
    CannotRead
        For a column to group by that is not there or holds no words.

    Counted
    -------
    Every newborn of the births, in one pass over them; one more tells the levels of each column that holds the farms'
    own words, and one the limits of birth weight where that is what is grouped by.
    """
    asked = asked or Question()
    derived = derived_for(births, settings, asked, clock)
    cells = Cells(
        asked.by,
        tuple(tuple((levels or {}).get(name, ())) or _levels(derived, name) for name in asked.by),
        _ages(asked.ends_h, settings.follow_up_h),
        settings.causes if asked.causes else (),
        asked.event,
    )
    numbered = derived.mutate(cell=cells.of(derived))
    if asked.by_farm:
        counted = _alike(numbered, LITTER, numbered.litter_known, kept=("farm",))
    else:
        by_cluster = {"litter": _litters, "dam": _dams, "farm": _farms}
        counted = by_cluster[cluster or cluster_of(births, settings)](numbered)
    frame = cells.read(counted["cell"].to_numpy(np.int64))
    for name, end_h in settings.windows_h.items():
        frame[f"{OF_WINDOW}{name.replace(' ', '_')}"] = lost_by(frame, end_h, end_h >= settings.follow_up_h)
    if asked.by_farm:
        frame["farm"] = counted["farm"].to_numpy(object)
    return frame.assign(**{name: counted[name].to_numpy(np.int64) for name in ("cluster", *ALIKE.names)})


def _ages(ends_h: tuple[float, ...] | None, end_h: float) -> tuple[float, ...]:
    """The ages told apart: every whole hour and the end, or birth, the ends asked for, and the end."""
    if ends_h is None:
        return (*map(float, range(math.ceil(end_h))), end_h)
    return tuple(sorted({0.0, *(hour for hour in ends_h if hour < end_h), end_h}))


def cluster_of(births: ibis.Table, settings: Settings) -> str:
    """What the intervals cluster on, as `season.following.links.cluster_name`: one pass over the farms."""
    if settings.cluster == "dam":
        return settings.cluster
    return cluster_named(int(births.farm.nunique().execute()), settings)


def derived_for(
    births: ibis.Table, settings: Settings, asked: Question, clock: Clock | None = None
) -> ibis.Table:
    """The births with what the question needs and no more."""
    derived = with_classes(by_row(births, settings, clock))
    derived = with_litters(derived) if set(asked.by) & set(OF_LITTERS) else derived
    derived = with_weight_class(derived) if "weight_class" in asked.by else derived
    derived = with_milestones(derived, settings) if asked.event in MILESTONES else derived
    for name in asked.by:
        if name not in derived.columns or not derived.schema()[name].is_string():
            raise CannotRead(
                f"by {name}: these births have no such column of words, nor does one follow from them; name a column "
                "of text that a newborn's dam, birth or place is written in."
            )
    return derived.filter(derived.season == asked.season) if asked.season else derived


def _levels(births: ibis.Table, by: str) -> tuple[str, ...]:
    """The words of a column in printed order: the vocabulary's, else those that stand in it, seasons by time."""
    if by in BY_NAME and BY_NAME[by].levels:
        return BY_NAME[by].levels
    found = births.group_by(by).aggregate(latest=births.born.max()).execute().dropna(subset=[by])
    if len(found) > MANY_LEVELS:
        raise CannotRead(
            f"by {by}: {len(found)} different words stand in it, too many to be groups; name a column with at most "
            f"{MANY_LEVELS}."
        )
    if by == "season":
        return tuple(in_time(found[by], found["latest"]))
    return tuple(sorted(found[by]))


def _litters(births: ibis.Table) -> pd.DataFrame:
    return _alike(births, LITTER, births.litter_known)


def _dams(births: ibis.Table) -> pd.DataFrame:
    return _alike(births, DAM, births.dam_named != "")


def _alike(
    births: ibis.Table, of: tuple[str, ...], known: ibis.Value, kept: tuple[str, ...] = ()
) -> pd.DataFrame:
    """The distinct histories of clusters that columns tell apart; a newborn whose cluster is not known is its own.

    ``kept`` are those of the columns whose values are told apart in what comes back.
    """
    told = births.select(*of, "cell", known=known)
    told = told.mutate(alone=ibis.ifelse(told.known, ibis.literal(-1, "int64"), told.cell))
    one = told.group_by(*of, "known", "alone").aggregate(
        history=told.cell.collect(where=told.known).sort(), newborns=told.count()
    )
    one = one.mutate(clusters=ibis.ifelse(one.known, ibis.literal(1, "int64"), one.newborns))
    found = one.group_by(*kept, "alone", "history").aggregate(repeats=one.clusters.sum()).execute()
    together = found["alone"].to_numpy() < 0
    listed = [[cell] for cell in found["alone"][~together]] + list(found["history"][together])
    repeats, *kept_values = (
        np.concatenate([found[name][~together], found[name][together]]) for name in ("repeats", *kept)
    )
    cluster = np.repeat(np.arange(len(listed)), [len(cells) for cells in listed])
    cell = np.concatenate([np.asarray(cells, dtype=np.int64) for cells in listed] or [np.zeros(0, np.int64)])
    rows = pd.DataFrame({"cluster": cluster, "cell": cell, ALIKE.clusters: repeats[cluster]})
    counted = rows.groupby(list(rows)).size().rename(ALIKE.newborns).reset_index()
    places = counted["cluster"].to_numpy()
    return counted.assign(**{name: values[places] for name, values in zip(kept, kept_values, strict=True)})


def _farms(births: ibis.Table) -> pd.DataFrame:
    """The newborns of each farm that are alike."""
    found: pd.DataFrame = (
        births.group_by("farm", "cell").aggregate(**{ALIKE.newborns: births.count()}).execute()
    )
    return found.assign(cluster=pd.factorize(found["farm"], sort=True)[0], **{ALIKE.clusters: 1})
