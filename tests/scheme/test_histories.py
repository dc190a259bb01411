"""The estimates on litter histories that an engine counted are those of the newborns in memory: counts exactly, all
else to 1e-12."""

from __future__ import annotations

from pathlib import Path

import ibis
import numpy as np
import pandas as pd
import pytest

from neonatal_stats.measures.contrasts import by_factor, contrasts
from neonatal_stats.measures.curves import incidence, survival
from neonatal_stats.measures.milestones import FEEDING, Milestone, met, state_when_due
from neonatal_stats.measures.rates import rates
from neonatal_stats.measures.windows import losses_by_cause, losses_by_window
from neonatal_stats.scheme.engines import embedded
from neonatal_stats.scheme.histories import ALIKE, Question, cluster_of, histories
from neonatal_stats.scheme.records import births_of
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.following.follow import follow
from neonatal_stats.season.settings import Settings
from tests.chapters.build import season as built
from tests.chapters.test_edges import SEASONS
from tests.demo import HERDS, season_of
from tests.scheme.alike import tidy_births
from tests.scheme.made import scheme_births
from tests.thinned import EVERY_FORM

pytestmark = pytest.mark.filterwarnings("ignore:fetch_arrow_table:DeprecationWarning")
CLOSE = 1e-12


def equal(one: pd.DataFrame, other: pd.DataFrame) -> None:
    """Counts exactly, other numbers to 1e-12."""
    for name in one:
        if name in ("events", "n", "litters", "at_risk", "events_versus", "n_versus", "verdict", "age_h"):
            assert [str(a) for a in one[name]] == [str(b) for b in other[name]], name
    pd.testing.assert_frame_equal(one, other, rtol=CLOSE, atol=CLOSE)


def same_answers(births: pd.DataFrame, told: pd.DataFrame, by: str, settings: Settings) -> None:
    """Survival of those born alive, losses by window, the groups against each other, and causes."""
    by_group = (by,) if by else ()
    assert int((told[ALIKE.newborns] * told[ALIKE.clusters]).sum()) == len(births)
    alive, told_alive = births[~births["stillborn"]], told[~told["stillborn"]]
    if alive["age_known"].any():
        equal(
            survival(alive, by_group, level=settings.level),
            survival(told_alive, by_group, level=settings.level, alike=ALIKE),
        )
    for window in ("lost_by_24_h", "lost_by_7_d", "lost"):
        if births[window].notna().any():
            equal(
                rates(births, by_group, window, level=settings.level),
                rates(told, by_group, window, level=settings.level, alike=ALIKE),
            )
        if by:
            held = [
                contrasts(of, by, versus=None, outcome=window, settings=settings, many=True, **more)
                for of, more in ((births, {}), (told, {"alike": ALIKE}))
            ]
            equal(*held)
    equal(
        losses_by_window(births, settings).astype({"out_of": str, "window": str}),
        losses_by_window(told, settings, ALIKE).astype({"out_of": str, "window": str}),
    )
    if by:
        equal(
            by_factor(births, by_group, outcome="lost", settings=settings),
            by_factor(told, by_group, outcome="lost", settings=settings, alike=ALIKE),
        )
    one, other = (
        losses_by_cause(births, level=settings.level),
        losses_by_cause(told, level=settings.level, alike=ALIKE),
    )
    equal(one.astype({"cause": str}), other.astype({"cause": str}))
    if births["age_known"].any():
        equal(
            incidence(births, by_group, level=settings.level),
            incidence(told, by_group, level=settings.level, alike=ALIKE),
        )


@pytest.mark.quickly(3)
@pytest.mark.parametrize("herd", sorted(HERDS, reverse=True))
def test_the_demo_herds(herd: str) -> None:
    season = season_of(herd)
    births = ibis.memtable(tidy_births(season))
    for by in ("", "birth_type", "weight_class"):
        told = histories(births, season.settings, Question((by,) if by else (), causes=True))
        assert len(told) < len(season.births)
        same_answers(season.births, told, by, season.settings)


def test_the_edge_seasons() -> None:
    for name in (
        "one that died",
        "all stillborn",
        "no deaths",
        "died yes or no, nothing else",
        "half the ages unknown",
    ):
        season = built(SEASONS[name])
        told = histories(ibis.memtable(tidy_births(season)), season.settings, Question(causes=True))
        same_answers(season.births, told, "", season.settings)


