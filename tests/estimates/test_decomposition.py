"""Mix and rate: by hand, sums that are exact, and the three year pairs a reader must be told apart."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neonatal_stats.estimates.standardisation import mix_and_rate
from tests.reference.counted import seasons

STRATA = st.lists(st.tuples(*[st.integers(0, 40)] * 4), min_size=1, max_size=8)


def births(counts: list[list[int]], litter_size: list[int]) -> dict[str, Any]:
    """One row a newborn from [events_a, n_a, events_b, n_b] a stratum; litters hold neighbours."""
    event: list[int] = []
    later: list[int] = []
    stratum: list[int] = []
    cluster: list[int] = []
    for k, (xa, na, xb, nb) in enumerate(counts):
        for season, x, n in ((0, xa, na), (1, xb, nb)):
            event += [1] * x + [0] * (n - x)
            later += [season] * n
            stratum += [k] * n
            start = max(cluster, default=-1) + 1
            cluster += [start + i // litter_size[k] for i in range(n)]
    return {"event": event, "later": later, "stratum": stratum, "cluster": cluster}


def test_only_the_mix_differs() -> None:
    """Risks 0.1 and 0.2 in both seasons; twins from 50 to 80 of 100: 0.15 to 0.18, all of it mix."""
    got = mix_and_rate(
        **seasons([50, 100], [500, 500], [20, 160], [200, 800]), labels=["single", "twin"], level=0.95
    )
    assert got.change.estimate == pytest.approx(0.03, abs=1e-15)
    assert got.mix.estimate == pytest.approx(0.03, abs=1e-15)
    assert got.rate_terms == pytest.approx([0, 0], abs=1e-15)
    assert got.mix_terms == pytest.approx([-0.03, 0.06])
    assert got.mix.low > 0
    assert got.rate.low < 0 < got.rate.high


def test_only_the_rates_differ() -> None:
    got = mix_and_rate(**seasons([50, 100], [500, 500], [100, 150], [500, 500]), level=0.95)
    assert got.mix_terms == pytest.approx([0, 0], abs=1e-15)
    assert got.rate.estimate == pytest.approx(0.1)
    assert got.rate.low > 0
    assert got.mix.low < 0 < got.mix.high


def test_mix_and_rate_that_cancel_are_both_seen() -> None:
    """0.1, 0.3 half and half (0.2) to 0.05, 0.25 with three quarters twins (0.2)."""
    got = mix_and_rate(**seasons([500, 1500], [5000, 5000], [125, 1875], [2500, 7500]), level=0.95)
    assert got.change.estimate == pytest.approx(0, abs=1e-15)
    assert got.mix.low > 0
    assert got.rate.high < 0
    assert got.mix.estimate == pytest.approx(0.05)


@settings(deadline=None)
@given(STRATA)
def test_terms_add_up_to_the_crude_change(rows: list[tuple[int, int, int, int]]) -> None:
    xa, oa, xb, ob = (np.array(x) for x in zip(*rows, strict=True))
    if (xa + oa).sum() == 0 or (xb + ob).sum() == 0:
        return
    got = mix_and_rate(**seasons(xa, xa + oa, xb, xb + ob), level=0.95)
    crude = xb.sum() / (xb + ob).sum() - xa.sum() / (xa + oa).sum()
    assert got.mix_terms.sum() + got.rate_terms.sum() == pytest.approx(crude, abs=1e-12)
    assert got.mix.estimate + got.rate.estimate == pytest.approx(got.change.estimate, abs=1e-12)
    back = mix_and_rate(**seasons(xb, xb + ob, xa, xa + oa), level=0.95)
    assert back.mix_terms == pytest.approx(-got.mix_terms, abs=1e-12)


def test_a_stratum_of_one_season_is_mix_and_is_named() -> None:
    got = mix_and_rate(**seasons([5, 0], [50, 0], [5, 4], [40, 10]), labels=["twin", "triplet"], level=0.95)
    assert got.note == "seen in one season only, counted as mix: triplet"
    assert got.rate_terms[1] == 0


def test_births_without_litters_are_the_counts() -> None:
    counts = [[5, 50, 2, 20], [10, 50, 16, 80]]
    rows = births(counts, [1, 2])
    one = mix_and_rate(**seasons(*np.array(counts).T), level=0.95)
    two = mix_and_rate(rows["event"], rows["later"], rows["stratum"], level=0.95)
    assert two.mix_terms == pytest.approx(one.mix_terms)
    assert [two.mix.low, two.rate.high, two.change.low] == pytest.approx(
        [one.mix.low, one.rate.high, one.change.low]
    )
    each = mix_and_rate(rows["event"], rows["later"], rows["stratum"], cluster=np.arange(200), level=0.95)
    assert [each.mix.low, each.rate.high] == pytest.approx([one.mix.low, one.rate.high], rel=1e-9)


def test_litters_of_one_are_independent_newborns_where_risks_and_mix_both_change() -> None:
    counts = [[5, 50, 12, 40], [20, 50, 15, 100], [1, 30, 9, 20]]
    rows = births(counts, [1, 1, 1])
    plain = mix_and_rate(rows["event"], rows["later"], rows["stratum"], level=0.95)
    alone = mix_and_rate(**rows, level=0.95)
    for part in ("change", "mix", "rate"):
        one, other = getattr(plain, part), getattr(alone, part)
        assert [other.low, other.high] == pytest.approx([one.low, one.high], rel=1e-9)


def test_twins_come_in_twos_and_widen_the_mix() -> None:
    rows = births([[5, 50, 2, 20], [10, 50, 16, 80]], [1, 2])
    plain = mix_and_rate(rows["event"], rows["later"], rows["stratum"], level=0.95)
    litters = mix_and_rate(**rows, level=0.95)
    assert litters.mix.estimate == plain.mix.estimate
    assert litters.mix.high - litters.mix.low > plain.mix.high - plain.mix.low


def test_a_season_without_births_is_refused() -> None:
    message = "n_b: a season without newborns cannot be split; found 0 at position 0"
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        mix_and_rate(**seasons([1], [2], [0], [0]), level=0.95)
