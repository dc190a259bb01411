"""High-risk groups (`measures.risk_groups`) as the rows and columns of a table."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from neonatal_stats.tables import columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.words.names import group_phrase
from neonatal_stats.words.voice import Voice

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
