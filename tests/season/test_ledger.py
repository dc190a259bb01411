"""The ledger: every row ends in one of four places, and a row that is no record is named as that alone."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.season.finding import Ended, Finding, say
from neonatal_stats.season.ledger import Balance, Ledger


def found(at: list[int], ended: Ended) -> Finding:
    return Finding(np.array(at), "died", ["?"] * len(at), say("it is odd"), say("look"), ended)


@pytest.fixture
def ledger() -> Ledger:
    return Ledger("births", pd.DataFrame({"file": "a.csv", "sheet": "", "row": np.arange(2, 8)}))


def test_four_places_add_up(ledger: Ledger) -> None:
    for at, ended in (([1], "set to missing"), ([2], "set aside"), ([3, 4], "no record")):
        ledger.enter(found(at, ended))  # type: ignore[arg-type]
    assert ledger.balance == Balance("births", 6, 2, 1, 1, 2)
    assert ledger.kept.tolist() == [True, True, False, False, False, True]
    assert ledger.no_record.tolist() == [False, False, False, True, True, False]


def test_no_record_strikes_out_what_was_found_in_its_cells(ledger: Ledger) -> None:
    ledger.enter(found([0, 1], "set to missing"))
    ledger.enter(found([1], "no record"))
    listed = ledger.problems
    assert sorted(zip(listed["row"], listed["ended"], strict=True)) == [
        (2, "set to missing"),
        (3, "no record"),
    ]


def test_a_row_set_aside_stays_there(ledger: Ledger) -> None:
    ledger.enter(found([2], "set aside"))
    ledger.enter(found([2], "no record"))
    assert ledger.balance == Balance("births", 6, 5, 0, 1, 0)


def test_a_balance_that_does_not_add_up_is_refused() -> None:
    with pytest.raises(ValueError, match="differ"):
        Balance("births", 6, 2, 1, 1, 1)
