"""Identical litters told once, with their number, give the numbers of all of them, in every estimate that takes it."""

from __future__ import annotations

import inspect
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neonatal_stats import estimates as e
from neonatal_stats.estimates.clusters import of_each_kind, renumber
from neonatal_stats.estimates.many_groups import cells_against_rest

LEVEL = 0.95
Rows = dict[str, np.ndarray]


def litters(clusters: int, most: int, number: int, *, large: int = 4) -> Rows:
    """Litters of one to ``large`` newborns, each standing for 1 to ``most`` identical ones."""
    draw = np.random.default_rng(number)
    size = draw.integers(1, large + 1, clusters)
    cluster = np.repeat(np.arange(clusters), size)
    n = len(cluster)
    risk = draw.beta(1.2, 4.0, clusters)[cluster]
    died = (draw.random(n) < risk).astype(int)
    age = np.where(
        died == 1, draw.choice([0, 2, 6, 6, 12, 30, 90, 200, 400], n), draw.choice([300, 700, 1008], n)
    )
    died = np.where(age == 1008, 0, died)
    fed = np.where(draw.random(n) < 0.8, draw.integers(1, 9, n), np.inf)
    return {
        "cluster": cluster,
        "event": died,
        "age_h": age,
        "outcome": died * draw.integers(1, 4, n),
        "group": draw.integers(0, 3, n),
        "of_litter": (np.arange(clusters) % 2)[cluster],
        "exposed": draw.integers(0, 2, n),
        "stratum": np.minimum(size, 3)[cluster] - 1,
        "fed_h": np.where(fed < age, fed, np.inf),
        "weight": draw.integers(1, 3, n),
        "kilos": draw.normal(4, 0.7, n).round(1),
        "repeats": draw.integers(1, most + 1, clusters)[cluster],
    }


def all_told(rows: Rows) -> Rows:
    """Every litter a litter of its own."""
    times = rows["repeats"]
    told = {name: np.repeat(column, times) for name, column in rows.items() if name != "repeats"}
    which = np.concatenate([np.arange(one) for one in times])
    return told | {"cluster": renumber(told["cluster"] * 1000 + which)[0]}


def numbers(found: Any) -> Iterator[float]:
    """Every number of a result, whatever it is made of."""
    if is_dataclass(found):
        for one in fields(found):
            yield from numbers(getattr(found, one.name))
    elif isinstance(found, tuple | list):
        for one in found:
            yield from numbers(one)
    elif not isinstance(found, str):
        yield from np.asarray(found, dtype=float).ravel()


def z(rows: Rows) -> np.ndarray:
    return np.column_stack([rows["exposed"], rows["stratum"] == 1, rows["kilos"]])


