"""The first feed as something that takes time: who counts as unfed, and when a newborn found dead died."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.chapters.counted.colostrum_effect import as_it_happens, effect, naive, weakest
from neonatal_stats.chapters.counted.colostrum_feeding import (
    ALL_FED,
    ALL_UNFED,
    WEIGHTED,
    cohort,
    possible_ages,
    spread,
    unfed_share,
)
from neonatal_stats.season.settings import Settings
from tests.chapters.build import season


def alive(**cells: Any) -> dict[str, Any]:
    return {"born_alive": "yes", "suck_reflex": "strong", **cells}


def of(*rows: dict[str, Any]) -> Any:
    return season([row | {"dam_id": str(k)} for k, row in enumerate(rows)]).births


def unfed(died_after_h: float, **cells: Any) -> dict[str, Any]:
    """Died, and written as not fed by then."""
    return alive(died="yes", died_after_h=died_after_h) | {"fed_after_min_not_by": 60 * died_after_h} | cells


def test_written_as_not_fed_up_to_its_death_is_unfed() -> None:
    group = cohort(of(unfed(5), alive(fed_after_min=60, died="no")), 24.0)
    assert sorted(group.rows["fed_h"]) == [1.0, np.inf]
    assert group.rows.loc[group.rows["fed_h"] == np.inf, "died"].tolist() == [True]
    cut = cohort(of(unfed(20, fed_after_min_not_by=60), alive(fed_after_min=60, died="no")), 24.0).rows
    unseen = cut[cut["fed_h"] == np.inf]  # of the 19 hours from "not by 1 h" to its death nobody knows
    assert unseen[["died", "age_h"]].to_numpy().tolist() == [[False, 1.0]]


@pytest.mark.parametrize(
    "row", [alive(died="no"), alive(died="yes", died_after_h=100), alive(died="yes", died_after_h=5)]
)
def test_a_blank_is_missing_whatever_became_of_the_newborn(row: dict[str, Any]) -> None:
    group = cohort(of(row, alive(fed_after_min=60, died="no")), 24.0)
    assert len(group.rows) == 1
    assert dict(group.left_out)["first feed not observed"] == 1
    assert [len(cohort(of(row), 24.0, blank=taken).rows) for taken in (ALL_FED, ALL_UNFED)] == [1, 1]


def test_everyone_is_counted_or_left_out_by_reason() -> None:
    rows = [
        alive(fed_after_min=60, died="no", birth_weight_kg=3),
        alive(fed_after_min=90, died="no", birth_weight_kg=4),
        alive(fed_after_min=90, died="no", birth_weight_kg=5),
        alive(fed_after_min=90, died="no"),
        {"born_alive": "no"},
        alive(fed_after_min=30, died="yes"),
    ]
    group = cohort(of(*rows), 24.0)
    assert len(group.rows) + sum(n for _, n in group.left_out) == 6
    assert dict(group.left_out)["died at an unknown age"] == 1
    assert dict(group.left_out)["something else adjusted for not written down"] == 1


def test_a_late_feed_does_not_save_the_hours_before_it() -> None:
    # 20 die unfed at 2 h, 20 feed at 1 h and 20 at 9 h and live: whoever was fed late had to live to 9 h.
    rows = [unfed(2)] * 20
    rows += [alive(fed_after_min=60, died="no")] * 20 + [alive(fed_after_min=540, died="no")] * 20
    group = cohort(of(*rows), 24.0)
    simply = naive(group, 8.0, 168.0, Settings()).set_index("how")
    assert simply.loc["all from birth", ["n", "events", "dead_before"]].tolist() == [40, 20, 20]
    assert simply.loc["only those fed", "events"] == 0
    assert as_it_happens(group, 24.0, Settings()).loc[0, "events"] == 20


def test_unfed_share_among_those_watched() -> None:
    # worked by hand: feeds at 1, 2 and 3 h, one dies unfed at 2.5 h:
    # 3/4 at 1.5 h, 2/4 at 2.2 h, 1/3 at 2.7 h, 0 at 3.5 h
    fed, watched = np.array([1, 2, 3, np.inf]), np.array([1008, 1008, 1008, 2.5])
    assert unfed_share(fed, watched, np.array([0.5, 1.5, 2.2, 2.7, 3.5])).tolist() == pytest.approx(
        [1, 3 / 4, 2 / 4, 1 / 3, 0]
    )


def test_a_death_unfed_was_likelier_while_many_were_unfed() -> None:
    # worked by hand: half of the others feed at 1 h, so the share unfed is 1 up to 1 h and 1/2 after. Unfed between 0
    # and 2 h: the first hour holds 2/3 of the chance, so thirds start at 0, 1/2 and 1 h, with middles 1/4, 3/4, 3/2.
    # Fed at 0.5 h: even chance to 2 h, middles 0.75, 1.25, 1.75. Nobody unfed from 10 to 14 h: even chance.
    fed = np.array([1.0] * 50 + [9.0] * 50)
    low, high = np.array([0.0, 0.0, 10.0]), np.array([2.0, 2.0, 14.0])
    got = possible_ages(low, high, np.array([np.inf, 0.5, np.inf]), fed, np.full(100, 1008.0), parts=3)
    assert got == pytest.approx(
        np.array([[0.25, 0.75, 1.5], [0.75, 1.25, 1.75], [10 + 2 / 3, 12, 13 + 1 / 3]]), abs=0.06
    )


def test_likely_ages_never_leave_their_interval() -> None:
    rng = np.random.default_rng(7)
    fed = rng.exponential(2.0, 200)
    low = rng.uniform(0, 10, 50)
    high = low + rng.uniform(0.5, 8, 50)
    own = np.where(rng.random(50) < 0.5, np.inf, low + 0.3 * (high - low))
    got = possible_ages(low, high, own, fed, np.full(200, 1008.0))
    assert (got > low[:, None]).all()
    assert (got <= high[:, None]).all()
    assert (got >= np.where(np.isfinite(own), own, 0)[:, None]).all()
    assert (np.diff(got, axis=1) >= 0).all()


def test_a_death_between_rounds_counts_once_in_parts() -> None:
    rows = [alive(died="yes", alive_after_h=1, found_after_h=7, fed_after_min_not_by=420)] * 3
    rows += [alive(fed_after_min=30 + 10 * k, died="no") for k in range(20)]
    group = cohort(of(*rows), 24.0)
    parts, weight = spread(group.rows)
    assert weight.sum() == pytest.approx(len(group.rows))
    assert weight[parts["died"].to_numpy(bool)].sum() == pytest.approx(3)
    assert parts.loc[parts["died"].astype(bool), "age_h"].between(1, 7).all()


def test_where_a_death_between_rounds_is_placed_moves_the_answer() -> None:
    rows = [alive(died="yes", alive_after_h=1, found_after_h=7, fed_after_min_not_by=420)] * 8
    rows += [alive(fed_after_min=60, died="yes", died_after_h=5)] * 8
    rows += [alive(fed_after_min=30 + 10 * k, died="no") for k in range(60)]
    births = of(*rows)
    early, likely, late = (
        as_it_happens(cohort(births, 24.0, within), 24.0, Settings())["estimate"][0]
        for within in (0.0, None, 1.0)
    )
    assert early < likely < late


def harmless(blank: float, flocks: int) -> list[float]:
    """The hourly ratio in flocks whose hazard does not depend on the feed, a share of feeds blank by chance alone."""
    found = []
    for number in range(flocks):
        rng = np.random.default_rng([12, number])
        n = 6000
        fed, died = np.exp(rng.normal(np.log(1.5), 0.9, n)), rng.exponential(60.0, n)
        written, known = np.where(fed < died, fed, np.nan), rng.random(n) >= blank
        dead = died < 48
        births = pd.DataFrame(
            {
                "species": "sheep", "stillborn": False, "died": dead, "age_known": True,
                "age_h": np.where(dead, died, 1008.0), "age_low_h": np.where(dead, died, 1008.0),
                "age_high_h": np.where(dead, died, np.inf), "born_precision": "day", "cluster": np.arange(n),
                "fed_after_h": np.where(known, written, np.nan),
                "fed_not_by_h": np.where(known & np.isnan(written), died, np.nan),
            }
        )  # fmt: skip
        found.append(float(as_it_happens(cohort(births, 24.0), 24.0, Settings())["estimate"].iloc[0]))
    return found


@pytest.mark.quickly(3)
@pytest.mark.parametrize("blank", [0.0, 0.05, 0.12])
def test_blank_feeds_do_not_make_being_unfed_deadly(blank: float) -> None:
    # the true ratio is 1; taking the dead among the blanks for unfed made the median 1.4
    assert np.median(harmless(blank, 9)) == pytest.approx(1.0, abs=0.05)


def test_blanks_stand_weighted_by_fate_and_suck_reflex() -> None:
    # worked by hand: of four that died early one is blank: the other three stand for 4/3 each; of ten alive two: 10/8
    rows = [unfed(5)] * 3 + [alive(died="yes", died_after_h=5)]
    rows += [alive(fed_after_min=60, died="no")] * 8 + [alive(died="no")] * 2
    weights = cohort(of(*rows), 24.0, blank=WEIGHTED).rows.groupby("died")["weight"].unique()
    assert weights[True].tolist() == pytest.approx([4 / 3])
    assert weights[False].tolist() == pytest.approx([10 / 8])


def test_the_verdict_is_that_of_the_weakest_reading() -> None:
    # deaths found seven hours after they were last seen: placed when last seen alive, the ratio is no longer over 1
    rows = [alive(died="yes", alive_after_h=0.5, found_after_h=7, fed_after_min_not_by=420)] * 8
    rows += [alive(fed_after_min=60, died="yes", died_after_h=5)] * 8
    rows += [alive(fed_after_min=60 + 10 * k, died="no") for k in range(60)]
    found = effect(of(*rows), Settings())
    hourly = found.readings[found.readings["how"] == "as it happens"].set_index("reading")
    p = hourly["p"].fillna(
        1.0
    )  # all early deaths before any had fed: no ratio, and so nothing to be clear about
    assert set(p.index) == {"answer", "earliest", "latest", "lagged"}
    assert weakest(found.readings, "as it happens", np.nan) >= p["answer"]
    assert weakest(found.readings, "as it happens", np.nan) >= p["earliest"]


def test_bounds_take_blank_feeds_both_ways() -> None:
    # of 60 fed at 1 h 6 die later, of 30 fed at 10 h likewise 6; nobody wrote a feed of 20 more, of which 10 die later:
    # taken as fed they make the unfed safer, taken as unfed deadlier
    died, lived = {"died": "yes", "died_after_h": 60}, {"died": "no"}
    rows = []
    for fed, dead, n in ((60, 6, 60), (600, 6, 30), (None, 10, 20)):
        rows += [alive(fed_after_min=fed, **died)] * dead + [alive(fed_after_min=fed, **lived)] * (n - dead)
    found = effect(of(*rows), Settings())
    (bounds,) = found.bounds[found.bounds["mark_h"] == 8].to_dict("records")
    read = found.readings[found.readings["mark_h"] == 8].set_index("reading")
    assert bounds["lowest"] == read.loc["all fed", "estimate"] < read.loc["answer", "estimate"]
    assert bounds["highest"] == read.loc["all unfed", "estimate"] > read.loc["answer", "estimate"]
    assert bounds["low"] == read.loc["all fed", "low"]
    assert bounds["high"] == read.drop("lagged")["high"].max()


def test_deaths_in_the_hours_after_the_mark_are_left_out_where_asked() -> None:
    # ten unfed at 8 h die at 10 h, dying already; with the deaths of the next four hours left out none is counted
    rows = (
        [unfed(10)] * 10
        + [alive(fed_after_min=600, died="no")] * 20
        + [alive(fed_after_min=60, died="no")] * 60
    )
    rows += [alive(fed_after_min=60, died="yes", died_after_h=60)] * 5
    found = effect(of(*rows), Settings()).readings
    at_main = found[(found["mark_h"] == 8)].set_index("reading")["events"]
    assert at_main[["answer", "lagged"]].tolist() == [10, 0]
