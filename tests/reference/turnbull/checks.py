"""Deaths between two checks: beside hand-worked answers, and beside R, whose iteration stops early."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd

from neonatal_stats.estimates.interval_censored import turnbull

HERE = Path(__file__).parent
Check = tuple[str, str, float, float, str, float]


def checks() -> list[Check]:
    return [*_by_hand(), *_beside_r()]


def _by_hand() -> Iterator[Check]:
    three = turnbull([0, 1, 2], [2, 3, 4])
    source = "worked by hand: p (1 - p) is largest at one half"
    yield "Turnbull mass in (1, 2]", "(0,2] (1,3] (2,4]", float(three.mass[0]), 0.5, source, 1e-8
    yield (
        "Turnbull log likelihood",
        "(0,2] (1,3] (2,4]",
        float(three.loglik),
        float(np.log(0.25)),
        source,
        1e-8,
    )


def _beside_r() -> Iterator[Check]:
    rows, answers = pd.read_csv(HERE / "checks.csv"), pd.read_csv(HERE / "answers.csv")
    fit = turnbull(rows["low_h"], rows["high_h"])
    source = "optimality: no slope of the likelihood above n"
    n = float(len(rows))
    yield "Turnbull largest slope", "400 invented", float(fit.largest_derivative), n, source, 1e-8
    ends = fit.intervals[:, 1]
    ours = np.array([1 - fit.mass[ends <= age].sum() for age in answers["age_h"]])
    theirs = answers["share"].to_numpy()
    place = int(np.argmax(np.abs(ours - theirs) / theirs))
    words, source = (
        f"Turnbull share alive (worst of {len(ours)})",
        "R survival 3.5-3 survfit, which stops early",
    )
    yield words, "400 invented", float(ours[place]), float(theirs[place]), source, 2e-2
