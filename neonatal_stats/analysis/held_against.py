"""Groups of one's own, each held against one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from neonatal_stats.analysis.asked import level_of, names_of, reference_of
from neonatal_stats.analysis.results import Result, Row, common, counted_of, drawn_on, outcome_said
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Axes
from neonatal_stats.drawing.on_axes import dots
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures import contrasts as held
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
        what = outcome_said(self._voice, self.outcome)
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
            columns.counts("events", "n", outcome_said(voice, self.outcome)),
            columns.counts(
                "events_versus", "n_versus", say("{event} (there)", event=outcome_said(voice, self.outcome))
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
    births, _, named, out = counted_of(season, by, outcome, cluster, together=len(names) == 1)
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


def _rule(season: Season) -> str:
    return voice_of(season).say("An association in these records is no proof of a cause.")


def _verdict_said(voice: Voice, row: Row) -> str:
    """What may be said of a comparison, and which way it leans."""
    verdict = row["verdict"]
    if verdict is not Verdict.LEANING:
        return voice.say(verdict.value)
    more = float(row["estimate"]) > held.NULL[str(row["measure"])]
    return voice.say("leaning, more" if more else "leaning, less")