@pytest.mark.quickly(3)
@pytest.mark.parametrize("cluster, farms", [("litter", 5), ("litter", 12), ("dam", 5)])
def test_many_random_newborns_from_a_file(tmp_path: Path, cluster: str, farms: int) -> None:
    """In litters, in farms where there are ten or more, and in dams; from Parquet, by sex. With every form 100,000."""
    settings = Settings(cluster=cluster)
    frame = scheme_births(100_000 if EVERY_FORM else 30_000, farms=farms)
    frame.to_parquet(tmp_path / "births.parquet", index=False)
    births = births_of(embedded(threads=1), tmp_path / "births.parquet")
    assert cluster_of(births, settings) == ("farm" if farms == 12 else cluster)
    told = histories(births, settings, Question(("sex",), causes=True))
    assert len(told) < len(frame) / 4
    recorded = frame.astype(dict.fromkeys(["dam_id", "sex", "delivery", "cause"], object))
    recorded = recorded.astype(dict.fromkeys(["born_at", "died_at", "left_at"], "datetime64[ns]"))
    recorded["litter_size"] = recorded["litter_size"].astype(float)
    followed = follow(recorded.where(recorded.notna(), None).astype(recorded.dtypes), settings)
    same_answers(followed, told, "sex", settings)


@pytest.mark.quickly(3)
@pytest.mark.parametrize("herd", sorted(HERDS))
def test_ages_told_by_the_ends_of_the_windows_tell_the_windows(herd: str) -> None:
    season = season_of(herd)
    births, settings = ibis.memtable(tidy_births(season)), season.settings
    ends = tuple(settings.windows_h.values())
    told = histories(births, settings, Question(("sex",), ends_h=ends))
    whole = histories(births, settings, Question(("sex",)))
    assert len(told) < len(whole)
    for window in ("lost_by_24_h", "lost_by_7_d", "lost"):
        equal(
            rates(season.births, ("sex",), window, level=settings.level),
            rates(told, ("sex",), window, level=settings.level, alike=ALIKE),
        )


@pytest.mark.parametrize("herd", sorted(HERDS))
def test_a_milestone_and_a_judgement_asked_besides_the_outcome(herd: str) -> None:
    """Fed in time by what stands in the births, accepted by the dam; counted, and with the interval of litters."""
    season = season_of(herd)
    tidy = tidy_births(season)
    births, settings = ibis.memtable(tidy), season.settings
    alone = season.births.assign(
        fed_after_h=tidy.set_index("place")["fed_after_min"].astype(float) / 60
        if "fed_after_min" in tidy
        else np.nan,
        fed_not_by_h=tidy.set_index("place")["fed_after_min_not_by"].astype(float) / 60
        if "fed_after_min_not_by" in tidy
        else np.nan,
    )
    state = state_when_due(alone, Milestone("fed", *FEEDING, settings.marks.fed_h))
    in_memory = alone.assign(fed_in_time=met(state))
    for event in ("fed_in_time", "failed_mothering"):
        if event == "fed_in_time" or event in in_memory:
            told = histories(births, settings, Question(("birth_type",), ends_h=(), event=event))
            equal(
                rates(in_memory, ("birth_type",), event, level=settings.level),
                rates(told, ("birth_type",), event, level=settings.level, alike=ALIKE),
            )


def test_the_litters_of_each_farm_are_told_apart() -> None:
    frame = scheme_births(3000, farms=12)
    told = histories(ibis.memtable(frame), Settings(), Question(("sex",), ends_h=(), by_farm=True))
    alone = pd.Series([f"alone {row}" for row in frame.index])
    litter = pd.factorize(frame["dam_id"].astype(object).where(frame["dam_id"].notna(), alone))[0]
    recorded = frame.assign(lost=frame["died"].astype(bool), litter=litter)
    equal(
        rates(recorded, ("farm",), "lost", level=0.95, cluster="litter").astype({"farm": object}),
        rates(told, ("farm",), "lost", level=0.95, alike=ALIKE).astype({"farm": object}),
    )


