"""What a person reads on a page or in a figure, and the ways of writing numbers, dates and units that must not be."""

from __future__ import annotations

import re
from html import unescape

UNSEEN = re.compile(
    r"<(style|script|metadata|defs)\b.*?</\1>|<!--.*?-->|<!DOCTYPE.*?>|<\?xml.*?\?>", re.DOTALL
)
WITHIN = re.compile(r"</?(?:b|i|em|strong|tspan|a|sub|sup|code|abbr|small)\b[^>]*>")
SOURCES = re.compile(
    r"(?i)\bdoi:? *\S+|\b\d+(?:\(\d+\))?:\d[\d–-]*|\b[\w-]+\.csv [0-9a-f]{12}|\bneonatal_stats [\d.]+"
)
"""Where a work was printed, what a file's hash is, which version: no numbers of the review."""
VERSION = re.compile(r"\bVersion \d[\d.]*")

NOWHERE = {
    "a hyphen for a minus": r"(?<![\w.,\d–-])-\s?\d",
    "thousands not set apart": r"(?<![\d.,#/\u202f-])(?!(?:19|20)\d\d\b)\d{4,}(?![\d-])",
    "thousands set apart by another sign": r"(?<![\d.,])[1-9]\d{0,2}[ \u00a0'’]\d{3}(?!\d)",
    "a date in figures": r"\b\d{4}-\d\d-\d\d\b|\b\d{1,2}/\d{1,2}/\d{2,4}\b|"
    r"(?<![\d.,])\d{1,2}\.\d{1,2}\.(?:\d{2,4}\b|\s*[,;)–])",
    "a unit as no one writes it": r"\bm2\b|\bm\^2|\bKg\b|\bg/L\b|\b[Dd]eg(?:rees)? C\b|° C\b|\bGrad C\b",
    "no space before a unit": r"\d(?:%|kg|ml|mm|°C)(?!\w)",
}
ENGLISH = {
    "a decimal comma": r"\d,\d",
    "a day in German": r"\b\d{1,2}\.[ \u00a0](?:Jan|Feb|M[aä]r|Apr|Ma[iy]|Jun|Jul|Aug|Sep|O[ck]t|Nov|De[cz])",
}
GERMAN = {
    "a decimal point": r"\d\.\d",
    "thousands set apart by a point or comma": r"\b[1-9]\d{0,2},\d{3}\b(?=[ \u00a0](?:von|Lämmer))",
    "a day in English": r"\b\d{1,2}[ \u00a0](?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b",
}


def visible(markup: str) -> str:
    """The words of a page or a drawing, what is a piece of its own in a line of its own; hover values among them."""
    return unescape(re.sub(r"<[^>]+>", "\n", WITHIN.sub("", UNSEEN.sub("\n", markup))))


def deviations(text: str, language: str) -> list[str]:
    """Each place that is written otherwise than the language and the trade do, with a few letters around it."""
    text = VERSION.sub("", SOURCES.sub("", text))
    forbidden = NOWHERE | (GERMAN if language == "de" else ENGLISH)
    return [
        f"{name}: {text[max(0, found.start() - 30) : found.end() + 20]!r}"
        for name, pattern in forbidden.items()
        for found in re.finditer(pattern, text)
    ]
