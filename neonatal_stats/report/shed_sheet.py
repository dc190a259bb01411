"""A sheet for the shed laid out: which fields, how many newborns side by side, and what stands on it in words.

Fields are chosen by the species, by name, or by what a review asked to be recorded. A line holds as many newborns
side by side as fit on A4; with one it stands upright, where more lines have room.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from neonatal_stats.report.folder import MARK
from neonatal_stats.season.finding import CannotRead
from neonatal_stats.vocabulary import terms
from neonatal_stats.vocabulary.columns import FEEDS
from neonatal_stats.vocabulary.shed import (
    BY_NAME,
    FATE,
    FIELDS,
    LETTERS,
    NEEDED,
    SLIP_FIELDS,
    USUAL,
    Field,
    ShedWords,
    shed_languages,
    shed_words,
)
from neonatal_stats.vocabulary.species import SINGLY
from neonatal_stats.words.voice import Voice

MARGIN_MM, NUMBER_MM = 8, 6
ACROSS_MM, UPRIGHT_MM = 297 - 2 * MARGIN_MM, 210 - 2 * MARGIN_MM
LINE_MM, LINE_ACROSS_MM = 8.4, 10.8
LINES_ACROSS, LINES_UPRIGHT = 13, 25
PITCH_MM = {True: (3.51, 6.15), False: (6.1, 3.7)}
"""How far two neighbouring codes stand apart, beside and below each other, across and upright: they go up and down, so
that a ring around one leaves the next free (about 7 mm apart, common practice for a stump of pencil)."""
ELSEWHERE = {
    **dict.fromkeys(("died_at", "last_seen_at"), ("last_alive_at", "found_dead_at")),
    "born_alive": (FATE,),
    "born_on": ("born_at",),
}
"""Columns that a review asks for and that stand on the sheet as other fields."""


@dataclass(frozen=True)
class Sheet:
    """One sheet: its fields, how many newborns a line holds side by side, which way the paper lies, lines a side."""

    species: str
    voice: Voice
    own: ShedWords
    fields: tuple[Field, ...]
    slots: int
    across: bool
    left_out: tuple[str, ...] = ()

    @property
    def lines(self) -> int:
        """Lines to a side of paper."""
        return LINES_ACROSS if self.across else LINES_UPRIGHT

    @property
    def line_mm(self) -> float:
        """The height of a line on paper."""
        return LINE_ACROSS_MM if self.across else LINE_MM

    @property
    def letters(self) -> tuple[str, ...]:
        """The newborns of a line: a, b and c, or one without a letter."""
        return tuple(LETTERS[: self.slots]) if self.slots > 1 else ("",)

    @property
    def of_slip(self) -> tuple[str, ...]:
        """What a slip asks; which newborn of the line only where there are several."""
        return tuple(name for name in SLIP_FIELDS if name != "letter" or self.slots > 1)

    @property
    def of_litter(self) -> tuple[Field, ...]:
        """Fields that littermates share."""
        return tuple(field for field in self.fields if field.of_litter)

    @property
    def of_newborn(self) -> tuple[Field, ...]:
        """Fields of each newborn."""
        return tuple(field for field in self.fields if not field.of_litter)


def sheet_of(
    species: str, language: str = "en", fields: Sequence[str] = (), asked: Sequence[str] = ()
) -> Sheet:
    """A sheet for a species.

    Parameters
    ----------
    fields : columns of births instead of the usual ones of the species; dam, birth and outcome always stand on it.
    asked : columns that a review asked for, added to them; where a line is too short for all, usual ones that it did
        not ask for give way first. Those that no field or slip takes, or no room is left for, are ``left_out``.

    Raises
    ------
    CannotRead : a species, language or field that there is not, or more fields than a side of paper takes.
    """
    _must_be_known(species, language, fields)
    meant = [own for name in asked for own in ELSEWHERE.get(name, (name,))]
    firm = dict.fromkeys((*NEEDED, *fields))
    more = dict.fromkeys((*(name for name in meant if name in BY_NAME), *(() if fields else USUAL[species])))
    wanted = [*firm, *(name for name in more if name not in firm)]
    while (layout := _layout(wanted, species)) is None and len(wanted) > len(firm):
        wanted.pop()
    if layout is None:
        raise CannotRead(
            f"These fields take {_width(wanted):.0f} mm beside each other and a line has {UPRIGHT_MM} mm; choose fewer."
        )
    slots, across = layout
    chosen = tuple(field for field in FIELDS if field.name in wanted)
    known = {*wanted, *SLIP_FIELDS, *(column.name for column in FEEDS)}
    left_out = tuple(name for name in dict.fromkeys(meant) if name not in known)
    voice = Voice(language=language, species=species)
    return Sheet(species, voice, shed_words(language), chosen, slots, across, left_out)


def _must_be_known(species: str, language: str, fields: Iterable[str]) -> None:
    if species not in terms.SPECIES:
        raise CannotRead(f'species "{species}" is not known; write one of {", ".join(terms.SPECIES)}.')
    if language not in shed_languages():
        raise CannotRead(
            f'language "{language}" has no sheet for the shed; write one of {", ".join(shed_languages())}.'
        )
    for name in fields:
        if name not in BY_NAME:
            raise CannotRead(
                f'"{name}" is no field of the sheet for the shed; there are {", ".join(BY_NAME)}. What became of a '
                "dead one stands on its slip."
            )


def _layout(names: Sequence[str], species: str) -> tuple[int, bool] | None:
    """How many newborns side by side, and whether the paper lies across; None where not even one has room."""
    for slots in () if species in SINGLY else (3, 2):
        if _width(names, slots) <= ACROSS_MM:
            return slots, True
    return (1, False) if _width(names) <= UPRIGHT_MM else None


def _width(names: Iterable[str], slots: int = 1) -> float:
    """What the fields take beside each other, in mm, with so many newborns."""
    fields = [BY_NAME[name] for name in names]
    return NUMBER_MM + sum(width_mm(field, slots > 1) * (1 if field.of_litter else slots) for field in fields)


def width_mm(field: Field, across: bool) -> float:
    """What a field takes on paper: its own width, or what its codes need to be rung one by one."""
    return max(field.width_mm, len(shed_words("en").codes.get(field.name, ())) * PITCH_MM[across][0])


def asked_by(review: Path) -> tuple[tuple[str, ...], str]:
    """The columns that a written review asks to be recorded next, and its species ("" where it has several).

    Parameters
    ----------
    review : its folder, or the headline.json in it.

    Raises
    ------
    CannotRead : there is none, or it is of a review that does not say.
    """
    path = review / MARK if review.is_dir() else review
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise CannotRead(
            f"{path.name}: no {MARK} of a review can be read there; name the folder that the review wrote."
        ) from error
    if not isinstance(told, dict) or not isinstance(told.get("record_next"), list):
        raise CannotRead(f"{path.name}: it does not say what to record next; write the review again first.")
    return tuple(str(name) for name in told["record_next"]), str(told.get("species") or "")


def how_to(sheet: Sheet) -> tuple[str, ...]:
    """How to fill in the lines."""
    say = sheet.voice.say
    several = say(
        "One line a litter; {letters} are its {newborns}. A further one takes the next line, with the same dam.",
        letters=", ".join(sheet.letters),
    )
    single = say("One line a {newborn}; a twin takes the next line, with the same dam.")
    return (
        several if sheet.slots > 1 else single,
        say("Ring one code. Leave blank what was not seen: a blank is asked about, never guessed."),
        say("Died later needs a slip; dead at birth needs one where a cause was looked for."),
        say("After so many minutes: 45, a clock time (05:45), or “not by 06:30”."),
    )


def cautions(voice: Voice) -> tuple[str, ...]:
    """What is to be heeded with the sheet in hand."""
    say = voice.say
    return (
        say(
            "A newborn's and a dam's fluids can carry infections that reach people. Pregnant women, and anyone whose "
            "immunity is weak, keep away; everyone else wears gloves, washes hands, and gives no breath mouth to nose "
            "without a barrier."
        ),
        say(
            "Abortions: isolate the dam, keep foetus and afterbirth for the laboratory, ask a veterinary surgeon, "
            "report where the law says so. Touch a newborn only once its dam has taken it, or where it needs help "
            "anyway."
        ),
        say(
            "Drugs, tubing technique, plasma and post-mortem examination are for a veterinary surgeon or under their "
            "direction; local rules on medicines, carcass disposal and notifiable disease come first."
        ),
    )


def code_words(sheet: Sheet, name: str) -> list[tuple[str, str]]:
    """Each code of a field and what it means, in the sheet's language."""
    say = sheet.voice.say
    fates = {
        "dead at birth": say("dead at birth"),
        "died later": say("died later"),
        "alive": say("alive at the last look"),
    }
    return [
        (code, fates[word] if name == FATE else say(word)) for code, word in sheet.own.codes[name].items()
    ]
