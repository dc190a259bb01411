"""Shares of newborns in groups of one's own, as they were counted and on one common mix of births."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.analysis.asked import By, groups_of, names_of
from neonatal_stats.analysis.results import Result, common, counted_of, drawn_on, outcome_said
from neonatal_stats.chapters.protocol import NotRecorded, interval_heading
from neonatal_stats.drawing import Axes
from neonatal_stats.drawing.on_axes import dots
from neonatal_stats.measures import rates as counted
from neonatal_stats.measures import standardised as mixed
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Voice, voice_of
from neonatal_stats.words.names import factor


@dataclass(frozen=True, eq=False, repr=False)
class Rates(Result):
    """Share of newborns with the outcome: ``frame`` has a row a group.

    events, n, share, low, high; ``clusters``, how many of ``cluster`` they stand in; ``design_effect``, how many times
    wider the variance is than that of so many independent newborns.
    """

    outcome: str

    @property
    def title(self) -> str:
        """What it is, in a few words."""
        what = outcome_said(self._voice, self.outcome)
        if not self.by:
            return what
        return self._voice.say("{what}, by {groups}", what=what, groups=self._grouped_by)

    def table(self) -> Table:
        """Counts and shares, a row a group."""
        voice = self._voice
        declared = (
            *self._group_columns(),
            columns.counts("events", "n", outcome_said(voice, self.outcome)),
            columns.share("share", voice.say("Share")),
            columns.interval("low", "high", interval_heading(voice, self.settings.level)),
            columns.count("clusters", self._clusters_said(voice)),
            columns.text("said", voice.say("Evidence")),
        )
        said = np.where(self._small(), voice.say("too few to say"), "")
        frame = self._with_words(self.frame).assign(said=said)
        return Table(self._name, self.title, frame, declared, note=self._noted(), printer=voice)

    def _small(self) -> pd.Series:
        """The groups too small to say anything of."""
        return counted.too_small(
            self.frame.rename(columns={"clusters": "litters"}), self.settings.minimum_group
        )

    def _clusters_said(self, voice: Voice) -> str:
        if self.cluster == "litter":
            return voice.say("{Litters}")
        return voice.say("Clusters ({cluster})", cluster=self.cluster)

    def draw(self, ax: Axes | None = None) -> Axes:
        """Draw a dot on its interval for each group, on Axes of your own or new ones; small groups are only named."""
        rows = self.frame.assign(
            label=self._labels(self.frame),
            at=self.frame["share"],
            told=self._told(),
            quiet=self._small(),
        )
        axis = self._voice.say("{what}, %", what=outcome_said(self._voice, self.outcome))
        few = self._voice.say("too few to say")
        return dots(drawn_on(ax), rows, printer=self._voice, axis=axis, few=few)

    def _told(self) -> list[str]:
        voice, rows = self._voice, self.frame.to_dict("records")
        return [
            f"{name} {voice.share_of(row['events'], row['n'], row['low'], row['high'])}"
            for name, row in zip(self._labels(self.frame), rows, strict=True)
        ]


@dataclass(frozen=True, eq=False, repr=False)
class Standardised(Result):
    """Shares had every group had the same mix of births: ``frame`` has a row a group.

    events, n, share, low, high as they were; n_standardised, n_not_standardised, standardised, standardised_low,
    standardised_high on the common mix. ``mix`` are the columns of the mix, ``outcome`` what is counted.
    """

    mix: tuple[str, ...]
    outcome: str

    @property
    def title(self) -> str:
        """What it is, in a few words."""
        what = outcome_said(self._voice, self.outcome)
        text = "{what} by {groups}, as it was and on one mix of births"
        return self._voice.say(text, what=what, groups=self._grouped_by)

    def table(self) -> Table:
        """A row a group: as it was, and on the common mix."""
        voice = self._voice
        interval = interval_heading(voice, self.settings.level)
        declared = (
            *self._group_columns(),
            columns.counts("events", "n", outcome_said(voice, self.outcome)),
            columns.interval("low", "high", interval),
            columns.count("n_standardised", voice.say("In the mix")),
            columns.share("standardised", voice.say("Share on the mix")),
            columns.interval(
                "standardised_low", "standardised_high", voice.say("{interval} on the mix", interval=interval)
            ),
            columns.in_csv(columns.share("share", voice.say("Share"))),
        )
        frame = self._with_words(self.frame)
        return Table(self._name, self.title, frame, declared, note=self._noted(), printer=voice)

    def draw(self, ax: Axes | None = None) -> Axes:
        """Draw the share as it was (dot) and on the common mix (open diamond) of each group, each on its interval."""
        frame, voice = self.frame, self._voice
        rows = frame.assign(
            label=self._labels(frame),
            at=frame["share"],
            told=[voice.percent(one) for one in frame["share"]],
            quiet=False,
            hollow=frame["standardised"],
            hollow_low=frame["standardised_low"],
            hollow_high=frame["standardised_high"],
            hollow_told=[voice.percent(one) for one in frame["standardised"]],
        )
        what = outcome_said(voice, self.outcome)
        axis = voice.say("{what}, %; open: on one mix of births", what=what)
        return dots(drawn_on(ax), rows, printer=voice, axis=axis, few="")

    def _told(self) -> list[str]:
        voice, rows = self._voice, self.frame.to_dict("records")
        text = "{group} {share}, on the mix {mixed}"
        return [
            voice.say(
                text, group=name, share=voice.percent(row["share"]), mixed=voice.percent(row["standardised"])
            )
            for name, row in zip(self._labels(self.frame), rows, strict=True)
        ]


def rates(season: Season, by: By = None, *, outcome: str = "lost", cluster: str | None = None) -> Rates:
    """Share of newborns with the outcome, of all together or in groups.

    Parameters
    ----------
    season : the records, of one season or several (which are then put together).
    by : as `survival`; several columns are crossed.
    outcome : "lost" (born dead or died within follow-up), the name of a window ("7 d": those that left before its end
        are not counted, and more than a tenth of them is refused), "stillborn", or any other yes-no column of births,
        your own too.
    cluster : as `survival`.

    Raises
    ------
    NotRecorded, ValueError : as `survival`, for an outcome that is not yes or no, such as "cause", and for a window
        that fewer than nine in ten were watched through: the living would be left out of it, and the dead never.

    Method
    ------
    Wilson interval on the number of newborns divided by the design effect (Rao & Scott 1992).

    Examples
    --------
    >>> from neonatal_stats import analysis, read_season
    >>> season = read_season("data/demo/suckler_cows.csv")
    >>> analysis.rates(season, "born_by", outcome="24 h").to_frame().round(3)[["born_by", "events", "n", "share"]]
               born_by  events    n  share
    0   born vaginally       9  234  0.038
    1  born by surgery       1   15  0.067
    """
    births, names, named, out = counted_of(season, by, outcome, cluster)
    frame = counted.rates(births, names, "asked", level=season.settings.level, cluster="asked_cluster")
    frame = frame.rename(columns={"litters": "clusters"})
    return Rates(**common(season, frame, names, named, len(births), *out), outcome=outcome)


def standardised(
    season: Season,
    by: str = "season",
    *,
    mix: str | Sequence[str] | None = None,
    outcome: str = "lost",
    cluster: str | None = None,
) -> Standardised:
    """Share with the outcome in each group, had all groups had the same mix of births.

    Parameters
    ----------
    by : one column, by default the season; as `survival`.
    mix : the columns of the mix, by default the setting standard_mix without ``by``. The standard is all births in
        strata that every group has; a column that half of some group lack is left out, and that is said.
    outcome, cluster : as `rates`.

    Raises
    ------
    NotRecorded : where no column of the mix can be used.
    ValueError : as `rates`, and for a mix that holds the column it is to make comparable.

    Method
    ------
    Direct standardisation, variance over clusters, Wilson's limits at the effective number of newborns; see
    `neonatal_stats.estimates.directly_standardised`.

    Examples
    --------
    >>> from neonatal_stats import analysis, read_season
    >>> season = read_season("data/demo/suckler_cows.csv")
    >>> evened = analysis.standardised(season, "parity_class", mix="born_by").to_frame()
    >>> evened[["parity_class", "share", "standardised"]].round(3)
          parity_class  share  standardised
    0     first litter  0.113         0.111
    1  second or third  0.098         0.096
    2  fourth or later  0.085         0.085
    """
    names = names_of(by)
    if len(names) != 1:
        raise ValueError("by: name one column whose groups are to be made comparable, such as season.")
    usual = [name for name in season.settings.standard_mix if name != names[0]]
    wanted = names_of(usual if mix is None else mix)
    if names[0] in wanted:
        raise ValueError(
            f"mix: it holds {names[0]}, whose groups are to be made comparable; leave it out of the mix."
        )
    births, _, named, out = counted_of(season, by, outcome, cluster)
    own = {
        name: groups_of(season, name, True, "mix")
        for name in wanted
        if mix is not None or not season.lacking([name])
    }
    births = births.assign(**own)
    births = births[births["asked"].notna()].assign(event=lambda rows: rows["asked"].astype(bool))
    births = births.assign(cluster=births["asked_cluster"])
    common_mix = mixed.common_mix(births, wanted, names[0])
    if not common_mix.columns:
        raise NotRecorded(
            f"mix: none of {', '.join(wanted)} can be used: in some group of {names[0]} fewer than half of the "
            "newborns have a value, or all have the same."
        )
    level = season.settings.level
    crude = counted.rates(births, names, "asked", level=level, cluster="asked_cluster")
    evened = mixed.standardised(births, common_mix, names[0], level=level)
    frame = crude.drop(columns="design_effect").merge(evened, on=names[0], how="left")
    frame[names[0]] = crude[names[0]]
    return Standardised(
        **common(season, frame, names, named, len(births), *out, *_mix_said(season, common_mix)),
        mix=common_mix.columns,
        outcome=outcome,
    )


def _mix_said(season: Season, mix: mixed.CommonMix) -> Iterator[str]:
    voice = voice_of(season)
    named = ", ".join(factor(voice, name) for name in mix.columns)
    yield voice.say("The mix: {columns}.", columns=named)
    if mix.unusable:
        named = ", ".join(factor(voice, name) for name in mix.unusable)
        yield voice.say(
            "Not in the mix, since too few have a value or all the same: {columns}.", columns=named
        )
