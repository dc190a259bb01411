"""Examined carcasses: time of death by the signs, causes, agents and disagreement, against published necropsies."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from neonatal_stats import read_season
from neonatal_stats.chapters import examinations as chapter
from neonatal_stats.chapters.counted.examinations import Examinations
from neonatal_stats.chapters.protocol import NotRecorded

Row = dict[str, Any]
UNBORN = {"breathed": "no", "walked": "no", "fed": "no"}
DECAYED, FRESH = {**UNBORN, "autolysed": "yes"}, {**UNBORN, "autolysed": "no"}
BREATHED = {"breathed": "yes", "walked": "no", "fed": "no", "autolysed": "no"}
WALKED, FED = {**BREATHED, "walked": "yes"}, {**BREATHED, "walked": "yes", "fed": "yes"}


def answered(folder: Path, examined: Sequence[Row], births: Sequence[Row] = ()) -> Examinations:
    """The chapter of a list of carcasses, as it is read from a file; of sheep, opened one a day."""
    rows = [
        {"newborn_id": f"K{n}", "species": "sheep", "examined_at": "2026-04-20", **row}
        for n, row in enumerate(examined)
    ]
    pd.DataFrame(rows).to_csv(folder / "examinations.csv", index=False)
    if births:
        pd.DataFrame(list(births)).to_csv(folder / "births.csv", index=False)
    return chapter.answer(read_season(folder)["2026"])


def test_the_southdown_necropsies_by_time_of_death(tmp_path: Path) -> None:
    """133 lambs of a Southdown flock (J Anim Sci 1970): 5 antepartum, 85 partum (63.9 % of those necropsied), 19
    immediate, 2 delayed and 22 late postpartum.
    """
    signs = [DECAYED] * 5 + [FRESH] * 85 + [BREATHED] * 19 + [WALKED] * 2 + [FED] * 22
    result = answered(tmp_path, signs)
    when = result.when.set_index("time")
    assert when["events"].to_dict() == {"before birth": 5, "during birth": 85, "after birth": 19 + 2 + 22}
    assert set(when["n"]) == {133}
    assert 100 * when.loc["during birth", "share"] == pytest.approx(63.9, abs=0.05)
    assert result.far.set_index("reached")["events"].to_dict() == {
        "had breathed, not walked": 19,
        "had walked, not fed": 2,
        "had fed": 22,
    }


@pytest.mark.parametrize(
    ("found", "examined", "percent"),
    [
        (
            758,
            1051,
            72.1,
        ),  # Montana range flock, 758 of 1051 autopsied in five categories (J Anim Sci 1960, 19:265)
        (
            72,
            100,
            72.0,
        ),  # Athenry, lambs dead within 7 days: 28 % not diagnosable (Teagasc, post-mortem study)
        (
            3070,
            3198,
            96.0,
        ),  # Australian necropsies, 4 % of 3,198 undiagnosed (Refshauge 2016, Anim Prod Sci 56:726)
    ],
)
def test_published_shares_with_a_found_cause_are_reproduced(
    tmp_path: Path, found: int, examined: int, percent: float
) -> None:
    rows = [{"cause": "infection" if n < found else "unknown", "breathed": "yes"} for n in range(examined)]
    row = answered(tmp_path, rows).found.iloc[0]
    assert (row["events"], row["n"]) == (found, examined)
    assert 100 * row["share"] == pytest.approx(percent, abs=0.05)


def test_who_never_breathed_and_was_not_looked_at_for_decay_died_before_or_during_birth(
    tmp_path: Path,
) -> None:
    result = answered(tmp_path, [{"breathed": "no"}, {"breathed": "yes"}, {"finding": "eaten by foxes"}])
    assert result.when.set_index("time")["events"].to_dict() == {
        "before or during birth": 1,
        "after birth": 1,
    }
    assert result.counted.n == 3
    assert set(result.when["n"]) == {2}


def test_decay_alone_does_not_tell_when_it_died_and_none_means_fresh(tmp_path: Path) -> None:
    rows = [{"breathed": "?", "walked": "?", "fed": "?", "autolysed": "yes"}] * 3
    rows += [{**UNBORN, "autolysed": "none"}] * 4 + [{**UNBORN, "autolysed": "fresh"}] * 2
    rows += [{**UNBORN, "autolysed": "mummified"}, DECAYED]
    result = answered(tmp_path, rows)
    assert result.when.set_index("time")["events"].to_dict() == {"before birth": 2, "during birth": 6}
    assert set(result.when["n"]) == {8}
    assert result.counted.n == 11


def test_causes_stand_with_what_they_rest_on_and_stillbirth_says_no_why(tmp_path: Path) -> None:
    rows = [
        {"cause": "infection", "agent": "Escherichia coli"},
        {"cause": "infection", "cause_basis": "vet's opinion"},
        {"cause": "stillbirth"},
        {"cause": ""},
        {"agent": "Listeria"},
    ]
    result = answered(tmp_path, rows)
    causes = result.causes.set_index(result.causes["cause"].astype(str))
    names = ["events", "post_mortem", "opinion", "with_agent"]
    assert causes.loc["infection", names].tolist() == [2, 1, 1, 1]
    assert causes.loc["unknown", names].tolist() == [
        2,
        0,
        0,
        1,
    ]  # of no cause written, nothing is said that it rests on
    assert causes.index[-1] == "unknown"
    assert result.found.iloc[0][["events", "n"]].tolist() == [3, 5]  # the two infections and the agent


def test_agents_by_age_and_what_the_laboratory_said(tmp_path: Path) -> None:
    rows = [
        {"agent": "Escherichia coli", "age_at_death_h": 10},
        {"agent": "Escherichia coli", "age_at_death_d": 0},
        {"agent": "Escherichia coli", "age_at_death_d": 1},
        {"agent": "Chlamydia abortus", **DECAYED, "age_at_death_d": 0},
        {"agent": "Clostridium", "age_at_death_d": 7},
        {"agent": "Clostridium"},
        {"laboratory": "nothing found"},
    ]
    result = answered(tmp_path, rows)
    ages = ["at or before birth", "first day", "2 to 7 days", "later", "age not known"]
    counts = result.agents.set_index("agent")
    assert counts.index.tolist() == ["Escherichia coli", "Clostridium", "Chlamydia abortus"]
    assert counts.loc["Escherichia coli", ["n", *ages]].tolist() == [3, 0, 2, 1, 0, 0]
    assert counts.loc["Clostridium", ["n", *ages]].tolist() == [2, 0, 0, 0, 1, 1]
    assert counts.loc["Chlamydia abortus", ["n", *ages]].tolist() == [1, 1, 0, 0, 0, 0]
    assert result.laboratory.set_index("result")["n"].to_dict() == {"agent found": 6, "nothing found": 1}


def test_the_keepers_word_and_the_examination_side_by_side(tmp_path: Path) -> None:
    cold, ill = "starvation-mismothering-exposure", "infection"
    rows = [{"keeper_cause": cold, "cause": ill}] * 3 + [{"keeper_cause": ill, "cause": ill}] * 2
    rows += [{"keeper_cause": "unknown", "cause": ill}, {"keeper_cause": "stillbirth", **BREATHED}]
    rows += [{"keeper_cause": "stillbirth", **FRESH}] * 3
    result = answered(tmp_path, rows)
    assert result.differ[["keeper", "cause", "n"]].to_numpy().tolist() == [[cold, ill, 3], [ill, ill, 2]]
    assert result.agree.iloc[0][["events", "n"]].tolist() == [2, 5]
    assert result.breathed.iloc[0][["events", "n"]].tolist() == [1, 4]
    said = " ".join(one.text for one in chapter.sentences(result))
    assert "agree in 2 of 5" in said
    assert "1 of 4 had breathed" in said


BIRTHS = [
    {"newborn_id": f"K{n}", "dam_id": f"E{n}", "born_at": "2026-04-10 06:00", "died": "yes", "died_at": at,
     "cause": cause, "cause_basis": "keeper's opinion"}
    for n, (at, cause) in enumerate(
        [("2026-04-10 08:00", "predation")] * 4 + [("2026-04-14 08:00", "infection")] * 6
    )
] + [
    {"newborn_id": f"L{n}", "dam_id": f"D{n}", "born_at": "2026-04-10 06:00", "died": "no"} for n in range(15)
]  # fmt: skip


def test_beside_births_all_lost_are_counted_and_the_next_place_to_look_is_named(tmp_path: Path) -> None:
    rows = [{"cause": "predation"}, {"cause": "unknown"}, {"cause": "accident"}, {"cause": "infection"}]
    rows += [{"cause": "infection"}, {"newborn_id": "stray", "cause": "infection"}]
    result = answered(tmp_path, rows, BIRTHS)
    found = result.found.set_index("what")[["events", "n"]].to_numpy().tolist()
    # six opened, one of no birth: 5 of 10 lost examined, 4 of these explained
    assert found == [[5, 6], [5, 10], [4, 10]]
    where = result.where_next.set_index("stage")
    assert where.loc["24 h"].tolist() == [4, 4, 3, 1]
    assert where.loc["7 d"].tolist() == [6, 1, 1, 5]
    said = next(one for one in chapter.sentences(result) if "without a found cause" in one.text)
    assert "by 7 d, 5 of 6" in said.text
    assert "ask your veterinary surgeon" in said.text
    # the keeper's word is that of the births: predation, predation (accident), infection
    assert result.agree.iloc[0][["events", "n"]].tolist() == [2, 4]


def test_a_newborn_examined_twice_counts_once_by_the_later(tmp_path: Path) -> None:
    rows = [
        {"newborn_id": "K1", "cause": "unknown", "examined_at": "2026-04-20"},
        {"newborn_id": "K1", "cause": "infection", "examined_at": "2026-04-28"},
    ]
    result = answered(tmp_path, rows)
    assert result.counted.n == 1
    assert result.found.iloc[0][["events", "n"]].tolist() == [1, 1]


def test_the_chapter_is_asked_only_where_a_carcass_was_examined(tmp_path: Path) -> None:
    pd.DataFrame(BIRTHS).to_csv(tmp_path / "births.csv", index=False)
    season = read_season(tmp_path)
    assert not chapter.opened(season)
    with pytest.raises(NotRecorded, match="no carcass"):
        chapter.answer(season)


def test_it_makes_no_claim() -> None:
    assert not hasattr(chapter, "claims")
