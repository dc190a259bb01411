"""A plan counts as the chapters do, and holds one season against the one before on the same mix of births."""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.measures.before_after import after_alone, before_after, fitting_mix
from neonatal_stats.measures.plan_measures import NOTHING, UNSEEN, seen
from neonatal_stats.measures.rates import rates
from neonatal_stats.season.model import Season, in_focus, in_seasons
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary.plan import PlanMeasure, plan_measures
from tests.chapters.build import season

SETTINGS = Settings()
BY_NAME = {one.name: one for one in plan_measures(SETTINGS.windows_h, SETTINGS.causes)}


def counted(of: Season, measure: PlanMeasure) -> tuple[int, int]:
    found = seen(of, measure)
    return int(found.newborns["event"].sum()), len(found.newborns)


def glanced(of: Season, chapter: str) -> dict[str, tuple[int, int]]:
    """What a chapter gives page one, by its key."""
    module: Any = import_module(f"neonatal_stats.chapters.{chapter}")
    return {one.key: (int(one.events), int(one.n)) for one in module.glance(module.answer(of))}


@pytest.mark.slow
def test_what_was_done_is_counted_as_page_one_shows_it(hill_season: Season) -> None:
    this = in_focus(hill_season, "2026")
    hours = {**glanced(this, "first_hours"), **glanced(this, "colostrum"), **glanced(this, "mothering")}
    names = {
        "fed by the mark": "feeding",
        "standing by the mark": "standing",
        "enough colostrum": "enough",
        "absorbed": "absorbed",
        "mothered up": "mothered",
    }
    assert {name: counted(this, BY_NAME[name]) for name in names} == {
        name: hours[key] for name, key in names.items()
    }


@pytest.mark.slow
def test_losses_and_causes_are_counted_as_their_chapters_show_them(hill_season: Season) -> None:
    this = in_focus(hill_season, "2026")
    when, causes = glanced(this, "losses"), glanced(this, "causes")
    assert counted(this, BY_NAME["born dead"]) == when["when/born dead"]
    lost = sum(n for key, (n, _) in when.items() if key.startswith("when/")) - when["when/born dead"][0]
    unknown = sum(
        n for key, (n, _) in causes.items() if key.startswith("unknown/") and key != "unknown/born dead"
    )
    assert counted(this, BY_NAME["cause found"]) == (lost - unknown, lost)
    losses = import_module("neonatal_stats.chapters.losses")
    rows = losses.answer(this).of_all_born.set_index("window")
    assert counted(this, BY_NAME["lost by 7 d"]) == (rows.loc["7 d", "events"], rows.loc["7 d", "n"])


def test_a_blank_is_neither_met_nor_missed() -> None:
    """Ten fed in time, ten late, ten of which nothing is written, two born dead, two that died before the mark."""
    rows: list[dict[str, Any]] = [
        *[
            {"dam_id": f"a{i}", "born_alive": "yes", "fed_after_min": 60, "seen_after_h": 1008}
            for i in range(10)
        ],
        *[
            {"dam_id": f"b{i}", "born_alive": "yes", "fed_after_min": 300, "seen_after_h": 1008}
            for i in range(10)
        ],
        *[{"dam_id": f"c{i}", "born_alive": "yes", "seen_after_h": 1008} for i in range(10)],
        *[{"dam_id": f"d{i}", "born_alive": "no"} for i in range(2)],
        *[{"dam_id": f"e{i}", "born_alive": "yes", "died_after_h": 1} for i in range(2)],
    ]
    made = season(rows)
    assert counted(made, BY_NAME["fed by the mark"]) == (10, 20)
    assert seen(made, BY_NAME["fed by the mark"]).asked == {"2026": 32}
    assert counted(made, BY_NAME["born dead"]) == (2, 34)
    assert counted(made, BY_NAME["cause found"]) == (0, 2)
    assert seen(made, BY_NAME["mothered up"]).why == NOTHING
    assert seen(made, BY_NAME["enough colostrum"]).why == NOTHING
    assert seen(made, BY_NAME["absorbed"]).why == NOTHING


