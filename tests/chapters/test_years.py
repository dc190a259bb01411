"""Years: mix and rate told apart in flocks built so, the terms by hand, recording said first, the edges."""

from __future__ import annotations

from typing import Any

import pytest

from neonatal_stats.chapters import years
from neonatal_stats.chapters.counted.years_side_by_side import Split
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.tables import printed
from neonatal_stats.words import Verdict
from tests.chapters.build import season
from tests.chapters.flocks import Block, flock

SINGLE: dict[str, Any] = {"litter_size": 1}
TWIN: dict[str, Any] = {"litter_size": 2}


def two_seasons(first: list[tuple[int, int]], second: list[tuple[int, int]], **settings: Any) -> years.Years:
    """Two seasons of singles and twins, each as (lost, newborns)."""
    rows = []
    for name, (singles, twins) in (("2025", first), ("2026", second)):
        rows += flock([(SINGLE, *singles)], season=name, born_at=f"{name}-03-02 06:00")
        rows += flock([(TWIN, *twins)], season=name, litter=2, born_at=f"{name}-03-02 06:00", sire_id="t")
    for row in rows:
        if row.pop("sire_id", None):
            row["dam_id"] += "-t"
    return years.answer(season(rows, **settings))


def spoken(result: years.Years) -> str:
    return " ".join(sentence.text for sentence in years.sentences(result))


def test_only_the_mix_differs() -> None:
    # worked by hand: 0.1 of singles and 0.2 of twins are lost in both; 500 + 500 (0.15) becomes 200 + 800 (0.18).
    # mix: singles (0.2 - 0.5) x 0.1 = -0.03, twins (0.8 - 0.5) x 0.2 = +0.06; rate 0
    result = two_seasons([(50, 500), (100, 500)], [(20, 200), (160, 800)])
    assert result.terms["mix_term"].tolist() == pytest.approx([-0.03, 0.06], abs=1e-12)
    assert result.terms["rate_term"].tolist() == pytest.approx([0, 0], abs=1e-12)
    assert result.split is Split.MIX
    assert "Mix, not rate: +3.0" in spoken(result)


def test_only_the_rates_differ() -> None:
    # worked by hand: half twins in both; 0.1 and 0.2 become 0.2 and 0.3: rate 0.5 x 0.1 + 0.5 x 0.1, mix 0
    result = two_seasons([(50, 500), (100, 500)], [(100, 500), (150, 500)])
    assert result.terms["rate_term"].tolist() == pytest.approx([0.05, 0.05], abs=1e-12)
    assert result.split is Split.RATE
    assert "Rate, not mix: +10.0" in spoken(result)


def test_mix_and_rate_cancel() -> None:
    # worked by hand: 40/400 + 30/100 is 0.14; 2/100 + 68/400 is 0.14. Mix: singles (0.2 - 0.8) x 0.06 = -0.036, twins
    # (0.8 - 0.2) x 0.235 = 0.141; rate: singles -0.08 x 0.5 = -0.04, twins -0.13 x 0.5 = -0.065
    result = two_seasons([(40, 400), (30, 100)], [(2, 100), (68, 400)])
    assert result.terms["mix_term"].tolist() == pytest.approx([-0.036, 0.141], abs=1e-12)
    assert result.terms["rate_term"].tolist() == pytest.approx([-0.04, -0.065], abs=1e-12)
    assert result.split is Split.CANCEL
    assert "Mix and rate cancel: +10.5" in spoken(result)
    assert "−10.5" in spoken(result)


def test_terms_add_up_to_the_crude_change_with_some_not_recorded() -> None:
    rows = flock([(SINGLE, 5, 60), ({"litter_size": 3}, 9, 30)], season="2025", dam_parity=1)
    rows += flock([(SINGLE, 9, 70), (TWIN, 3, 20)], season="2026", dam_parity=2, born_at="2026-03-02 06:00")
    rows += flock([({"litter_size": None, "dam_parity": None}, 4, 10)], season="2026", sex="male")
    result = years.answer(season(rows))
    change = 16 / 100 - 14 / 90  # worked by hand: 9 + 3 + 4 of 100 against 5 + 9 of 90
    both = result.terms["mix_term"] + result.terms["rate_term"]
    assert both.sum() == pytest.approx(change, abs=1e-12)
    assert result.parts["mix"]["estimate"] + result.parts["rate"]["estimate"] == pytest.approx(
        change, abs=1e-12
    )


