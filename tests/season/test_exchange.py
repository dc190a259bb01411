"""Messages of the exchange standard become newborns and their fate, and nothing is lost in silence."""

import json

import pytest

from neonatal_stats.season.exchange.messages_read import exchanged
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.season.grid import File
from tests.season.exchange_messages import (
    DEATH,
    SINGLE,
    SOLD,
    TWINS,
    animal,
    collection,
    event,
    newborn,
    parturition,
)


@pytest.fixture
def read(tmp_path):
    def write_and_read(*contents, time_zone="Europe/London", name="messages"):
        for number, content in enumerate(contents):
            (tmp_path / f"{name}-{number}.json").write_text(json.dumps(content), encoding="utf-8")
        return told_in(sorted(tmp_path.glob("*.json")), time_zone)

    return write_and_read


def told_in(paths, time_zone=""):
    found = exchanged([(File(path, path.name), path.read_bytes()) for path in paths], time_zone)
    return {"births": found.births, "problems": found.problems}


def said(found):
    return set(found["problems"]["problem"])


@pytest.mark.parametrize(
    "contents",
    [
        [collection(TWINS, SINGLE, DEATH, SOLD)],
        [[TWINS, SINGLE, DEATH, SOLD]],
        [TWINS, SINGLE, DEATH, SOLD],
        [DEATH, [SOLD, SINGLE], collection(TWINS)],
        [{"parturitions": [TWINS, SINGLE], "deaths": collection(DEATH), "departures": [SOLD]}],
    ],
    ids=["a collection", "a bare array", "single objects", "deaths before births", "named lists"],
)
def test_every_envelope_gives_the_same_three_newborns(read, contents):
    births = read(*contents)["births"].set_index(["dam_id", "sex"]).sort_index()
    assert list(births.index) == [("000123", "female"), ("000123", "male"), ("000124", "male")]
    first, dead, single = births.to_dict("records")
    assert (first["newborn_id"], first["born_at"], first["birth_weight_kg"]) == (
        "0001",
        "2026-04-03 06:30:00",
        4.2,
    )
    assert (first["delivery"], first["dam_parity"], first["litter_size"]) == ("hard assist", 3, 2)
    assert (first["left_at"], first["left_reason"], first["died"]) == ("2026-05-01 11:00:00", "sold", "no")
    assert (dead["newborn_id"], dead["born_alive"], dead["died"], dead["cause"]) == (
        None,
        "no",
        "yes",
        "stillbirth",
    )
    assert (single["born_at"], single["died_at"]) == ("2026-04-03 23:40:00", "2026-04-05 09:00:00")
    assert (single["cause"], single["farm"], single["species"]) == ("accident", "holding-1", "sheep")


def test_the_order_of_files_and_messages_changes_no_newborn(read, tmp_path):
    one = read([TWINS, SINGLE, DEATH])["births"]
    other = read([DEATH, SINGLE, TWINS], name="messages")["births"]
    key = ["dam_id", "sex"]
    columns = [c for c in one if c not in ("row", "file")]
    assert one.sort_values(key)[columns].to_dict("records") == other.sort_values(key)[columns].to_dict(
        "records"
    )


@pytest.mark.parametrize(
    "resource",
    [
        "icarReproParturitionEventResource",
        "ReproParturitionEvent",
        "icar:ReproParturitionEvent",
        "http://data.example/core/ReproParturitionEvent",
        None,
    ],
)
def test_every_spelling_of_a_resource_is_known_and_its_absence_too(read, resource):
    message = {key: value for key, value in SINGLE.items() if key != "resourceType"}
    found = read(message | ({"resourceType": resource} if resource else {}))
    assert found["births"]["newborn_id"].tolist() == ["0002"]


def test_a_message_of_another_kind_is_named_and_left_out(read):
    found = read([SINGLE, {"resourceType": "icarReproHeatEventResource", "animal": animal("1")}, 7])
    assert {"messages of this kind are not used here", "this is not a message"} <= said(found)
    assert len(found["births"]) == 1


def test_an_unknown_word_is_kept_and_reported(read):
    died = event("MovementDeath", "0002", "2026-04-05T08:00:00Z", deathReason="Hypothermia")
    found = read([SINGLE | {"calvingEase": "Breech"}, died])
    assert found["births"].loc[0, ["delivery", "cause"]].tolist() == ["Breech", "Hypothermia"]
    lines = found["problems"].set_index("value")["problem"]
    assert lines["Breech"] == lines["Hypothermia"] == "this word is not in the standard as it is known here"


def test_a_word_in_other_capitals_is_understood_and_said(read):
    found = read([SINGLE | {"calvingEase": "easyunassisted"}])
    assert found["births"].loc[0, "delivery"] == "unassisted"
    assert "the standard writes this EasyUnassisted" in said(found)


