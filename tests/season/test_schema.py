"""The table schemas say what the vocabulary says, in the terms of the Frictionless standard."""

import json
import re

import pytest

from neonatal_stats.season.blank import plausible, table_schema, write_table_schemas
from neonatal_stats.vocabulary.columns import TABLES, column

TYPES_OF_THE_STANDARD = {"string", "number", "integer", "boolean", "datetime", "date"}  # Table Schema 2.0


@pytest.mark.parametrize("table", TABLES)
def test_every_tidy_column_is_a_field_of_the_standard_in_order(table):
    fields = table_schema(table)["fields"]
    assert [field["name"] for field in fields] == [each.name for each in TABLES[table]]
    assert {field["type"] for field in fields} <= TYPES_OF_THE_STANDARD
    assert all(field["description"] for field in fields)


def field(name, species=""):
    return next(each for each in table_schema("births", species)["fields"] if each["name"] == name)


def test_a_word_column_lists_its_words_in_order():
    delivery = field("delivery")
    assert (
        delivery["constraints"]["enum"] == delivery["categories"] == list(column("births", "delivery").words)
    )
    assert delivery["categoriesOrdered"] is True


@pytest.mark.parametrize(("species", "low", "high"), [("sheep", 0.5, 10), ("cattle", 10, 80), ("", 0.5, 80)])
def test_the_range_of_birth_weight_is_the_species_own_or_the_widest(species, low, high):
    assert field("birth_weight_kg", species)["constraints"] == {"minimum": low, "maximum": high}


def test_a_column_without_a_range_has_none():
    assert plausible(column("births", "dam_id")) is None
    assert "constraints" not in field("dam_id")


@pytest.mark.parametrize("cell", ["45", "7.5", "05:45", "not by 06:30"])
def test_every_way_to_write_an_elapsed_time_fits_its_pattern(cell):
    assert re.fullmatch(field("fed_after_min")["constraints"]["pattern"], cell)


@pytest.mark.parametrize("cell", ["soon", "not by", "-5", "6:3"])
def test_what_is_no_elapsed_time_does_not_fit(cell):
    assert not re.fullmatch(field("fed_after_min")["constraints"]["pattern"], cell)


def test_several_words_of_resuscitation_fit_and_others_do_not():
    pattern = field("resuscitation")["constraints"]["pattern"]
    assert re.fullmatch(pattern, "airway cleared; stimulated")
    assert not re.fullmatch(pattern, "airway cleared, swung")


def test_the_files_written_are_the_schemas_and_the_same_each_time(tmp_path):
    first = write_table_schemas(tmp_path / "a", "sheep")
    second = write_table_schemas(tmp_path / "b", "sheep")
    assert [path.name for path in first] == [f"{table}.schema.json" for table in (*TABLES, "plan")]
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]
    assert json.loads(first[0].read_text(encoding="utf-8")) == table_schema("births", "sheep")
