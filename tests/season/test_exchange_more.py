"""Exchange messages as they come: in pages, in folders, with slips in identities, statuses and counts."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from neonatal_stats.season.exchange.births import forms
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.model import Season
from neonatal_stats.season.read import read_season
from tests.season.exchange_messages import (
    DEATH,
    SINGLE,
    TWINS,
    animal,
    collection,
    event,
    newborn,
    parturition,
)

pytestmark = pytest.mark.quickly(3)

Body = dict[str, Any]
AT, LATER = "2026-04-03T05:30:00Z", "2026-04-06T08:00:00Z"
FLOCK = [
    parturition(
        f"E{dam:02d}", AT, *(newborn(f"{100 * dam + n:05d}") for n in (1, 2)), totalProgeny=2, liveProgeny=2
    )
    for dam in range(1, 7)
]


def wrote(path: Path, content: object) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(content), encoding="utf-8")
    return path


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., Season]:
    def write_and_read(*contents: object) -> Season:
        for number, content in enumerate(contents):
            wrote(tmp_path / f"m-{number}.json", content)
        return read_season(tmp_path)

    return write_and_read


def dead(season: Season) -> set[str]:
    return set(season.births.loc[season.births["died"].astype(bool), "newborn_id"].astype(str))


def said(season: Season, ended: str) -> list[str]:
    return season.problems.loc[season.problems["ended"] == ended, "problem"].astype(str).tolist()


def death(name: str, **more: Any) -> Body:
    return event("MovementDeath", name, LATER, **more)


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    "sent",
    ["101", "UK00101", "uk-00101", "uk 00101", "00101.0", "0000101"],
    ids=lambda name: name.replace(" ", "_"),
)
def test_a_death_whose_identity_differs_by_zeros_prefix_or_signs_is_a_death_and_asked_about(
    read: Callable[..., Season], sent: str
) -> None:
    season = read([*FLOCK, death(sent)])
    assert dead(season) == {"00101"}
    assert any(f"this message is for {sent}; it was taken for 00101" in one for one in said(season, "asked"))
    assert season.unmatched_deaths == 0
    assert not season.all_well


@pytest.mark.quickly(4)
@pytest.mark.parametrize("sent", ["9", "00901", "XX77123", "", "10"])
def test_a_death_of_nobody_known_is_counted_and_named(read: Callable[..., Season], sent: str) -> None:
    season = read([*FLOCK, death(sent)], [death("00102")])
    assert dead(season) == {"00102"}
    assert season.unmatched_deaths == 1
    assert any(
        "1 death messages name animals that are not among the newborns" in one
        for one in said(season, "asked")
    )
    assert any("death messages" in one for one in season.outcome_remarks)


def test_a_death_that_two_newborns_may_be_is_put_to_neither(read: Callable[..., Season]) -> None:
    both = [parturition("E1", AT, newborn("A012")), parturition("E2", AT, newborn("B12"))]
    season = read([*both, death("0012")])
    assert (dead(season), season.unmatched_deaths) == (set(), 1)


def test_a_dam_that_died_is_no_newborn_that_died(read: Callable[..., Season]) -> None:
    season = read([*FLOCK, parturition("00201", AT, newborn("00201x")), death("E01")])
    assert (dead(season), season.unmatched_deaths) == (set(), 0)


def test_a_death_before_the_birth_is_not_taken_for_a_newborn_whose_tag_is_like_it(
    read: Callable[..., Season],
) -> None:
    season = read([*FLOCK, event("MovementDeath", "101", "2026-03-01T08:00:00Z")])
    assert (dead(season), season.unmatched_deaths) == (set(), 1)


def group(count: int | None, *names: str, **more: Any) -> Body:
    held = {"embeddedAnimalSet": {"member": [animal(name) for name in names]}} if names else {}
    counted = {} if count is None else {"countObserved": count}
    return (
        {"resourceType": "icarGroupMovementDeathEventResource", "eventDateTime": LATER}
        | counted
        | held
        | more
    )


@pytest.mark.quickly(4)
@pytest.mark.parametrize(
    ("message", "lost", "unmatched"),
    [
        (group(3), set(), 3),
        (group(None, inventoryClassification={"count": 4, "species": "Sheep"}), set(), 4),
        (group(2, "00101", "00202"), {"00101", "00202"}, 0),
        (group(3, "00101"), {"00101"}, 2),
        (group(1, "99999"), set(), 1),
    ],
    ids=["counted", "in its classification", "named", "one named of three", "nobody's"],
)
def test_deaths_of_a_group_are_put_to_those_it_names_and_the_others_counted(
    read: Callable[..., Season], message: Body, lost: set[str], unmatched: int
) -> None:
    season = read([*FLOCK, message])
    assert (dead(season), season.unmatched_deaths) == (lost, unmatched)
    assert bool(said(season, "asked")) == (unmatched > 0)


def test_births_of_a_group_are_named(read: Callable[..., Season]) -> None:
    born = {"resourceType": "icarGroupMovementBirthEventResource", "countObserved": 5, "eventDateTime": AT}
    assert any("births of groups" in one for one in said(read([*FLOCK, DEATH, born]), "asked"))


@pytest.mark.parametrize("kind", ["icarAnimalCoreResource", None])
def test_an_animals_own_status_tells_its_death(read: Callable[..., Season], kind: str | None) -> None:
    own = {
        "identifier": animal("00101"),
        "birthDate": AT,
        "specie": "Sheep",
        "gender": "Female",
        "status": "Dead",
    }
    season = read([*FLOCK, own | ({"resourceType": kind} if kind else {})])
    assert dead(season) == {"00101"}


@pytest.mark.quickly(4)
@pytest.mark.parametrize("word", ["DeadInPen", "Stillbirth", "died at 3 h", "Perished"])
def test_a_status_of_birth_that_speaks_of_death_is_a_death(read: Callable[..., Season], word: str) -> None:
    season = read([*FLOCK, parturition("E9", AT, newborn("00901", word)), DEATH])
    assert "00901" in dead(season)


@pytest.mark.quickly(4)
@pytest.mark.parametrize("word", ["Weak", "Unknown", "7", ""])
def test_a_status_of_birth_that_nobody_knows_is_no_life(read: Callable[..., Season], word: str) -> None:
    season = read([*FLOCK, parturition("E9", AT, newborn("00901", word)), death("00101")])
    assert "00901" not in set(season.births["newborn_id"].astype(str))
    assert not season.all_well


def test_newborns_without_a_status_live_or_are_born_dead_as_the_count_says(
    read: Callable[..., Season],
) -> None:
    def bare(name: str) -> Body:
        return {key: value for key, value in newborn(name).items() if key != "birthStatus"}

    all_live = parturition("E8", AT, bare("00801"), bare("00802"), totalProgeny=2, liveProgeny=2)
    none_live = parturition("E9", AT, bare("00901"), totalProgeny=1, liveProgeny=0)
    season = read([*FLOCK, all_live, none_live])
    assert dead(season) == {"00901"}
    assert {"00801", "00802"} <= set(season.births["newborn_id"])


@pytest.mark.quickly(4)
@pytest.mark.parametrize(("total", "live"), [(20, 2), (12, 1), (7, 2), (400, 2), (1, 2)])
def test_a_mistyped_total_makes_no_stillbirths(read: Callable[..., Season], total: int, live: int) -> None:
    season = read([*FLOCK, parturition("E9", AT, totalProgeny=total, liveProgeny=live)])
    mine = season.births[season.births["dam_id"] == "E9"]
    assert (len(mine), int(mine["died"].sum())) == (live, 0)
    assert any("taken for a slip" in one or "more alive than born" in one for one in said(season, "asked"))


@pytest.mark.quickly(4)
@pytest.mark.parametrize(("total", "live"), [(3, 2), (2, 0), (4, 2), (1, 1)])
def test_a_total_that_a_litter_may_have_makes_its_stillbirths(
    read: Callable[..., Season], total: int, live: int
) -> None:
    season = read([*FLOCK, parturition("E9", AT, totalProgeny=total, liveProgeny=live)])
    mine = season.births[season.births["dam_id"] == "E9"]
    assert (len(mine), int(mine["died"].sum())) == (total, total - live)


def test_a_mistyped_total_beside_newborns_listed_changes_no_litter(read: Callable[..., Season]) -> None:
    season = read([*FLOCK, parturition("E9", AT, newborn("00901"), newborn("00902"), totalProgeny=22)])
    mine = season.births[season.births["dam_id"] == "E9"]
    assert mine["litter_size"].tolist() == [2, 2]
    assert any("the count differs from the 2 newborns listed" in one for one in said(season, "asked"))


def paged(messages: list[Body], number: int, pages: int, size: int, items: int | None) -> Body:
    view: Body = {"currentPage": number, "totalPages": pages, "pageSize": size}
    return {
        "view": view | ({} if items is None else {"totalItems": items}),
        "member": messages[(number - 1) * size : number * size],
    }


@pytest.mark.quickly(4)
@pytest.mark.parametrize("items", [8, None])
@pytest.mark.parametrize("given", [(1, 2, 3), (3, 1, 2)])
def test_all_pages_of_a_collection_are_read(
    read: Callable[..., Season], given: tuple[int, ...], items: int
) -> None:
    messages = [*FLOCK, death("00101"), death("00202")]
    season = read(*(paged(messages, number, 3, 3, items) for number in given))
    assert (len(season.births), dead(season)) == (12, {"00101", "00202"})
    assert [source.unaccounted for source in season.sources] == [0, 0, 0]


@pytest.mark.parametrize("items", [8, None])
@pytest.mark.parametrize("given", [(1,), (1, 2), (2, 3), (1, 3)])
def test_a_collection_of_which_pages_are_missing_is_asked_for_whole(
    read: Callable[..., Season], given: tuple[int, ...], items: int | None
) -> None:
    messages = [*FLOCK, death("00101"), death("00202")]
    with pytest.raises(CannotRead) as raised:
        read(*(paged(messages, number, 3, 3, items) for number in given))
    assert str(raised.value).endswith("fetch the other pages too and give all their files together.")


def test_a_next_page_that_is_named_alone_is_asked_for(read: Callable[..., Season]) -> None:
    with pytest.raises(CannotRead) as raised:
        read({"view": {"next": "https://farm.invalid/2"}, "member": FLOCK})
    assert str(raised.value) == (
        "m-0.json: a next page is named in it; fetch the other pages too and give all their files together."
    )


def test_two_collections_of_one_length_are_both_whole(read: Callable[..., Season]) -> None:
    season = read(collection(*FLOCK[:2]), collection(death("00101"), death("00201")))
    assert dead(season) == {"00101", "00201"}


def test_remarks_are_carried_whatever_file_they_are_of(read: Callable[..., Season]) -> None:
    """The second file holds no birth, so that no row of the review comes from it."""
    season = read(
        collection(*FLOCK), [death("00101"), death("77"), {"resourceType": "icarBlessingEventResource"}]
    )
    of_second = season.problems[season.problems["file"] == "m-1.json"]
    assert any("death messages name" in one for one in of_second["problem"])
    assert "IcarBlessing".casefold() in " ".join(of_second["problem"]).casefold()
    assert [(s.file, s.lines, s.records, s.left_out) for s in season.sources] == [
        ("m-0.json", 6, 6, 0),
        ("m-1.json", 3, 1, 2),
    ]


def test_files_of_one_name_in_two_folders_are_two(tmp_path: Path) -> None:
    births = wrote(tmp_path / "births" / "export.json", collection(*FLOCK))
    deaths = wrote(tmp_path / "deaths" / "export.json", collection(death("00101")))
    season = read_season([births, deaths])
    assert (len(season.births), dead(season)) == (12, {"00101"})
    assert sorted(source.file for source in season.sources) == ["births/export.json", "deaths/export.json"]


def test_one_export_in_two_folders_is_read_once(tmp_path: Path) -> None:
    paths = [wrote(tmp_path / day / "export.json", collection(*FLOCK, DEATH)) for day in ("mon", "tue")]
    season = read_season(paths)
    assert len(season.births) == 12
    assert any("byte for byte" in one for one in said(season, "noted"))


def test_what_has_no_column_is_named_once_a_kind_with_its_count(read: Callable[..., Season]) -> None:
    others = [
        *(event("Treatment", f"0010{n}", LATER, procedure="navel dipped") for n in (1, 2)),
        *(event("Diagnosis", f"0010{n}", LATER, diagnoses=[{"name": "joint ill"}]) for n in (1, 2)),
        *(event("FeedIntake", f"0010{n}", LATER, consumedFeed=[]) for n in (1, 2)),
        death("00201", deathReason="Other", explanation="dog in the field", remark="seen by the driver"),
    ]
    foster = event(
        "MovementBirth",
        "00102",
        LATER,
        registrationReason="Registered",
        animalDetail=newborn("00102")
        | {"parentage": [{"gender": "Female", "relation": "Adoptive", "identifier": animal("E05")}]},
    )
    season = read([*FLOCK, *others, foster])
    noted = " | ".join(said(season, "noted"))
    for what in (
        "2 treatments were read",
        "2 diagnoses were read",
        "2 feed intakes were read",
        "1 messages hold an explanation of the death in words",
        "1 messages hold a remark",
        "the foster dams of 1 newborns are named",
    ):
        assert noted.count(what) == 1, what


def test_an_explanation_alone_is_the_cause_as_the_farm_wrote_it(
    read: Callable[..., Season], tmp_path: Path
) -> None:
    path = wrote(tmp_path / "x" / "m.json", [*FLOCK, death("00101", explanation="fox")])
    said_in_map = tmp_path / "map.toml"
    said_in_map.write_text('[words.cause]\nfox = "predation"\n', encoding="utf-8")
    births = read_season(path, map=said_in_map).births
    assert births.loc[births["died"].astype(bool), "cause"].astype(str).tolist() == ["predation"]


def test_births_without_any_word_of_a_death_are_asked_about(read: Callable[..., Season]) -> None:
    season = read(collection(TWINS, SINGLE))
    assert any("there is no death message" in one for one in said(season, "asked"))
    assert not season.all_well


def test_identities_are_likened_by_signs_zeros_and_letters_before_the_number() -> None:
    assert forms("UK 00-12.0") == ("uk0012", "uk0012", "12")
    assert forms("0012") == ("0012", "12", "12")
