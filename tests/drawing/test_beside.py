"""A figure is the same to the byte, whichever process draws it."""

from __future__ import annotations

import os
from dataclasses import replace
from multiprocessing import active_children
from typing import cast

import pandas as pd
import pytest
from matplotlib.figure import Figure as Canvas

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.beside import second_hand, side_by_side
from neonatal_stats.drawing.dots import draw_rates
from neonatal_stats.tables import Printer


def _figures() -> tuple[Figure, ...]:
    rates = pd.DataFrame(
        {"label": ["single", "twin"], "events": [3, 9], "n": [40, 60], "share": [0.075, 0.15]}
    )
    rates = rates.assign(low=[0.03, 0.08], high=[0.2, 0.26])
    words = {"title": "Lost", "alt": "Lost by birth type", "axis": "lost, %"}
    return tuple(draw_rates(rates, printer=Printer(), name=f"rates-{n}", **words) for n in range(6))


@pytest.mark.slow
def test_the_second_hand_draws_the_same_bytes() -> None:
    here, beside = _figures(), _figures()
    with second_hand() as hand:
        hand.draw(beside)
        assert [figure.svg() for figure in beside] == [figure.svg() for figure in here]
        assert [figure.png() for figure in beside] == [figure.png() for figure in here]
        assert not any("canvas" in vars(figure) for figure in beside)


@pytest.mark.slow
def test_figures_of_one_name_are_told_apart() -> None:
    here, beside = ([replace(one, name="rates") for one in _figures()] for _ in range(2))
    with second_hand() as hand:
        hand.draw(beside)
        assert [figure.png() for figure in beside] == [figure.png() for figure in here]
        assert [figure.svg() for figure in beside] == [figure.svg() for figure in here]


@pytest.mark.slow
def test_where_the_second_hand_dies_everything_is_drawn_here() -> None:
    here, beside = _figures(), _figures()
    with second_hand() as hand:
        (other,) = active_children()
        other.kill()
        other.join()
        hand.draw(beside)
        assert [figure.svg() for figure in beside] == [figure.svg() for figure in here]
    assert active_children() == []


@pytest.mark.slow
def test_where_it_dies_between_a_figures_two_forms_both_are_the_same_still() -> None:
    here, beside = _figures(), _figures()
    with second_hand() as hand:
        hand.draw(beside)
        assert beside[-1].svg() == here[-1].svg()
        (other,) = active_children()
        other.kill()
        assert [figure.png() for figure in beside] == [figure.png() for figure in here]


@pytest.mark.slow
def test_what_nobody_looked_at_can_be_looked_at_afterwards() -> None:
    here, beside = _figures(), _figures()
    with second_hand() as hand:
        hand.draw(beside)
    assert [figure.png() for figure in beside] == [figure.png() for figure in here]


@pytest.mark.slow
def test_a_figure_that_cannot_be_drawn_fails_here() -> None:
    whole, *others = _figures()
    broken = replace(whole, drawn=cast("Canvas", None))
    with second_hand() as hand:
        hand.draw([broken, *others])
        with pytest.raises(AttributeError, match="NoneType"):
            broken.svg()
        assert [figure.svg() for figure in others] == [figure.svg() for figure in _figures()[1:]]
    assert active_children() == []


def halved(n: int) -> float:
    """Half of it, but for 3, at which the process ends."""
    if n == 3:
        os._exit(1)
    return n / 2


@pytest.mark.slow
def test_a_process_that_dies_takes_no_other_task_with_it() -> None:
    done = dict(side_by_side(halved, [1, 3, 2, 4], 2))
    assert done == {1: 0.5, 2: 1.0, 3: None, 4: 2.0}
    asked = side_by_side(halved, [2, 4, 6], 1)
    assert next(asked) == (2, 1.0)
    asked.close()
    assert active_children() == []
