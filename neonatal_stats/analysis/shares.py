"""Shares of newborns in groups of one's own, one group held against another, and groups on one common mix of births."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from neonatal_stats.analysis.asked import (
    By,
    clusters,
    groups_of,
    in_groups,
    level_of,
    names_of,
    reference_of,
    yes_no,
)
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
from neonatal_stats.drawing import Axes
from neonatal_stats.drawing.on_axes import dots
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures import contrasts as held
from neonatal_stats.measures import rates as counted
from neonatal_stats.measures import standardised as mixed
from neonatal_stats.measures.windows import UNKNOWN_AGES, not_watched
from neonatal_stats.season.model import Season
from neonatal_stats.season.toml_file import nearest, quoted
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Voice, voice_of
from neonatal_stats.words.names import factor, label

COMPARED_BY = ("risk ratio", "risk difference", "odds ratio")
SAID_AS = {
    "risk ratio": "risk ratio",
    "risk difference": "risk difference, percentage points",
    "odds ratio": "odds ratio",
    "hazard ratio": "hazard ratio",
}
"""Every measure as it stands under an axis and over a column."""
LEFT_EARLY = 0.1
"""Share of the newborns counted that may have left before the end before it is said."""


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
        what = _outcome_said(self._voice, self.outcome)
        if not self.by:
            return what
        return self._voice.say("{what}, by {groups}", what=what, groups=self._grouped_by)

    def table(self) -> Table:
        """Counts and shares, a row a group."""
        voice = self._voice
        declared = (
            *self._group_columns(),
            columns.counts("events", "n", _outcome_said(voice, self.outcome)),
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
        axis = self._voice.say("{what}, %", what=_outcome_said(self._voice, self.outcome))
        few = self._voice.say("too few to say")
        return dots(drawn_on(ax), rows, printer=self._voice, axis=axis, few=few)

    def _told(self) -> list[str]:
        voice, rows = self._voice, self.frame.to_dict("records")
        return [
            f"{name} {voice.share_of(row['events'], row['n'], row['low'], row['high'])}"
            for name, row in zip(self._labels(self.frame), rows, strict=True)
        ]


@dataclass(frozen=True, eq=False, repr=False)
class Contrasts(Result):
    """Groups held against a reference: ``frame`` has a row a group.

    factor, group, versus, measure; events, n, and events_versus, n_versus of the reference; estimate, low, high, p; q,
    which allows for how many comparisons were made (missing for one alone); verdict ("clear", "leaning", "no clear
    difference", "too few to say", see docs/python.md); note, what a model had to say of the row ("" mostly).

    ``measure`` is the measure; "hazard ratio" where it comes from `landmark`. An association, never a cause.
    """

    measure: str
    outcome: str

    @property
    def title(self) -> str:
        """What it is, in a few words."""
        what = _outcome_said(self._voice, self.outcome)
        return self._voice.say(
            "{what}: {measure} by {groups}",
            what=what,
            measure=self._voice.say(SAID_AS[self.measure]),
            groups=self._grouped_by,
        )

    def table(self) -> Table:
        """A row a group, with both counts, the estimate, its interval and what may be said of it."""
        voice, measure = self._voice, self.measure
        say, kind = voice.say, "points" if measure == "risk difference" else "ratio"
        estimate = columns.points if kind == "points" else columns.ratio
        declared = (
            columns.text("by", say("By"), raw="factor"),
            columns.text("name", say("Group"), raw="group"),
            columns.text("against", say("Against"), raw="versus"),
            columns.counts("events", "n", _outcome_said(voice, self.outcome)),
            columns.counts(
                "events_versus", "n_versus", say("{event} (there)", event=_outcome_said(voice, self.outcome))
            ),
            estimate("estimate", say(SAID_AS[measure])),
            columns.interval("low", "high", interval_heading(voice, self.settings.level), kind),
            columns.p("p", say("p")),
            columns.p("q", say("q")),
            columns.text("said", say("Evidence"), raw="verdict"),
        )
        frame = self.frame.assign(
            by=[factor(voice, name) for name in self.frame["factor"]],
            name=[label(voice, one) for one in self.frame["group"]],
            against=[label(voice, one) for one in self.frame["versus"]],
            said=[_verdict_said(voice, row) for row in self.frame.to_dict("records")],
        )
        return Table(self._name, self.title, frame, declared, note=self._noted(), printer=voice)

    def draw(self, ax: Axes | None = None) -> Axes:
        """Draw a dot on its interval for each comparison, on Axes of your own or new ones; red where it is clear."""
        log, rows = self.measure != "risk difference", self.frame
        read = rows.assign(
            label=self._labels(rows),
            at=rows["estimate"],
            told=self._told(),
            clear=[one is Verdict.CLEAR for one in rows["verdict"]],
            quiet=[one is Verdict.TOO_FEW for one in rows["verdict"]],
        )
        return dots(
            drawn_on(ax),
            read,
            printer=self._voice,
            axis=self._voice.say(SAID_AS[self.measure]),
            few=self._voice.say("too few to say"),
            scale=1.0 if log else 100.0,
            null=held.NULL[self.measure],
            log=log,
        )

    def _labels(self, rows: pd.DataFrame) -> list[str]:
        voice, text = self._voice, "{group} against {versus}"
        return [
            voice.say(text, group=label(voice, row["group"]), versus=label(voice, row["versus"]))
            for row in rows.to_dict("records")
        ]

    def _told(self) -> list[str]:
        voice = self._voice
        one, several = (
            (voice.points, voice.points_range)
            if "difference" in self.measure
            else (voice.ratio, voice.ratio_range)
        )
        return [
            f"{name} {one(row['estimate'])} ({several(row['low'], row['high'])})"
            for name, row in zip(self._labels(self.frame), self.frame.to_dict("records"), strict=True)
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
        what = _outcome_said(self._voice, self.outcome)
        text = "{what} by {groups}, as it was and on one mix of births"
        return self._voice.say(text, what=what, groups=self._grouped_by)

    def table(self) -> Table:
        """A row a group: as it was, and on the common mix."""
        voice = self._voice
        interval = interval_heading(voice, self.settings.level)
        declared = (
            *self._group_columns(),
            columns.counts("events", "n", _outcome_said(voice, self.outcome)),
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
        what = _outcome_said(voice, self.outcome)
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
        are not counted), "stillborn", or any other yes-no column of births, your own too.
    cluster : as `survival`.

    Raises
    ------
    NotRecorded, ValueError : as `survival`, and for an outcome that is not yes or no, such as "cause".

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
    births, names, named, out = _counted(season, by, outcome, cluster)
    frame = counted.rates(births, names, "asked", level=season.settings.level, cluster="asked_cluster")
    frame = frame.rename(columns={"litters": "clusters"})
    return Rates(**common(season, frame, names, named, len(births), *out), outcome=outcome)


def contrasts(
    season: Season,
    by: str | Sequence[str],
    *,
    versus: str | None = None,
    outcome: str = "lost",
    measure: str = "risk ratio",
    cluster: str | None = None,
) -> Contrasts:
    """Every group of a column held against one of them.

    Parameters
    ----------
    by : as `survival`; several columns are taken one after the other, and q allows for how many comparisons that is.
    versus : the group to hold the others against; unless said the vocabulary's ("born vaginally"), else the largest.
    outcome, cluster : as `rates`.
    measure : "risk ratio", "risk difference" or "odds ratio".

    Raises
    ------
    NotRecorded, ValueError : as `rates`, and for a reference or measure that there is not.

    Method
    ------
    Risk ratio (log scale), difference (Newcombe) or odds ratio with variances summed over clusters, exact where a group
    has no event; q of Benjamini & Hochberg (1995). "Clear" asks that the interval leaves out no difference and that q
    is within the setting false_discovery_share. An association, never proof of a cause.

    Examples
    --------
    >>> from neonatal_stats import analysis, read_season
    >>> season = read_season("data/demo/suckler_cows.csv")
    >>> surgery = analysis.contrasts(season, "born_by", outcome="24 h").to_frame().round(2)
    >>> surgery[["group", "versus", "estimate", "low", "high"]]
                 group          versus  estimate   low  high
    0  born by surgery  born vaginally      1.73  0.29  8.99
    """
    if measure not in COMPARED_BY:
        raise ValueError(f"measure: {quoted(measure)}{nearest(str(measure), COMPARED_BY)}")
    names = names_of(by)
    if not names or (versus is not None and len(names) > 1):
        raise ValueError("by: name a column; with versus, one column, since it is a group of that.")
    births, _, named, out = _counted(season, by, outcome, cluster, together=len(names) == 1)
    parts = [_against(season, births, name, versus, measure) for name in names]
    frame = held.with_verdicts(pd.concat(parts, ignore_index=True), season.settings, many=True)
    frame = frame[["factor", "group", *held.CONTRAST, "note"]]
    return Contrasts(
        **common(season, frame, names, named, len(births), *out, _rule(season)),
        measure=measure,
        outcome=outcome,
    )


def _against(
    season: Season, births: pd.DataFrame, name: str, versus: str | None, measure: str
) -> pd.DataFrame:
    """The groups of one column against its reference, under the names factor and group."""
    known = births[births["asked"].notna() & births[name].notna()]
    settings = season.settings
    levels = known[name].cat.remove_unused_categories()
    reference = (
        reference_of(name, levels, settings.minimum_group)
        if versus is None
        else level_of(name, levels.cat.categories, versus)
    )
    found = held.contrasts(
        known,
        name,
        versus=reference,
        outcome="asked",
        settings=settings,
        measure=measure,
        cluster="asked_cluster",
    )
    found = found.rename(columns={name: "group"})
    found.insert(0, "factor", name)
    return found.assign(group=found["group"].astype(object))


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
    births, _, named, out = _counted(season, by, outcome, cluster)
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


def _counted(
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
    grouped = known.dropna(subset=list(names)) if names and together else known
    return grouped, names, named, _out(season, births, known, grouped, names, outcome, named)


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


def _rule(season: Season) -> str:
    return voice_of(season).say("An association in these records is no proof of a cause.")


def _outcome_said(voice: Voice, outcome: str) -> str:
    """The outcome as it stands over counts."""
    if outcome in ("lost", "died"):
        return voice.say("Lost")
    if outcome == "stillborn":
        return voice.say("Born dead")
    window = outcome.removeprefix("lost_by_").replace("_", " ")
    return voice.say("Lost by {window}", window=window) if window in dict(_windows(voice)) else outcome


def _windows(voice: Voice) -> Iterator[tuple[str, float]]:
    return ((name, end_h) for end_h, name in voice.windows)


def _verdict_said(voice: Voice, row: Row) -> str:
    """What may be said of a comparison, and which way it leans."""
    verdict = row["verdict"]
    if verdict is not Verdict.LEANING:
        return voice.say(verdict.value)
    more = float(row["estimate"]) > held.NULL[str(row["measure"])]
    return voice.say("leaning, more" if more else "leaning, less")
