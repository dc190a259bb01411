"""A finished figure: the drawing, its title and the words for those who cannot see it."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from functools import cached_property

from matplotlib.figure import Figure as Canvas

from neonatal_stats.drawing.style import house

PNG_DPI = 120
_NO_SOFTWARE = {"Software": None}
_QUICKLY = {"compress_level": 1}
_NO_METADATA = {"Date": None, "Creator": None, "Format": None, "Type": None}


@dataclass(frozen=True, eq=False)
class Figure:
    """One figure of a chapter; ``alt`` says in words what it shows, with its main numbers."""

    name: str
    title: str
    alt: str
    canvas: Canvas

    def svg(self) -> str:
        """The figure as SVG text: the same bytes on every run, ids prefixed so that many fit in one page."""
        return self._svg

    @cached_property
    def _svg(self) -> str:
        with house():
            buffer = io.StringIO()
            self.canvas.savefig(buffer, format="svg", metadata=_NO_METADATA)
        self.canvas.set_layout_engine("none")  # laid out once: the PNG keeps the places of the SVG
        text = buffer.getvalue()
        text = _shorter(text[text.index("<svg") :])
        text = re.sub(r'\bid="([^"]+)"', rf'id="{self.name}-\1"', text)
        text = re.sub(r"url\(#([^)]+)\)", rf"url(#{self.name}-\1)", text)
        return re.sub(r'xlink:href="#([^"]+)"', rf'xlink:href="#{self.name}-\1"', text)

    def png(self) -> bytes:
        """The figure as PNG bytes, laid out as in the SVG."""
        return self._png

    @cached_property
    def _png(self) -> bytes:
        self.svg()
        with house():
            buffer = io.BytesIO()
            self.canvas.savefig(buffer, format="png", dpi=PNG_DPI, metadata=_NO_SOFTWARE, pil_kwargs=_QUICKLY)
        return buffer.getvalue()

    def keep(self, svg: str, png: bytes) -> None:
        """Keep what another process drew of this figure."""
        self.__dict__.update(_svg=svg, _png=png)

    def _repr_svg_(self) -> str:
        return self.svg()


def _shorter(svg: str) -> str:
    """The same drawing in fewer bytes: a hundredth of a point is finer than any print; no comments.

    Scales are left as they are: letters are drawn a hundred times too large and scaled, so that a rounded scale
    would change their size and not their places.
    """
    svg = re.sub(r"<!--.*?-->\n?", "", svg, flags=re.DOTALL)
    svg = re.sub(r"scale\([^)]*\)|-?\d+\.\d{3,}", _rounded, svg)
    return re.sub(r"\n\s+", "\n", svg)


def _rounded(match: re.Match[str]) -> str:
    text = match.group()
    return text if text.startswith("scale") else f"{float(text):.2f}".rstrip("0").rstrip(".")
