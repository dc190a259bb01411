"""The worked example of a map in another language reads as it is said to."""

from __future__ import annotations

from pathlib import Path

from neonatal_stats.season.read import read_season

MAPS = Path(__file__).parents[2] / "docs" / "maps"


def test_the_german_shed_book_is_read_whole() -> None:
    season = read_season(MAPS / "german_shed_book.csv", map=MAPS / "german_shed_book.toml")
    births = season.births
    assert season.problems.empty
    assert season.balances[0].used == season.balances[0].rows_read == 4
    assert births["dam_id"].str[-1].tolist() == ["2", "3", "1", "1"]
    assert births["born_at"].dt.strftime("%d.%m. %H:%M").tolist() == [
        "14.03. 22:30",
        "15.03. 03:20",
        "03.04. 05:40",
        "03.04. 05:55",
    ]
    assert births["birth_weight_kg"].tolist() == [4.6, 4.0, 4.2, 3.8]
    assert births["delivery"].astype(str).tolist() == ["caesarean", "unassisted", "unassisted", "hard assist"]
    # worked by hand: 3 April 05:55 to 4 April 07:10 is 25 h 15 min
    assert births["age_h"].tolist() == [0, 1008, 1008, 25]
    assert births["cause"].astype(str).tolist()[0::3] == ["stillbirth", "starvation-mismothering-exposure"]
