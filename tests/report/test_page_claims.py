"""What a page claims over invented seasons; `tests/simulations/page.py` is the whole proof, this its small version."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binom, chi2

from neonatal_stats.chapters import colostrum, in_reading_order
from neonatal_stats.chapters.counted.colostrum_effect import HOURLY, LAGGED, effect
from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.ledger import decide
from neonatal_stats.season.settings import Settings
from neonatal_stats.words import Sentence, Verdict
from tests.simulations.page import kept, run
from tests.simulations.page_cells import CELLS, Cell
from tests.simulations.page_flock import LITTER_RHO, Plan, newborns
from tests.simulations.page_read import (
    ANSWERED,
    BOUNDS,
    COLUMNS,
    LIMITS,
    STANDS_OUT,
    entries_as_rows,
    read_page,
    says_clear,
)
from tests.simulations.page_tables import ANYWHERE, HOLDS, TOP, clear, higher, tables

UNLIKELY = 1e-4
COMPARING = ("birth_type", "first_hours", "colostrum", "mothering", "weather", "years", "groups")
UNCLAIMED = [one.NAME for one in in_reading_order() if one.NAME in COMPARING and not hasattr(one, "claims")]
COLUMNS_OF_A_NEWBORN = (
    "litter_size", "order", "sex", "delivery", "parity", "condition", "sire", "breed", "pen", "outdoors", "suck",
    "handled", "rejected", "season",
)  # fmt: skip


def flocks(plan: Plan, number: int) -> pd.DataFrame:
    """Many flocks of one plan, one after the other, with what was lost."""
    made = [newborns(plan, np.random.default_rng([7, each])).assign(flock=each) for each in range(number)]
    frame = pd.concat(made, ignore_index=True)
    return frame.assign(lost=np.isfinite(frame["death_h"]))


@pytest.fixture(scope="module")
def alike() -> pd.DataFrame:
    """Some 28,000 newborns of flocks in which nothing differs."""
    return flocks(Plan(seasons=4), 12)


def test_littermates_are_lost_together_and_about_one_in_eight_is_lost(alike: pd.DataFrame) -> None:
    share = alike["lost"].mean()
    litter = alike.groupby(["flock", "season", "dam"])["lost"].agg(["sum", "size"])
    both = (litter["sum"] * (litter["sum"] - 1)).sum() / (litter["size"] * (litter["size"] - 1)).sum()
    assert share == pytest.approx(0.12, abs=0.008)
    assert (both - share**2) / (share * (1 - share)) == pytest.approx(LITTER_RHO, abs=0.04)


@pytest.mark.parametrize("column", COLUMNS_OF_A_NEWBORN)
def test_where_nothing_differs_no_column_goes_with_loss(alike: pd.DataFrame, column: str) -> None:
    share = alike["lost"].mean()
    groups = alike.groupby(column)["lost"].agg(["sum", "size"])
    expected = groups["size"] * share
    spread = expected * (1 - share) * (1 + 1.2 * LITTER_RHO)  # a newborn has about one littermate
    statistic = float(((groups["sum"] - expected) ** 2 / spread).sum())
    assert chi2.sf(statistic, len(groups) - 1) > UNLIKELY


def test_what_is_planted_is_there() -> None:
    ratios = flocks(Plan(seasons=4, caesarean=3.0, twin=1.5, triplet=2.2, bad_year=1.6), 12)
    ratios = ratios.assign(size=ratios["litter_size"].clip(upper=3), last=ratios["season"] == 3)
    risk = ratios.groupby(["size", "surgery", "last"])["lost"].mean()
    assert risk[2, False, False] / risk[1, False, False] == pytest.approx(1.5, rel=0.12)
    assert risk[3, False, False] / risk[1, False, False] == pytest.approx(2.2, rel=0.12)
    assert risk[2, True, False] / risk[2, False, False] == pytest.approx(3.0, rel=0.15)
    assert risk[2, False, True] / risk[2, False, False] == pytest.approx(1.6, rel=0.10)


@pytest.mark.parametrize("ratio", [1.0, 4.0])
def test_the_unfed_die_at_the_planted_ratio_of_hazards(ratio: float) -> None:
    born = flocks(Plan(seasons=4, unfed=ratio), 12)
    born = born[born["death_h"] > 0]
    end = born["death_h"].clip(upper=2.0)
    unfed_h = np.minimum(end, born["fed_h"])
    died = born["death_h"] < 2.0
    died_unfed = died & (born["death_h"] < born["fed_h"])
    unfed = died_unfed.sum() / unfed_h.sum()
    fed = (died & ~died_unfed).sum() / (end - unfed_h).sum()
    assert unfed / fed == pytest.approx(ratio, rel=0.25)


def test_blank_cells_are_blank_whatever_became_of_the_newborn() -> None:
    plan = Plan(seasons=4, blank=0.12)
    cell = Cell("blank", "", plan)
    births = pd.concat([cell.season(each).births for each in range(6)])
    known = births[~births["stillborn"]]
    early = known["died"] & (known["age_h"] < 24)
    blank = known["fed_after_min"].isna() & known["fed_after_min_not_by"].isna()
    assert blank.mean() == pytest.approx(0.12, abs=0.01)
    assert blank[early].mean() == pytest.approx(0.12, abs=2.6 * np.sqrt(0.12 * 0.88 / early.sum()))


def test_the_same_review_is_the_same_season() -> None:
    first, again = (CELLS["40x1"].season(3) for _ in range(2))
    pd.testing.assert_frame_equal(first.births, again.births)
    assert not CELLS["40x1"].season(4).births.equals(first.births)


def test_a_run_that_was_killed_goes_on_and_drops_what_was_cut_short(tmp_path: Path) -> None:
    whole = [
        {"review": 0, "what": "clear", "page_one": STANDS_OUT, "text": "so"},
        {"review": 0, "what": "page", "n": 62},
    ]
    cut = [{"review": 1, "what": "clear", "text": "half a"}]
    path = tmp_path / "40x1.csv"
    pd.DataFrame([*whole, *cut], columns=list(COLUMNS)).to_csv(path, index=False)
    with path.open("a") as file:
        file.write("2,cl")
    rows = kept(tmp_path, CELLS["40x1"])
    assert list(rows["what"]) == ["clear", "page"]
    assert list(run(CELLS["40x1"], 1, 1, tmp_path)) == []
    assert len(kept(tmp_path, CELLS["40x1"])) == 2


def test_the_tables_hold_each_share_against_its_bound() -> None:
    rows = [{"review": each, "what": "page", "n": 62, "events": 7, "estimate": 1.0} for each in range(40)]
    rows += [
        {"review": each, "what": "clear", "chapter": "losses", "page_one": STANDS_OUT} for each in range(2)
    ]
    rows += [{"review": 30 + each, "what": "clear", "chapter": "years"} for each in range(8)]
    text = tables({"40x1": pd.DataFrame(rows, columns=list(COLUMNS))})
    line = next(line for line in text.splitlines() if line.startswith("40 dams, 1 season, complete"))
    assert " ".join(line.split()) == "40 dams, 1 season, complete 40 5.0% (3.4%) kept 25.0% (6.8%) open 0"


@pytest.mark.slow
def test_the_hazard_ratio_of_the_unfed_is_held_by_the_pages_bounds_or_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("neonatal_stats.report.review.in_reading_order", lambda *_: (colostrum,))
    season = CELLS["350x4-blank12"].season(1)
    found = effect(season.births, season.settings)
    hourly = found.readings[(found.readings["how"] == HOURLY) & (found.readings["reading"] != LAGGED)]
    rows = {row["key"]: row for row in read_page(season, unfed=True) if row["what"] == "unfed"}
    assert [rows[BOUNDS][side] for side in ("low", "high")] == [
        hourly["estimate"].min(),
        hourly["estimate"].max(),
    ]
    assert [rows[LIMITS][side] for side in ("low", "high")] == [hourly["low"].min(), hourly["high"].max()]
    assert len(hourly) == 6  # the answer, two placements of deaths, three ways to take blank feeds
    kept_rows = pd.DataFrame(
        [{**row, "review": 0} for row in (*rows.values(), {"what": "page"})], columns=list(COLUMNS)
    )
    text = tables({"350x4-blank12": kept_rows})
    assert "1.0  bounds " in text
    assert f"bounds that hold it in {HOLDS:.0%}" in text


def claim(key: str, p: float, asked: str = "", ratio: float = 3.0) -> Claim:
    """A comparison of 30 lost of 100 with 20 of 200."""
    low, high = ratio / 1.5, ratio * 1.5
    counts = {"events": 30, "n": 100, "events_versus": 20, "n_versus": 200, "excess": 20.0}
    said = {
        "chapter": "birth_type",
        "family": "delivery",
        "line": key,
        "period": ("2026",),
        "measure": "risk ratio",
    }
    return Claim(key=key, **said, estimate=ratio, low=low, high=high, p=p, **counts, asked=asked)  # type: ignore[arg-type]


def test_the_rows_are_the_ledgers_entries() -> None:
    ledger = decide(
        [claim("one", 1e-6, "surgery"), claim("two", 1e-6), claim("three", 0.9, "twins", 1.1)], Settings()
    )
    rows = list(entries_as_rows(ledger.entries, {"two": "Two was higher."}))
    told = [(row["what"], row["key"], row["page_one"], row["verdict"], row["higher"]) for row in rows]
    assert told == [
        ("clear", "one", ANSWERED, "clear", True),
        ("asked", "one", ANSWERED, "clear", True),
        ("clear", "two", STANDS_OUT, "clear", True),
        ("asked", "three", ANSWERED, "no clear difference", True),
    ]
    frame = pd.DataFrame([{**row, "review": 0} for row in rows], columns=list(COLUMNS))
    assert higher(frame, "surgery") == {0}
    assert higher(frame, "twins") == set()


@pytest.mark.parametrize(
    ("sentence", "beyond"),
    [
        (Sentence("Higher.", Verdict.CLEAR, claim="one"), False),
        (Sentence("Higher.", Verdict.CLEAR, claim="two"), True),
        (Sentence("Weeks: the groups differ by more than chance explains (p 0.01)."), True),
        (Sentence("Looks higher, chance not ruled out.", Verdict.LEANING, claim="two"), False),
        (Sentence("Lost: 7 of 62."), False),
    ],
)
def test_a_sentence_that_says_more_than_the_ledger_is_found(sentence: Sentence, beyond: bool) -> None:
    assert says_clear(sentence, {"one"}) is beyond


@pytest.mark.slow
@pytest.mark.skipif(
    bool(UNCLAIMED), reason=f"these chapters still decide for themselves: {', '.join(UNCLAIMED)}"
)
def test_over_seasons_in_which_nothing_differs_few_pages_claim_anything() -> None:
    """Of ten pages 5 may claim something on page one and 6 anywhere; where each of some sixty tests decides for
    itself, nearly every page claims something.
    """
    rows = []
    for name, reviews in (("40x1", 8), ("350x1", 2)):
        for each in range(reviews):
            rows += [{**row, "review": f"{name} {each}"} for row in read_page(CELLS[name].season(each))]
    found = pd.DataFrame(rows, columns=list(COLUMNS))
    top, anywhere = (clear(found, top=on_top)["review"].nunique() for on_top in (True, False))
    assert top <= binom.ppf(0.999, 10, TOP)
    assert anywhere <= binom.ppf(0.999, 10, ANYWHERE)
