"""Survival and loss by cause against age, in groups of one's own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path

import numpy as np
import pandas as pd

from neonatal_stats.analysis.asked import By, ages_of, clusters, in_groups, refuse_undated
from neonatal_stats.analysis.results import (
    Result,
    Row,
    common,
    drawn_on,
    few_clusters,
    left_out,
    taken_as_known,
)
from neonatal_stats.chapters.protocol import NotRecorded, interval_heading
from neonatal_stats.drawing import Axes, Figure
from neonatal_stats.drawing.on_axes import (
    KEY_IN,
    MOST_LINES,
    PANEL_IN,
    layers_over_age,
    lines_over_age,
    pictured,
)
from neonatal_stats.estimates.survival import log_log
from neonatal_stats.measures import curves
from neonatal_stats.measures.rates import too_small
from neonatal_stats.measures.windows import fewest_watched, watched_to_h, well_watched
from neonatal_stats.season.model import Season
from neonatal_stats.season.toml_file import nearest, quoted
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import voice_of
from neonatal_stats.words.names import label

AT_BIRTH, ALIVE = "born", "born alive"
OF = (ALIVE, AT_BIRTH)


@dataclass(frozen=True, eq=False, repr=False)
class OverAge(Result):
    """A result over age: ``end_h`` is the last age watched, ``groups`` the newborns and litters of each group."""

    end_h: float
    groups: pd.DataFrame

    @property
    def ages_h(self) -> list[float]:
        """The ends of the windows, and the last age watched, at which `at_ages` reads the curves."""
        return [*(hour for hour in self.settings.windows_h.values() if hour < self.end_h), self.end_h]

    def _parts(self, frame: pd.DataFrame) -> list[tuple[Row, pd.DataFrame]]:
        """Each group with its rows, in order; those too small to say anything are left out of pictures."""
        rows = self.groups.to_dict("records")
        return [(row, _of_group(frame, self.by, row)) for row in rows if not row["few"]]

    def _words(self, axis: str) -> tuple[str, str, str]:
        say = self._voice.say
        return axis, say("age, hours"), say("age, days")

    def _few_enough(self, n: int) -> None:
        if n > MOST_LINES:
            raise ValueError(
                f"draw: {n} groups are too many to tell apart in one picture; join some, or draw from to_frame()."
            )

    @property
    def _height_in(self) -> float:
        """The height of the figure: the panel, and a key of the groups."""
        return PANEL_IN + KEY_IN * len(self.groups)


@dataclass(frozen=True, eq=False, repr=False)
class Survival(OverAge):
    """Share alive against age: ``frame`` is a ``curve``, one row a group and age.

    age_h, at_risk just before it, events at it, share alive after it, low, high. ``of`` says whom it follows: those
    born alive, or all born (the stillborn at age 0).
    """

    of: str

    @property
    def title(self) -> str:
        """What it is, in a few words."""
        whole = "Loss of {newborns} born alive" if self.of == ALIVE else "Loss of {newborns} born"
        return _by(self, self._voice.say(whole))

    def at_ages(self, ages_h: float | Sequence[float] = ()) -> pd.DataFrame:
        """The curve read just before stated ages in hours; the ends of the windows and of watching unless said.

        Returns
        -------
        One row a group and age: the group's columns, age_h, watched (still watched then), lost (so far), share alive,
        low, high; missing where fewer than ten of a group (of a small one, a tenth) were still watched.
        """
        return _at_ages(self, self.frame, ages_h, 1.0)

    def table(self) -> Table:
        """Alive at the end of each window, by group."""
        voice = self._voice
        declared = (
            *self._group_columns(),
            columns.age("age_h", voice.say("Age")),
            columns.count("lost", voice.say("Lost so far")),
            columns.count("watched", voice.say("Alive and watched")),
            columns.share("share", voice.say("Share alive")),
            columns.interval("low", "high", interval_heading(voice, self.settings.level)),
        )
        frame = self._with_words(self.at_ages())
        return Table(self._name, self.title, frame, declared, note=self._noted(), printer=voice)

    def draw(self, ax: Axes | None = None) -> Axes:
        """Draw the share of each group lost by each age, each line in its interval, on Axes of your own or new ones.

        Groups too small to say anything (the setting minimum_group) are in the table and not drawn.
        """
        parts = self._parts(curves.as_lost(self.frame))
        self._few_enough(len(parts))
        say = self._voice.say
        axis = "lost, % of {newborns} born alive" if self.of == ALIVE else "lost, % of {newborns} born"
        named = [(self._labels(pd.DataFrame([row]))[0], well_watched(curve)) for row, curve in parts]
        words = self._words(say(axis))
        return lines_over_age(drawn_on(ax), named, printer=self._voice, until_h=self.end_h, words=words)

    def _told(self) -> Sequence[str]:
        voice, rows = self._voice, self.at_ages([self.end_h])
        return [
            f"{name} {voice.percent(1 - row['share'])}"
            for name, row in zip(self._labels(rows), rows.to_dict("records"), strict=True)
        ]

    def _repr_html_(self) -> str:
        drawn = 0 < len(self._parts(self.frame)) <= MOST_LINES
        return (self.figure().svg() if drawn else "") + self.table().html()


@dataclass(frozen=True, eq=False, repr=False)
class Incidence(OverAge):
    """Share lost to each cause by each age, the causes competing: one row a group, cause and age.

    age_h, at_risk, events, share lost to the cause, low, high; the rows with cause "alive" hold the share still alive.
    At each age the shares of a group add up to 1.
    """

    causes: tuple[str, ...] = field(default=())

    @property
    def title(self) -> str:
        """What it is, in a few words."""
        return _by(self, self._voice.say("Lost to each cause, by age"))

    def at_ages(self, ages_h: float | Sequence[float] = ()) -> pd.DataFrame:
        """Share lost to each cause just before stated ages in hours; as `Survival.at_ages`, with the cause first."""
        read = [
            _at_ages(self, self.frame[self.frame["cause"] == cause], ages_h, 0.0).assign(cause=cause)
            for cause in self.causes or ("alive",)
        ]
        frame = pd.concat(read, ignore_index=True)
        frame = frame[frame["cause"].isin(self.causes)]
        return frame[[*self.by, "cause", *(name for name in frame if name not in (*self.by, "cause"))]]

    def table(self) -> Table:
        """Lost to each cause by the end of watching, by group; causes of which nobody was lost are left out."""
        voice = self._voice
        frame = self._with_words(self.at_ages([self.end_h]))
        frame = frame.assign(said_cause=[label(voice, cause) for cause in frame["cause"]])
        declared = (
            *self._group_columns(),
            columns.text("said_cause", voice.say("Cause"), raw="cause"),
            columns.count("lost", voice.say("Lost")),
            columns.share("share", voice.say("Share of all born, by {age}", age=voice.age(self.end_h))),
            columns.interval("low", "high", interval_heading(voice, self.settings.level)),
        )
        return Table(self._name, self.title, frame, declared, note=self._noted(), printer=voice)

    def draw(self, ax: Axes | None = None, *, cause: str | None = None) -> Axes:
        """Draw the causes on top of each other or, of several groups, one ``cause``: a line a group.

        Raises
        ------
        ValueError : where there are several groups and no cause is named, and for a cause that nobody was lost to.
        """
        say, axes = self._voice.say, drawn_on(ax)
        if cause is None and not self.by:
            layers = [(one, label(self._voice, one), self._of(self.frame, one)) for one in self.causes]
            return layers_over_age(
                axes,
                layers,
                causes=self.settings.causes,
                printer=self._voice,
                until_h=self.end_h,
                words=self._words(say("lost, % of {newborns} born")),
            )
        if cause is None or cause not in self.causes:
            found = "one has to be named, since there are several groups" if cause is None else quoted(cause)
            raise ValueError(f"cause: {found}{nearest(str(cause), self.causes)}")
        parts = self._parts(self._of(self.frame, cause))
        self._few_enough(len(parts))
        named = [(self._labels(pd.DataFrame([row]))[0], well_watched(curve)) for row, curve in parts]
        axis = say("lost to {cause}, % of {newborns} born", cause=label(self._voice, cause))
        return lines_over_age(axes, named, printer=self._voice, until_h=self.end_h, words=self._words(axis))

    def figure(self, cause: str | None = None) -> Figure:
        """The same drawing as a figure in the style of the review; of several groups, of one ``cause``."""
        told = "; ".join(self._told())
        return pictured(
            lambda axes: self.draw(ax=axes, cause=cause),
            printer=self._voice,
            height_in=PANEL_IN + KEY_IN * len(self.groups if self.by else self.causes),
            name=self._name,
            title=self.title,
            alt=f"{self.title}: {told}.",
        )

    def save(self, path: str | PathLike[str], *, cause: str | None = None) -> Path:
        """As `Result.save`; of several groups a figure shows one ``cause``."""
        if cause is None or Path(path).suffix.lower() == ".csv":
            return super().save(path)
        return self.figure(cause).save(Path(path))

    @staticmethod
    def _of(frame: pd.DataFrame, cause: str) -> pd.DataFrame:
        return frame[frame["cause"] == cause]

    def _told(self) -> Sequence[str]:
        voice, rows = self._voice, self.at_ages([self.end_h])
        names = zip(self._labels(rows), rows.to_dict("records"), strict=True)
        return [f"{name}, {label(voice, row['cause'])} {voice.percent(row['share'])}" for name, row in names]

    def _repr_html_(self) -> str:
        return ("" if self.by or not self.causes else self.figure().svg()) + self.table().html()


def survival(season: Season, by: By = None, *, of: str = ALIVE, cluster: str | None = None) -> Survival:
    """Share alive against age, of all together or in groups.

    Parameters
    ----------
    season : the records, of one season or several (which are then put together; ``by="season"`` parts them).
    by : a column, or several whose groups are crossed: a factor of the vocabulary ("birth_type", "born_by"), any other
        column of births with few values, or one of your own (`Season.with_column`).
    of : "born alive", or "born": all, with those born dead lost at age 0.
    cluster : "litter", "dam", "farm" or a column of your own that holds whole litters; unless said that of the
        settings.

    Counted
    -------
    Newborns with a known age at death or at the end of watching; one that left alive counts until then.

    Raises
    ------
    NotRecorded : where these records lack the column, or every age.
    ValueError : for what would be wrong: an unknown column, one of a single group, of many different numbers, one that
        tells what became of a newborn, or one that takes time to happen (see `landmark`).

    Method
    ------
    Kaplan-Meier, variance by the infinitesimal jackknife summed within clusters, log-log interval; see
    `neonatal_stats.estimates.kaplan_meier`.

    Examples
    --------
    >>> from neonatal_stats import analysis, read_season
    >>> season = read_season("data/demo/suckler_cows.csv")
    >>> analysis.survival(season, "difficulty").at_ages([168]).round(3)[["difficulty", "lost", "share"]]
      difficulty  lost  share
    0       easy   5.0  0.977
    1  difficult   2.0  0.931
    """
    if of not in OF:
        raise ValueError(f"of: {quoted(of)}{nearest(str(of), OF)}")
    births, names, named, out = _followed(season, by, cluster, only_alive=of == ALIVE)
    frame = curves.survival(births, names, level=season.settings.level, cluster="asked_cluster")
    return Survival(
        **common(season, frame, names, named, len(births), *out),
        end_h=watched_to_h(births, season.settings),
        groups=_sizes(births, names, season.settings.minimum_group),
        of=of,
    )


def incidence(season: Season, by: By = None, *, cluster: str | None = None) -> Incidence:
    """Share of all born lost to each cause by each age, the other causes competing.

    Parameters, who is counted and what is refused : as `survival`; those born dead are lost at age 0.

    Method
    ------
    Aalen-Johansen, variance by the infinitesimal jackknife summed within clusters; see
    `neonatal_stats.estimates.aalen_johansen`.

    Examples
    --------
    >>> from neonatal_stats import analysis, read_season
    >>> of_what = analysis.incidence(read_season("data/demo/suckler_cows.csv"))
    >>> of_what.at_ages([168]).round(3)[["cause", "lost", "share"]].head(2)
                                 cause  lost  share
    0                       stillbirth   6.0  0.024
    1  birth injury or difficult birth   2.0  0.008
    """
    births, names, named, out = _followed(season, by, cluster, only_alive=False)
    frame = curves.incidence(births, names, level=season.settings.level, cluster="asked_cluster")
    lost = births.loc[births["died"], "cause"]
    return Incidence(
        **common(season, frame, names, named, len(births), *out),
        end_h=watched_to_h(births, season.settings),
        groups=_sizes(births, names, season.settings.minimum_group),
        causes=tuple(str(cause) for cause in lost.cat.categories[np.unique(lost.cat.codes)]),
    )


def _followed(
    season: Season, by: By, cluster: str | None, *, only_alive: bool
) -> tuple[pd.DataFrame, tuple[str, ...], str, Iterator[str]]:
    """The newborns that a curve follows, in groups and clusters, and what is said of those left out."""
    births, names = in_groups(season, by, of_loss=True)
    code, named = clusters(season, cluster)
    births = births.assign(asked_cluster=code)
    if only_alive:
        births = births[~births["stillborn"]]
    known = births[births["age_known"]]
    if known.empty:
        raise NotRecorded(
            "age_h: no age at death or at the end of watching is known; curves need the day of birth (born_at or "
            "born_on) and that of death (died_at, or last_alive_at and found_dead_at)."
        )
    refuse_undated(births, "age_h", "a curve")
    grouped = known.dropna(subset=list(names)) if names else known
    return grouped, names, named, _out(season, births, known, grouped, names, named)


def _out(
    season: Season,
    births: pd.DataFrame,
    known: pd.DataFrame,
    grouped: pd.DataFrame,
    names: tuple[str, ...],
    cluster: str,
) -> Iterator[str]:
    voice = voice_of(season)
    undated = births[~births["age_known"]]
    if len(undated):
        text = "{Newborns} left out, since their age is not known: {n}, of which lost: {lost}."
        lost = int(undated["died"].sum())
        yield voice.say(text, n=voice.count(len(undated)), lost=voice.count(lost))
    yield from left_out(voice, known, grouped, names)
    yield taken_as_known(voice, names)
    yield few_clusters(voice, cluster, grouped["asked_cluster"].nunique())


def _sizes(births: pd.DataFrame, names: tuple[str, ...], minimum: int) -> pd.DataFrame:
    """Newborns and litters of each group, in order, and whether they are too few to say anything."""
    if names:
        by = births.groupby(list(names), observed=True, sort=True)
        sizes = pd.DataFrame({"n": by.size(), "litters": by["litter"].nunique()}).reset_index()
    else:
        sizes = pd.DataFrame({"n": [len(births)], "litters": [births["litter"].nunique()]})
    return sizes.assign(few=too_small(sizes, minimum))


def _of_group(frame: pd.DataFrame, by: Sequence[str], row: Row) -> pd.DataFrame:
    here = np.ones(len(frame), dtype=bool)
    for name in by:
        here &= (frame[name] == row[name]).to_numpy(bool)
    return frame[here]


def _at_ages(
    result: OverAge, frame: pd.DataFrame, ages_h: float | Sequence[float], start: float
) -> pd.DataFrame:
    """A curve read before ages; nothing is read where too few were still watched."""
    ages = ages_of(ages_h) or result.ages_h
    read = curves.before_ages(frame, result.by, ages, end_h=result.end_h, start=start)
    read = _none_yet(read, start, result.settings.level)
    begun = [float(_of_group(frame, result.by, row)["at_risk"].max()) for row in read.to_dict("records")]
    least = np.array([fewest_watched(n) for n in begun])
    thin = (read["watched"].to_numpy() < least) & (read["share"].to_numpy() != 1 - start)
    read.loc[thin, ["share", "low", "high"]] = np.nan
    return read


def _none_yet(read: pd.DataFrame, start: float, level: float) -> pd.DataFrame:
    """Limits where nobody had been lost or had left before an age: those of none lost of so many watched."""
    none = (read["lost"] == 0) & read["low"].isna() & (read["share"] == start) & (read["watched"] > 1)
    if not none.any():
        return read
    watched = read.loc[none, "watched"].to_numpy(float)
    ones = np.ones((len(watched), 1))
    low, high = (
        limit.ravel() for limit in log_log(ones, 0 * ones, watched[:, None], watched[:, None], level)
    )
    limits = pd.DataFrame({"low": low, "high": high}, index=read.index[none])
    if start == 0.0:
        limits = pd.DataFrame({"low": 1 - high, "high": 1 - low}, index=limits.index)
    read.loc[none, ["low", "high"]] = limits
    return read


def _by(result: Result, whole: str) -> str:
    """The title with what newborns are grouped by."""
    if not result.by:
        return whole
    return result._voice.say("{what}, by {groups}", what=whole, groups=result._grouped_by)
