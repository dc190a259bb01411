"""Published numbers of passive transfer and absorption, each with its source."""

from __future__ import annotations

import pandas as pd
import pytest

from neonatal_stats.chapters.counted.colostrum_effect import deaths_needed
from neonatal_stats.chapters.counted.colostrum_transfer import class_shares, efficiency
from neonatal_stats.estimates.contrast import compare_counts
from neonatal_stats.measures.transfer import classed
from neonatal_stats.vocabulary.passive_transfer import (
    ABSORBED_BY_AGE_H,
    BRIX,
    IGG,
    PROTEIN,
    Scheme,
    scheme,
)

CONSENSUS = "Lombard J et al. (2020) J Dairy Sci 103:7611, doi 10.3168/jds.2019-17955"


def found(measure: str) -> Scheme:
    one = scheme("cattle", measure)
    assert one is not None
    return one


@pytest.mark.parametrize(
    ("measure", "values"),
    [
        # CONSENSUS: IgG 25.0 and over, 18.0-24.9, 10.0-17.9, under 10.0 g/l
        (
            IGG,
            [
                (25.0, "excellent"),
                (24.9, "good"),
                (18.0, "good"),
                (17.9, "fair"),
                (10.0, "fair"),
                (9.9, "poor"),
            ],
        ),
        # CONSENSUS: total protein 6.2 and over, 5.8-6.1, 5.1-5.7, under 5.1 g/dl
        (
            PROTEIN,
            [(6.2, "excellent"), (6.1, "good"), (5.8, "good"), (5.7, "fair"), (5.1, "fair"), (5.0, "poor")],
        ),
        # CONSENSUS: Brix 9.4 and over, under 8.1 %; the cut at 8.9 from memory, unchecked
        (
            BRIX,
            [(9.4, "excellent"), (9.3, "good"), (8.9, "good"), (8.8, "fair"), (8.1, "fair"), (8.0, "poor")],
        ),
    ],
)
def test_calf_classes(measure: str, values: list[tuple[float, str]]) -> None:
    births = pd.DataFrame({"newborn": range(len(values)), "cluster": range(len(values))})
    samples = pd.DataFrame(
        {"newborn": range(len(values)), "age_h": 30.0, measure: [value for value, _ in values]}
    )
    got = classed(births, samples, found(measure))
    assert got.samples.sort_values("newborn")["group"].tolist() == [name for _, name in values]
    assert class_shares(got, level=0.95)["events"].sum() == len(values)


def test_herd_goals() -> None:
    # CONSENSUS: over 40 %, about 30 %, about 20 %, under 10 % of calves
    assert found(IGG).targets == (0.40, 0.30, 0.20, 0.10)
    assert found(IGG).target_signs == ("over", "about", "about", "under")


@pytest.mark.parametrize(("age_h", "kept"), [(23.9, 0), (24.0, 1), (168.0, 1), (169.0, 0)])
def test_calves_are_classed_within_the_first_week(age_h: float, kept: int) -> None:
    # within the first 7 d of age (Lombard 2020); not before 24 h, while the gut still absorbs (common practice)
    births = pd.DataFrame({"newborn": [0], "cluster": [0]})
    samples = pd.DataFrame({"newborn": [0], "age_h": [age_h], IGG: [20.0]})
    got = classed(births, samples, found(IGG))
    assert len(got.samples) == kept
    assert sum(n for _, n in got.left_out) == 1 - kept


def test_absorption_by_age_at_the_feed() -> None:
    # Matte JJ et al. (1982) J Dairy Sci: 2 l at 6, 12, 24, 36, 48 h, 8 calves each
    assert ABSORBED_BY_AGE_H == {6: 0.658, 12: 0.469, 24: 0.115, 36: 0.067, 48: 0.060}


def test_failure_of_transfer_in_dead_and_healthy_lambs_as_published() -> None:
    # Sawyer et al. (1977) J Am Vet Med Assoc 171(12): 27 of 59 that died, 13 of 91 healthy. Case-control: the odds
    # ratio
    # is the only ratio. Worked out apart from this package: (27 x 78) / (32 x 13) = 5.0625; 2.3227 to 11.0343 (Woolf).
    got = compare_counts(27, 59, 13, 91, measure="odds_ratio", level=0.95)
    assert (got.estimate, got.low, got.high) == pytest.approx((5.0625, 2.3227, 11.0343), abs=5e-4)


def test_apparent_efficiency_of_absorption() -> None:
    # worked by hand: 15 g/l x 40 kg x 0.09 / 180 g = 0.30
    assert efficiency(pd.Series([15.0]), pd.Series([40.0]), pd.Series([180.0])).item() == pytest.approx(0.30)


@pytest.mark.parametrize(("unfed", "needed"), [(0.5, 66), (0.1, 182)])
def test_deaths_needed(unfed: float, needed: int) -> None:
    # Schoenfeld (1983) Biometrics 39:499-503; by hand (1.95996 + 0.84162)^2 = 7.8489, over p (1 - p) x 0.48045
    assert deaths_needed(unfed) == needed
