"""Samples of which the laboratory gives a limit and no value: classed where that is certain, else bounded."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from neonatal_stats.chapters import colostrum
from neonatal_stats.season.cells.numbers import limit_in
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from neonatal_stats.season.tidy import write_tidy


def of(folder: Path, cells: list[str], measure: str = "igg_g_per_l", species: str = "cattle") -> Season:
    """Samples of newborns of their own, each drawn at 26 h."""
    rows = [
        f'{at},D{at},2026-04-13 10:00,2026-04-14 12:00,{species},"{cell}"' for at, cell in enumerate(cells)
    ]
    heads = f"newborn_id,dam_id,born_at,sampled_at,species,{measure}"
    (folder / "samples.csv").write_text("\n".join([heads, *rows]) + "\n", encoding="utf-8")
    return read_season(folder / "samples.csv")


@pytest.mark.parametrize(
    ("cell", "limit"),
    [
        ("<200 mg/dl", "<2"),
        ("> 30 g/l", ">30"),
        ("≤ 5", "≤5"),
        ("below 10", "<10"),
        ("unter 7,5", "<7.5"),
        ("über 30", ">30"),
        ("+ 40", "≥40"),
        ("+40", "≥40"),  # at least so much, whichever of the two was meant
        ("40+", "≥40"),
    ],
)
def test_a_limit_is_kept_as_one_in_the_columns_unit(tmp_path: Path, cell: str, limit: str) -> None:
    season = of(tmp_path, [cell, "22"])
    assert season.samples["igg_g_per_l"].isna().tolist() == [True, False]
    assert as_told(season.samples["igg_g_per_l_limit"]) == [limit, None]
    (row,) = season.problems.to_dict("records")
    assert (row["row"], row["value"], row["ended"]) == (2, cell, "noted")
    assert limit in row["problem"]


def as_told(limits: pd.Series) -> list[str | None]:
    """The limits, None where there is none, however pandas keeps a blank."""
    return [None if pd.isna(limit) else limit for limit in limits]


@pytest.mark.parametrize("cell", ["8.5", "8,5 g/l", "pass", "< x", "before 10:00", "", None, 7.0])
def test_what_is_no_limit_is_none(cell: object) -> None:
    assert limit_in(cell) is None


def test_limits_are_classed_where_certain_and_bound_the_shares_where_not(tmp_path: Path) -> None:
    # classes of calves: 25, 18 and 10 g/l (Lombard et al. 2020); "<10" is poor, "≤10" may be fair
    season = of(tmp_path, ["<8", "<10", "≤10", "<15", ">25", "≥25", ">12", "22", "9"])
    (found,) = colostrum.answer(season).transfer
    assert found.classed.samples["group"].value_counts().to_dict() == {
        "excellent": 2, "good": 1, "fair": 0, "poor": 3,
    }  # fmt: skip
    assert found.classed.samples["value"].dropna().tolist() == [22, 9]
    between = found.classed.between.set_index("newborn")[["best", "worst"]]
    assert between.to_dict("index") == {
        2: {"best": 2, "worst": 3},
        3: {"best": 2, "worst": 3},
        6: {"best": 0, "worst": 2},
    }
    ends = found.shares.set_index("group")[["least", "most"]]
    assert ends.loc["poor"].tolist() == pytest.approx(
        [3 / 9, 5 / 9]
    )  # of nine newborns, three poor and two perhaps
    assert ends.loc["excellent"].tolist() == pytest.approx([2 / 9, 3 / 9])
    assert dict(found.classed.left_out)["a limit that leaves its class open"] == 3


def test_the_page_says_what_limits_leave_open_and_calls_no_goal_reached_by_them(tmp_path: Path) -> None:
    result = colostrum.answer(of(tmp_path, ["<15"] * 6 + ["22"] * 60))
    said = {sentence.template: sentence.values for sentence in colostrum.sentences(result)}  # noqa: PD011 (values of a sentence)
    told = next(
        values for text, values in said.items() if text.startswith("A limit that leaves the class open")
    )
    assert (told["n"], told["least"].split()[0], told["most"].split()[0]) == ("6", "0.0", "9.1")
    assert any(text.startswith("Limits such as {example} are no values") for text in said)
    assert any(
        text.startswith("The goal") and "is reached" in text for text in said
    )  # 6 of 66 are under 10 %
    result = colostrum.answer(
        of(tmp_path, ["<15"] * 9 + ["22"] * 60)
    )  # 9 of 69 would be over the goal of 10 %
    texts = [sentence.template for sentence in colostrum.sentences(result)]
    assert any(text.startswith("Whether the goal") for text in texts)


def test_limits_are_written_as_they_stood_and_read_back(tmp_path: Path) -> None:
    season = of(tmp_path, ["<8", "22", ">1.5 g/dl"])
    write_tidy(season, tmp_path / "tidy")
    again = read_season(tmp_path / "tidy" / "samples.csv")
    assert as_told(again.samples["igg_g_per_l_limit"]) == ["<8", None, ">15"]
    assert again.samples["igg_g_per_l"].tolist()[1] == 22


def test_two_limits_are_no_row_written_twice(tmp_path: Path) -> None:
    rows = "1,A,2026-04-14 12:00,cattle,<8\n1,A,2026-04-14 12:00,cattle,>25\n"
    path = tmp_path / "samples.csv"
    path.write_text(f"newborn_id,dam_id,sampled_at,species,igg_g_per_l\n{rows}", encoding="utf-8")
    assert len(read_season(path).samples) == 2


def test_an_impossible_limit_is_told_and_not_used(tmp_path: Path) -> None:
    season = of(tmp_path, [">900", "22"])
    assert season.problems["ended"].tolist() == ["noted", "set to missing"]
    (found,) = colostrum.answer(season).transfer
    assert len(found.classed.samples) == 1


def test_a_sample_of_the_day_of_birth_is_surely_too_early(tmp_path: Path) -> None:
    rows = [
        "1,2026-04-13,2026-04-13",  # 0 to 24 h, never as old as 24
        "2,2026-04-13,2026-04-14",  # 0 to 48 h
        "3,2026-04-13,2026-04-15",  # 24 to 72 h
        "4,2026-04-13 10:00,2026-04-14 10:00",  # 24 h to the minute
    ]
    path = tmp_path / "samples.csv"
    text = "newborn_id,born_at,sampled_at,species,igg_g_per_l\n" + "".join(
        f"{row},cattle,22\n" for row in rows
    )
    path.write_text(text, encoding="utf-8")
    (found,) = colostrum.answer(read_season(path)).transfer
    assert dict(found.classed.left_out) | {"classed": len(found.classed.samples)} == {
        "drawn too early": 1,
        "drawn too late": 0,
        "age at sampling not known": 0,
        "perhaps drawn outside the window": 1,
        "a later sample of the same newborn": 0,
        "classed": 2,
    }