def test_standardised_by_hand() -> None:
    # worked by hand: the common mix is 700 singles and 1300 twins of 2000; 0.35 x 0.1 + 0.65 x 0.2 in both seasons
    result = two_seasons([(50, 500), (100, 500)], [(20, 200), (160, 800)])
    assert result.mix.standard.tolist() == pytest.approx([0.35, 0.65])
    assert result.seasons["standardised"].tolist() == pytest.approx([0.165, 0.165])
    assert result.seasons["share"].tolist() == pytest.approx([0.15, 0.18])
    assert result.mix.unusable == ("parity_class", "born_by")


def test_a_kind_of_birth_that_one_season_lacks_is_not_standardised() -> None:
    rows = flock([(SINGLE, 5, 50), ({"litter_size": 3}, 4, 12), (TWIN, 2, 20)], season="2025")
    rows += flock([(SINGLE, 5, 50), (TWIN, 2, 20)], season="2026")
    result = years.answer(season(rows))
    assert result.seasons["n_not_standardised"].tolist() == [12, 0]
    assert "Lambs not in the common mix, for want of a record or of their kind in a season: 12." in spoken(
        result
    )


def test_recording_is_said_before_the_comparison() -> None:
    rows = flock([(SINGLE, 5, 50)], season="2025", birth_weight_kg=4.0)
    rows += flock([(SINGLE, 5, 50)], season="2026", birth_weight_kg=None)
    result = years.answer(season(rows))
    first = years.sentences(result)[0].text
    assert first.startswith("Before comparing: birth weight (kg) was recorded for 50 of 50 (100.0")
    assert "0 of 50" in first


def test_stillborn_missing_from_one_season_is_flagged() -> None:
    rows = flock([(SINGLE, 5, 100), ({"born_alive": "no"}, 10, 10)], season="2025")
    rows += flock([(SINGLE, 5, 110)], season="2026")
    assert "10 of 110" in years.sentences(years.answer(season(rows)))[0].text


def test_a_new_cause_list_is_flagged() -> None:
    old: list[Block] = [({"cause": "infection"}, 15, 15), ({"cause": "unknown"}, 10, 10), (SINGLE, 0, 100)]
    new: list[Block] = [
        ({"cause": one}, 6, 6) for one in ("infection", "accident", "predation", "congenital")
    ] + [(SINGLE, 0, 100)]
    result = years.answer(season([*flock(old, season="2025"), *flock(new, season="2026")]))
    flagged = result.recording[result.recording["flagged"].astype(bool)].set_index("what")
    assert flagged.loc["causes", "detail"] == "accident, congenital, predation"
    assert "unknown cause" in flagged.index  # 10 of 25 against 0 of 24


def test_trend_from_four_seasons_on() -> None:
    def seasons(lost: list[int]) -> years.Years:
        rows: list[dict[str, Any]] = []
        for place, one in enumerate(lost):
            rows += flock([(SINGLE, one, 100)], season=str(2020 + place))
        return years.answer(season(rows))

    assert seasons([5, 10, 15]).trend is None
    result = seasons([5, 10, 15, 20])
    # worked by hand: p = 0.125, sum of score x (deaths - expected) = -2.5 + 2 x 2.5 + 3 x 7.5 = 25, variance
    # 0.125 x 0.875 x 500 = 54.6875, so 625 / 54.6875
    assert result.trend is not None
    assert result.trend.newborns.statistic == pytest.approx(625 / 54.6875)
    assert result.trend.slope == pytest.approx(0.05)
    assert "Loss rose over the 4 seasons 2020 to 2023, by +5.0 points a season" in spoken(result)


def test_seasons_that_swing_have_no_trend() -> None:
    """10, 19, 11.5 and 18 %: the test over newborns finds a trend, the line through the seasons none (t 0.75, df 2)."""
    result = of_seasons(40, 76, 46, 72, n=400)
    assert result.trend is not None
    assert result.trend.newborns.p < 0.05
    # scipy.stats.linregress([0, 1, 2, 3], [0.1, 0.19, 0.115, 0.18]).pvalue
    assert result.trend.p == result.trend.line.p == pytest.approx(0.5302, abs=1e-4)
    assert "No clear trend over the 4 seasons 2020 to 2023" in spoken(result)


def test_one_season_and_a_pair_that_is_not_there() -> None:
    one = season(flock([(SINGLE, 5, 50)]))
    assert years.missing(one) == (
        "Not answered: the records hold one season. Adding the records of another season would open the chapter.",
    )
    with pytest.raises(NotRecorded, match="the records hold one season"):
        years.answer(one)
    rows = [*flock([(SINGLE, 5, 50)], season="2025"), *flock([(SINGLE, 5, 50)], season="2026")]
    asked = season(rows, compare=("2024", "2026"))
    assert years.missing(asked) == (
        "Not answered: no records of 2024 to compare; the records hold 2025, 2026.",
    )


