"""Weights, proteins and ages in the units of their heading or their cells, and the question where neither says."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season

pytestmark = pytest.mark.quickly(3)

LAMBS_KG = (4.2, 3.9, 4.6, 5.0, 3.6, 4.4, 4.1, 3.8, 4.9, 4.3)
CALVES_KG = (38.0, 41.5, 44.0, 36.5, 40.0, 42.0, 39.0, 45.0, 37.0, 43.0)
LB = 0.45359237  # the international pound, exactly: 1959 agreement of six countries


def read(folder: Path, heading: str, cells: list[object], species: str = "", map_text: str = "") -> Season:
    path = folder / "book.csv"
    rows = [f'A{n},2026-04-{n % 28 + 1:02d},no,{species},"{cell}"' for n, cell in enumerate(cells)]
    path.write_text("\n".join([f"dam_id,born_at,died,species,{heading}", *rows]) + "\n", encoding="utf-8")
    if map_text:
        (folder / "map.toml").write_text(map_text, encoding="utf-8")
    return read_season(path, map=folder / "map.toml" if map_text else None)


def pounds(kg: float) -> float:
    return round(kg / LB, 2)


@pytest.mark.quickly(4)
@pytest.mark.parametrize("species", ["sheep", ""])
@pytest.mark.parametrize(
    ("heading", "times"),
    [
        ("birth weight (lb)", 1 / LB),
        ("Birth wt lbs", 1 / LB),
        ("birth weight g", 1000.0),
        ("Geburtsgewicht (Gramm)", 1000.0),
        ("Weight at birth in oz", 16 / LB),
        ("Poids de naissance [kg]", 1.0),
    ],
)
def test_the_unit_in_the_heading_is_heeded(heading: str, times: float, species: str, tmp_path: Path) -> None:
    season = read(tmp_path, heading, [round(kg * times, 3) for kg in LAMBS_KG], species)
    assert np.allclose(sorted(season.births["birth_weight_kg"]), sorted(LAMBS_KG), atol=0.001)


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    ("cell", "kg"),
    [
        ("9 lb 4 oz", 9.25 * LB),
        ("9lb 4oz", 9.25 * LB),
        ("9 lbs, 4.5 ounces", (9 + 4.5 / 16) * LB),
        ("4 kg 200 g", 4.2),
        ("9.5 lb", 9.5 * LB),
        ("4200 g", 4.2),
        ("4,2 kg", 4.2),
        ("148 oz", 148 / 16 * LB),
    ],
)
def test_the_unit_in_the_cell_is_heeded(cell: str, kg: float, tmp_path: Path) -> None:
    season = read(tmp_path, "birth weight", [cell], "sheep")
    assert season.births["birth_weight_kg"].tolist() == [pytest.approx(kg, abs=1e-9)]


@pytest.mark.parametrize("species", ["sheep", ""])
@pytest.mark.parametrize("unit", ["lb", "g", "oz"])
def test_lambs_in_another_unit_are_asked_about_with_a_species_or_without(
    unit: str, species: str, tmp_path: Path
) -> None:
    times = {"lb": 1 / LB, "g": 1000.0, "oz": 16 / LB}[unit]
    with pytest.raises(CannotRead, match=rf"all of the column seems to be in {unit} and not in kg"):
        read(tmp_path, "birth weight", [round(kg * times, 2) for kg in LAMBS_KG], species)


@pytest.mark.parametrize("species", ["cattle", ""])
def test_calves_in_pounds_are_asked_about(species: str, tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="seems to be in lb and not in kg"):
        read(tmp_path, "birth weight", [pounds(kg) for kg in CALVES_KG], species)


def test_a_species_that_is_not_understood_is_said_before_any_unit(tmp_path: Path) -> None:
    """Newborns of 4 to 10 kg are too heavy for lambs and too light for calves, and right for an animal not listed."""
    weights = [4 + one / 5 for one in range(30)]
    with pytest.raises(CannotRead) as told:
        read(tmp_path, "birth weight", weights, "alpaka")
    assert "column species: what is written there is none of sheep, goat" in str(told.value)
    assert "[words.species]" in str(told.value)
    assert 'birth_weight_kg = "lb" or "kg"' in str(told.value)
    assert len(read(tmp_path, "birth weight", LAMBS_KG, "alpaka").births) == len(LAMBS_KG)


@pytest.mark.parametrize(
    ("weights", "species"), [(LAMBS_KG, "sheep"), (LAMBS_KG, ""), (CALVES_KG, "cattle"), (CALVES_KG, "")]
)
def test_kilograms_are_not_asked_about(weights: tuple[float, ...], species: str, tmp_path: Path) -> None:
    season = read(tmp_path, "birth weight", list(weights), species)
    assert sorted(season.births["birth_weight_kg"]) == sorted(weights)


@pytest.mark.parametrize("species", ["sheep", ""])
def test_a_lamb_of_45_kg_is_never_accepted_in_silence(species: str, tmp_path: Path) -> None:
    season = read(tmp_path, "birth weight", [*LAMBS_KG, 45], species)
    assert season.births["birth_weight_kg"].max() == 5.0
    said = season.problems[season.problems["column"] == "birth_weight_kg"]
    assert said["value"].tolist() == ["45"]
    assert said["ended"].tolist() == ["set to missing"]


def test_the_map_ends_the_question(tmp_path: Path) -> None:
    season = read(
        tmp_path, "birth weight", [pounds(kg) for kg in LAMBS_KG], "", '[units]\nbirth_weight_kg = "lb"\n'
    )
    assert np.allclose(sorted(season.births["birth_weight_kg"]), sorted(LAMBS_KG), atol=0.005)


def test_a_unit_in_a_heading_of_the_map_is_heeded(tmp_path: Path) -> None:
    season = read(
        tmp_path,
        "Scale (g)",
        [kg * 1000 for kg in LAMBS_KG],
        "",
        '[columns]\n"Scale (g)" = "birth_weight_kg"\n',
    )
    assert sorted(season.births["birth_weight_kg"]) == pytest.approx(sorted(LAMBS_KG))


@pytest.mark.parametrize(
    ("heading", "cell", "g_per_dl"),
    [("Total protein (g/l)", 56, 5.6), ("TP (g/dl)", 5.6, 5.6), ("Serum protein g/l", 61, 6.1)],
)
def test_total_protein_has_the_unit_of_its_heading(
    heading: str, cell: float, g_per_dl: float, tmp_path: Path
) -> None:
    births, samples = tmp_path / "births.csv", tmp_path / "samples.csv"
    births.write_text("newborn_id,dam_id,born_at,died\n1,A,2026-04-01 05:00,no\n", encoding="utf-8")
    samples.write_text(f"Lamb tag,Date sampled,{heading}\n1,2026-04-02 05:00,{cell}\n", encoding="utf-8")
    season = read_season([births, samples])
    assert season.samples["total_protein_g_per_dl"].tolist() == [pytest.approx(g_per_dl)]


AGED = [
    ("age_at_death_h", "30", 30.0, "hour"),
    ("age_at_death_d", "3", 72.0, "day"),
    ("Age at death (h)", "30.5", 30.0, "hour"),
    ("Age died (d)", "2", 48.0, "day"),
    ("age at death (weeks)", "2", 336.0, "day"),
    ("Alter bei Tod (Stunden)", "12", 12.0, "hour"),
    ("Âge à la mort (jours)", "4", 96.0, "day"),
    ("Hours lived", "7", 7.0, "hour"),
    ("Days lived", "7", 168.0, "day"),
    ("Age at death", "12 h", 12.0, "hour"),
    ("Age at death", "3 d", 72.0, "day"),
    ("Age at death", "2 wks", 336.0, "day"),
    ("Alder ved død", "3 dage", 72.0, "day"),
    ("Edad al morir", "5 horas", 5.0, "hour"),
]


@pytest.mark.quickly(4)
@pytest.mark.parametrize("born", ["2026-04-01 05:40", "2026-04-01"])
@pytest.mark.parametrize(("heading", "cell", "hours", "precision"), AGED)
def test_an_age_at_death_is_a_death_at_that_age(
    heading: str, cell: str, hours: float, precision: str, born: str, tmp_path: Path
) -> None:
    path = tmp_path / "book.csv"
    path.write_text(f"Ewe,DOB,{heading}\nA,{born},\nB,{born},{cell}\nC,{born},\n", encoding="utf-8")
    births = read_season(path).births
    dead = births[births["dam_id"] == "B"].iloc[0]
    assert births["died"].tolist() == [False, True, False]
    assert (dead["age_h"], dead["age_precision"], bool(dead["age_known"])) == (hours, precision, True)


def test_a_bare_age_without_a_unit_is_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "book.csv"
    path.write_text("Ewe,DOB,Age at death\nA,2026-04-01,\nB,2026-04-01,3\n", encoding="utf-8")
    with pytest.raises(CannotRead, match="the ages at death, such as 3, name no unit"):
        read_season(path)


def test_an_age_at_death_that_cannot_be_read_is_a_death(tmp_path: Path) -> None:
    path = tmp_path / "book.csv"
    path.write_text(
        "Ewe,DOB,Age at death (d)\nA,2026-04-01,\nB,2026-04-01,young\nC,2026-04-02,2\n", encoding="utf-8"
    )
    births = read_season(path).births
    assert births["died"].tolist() == [False, True, True]
    assert births["age_known"].tolist() == [True, False, True]


def test_said_to_live_with_an_age_at_death_is_nobodys_guess(tmp_path: Path) -> None:
    path = tmp_path / "book.csv"
    path.write_text(
        "Ewe,DOB,died,age_at_death_d\nA,2026-04-01,no,\nB,2026-04-01,no,3\nC,2026-04-01,yes,2\n",
        encoding="utf-8",
    )
    season = read_season(path)
    assert season.births["dam_id"].tolist() == ["A", "C"]
    assert "it is said not to have died, and yet an age at death is given" in set(season.problems["problem"])


def test_zeros_for_the_living_are_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "book.csv"
    path.write_text("Ewe,DOB,age_at_death_d\nA,2026-04-01,0\nB,2026-04-01,3\n", encoding="utf-8")
    with pytest.raises(CannotRead, match="every row has an age at death, some of them 0"):
        read_season(path)


def test_a_time_of_death_goes_before_an_age(tmp_path: Path) -> None:
    path = tmp_path / "book.csv"
    path.write_text(
        "dam_id,born_at,died_at,age_at_death_h\nA,2026-04-01 05:00,2026-04-02 06:00,99\nB,2026-04-01 05:00,,\n",
        encoding="utf-8",
    )
    assert read_season(path).births["age_h"].tolist() == [25.0, 1008.0]
