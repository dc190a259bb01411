"""Every heading that a sheet prints finds its column again, and a foreign unit never does."""

import pytest

from neonatal_stats.vocabulary.columns import TABLES, column, column_of, heading_of

EVERY = [(table, each) for table, columns in TABLES.items() for each in columns]


@pytest.mark.parametrize(("table", "each"), EVERY, ids=lambda v: getattr(v, "name", v))
def test_every_heading_and_every_name_leads_back_to_its_column(table, each):
    assert column_of(table, heading_of(each)) == each.name
    assert column_of(table, each.name) == each.name
    assert column_of(table, "  " + heading_of(each).upper() + " ") == each.name


@pytest.mark.parametrize("table", TABLES)
def test_no_two_columns_of_a_table_share_a_heading(table):
    headings = [heading_of(each) for each in TABLES[table]]
    assert len(set(headings)) == len(headings)


@pytest.mark.parametrize(
    ("table", "name", "heading"),
    [
        ("births", "birth_weight_kg", "birth weight (kg)"),
        ("births", "stood_after_min", "stood after (min)"),
        ("births", "rectal_temperature_c", "rectal temperature (degrees C)"),
        ("births", "born_at", "born at"),
        ("births", "litter_size", "litter size"),
        ("samples", "total_protein_g_per_dl", "total protein (g/dl)"),
        ("weather", "wind_m_per_s", "wind (m/s)"),
    ],
)
def test_headings_carry_the_unit_that_the_name_carries(table, name, heading):
    assert heading_of(column(table, name)) == heading


@pytest.mark.parametrize(
    "heading", ["birth weight (lb)", "birth weight", "stood after (h)", "volume (l)", "", "weight"]
)
def test_a_heading_with_another_unit_or_none_is_not_guessed(heading):
    assert column_of("births", heading) is None


def test_the_usual_sign_for_degrees_is_understood():
    assert column_of("births", "Rectal temperature (°C)") == "rectal_temperature_c"
