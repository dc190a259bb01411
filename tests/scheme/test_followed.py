"""The rules are stated twice, in memory and on the engine: both say the same of every newborn."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from itertools import product
from zoneinfo import ZoneInfo

import ibis
import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, Phase, given
from hypothesis import settings as trying
from hypothesis import strategies as st

from neonatal_stats.measures.milestones import FEEDING, Milestone, met, state_when_due
from neonatal_stats.scheme.deriving import FED, Clock, followed, with_milestones
from neonatal_stats.season.following.ages import whole_hours
from neonatal_stats.season.following.follow import follow
from neonatal_stats.season.settings import Settings
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import BIRTHS
from tests.chapters.build import season as built
from tests.chapters.test_edges import SEASONS
from tests.chapters.twelve import twelve
from tests.demo import HERDS, season_of
from tests.scheme.alike import differing, shuffled, tidy_births

OF_FEEDS = ("fed_after_h", "fed_not_by_h")
"""What the feeds of a herd add to."""
PRINTED = ("birth_weight_kg",)
"""Weights that are no decimals are written with twelve digits."""


@pytest.mark.parametrize("herd", sorted(HERDS))
def test_every_newborn_of_a_demo_herd(herd: str) -> None:
    season = season_of(herd)
    derived = followed(ibis.memtable(tidy_births(season)), season.settings)
    assert differing(season.births, derived, but=OF_FEEDS) == {}


@pytest.mark.quickly(5)
@pytest.mark.parametrize("name", sorted(SEASONS))
def test_every_newborn_of_the_edge_seasons(name: str) -> None:
    season = built(SEASONS[name])
    derived = followed(ibis.memtable(tidy_births(season)), season.settings)
    assert differing(season.births, derived, but=PRINTED) == {}


def test_twelve_newborns_worked_by_hand() -> None:
    season = twelve()
    derived = followed(ibis.memtable(tidy_births(season)), season.settings)
    assert differing(season.births, derived, but=OF_FEEDS) == {}


def random_births(number: int, n: int, without: frozenset[str]) -> pd.DataFrame:
    """Tidy births of any combination of columns, likely or not, in the types that the readers give.

    Moments crowd about whole hours, midnights and the two nights on which clocks change in Europe.
    """
    draw = np.random.default_rng(number)

    def some(values: object, share: float = 0.8) -> pd.Series:
        return pd.Series(np.asarray(values, dtype=object)).where(draw.random(n) < share, None)

    def moments(after: pd.Series, share: float) -> pd.Series:
        gap = draw.choice([0, 1, 23, 24, 25, 48, 71, 168, 1007, 1008, 1009, 1500, -30], n) * 3600
        gap = gap + draw.choice([0, 0, -1, 1, 60, 1799], n)
        told = after + pd.to_timedelta(gap, unit="s")
        return told.where(draw.random(n) < share)

    start = pd.Series(
        pd.to_datetime(draw.choice(["2026-03-28", "2026-03-29", "2026-10-24", "2026-10-25", "2025-12-31"], n))
    )
    start = start + pd.to_timedelta(draw.integers(0, 48, n) * 1800, unit="s")
    frame = pd.DataFrame(
        {
            "farm": draw.choice(["a", "b, c", "d/e"], n),
            "season": draw.choice(["2025", "2026"], n),
            "species": draw.choice(["sheep", "goat"], n),
            "dam_id": some(draw.choice(["1", "2", "3", "4", "5"], n)),
            "litter_id": some(draw.choice(["x", "y"], n), 0.2),
            "born_at": start.where(draw.random(n) < 0.8),
            "born_on": start.dt.normalize().where(draw.random(n) < 0.5),
            "litter_size": some(draw.integers(1, 6, n), 0.5).astype(float),
            "sex": some(draw.choice(terms.SEXES, n)),
            "birth_weight_kg": some((draw.normal(4, 1, n)).round(1)).astype(float),
            "delivery": some(draw.choice(terms.DELIVERIES, n)),
            "dam_parity": some(draw.integers(1, 7, n)).astype(float),
            "born_alive": some(draw.random(n) < 0.9).astype("boolean"),
            "suck_reflex": some(draw.choice(terms.SUCK_REFLEXES, n)),
            "stood_after_min": some(draw.integers(1, 300, n), 0.5).astype(float),
            "mothered_up": some(draw.choice(terms.MOTHERED_UP, n)),
            "died": some(draw.random(n) < 0.4).astype("boolean"),
            "died_at": moments(start, 0.3),
            "last_alive_at": moments(start, 0.3),
            "found_dead_at": moments(start, 0.3),
            "age_at_death_h": some(draw.choice([0, 0.5, 23.9999999999, 24, 30, 2000], n), 0.2).astype(float),
            "age_at_death_d": some(draw.choice([0, 1, 1.5, 41, 42, 43], n), 0.2).astype(float),
            "cause": some(draw.choice([*terms.CAUSES, "no such cause"], n), 0.3),
            "left_at": moments(start, 0.2),
            "last_seen_at": moments(start, 0.3),
            "left_reason": some(draw.choice(terms.LEFT_REASONS, n), 0.2),
        }
    )
    for name in [name for name in frame if name.endswith("_at")]:
        by_day = pd.Series(draw.random(n) < 0.3) & frame[name].notna()
        frame[f"{name}_is_day"] = by_day
        frame[name] = frame[name].where(~by_day, frame[name].dt.normalize())
    gone = {*without, *(f"{name}_is_day" for name in without)}
    return frame.drop(columns=[name for name in frame if name in gone]).assign(place=np.arange(n))


def typed(frame: pd.DataFrame) -> pd.DataFrame:
    """The same births with the types of tidy Parquet."""
    kinds = {column.name: column.kind for column in BIRTHS}
    made = {}
    for name, values in frame.items():
        kind = kinds.get(str(name), "")
        if kind == "moment":
            values = values.astype("datetime64[us]")
        elif kind == "date":
            values = values.dt.date.where(values.notna(), None)
        elif kind == "integer":
            values = values.astype("Int64")
        elif kind in ("text", "term"):
            values = values.astype("string")
        made[name] = values
    return pd.DataFrame(made)


DROPPED = st.frozensets(
    st.sampled_from([column.name for column in BIRTHS if column.name not in ("farm", "season", "species")]),
    max_size=12,
)


@trying(
    max_examples=5,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
)
@given(
    number=st.integers(0, 10**6),
    n=st.sampled_from([1, 2, 40, 400]),
    without=DROPPED,
    zone=st.sampled_from(["", "Europe/London"]),
    follow_up_d=st.sampled_from([42.0, 7.0, 1.3]),
    windows=st.sampled_from([{"24 h": 24.0, "7 d": 168.0}, {"2 d": 48.0, "42 d": 1008.0, "60 d": 1440.0}]),
)
def test_every_newborn_of_random_tables(
    number: int, n: int, without: frozenset[str], zone: str, follow_up_d: float, windows: dict[str, float]
) -> None:
    settings = Settings(time_zone=zone, follow_up_d=follow_up_d, windows_h=windows)
    frame = random_births(number, n, without)
    births = follow(frame, settings)
    place = pd.Series(np.arange(n), index=births["place"].to_numpy())
    tidy = typed(frame.assign(place=frame["place"].map(place)))
    derived = followed(ibis.memtable(shuffled(tidy)), settings)
    assert differing(births.assign(place=np.arange(n)), derived) == {}


def test_without_marks_of_the_day_midnights_tell_it() -> None:
    """A column of moments that all stand at midnight holds days; one that does not holds times."""
    frame = random_births(3, 40, frozenset())
    frame = frame.drop(columns=[name for name in frame if name.endswith("_is_day")])
    frame["died_at"] = frame["died_at"].dt.normalize()
    births = follow(frame, Settings())
    place = pd.Series(np.arange(40), index=births["place"].to_numpy())
    tidy = typed(frame.assign(place=frame["place"].map(place)))
    assert differing(births.assign(place=np.arange(40)), followed(ibis.memtable(tidy), Settings())) == {}


@pytest.mark.parametrize("zone", ["Europe/London", "America/New_York", "Africa/Casablanca"])
def test_hours_over_every_change_of_the_clock(zone: str) -> None:
    """Half hours about each change of three years, each with each, as pandas tells them by the zone's own rules."""
    steps = [datetime(2024, 1, 1) + timedelta(hours=6 * step) for step in range(4 * 3 * 365)]
    ahead = [step.replace(tzinfo=ZoneInfo(zone)).utcoffset() for step in steps]
    changes = [steps[at] for at in range(1, len(steps)) if ahead[at] != ahead[at - 1]]
    assert len(changes) >= 5
    near = [change + timedelta(minutes=30 * half) for change in changes for half in range(-20, 8)]
    pairs = [(one, other) for one, other in product(near, near) if abs(other - one) < timedelta(hours=12)]
    start, end = (pd.to_datetime([pair[at] for pair in pairs]).to_numpy() for at in (0, 1))
    expected = np.maximum(whole_hours(start, end, np.zeros(len(pairs), dtype=bool), zone), 0)
    table = ibis.memtable(pd.DataFrame({"row": range(len(pairs)), "start": start, "end": end}))
    hours = Clock(zone, (2024, 2026)).whole_hours(table.start, table.end, ibis.literal(False))
    got = table.select("row", hours=hours).order_by("row").execute()["hours"]
    assert (got.to_numpy() == expected).all()


