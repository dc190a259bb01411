"""Litter histories: what one question needs of each litter, and how many litters are alike in it.

Every marginal estimate here is a function of clusters, and most litters are alike: a litter is reduced to the group,
age and outcome of each of its newborns, the engine counts those that are the same, and the estimates run on the
distinct ones (`estimates.clusters.alike`). Where the intervals cluster on farms, whose newborns are too many for two
farms to be alike, it is the newborns of a farm that are counted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import ibis
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from neonatal_stats.measures.rates import Alike
from neonatal_stats.scheme.classes import DAM, LITTER, with_classes, with_litters, with_weight_class
from neonatal_stats.scheme.deriving import by_row
from neonatal_stats.season.following.ages import lost_by
from neonatal_stats.season.following.links import FARMS_TO_CLUSTER
from neonatal_stats.season.following.seasons import in_time
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.derived import OF_WINDOW
from neonatal_stats.vocabulary.factors import BY_NAME

ALIKE = Alike()
OF_LITTERS = ("birth_type", "sex_mix")


@dataclass(frozen=True)
class Cells:
    """What is asked of a newborn, as one whole number: its group, age, whether that is known, born dead, what of it.

    ``by`` is a column and ``levels`` its words, none where all are one group; a group that is missing is 0, an age that
    is missing too. ``end_h`` is the end of follow-up; ``causes`` are told apart where there are any.
    """

    by: str
    levels: tuple[str, ...]
    end_h: float
    causes: tuple[str, ...]

    @property
    def sizes(self) -> tuple[int, ...]:
        """How many values each part has, the first of them without a bound."""
        return len(self.levels) + 1, math.ceil(self.end_h) + 2, 2, 2, len(self.causes) + 2

    def of(self, births: ibis.Table) -> ibis.Value:
        """The number of each newborn, as an expression."""
        group = ibis.literal(0, "int64")
        if self.by:
            places = [(births[self.by] == level, at) for at, level in enumerate(self.levels, start=1)]
            group = ibis.cases(*places, else_=0) if places else group
        age = ibis.coalesce(births.age_h.ceil().cast("int64") + 1, 0)
        named = [(births.cause == cause, at) for at, cause in enumerate(self.causes, start=2)]
        outcome = ibis.cases((~births.died, 0), *named, else_=1)
        number = group.cast("int64")
        parts = (age, births.age_known.cast("int64"), births.stillborn.cast("int64"), outcome)
        for size, part in zip(self.sizes[1:], parts, strict=True):
            number = number * size + part.cast("int64")
        return number

    def read(self, number: NDArray[np.int64]) -> pd.DataFrame:
        """The columns of births that the numbers stand for."""
        group, age, known, still, outcome = np.unravel_index(number, self.sizes)
        hours = np.where(age == 0, np.nan, np.minimum(age - 1.0, self.end_h))
        frame = pd.DataFrame({"age_h": hours, "age_known": known == 1, "stillborn": still == 1})
        frame["died"] = frame["lost"] = outcome > 0
        if self.by:
            frame[self.by] = _named(group - 1, self.levels)
        if self.causes:
            frame["cause"] = _named(np.where(outcome < 2, -1, outcome - 2), self.causes)
        return frame


def _named(places: NDArray[np.int64], words: tuple[str, ...]) -> pd.Categorical:
    kind = pd.CategoricalDtype(list(words), ordered=True)
    return pd.Categorical.from_codes(places.astype(np.int64), dtype=kind)


def histories(births: ibis.Table, settings: Settings, *, by: str = "", causes: bool = False) -> pd.DataFrame:
    """The distinct litter histories of one question, as births of which each row stands for many.

    Parameters
    ----------
    births : tidy births (`records.births_of`).
    by : a column of words to group by, recorded or derived; "" for none.
    causes : tell the causes of loss apart; there are then more distinct histories.

    Returns
    -------
    Frame with the columns age_h, age_known, stillborn, died, lost, `by`, cause, the windows of loss, cluster, and those
    of `measures.rates.Alike`, with which `measures` takes it: one row a history and kind of newborn in it.

    Raises
    ------
    ValueError
        For a column to group by that is not there or holds no words.

    Counted
    -------
    Every newborn of the births, in one pass over them; one more tells how many farms there are, one the levels of a
    column that holds the farms' own words, and one the limits of birth weight where that is what is grouped by.
    """
    derived = _derived(births, settings, by)
    cells = Cells(by, _levels(derived, by), settings.follow_up_h, settings.causes if causes else ())
    numbered = derived.mutate(cell=cells.of(derived))
    clusters = {"litter": _litters, "dam": _dams, "farm": _farms}[cluster_of(births, settings)]
    counted = clusters(numbered)
    frame = cells.read(counted["cell"].to_numpy(np.int64))
    for name, end_h in settings.windows_h.items():
        frame[f"{OF_WINDOW}{name.replace(' ', '_')}"] = lost_by(frame, end_h, end_h >= settings.follow_up_h)
    return frame.assign(**{name: counted[name].to_numpy(np.int64) for name in ("cluster", *ALIKE.names)})


def cluster_of(births: ibis.Table, settings: Settings) -> str:
    """What the intervals cluster on, as `season.following.links.cluster_name`: one pass over the farms."""
    if settings.cluster != "litter":
        return settings.cluster
    return "farm" if births.farm.nunique().execute() >= FARMS_TO_CLUSTER else "litter"


def _derived(births: ibis.Table, settings: Settings, by: str) -> ibis.Table:
    """The births with what the question needs and no more."""
    derived = with_classes(by_row(births, settings))
    derived = with_litters(derived) if by in OF_LITTERS else derived
    derived = with_weight_class(derived) if by == "weight_class" else derived
    if by and (by not in derived.columns or not derived.schema()[by].is_string()):
        raise ValueError(
            f"histories, by: {by!r} is no column of words in these births, nor one that follows from them."
        )
    return derived


def _levels(births: ibis.Table, by: str) -> tuple[str, ...]:
    """The words of a column in printed order: the vocabulary's, else those that stand in it, seasons by time."""
    if not by:
        return ()
    if by in BY_NAME and BY_NAME[by].levels:
        return BY_NAME[by].levels
    found = births.group_by(by).aggregate(latest=births.born.max()).execute().dropna(subset=[by])
    if by == "season":
        return tuple(in_time(found[by], found["latest"]))
    return tuple(sorted(found[by]))


