"""A figure of a chapter: it is drawn where and when it is first looked at, so that another process can draw it.

Nothing of the drawing library is loaded before that.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property, partial
from importlib import import_module
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from neonatal_stats.drawing.colours import by_variable
from neonatal_stats.drawing.svg import finished

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas


@dataclass(frozen=True, eq=False)
class Figure:
    """One figure of a chapter; ``alt`` says in words what it shows, with its main numbers.

    ``drawn`` is what was drawn, or what draws it.
    """

    name: str
    title: str
    alt: str
    drawn: Canvas | Callable[[], Canvas] = field(repr=False)

    @cached_property
    def canvas(self) -> Canvas:
        """What is drawn, as the drawing library holds it."""
        return self.drawn() if callable(self.drawn) else self.drawn

    def svg(self) -> str:
        """The figure as SVG text: the same bytes on every run, ids prefixed so that many fit in one page."""
        return self._svg

    def inline(self) -> str:
        """The figure as SVG text for a page that names the house's colours as variables of its style."""
        return by_variable(self._svg)

    @cached_property
    def _svg(self) -> str:
        made = self._elsewhere("svg")
        if not isinstance(made, str):
            from neonatal_stats.drawing.house import as_svg

            made = as_svg(self.canvas)
        return finished(made, self.name)

    def png(self) -> bytes:
        """The figure as PNG bytes, laid out as in the SVG."""
        return self._png

    @cached_property
    def _png(self) -> bytes:
        made = self._elsewhere("png")
        if isinstance(made, bytes):
            return made
        from neonatal_stats.drawing.house import as_png, as_svg

        if self.canvas.get_layout_engine() is not None:
            as_svg(self.canvas)  # which lays it out
        return as_png(self.canvas)

    def save(self, path: str | PathLike[str]) -> Path:
        """Write the figure as it is on the page: SVG or PNG, by the ending of the name; gives the path.

        Raises
        ------
        ValueError : for another ending.
        """
        target = Path(path)
        if target.suffix.lower() not in (".svg", ".png"):
            raise ValueError(f"save: {target.name!r} ends in neither .svg nor .png; name the file so.")
        if target.suffix.lower() == ".svg":
            target.write_text(self.svg(), encoding="utf-8")
        else:
            target.write_bytes(self.png())
        return target

    def draw(self, ax: Axes) -> Axes:
        """Put the finished figure, as a picture, on Axes of your own, which lose their frame; gives the Axes.

        Marks that can be restyled are drawn by the results of `neonatal_stats.analysis`.
        """
        from neonatal_stats.drawing.house import put

        return put(self.png(), ax)

    def is_drawn_by(self, other: Callable[[str], str | bytes | None]) -> None:
        """Another process draws it: ``other`` waits for its "svg" or "png", None where that process draws no more."""
        self.__dict__["_other"] = other

    def _elsewhere(self, kind: str) -> str | bytes | None:
        other = self.__dict__.get("_other")
        return None if other is None else other(kind)

    def __repr__(self) -> str:
        return f"<Figure {self.name}: {self.title}>"

    def _repr_svg_(self) -> str:
        return self.svg()


@dataclass(frozen=True)
class Kind:
    """A kind of picture, by its file in this room and the name of its function: called as that function is, it gives
    the figure at once and draws it when it is looked at."""

    file: str
    function: str

    def __call__(self, *what: Any, name: str, title: str, alt: str, **more: Any) -> Figure:
        return Figure(name, title, alt, partial(self.canvas, *what, name=name, title=title, alt=alt, **more))

    def canvas(self, *what: Any, **more: Any) -> Canvas:
        """What the function draws."""
        draw: Callable[..., Figure] = getattr(import_module(f"{__package__}.{self.file}"), self.function)
        return draw(*what, **more).canvas
