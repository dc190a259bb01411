"""Invents the litters that the R script and the tests share. No real animals.

Run from the project root: ``python tests/reference/marginal/invent_litters.py``
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

NUMBER, LITTERS = 20260301, 110


def invented() -> pd.DataFrame:
    """Newborns in litters that share their frailty, in three groups; some are watched from a later age on."""
    draw = np.random.default_rng(NUMBER)
    size = draw.choice([1, 2, 3, 4], p=[0.3, 0.45, 0.2, 0.05], size=LITTERS)
    litter = np.repeat(np.arange(LITTERS), size)
    newborns = len(litter)
    frailty = draw.gamma(2.0, 0.5, LITTERS)[litter]
    group = np.where(
        draw.random(newborns) < 0.2, draw.integers(0, 3, newborns), draw.integers(0, 3, LITTERS)[litter]
    )
    loss_h = np.floor(draw.weibull(0.6, newborns) * 200 / frailty / (1 + 0.4 * group))
    leave_h = draw.choice([24, 72, 120, 168, 168, 168, 168], size=newborns)
    age_h = np.minimum(loss_h, leave_h).astype(int)
    outcome = np.where(loss_h <= leave_h, draw.choice([1, 2, 3], p=[0.5, 0.3, 0.2], size=newborns), 0)
    late = (draw.random(newborns) < 0.25) & (age_h > 1)
    entry_h = np.where(late, np.minimum(draw.integers(1, 60, newborns), age_h - 1), 0)
    weight = draw.integers(1, 4, newborns)
    columns = {"litter": litter, "group": group, "age_h": age_h, "outcome": outcome}
    frame = pd.DataFrame(columns | {"entry_h": entry_h, "weight": weight})
    return frame.sample(frac=1, random_state=7)


if __name__ == "__main__":  # tests read what it wrote, several at once: looking at this page writes nothing
    invented().to_csv(Path(__file__).parent / "litters.csv", index=False)
