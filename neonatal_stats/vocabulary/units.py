"""Units: what turns a number in one of them into the unit of a tidy column, and how farms write them."""

from __future__ import annotations

from neonatal_stats.vocabulary.columns import Column

Turn = tuple[float, float]
"""Times the first, plus the second."""

INTO: dict[str, dict[str, Turn]] = {
    "kg": {"kg": (1, 0), "g": (0.001, 0), "lb": (0.45359237, 0), "oz": (0.028349523125, 0)},
    "ml": {"ml": (1, 0), "l": (1000, 0), "dl": (100, 0), "cl": (10, 0)},
    "min": {"min": (1, 0), "h": (60, 0), "s": (1 / 60, 0)},
    "s": {"s": (1, 0), "min": (60, 0)},
    "h": {"h": (1, 0), "min": (1 / 60, 0), "d": (24, 0), "weeks": (168, 0)},
    "days": {"d": (1, 0), "weeks": (7, 0), "h": (1 / 24, 0)},
    "years": {"y": (1, 0), "months": (1 / 12, 0)},
    "degrees C": {"c": (1, 0), "f": (5 / 9, -160 / 9)},
    "g/l": {"g/l": (1, 0), "mg/ml": (1, 0), "mg/dl": (0.01, 0), "g/dl": (10, 0)},
    "g/dl": {"g/dl": (1, 0), "g/l": (0.1, 0), "mg/dl": (0.001, 0)},
    "m/s": {"m/s": (1, 0), "km/h": (1 / 3.6, 0), "mph": (0.44704, 0), "kn": (0.5144444444444445, 0)},
    "mm": {"mm": (1, 0), "cm": (10, 0), "in": (25.4, 0)},
    "%": {"%": (1, 0)},
}

_WRITTEN = {
    "kg": "kgs kilo kilos kilogram kilograms kilogramm kilogramme kilogrammes quilos",
    "g": "grams gram gm gms gr grs gramm gramme grammes gramos gramas grammi gramów",
    "lb": "lbs pounds pound",
    "oz": "ounces ounce ozs",
    "l": "litre litres liter liters ltr litros litri",
    "ml": "millilitres milliliters cc",
    "min": "mins minutes minute m minuten minuti minutos minuty minutter minuter",
    "h": (
        "hours hour hrs hr std stunde stunden heure heures hora horas ora ore uur uren time timer tim timme timmar "
        "godz godzin godziny godzina awr"
    ),
    "s": "sec secs seconds sek sekunden secondes segundos",
    "d": (
        "days day tag tage tagen jour jours j día días dia dias dag dagen dager dagar dage dgr giorno giorni gg "
        "dzień dni diwrnod"
    ),
    "weeks": (
        "week wk wks w woche wochen semaine semaines sem semana semanas weken uke uker vecka veckor uge uger "
        "tydzień tygodni tygodnie settimana settimane wythnos"
    ),
    "y": "years year yrs yr jahre jahr ans años anos anni jaar år lat",
    "months": "month mths monate mois meses mesi maanden måneder månader miesięcy",
    "c": "°c degrees_c deg_c celsius",
    "f": "°f degrees_f deg_f fahrenheit",
    "%": "pct percent brix %_brix",
    "in": "inches inch",
}
SPELLED = {way.replace("_", " "): unit for unit, ways in _WRITTEN.items() for way in ways.split()}


def turn(column: Column, unit: str) -> Turn | None:
    """What turns a number in that unit into the column's own; None where the unit does not belong there.

    >>> from neonatal_stats.vocabulary.columns import column
    >>> turn(column("births", "birth_weight_kg"), "lbs"), turn(column("births", "birth_weight_kg"), "ml")
    ((0.45359237, 0), None)
    """
    return INTO.get(column.unit, {}).get(plain_unit(unit))


def plain_unit(unit: str) -> str:
    """A unit as this table names it, however a farm writes it."""
    spoken = " ".join(unit.casefold().rstrip(".").split())
    return SPELLED.get(spoken, spoken)


def accepted_units(column: Column) -> tuple[str, ...]:
    """The units that a map may name for this column."""
    return tuple(INTO.get(column.unit, {}))