@pytest.mark.parametrize(
    ("status", "born_alive", "died"),
    [("Alive", "yes", "no"), ("Stillborn", "no", "yes"), (None, None, None), ("Weak", None, "Weak")],
)
def test_only_a_newborn_said_to_be_alive_was_born_alive(read, status, born_alive, died):
    birth = read(parturition("7", "2026-04-03T05:30:00Z", newborn("0009", status)))["births"].iloc[0]
    assert birth.get("born_alive") == born_alive
    assert birth.get("died") == died


@pytest.mark.parametrize(
    ("counts", "problem"),
    [
        ({"totalProgeny": 1, "liveProgeny": 3}, "more alive than born (1)"),
        ({"totalProgeny": 3}, "the count differs from the 1 newborns listed"),
        ({"totalProgeny": 1, "liveProgeny": 0}, "the count differs from the 1 listed as Alive"),
        ({"totalProgeny": 400}, "no litter has this many newborns"),
    ],
)
def test_impossible_counts_are_reported_and_the_newborns_listed_are_used(read, counts, problem):
    found = read(SINGLE | counts)
    assert problem in said(found)
    assert len(found["births"]) == 1


def test_counts_alone_give_that_many_newborns_without_identity(read):
    found = read(parturition("7", "2026-04-03T05:30:00Z", totalProgeny=3, liveProgeny=2))
    births = found["births"]
    assert births["born_alive"].tolist() == ["yes", "yes", "no"]
    assert "newborn_id" not in births
    assert births["litter_size"].tolist() == [3, 3, 3]
    assert "no newborn is listed, only counts; the rows made from them have no identity" in said(found)


def sent(version, modified, deleted=False, **more):
    meta = {"source": "test.app", "sourceId": "s1", "modified": modified}
    return version | {"meta": meta | ({"isDeleted": True} if deleted else {})} | more


def test_the_last_writer_wins_in_whatever_order_the_versions_stand(read):
    old, new = (
        sent(SINGLE, "2026-04-04T00:00:00Z"),
        sent(SINGLE, "2026-04-05T00:00:00Z", calvingEase="EasyAssisted"),
    )
    found = read([new, old])
    assert found["births"]["delivery"].tolist() == ["easy assist"]
    assert "this message was sent 2 times; the version last modified stands" in said(found)


def test_a_deleted_message_is_gone_and_a_later_version_brings_it_back(read):
    live, gone = sent(SINGLE, "2026-04-04T00:00:00Z"), sent(SINGLE, "2026-04-05T00:00:00Z", deleted=True)
    found = read([TWINS, gone, live])
    assert found["births"]["dam_id"].tolist() == ["000123", "000123"]
    assert "the sender has deleted this message; it was left out" in said(found)
    back = sent(SINGLE, "2026-04-06T00:00:00Z")
    assert len(read([TWINS, gone, live, back])["births"]) == 3


def test_the_same_message_twice_is_one_birth(read):
    plain = {key: value for key, value in SINGLE.items() if key != "id"}
    assert len(read([plain], [plain])["births"]) == 1


def test_a_birth_message_adds_to_its_litter_and_its_time_is_the_more_exact(read):
    registered = event(
        "MovementBirth",
        "0001",
        "2026-04-20T09:00:00Z",
        registrationReason="Registered",
        animalDetail=newborn("0001")
        | {
            "birthDate": "2026-04-03T05:41:00Z",
            "parentage": [
                {"gender": "Male", "identifier": animal("R7")},
                {"gender": "Female", "relation": "Adoptive", "identifier": animal("000200")},
            ],
        },
    )
    births = read([registered, TWINS])["births"].set_index("newborn_id")
    kept = births.loc["0001"]
    assert (kept["born_at"], kept["sire_id"], kept["dam_id"]) == ("2026-04-03 06:41:00", "R7", "000123")
    assert kept["rearing"] == "fostered"
    assert len(births) == 2


def test_times_without_a_setting_stay_in_utc_and_that_is_said(read):
    found = read(TWINS, time_zone="")
    assert found["births"].loc[0, "born_at"] == "2026-04-03 05:30:00"
    assert "no time_zone is set, so the times are left in UTC" in said(found)


def test_a_time_without_zone_is_the_farms_own_and_a_date_alone_stays_a_date(read):
    found = read([SINGLE | {"eventDateTime": "2026-04-03T05:30:00"}, TWINS | {"eventDateTime": "2026-04-03"}])
    births = found["births"].set_index("dam_id")
    assert births.loc["000124", "born_at"] == "2026-04-03 05:30:00"
    assert births.loc["000123", "born_on"].tolist() == ["2026-04-03", "2026-04-03"]
    assert "it has no time zone and is taken as the farm's local time" in said(found)


