"""The finished picture: letters that can be read and searched, values to hover over, colours that stand apart."""

from xml.etree import ElementTree as ET

import pytest

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.colours import DARK, NAMES, PAPER, RULE, contrast
from neonatal_stats.drawing.house import canvas, house
from neonatal_stats.drawing.svg import SVG, said
from neonatal_stats.tables import Printer


@pytest.fixture
def figure() -> Figure:
    with house():
        drawn, (axes,) = canvas(Printer(), 1.5)
        (line,) = axes.plot([0, 1], [0, 1], "o", color="#1b4f72")
        said(line, "3 of 7 & more")
        axes.set_xlabel("lost, % of lambs")
    return Figure("one", "One", "A line.", drawn)


def test_letters_are_text(figure: Figure) -> None:
    texts = ["".join(node.itertext()) for node in ET.fromstring(figure.svg()).iter(f"{{{SVG}}}text")]
    assert "lost, % of lambs" in texts


def test_a_mark_tells_its_value(figure: Figure) -> None:
    titles = [node.text for node in ET.fromstring(figure.svg()).iter(f"{{{SVG}}}title")]
    assert titles == ["3 of 7 & more"]


def test_nothing_holds_nothing(figure: Figure) -> None:
    for node in ET.fromstring(figure.svg()).iter(f"{{{SVG}}}g"):
        assert node.attrib or len(node) > 1


def test_inside_a_page_every_colour_is_the_pages(figure: Figure) -> None:
    assert "#1b4f72" in figure.svg()
    assert "#1b4f72" not in figure.inline()
    assert "var(--blue)" in figure.inline()


def test_contrast_of_black_and_white_and_of_a_published_pair() -> None:
    """WCAG 2.2: black on white is 21:1; #767676 on white is the lightest grey over 4.5:1 (4.54, WebAIM's example)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("light", [colour for colour in NAMES if colour not in (PAPER, RULE)])
def test_colours_stand_apart_from_both_grounds(light: str) -> None:
    least = 3.0 if NAMES[light] == "past" else 4.5
    assert contrast(light, PAPER) >= least
    assert contrast(DARK[light], DARK[PAPER]) >= least
