"""Invents the litters that the R script and the tests share. No real animals.

Run from the project root: ``python tests/reference/marginal/invent_litters.py``
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

RNG = np.random.default_rng(20260301)
LITTERS = 110

size = RNG.choice([1, 2, 3, 4], p=[0.3, 0.45, 0.2, 0.05], size=LITTERS)
litter = np.repeat(np.arange(LITTERS), size)
newborns = len(litter)
frailty = RNG.gamma(2.0, 0.5, LITTERS)[litter]
group = np.where(
    RNG.random(newborns) < 0.2, RNG.integers(0, 3, newborns), RNG.integers(0, 3, LITTERS)[litter]
)
loss_h = np.floor(RNG.weibull(0.6, newborns) * 200 / frailty / (1 + 0.4 * group))
leave_h = RNG.choice([24, 72, 120, 168, 168, 168, 168], size=newborns)
age_h = np.minimum(loss_h, leave_h).astype(int)
outcome = np.where(loss_h <= leave_h, RNG.choice([1, 2, 3], p=[0.5, 0.3, 0.2], size=newborns), 0)
late = (RNG.random(newborns) < 0.25) & (age_h > 1)
entry_h = np.where(late, np.minimum(RNG.integers(1, 60, newborns), age_h - 1), 0)
weight = RNG.integers(1, 4, newborns)

columns = {"litter": litter, "group": group, "age_h": age_h, "outcome": outcome}
frame = pd.DataFrame(columns | {"entry_h": entry_h, "weight": weight})
frame.sample(frac=1, random_state=7).to_csv(Path(__file__).parent / "litters.csv", index=False)
