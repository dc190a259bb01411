"""What a cell under "agent" says: an agent, or in the farm's words that it is awaited, none was found, none was sent.

A cell names an agent only where no word in it says otherwise. What says both, or may say either, is left for a person.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from neonatal_stats.vocabulary.farm_words import spoken_section
from neonatal_stats.vocabulary.spelling import unaccented, ways
from neonatal_stats.vocabulary.terms import LABORATORY

FOUND, NOTHING, AWAITED, NOT_SENT = LABORATORY
NAMED = "named"
"""The cell names the agent itself."""
UNKNOWN = ""
"""The cell says no more than a blank does."""
WORD = re.compile(r"[^\W_]+(?:-[^\W_]+)*")
SIGNED = ((re.compile(r"(?<!\w)[-–]\s?ve\b"), " negative "), (re.compile(r"(?<!\w)\+\s?ve\b"), " positive "))


def words_in(text: str) -> tuple[str, ...]:
    """The words of a cell without capitals, accents and signs; single letters with points are one: "n.a.d."."""
    small = text.casefold()
    for sign, word in SIGNED:
        small = sign.sub(word, small)
    small = re.sub(r"\b(\w)\.\s?(?=\w\b)", r"\1", unaccented(small))
    return tuple(WORD.findall(small))


@cache
def _signs() -> Mapping[str, frozenset[str]]:
    """The single words of each kind, in every language."""
    found: dict[str, set[str]] = {}
    for by_kind in spoken_section("agent_signs").values():
        for kind, said in by_kind.items():
            spelt = {" ".join(words_in(word)) for word in said}
            found.setdefault(kind, set()).update(spelt, *(ways(word) for word in said if word.isalpha()))
    return {kind: frozenset(said) for kind, said in found.items()}


@cache
def _phrases() -> Mapping[str, str]:
    """Whole cells that say what became of the samples; one that two languages use for different things says nothing."""
    found: dict[str, set[str]] = {word: {word} for word in LABORATORY}
    for by_column in spoken_section("words").values():
        for meant, said in by_column.get("laboratory", {}).items():
            for phrase in said:
                found.setdefault(" ".join(words_in(phrase)), set()).add(meant)
    return {phrase: next(iter(meant)) for phrase, meant in found.items() if len(meant) == 1}


@cache
def agent_said(text: str) -> str | None:
    """What a cell says: `NAMED`, one of the words for samples, `UNKNOWN`, or None where it may say several things.

    >>> [agent_said(text) for text in ("E. coli", "No significant growth", "not back yet", "not sent")]
    ['named', 'nothing found', 'awaited', 'not sent']
    >>> agent_said("kein Erregernachweis"), agent_said("E. coli, Toxoplasma neg."), agent_said("k.A.")
    ('nothing found', None, '')
    """
    spoken = words_in(text)
    phrase = " ".join(spoken)
    if phrase in _signs()["unknown"] or not re.search(r"\w", text):
        return UNKNOWN
    if "?" in text:
        return None
    if phrase in _phrases() and phrase not in _signs()["no"]:
        return _phrases()[phrase]
    kinds = {kind: [word for word in spoken if word in words] for kind, words in _signs().items()}
    known = {word for kind in kinds.values() for word in kind}
    if kinds["unsure"]:
        return None
    if any(word not in known and not word.isdigit() for word in spoken):
        denies = kinds["no"] or kinds["awaited"] or kinds["nothing"] or spoken[0] in kinds["sent"]
        return None if denies else NAMED
    return _of_signs(kinds)


def _of_signs(kinds: Mapping[str, list[str]]) -> str | None:
    """What a cell says that holds nothing but known words."""
    waits, denies, clear = bool(kinds["awaited"]), bool(kinds["no"]), bool(kinds["nothing"])
    if waits + clear + bool(kinds["positive"]) > 1 or (denies and (waits or clear or kinds["positive"])):
        still_open = waits and denies and kinds["later"] and not clear
        return AWAITED if still_open else None
    if waits:
        return AWAITED
    if clear:
        return NOTHING
    if kinds["positive"]:
        return FOUND
    if not denies:
        return AWAITED if kinds["sent"] and not kinds["found"] else None
    if kinds["found"]:
        return AWAITED if kinds["later"] else NOTHING
    if kinds["sent"] or kinds["looked"]:
        return NOT_SENT
    return AWAITED if kinds["later"] else None
