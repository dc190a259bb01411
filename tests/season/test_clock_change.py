"""The nights in which the clocks change: no age is wrong by an hour, none is negative, and odd times are named."""

from __future__ import annotations

from pathlib import Path

from neonatal_stats.season.read import read_season
from neonatal_stats.season.settings import Settings

# Europe/London: on 29 March 2026 01:00 became 02:00; on 25 October 2026 02:00 became 01:00 (IANA time zone database).
TEXT = """dam_id,born_at,died,died_at,species
A,2026-03-28 23:00,yes,2026-03-29 05:00,sheep
B,2026-03-29 01:30,yes,2026-03-29 05:00,sheep
C,2026-10-25 01:40,yes,2026-10-25 01:10,sheep
D,2026-10-24 23:00,yes,2026-10-25 05:00,sheep
"""


def test_ages_over_a_clock_change_are_true_hours(tmp_path: Path) -> None:
    path = tmp_path / "births.csv"
    path.write_text(TEXT, encoding="utf-8")
    season = read_season(path, settings=Settings(time_zone="Europe/London"))
    # worked by hand: 23:00 to 05:00 is 5 h in spring and 7 h in autumn; 01:40 to the second 01:10 is 30 min
    assert season.births.set_index("dam_id")["age_h"].to_dict() == {"A": 5.0, "B": 3.0, "C": 0.0, "D": 7.0}
    listed = season.problems[["row", "column", "problem", "ended"]].values.tolist()
    gone = "the clocks went forward and this time did not exist; the first moment after it was used"
    twice = "the clocks went back and this time occurred twice; the reading without a negative age was used"
    assert listed == [
        [3, "born_at", gone, "noted"],
        [4, "born_at", twice, "noted"],
        [4, "died_at", twice, "noted"],
    ]


def test_without_a_zone_the_clock_is_taken_as_it_stands(tmp_path: Path) -> None:
    path = tmp_path / "births.csv"
    path.write_text(TEXT, encoding="utf-8")
    season = read_season(path)
    ages = season.births.set_index("dam_id")["age_h"]
    assert ages.drop("C").to_dict() == {"A": 6.0, "B": 3.0, "D": 6.0}
    assert season.problems["problem"].tolist() == ["it died before it was born"]


def test_times_with_an_offset_become_local(tmp_path: Path) -> None:
    path = tmp_path / "births.csv"
    path.write_text(
        "dam_id,born_at,died\nA,2026-04-13T05:30:00Z,no\nB,2026-04-13T05:30+02:00,no\n", encoding="utf-8"
    )
    births = read_season(path, settings=Settings(time_zone="Europe/London")).births.set_index("dam_id")
    assert births["born"].dt.strftime("%H:%M").to_dict() == {"A": "06:30", "B": "04:30"}


def test_an_end_that_occurs_twice_is_its_first_unless_that_lies_before_the_birth(tmp_path: Path) -> None:
    path = tmp_path / "births.csv"
    times = {
        "A": ("01:40", "01:40"),
        "B": ("01:10", "01:40"),
        "C": ("01:40", "01:39"),
        "D": ("00:40", "01:40"),
    }
    rows = [f"{dam},2026-10-25 {born},yes,2026-10-25 {died}" for dam, (born, died) in times.items()]
    path.write_text("\n".join(["dam_id,born_at,died,died_at", *rows]), encoding="utf-8")
    season = read_season(path, settings=Settings(time_zone="Europe/London"))
    # worked by hand: A at once; B 30 min; C 59 min, to the second 01:39; D one hour, to the first 01:40
    assert season.births.set_index("dam_id")["age_h"].to_dict() == {"A": 0.0, "B": 0.0, "C": 0.0, "D": 1.0}
