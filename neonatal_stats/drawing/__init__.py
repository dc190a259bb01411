"""House style and every picture; the only place that imports matplotlib."""

from matplotlib.axes import Axes

from neonatal_stats.drawing.figure import Figure

__all__ = ["Axes", "Figure"]