@pytest.mark.parametrize("by", ["colour", "birth_order", "litter_size"])
def test_a_column_that_holds_no_words_is_refused(by: str) -> None:
    births = ibis.memtable(tidy_births(built([{"dam_id": "A", "birth_order": 1, "litter_size": 1}])))
    with pytest.raises(CannotRead, match=f"by {by}: these births have no such column of words"):
        histories(births, Settings(), Question((by,)))


def test_histories_of_six_litters_counted_by_hand() -> None:
    """Two litters of one lost at 5 h and one kept, told in either order; two singles kept; one lamb without a dam."""
    pair = [{"died": "yes", "died_after_h": 5}, {"died": "no"}]
    rows = [row | {"dam_id": "A"} for row in pair] + [row | {"dam_id": "B"} for row in reversed(pair)]
    rows += [{"dam_id": dam, "died": "no"} for dam in ("C", "D")] + [{"died": "no"}, {"died": "no"}]
    season = built(rows)
    told = histories(ibis.memtable(tidy_births(season)), season.settings)
    counted = told.groupby("cluster").agg(
        newborns=(ALIKE.newborns, "sum"), alike=(ALIKE.clusters, "first"), lost=("died", "sum")
    )
    found = sorted(map(tuple, counted.to_numpy(dtype=int).tolist()))
    assert found == [(1, 2, 0), (1, 2, 0), (2, 2, 1)]
    assert np.asarray(told.loc[told["died"], "age_h"]).tolist() == [5.0]


def test_a_dam_that_nobody_named_is_not_the_dam_of_others_whose_litter_is_known() -> None:
    """Four newborns of two litters that have a number and no dam are of four dams, as far as anybody knows."""
    nameless = [
        {"dam_id": None, "litter_id": f"L{i // 2}", "died": "yes" if i % 3 == 0 else "no"} for i in range(4)
    ]
    named = [{"dam_id": f"E{i // 2}", "died": "yes" if i % 4 == 0 else "no"} for i in range(20)]
    season = built([*nameless, *named], cluster="dam")
    told = histories(ibis.memtable(tidy_births(season)), season.settings, cluster="dam")
    clusters = told.groupby("cluster")[ALIKE.clusters].first().sum()
    assert clusters == season.births["dam"].nunique() == 4 + 10
    equal(
        rates(season.births, (), "lost", level=0.95, cluster="dam"),
        rates(told, (), "lost", level=0.95, alike=ALIKE),
    )


def test_litters_of_the_same_newborns_in_any_order_are_one_history() -> None:
    rows = [{"dam_id": f"E{i // 2}", "died": "yes" if (i + i // 2) % 2 else "no"} for i in range(80)]
    season = built(rows)
    told = histories(ibis.memtable(tidy_births(season)), season.settings)
    assert sorted(told["lost"]) == [False, True]
    assert told[ALIKE.clusters].tolist() == [40, 40]


def test_a_window_to_the_end_of_follow_up_counts_who_was_lost_at_its_end() -> None:
    rows = [
        {"dam_id": f"E{i}", "died": "no"} | ({"died": "yes", "died_after_h": 1008} if i % 4 == 0 else {})
        for i in range(40)
    ]
    season = built(rows, windows_h={"24 h": 24.0, "42 d": 1008.0}, follow_up_d=42)
    told = histories(ibis.memtable(tidy_births(season)), season.settings)
    one, other = (
        rates(season.births, (), "lost_by_42_d", level=0.95),
        rates(told, (), "lost_by_42_d", level=0.95, alike=ALIKE),
    )
    assert one["events"].tolist() == [10]
    equal(one, other)


def test_seasons_stand_in_the_order_of_time_whatever_they_are_called() -> None:
    rows = [
        {"dam_id": f"E{i}", "season": name, "born_at": day, "died": "yes" if i % 5 == 0 else "no"}
        for i in range(20)
        for name, day in (("spring", "2025-03-02 06:00"), ("autumn", "2025-09-02 06:00"))
    ]
    season = built(rows)
    told = histories(ibis.memtable(tidy_births(season)), season.settings, Question(("season",)))
    assert list(told["season"].cat.categories) == ["spring", "autumn"]
