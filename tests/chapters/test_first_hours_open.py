"""What the records leave open never makes a mark of the first hours look deadlier than it is: when a newborn that was
found dead had died, and what blank feeds were.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binom

from neonatal_stats.chapters import first_hours
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.milestones import EARLIEST, LATEST, Milestone, alive_at, state_when_due
from tests.chapters.build import season
from tests.simulations.first_hours import answers, flock

STANDING = Milestone("standing", "stood_after_h", "stood_not_by_h", 1.0)
FOUND = {"born_alive": "yes", "died": "yes", "found_after_h": 6}
LIVED = {"born_alive": "yes", "died": "no", "seen_after_h": 1008}


@pytest.mark.parametrize(
    ("row", "earliest", "latest"),
    [
        # alive at 1 h or not, and the state: by hand, from what was seen and when it was found
        ({"alive_after_h": 0, "stood_after_min_not_by": 360}, (False, "died before"), (True, "not met")),
        ({"alive_after_h": 0, "stood_after_min": 40}, (False, "met"), (True, "met")),
        (
            {"alive_after_h": 0, "fed_after_min": 100, "stood_after_min": 90},
            (True, "not met"),
            (True, "not met"),
        ),
        ({"alive_after_h": 2, "stood_after_min_not_by": 360}, (True, "not met"), (True, "not met")),
        ({"alive_after_h": 0}, (False, "died before"), (True, "not observed")),
        ({"stood_after_min_not_by": 360}, (True, "not met"), (True, "not met")),
    ],
)
def test_one_found_dead_was_alive_at_a_mark_only_where_it_was_seen_so(
    row: dict[str, object], earliest: tuple[bool, str], latest: tuple[bool, str]
) -> None:
    births = season([{"dam_id": "A", "stood_after_min": None, **FOUND, **row}]).births
    for placed, (alive, state) in ((EARLIEST, earliest), (LATEST, latest)):
        assert alive_at(births, 1.0, placed).tolist() == [alive]
        assert state_when_due(births, STANDING, placed).item().startswith(state)


def claim_of(rows: list[dict[str, object]], check: str) -> tuple[Claim, pd.Series, Verdict | None]:
    """The claim of a check, its row, and the verdict of its sentence."""
    numbered = [{"dam_id": str(n), **row} for n, row in enumerate(rows)]
    result = first_hours.answer(season(numbered))
    (claim,) = [one for one in first_hours.claims(result) if one.key == f"first_hours/lost/{check}"]
    (said,) = [one for one in first_hours.sentences(result) if one.claim == claim.key]
    return claim, result.predictors.set_index("check").loc[check], said.verdict


def test_those_found_dead_before_anyone_saw_them_do_not_make_a_mark_deadly() -> None:
    # By hand: of those alive at 1 h, 4 of 40 not standing by then and 8 of 80 standing died at 30 h, a ratio of 1.
    # Of 30 more nobody knows whether they were dead by then; all taken as alive it is 34 of 70 against 8 of 80, 4.9.
    later, gone = {"born_alive": "yes", "died": "yes", "died_after_h": 30}, {"alive_after_h": 0}
    slow, quick = {"stood_after_min": 90}, {"stood_after_min": 30}
    rows = (
        [{**slow, **later}] * 4
        + [{**slow, **LIVED}] * 36
        + [{**quick, **later}] * 8
        + [{**quick, **LIVED}] * 72
    )
    rows += [{**FOUND, **gone, "stood_after_min_not_by": 360}] * 30
    claim, row, verdict = claim_of(rows, "standing")
    assert row[["events", "n", "events_versus", "n_versus"]].tolist() == [4, 40, 8, 80]
    assert row["estimate"] == pytest.approx(1.0)
    assert row["highest"] == pytest.approx(34 / 70 / (8 / 80))
    assert claim.decided_by > 0.9
    assert verdict is Verdict.NO_CLEAR


def test_blank_feeds_are_read_both_ways() -> None:
    # By hand: 12 of 40 not fed by 2 h and 8 of 100 fed died later, 3.75 times the risk. Of 60 with a blank feed 24
    # died: all taken as fed it is 12 of 40 against 32 of 160, 1.5 times; all as not fed 36 and 8 of 100, 4.5 times.
    later = {"born_alive": "yes", "died": "yes", "died_after_h": 30}
    stood = {"stood_after_min": 30}
    rows = []
    for fed, dead, n in ((200, 12, 40), (60, 8, 100), (None, 24, 60)):
        rows += [{**stood, "fed_after_min": fed, **later}] * dead + [
            {**stood, "fed_after_min": fed, **LIVED}
        ] * (n - dead)
    claim, row, verdict = claim_of(rows, "feeding")
    assert [row["estimate"], row["lowest"], row["highest"]] == pytest.approx([3.75, 1.5, 4.5])
    assert claim.p < 0.01
    assert claim.decided_by > 0.15
    assert verdict is not Verdict.CLEAR


@pytest.mark.slow
def test_without_an_effect_the_ratio_is_about_one_and_seldom_clear() -> None:
    # tests/simulations/first_hours.py prints the whole of it; with all deaths placed when found the mean was 1.5
    rng = np.random.default_rng(3)
    found = pd.DataFrame([row for _ in range(30) for row in answers(flock(rng, 1.0))])
    assert np.exp(np.log(found["estimate"].where(found["estimate"] > 0)).mean()) == pytest.approx(
        1.0, abs=0.25
    )
    assert (found["p"] < 0.05).sum() <= binom.ppf(0.999, len(found), 0.05)


@pytest.mark.slow
def test_with_an_effect_it_is_still_found() -> None:
    rng = np.random.default_rng(4)
    found = pd.DataFrame([row for _ in range(12) for row in answers(flock(rng, 3.0))])
    assert (found["p"] < 0.05).mean() > 0.6
    assert found["estimate"].median() > 1.8
