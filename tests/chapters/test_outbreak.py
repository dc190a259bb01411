"""Outbreaks: what was planted on the calendar is found where and when it was, and what was not is not."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.chapters import outbreak
from neonatal_stats.chapters.counted.outbreak import KEY, Outbreak
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.measures.ledger import decide
from neonatal_stats.measures.on_the_calendar import EVERYWHERE
from neonatal_stats.report.in_short import in_short
from neonatal_stats.tables import printed
from neonatal_stats.words import joined, voice_of
from tests.chapters.build import season
from tests.chapters.sick_pens import START, Farm, farm_rows, farm_season

WEEK_TWO = Farm(sick=0.30)
BAD_PEN = Farm(worse=2.5)
BAD_WEATHER = Farm(spell=4.0)
ON_A_WHOLE_PAGE = 0.0013
"""The p that a family needs on a page where nothing else differs."""


@cache
def found(farm: Farm, number: int = 1) -> Outbreak:
    return outbreak.answer(farm_season(farm, number))


def verdict(result: Outbreak) -> Verdict:
    (claim,) = outbreak.claims(result)
    return decide([claim], result.settings).verdicts[KEY]


def day_of(moment: pd.Timestamp) -> int:
    return (moment - START).days


def test_an_outbreak_in_week_two_is_named_by_pen_and_day() -> None:
    result = found(WEEK_TWO)
    cluster = result.cluster
    assert cluster is not None
    assert (cluster.place, verdict(result)) == ("Croft", Verdict.CLEAR)
    assert cluster.p < ON_A_WHOLE_PAGE
    assert abs(day_of(cluster.onset) - 7) <= 3
    assert cluster.onset_low <= START + pd.Timedelta(days=7) <= cluster.onset_high
    rates = result.in_days.set_index("place")["share"]
    assert rates.idxmax() == "Croft"


def test_a_pen_that_is_always_worse_is_no_outbreak() -> None:
    result = found(BAD_PEN)
    deaths = result.deaths.groupby("place")["events"].sum()
    assert deaths["Bank"] > 1.5 * deaths.drop("Bank").mean()
    assert verdict(result) is not Verdict.CLEAR


def test_a_bad_week_in_all_pens_is_everywhere() -> None:
    result = found(BAD_WEATHER)
    assert result.cluster is not None
    assert (result.cluster.place, verdict(result)) == (EVERYWHERE, Verdict.CLEAR)
    assert abs(day_of(result.cluster.onset) - 10) <= 3


def test_a_season_in_which_nothing_happens_says_so_in_one_sentence() -> None:
    result = found(Farm())
    (sentence,) = outbreak.sentences(result)
    assert sentence.verdict is not Verdict.CLEAR
    assert len(sentence.text.split()) < 25


@pytest.mark.slow
def test_nothing_is_found_more_often_than_p_says_and_what_is_there_is_found() -> None:
    """Thirty seasons and twenty; binomial chance allowed for. The gate (`scan`) keeps p above its nominal share."""
    p = np.array([claim.decided_by for n in range(30) for claim in outbreak.claims(found(Farm(dams=150), n))])
    assert (p < 0.10).mean() <= 0.18
    assert (p < ON_A_WHOLE_PAGE).mean() <= 0.02
    results = [found(WEEK_TWO, n).cluster for n in range(20)]
    right = [
        one is not None
        and one.place == "Croft"
        and one.p < ON_A_WHOLE_PAGE
        and abs(day_of(one.onset) - 7) <= 4
        for one in results
    ]
    assert np.mean(right) >= 0.80


def test_the_rows_are_counted_from_the_births_themselves() -> None:
    rows = farm_rows(WEEK_TWO, 1)
    result = found(WEEK_TWO)
    died = [row for row in rows if row["died"] == "yes"]
    assert result.died == len(died)
    assert result.deaths["events"].sum() == len(died)
    by_day = pd.Series([row["died_at"].normalize() for row in died]).value_counts()
    everywhere = result.deaths.groupby("day")["events"].sum()
    assert everywhere.to_dict() == by_day.to_dict()
    cluster = result.cluster
    assert cluster is not None
    inside = [
        row
        for row in died
        if row["group"] == cluster.place
        and cluster.first <= row["died_at"].normalize() <= cluster.last
        and cluster.cause in ("all causes", row["cause"])
    ]
    assert cluster.deaths == len(inside)
    assert result.by_cause["events"].sum() >= cluster.deaths


def test_births_without_dates_and_several_farms_are_not_answered() -> None:
    undated = [{"dam_id": f"E{n}", "born_at": None, "died": "no"} for n in range(30)]
    with pytest.raises(NotRecorded, match="the days of birth"):
        outbreak.answer(season(undated))
    rows = [{"dam_id": f"E{n}", "farm": f"farm {n % 2}", "died": "no"} for n in range(30)]
    with pytest.raises(NotRecorded, match="farm by farm"):
        outbreak.answer(season(rows))


NO_PENS: list[dict[str, Any]] = [
    {k: v for k, v in row.items() if k != "group"} for row in farm_rows(WEEK_TWO, 1)
]


@pytest.mark.parametrize(
    "rows",
    [
        NO_PENS,
        farm_rows(Farm(dams=40), 3),
        [{"dam_id": f"E{n}", "died": "no", "group": f"pen {n % 2}"} for n in range(60)],
        [{"dam_id": "E1", "died": "yes", "died_after_h": 30}],
        [{"dam_id": "E1", "born_alive": "yes", "died": "no"}],
    ],
    ids=["no pens", "forty dams", "no deaths", "one newborn that died", "one newborn that lived"],
)
def test_seasons_at_the_edge_are_one_or_few_sentences(rows: list[dict[str, Any]]) -> None:
    result = outbreak.answer(season(rows))
    said = [one for one in outbreak.sentences(result) if one.role == "answer"]
    assert 1 <= len(said) <= 6
    assert all(np.isfinite(result.by_place["share"]))


NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


@pytest.mark.parametrize("farm", [WEEK_TWO, BAD_WEATHER, Farm()], ids=["outbreak", "everywhere", "nothing"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_every_number_said_stands_in_a_table(farm: Farm, language: str) -> None:
    result = outbreak.answer(farm_season(farm, 1, language=language))
    shown = " ".join(
        joined((printed(table).to_csv(sep=";"), table.note)) for table in outbreak.tables(result)
    )
    said = [one.text for one in outbreak.sentences(result) if one.role == "answer"]
    numbers = {number for text in said for number in NUMBER.findall(text)}
    assert numbers - set(NUMBER.findall(shown)) - {"95"} == set()


def test_what_is_usually_done_is_said_beside_an_outbreak_alone_and_defers_to_the_vet() -> None:
    cautions = [one.text for one in outbreak.sentences(found(WEEK_TWO)) if one.role == "caution"]
    assert any("call a veterinary surgeon" in text and "common practice" in text for text in cautions)
    assert any("local rules" in text for text in cautions)
    assert not any(one.role == "caution" for one in outbreak.sentences(found(Farm())))


def test_where_its_own_days_do_not_show_the_rise_it_is_said_that_it_may_have_been_there_all_season() -> None:
    result = found(WEEK_TWO)
    assert result.cluster is not None
    assert result.cluster.in_time
    texts = [one.text for one in outbreak.sentences(result)]
    assert not any("all season" in text for text in texts)
    level = replace(result, cluster=replace(result.cluster, in_time=False, p_time=0.31))
    said = [one.text for one in outbreak.sentences(level)]
    assert any("not clear (p 0.31): it may have lost more all season" in text for text in said)
    (claim,) = outbreak.claims(level)
    assert in_short(voice_of(level), claim).startswith(f"Croft: {result.cluster.deaths} died")


def test_a_figure_stands_only_where_deaths_clearly_came_together() -> None:
    (figure,) = outbreak.figures(found(WEEK_TWO))
    assert "Croft" in figure.alt
    assert outbreak.figures(found(Farm())) == ()
    assert outbreak.figures(found(BAD_PEN)) == ()


def test_the_order_of_the_rows_and_the_names_of_dams_change_nothing() -> None:
    rows = farm_rows(WEEK_TWO, 1)
    order = np.random.default_rng(3).permutation(len(rows))
    shuffled = [rows[place] | {"newborn_id": f"n{place:04d}"} for place in order]
    named = [row | {"newborn_id": f"n{place:04d}"} for place, row in enumerate(rows)]
    one, two = (outbreak.answer(season(each)) for each in (named, shuffled))
    assert [s.text for s in outbreak.sentences(one)] == [s.text for s in outbreak.sentences(two)]


def test_large_seasons_put_causes_and_then_weeks_together() -> None:
    # 700 deaths on 60 days in four pens: more rows by day and place than a table holds
    deaths = [
        {
            "dam_id": f"E{n}",
            "born_at": str(START + pd.Timedelta(days=n % 60)),
            "group": f"pen {n // 60 % 4}",
            "cause": cause,
        }
        | {"died": "yes", "died_after_h": 24 * (n // 240)}
        for n, cause in enumerate(["infection", "accident"] * 350)
    ]
    result = outbreak.answer(season(deaths))
    assert len(result.deaths) <= 150
    assert set(result.deaths["cause"]) == {"all causes"}
    assert result.deaths["events"].sum() == 700
