"""Tables that several chapters lay out alike: groups held against one of them, high-risk groups, and curves by group.

Groups of `measures.contrasts.by_factor` are put in a sentence here too; high-risk groups are those of
`measures.risk_groups`; a curve holds every step of a figure's lines, so that another program can redraw them.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from typing import Any

import pandas as pd

from neonatal_stats.measures.rates import too_small
from neonatal_stats.measures.risk_groups import nested
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.words.evidence import Compared
from neonatal_stats.words.names import factor_in_short, group_phrase, label, phrase
from neonatal_stats.words.voice import Voice

PRINTED = {
    "share_low": "low",
    "share_high": "high",
    "estimate": "ratio",
    "low": "ratio_low",
    "high": "ratio_high",
}
"""What the table calls the columns: low and high belong to the group's own share, which stands first."""


def compared_group(voice: Voice, row: Mapping[Hashable, Any]) -> Compared:
    """A row, with both of its groups as parts of a sentence."""
    group, versus = (phrase(voice, row["factor"], row[name]) for name in ("group", "versus"))
    return Compared.of(row, group=group, versus=versus)


def group_name(voice: Voice, row: Mapping[Hashable, Any]) -> str:
    """A group with its factor, as it stands beside a mark: "delivery: difficult"."""
    what = factor_in_short(voice, row["factor"])
    return voice.say("{what}: {level}", what=what, level=label(voice, row["group"]))


def group_rows(voice: Voice, groups: pd.DataFrame) -> pd.DataFrame:
    """The rows with their factors and groups as a person reads them, under the names of `group_columns`."""
    return groups.rename(columns=PRINTED).assign(
        by=[factor_in_short(voice, factor) for factor in groups["factor"]],
        name=[label(voice, group) for group in groups["group"]],
        against=[label(voice, group) if isinstance(group, str) else "" for group in groups["versus"]],
    )


def in_blocks(rows: pd.DataFrame, minimum_group: int) -> pd.DataFrame:
    """Rows of `group_rows` as a picture shows them: every group once, under the heading of its factor.

    Returns
    -------
    The rows with heading, label, depth (1 for a part, under its broader group) and quiet (too small to say). A group
    is left out where all others of its factor stand elsewhere.
    """
    frame = nested(rows)
    heading = frame["by"].where(frame["depth"] == 0).ffill()
    frame = frame.assign(heading=heading, label=frame["name"], quiet=too_small(frame, minimum_group))
    return frame[heading.map(heading.value_counts()) > 1]


def group_columns(voice: Voice, interval: str, event: str, counted: str) -> tuple[Column, ...]:
    """The columns, with what is counted ("Not met") and of which ("Observed")."""
    say = voice.say
    return (
        columns.text("by", say("By"), raw="factor"),
        columns.text("name", say("Group"), raw="group"),
        columns.count("events", event),
        columns.count("n", counted),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval),
        columns.text("against", say("Against"), raw="versus"),
        columns.count("events_versus", say("{event} (there)", event=event)),
        columns.count("n_versus", say("{counted} (there)", counted=counted)),
        columns.share("share_versus", say("Share (there)")),
        columns.ratio("ratio", say("Risk ratio")),
        columns.interval(
            "ratio_low", "ratio_high", say("{interval} of the ratio", interval=interval), "ratio"
        ),
        columns.in_csv(columns.p("p", say("p"))),
        columns.p("q", say("q")),
        columns.key("note", say("Note")),
    )


IN_TABLES = {
    "group": "level", "with_group": "with_level",
    "n": "births", "events": "deaths", "share": "risk", "shrunken_share": "shrunken_risk",
    "n_versus": "rest_births", "events_versus": "rest_deaths", "share_versus": "rest_risk",
    "estimate": "risk_ratio", "share_of_events": "share_of_deaths",
}  # fmt: skip
"""What their columns are called in tables and files."""


def risk_rows(voice: Voice, groups: pd.DataFrame) -> pd.DataFrame:
    """The groups under the names of `risk_columns`, with `phrase`, the newborns of each in words."""
    phrases = [group_phrase(voice, row) for row in groups.to_dict("records")]
    return groups.rename(columns=IN_TABLES).assign(phrase=phrases)


def risk_columns(voice: Voice, interval: str) -> tuple[Column, ...]:
    """Every column that a table of groups can have; ``interval`` is the heading of one."""
    say = voice.say
    return (
        columns.text("phrase", say("Group")),
        columns.key("factor", say("Factor")),
        columns.key("level", say("Level")),
        columns.key("with_factor", say("Second factor")),
        columns.key("with_level", say("Second level")),
        columns.count("deaths", say("Lost")),
        columns.count("births", say("{newborns}")),
        columns.share("risk", say("Share")),
        columns.share("shrunken_risk", say("Share, drawn in")),
        columns.count("rest_deaths", say("Lost, the rest")),
        columns.count("rest_births", say("The rest")),
        columns.share("rest_risk", say("Share, the rest")),
        columns.ratio("risk_ratio", say("Risk ratio")),
        columns.interval("low", "high", interval, "ratio"),
        columns.count("excess", say("Losses beyond the rest's risk")),
        columns.count("excess_low", say("{interval}, from", interval=interval)),
        columns.count("excess_high", say("to")),
        columns.share("share_of_deaths", say("Share of all losses")),
        columns.count("seasons_more", say("Seasons in which it lost more")),
        columns.count("seasons_seen", say("Seasons with enough of them")),
        columns.p("p", say("p")),
        columns.p("q", say("q")),
        columns.text("reading", say("Reading")),
        columns.key("verdict", say("Verdict")),
        columns.key("tried", say("Tried")),
        columns.key("recorded", say("Recorded")),
    )


def shown_first(declared: Sequence[Column], shown: Sequence[str], frame: pd.DataFrame) -> tuple[Column, ...]:
    """The named columns, in that order; of the others those that the frame has, in the CSV alone."""
    by_name = {column.name: column for column in declared if set(column.stored) <= set(frame)}
    kept = (columns.in_csv(column) for name, column in by_name.items() if name not in shown)
    return (*(by_name[name] for name in shown), *kept)


def curve_table(
    voice: Voice, name: str, title: str, curve: pd.DataFrame, keys: Mapping[str, str], level: float
) -> Table:
    """A ``curve`` frame as a table, one row a group and age at which anybody was still watched.

    Parameters
    ----------
    name, title : of the table; it stands in a file of its own and not on the page.
    curve : age_h, at_risk, events, share, low, high and the columns of ``keys``; shares from 0 to 1.
    keys : columns that tell the groups apart, each with its heading.
    level : confidence level of low and high.
    """
    say = voice.say
    declared = (
        *(columns.key(key, heading) for key, heading in keys.items()),
        columns.age("age_h", say("Age")),
        columns.count("at_risk", say("Still watched")),
        columns.count("events", say("At this age")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", say("{level} interval", level=voice.percent(level, 0))),
    )
    watched = curve[curve["at_risk"] > 0].reset_index(drop=True)
    for key in keys:
        watched[key] = watched[key].astype(object)
    return Table(name, title, watched, declared, printer=voice)