def test_a_season_nobody_was_watched_through_or_compared_with_itself() -> None:
    gone = [
        row | {"left_after_h": 2, "seen_after_h": None} for row in flock([(SINGLE, 0, 50)], season="2026")
    ]
    records = season([*flock([(SINGLE, 5, 50)], season="2025"), *gone])
    assert years.missing(records) == (
        "Not answered: in 2026 no lamb was watched through any window of loss.",
    )
    rows = [*flock([(SINGLE, 5, 50)], season="2025"), *flock([(SINGLE, 5, 50)], season="2026")]
    same = season(rows, compare=("2026", "2026"))
    assert years.missing(same) == ("Not answered: 2026 cannot be compared with itself; name two seasons.",)


def test_the_pair_is_the_one_named() -> None:
    rows = [row for name in ("2024", "2025", "2026") for row in flock([(SINGLE, 5, 50)], season=name)]
    assert years.answer(season(rows)).second == "2026"
    named = years.answer(season(rows, compare=("2025", "2024")))
    assert (named.first, named.second) == ("2025", "2024")
    backwards = named.parts["change"]
    assert (backwards["season"], backwards["versus"]) == ("2024", "2025")
    assert (
        len(named.pairs) == 12
    )  # three parts of the three pairs there are, and of the one that goes back in time


@pytest.mark.slow
@pytest.mark.parametrize(
    ("lost", "n"), [((0, 0), (30, 30)), ((30, 30), (30, 30)), ((0, 1), (1, 1)), ((0, 12), (12, 12))]
)
def test_edges_are_answered_without_a_hitch(lost: tuple[int, int], n: tuple[int, int]) -> None:
    rows = flock([(SINGLE, lost[0], n[0])], season="2025") + flock([(SINGLE, lost[1], n[1])], season="2026")
    result = years.answer(season(rows))
    shown = spoken(result) + " ".join(
        str(printed(table).to_numpy().tolist()) for table in years.tables(result)
    )
    assert not {"nan", "inf", "NaN"} & set(shown.replace("(", " ").replace("'", " ").split())
    assert all(figure.png() for figure in years.figures(result))
    assert years.method(result).sources


def test_outcome_without_ages() -> None:
    rows = []
    for name, lost in (("2025", 6), ("2026", 12)):
        rows += [
            {"dam_id": f"{name}-{i}", "season": name, "litter_size": 1, "died": "yes" if i < lost else "no"}
            for i in range(60)
        ]
    result = years.answer(season(rows))
    assert result.window.name == "end"
    change = result.parts["change"]
    assert [change[name] for name in ("events_versus", "n_versus", "events", "n")] == [6, 60, 12, 60]


def of_seasons(*lost: int, n: int = 200) -> years.Years:
    rows: list[dict[str, Any]] = []
    for place, one in enumerate(lost):
        rows += flock([(SINGLE, one, n)], season=str(2020 + place))
    return years.answer(season(rows))


def test_no_control_limits_under_eight_seasons_where_none_could_ever_lie_outside() -> None:
    # 12, 12, 12 and 70 %: the limits of a chart of four would hold even that
    few = of_seasons(24, 24, 24, 140)
    assert few.seasons[["chart_low", "chart_high"]].isna().all(axis=None)
    assert "lies outside" not in spoken(few)
    assert "Loss by 42\xa0d was higher in 2023, 140 of 200 (70.0" in spoken(few)
    many = of_seasons(24, 24, 26, 24, 22, 24, 24, 25, 140)
    assert many.usual is not None
    assert many.seasons["chart_high"].notna().all()


def test_a_group_that_moved_with_all_the_others_did_not_move() -> None:
    # both kinds lost 10 % and then 20 %; and then singles 10 % in both, twins 10 % and 30 %
    alike = two_seasons([(50, 500), (50, 500)], [(100, 500), (100, 500)])
    assert alike.moved["beyond"].tolist() == pytest.approx([0.0], abs=1e-12)
    assert "moved upwards" not in spoken(alike)
    apart = two_seasons([(50, 500), (50, 500)], [(50, 500), (150, 500)])
    twins = apart.moved.set_index("group").loc["twin or more"]
    assert twins["beyond"] == pytest.approx(0.2)
    assert "Loss among twins and more moved upwards against that of the others" in spoken(apart)


def test_a_group_without_losses_is_not_taken_as_known_for_certain() -> None:
    # 0 of 20 against 10 of 200 in one season, 2 of 20 against 10 of 200 in the other: two deaths are no interaction
    result = two_seasons([(10, 200), (0, 20)], [(10, 200), (2, 20)])
    twins = result.moved.set_index("group").loc["twin or more"]
    assert twins["p"] > 0.1


