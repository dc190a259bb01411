"""The fields and codes of the sheet for the shed, as a page: `python -m docs.make_shed`, kept as `docs/shed.md`."""

from __future__ import annotations

from pathlib import Path

from neonatal_stats.vocabulary.columns import column
from neonatal_stats.vocabulary.shed import FATE, FIELDS, SLIP_FIELDS, USUAL, shed_languages, shed_words

PAGE = Path(__file__).with_name("shed.md")
OPENING = """# The sheet for the shed: fields and codes

One line a litter, its newborns side by side as a, b and c (one a line for species that mostly bear one), codes to ring,
and a slip for each dead one. `neonatal-stats sheet -o shed.html` prints it, `-o shed.xlsx` is the same to type
into; `--fields` takes the names below. The filled workbook reads back with no map, in any of these languages: a code,
or the word that it stands for. A newborn stands where any of its fields is filled; an outcome that nobody
rang stays open.
"""
OWN = {
    "letter": "a, b or c of its line",
    "lay": "Where it lay; kept as a remark",
    "age_at_death": "Hours or days, with h or d",
}


def shed_page() -> str:
    """The page in Markdown, made from the vocabulary."""
    return "\n".join(
        [OPENING, *_table("Lines", [field.name for field in FIELDS]), *_table("Slips", list(SLIP_FIELDS))]
    )


def _table(title: str, names: list[str]) -> list[str]:
    heads = " | ".join(f"in {language}" for language in shed_languages())
    rule = "|---" * (3 + len(shed_languages())) + "|"
    rows = [f"## {title}", "", f"| field | holds | usual for | {heads} |", rule]
    return [*rows, *(_row(name) for name in names), ""]


def _row(name: str) -> str:
    usual = ", ".join(species for species, fields in USUAL.items() if name in fields)
    meaning = "What became of it" if name == FATE else OWN.get(name) or column("births", name).meaning
    said = " | ".join(_said(name, language) for language in shed_languages())
    return f"| `{name}` | {meaning} | {usual} | {said} |"


def _said(name: str, language: str) -> str:
    own = shed_words(language)
    codes = ", ".join(f"`{code}` {word}" for code, word in own.codes.get(name, {}).items())
    return own.headings[name] + (f": {codes}" if codes else "")


if __name__ == "__main__":
    PAGE.write_text(shed_page(), encoding="utf-8", newline="\n")
