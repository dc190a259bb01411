"""What every result of the analysis can do: show itself, give its numbers, draw on Axes, be saved.

Which newborns of a known outcome it counts, which it leaves out, and what that outcome is called, is said here too.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import Any

import pandas as pd

from neonatal_stats.analysis.asked import KNOWN, By, axes_or_none, clusters, in_groups, yes_no
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.drawing import Axes, Figure
from neonatal_stats.drawing.on_axes import FOOT_IN, ROW_IN, own_axes, pictured
from neonatal_stats.measures.windows import UNKNOWN_AGES, UNWATCHED, not_watched
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Settings
from neonatal_stats.season.toml_file import quoted
from neonatal_stats.tables import Table
from neonatal_stats.tables.columns import Column, text
from neonatal_stats.tables.table import harmless
from neonatal_stats.words import Voice, voice_of
from neonatal_stats.words.names import factor, label

Row = dict[Hashable, Any]
FEWEST_LOST, TIMES_AS_MANY = 3, 2.0
"""Losses among those left out, and how many times the loss of those counted, before a blank is said to tell of it."""
FEWEST_CLUSTERS = 6
"""From so many clusters on 95 % intervals held 93 to 98 % in simulation (tests/simulations/few_clusters.txt)."""


@dataclass(frozen=True, eq=False)
class Result(ABC):
    """A result of `neonatal_stats.analysis`; it shows itself in a notebook.

    ``frame`` holds the raw numbers: shares from 0 to 1, ages in hours, groups in the vocabulary's or the farm's own
    words. ``by`` are the columns that newborns were grouped by, ``cluster`` what intervals allow for (newborns of one
    litter, dam or farm are not independent), ``counted`` how many newborns it rests on. ``notes`` say what was left
    out and what to keep in mind.
    """

    frame: pd.DataFrame
    by: tuple[str, ...]
    cluster: str
    counted: int
    notes: tuple[str, ...]
    settings: Settings
    species: str

    @property
    @abstractmethod
    def title(self) -> str:
        """What it is, in a few words."""

    @abstractmethod
    def table(self) -> Table:
        """The numbers as a person reads them."""

    @abstractmethod
    def draw(self, ax: Axes | None = None) -> Axes:
        """Draw it on Axes of your own, or on new ones; gives the Axes, whose title, size and letters are yours."""

    def figure(self) -> Figure:
        """The same drawing as a figure in the style of the review, which shows itself and is saved with `save`."""
        told = "; ".join(self._told())
        return pictured(
            lambda axes: self.draw(ax=axes),
            printer=self._voice,
            height_in=self._height_in,
            name=self._name,
            title=self.title,
            alt=f"{self.title}: {told}." if told else self.title,
        )

    def to_frame(self) -> pd.DataFrame:
        """A copy of the raw numbers, to go on with; a verdict is its word."""
        return plain(self.frame.copy())

    def save(self, path: str | PathLike[str]) -> Path:
        """Write the raw numbers (.csv) or the figure (.svg, .png), by the ending of the name; gives the path.

        Raises
        ------
        ValueError : for another ending.
        """
        target = Path(path)
        if target.suffix.lower() == ".csv":
            harmless(plain(self.frame)).to_csv(target, index=False, lineterminator="\n")
            return target
        if target.suffix.lower() not in (".svg", ".png"):
            raise ValueError(f"save: {target.name!r} ends in none of .csv, .svg and .png; name the file so.")
        return self.figure().save(target)

    @property
    def _voice(self) -> Voice:
        return voice_of(self)

    @property
    def _name(self) -> str:
        return type(self).__name__.lower()

    @property
    def _height_in(self) -> float:
        """The height of the figure: a row for each row."""
        return FOOT_IN + ROW_IN * len(self.frame)

    @abstractmethod
    def _told(self) -> Sequence[str]:
        """Its main numbers in words, for who cannot see the picture."""

    def _labels(self, rows: pd.DataFrame) -> list[str]:
        """The groups of these rows as a person reads them."""
        voice = self._voice
        if not self.by:
            return [voice.say("all")] * len(rows)
        return [", ".join(label(voice, row[name]) for name in self.by) for row in rows.to_dict("records")]

    @property
    def _grouped_by(self) -> str:
        """What newborns are grouped by, as it stands over groups."""
        return ", ".join(factor(self._voice, name) for name in self.by)

    def _group_columns(self) -> list[Column]:
        """A column of the table for each column that newborns are grouped by."""
        return [text(f"said_{name}", factor(self._voice, name), raw=name) for name in self.by]

    def _with_words(self, frame: pd.DataFrame) -> pd.DataFrame:
        """The frame with the groups in words, under the names of `_group_columns`."""
        voice = self._voice
        said = {f"said_{name}": [label(voice, one) for one in frame[name]] for name in self.by}
        return frame.assign(**said)

    def _noted(self) -> str:
        return " ".join(self.notes)

    def __repr__(self) -> str:
        groups = f" by {', '.join(self.by)}" if self.by else ""
        rows = f"{len(self.frame):,} row{'' if len(self.frame) == 1 else 's'}"
        return (
            f"<{type(self).__name__}{groups}: {self.counted:,} newborns, clustered on {self.cluster}, {rows}>"
        )

    def _repr_html_(self) -> str:
        return self.table().html()


def common(
    season: Season, frame: pd.DataFrame, by: tuple[str, ...], cluster: str, counted: int, *notes: str
) -> dict[str, Any]:
    """The fields that every result has."""
    return {
        "frame": frame,
        "by": by,
        "cluster": cluster,
        "counted": counted,
        "notes": tuple(note for note in notes if note),
        "settings": season.settings,
        "species": season.species,
    }


def left_out(
    voice: Voice, among: pd.DataFrame, counted: pd.DataFrame, names: Sequence[str], *, from_birth: bool = True
) -> Iterator[str]:
    """What is said of newborns of ``among`` that are not ``counted``, since their group is not known.

    Where they were lost far more often than those counted, the blank itself may tell of the outcome, and that is said
    where loss is counted from birth on.
    """
    out = among.loc[among.index.difference(counted.index)]
    if out.empty:
        return
    lost = int(out["died"].sum())
    text = "{Newborns} left out, since nothing is written for {columns}: {n}, of which lost: {lost}."
    columns = ", ".join(factor(voice, name) for name in names)
    yield voice.say(text, n=voice.count(len(out)), columns=columns, lost=voice.count(lost))
    if from_birth and lost >= FEWEST_LOST and lost / len(out) > TIMES_AS_MANY * counted["died"].mean():
        yield voice.say(
            "Far more of those left out were lost than of those counted. If {columns} is written only of {newborns} "
            "that lived long enough, groups of it say nothing of loss from birth on; landmark() counts from a mark on.",
            columns=columns,
        )


def taken_as_known(voice: Voice, names: Iterable[str]) -> str:
    """What is said of columns of one's own by which loss from birth on is grouped; nothing where there are none."""
    own = [name for name in names if name not in KNOWN]
    if not own:
        return ""
    return voice.say(
        "Taken as known at birth: {columns}. For what shows itself only later, with_column(..., known_at_h=...) and "
        "landmark() count from a mark on.",
        columns=", ".join(own),
    )