def _litters(births: ibis.Table) -> pd.DataFrame:
    return _alike(births, LITTER, births.litter_known)


def _dams(births: ibis.Table) -> pd.DataFrame:
    return _alike(births, DAM, births.dam_named != "")


def _alike(births: ibis.Table, of: tuple[str, ...], known: ibis.Value) -> pd.DataFrame:
    """The distinct histories of clusters that columns tell apart; a newborn whose cluster is not known is its own."""
    told = births.select(*of, "cell", known=known)
    told = told.mutate(alone=ibis.ifelse(told.known, ibis.literal(-1, "int64"), told.cell))
    one = told.group_by(*of, "known", "alone").aggregate(
        history=told.cell.collect(where=told.known).sort(), newborns=told.count()
    )
    one = one.mutate(clusters=ibis.ifelse(one.known, ibis.literal(1, "int64"), one.newborns))
    found = one.group_by("alone", "history").aggregate(repeats=one.clusters.sum()).execute()
    together = found["alone"].to_numpy() < 0
    listed = [[cell] for cell in found["alone"][~together]] + list(found["history"][together])
    repeats = np.concatenate([found["repeats"][~together], found["repeats"][together]])
    cluster = np.repeat(np.arange(len(listed)), [len(cells) for cells in listed])
    cell = np.concatenate([np.asarray(cells, dtype=np.int64) for cells in listed] or [np.zeros(0, np.int64)])
    rows = pd.DataFrame({"cluster": cluster, "cell": cell, ALIKE.clusters: repeats[cluster]})
    return rows.groupby(list(rows)).size().rename(ALIKE.newborns).reset_index()


def _farms(births: ibis.Table) -> pd.DataFrame:
    """The newborns of each farm that are alike."""
    found: pd.DataFrame = (
        births.group_by("farm", "cell").aggregate(**{ALIKE.newborns: births.count()}).execute()
    )
    return found.assign(cluster=pd.factorize(found["farm"], sort=True)[0], **{ALIKE.clusters: 1})