TAKES: dict[str, Callable[..., Any]] = {
    "proportions": lambda r, **k: e.proportions(r["event"], group=r["group"], level=LEVEL, **k),
    "compare": lambda r, **k: [
        e.compare(r["event"], r["exposed"], measure=one, level=LEVEL, **k)
        for one in ("risk_ratio", "risk_difference", "odds_ratio")
    ],
    "losses_avoidable": lambda r, **k: e.losses_avoidable(r["event"], r["exposed"], level=LEVEL, **k),
    "mantel_haenszel": lambda r, **k: [
        e.mantel_haenszel(r["event"], r["exposed"], r["stratum"], measure=one, level=LEVEL, **k)
        for one in ("risk_ratio", "risk_difference", "odds_ratio")
    ],
    "directly_standardised": lambda r, **k: [
        e.directly_standardised(r["event"], r["stratum"], [3, 5, 2], limits=one, level=LEVEL, **k)
        for one in ("wilson", "gamma")
    ],
    "mix_and_rate": lambda r, **k: e.mix_and_rate(r["event"], r["of_litter"], r["stratum"], level=LEVEL, **k),
    "clustered_test": lambda r, **k: [
        e.clustered_test(r["event"], r[one], **k) for one in ("group", "of_litter")
    ],
    "cochran_armitage": lambda r, **k: e.cochran_armitage(r["event"], r["group"], **k),
    "screening": lambda r, **k: e.screening(r["exposed"], r["event"], level=LEVEL, **k),
    "kaplan_meier": lambda r, **k: e.kaplan_meier(r["age_h"], r["event"], group=r["group"], level=LEVEL, **k),
    "aalen_johansen": lambda r, **k: e.aalen_johansen(
        r["age_h"], r["outcome"], group=r["group"], n_causes=3, level=LEVEL, **k
    ),
    "restricted_mean": lambda r, **k: e.restricted_mean(
        r["age_h"], r["event"], until_h=250, level=LEVEL, **k
    ),
    "restricted_mean_difference": lambda r, **k: e.restricted_mean_difference(
        r["age_h"], r["event"], r["exposed"], until_h=250, level=LEVEL, **k
    ),
    "life_table": lambda r, **k: e.life_table(
        r["age_h"], r["event"], [0, 24, 168, 1008], group=r["exposed"], level=LEVEL, **k
    ),
    "logrank": lambda r, **k: [
        e.logrank(r["age_h"], r["event"], r["group"], variance=one, **k) for one in ("null", "robust")
    ],
    "gray_test": lambda r, **k: [
        e.gray_test(r["age_h"], r["outcome"], r["group"], 1, variance=one, **k) for one in ("null", "robust")
    ],
    "cox": lambda r, **k: e.cox(r["age_h"], r["event"], z(r), level=LEVEL, **k),
}
UNWEIGHTED: dict[str, Callable[..., Any]] = {
    "variance_under_one_risk": lambda r, **k: e.variance_under_one_risk(
        r["event"], r["of_litter"], r["stratum"], [3, 5, 2], **k
    ),
    "cells_against_rest": lambda r, **k: cells_against_rest(
        r["event"].astype(float), r["group"], cells=3, rho=0.1, **k
    ),
    "intraclass_correlation": lambda r, **k: e.intraclass_correlation(r["event"], **k),
    "proportional_hazards_test": lambda r, **k: [
        e.proportional_hazards_test(r["age_h"], r["event"], z(r), transform=one, **k)
        for one in ("rank", "km", "identity")
    ],
    "landmark": lambda r, **k: e.landmark(
        r["age_h"], r["event"], r["fed_h"], z(r), mark_h=4, stratum=r["of_litter"], level=LEVEL, **k
    ),
    "fed_hazard_ratio": lambda r, **k: e.fed_hazard_ratio(
        r["age_h"], r["event"], r["fed_h"], z(r), level=LEVEL, **k
    ),
}
"""Estimates without weights of newborns."""

MANY, FEW, FARMS = litters(160, 9, 1), litters(12, 3, 2), litters(7, 4, 3, large=60)
"""Hundreds of litters; under forty; and under a hundred farms of dozens: few clusters go another way."""


def same(function: Callable[..., Any], rows: Rows, *, weighted: bool) -> None:
    told = all_told(rows)
    one, other = (
        function(
            which,
            cluster=which["cluster"],
            **({"weight": which["weight"]} if weighted else {}),
            **({"repeats": which["repeats"]} if "repeats" in which else {}),
        )
        for which in (rows, told)
    )
    found, expected = (np.array(list(numbers(it))) for it in (one, other))
    assert len(found) == len(expected)
    assert found == pytest.approx(expected, rel=1e-12, abs=1e-13, nan_ok=True)
    assert np.isfinite(expected).any()


@pytest.mark.parametrize("rows", [MANY, FEW, FARMS], ids=["many litters", "few litters", "farms"])
@pytest.mark.parametrize("name", [*TAKES, *UNWEIGHTED])
def test_litters_told_once_give_the_numbers_of_all_of_them(name: str, rows: Rows) -> None:
    function = (TAKES | UNWEIGHTED)[name]
    same(function, rows, weighted=False)
    if name in TAKES:
        same(function, rows, weighted=True)


@pytest.mark.parametrize("name", ["kaplan_meier", "logrank", "cox"])
def test_late_arrivals_too(name: str) -> None:
    rows = MANY | {"entry_h": np.where(MANY["age_h"] > 12, MANY["kilos"].round() % 3, 0)}
    function = TAKES[name]
    same(lambda r, **k: function(r, entry_h=r["entry_h"], **k), rows, weighted=False)