def few_clusters(voice: Voice, cluster: str, n: int) -> str:
    """What is said of intervals that rest on too few clusters; nothing where there are enough."""
    if n >= FEWEST_CLUSTERS:
        return ""
    text = (
        "Intervals rest on few clusters ({cluster}: {n}) and may be too narrow; from {enough} on they hold."
    )
    return voice.say(text, cluster=cluster, n=voice.count(n), enough=voice.count(FEWEST_CLUSTERS))


def drawn_on(ax: Axes | None) -> Axes:
    """The caller's Axes, or new ones.

    Raises
    ------
    TypeError : for anything else.
    """
    given = axes_or_none(ax)
    return own_axes() if given is None else given


def plain(frame: pd.DataFrame) -> pd.DataFrame:
    """The frame as a file holds it: verdicts as their words."""
    return (
        frame.assign(verdict=[getattr(v, "value", v) for v in frame["verdict"]])
        if "verdict" in frame
        else frame
    )


LEFT_EARLY = 0.1
"""Share of the newborns counted that may have left before the end before it is said."""


def counted_of(
    season: Season, by: By, outcome: str, cluster: str | None, *, together: bool = True
) -> tuple[pd.DataFrame, tuple[str, ...], str, Iterator[str]]:
    """The newborns with a known outcome, in groups and clusters, and what is said of those left out."""
    asked, of_loss = yes_no(season, outcome)
    births, names = in_groups(season, by, of_loss=of_loss)
    if outcome in names:
        raise ValueError(f"by: {outcome} is the outcome; name another column to group newborns by.")
    code, named = clusters(season, cluster)
    births = births.assign(asked=asked, asked_cluster=code)
    known = births[births["asked"].notna()]
    lost, undated = int(births["died"].sum()), int((births["asked"].isna() & births["died"]).sum())
    if of_loss and undated > UNKNOWN_AGES * lost:
        raise NotRecorded(
            f"outcome: of {lost:,} losses {undated:,} have no known age, too many for {outcome}, which would leave "
            "them out; outcome='lost' counts them all."
        )
    if of_loss:
        _refuse_unwatched(births, names, outcome, season.settings.minimum_group)
    grouped = known.dropna(subset=list(names)) if names and together else known
    return grouped, names, named, _out(season, births, known, grouped, names, outcome, named)


