"""Losses and failed passive transfer beside published figures, as their chapters tell them."""

from __future__ import annotations

from typing import Any

import pytest

from neonatal_stats.chapters import colostrum, losses
from neonatal_stats.season.model import Season
from tests.chapters.build import season
from tests.chapters.flocks import flock


def calves(failed: int, n: int, **settings: Any) -> Season:
    """Calves sampled at 30 h, so many of them with 5 g of IgG in a liter, the others with 22."""
    rows = [
        {"species": "cattle", "dam_id": f"c{i}", "born_alive": "yes", "seen_after_h": 1100} for i in range(n)
    ]
    samples = [
        {"newborn_id": str(i + 1), "sampled_after_h": 30, "igg_g_per_l": 5.0 if i < failed else 22.0}
        for i in range(n)
    ]
    return season(rows, samples=samples, **settings)


@pytest.mark.parametrize(("failed", "word"), [(5, "below"), (56, "within"), (120, "above")])
def test_failed_transfer_of_dairy_calves_lies_by_its_interval(failed: int, word: str) -> None:
    """13.7 % (NAHMS 2014) to 24.8 % (Manawatu 2012), of four studies of dairy calves."""
    result = colostrum.answer(calves(failed, 300, kind="dairy"))
    (row,) = colostrum.beside(result)[0].to_dict("records")
    assert (row["key"], row["events"], row["n"], row["verdict"]) == ("failed_transfer", failed, 300, word)
    assert (row["band_low"], row["band_high"], row["studies"]) == (0.137, 0.248, 4)
    said = [one.text for one in colostrum.sentences(result)]
    assert any(text.startswith("Failed passive transfer: ") and f" {word} the band" in text for text in said)
    assert any("Counted differently: their tests and cut points differ." in text for text in said)
    assert {"colostrum-beside", "colostrum-published"} <= {table.name for table in colostrum.tables(result)}


def test_suckler_calves_are_not_held_against_dairy_ones() -> None:
    result = colostrum.answer(calves(50, 300, kind="suckler"))
    assert colostrum.beside(result)[0].empty
    assert not [table for table in colostrum.tables(result) if "beside" in table.name]


def test_what_differs_in_the_counting_is_said_and_where_it_lies_is_called_no_verdict() -> None:
    result = losses.answer(season(flock([({}, 120, 400)])))
    said = [one.text for one in losses.sentences(result)]
    (placed,) = [text for text in said if "band of published flocks" in text]
    assert placed.startswith("Lost by 7 d, of all born: 120 of 400 (30.0 %".replace(" %", "\xa0%"))
    assert "above the band" in placed
    (after,) = [text for text in said if "no verdict" in text]
    assert after.startswith("Counted differently: they count by 5 to 10")


def test_where_birth_alive_or_dead_is_not_written_only_all_born_is_read() -> None:
    rows: list[dict[str, Any]] = [{"dam_id": f"a{i}", "died": "yes", "died_after_h": 9} for i in range(12)]
    rows += [{"dam_id": f"b{i}", "died": "no", "seen_after_h": 1100} for i in range(188)]
    shares, _ = losses.beside(losses.answer(season(rows)))
    assert set(shares["of"]) == {"born"}
    assert "born_dead" not in set(shares["key"])
