"""What the reading of the records noted, in the voice's language.

The season room writes its sentences ready filled, since they also go to people who only check their files; a
language file holds them as patterns in its table `problems`, with a {name} wherever something was filled in.
What was filled in is translated where it is a term.
"""

from __future__ import annotations

import re
from functools import cache

import pandas as pd

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
TABLES = {"births": "births", "feeds": "feeds", "samples": "samples", "weather": "weather"}
WRITTEN = ("problem", "remedy", "ended")


def said_in(voice: Voice, problems: pd.DataFrame) -> pd.DataFrame:
    """The set-aside list with its sentences in the voice's language; what the farm wrote stays as it is."""
    return problems.assign(
        **{name: [heard(voice, str(text)) for text in problems[name]] for name in WRITTEN if name in problems}
    )


def heard(voice: Voice, text: str) -> str:
    """One sentence of the set-aside list; a sentence that the language file does not know stays English."""
    for pattern, translation in _patterns(voice.language):
        found = pattern.fullmatch(text)
        if found:
            terms = catalogue(voice.language).templates
            return translation.format(
                **{name: terms.get(word, word) for name, word in found.groupdict().items()}
            )
    return text


@cache
def _patterns(language: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple((_pattern(english), own) for english, own in catalogue(language).problems.items())


def _pattern(english: str) -> re.Pattern[str]:
    parts = re.split(r"\{(\w+)\}", english)
    return re.compile(
        "".join(f"(?P<{part}>.+?)" if place % 2 else re.escape(part) for place, part in enumerate(parts))
    )
