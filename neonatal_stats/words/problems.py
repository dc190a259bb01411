"""What the reading of the records noted, in the voice's language.

A finding keeps the template and the values that its English was made of; a language file holds the same templates
in its table `problems`. What was filled in is said in that language too where it is a word of the vocabulary.
"""

from __future__ import annotations

import pandas as pd

from neonatal_stats.season.finding import Said
from neonatal_stats.words.voice import Voice, catalogue

SET_ASIDE = {
    "table": "Table",
    "file": "File",
    "sheet": "Sheet",
    "row": "Row",
    "column": "Column",
    "value": "Found",
    "problem": "Problem",
    "remedy": "What to do",
    "ended": "What was done",
}
TABLES = {
    "births": "births",
    "feeds": "feeds",
    "samples": "samples",
    "weather": "weather",
    "colostrum": "colostrum",
    "examinations": "examinations",
    "treatments": "treatments",
    "mobs": "mobs",
}
WRITTEN = ("problem", "remedy", "ended")
OWN_NUMBERS = ("low", "high")
"""Values that the reading filled in as numbers of its own; whatever else looks like one is the farm's."""


def said_in(voice: Voice, problems: pd.DataFrame) -> pd.DataFrame:
    """The set-aside list with its sentences in the voice's language; what the farm wrote stays as it is."""
    return problems.assign(
        **{name: [heard(voice, text) for text in problems[name]] for name in WRITTEN if name in problems}
    )


def heard(voice: Voice, text: str) -> str:
    """A sentence of the set-aside list; one whose template the language file does not hold stays English."""
    spoken = catalogue(voice.language)
    if not isinstance(text, Said):
        return spoken.problems.get(text, text)
    template = spoken.problems.get(text.template) or spoken.templates.get(text.template, text.template)
    return template.format(**{name: _filled(voice, name, each) for name, each in text.filled.items()})


def _filled(voice: Voice, name: str, value: object) -> object:
    if isinstance(value, Said):
        return heard(voice, value)
    return _printed(voice, str(value)) if name in OWN_NUMBERS else value


def _printed(voice: Voice, text: str) -> str:
    """An end of a range, "0.5" or "1000 ml", as the voice prints it."""
    number, between, unit = text.partition(" ")
    shown = voice.number(float(number), len(number.partition(".")[2]))
    return f"{shown}{between}{unit}"