def test_a_window_that_one_in_ten_left_before_is_not_told() -> None:
    kept = [{"dam_id": f"a{i}", "born_alive": "yes", "seen_after_h": 1008} for i in range(30)]
    sold = [{"dam_id": f"b{i}", "born_alive": "yes", "left_after_h": 72} for i in range(6)]
    made = season([*kept, *sold, {"dam_id": "c", "born_alive": "yes", "died_after_h": 20}])
    assert counted(made, BY_NAME["lost by 24 h"]) == (1, 37)
    assert seen(made, BY_NAME["lost by 7 d"]).why == UNSEEN


def births(blocks: list[tuple[str, str, int, int]]) -> pd.DataFrame:
    """Season, birth type, met, of how many; every newborn a litter of its own."""
    rows = [(name, kind, place < met) for name, kind, met, n in blocks for place in range(n)]
    frame = pd.DataFrame(rows, columns=["season", "birth_type", "event"])
    return frame.assign(
        season=pd.Categorical(frame["season"], ordered=True),
        birth_type=pd.Categorical(frame["birth_type"], ["single", "twin"], ordered=True),
        cluster=np.arange(len(frame)),
        litter=np.arange(len(frame)),
    )


MIXED = births(
    [("a", "single", 216, 240), ("a", "twin", 36, 60), ("b", "single", 54, 60), ("b", "twin", 144, 240)]
)
"""Nine in ten singles are fed in time and six in ten twins, in both seasons; the mix turns round."""


def test_a_change_of_mix_alone_moves_nothing() -> None:
    """84 % become 66 % though nothing changed: at the mix of both together it is 75 % before and after."""
    crude = rates(MIXED, ("season",), "event", level=0.95)["share"].tolist()
    assert crude == pytest.approx([0.84, 0.66])
    found = before_after(MIXED, "a", "b", SETTINGS)
    assert found.mix == ("birth_type",)
    assert (found.before.share, found.after.share) == (pytest.approx(0.75), pytest.approx(0.75))
    assert found.difference.estimate == pytest.approx(0.0, abs=1e-12)
    assert found.difference.low < 0 < found.difference.high
    assert found.difference.p == pytest.approx(1.0)
    assert (found.before.events, found.before.n, found.after.events, found.after.n) == (252, 300, 198, 300)


def test_without_the_mix_the_same_births_would_have_moved() -> None:
    found = before_after(MIXED, "a", "b", replace(SETTINGS, standard_mix=()))
    assert found.mix == ()
    assert found.difference.p < 0.001


def test_littermates_that_meet_together_widen_it() -> None:
    frame = births([("a", "single", 30, 60), ("b", "single", 45, 60)])
    apart = before_after(frame, "a", "b", SETTINGS).difference
    paired = before_after(frame.assign(cluster=frame.index // 3), "a", "b", SETTINGS).difference
    assert paired.high - paired.low > 1.3 * (apart.high - apart.low)
    assert paired.p > 5 * apart.p


def test_a_few_samples_are_not_standardised_by_many_kinds() -> None:
    many = pd.concat([MIXED] * 2).assign(parity_class=lambda f: pd.Categorical(np.arange(len(f)) % 3 + 1))
    wanted = ("birth_type", "parity_class")
    assert fitting_mix(many.assign(cluster=np.arange(len(many))), wanted).columns == wanted
    assert fitting_mix(many.iloc[::20], wanted).columns == ("birth_type",)
    assert fitting_mix(many.iloc[::50], wanted).columns == ()


def test_counts_of_a_season_that_is_not_recorded() -> None:
    """171 of 214 then 229 of 241, no litters: as two shares of plain counts."""
    frame = births([("b", "single", 229, 241)])
    found = after_alone(frame, "b", (171, 214), SETTINGS)
    assert (found.before.events, found.before.n, found.before.season) == (171, 214, "")
    assert found.difference.estimate == pytest.approx(229 / 241 - 171 / 214)
    pair = births([("a", "single", 171, 214), ("b", "single", 229, 241)])
    assert found.difference.p == pytest.approx(before_after(pair, "a", "b", SETTINGS).difference.p, rel=0.05)


def test_in_seasons_keeps_feeds_with_their_newborns(hill_season: Season) -> None:
    two = in_seasons(hill_season, ("2024", "2025"))
    assert set(two.births["season"].astype(str)) == {"2024", "2025"}
    ids = two.births.set_index("newborn")["newborn_id"]
    joined = two.feeds["newborn"].map(ids)
    assert (joined == two.feeds["newborn_id"]).all()
