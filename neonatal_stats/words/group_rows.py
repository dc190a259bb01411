"""Groups held against one of them (`measures.contrasts.by_factor`): in a sentence, and as a table."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.measures.nesting import nested
from neonatal_stats.measures.rates import too_small
from neonatal_stats.tables import columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.words.evidence import Compared
from neonatal_stats.words.names import factor_in_short, label, phrase
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
