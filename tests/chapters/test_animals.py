"""Lists of animals: every loss, repeat losers by name, a farm where none is one, sires, and what leaves them out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pandas as pd
import pytest

from neonatal_stats.chapters import animals, planning
from neonatal_stats.chapters.protocol import NotRecorded
from neonatal_stats.estimates import losses_per_dam
from neonatal_stats.report.folder import FIGURES, PARTS
from neonatal_stats.report.review import Review, build
from neonatal_stats.report.write import headline, write_review
from neonatal_stats.season.model import Season
from neonatal_stats.tables import printed
from neonatal_stats.words import Verdict
from tests.chapters.build import season

Rows = list[dict[str, Any]]
SEASONS = ("2023", "2024", "2025", "2026")
LOSERS = ("E007", "E031", "E102")


def farm(seed: int, losers: tuple[str, ...] = (), ewes: int = 140, bad: float = 0.8) -> Rows:
    """An invented flock of four seasons: litters of one to three, littermates that share their luck, one bad season.

    Every ewe loses one lamb in ten (triplets and 2024 twice as many), the losers ``bad`` of them.
    """
    draws = np.random.default_rng(seed)
    rows: Rows = []
    for year in SEASONS:
        for number in range(ewes):
            ewe, size = f"E{number:03d}", int(draws.choice([1, 2, 3], p=[0.35, 0.55, 0.10]))
            risk = bad if ewe in losers else 0.10 * (1 + (size == 3)) * (1 + (year == "2024"))
            luck = draws.beta(4 * risk, 4 * (1 - risk))
            rows += [_lamb(ewe, year, size, bool(draws.random() < luck)) for _ in range(size)]
    return rows


def _lamb(ewe: str, year: str, size: int, dead: bool) -> dict[str, Any]:
    fate = {"died": "yes", "died_after_h": 30} if dead else {"died": "no", "seen_after_h": 1100}
    shared = {"born_at": f"{year}-03-02 06:00", "season": year, "dam_id": ewe, "litter_size": size}
    return {**shared, "born_alive": "yes", **fate}


def told(result: animals.Animals) -> str:
    return " ".join(sentence.text for sentence in animals.sentences(result))


def test_three_planted_repeat_losers_are_named() -> None:
    result = animals.answer(season(farm(3, LOSERS)))
    assert set(result.dams.loc[result.dams["marked"], "dam_id"]) == set(LOSERS)
    named = next(one.text for one in animals.sentences(result) if one.text.startswith("Marked in the list"))
    assert all(ewe in named for ewe in LOSERS)
    first = printed(animals.tables(result)[1]).head(3)
    assert set(first["Ewe"]) == set(LOSERS)
    assert first["Marked"].tolist() == ["marked"] * 3


def test_losers_of_three_in_five_are_named_even_where_chance_brings_some_as_far() -> None:
    """Too few litters to mark all three beyond chance; they stand by name all the same."""
    result = animals.answer(season(farm(6, LOSERS, bad=0.6)))
    assert not result.dams.set_index("dam_id").loc[list(LOSERS), "marked"].all()
    named = next(one.text for one in animals.sentences(result) if "in two seasons or more" in one.text)
    assert all(ewe in named for ewe in LOSERS)


def test_in_farms_without_repeat_losers_no_more_lists_mark_a_dam_than_is_said() -> None:
    # 60 farms in which no ewe differs from another: at 1 in 10, more than 12 marked lists come in 1 of 100 runs
    # (scipy.stats.binom.sf(12, 60, 0.1) = 0.006)
    marked = 0
    for seed in range(60):
        frame = pd.DataFrame(farm(seed, ewes=60))
        litter = frame.groupby(["dam_id", "season"]).ngroup()
        kind = frame.groupby(["season", "litter_size"]).ngroup()
        dead, ewe = (frame["died"] == "yes").astype(int), pd.factorize(frame["dam_id"])[0]
        marked += bool((losses_per_dam(dead, ewe, litter, kind).q <= 0.10).any())
    assert 1 <= marked <= 12


def test_a_farm_without_repeat_losers_says_that_luck_makes_some_look_bad() -> None:
    result = animals.answer(season(farm(11)))
    assert not result.dams["marked"].any()
    assert "No ewe is marked, 2023 to 2026" in told(result)
    assert "Marked" not in printed(animals.tables(result)[1])


def test_those_that_lost_again_are_the_dams_that_the_next_season_speaks_of() -> None:
    of = season(farm(3, LOSERS))
    result, found = animals.answer(of), planning.answer(of).repeat
    assert int(result.dams["again"].sum()) == found.observed
    assert int((result.dams["seasons"] > 1).sum()) == found.dams
    for verdict in (Verdict.CLEAR, Verdict.LEANING, Verdict.NO_CLEAR):
        said = planning.sentences(planning.answer(of), {"planning/losing again": verdict})
        (again,) = (one for one in said if one.claim == "planning/losing again")
        assert again.see == "animals"


def few() -> Rows:
    """Worked by hand: A lost both twins in 2025 and one of two in 2026, B nothing, C a single in 2026."""
    rows = [
        {**_lamb("A", "2025", 2, True), "delivery": "unassisted", "mothered_up": "no"},
        {**_lamb("A", "2025", 2, True), "delivery": "hard assist", "mothered_up": "yes"},
        {**_lamb("B", "2025", 2, False), "delivery": "unassisted", "mothered_up": "not judged"},
        {**_lamb("B", "2025", 2, False), "delivery": "unassisted", "mothered_up": "not judged"},
        {**_lamb("A", "2026", 2, False), "delivery": "unassisted", "mothered_up": "yes"},
        {**_lamb("A", "2026", 2, True), "cause": "infection", "cause_basis": "post-mortem", "group": "Barn"},
        {**_lamb("B", "2026", 2, False), "delivery": "easy assist"},
        {**_lamb("B", "2026", 2, False), "delivery": "unassisted"},
        {**_lamb("C", "2026", 1, True), "born_alive": "no", "died_after_h": None, "birth_place": "outdoors"},
    ]
    return [{**row, "newborn_id": f"L{place}"} for place, row in enumerate(rows, start=1)]


def test_a_dams_history_by_hand() -> None:
    dams = animals.answer(season(few())).dams.set_index("dam_id")
    assert dams.loc["A", ["litters", "born", "lost", "reared", "seasons_lost"]].tolist() == [2, 4, 3, 1, 2]
    # of two litters of twins in each season one lost two, one of them one: 2 x 1/2 + 1 x 1/2 expected of each ewe
    assert dams.loc["A", "expected"] == pytest.approx(1.5)
    assert dams.loc["A", "p"] == pytest.approx(0.25)
    assert dams.loc["B", "expected"] == pytest.approx(1.5)
    assert dams.loc["B", "p"] == pytest.approx(1.0)
    assert dams.loc["A", "such"] == pytest.approx(0.5)  # A or B, each with chance 1/4
    assert dams.loc["A", ["judged", "rejected", "deliveries", "assisted"]].tolist() == [3, 1, 2, 1]
    assert dams.loc["B", ["judged", "rejected", "deliveries", "assisted"]].tolist() == [0, 0, 2, 1]
    table = printed(animals.tables(animals.answer(season(few())))[1]).set_index("Ewe")
    assert table.loc["A", "Not accepted"] == "1/3"
    assert table.loc["B", "Not accepted"] == "–"


def test_a_line_a_loss_of_the_season_under_review_with_boxes_that_stay_empty() -> None:
    table = animals.tables(animals.answer(season(few())))[0]
    shown = printed(table)
    assert shown["Lamb"].tolist() == ["L6", "L9"]
    assert shown["Ewe"].tolist() == ["A", "C"]
    assert shown["Place"].tolist() == ["Barn", "outdoors"]
    assert shown["Age at loss"].tolist() == ["30\u00a0h", "born dead"]
    assert shown["Cause"].tolist() == ["infection", "stillbirth"]
    assert shown["Basis"].tolist() == ["post-mortem", "–"]
    boxes = "\u2610\u00a0yes  \u2610\u00a0maybe  \u2610\u00a0no"
    assert shown["Could it have been prevented?"].tolist() == [boxes, boxes]
    assert table.raw()["preventable"].tolist() == ["", ""]
    assert table.raw()["age_h"].tolist() == [30, 0]
    assert "2 of 5 lambs born in 2026 were lost" in told(animals.answer(season(few())))


def test_sires_are_drawn_in_and_those_with_too_few_say_so() -> None:
    rows = [
        {**_lamb(f"{sire}{place}", "2026", 1, place < lost), "sire_id": sire, "birth_weight_kg": kg}
        for sire, lost, n, kg in (("S1", 2, 40, 4.0), ("S2", 12, 40, 5.0), ("S3", 4, 4, 3.0))
        for place in range(n)
    ]
    result = animals.answer(season(rows))
    sires = result.sires.set_index("sire_id")
    assert sires.index.tolist() == ["S1", "S2", "S3"]
    assert sires.loc["S1", "share"] == pytest.approx(0.05)
    assert sires.loc["S2", "share"] == pytest.approx(0.30)
    assert sires.loc["S2", "shrunken"] - sires.loc["S1", "shrunken"] < 0.30 - 0.05
    assert sires.loc["S1", "shrunken"] > 0.05
    assert sires.loc["S2", "weight_kg"] == pytest.approx(5.0)
    assert bool(sires.loc["S3", "few"])
    assert sires.loc["S3", ["share", "shrunken", "low", "weight_kg"]].isna().all()
    shown = printed(next(table for table in animals.tables(result) if table.name == "animals-sires"))
    assert shown.set_index("Sire").loc["S3", "Share, drawn in"] == "too few"
    assert "Sires with enough lambs to say, 2026: 2." in told(result)
    assert "Too few to say of 1 more." in told(result)


def test_identities_that_nobody_wrote_take_one_line() -> None:
    rows = [{key: value for key, value in row.items() if key != "dam_id"} for row in few()]
    result = animals.answer(season([{**row, "litter_id": "1"} for row in rows]))
    assert [table.name for table in animals.tables(result)] == ["animals-losses"]
    (line,) = (one.text for one in animals.sentences(result) if "Not written down" in one.text)
    assert line == "Not written down in 2025 and 2026, so not in the lists: dam id, sire id."


def test_without_a_loss_the_list_is_empty_and_no_dam_is_spoken_of() -> None:
    result = animals.answer(season([_lamb(f"E{n}", "2026", 1, False) for n in range(30)]))
    assert told(result).startswith("No lamb of the 30 born in 2026 was lost")
    assert [table.name for table in animals.tables(result)] == ["animals-dams"]
    assert "marked" not in told(result)


def test_of_several_farms_only_the_readers_own_is_listed() -> None:
    rows = [{**row, "farm": place} for place in ("Fell", "Crag") for row in few()]
    with pytest.raises(NotRecorded, match="several farms, which are shown as letters"):
        animals.answer(season(rows))
    result = animals.answer(season(rows, own_farm="Fell"))
    assert len(result.losses) == 2
    assert (result.counted.n, result.counted.left_out) == (9, (("of other farms", 9),))


def test_another_season_under_review_lists_its_own_losses() -> None:
    review = build(season(few()), focus="2025", made_on=date(2026, 6, 1), parts=("tables",))
    tables = {table.name: table for table in review.tables}
    assert tables["animals-losses"].raw()["newborn_id"].tolist() == ["L1", "L2"]
    assert len(tables["animals-dams"].frame) == 3


@pytest.fixture(scope="module")
def listed() -> Season:
    return season(farm(3, LOSERS))


def write(made: Season, out: Path) -> tuple[Review, Path]:
    """The review of a season and its folder, without the loose pictures."""
    review = build(made, made_on=date(2026, 6, 1))
    write_review(review, out, parts=set(PARTS) - {FIGURES})
    return review, out


@pytest.fixture(scope="module")
def written(listed: Season, tmp_path_factory: pytest.TempPathFactory) -> tuple[Review, Path]:
    return write(listed, tmp_path_factory.mktemp("listed") / "out")


@pytest.mark.slow
def test_one_setting_leaves_the_lists_out_everywhere(
    listed: Season, written: tuple[Review, Path], tmp_path: Path
) -> None:
    without = replace(listed, settings=replace(listed.settings, animal_lists=False))
    with pytest.raises(NotRecorded, match="animal_lists is false"):
        animals.answer(without)
    found = {}
    for name, (review, out) in (("with", written), ("without", write(without, tmp_path / "out"))):
        book = openpyxl.load_workbook(out / "review.xlsx")
        page = (out / "review.html").read_text(encoding="utf-8")
        found[name] = {
            "page": "E031" in page,
            "link": 'href="#animals"' in page,
            "sheets": [one for one in book.sheetnames if one.startswith("animals")],
            "files": sorted(path.stem for path in (out / "tables").glob("animals*")),
            "headline": headline(review)["chapters"].get("animals"),
        }
    lists = ["animals-losses", "animals-dams"]
    assert found["with"] == {
        "page": True, "link": True, "sheets": lists, "files": sorted(lists), "headline": "answered"
    }  # fmt: skip
    assert found["without"] == {"page": False, "link": False, "sheets": [], "files": [], "headline": None}


@pytest.mark.slow
def test_a_long_list_stands_in_part_on_the_page_and_whole_in_the_workbook(
    written: tuple[Review, Path],
) -> None:
    _, out = written
    page = (out / "review.html").read_text(encoding="utf-8")
    dams = page[page.index('id="table-animals-dams"') :]
    dams = dams[: dams.index("</figure>")]
    assert dams.count("<tr>") <= 1 + animals.LONG_FOLD
    assert "of 140 rows; all of them are on the sheet animals-dams of the workbook and in" in dams
    sheet = openpyxl.load_workbook(out / "review.xlsx")["animals-dams"]
    (table,) = sheet.tables.values()
    _, top, _, bottom = openpyxl.utils.range_boundaries(table.ref)
    assert bottom - top == 140
    keep = next(cell for cell in sheet[top] if cell.value == "Keep or cull")
    (choices,) = sheet.data_validations.dataValidation
    assert choices.formula1 == '"keep,cull"'
    assert all(sheet.cell(row, keep.column).value is None for row in range(top + 1, bottom + 1))