def test_a_season_is_held_against_all_the_others_beside_the_one_compared() -> None:
    """Twins lose twice what singles do; only the last season differs, by rate, and has more twins besides."""
    rows: list[dict[str, Any]] = []
    for name, singles, twins in (
        ("2023", (20, 200), (40, 200)),
        ("2024", (22, 200), (38, 200)),
        ("2025", (19, 200), (41, 200)),
        ("2026", (20, 100), (110, 300)),
    ):
        rows += flock([(SINGLE, *singles)], season=name, born_at=f"{name}-03-02 06:00")
        rows += flock([(TWIN, *twins)], season=name, born_at=f"{name}-03-02 06:00", dam_parity=3)
    result = years.answer(season(rows, standard_mix=["birth_type"]))
    pair, others = [claim for claim in years.claims(result) if claim.asked == "season"]
    assert (pair.period, pair.against) == (("2025", "2026"), ("2025",))
    assert others.period == ("2023", "2024", "2025", "2026")
    assert others.against == ("2023", "2024", "2025")
    assert (others.events, others.n, others.events_versus, others.n_versus) == (130, 400, 180, 1200)
    # worked by hand: 700 singles and 900 twins; 0.2 and 0.3667 on that mix, less about 0.1017 and 0.1983
    mix = (700 / 1600, 900 / 1600)
    mean = mix[0] * 61 / 600 + mix[1] * 119 / 600
    assert others.estimate == pytest.approx(mix[0] * 0.2 + mix[1] * 110 / 300 - mean, abs=1e-3)
    (said,) = [sentence for sentence in years.sentences(result) if sentence.claim == others.key]
    assert "was higher in 2026, 130 of 400 (32.5\xa0%), than in 2023 to 2025 taken together" in said.text
    assert "points on one mix of births" in said.text
    assert said.beside == "Not by the mix: the seasons are compared on one mix of births."


def test_two_seasons_are_compared_as_a_pair_alone() -> None:
    result = two_seasons([(50, 500), (50, 500)], [(100, 500), (100, 500)])
    assert result.usual is None
    assert "With 2 seasons nobody can say what is usual here" in spoken(result)


def test_a_season_that_differs_by_its_mix_alone_is_not_higher_on_one_mix() -> None:
    rows: list[dict[str, Any]] = []
    for name, singles, twins in (
        ("2024", (40, 400), (30, 100)),
        ("2025", (40, 400), (30, 100)),
        ("2026", (10, 100), (120, 400)),
    ):
        rows += flock([(SINGLE, *singles)], season=name, born_at=f"{name}-03-02 06:00")
        rows += flock([(TWIN, *twins)], season=name, born_at=f"{name}-03-02 06:00", dam_parity=3)
    result = years.answer(season(rows, standard_mix=["birth_type"]))
    pair, others = [claim for claim in years.claims(result) if claim.asked == "season"]
    assert others.estimate == pytest.approx(0, abs=1e-12)
    assert "No clear difference in loss by 42\xa0d between 2026, 130 of 500" in spoken(result)
    # the change is clear, and the mix is said beside it, wherever page one says it
    (said,) = [sentence for sentence in years.sentences(result) if sentence.claim == pair.key]
    assert said.verdict is Verdict.CLEAR
    assert "Mix, not rate" in said.beside


def test_this_season_against_the_one_compared_is_one_claim_asked_beforehand() -> None:
    result = two_seasons([(50, 500), (50, 500)], [(100, 500), (100, 500)])
    (asked,) = [claim for claim in years.claims(result) if claim.asked]
    assert (asked.asked, asked.period, asked.events, asked.events_versus) == (
        "season",
        ("2025", "2026"),
        200,
        100,
    )
    (said,) = [sentence for sentence in years.sentences(result) if sentence.claim == asked.key]
    assert said.verdict is Verdict.CLEAR
    unsettled = years.sentences(result, {asked.key: Verdict.LEANING})
    assert "but chance is not ruled out" in next(one.text for one in unsettled if one.claim == asked.key)
    assert "Rate, not mix" not in " ".join(
        one.text
        for one in years.sentences(result, {claim.key: Verdict.NO_CLEAR for claim in years.claims(result)})
    )


def test_a_trend_that_leans_is_said_to_lean() -> None:
    # worked by hand: slope 0.01 a season of 200; p between 0.05 and 0.20 leans, as the page's rule has it
    result = of_seasons(20, 24, 26, 30)
    assert result.trend is not None
    assert 0.05 < result.trend.p < 0.20
    assert "Loss leans upwards over the 4 seasons" in spoken(result)
