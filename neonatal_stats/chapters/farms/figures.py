"""The figure of the farms: the funnel."""

from __future__ import annotations

from neonatal_stats.chapters.farms.result import Farms
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.points import draw_funnel
from neonatal_stats.measures.each_row import each_row
from neonatal_stats.measures.farm_funnel import OUTER_LEVEL
from neonatal_stats.tables import printing
from neonatal_stats.words.windows import window_label


def figures(result: Farms) -> tuple[Figure, ...]:
    """The funnel."""
    say, found = result.voice.say, result.funnel
    if found.farms.empty:
        return ()
    told = "; ".join(
        say("{letter} {share}", letter=row.letter, share=printing.percent(row.standardised))
        for row in each_row(found.farms)
    )
    window = window_label(result.window.name, result.window.end_h)
    return (
        draw_funnel(
            found.farms,
            found.line,
            found.centre,
            name="farms-funnel",
            title=say("Loss by farm against its number of {newborns}"),
            alt=say(
                "Each farm's share lost, mix allowed for, against the limits at its size: {told}.", told=told
            ),
            axes_words=(
                say("{newborns} on the farm"),
                say("lost by {window}, %, mix allowed for", window=window),
            ),
            words=(
                say("{level} limits", level=printing.percent(result.settings.level, 0)),
                say("{level} limits", level=printing.percent(OUTER_LEVEL)),
                say("your farm"),
            ),
        ),
    )
