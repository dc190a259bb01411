"""House style and every picture; the only place that imports matplotlib, and not before a picture is looked at.

A chapter asks here for a kind of picture, ``draw_rates(frame, printer=..., name=..., ...)``, and has its figure at
once; the function of that name draws it later, perhaps in another process.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from neonatal_stats.drawing.figure import Figure as Figure
from neonatal_stats.drawing.figure import Kind
from neonatal_stats.drawing.marks import Rose as Rose
from neonatal_stats.drawing.marks import Went as Went
from neonatal_stats.drawing.marks import flow_marks_stand_for as flow_marks_stand_for
from neonatal_stats.drawing.marks import squares_stand_for as squares_stand_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes as Axes

    from neonatal_stats.drawing.bars import draw_causes as draw_causes
    from neonatal_stats.drawing.bars import draw_classes as draw_classes
    from neonatal_stats.drawing.bars import draw_milestones as draw_milestones
    from neonatal_stats.drawing.bars import draw_needed as draw_needed
    from neonatal_stats.drawing.bars import draw_terms as draw_terms
    from neonatal_stats.drawing.curves import draw_incidence as draw_incidence
    from neonatal_stats.drawing.curves import draw_loss as draw_loss
    from neonatal_stats.drawing.dots import draw_dumbbell as draw_dumbbell
    from neonatal_stats.drawing.dots import draw_pairs as draw_pairs
    from neonatal_stats.drawing.dots import draw_ranked as draw_ranked
    from neonatal_stats.drawing.dots import draw_rates as draw_rates
    from neonatal_stats.drawing.dots import draw_ratios as draw_ratios
    from neonatal_stats.drawing.limits import draw_funnel as draw_funnel
    from neonatal_stats.drawing.limits import draw_p_chart as draw_p_chart
    from neonatal_stats.drawing.on_the_calendar import draw_days as draw_days
    from neonatal_stats.drawing.on_the_calendar import draw_weeks as draw_weeks
    from neonatal_stats.drawing.points import draw_dose as draw_dose
    from neonatal_stats.drawing.points import draw_response as draw_response
    from neonatal_stats.drawing.points import draw_smooth as draw_smooth
    from neonatal_stats.drawing.tallies import draw_flow as draw_flow
    from neonatal_stats.drawing.tallies import draw_tally as draw_tally
    from neonatal_stats.drawing.times import draw_time_to as draw_time_to

KINDS = {
    "bars": ("draw_causes", "draw_milestones", "draw_terms", "draw_classes", "draw_needed"),
    "curves": ("draw_loss", "draw_incidence"),
    "dots": ("draw_rates", "draw_ranked", "draw_ratios", "draw_pairs", "draw_dumbbell"),
    "limits": ("draw_funnel", "draw_p_chart"),
    "on_the_calendar": ("draw_weeks", "draw_days"),
    "points": ("draw_smooth", "draw_dose", "draw_response"),
    "tallies": ("draw_flow", "draw_tally"),
    "times": ("draw_time_to",),
}
"""The kinds of pictures, by the file that draws them."""
_FILES = {function: file for file, functions in KINDS.items() for function in functions}


def __getattr__(name: str) -> Any:
    if name == "Axes":
        from matplotlib.axes import Axes

        return Axes
    if name in _FILES:
        return Kind(_FILES[name], name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
