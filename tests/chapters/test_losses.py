"""The losses of the twelve births, counted by hand."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from neonatal_stats.chapters import birth_type, losses
from neonatal_stats.chapters.counted.losses import BY_WEEK
from neonatal_stats.chapters.losses import Losses
from neonatal_stats.estimates.verdict import Verdict
from neonatal_stats.season.settings import Expected
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.chapters.twelve import ROWS, twelve


@pytest.fixture(scope="module")
def result() -> Losses:
    return losses.answer(twelve())


def _row(frame: pd.DataFrame, **where: Any) -> dict[str, Any]:
    for name, value in where.items():
        frame = frame[frame[name].astype(str) == str(value)]
    (row,) = frame.to_dict("records")
    return {str(name): cell for name, cell in row.items()}


@pytest.mark.parametrize(
    ("out_of", "window", "events", "n", "not_watched"),
    [
        # worked by hand: see the table of the twelve; 8 was sold at 100 h
        ("born", "24 h", 4, 12, 0),
        ("born", "7 d", 5, 11, 1),
        ("born", "end", 6, 12, 1),
        ("born alive", "24 h", 3, 11, 0),
        ("born alive", "7 d", 4, 10, 1),
        ("born alive", "end", 5, 11, 1),
    ],
)
def test_windows(result: Losses, out_of: str, window: str, events: int, n: int, not_watched: int) -> None:
    row = _row(result.by_window, out_of=out_of, window=window)
    assert (row["events"], row["n"], row["not_watched"]) == (events, n, not_watched)
    assert row["share"] == pytest.approx(events / n)
    assert row["low"] < row["share"] < row["high"]


def test_the_curve_beside_the_simple_shares(result: Losses) -> None:
    # worked by hand: 1 - 11/12 x 10/11 x 8/10 x 7/8 x 5/6 = 1 - 35/72; of those born alive 1 - 35/66
    assert _row(result.by_window, out_of="born", window="end")["curve"] == pytest.approx(37 / 72)
    assert _row(result.by_window, out_of="born alive", window="end")["curve"] == pytest.approx(31 / 66)
    # by 24 h and by 7 d: 1 - 8/12, 1 - 7/12
    assert _row(result.by_window, out_of="born", window="24 h")["curve"] == pytest.approx(4 / 12)
    assert _row(result.by_window, out_of="born", window="7 d")["curve"] == pytest.approx(5 / 12)


def test_every_newborn_is_somewhere_in_the_flow(result: Losses) -> None:
    steps = result.flow.newborns
    assert steps["stage"].tolist() == ["born", "born alive", "24 h", "7 d", "end"]
    assert steps["n"].tolist() == [12, 11, 8, 6, 5]
    assert steps["lost"].tolist() == [0, 1, 3, 1, 1]
    assert steps["left"].tolist() == [0, 0, 0, 1, 0]
    before = steps["n"].shift()[1:]
    assert (before == steps[["n", "lost", "left", "age_unknown"]].sum(axis=1)[1:]).all()


def test_counts_made_before_birth_open_the_flow() -> None:
    expected = (Expected("2026", "", 9, 8, 13),)
    found = losses.answer(season(ROWS, expected=expected)).flow
    assert found.dams[["stage", "n", "lost"]].to_numpy().tolist() == [
        ["put to the male", 9, 0],
        ["scanned", 8, 1],
        ["gave birth", 7, 1],
        ["with a newborn alive or sold alive", 5, 2],  # C and D lost all
    ]
    assert found.newborns.iloc[:2][["n", "lost"]].to_numpy().tolist() == [[13, 0], [12, 1]]


def test_counts_of_another_season_are_not_taken() -> None:
    found = losses.answer(season(ROWS, expected=(Expected("2019", "", 9, 8, 13),))).flow
    assert found.newborns["stage"].iloc[0] == "born"


def test_litters(result: Losses) -> None:
    # worked by hand: singles A, G lost none, D all; twins B some, C all, E none; triplets F some
    assert result.by_litter.to_dict("list") == {
        "born": [1, 2, 3],
        "none": [2, 1, 0],
        "some": [0, 1, 1],
        "all": [1, 1, 0],
        "litters": [3, 3, 1],
    }


def test_life_table_of_those_born_alive(result: Losses) -> None:
    ages = result.by_age
    assert ages["start_h"].tolist() == [0, 12, 24, 72, 168, 336]
    assert ages["at_risk"].tolist() == [11, 8, 8, 7, 6, 5]  # 8 left at 100 h, in the fourth span
    assert ages["events"].tolist() == [3, 0, 1, 0, 1, 0]
    assert ages["share"].tolist() == pytest.approx([3 / 11, 0, 1 / 8, 0, 1 / 6, 0])
    # newborn-days in the first span: deaths at 2, 6 and 6 h, eight alive for 12 h: 14 + 96 = 110 h
    assert ages["newborn_days"].iloc[0] == pytest.approx(110 / 24)
    # all together: 2 + 6 + 6 + 30 + 200 + 100 + 5 x 1008 = 5384 h
    assert ages["newborn_days"].sum() == pytest.approx(5384 / 24)


def test_calendar(result: Losses) -> None:
    weeks = result.by_week
    assert weeks["week"].dt.strftime("%Y-%m-%d").tolist() == ["2026-03-02", "2026-03-09"]
    assert weeks[["events", "n"]].to_numpy().tolist() == [[4, 6], [2, 6]]
    # born at 06:00: lambs 1, 2, 3, 7 to 11, of which 2, 9 and 10 were lost; at 14:30: 4, 5, 6 and 12, lost 4, 5, 6
    hours = result.by_hour
    assert [str(band) for band in hours["band"]] == ["04\u201308", "12\u201316"]
    assert hours[["events", "n"]].to_numpy().tolist() == [[3, 8], [3, 4]]
    night = _row(result.night)
    assert [night[name] for name in ("events", "n", "events_versus", "n_versus")] == [3, 8, 3, 4]


def test_what_is_said(result: Losses) -> None:
    said = [sentence.text for sentence in losses.sentences(result)]
    assert said[0] == "Of all lambs born, 6 of 12 were lost by 42\u00a0d: 1 born dead and 5 after birth."
    assert said[1] == "By 24 h of age 4 of 12 had been lost."
    assert "2 of 7 litters lost every lamb, and 2 lost some but not all." in said
    assert any(text.startswith("Too few to say whether losses differ") for text in said)


def test_headlines_are_the_table(result: Losses) -> None:
    numbers = {headline.key: (headline.events, headline.n) for headline in losses.headlines(result)}
    assert numbers.pop("born")[0] == 12
    assert numbers == {
        "born_alive": (11, 12),
        "lost_by_24_h": (4, 12),
        "lost_by_7_d": (5, 11),
        "lost": (6, 12),
    }


def test_windows_that_nobody_reached_are_not_stated() -> None:
    rows = [{"dam_id": str(i), "born_alive": "yes", "seen_after_h": 50} for i in range(9)]
    rows.append({"dam_id": "x", "born_alive": "yes", "died_after_h": 5, "died": "yes"})
    result = losses.answer(season(rows))
    assert [str(window) for window in result.by_window["window"].unique()] == ["24 h", "end"]
    assert losses.headlines(result)[-1].label == "Lost by 2\u00a0d"  # 50 h is two completed days


def test_only_what_was_written_is_at_the_top() -> None:
    # died yes or no and nothing else: neither birth alive nor any age was written
    result = losses.answer(season([{"dam_id": str(i), "died": "yes" if i < 9 else "no"} for i in range(100)]))
    assert [one.label for one in losses.headlines(result)] == ["Born", "Lost"]
    assert result.by_age.empty
    assert losses.sentences(result)[0].text.startswith("Of all lambs born, 9 of 100 (9.0\u00a0%")
    assert losses.sentences(result)[0].text.endswith("were lost.")


def _in_progress(gone_by_3_d: int) -> Losses:
    """200 single births: 8 lost at 12 h; some last seen alive at 72 h; 12 of those watched on lost at 120 h."""
    rows: list[dict[str, Any]] = [{"dam_id": str(i), "born_alive": "yes"} for i in range(200)]
    for i, row in enumerate(rows):
        if i < 20:
            row |= {"died": "yes", "died_after_h": 12 if i < 8 else 120}
        else:
            row |= {"seen_after_h": 72 if i < 20 + gone_by_3_d else 200}
    return losses.answer(season(rows))


def test_a_season_in_progress_shows_the_share_of_the_curve() -> None:
    # by hand, Kaplan-Meier: 192 / 200 live past 12 h; 92 then leave; at 120 h 12 of the 100 still watched are lost:
    # 1 - 0.96 x 88 / 100 = 15.52 %. Simply counted, 20 lost of the 108 whose fate is known would be 18.5 %.
    result = _in_progress(92)
    (headline,) = [one for one in losses.headlines(result) if one.key == "lost_by_7_d"]
    assert headline.share == pytest.approx(0.1552)
    assert headline.printed.startswith("15.5")
    assert not any("18.5" in one.text for one in losses.sentences(result))


def test_no_window_before_half_of_those_born_were_watched_through_it() -> None:
    assert "7 d" in set(_in_progress(100).by_window["window"])
    assert "7 d" not in set(_in_progress(101).by_window["window"])


def test_the_end_is_where_ten_are_watched() -> None:
    # six are watched to 36 days, the others to 20: fewer than ten, and fewer than a tenth
    rows = [
        {"dam_id": str(i), "born_alive": "yes", "seen_after_h": 864 if i < 6 else 480} for i in range(100)
    ]
    rows[50] |= {"died": "yes", "died_after_h": 30}
    rows[50].pop("seen_after_h")
    assert losses.answer(season(rows)).end_h == 480


def test_losses_after_the_end_of_watching_are_not_in_the_last_window() -> None:
    # By hand: 103 lambs, 5 lost at 2 days, 90 last seen at 20 days, 8 watched on, of which 3 were lost at 30 days. By
    # 20 days 5 of 103 were lost, as the curve says, 4.9 %; none had left before.
    fates: list[dict[str, Any]] = [{"seen_after_h": 485}] * 90 + [{"seen_after_h": 984}] * 5
    fates += [{"died": "yes", "died_after_h": 720}] * 3 + [{"died": "yes", "died_after_h": 50}] * 5
    rows = [
        {"dam_id": str(i), "born_alive": "yes", "sex": "female" if i % 2 else "male"} | fate
        for i, fate in enumerate(fates)
    ]
    result = losses.answer(season(rows))
    assert result.end_h == 480
    end = _row(result.by_window, out_of="born", window="end")
    assert [end["events"], end["n"], end["not_watched"]] == [5, 103, 0]
    assert end["curve"] == pytest.approx(5 / 103)
    assert result.flow.newborns.iloc[-1][["n", "lost", "left"]].tolist() == [98, 0, 0]
    assert result.by_litter["all"].sum() == result.by_week["events"].sum() == 5
    assert result.by_age["events"].sum() == 8
    (headline,) = [one for one in losses.headlines(result) if one.key == "lost"]
    assert (headline.events, headline.label) == (5, "Lost by 20\u00a0d")
    said = [sentence.text for sentence in losses.sentences(result)]
    assert said[0].startswith("Of all lambs born, 5 of 103 (4.9\u00a0%")
    assert any("too few lambs were still watched to give a share: 3." in text for text in said)
    assert "to give a share: 3." in losses.tables(result)[0].note
    assert birth_type.answer(season(rows)).groups["events"].sum() == 5


def _weeks(lost: tuple[int, ...]) -> Losses:
    """40 single births in each of some weeks, so many of them lost."""
    return losses.answer(
        season(
            [
                {
                    "dam_id": f"{week}-{i}",
                    "born_at": f"2026-03-{2 + 7 * week:02d} 06:00",
                    "died": "yes" if i < n else "no",
                }
                for week, n in enumerate(lost)
                for i in range(40)
            ]
        )
    )


def _weeks_note(result: Losses, verdicts: dict[str, Verdict] | None) -> str:
    (table,) = [one for one in losses.tables(result, verdicts) if one.name == "losses-weeks"]
    return table.note


@pytest.mark.parametrize("verdict", list(Verdict))
def test_the_note_of_the_weeks_says_what_the_ledger_decided(verdict: Verdict) -> None:
    # 4 of 40 against 16 of 40: alone it is clear, whatever the page then makes of it
    result = _weeks((4, 16))
    (said,) = [one for one in losses.sentences(result, {BY_WEEK: verdict}) if one.claim == BY_WEEK]
    assert said.verdict is verdict
    assert _weeks_note(result, {BY_WEEK: verdict}) == said.text
    assert "by more than chance explains (p 0.00" in _weeks_note(result, None)


def test_weeks_that_are_not_compared_have_no_p_in_the_note() -> None:
    assert _weeks_note(_weeks((4,)), None) == ""


def test_without_ages_the_early_windows_are_not_said() -> None:
    rows = [{"dam_id": str(i // 2), "born_at": None, "died": "yes" if i < 6 else "no"} for i in range(30)]
    result = losses.answer(season(rows))
    said = losses.sentences(result)
    assert said[0].text.startswith("Of all lambs born, 6 of 30 (20.0\u00a0%, ")
    assert said[0].text.endswith(") were lost.")  # by when was not written
    assert ("cannot say", "When they were lost cannot be said: 6 of 6 losses have no known age.") in [
        (sentence.role, sentence.text) for sentence in said
    ]
    assert len(losses.figures(result)) == 2


def test_the_level_that_was_set_is_the_level_in_the_headings() -> None:
    result = losses.answer(season(ROWS, level=0.9))
    assert "90\u00a0% interval" in printed(losses.tables(result)[0]).columns


def test_ages_without_a_date_of_birth_make_a_curve_with_the_survivors_in_it() -> None:
    """12 of 100 lost, 10 of them within a week, by ages alone: neither curve nor sentence may leave out the living."""
    from neonatal_stats import read_season

    ages = [0, 1, 2, 3, 3, 5, 8, 1, 1, 2, 2, 9]
    told = {"species": "sheep", "season": 2026, "dam_id": range(100), "died": ["yes"] * 12 + ["no"] * 88}
    season = read_season(pd.DataFrame(told | {"age_at_death_d": [*ages, *[None] * 88]}))
    week = losses.answer(season).of_all_born.set_index("window").loc["7 d"]
    assert (week["events"], week["n"]) == (10, 100)
    assert week["curve"] == pytest.approx(0.10)
    nothing = read_season(pd.DataFrame(told | {"born_alive": ["no"] * 4 + ["yes"] * 96}))
    assert losses.answer(nothing).by_window["curve"].isna().all()


def test_deaths_of_the_day_after_birth_may_have_come_within_24_hours() -> None:
    """Dates alone: 6 died on the day of birth and 8 on the day after it."""
    from neonatal_stats import read_season

    died = ["2026-03-01"] * 6 + ["2026-03-02"] * 8 + ["2026-03-09"] * 2
    told = {"species": "sheep", "season": 2026, "dam_id": range(100), "born_on": "2026-03-01"}
    season = read_season(
        pd.DataFrame(told | {"died_at": [*died, *[None] * 84], "died": ["yes"] * 16 + ["no"] * 84})
    )
    said = " ".join(one.text for one in losses.sentences(losses.answer(season)))
    assert "8 more died on the day after birth at an hour that is not known: some perhaps within 24" in said
