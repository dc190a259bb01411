"""A season in progress: the curve where the truth is known, windows when they can be read, last days, the alarm."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pandas as pd
import pytest

from neonatal_stats.chapters import progress
from neonatal_stats.chapters.counted.progress import ALARM_P, FALSE_ALARMS, season_in_progress, stops_early
from neonatal_stats.measures.curves import survival
from neonatal_stats.tables import printed
from tests.chapters.build import season
from tests.chapters.running_farms import FIRST, finished, rows
from tests.simulations.season_in_progress import Farm, drawn, looks

OF_SETTINGS = {"7", "24", "42", "95", "2026", "10", "5", "1"}
"""Windows, level, smallest group, fewest losses; the one of "1 of 20 seasons"."""
NUMBER = re.compile(r"\d+(?:[\u202f\u00a0]\d{3})*(?:\.\d+)?")


def on(day: int, farm: str, **settings: Any) -> progress.Progress:
    """A farm as it was known so many days after the first birth."""
    cut = finished(farm, **settings).known_by(FIRST + pd.Timedelta(days=day))
    return progress.answer(cut, season_in_progress(cut))


@pytest.mark.parametrize("farm", ["meadow", "ridge"])
@pytest.mark.parametrize("day", [11, 18, 25])
def test_the_curve_says_eleven_percent_whenever_it_is_asked(farm: str, day: int) -> None:
    result = on(day, farm)
    week = result.windows.set_index("window").loc["7 d"]
    assert week["enough"]
    assert week["share"] == pytest.approx(0.11, abs=1e-12)
    whole = finished(farm).births
    born = whole[whole["born"] < FIRST + pd.Timedelta(days=day + 1)]
    curve = survival(born, level=0.95)
    later = curve[curve["age_h"] < 168].iloc[-1]
    assert week["share"] == pytest.approx(1 - later["share"], abs=1e-12)


def test_counts_alone_would_say_something_else() -> None:
    """The farms were made so that no crude share is 11 %: a test that they can tell."""
    births = finished("meadow").known_by(FIRST + pd.Timedelta(days=11)).births
    assert births["lost_by_7_d"].dropna().mean() == pytest.approx(0.214, abs=0.001)
    assert births["lost"].mean() < 0.105


def test_a_window_is_shown_only_when_enough_were_watched_through_it() -> None:
    """Of 100 lambs a day ten, and a tenth of all born, must be seven days old: 700 born after a week, of whom 89 live.

    On the eighth evening (day 7) 800 are born and those of the first day have turned a week; 80 are needed, 88 live.
    """
    before, after = on(6, "meadow"), on(7, "meadow")
    assert not before.windows.set_index("window").loc["7 d", "enough"]
    assert np.isnan(before.windows.set_index("window").loc["7 d", "share"])
    week = after.windows.set_index("window").loc["7 d"]
    assert (week["enough"], week["watched"], week["needed"]) == (True, 89, 80)
    said = " ".join(one.text for one in progress.sentences(before))
    assert (
        "Not shown yet, since fewer than 70 (ten, and a tenth of those born) have been watched so long"
        in said
    )
    assert "7\u00a0d, from about 9\u00a0Mar on" in said.replace("7 d", "7\u00a0d")
    assert week["since"] == FIRST + pd.Timedelta(days=7)


def test_the_page_leads_with_the_window_that_a_review_leads_with() -> None:
    """Also when the end can be read: on Meadow 12 of 100 by 42 d, 11 by 7 d."""
    result = on(60, "meadow")
    assert result.shown["window"].tolist() == ["24 h", "7 d", "end"]
    assert result.shown["share"].tolist() == pytest.approx([0.07, 0.11, 0.12])
    leading = progress.main(result)
    assert leading is not None
    assert (leading.label, leading.share) == ("7 days", pytest.approx(0.11))


def test_too_few_born_have_no_share() -> None:
    made = season([{"dam_id": str(place), "died": "no", "born_at": FIRST} for place in range(19)])
    result = progress.answer(made.known_by(FIRST + pd.Timedelta(days=8)), "2026")
    assert result.shown.empty
    assert "Too few to give a share: fewer than 20 lambs born so far." in [
        s.text for s in progress.sentences(result)
    ]
    assert progress.figures(result) == ()


def test_losses_without_an_age_close_the_windows() -> None:
    made = [{"dam_id": str(n), "died": "yes" if n < 10 else "no", "born_at": FIRST} for n in range(100)]
    result = progress.answer(season(made).known_by(FIRST + pd.Timedelta(days=9)), "2026")
    assert (result.undated, result.shown.empty) == (10, True)
    said = " ".join(one.text for one in progress.sentences(result))
    assert "The curve leaves out losses at an unknown age (10), and is too low by that." in said
    assert "when more ages at loss are known" in said


def test_the_last_days_beside_the_days_before_where_every_day_is_alike() -> None:
    """On Meadow nothing changes: as many as expected are lost at each age, and the ratio is 1."""
    before = on(25, "meadow").last_days.before
    assert before is not None
    assert (before.lost, before.expected) == (77, pytest.approx(77))  # seven days of eleven, all by 150 h
    assert before.beyond == 6  # at 20 d, an age that nobody had reached seven days ago
    assert on(25, "meadow").last_days.alarm == "silent"


@pytest.mark.parametrize("farm", ["meadow", "ridge"])
@pytest.mark.parametrize("day", [8, 13, 20, 29])
def test_no_alarm_where_nothing_happens(farm: str, day: int) -> None:
    assert on(day, farm).last_days.alarm in ("off", "silent")


def test_an_outbreak_sounds_the_alarm() -> None:
    """From day 10 on every fourth lamb of Meadow that lived dies on its second day: 30 % and more are lost."""
    made = rows("meadow")
    for place, row in enumerate(made):
        if row["born_at"] >= FIRST + pd.Timedelta(days=10) and row["died"] == "no" and place % 4 == 0:
            row |= {"died": "yes", "died_after_h": 36.0}
    whole = season(made)
    states = [
        progress.answer(whole.known_by(FIRST + pd.Timedelta(days=day)), "2026").last_days.alarm
        for day in (9, 13)
    ]
    assert states == ["silent", "sounding"]
    result = progress.answer(whole.known_by(FIRST + pd.Timedelta(days=13)), "2026")
    heading, told, rate = progress.alarm_said(result)
    assert heading == "Alarm: sounding."
    assert "Ring your vet today" in told
    assert "at most 1 of 20 seasons" in rate


def test_last_season_stands_at_the_same_date() -> None:
    """Last year the same lambs a year earlier, twice as many of them born dead: 3 more of 100 at birth, 14 by 7 d."""
    made = rows("meadow")
    before = [row | {"season": "2025", "born_at": row["born_at"] - pd.DateOffset(years=1)} for row in made]
    for place, row in enumerate(before):
        if place % 100 in (20, 21, 22):
            row |= {"born_alive": "no", "died": "yes"}
    result = progress.answer(season([*before, *made]).known_by(FIRST + pd.Timedelta(days=11)), "2026")
    assert result.last_season == "2025"
    assert result.last_windows.set_index("window").loc["7 d", "share"] == pytest.approx(0.14, abs=1e-12)
    assert result.last_windows["born"].tolist() == result.windows["born"].tolist()
    last = result.last_days.last
    assert last is not None
    assert last.ratio < 0.85
    assert "2025 up to the same date would give about" in " ".join(s.text for s in progress.sentences(result))


def test_a_season_of_another_time_of_year_is_not_last_season() -> None:
    made = rows("meadow")
    autumn = [
        row | {"season": "2025 autumn", "born_at": row["born_at"] - pd.Timedelta(days=180)} for row in made
    ]
    cut = season([*autumn, *made]).known_by(FIRST + pd.Timedelta(days=11))
    assert progress.answer(cut, "2026").last_season == ""


def test_births_that_go_on_for_longer_have_another_rate_of_false_alarms() -> None:
    made = [{"dam_id": str(n), "died": "no", "born_at": FIRST + pd.Timedelta(days=n)} for n in range(90)]
    result = progress.answer(season(made).known_by(FIRST + pd.Timedelta(days=80)), "2026")
    assert "Births have gone on for more than nine weeks" in progress.alarm_said(result)[2]


@pytest.mark.parametrize("farm", ["meadow", "ridge"])
@pytest.mark.parametrize("day", [2, 11, 25])
def test_every_number_said_stands_in_a_table(farm: str, day: int) -> None:
    result = on(day, farm)
    shown = " ".join(
        f"{printed(one).to_csv()} {one.raw().to_csv()} {one.title} {one.note}"
        for one in progress.tables(result)
    )
    allowed = {*NUMBER.findall(shown), *OF_SETTINGS, str(result.day.day)}
    for sentence in progress.sentences(result):
        assert set(NUMBER.findall(sentence.text)) <= allowed, sentence.text


def test_german_throughout() -> None:
    said = " ".join(one.text for one in progress.sentences(on(6, "meadow", language="de")))
    assert "Alarm: noch nicht möglich" in said
    assert "Noch nicht gezeigt" in said
    assert not re.search(r"\b(the|were|lost|since)\b", said)


def test_records_that_stop_early_are_told_from_newborns_lost_sight_of() -> None:
    """All seen to the evening of day 5 of 8 days of births: it is the records that stop."""
    young = [
        {
            "dam_id": str(n),
            "died": "no",
            "born_at": FIRST + pd.Timedelta(days=n % 8),
            "last_seen_at": FIRST + pd.Timedelta(days=8),
        }
        for n in range(80)
    ]
    assert stops_early(season(young), "2026") == FIRST + pd.Timedelta(days=8)
    gone = [row | {"last_seen_at": row["born_at"] + pd.Timedelta(days=2)} for row in young]
    assert stops_early(season(gone), "2026") is None
    unwritten = [{name: cell for name, cell in row.items() if name != "last_seen_at"} for row in young]
    assert stops_early(season(unwritten), "2026") is None


def test_quiet_seasons_sound_the_alarm_as_seldom_as_is_said() -> None:
    """A small part of tests/simulations/season_in_progress.py: at most one season in twenty, with its chance error."""
    rng = np.random.default_rng(20261126)
    seasons = 120
    sounded = sum(
        min((p for _, p in looks(drawn(rng, Farm(250, 0.12)))), default=1.0) < ALARM_P for _ in range(seasons)
    )
    most = FALSE_ALARMS[0] / FALSE_ALARMS[1]
    assert sounded / seasons <= most + 2 * np.sqrt(most * (1 - most) / seasons)


def test_a_season_in_which_the_hazard_is_raised_is_found() -> None:
    rng = np.random.default_rng(20261127)
    found = [min(p for _, p in looks(drawn(rng, Farm(400, 0.12), times=3.0, from_d=20))) for _ in range(20)]
    assert np.mean(np.array(found) < ALARM_P) > 0.8