@pytest.mark.parametrize("engine", ["databricks", "snowflake"])
def test_the_same_expressions_are_written_for_other_engines(engine: str) -> None:
    """Nothing in them is an operation that these (the first speaks Spark's SQL) lack; what they answer is not asked."""
    schema = ibis.memtable(typed(random_births(1, 2, frozenset()))).schema()
    derived = followed(ibis.table(schema, name="births"), Settings())
    assert "births" in ibis.to_sql(derived, dialect=engine)


def test_a_window_that_ends_where_watching_ends_holds_its_last_hour() -> None:
    """Deaths about 168 h, the end of the week and here of the season: within the last window, out of an earlier one."""
    rows = [{"died": "yes", "died_after_h": hours} for hours in (23, 24, 25, 167, 168, 169)]
    season = built([*rows, {"died": "no"}])
    for follow_up_d, lost in ((7, 5), (42, 4)):
        settings = replace(season.settings, follow_up_d=float(follow_up_d))
        births = follow(tidy_births(season).sort_values("place", ignore_index=True), settings)
        assert differing(births, followed(ibis.memtable(tidy_births(season)), settings)) == {}
        assert births["lost_by_7_d"].sum() == lost


@pytest.mark.parametrize("fed_h", [1.5, 2.0])
def test_fed_in_time_about_every_edge_of_the_mark(fed_h: float) -> None:
    """At once, at the mark and a minute beside it; told by when or not by when; dead about then, or not."""
    told, not_by = (None, 0, 60, 89, 90, 91, 119, 120, 121), (None, 0, 60, 90, 120, 121)
    rows = [
        {"fed_after_min": one, "fed_after_min_not_by": other, "died": "yes" if hours else "no", "died_after_h": hours}
        for one, other, hours in product(told, not_by, (None, 0.5, 1, 1.2, 1.5, 2, 3))
    ]  # fmt: skip
    season = built([{name: value for name, value in row.items() if value is not None} for row in rows])
    settings = replace(season.settings, marks=replace(season.settings.marks, fed_h=fed_h))
    tidy = tidy_births(season)
    hours = {
        name: tidy.set_index("place")[column].astype(float).sort_index() / 60
        for name, column in zip(FEEDING, ("fed_after_min", "fed_after_min_not_by"), strict=True)
    }
    state = state_when_due(season.births.assign(**hours), Milestone("fed", *FEEDING, fed_h))
    got = with_milestones(followed(ibis.memtable(tidy), settings), settings).execute().sort_values("place")
    one, other = (np.where(pd.isna(of), "unknown", of).tolist() for of in (met(state), got[FED]))
    assert one == other
    assert {True, False, "unknown"} == set(one)
