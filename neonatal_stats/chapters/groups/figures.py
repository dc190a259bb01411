"""The figure of the high-risk groups: excess losses, ranked."""

from __future__ import annotations

import textwrap

from neonatal_stats.chapters.groups.result import Groups
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_ranked
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import printing
from neonatal_stats.words import Verdict

MOST_DRAWN = 12
LABEL_WIDTH = 34


def figures(result: Groups) -> tuple[Figure, ...]:
    """The groups with most excess losses, and the rows always shown."""
    say = result.voice.say
    groups = result.groups[result.groups["tried"].astype(bool)]
    named = set(result.always["phrase"])
    top = (groups["verdict"] == Verdict.CLEAR) | groups["phrase"].isin(named) | (groups["with_factor"] == "")
    drawn = groups[top & (groups["excess"] > 0)].sort_values("excess", ascending=False, kind="stable")
    drawn = drawn.head(MOST_DRAWN)
    if drawn.empty:
        return ()
    frame = drawn.assign(
        label=["\n".join(textwrap.wrap(text, LABEL_WIDTH)) for text in drawn["phrase"]],
        clear=drawn["verdict"] == Verdict.CLEAR,
        counts=[printing.counts(d, n) for d, n in zip(drawn["deaths"], drawn["births"], strict=True)],
    )
    listed = "; ".join(
        say("{phrase}, {excess} more", phrase=row.phrase, excess=printing.number(row.excess, 0))
        for row in each_row(frame)
    )
    return (
        draw_ranked(
            frame,
            name="groups-excess",
            title=say("Losses beyond the rest's risk, group by group"),
            alt=say(
                "Excess losses of each group against the rest, with {level} intervals, most first: {listed}. "
                "Filled marks are clear, open ones are not.",
                level=printing.percent(result.settings.level, 0),
                listed=listed,
            ),
            axis=say("{newborns} lost beyond the rest's risk (filled: clear among all groups tried)"),
            counts_heading=say("lost"),
        ),
    )