def _refuse_unwatched(births: pd.DataFrame, names: tuple[str, ...], outcome: str, minimum_group: int) -> None:
    """Refuse a window that too many of all, or of a group large enough to speak of, were not watched through."""
    gone = births["asked"].isna() & ~births["died"]
    parts = [("", gone)]
    for name in names:
        by_group = gone.groupby(births[name], observed=True)
        parts += [
            (f" with {name} {quoted(level)}", one) for level, one in by_group if len(one) >= minimum_group
        ]
    for of_what, part in parts:
        if part.sum() > UNWATCHED * len(part):
            raise NotRecorded(
                f"outcome: of {len(part):,} newborns{of_what} {int(part.sum()):,} were not watched through {outcome}; "
                "they would be left out and the lost never, which makes the share too high. survival() counts each "
                "as long as it was watched; or choose a shorter window."
            )


def _out(
    season: Season,
    births: pd.DataFrame,
    known: pd.DataFrame,
    grouped: pd.DataFrame,
    names: tuple[str, ...],
    outcome: str,
    cluster: str,
) -> Iterator[str]:
    voice = voice_of(season)
    if len(births) > len(known):
        unknown = births[births["asked"].isna()]
        text = "{Newborns} left out, since their outcome is not known: {n}, of which lost: {lost}."
        yield voice.say(text, n=voice.count(len(unknown)), lost=voice.count(int(unknown["died"].sum())))
    yield from left_out(voice, known, grouped, names)
    yield taken_as_known(voice, names)
    yield few_clusters(voice, cluster, grouped["asked_cluster"].nunique())
    early = int(not_watched(grouped, season.settings.follow_up_h).sum()) if outcome == "lost" else 0
    if early > LEFT_EARLY * len(grouped):
        text = (
            "{Newborns} that left or were last seen alive before the end of follow-up: {n}; they count as not lost, "
            "and survival() counts each until then."
        )
        yield voice.say(text, n=voice.count(early))


def outcome_said(voice: Voice, outcome: str) -> str:
    """The outcome as it stands over counts."""
    if outcome in ("lost", "died"):
        return voice.say("Lost")
    if outcome == "stillborn":
        return voice.say("Born dead")
    window = outcome.removeprefix("lost_by_").replace("_", " ")
    return voice.say("Lost by {window}", window=window) if window in dict(_windows(voice)) else outcome


def _windows(voice: Voice) -> Iterator[tuple[str, float]]:
    return ((name, end_h) for end_h, name in voice.windows)
