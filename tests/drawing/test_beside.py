"""A figure is the same to the byte, whichever process draws it."""

from __future__ import annotations

import pandas as pd
import pytest

from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.beside import second_hand
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
        hand.finish()
    assert [figure.svg() for figure in beside] == [figure.svg() for figure in here]
    assert [figure.png() for figure in beside] == [figure.png() for figure in here]
