"""The emulated trial of feeding by a mark: by hand, and against invented flocks whose answer is known."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.estimates.emulated_trial import (
    _arms,
    _bands,
    _checked,
    _Feeding,
    _fit_hazard,
    _hazard,
    fed_by_mark,
)


def flock(number: int, n: int, hazard_ratio: float) -> pd.DataFrame:
    """Weak newborns feed late and die early; feeding multiplies the hazard from the next hour on."""
    rng = np.random.default_rng(number)
    weak = rng.integers(0, 2, n)
    litter = np.arange(n) // 2
    age, fed, died = np.full(n, 168), np.full(n, np.nan), np.zeros(n, dtype=int)
    open_rows = np.ones(n, dtype=bool)
    for hour in range(168):
        rate = 0.02 * np.exp(-hour / 30) * np.where(weak == 1, 3, 1)
        rate = rate * np.where(fed < hour, hazard_ratio, 1)
        dies = open_rows & (rng.random(n) < rate)
        age[dies], died[dies] = hour, 1
        open_rows &= ~dies
        feeds = open_rows & np.isnan(fed) & (rng.random(n) < np.where(weak == 1, 0.12, 0.35))
        fed[feeds] = hour
    return pd.DataFrame({"age_h": age, "died": died, "fed_h": fed, "weak": weak, "litter": litter})


def truth(hazard_ratio: float, fed_by: float | None) -> float:
    """Risk by 168 h in the same invented flock, worked through hour by hour for each kind of newborn.

    Not fed by 6 h: unfed to hour 6, then fed at the natural rate. Fed by 6 h: feeds fall as they do naturally
    among newborns fed by hour 6.
    """
    risks = []
    for weak, feeds in ((0, 0.35), (1, 0.12)):
        unfed, fed = 1.0, 0.0
        for hour in range(168):
            rate = 0.02 * np.exp(-hour / 30) * (3 if weak else 1)
            unfed, fed = unfed * (1 - rate), fed * (1 - rate * hazard_ratio)
            late = 1 - (1 - feeds) ** max(6 - hour + 1, 0)
            chance = feeds if hour > 6 else (feeds / late if fed_by else 0.0)
            unfed, fed = unfed * (1 - chance), fed + unfed * chance
        risks.append(1 - unfed - fed)
    return float(np.mean(risks))


def test_without_covariates_by_hand() -> None:
    """Mark 1, eight newborns in hours 0-3; worked by hand.

    Feeds: four in hour 0, one in hour 1, two never, one (dead in hour 0) never. Hour 0: 1 of 8 dies. Unfed
    arm: 3 unfed at hour 1, one of them dies; one is fed, and the other, unfed past the mark, dies at 3: 7/8 *
    2/3 * 0.
    """
    fed = [0, 0, 0, 0, 1, np.nan, np.nan, np.nan]
    age = [2, 9, 9, 9, 9, 1, 3, 0]
    died = [1, 0, 0, 0, 0, 1, 1, 1]
    feeding, until, _, _ = _checked(fed, age, died, None, 1, 8, None)
    band = _bands(feeding, np.ones(8))
    found = _arms(feeding, until, np.ones(8), band, _fit_hazard(feeding, band, np.ones(8)))
    assert found.risk_unfed == pytest.approx(1.0)
    # F(0) = 4/7, F(1) = 1 - 3/7 * 1/2 = 11/14. In hour 1 a fed newborn weighs 14/11, an unfed one
    # (1 - (4/7) / (11/14)) * 7/3 = 7/11: at risk 4 * 14/11 + 3 * 7/11 = 7, 7/11 die. Then 1 of 5 dies.
    assert found.risk_fed == pytest.approx(1 - 7 / 8 * (1 - 7 / 11 / 7) * 4 / 5, rel=1e-6)


def test_hours_in_bands_and_hazard_of_feeding() -> None:
    """Without covariates the fitted chance in each hour is feeds over those that may feed."""
    rng = np.random.default_rng(2)
    nothing = np.zeros(500, dtype=np.int64)
    feeding = _Feeding(rng.integers(0, 5, 500), np.full(500, 9), nothing, np.zeros((0, 1)), nothing, 3)
    band = _bands(feeding, np.ones(500))
    beta = _fit_hazard(feeding, band, np.ones(500))
    for hour in range(4):
        expected = (feeding.fed == hour).sum() / (feeding.fed >= hour).sum()
        assert _hazard(feeding, band, beta, hour)[0] == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("hazard_ratio", [1.0, 0.4])
def test_the_known_answer_is_found(hazard_ratio: float) -> None:
    births = flock(7, 40_000, hazard_ratio)
    found = fed_by_mark(
        births["fed_h"], births["age_h"], births["died"], births["weak"], mark_h=6, until_h=167, n_boot=20,
        cluster=births["litter"], level=0.95
    )  # fmt: skip
    assert found.risk_fed.estimate == pytest.approx(truth(hazard_ratio, 6), abs=0.01)
    assert found.risk_unfed.estimate == pytest.approx(truth(hazard_ratio, None), abs=0.012)
    assert found.difference.low <= found.difference.estimate <= found.difference.high
    assert found.effective_unfed < found.unfed
    assert found.notes == ()


def test_no_effect_is_not_found_where_grouping_from_birth_finds_one() -> None:
    births = flock(3, 6000, 1.0)
    found = fed_by_mark(
        births["fed_h"], births["age_h"], births["died"], births["weak"], mark_h=6, until_h=167, n_boot=100,
        cluster=births["litter"], rng=4, level=0.95
    )  # fmt: skip
    by_six = births["fed_h"] <= 6
    naive = births["died"][by_six].mean() - births["died"][~by_six].mean()
    assert naive < -0.2
    assert found.difference.low < 0 < found.difference.high
    assert found.ratio.low < 1 < found.ratio.high
    assert found.resamples == 100


def test_order_of_rows_and_names_of_litters_change_no_figure() -> None:
    births = flock(5, 2000, 0.5)
    mixed = births.sample(frac=1, random_state=1).assign(litter=lambda d: d["litter"] * 7 + 3)
    pair = [
        fed_by_mark(
            b["fed_h"], b["age_h"], b["died"], b[["weak"]], mark_h=6, until_h=100, n_boot=0, level=0.95
        )
        for b in (births, mixed)
    ]
    assert pair[0].difference.estimate == pytest.approx(pair[1].difference.estimate, rel=1e-9)
    assert np.isnan(pair[0].difference.low)


def test_too_few_deaths_in_an_arm() -> None:
    births = flock(5, 60, 0.5)
    found = fed_by_mark(
        births["fed_h"], births["age_h"], births["died"], None, mark_h=20, until_h=100, level=0.95
    )
    assert np.isnan(found.difference.estimate)
    assert (
        "Too few newborns not fed by the mark, for how often they die after it: no figures given."
        in found.notes
    )


def test_rare_feeders_are_pointed_out() -> None:
    """Fifteen of 600 weak newborns are fed in time: each stands for 40 of the 1200 in its arm."""
    weak = np.arange(1200) < 600
    fed = np.where(np.where(weak, np.arange(1200) % 40 == 0, np.arange(1200) < 900), 1.0, np.nan)
    age = np.where(np.arange(1200) % 3 == 0, 50, 200)
    found = fed_by_mark(fed, age, age == 50, weak, mark_h=2, until_h=100, n_boot=2, level=0.95)
    assert found.largest_weight == pytest.approx(40, rel=0.01)
    assert found.notes == ("A few newborns carry much of one arm: read the figures as a sketch.",)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"until_h": 6}, "until_h: must come after mark_h (6); found 6 at position 0"),
        ({"fed_h": [1, 30]}, "fed_h: a newborn cannot be fed after it died; found 30.0 at position 1"),
        ({"covariates": [1, np.nan]}, "covariates: every covariate must be finite; found nan at position 1"),
        ({"cluster": [1]}, "cluster: must be as long as age_h (2); found 1, they part at position 1"),
    ],
)
def test_bad_arguments_are_named(arguments: dict[str, object], message: str) -> None:
    good: dict[str, object] = {
        "fed_h": [1, 2], "age_h": [9, 9], "died": [0, 1], "covariates": None, "mark_h": 6, "until_h": 9,
    }  # fmt: skip
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        fed_by_mark(**(good | arguments), level=0.95)  # type: ignore[arg-type]
