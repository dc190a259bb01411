"""British words and how America spells them: every such word that the templates use, and a few more."""

from __future__ import annotations

import re
from functools import cache

AMERICAN = {
    "behaviour": "behavior",
    "caesarean": "cesarean",
    "caesareans": "cesareans",
    "centre": "center",
    "colour": "color",
    "grey": "gray",
    "haemorrhage": "hemorrhage",
    "judgement": "judgment",
    "labour": "labor",
    "litre": "liter",
    "litres": "liters",
    "metre": "meter",
    "metres": "meters",
    "programme": "program",
    "recognised": "recognized",
    "standardisation": "standardization",
    "standardise": "standardize",
    "standardised": "standardized",
    "standardising": "standardizing",
    "summarised": "summarized",
    "towards": "toward",
}


@cache
def american(template: str) -> str:
    """An English template in American spelling; the placeholders in braces stay as they are.

    >>> american("Caesarean: {colour} is standardised.")
    'Cesarean: {colour} is standardized.'
    """
    return "".join(part if part[:1] == "{" else re.sub("[A-Za-z]+", _word, part)
                   for part in re.split(r"(\{[^}]*\})", template))  # fmt: skip


def _word(match: re.Match[str]) -> str:
    word = match.group()
    other = AMERICAN.get(word.lower(), word)
    return other.capitalize() if word[0].isupper() and other != word else other
