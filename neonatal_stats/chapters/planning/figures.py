"""The figure of planning: what each group could save a season, at most."""

from __future__ import annotations

import textwrap

from neonatal_stats.chapters.planning.result import Planning
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_ranked
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.tables import printing

LABEL_WIDTH = 34


def figures(result: Planning) -> tuple[Figure, ...]:
    """Avoidable losses, where any group clearly lost more."""
    frame = result.avoidable
    if frame.empty:
        return ()
    say = result.voice.say
    frame = frame.assign(
        label=["\n".join(textwrap.wrap(text, LABEL_WIDTH)) for text in frame["phrase"]],
        excess=frame["saved"],
        excess_low=frame["saved_low"],
        excess_high=frame["saved_high"],
        counts=[printing.number(saved, 0) for saved in frame["saved"]],
    )
    told = "; ".join(say("{phrase}, {saved}", phrase=row.phrase, saved=row.counts) for row in each_row(frame))
    return (
        draw_ranked(
            frame,
            name="planning-avoidable",
            title=say("What each group could save a season, at most"),
            alt=say("Fewer losses a season had the group done as well as the rest: {told}.", told=told),
            axis=say("fewer {newborns} lost a season (filled: clear among all groups tried)"),
            counts_heading=say("fewer"),
        ),
    )
