"""The births columns as a keeper fills them in: who, the birth, the first hours, what became of it."""

from __future__ import annotations

from neonatal_stats.vocabulary.columns import Column, column
from neonatal_stats.vocabulary.headings import heading_of

_COLUMNS = {
    "Who": "farm season species newborn_id dam_id sire_id breed litter_id group birth_place",
    "The birth": """born_at born_on litter_size birth_order sex birth_weight_kg gestation_d premature delivery
        dam_parity dam_age_y dam_condition born_alive""",
    "The first hours": """breathing_after_s resuscitation suck_reflex stood_after_min fed_after_min
        meconium_after_min handled mothered_up rearing rectal_temperature_c warmed""",
    "What became of it": """died died_at last_alive_at found_dead_at cause cause_basis left_at left_reason
        last_seen_at""",
}
SECTIONS: dict[str, tuple[str, ...]] = {title: tuple(names.split()) for title, names in _COLUMNS.items()}
HELP_SHEET = "how to fill in"
SMALLEST = ("dam_id", "born_at", "born_alive", "died")
CAUTIONS = (
    "A newborn's and a dam's fluids can carry infections that reach people, pregnant women above all: wear "
    "gloves, and give no breath mouth to nose without a barrier.",
    "Drugs, tubing technique, plasma and post-mortem examination are for a veterinary surgeon or under their "
    "direction; local rules on medicines, carcass disposal and notifiable disease come first.",
)
WAYS = {
    "text": "text",
    "moment": "a date and time, for example 2026-04-03 05:40; a date alone where no time is known",
    "date": "a date, for example 2026-04-03",
    "number": "a number",
    "integer": "a whole number",
    "elapsed": 'minutes after birth (45), a clock time (05:45), or "not by 06:30" if it had not yet happened',
}


def section_of(name: str) -> str:
    """The title of the section in which a births column stands."""
    return next(title for title, names in SECTIONS.items() if name in names)


def columns_in(title: str) -> list[Column]:
    """The columns of one section."""
    return [column("births", name) for name in SECTIONS[title]]


def how_to_write(found: Column) -> str:
    """What to write in a cell, in one line."""
    if found.kind == "terms":
        return f"one or more, joined with a semicolon: {', '.join(found.words)}"
    if found.words:
        return f"one of: {', '.join(found.words)}"
    unit = f", in {found.unit}" if "(" in heading_of(found) and found.kind in ("number", "integer") else ""
    return WAYS[found.kind] + unit