@pytest.mark.parametrize(
    ("unit", "measure", "kg"), [("KGM", 4.2, 4.2), ("GRM", 4200, 4.2), ("LBR", 10, 4.535924), ("kg", 4, 4.0)]
)
def test_masses_are_turned_by_their_declared_unit(read, unit, measure, kg):
    """One pound is 0.45359237 kg by definition."""
    found = read(
        parturition("1", "2026-04-03", newborn("9", birthWeight={"measurement": measure, "units": unit}))
    )
    assert found["births"].loc[0, "birth_weight_kg"] == kg


def test_a_mass_in_an_unknown_unit_is_not_guessed(read):
    found = read(parturition("1", "2026-04-03", newborn("9", birthWeight={"measurement": 4, "units": "STN"})))
    assert "birth_weight_kg" not in found["births"]
    assert "this is no mass in a known unit" in said(found)


def test_a_weight_of_the_day_of_birth_is_a_birth_weight_and_one_after_death_is_a_contradiction(read):
    early = event("Weight", "0002", "2026-04-03T23:00:00Z", weight={"measurement": 4.4, "units": "KGM"})
    late = event("Weight", "0002", "2026-06-03T10:00:00Z", weight={"measurement": 18, "units": "KGM"})
    found = read([SINGLE, DEATH, late, early])
    assert "weighed after its death" in said(found)
    assert found["births"]["birth_weight_kg"].tolist() == [4.4]


@pytest.mark.parametrize(
    ("status", "alive", "died", "cause"),
    [
        ("Stillborn", "no", "yes", "stillbirth"),
        ("Aborted", "no", "yes", "stillbirth"),
        ("DiedBeforeTaggingDate", "yes", "yes", None),
        ("EuthanisedAtBirth", "yes", "yes", "other"),
        ("Alive", "yes", "no", None),
    ],
)
def test_each_birth_status_has_its_outcome(read, status, alive, died, cause):
    row = read(parturition("1", "2026-04-03T05:30:00Z", newborn("9", status)))["births"].loc[0]
    assert (row["born_alive"], row["died"], row.get("cause")) == (alive, died, cause)


def test_dead_before_tagging_has_no_age_and_says_so(read):
    found = read(parturition("1", "2026-04-03T05:30:00Z", newborn("9", "DiedBeforeTaggingDate")))
    assert "died_at" not in found["births"]
    assert "dead, but no message says when; its age at death is not known" in said(found)


def test_a_death_of_an_animal_not_born_here_is_counted_and_left_out(read):
    found = read([SINGLE, event("MovementDeath", "ewe-9", "2026-04-05T08:00:00Z")])
    assert found["births"].loc[0, "died"] == "no"
    assert "1 death messages name animals that are not among the newborns; they were left out" in said(found)


def test_one_id_under_two_schemes_names_two_animals(read):
    other = newborn(None) | {"identifier": animal("0001", "other.tags")}
    births = read([TWINS, parturition("9", "2026-04-04T05:30:00Z", other)])["births"]
    assert set(births["newborn_id"].dropna()) == {"test.tags:0001", "other.tags:0001"}


def test_diagnoses_and_treatments_are_counted_and_said_to_have_no_column(read):
    ill = event("Diagnosis", "0001", "2026-04-04T08:00:00Z", diagnoses=[{"name": "navel ill"}])
    cure = event("Treatment", "0001", "2026-04-04T09:00:00Z", procedure="navel dipped")
    found = read([TWINS, ill, cure, ill | {"id": "2"}])
    assert "2 diagnoses were read; no tidy column holds them" in said(found)
    assert "1 treatments were read; no tidy column holds them" in said(found)
    assert len(found["births"]) == 2


def test_nulls_odd_members_and_wrong_types_break_nothing(read):
    odd = parturition(
        "1", "not a time", newborn("9", birthWeight="4 kg", taggingDate=None), None, "x", totalProgeny="2"
    )
    found = read(
        [odd, {"resourceType": "icarReproParturitionEventResource", "animal": 5, "progenyDetails": {}}]
    )
    assert found["births"]["born_at"].tolist()[0] == "not a time"
    assert len(found["births"]) == 2


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('{"member": [', "broken.json: it is not JSON (line 1: Expecting value); export it again, whole."),
        ("[" * 100_000, "broken.json: it is nested too deeply or its numbers are too long to be messages."),
    ],
)
def test_a_broken_file_gives_one_sentence(tmp_path, text, sentence):
    path = tmp_path / "broken.json"
    path.write_text(text)
    with pytest.raises(CannotRead) as refused:
        told_in([path])
    assert str(refused.value) == sentence


def test_an_empty_collection_gives_no_newborn(read):
    assert len(read({}, [], {"view": {"totalItems": 0}}, {"member": []})["births"]) == 0