@pytest.mark.parametrize("name", [*TAKES, *UNWEIGHTED])
def test_repeats_are_of_clusters_whole_and_alike_within_one(name: str) -> None:
    function = (TAKES | UNWEIGHTED)[name]
    if name not in ("intraclass_correlation", "cells_against_rest"):
        with pytest.raises(ValueError, match=r"^repeats: they are of clusters, so cluster must be given too"):
            function(MANY, cluster=None, repeats=MANY["repeats"])
    with pytest.raises(ValueError, match=r"^repeats: must be whole numbers from 1; found 0"):
        function(MANY, cluster=MANY["cluster"], repeats=np.zeros(len(MANY["cluster"]), dtype=int))
    torn = np.arange(1, len(MANY["cluster"]) + 1)
    with pytest.raises(
        ValueError, match=r"^repeats: all rows of a cluster must stand for the same number of"
    ):
        function(MANY, cluster=MANY["cluster"], repeats=torn)


ROWS = {"cluster": [0, 0, 1], "level": LEVEL, "repeats": [2, 2, 1]}
REFUSES: dict[str, Callable[[], Any]] = {
    "fed_by_mark": lambda: e.fed_by_mark([1, 2, 3], [9, 9, 9], [0, 1, 0], None, mark_h=4, until_h=8, **ROWS),
    "smooth_share": lambda: e.smooth_share([1, 2, 3], [0, 1, 0], at=[2], **ROWS),
    "smooth_mean": lambda: e.smooth_mean([1, 2, 3], [0, 1, 0], at=[2], **ROWS),
    "losses_against_curve": lambda: e.losses_against_curve(
        [0, 0, 0], [9, 9, 9], [0, 1, 0], [9, 9, 9], [0, 1, 0], reference_cluster=[0, 0, 1], **ROWS
    ),
    "last_days_against_before": lambda: e.last_days_against_before([9, 9, 9], [9, 9, 9], [0, 1, 0], days=7, **ROWS),
    "calendar_scan": lambda: e.calendar_scan(
        [0, 1, 2], [9, 9, 9], [0, 1, 0], place=[0] * 3, cause=[0] * 3, stratum=[0] * 3, places=1, causes=1, **ROWS
    ),
    "losses_per_dam": lambda: e.losses_per_dam([0, 1, 0], [0, 0, 1], [0, 0, 1], [0, 0, 0], repeats=[2, 2, 1]),
    "repeat_losers": lambda: e.repeat_losers([0, 1, 0], [0, 0, 1], [0, 0, 0], level=LEVEL, repeats=[2, 2, 1]),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSES)
def test_estimates_that_cannot_take_repeats_say_so_in_a_sentence(name: str) -> None:
    with pytest.raises(
        ValueError, match=r"^repeats: .+; give every newborn a row of its own, without repeats$"
    ):
        REFUSES[name]()


def test_whatever_takes_clusters_takes_their_repeats_or_refuses_them() -> None:
    offered = {name: inspect.signature(getattr(e, name)).parameters for name in e.__all__ if name.islower()}
    clustered = {name for name, given in offered.items() if {"cluster", "litter", "dam"} & set(given)}
    assert {name for name, given in offered.items() if "repeats" in given} >= clustered
    assert clustered == {*TAKES, *UNWEIGHTED, *REFUSES} - {"cells_against_rest"}


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 3)), min_size=1, max_size=40))
def test_one_of_each_kind_stands_for_all_its_like(rows: list[tuple[int, int]]) -> None:
    """Told once with its repeats, every kind of cluster is there, as often as a count by hand finds it."""
    cluster, cell = np.array(rows).T
    own, of, weight, repeats = of_each_kind(cluster, cell)
    kinds = Counter(tuple(sorted(cell[cluster == one])) for one in set(cluster.tolist()))
    told = {}
    for one in set(own.tolist()):
        its = own == one
        told[tuple(np.repeat(of[its], weight[its]))] = set(repeats[its].tolist())
    assert told == {kind: {n} for kind, n in kinds.items()}
