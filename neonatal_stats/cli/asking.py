"""Asking on a terminal what a drafted map leaves open, one place after the other."""

from __future__ import annotations

import sys
from collections.abc import Callable
from difflib import get_close_matches
from typing import TYPE_CHECKING

from neonatal_stats.cli.check import printable

if TYPE_CHECKING:
    from neonatal_stats.season.map.draft_map import Draft
    from neonatal_stats.season.map.map_text import Line

HOW = "Write what is meant; Enter leaves it open, - leaves it out, . ends the questions.\n"


def can_ask() -> bool:
    """True where a person sits at both ends."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def asked(draft: Draft, anew: Callable[[str], Draft], ask: Callable[[str], str] = input) -> Draft:
    """The draft with a person's answers; what an answered heading brings up (its words) is asked next.

    ``anew`` drafts again from a map's text, ``ask`` prints a question and gives the answer.
    """
    seen: set[tuple[str, str]] = set()
    print(HOW)
    while new := [line for line in draft.open if (line.section, line.said) not in seen]:
        for line in new:
            seen.add((line.section, line.said))
            answer = _answer(line, ask)
            if answer == ".":
                return draft
            if answer is not None:
                draft = _with_answer(draft, line, answer)
        draft = anew(draft.text)
    return draft


def _answer(line: Line, ask: Callable[[str], str]) -> str | None:
    """What a person says that a line means; None to leave it open, "." to end."""
    allowed = allowed_in(line)
    while True:
        try:
            said = ask(f"[{line.section}] {printable(line.said)} ({printable(line.beside)}): ").strip()
        except EOFError:
            return "."
        if said in ("", "."):
            return said or None
        if said == "-":
            return ""
        if not allowed or said in allowed:
            return said
        near = get_close_matches(said, allowed, n=3, cutoff=0.5)
        print(f"  not accepted; {'perhaps ' if near else 'one of '}{', '.join(near or offered_in(line))}")


def allowed_in(line: Line) -> tuple[str, ...]:
    """What may be written in a line: columns, words or units."""
    from neonatal_stats.season.records_map import meanings_of

    return meanings_of(line.section, line.said)


def offered_in(line: Line) -> tuple[str, ...]:
    """What is offered for a line: of an outcome only words that nobody takes for their opposite."""
    from neonatal_stats.season.records_map import DEAD_BY

    allowed = allowed_in(line)
    told = line.section.rpartition(".")[2] in DEAD_BY and ".words." in f".{line.section}"
    return tuple(word for word in allowed if word not in ("yes", "no")) if told else allowed


def _with_answer(draft: Draft, line: Line, answer: str) -> Draft:
    from dataclasses import replace

    from neonatal_stats.season.map.map_text import answered

    return replace(draft, text=answered(draft.text, replace(line, meant=answer, beside="")))
