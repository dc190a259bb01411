"""Every question of a scheme's page: the numbers of the same newborns in memory, one pass each, kept when killed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ibis
import numpy as np
import pandas as pd
import pytest

from neonatal_stats.chapters import scheme
from neonatal_stats.chapters.counted.scheme import Scheme, answer
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.contrasts import by_factor
from neonatal_stats.measures.milestones import FEEDING, Milestone, met, state_when_due
from neonatal_stats.measures.rates import rates
from neonatal_stats.measures.small_cells import count_tables
from neonatal_stats.measures.windows import losses_by_window, watched_to_h
from neonatal_stats.scheme.asking import Answers, Kept, ask, kept_beside, remove_kept, seasons_in
from neonatal_stats.scheme.engines import embedded
from neonatal_stats.scheme.records import births_of, files_of
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.following.follow import follow
from neonatal_stats.season.settings import Settings
from tests.chapters.build import season as built
from tests.chapters.test_edges import SEASONS
from tests.scheme.alike import tidy_births
from tests.scheme.made import two_seasons, written
from tests.thinned import EVERY_FORM

pytestmark = pytest.mark.filterwarnings("ignore:fetch_arrow_table:DeprecationWarning")
SETTINGS = Settings()
MORE = ("region",)
CLOSE = {"rtol": 1e-12, "atol": 1e-12, "check_dtype": False}
FACTORS = (
    "birth_type", "sex", "sex_mix", "born_by", "difficulty", "parity_class", "weight_class", "region",
)  # fmt: skip


@pytest.fixture(scope="module")
def births() -> pd.DataFrame:
    return two_seasons(50_000 if EVERY_FORM else 6000, farms=12)


@pytest.fixture(scope="module")
def place(births: pd.DataFrame, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(births, tmp_path_factory.mktemp("scheme"))


def asked(place: Path, **more: Any) -> Answers:
    engine = embedded(threads=1)
    table = births_of(engine, place, MORE)
    return ask(engine, table, SETTINGS, place=place, more=MORE, **more)


@pytest.fixture(scope="module")
def answers(place: Path) -> Answers:
    return asked(place)


@pytest.fixture(scope="module")
def found(answers: Answers) -> Scheme:
    return counted(answers)


def counted(answers: Answers) -> Scheme:
    return answer(
        answers.overview,
        answers.histories,
        SETTINGS,
        season=answers.season,
        seasons=seasons_in(answers.overview),
        cluster=answers.cluster,
    )


@pytest.fixture(scope="module")
def in_memory(births: pd.DataFrame) -> pd.DataFrame:
    """The season under review, followed in memory."""
    recorded = births.astype(dict.fromkeys(births.select_dtypes("string"), object))
    recorded = recorded.astype(dict.fromkeys(births.select_dtypes("datetime"), "datetime64[ns]"))
    numbers = ["litter_size", "dam_parity", "fed_after_min"]
    recorded = recorded.astype(dict.fromkeys(numbers, float))
    followed = follow(recorded.where(recorded.notna(), None).astype(recorded.dtypes), SETTINGS)
    return followed[followed["season"].astype(str) == "2027"]


def test_the_season_by_window_and_by_group(found: Scheme, in_memory: pd.DataFrame) -> None:
    assert (found.season, found.cluster, found.every_season) == ("2027", "farm", ("2026", "2027"))
    assert found.end_h == watched_to_h(in_memory, SETTINGS)
    pd.testing.assert_frame_equal(found.by_window, losses_by_window(in_memory, SETTINGS), **CLOSE)
    other = by_factor(in_memory, FACTORS, outcome="lost", settings=SETTINGS)
    pd.testing.assert_frame_equal(found.groups.drop(columns="key"), other, **CLOSE)


def test_who_was_accepted_and_who_fed_in_time(found: Scheme, in_memory: pd.DataFrame) -> None:
    alive = in_memory[~in_memory["stillborn"]]
    state = state_when_due(alive, Milestone("fed", *FEEDING, SETTINGS.marks.fed_h))
    alive = alive.assign(fed_in_time=met(state))
    for name, event in (("mothering", "failed_mothering"), ("fed", "fed_in_time")):
        one = found.asked[name]
        whole = rates(alive, (), event, level=SETTINGS.level)
        pd.testing.assert_frame_equal(one.whole, whole, **CLOSE)
        assert one.unknown == int(alive[event].isna().sum())
        factors = ("birth_type", "born_by") if name == "mothering" else ("birth_type",)
        known = alive[alive[event].notna()]
        other = by_factor(known, factors, outcome=event, settings=SETTINGS)
        pd.testing.assert_frame_equal(one.groups.drop(columns="key"), other, **CLOSE)


def test_farms_are_those_of_the_litters_in_memory(found: Scheme, in_memory: pd.DataFrame) -> None:
    assert found.farms is not None
    other = rates(in_memory, ("farm",), "lost", level=SETTINGS.level, cluster="litter")
    other = other.assign(farm=other["farm"].astype(str)).set_index("farm")
    mine = found.farms.farms.set_index("farm")
    assert set(mine.index) == set(other.index)
    for name in ("events", "n", "share", "low", "high", "design_effect", "litters"):
        np.testing.assert_allclose(mine[name], other[name].reindex(mine.index), rtol=1e-12)
    strata = ["birth_type", "parity_class", "born_by"]
    risk = in_memory.groupby(strata, observed=True)["lost"].transform("mean")
    due = risk.groupby(in_memory["farm"].astype(str)).sum()
    np.testing.assert_allclose(mine["expected"], due.reindex(mine.index), rtol=1e-12)
    assert sorted(mine["letter"]) == sorted("ABCDEFGHIJKL")


def test_one_pass_a_question(answers: Answers) -> None:
    passes = {one.name: one.passes for one in answers.costs}
    assert {name for name, n in passes.items() if n != 1} == {"weight_class", "region"}
    assert passes["weight_class"] == passes["region"] == 2  # limits of the weights; the region's own words
    assert all(one.rows == one.passes * int(answers.overview["newborns"].sum()) for one in answers.costs)


def test_what_is_said_has_a_table_and_no_cause(found: Scheme) -> None:
    said = [one for part in scheme.parts(found) for one in part.sentences]
    assert [part.name for part in scheme.parts(found)] == [
        "counted", "losses", "survival", "causes", "seasons", "groups", "mothering", "fed", "farms",
    ]  # fmt: skip
    assert found.verdicts["scheme/difficulty/difficult"] is not Verdict.TOO_FEW
    assert {one.claim for one in said if one.claim} <= set(found.verdicts)
    assert not [one for one in said if "because" in one.text or "caused" in one.text]


def test_counts_to_publish_add_up_to_what_was_counted(answers: Answers, found: Scheme) -> None:
    """With nothing left out they are those of the season; with small ones left out no shown one is small."""
    given = {"season": found.season, "end_h": found.end_h}
    whole = dict(count_tables(answers.histories, SETTINGS, smallest=1, **given))
    assert set(whole) == {
        "outcomes", "birth_type", "sex", "born_by", "parity_class", "weight_class", "region",
    }  # fmt: skip
    this = found.this
    for name, frame in whole.items():
        cells = frame.pivot_table(index="group", columns="outcome", values="newborns", aggfunc="sum")
        assert cells.loc["all", "all"] == this["newborns"].sum(), name
        assert cells.loc["all", "born dead"] == this["born_dead"].sum()
        assert cells.loc["all", "left alive"] == this["left_early"].sum()
        lost = [one for one in cells if str(one).startswith(("born dead", "lost"))]
        assert cells.loc["all", lost].sum() == this["lost"].sum()
    for frame in dict(count_tables(answers.histories, SETTINGS, smallest=20, **given)).values():
        assert not frame["newborns"].between(1, 19).any()
    assert sum(frame["newborns"].isna().sum() for frame in whole.values()) == 0


class Killed(Exception):
    """The machine went off."""


def test_a_killed_run_goes_on_where_it_stood(place: Path, tmp_path: Path, found: Scheme) -> None:
    kept = kept_beside(tmp_path / "out", files_of(place), SETTINGS, MORE)

    def until(stage: str) -> None:
        if stage.startswith("sex "):
            raise Killed

    with pytest.raises(Killed):
        asked(place, kept=kept, progress=until)
    assert kept.answered()
    said: list[str] = []
    again = asked(place, kept=kept, progress=said.append)
    answered = [one.name for one in again.costs if one.again]
    assert answered == ["overview", "outcomes", "season", "birth_type", "sex"]
    assert said[0] == "overview: answered by an earlier run"
    one, other = counted(again), found
    pd.testing.assert_frame_equal(one.groups, other.groups, **CLOSE)
    pd.testing.assert_frame_equal(one.by_window, other.by_window, **CLOSE)
    pd.testing.assert_frame_equal(one.by_cause, other.by_cause, **CLOSE)
    remove_kept(tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_answers_are_kept_for_the_same_question_only(place: Path, tmp_path: Path) -> None:
    """Other settings, another file, another code: another folder."""
    files = files_of(place)
    same = kept_beside(tmp_path / "out", files, SETTINGS, MORE)
    assert kept_beside(tmp_path / "out", files, Settings(), MORE) == same
    others = [
        kept_beside(tmp_path / "out", files, Settings(follow_up_d=28), MORE),
        kept_beside(tmp_path / "out", files[:-1], SETTINGS, MORE),
        kept_beside(tmp_path / "out", files, SETTINGS, ()),
    ]
    assert len({same.folder, *(one.folder for one in others)}) == 4


def test_what_is_half_written_is_not_an_answer(tmp_path: Path) -> None:
    kept = Kept(tmp_path / "kept")
    kept.keep("one", pd.DataFrame({"n": [1]}), {"passes": 1})
    (kept.folder / "one.json").unlink()
    assert kept.answer("one") is None


def test_births_without_a_farm_are_named_by_their_file(births: pd.DataFrame, tmp_path: Path) -> None:
    for name, rows in (("a", births.head(20)), ("b", births.tail(20).drop(columns="farm"))):
        (tmp_path / name).mkdir()
        rows.to_parquet(tmp_path / name / "births.parquet")
    with pytest.raises(CannotRead, match=r"b/births.parquet: the births have no column farm"):
        asked(tmp_path)


@pytest.mark.parametrize(
    "name", ["died yes or no, nothing else", "all stillborn", "no deaths", "one that died"]
)
def test_the_edge_seasons_are_told(name: str) -> None:
    """Nothing is estimated from nothing; what there is is told."""
    table = ibis.memtable(tidy_births(built(SEASONS[name])))
    found = counted(ask(ibis.get_backend(), table, SETTINGS, place=Path("none")))
    told = scheme.parts(found)
    assert told[0].name == "counted"
    assert all(one.text for part in told for one in part.sentences)
    lost, n = found.of_all_born.iloc[-1][["events", "n"]]
    assert (lost, n) == (found.this["lost"].sum(), found.this["newborns"].sum())


def test_farms_that_nobody_named_are_not_taken_for_one(births: pd.DataFrame, tmp_path: Path) -> None:
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        births.head(20).assign(farm="the farm").to_parquet(tmp_path / name / "births.parquet")
    with pytest.raises(
        CannotRead, match="births of at least one file name no farm; write the farm's name into its map"
    ):
        asked(tmp_path)


def test_a_season_and_a_column_that_are_not_there(place: Path) -> None:
    engine = embedded(threads=1)
    table = births_of(engine, place)
    with pytest.raises(
        CannotRead, match="--season: no births are of the season '2020'; they are of 2026, 2027"
    ):
        ask(engine, table, SETTINGS, place=place, season="2020")
    with pytest.raises(CannotRead, match="by colour: these births have no such column of words"):
        ask(engine, table, SETTINGS, place=place, more=["colour"])


def test_want_of_memory_is_told(tmp_path: Path) -> None:
    """Ten thousand litters in 1 MB, with nowhere to spill."""
    place = written(two_seasons(10_000, farms=2), tmp_path / "data")
    engine = embedded(threads=1, memory="1MB")
    with pytest.raises(CannotRead, match=r"the engine needs more than that for this question"):
        ask(engine, births_of(engine, place), SETTINGS, place=place, memory="1MB")
