"""British words and how America spells them: every such word that the templates use."""

from __future__ import annotations

import re
from functools import cache

AMERICAN = {
    "ageing": "aging",
    "analyse": "analyze",
    "analysed": "analyzed",
    "behaviour": "behavior",
    "caesarean": "cesarean",
    "caesareans": "cesareans",
    "centre": "center",
    "centred": "centered",
    "characterise": "characterize",
    "colour": "color",
    "colours": "colors",
    "favour": "favor",
    "favours": "favors",
    "foetus": "fetus",
    "grey": "gray",
    "haemorrhage": "hemorrhage",
    "judgement": "judgment",
    "labelled": "labeled",
    "labour": "labor",
    "litre": "liter",
    "litres": "liters",
    "metre": "meter",
    "metres": "meters",
    "modelled": "modeled",
    "modelling": "modeling",
    "neighbour": "neighbor",
    "neighbours": "neighbors",
    "practise": "practice",
    "practised": "practiced",
    "programme": "program",
    "programmes": "programs",
    "randomised": "randomized",
    "recognise": "recognize",
    "recognised": "recognized",
    "standardisation": "standardization",
    "standardise": "standardize",
    "standardised": "standardized",
    "summarise": "summarize",
    "summarised": "summarized",
    "tumour": "tumor",
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
