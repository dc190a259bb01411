"""Units that a cell or a map may name, and what turns them into the column's own."""

from __future__ import annotations

from neonatal_stats.vocabulary.columns import Column

Turn = tuple[float, float]
"""Times the first, plus the second."""

INTO: dict[str, dict[str, Turn]] = {
    "kg": {"kg": (1, 0), "g": (0.001, 0), "lb": (0.45359237, 0), "oz": (0.028349523125, 0)},
    "ml": {"ml": (1, 0), "l": (1000, 0), "dl": (100, 0), "cl": (10, 0)},
    "min": {"min": (1, 0), "h": (60, 0), "s": (1 / 60, 0)},
    "s": {"s": (1, 0), "min": (60, 0)},
    "days": {"d": (1, 0), "weeks": (7, 0)},
    "years": {"y": (1, 0), "months": (1 / 12, 0)},
    "degrees C": {"c": (1, 0), "f": (5 / 9, -160 / 9)},
    "g/l": {"g/l": (1, 0), "mg/ml": (1, 0), "mg/dl": (0.01, 0), "g/dl": (10, 0)},
    "g/dl": {"g/dl": (1, 0), "g/l": (0.1, 0), "mg/dl": (0.001, 0)},
    "m/s": {"m/s": (1, 0), "km/h": (1 / 3.6, 0), "mph": (0.44704, 0), "kn": (0.5144444444444445, 0)},
    "mm": {"mm": (1, 0), "cm": (10, 0), "in": (25.4, 0)},
    "%": {"%": (1, 0)},
}
SPELLED = {
    "kgs": "kg", "kilo": "kg", "kilos": "kg", "grams": "g", "gram": "g", "lbs": "lb", "pounds": "lb", "pound": "lb",
    "litre": "l", "litres": "l", "liter": "l", "liters": "l", "ltr": "l", "millilitres": "ml", "cc": "ml",
    "mins": "min", "minutes": "min", "minute": "min", "m": "min", "hours": "h", "hour": "h", "hrs": "h", "hr": "h",
    "sec": "s", "secs": "s", "seconds": "s", "days": "d", "day": "d", "weeks": "weeks", "wk": "weeks",
    "years": "y", "year": "y", "yrs": "y", "°c": "c", "degrees c": "c", "deg c": "c", "°f": "f", "degrees f": "f",
    "pct": "%", "percent": "%", "brix": "%", "% brix": "%", "inches": "in",
}  # fmt: skip


def turn(column: Column, unit: str) -> Turn | None:
    """What turns a number in that unit into the column's own; None where the unit does not belong there."""
    spoken = " ".join(unit.casefold().rstrip(".").split())
    return INTO.get(column.unit, {}).get(SPELLED.get(spoken, spoken))


def accepted_units(column: Column) -> tuple[str, ...]:
    """The units that a map may name for this column."""
    return tuple(INTO.get(column.unit, {}))
