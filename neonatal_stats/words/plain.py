"""Numbers as people at a table say them: so many in 100, ages in whole words, columns by what they ask.

Small shares are told out of 1 000. A frequency is a share rounded, and nothing else: the tables hold what was rounded.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from neonatal_stats.words.voice import Voice

HUNDRED, THOUSAND = 100, 1000


def out_of(shares: Iterable[float]) -> int:
    """Out of how many shares that stand side by side are told: 100; 1 000 where 100 would hide a share or a difference.

    >>> out_of([0.16, 0.11]), out_of([0.004, 0.02]), out_of([0.021, 0.024]), out_of([0.0])
    (100, 1000, 1000, 100)
    """
    known = {share for share in shares if not math.isnan(share)}
    hidden = any(0 < share < 0.005 for share in known)
    alike = len({round(HUNDRED * share) for share in known}) < len(known)
    return THOUSAND if hidden or alike else HUNDRED


def whole(voice: Voice, share: float, of: int = HUNDRED) -> str:
    """How many of so many: "12"; "under 1" for one that would round to none.

    >>> whole(Voice(), 0.1234), whole(Voice(), 0.002), whole(Voice(), 0.002, 1000)
    ('12', 'under 1', '2')
    """
    told = round(of * share)
    if told or not share:
        return voice.count(told)
    return voice.say("under {n}", n=voice.count(1))


def frequency(voice: Voice, share: float, of: int = HUNDRED) -> str:
    """A share as a natural frequency: "12 in 100"."""
    return voice.say("{n} in {all}", n=whole(voice, share, of), all=voice.count(of))


def between(voice: Voice, low: float, high: float, of: int = HUNDRED) -> str:
    """The range of a share in words: "between 9 and 14 in 100"; "up to 5 in 100" from none on."""
    ends = [whole(voice, end, of) for end in (low, high)]
    if not low:
        return voice.say("up to {high} in {all}", high=ends[1], all=voice.count(of))
    if ends[0] == ends[1]:
        return voice.say("about {n} in {all}", n=ends[0], all=voice.count(of))
    return voice.say("between {low} and {high} in {all}", low=ends[0], high=ends[1], all=voice.count(of))


def old(voice: Voice, age_h: float) -> str:
    """An age in words, in the unit that the settings name it in: "7 days", "24 hours".

    >>> old(Voice(), 168), old(Voice(windows=((48.0, "48 h"),)), 48), old(Voice(), 1)
    ('7 days', '48 hours', '1 hour')
    """
    number, _, unit = voice.age(age_h).rpartition("\u00a0")
    if unit == voice.number_words.hours:
        return voice.say("1 hour") if number == "1" else voice.say("{n} hours", n=number)
    if unit == voice.number_words.days:
        return voice.say("1 day") if number == "1" else voice.say("{n} days", n=number)
    return voice.age(age_h)


def money(voice: Voice, amount: float, currency: str) -> str:
    """An amount in the keeper's currency."""
    return f"{voice.count(amount)} {currency}".strip()


ASKS = {
    "dam_id": "which {dam} it was born to",
    "born_at": "the hour of birth",
    "litter_size": "how many were born together",
    "sex": "its sex",
    "birth_weight_kg": "its weight at birth",
    "delivery": "how it was born",
    "dam_parity": "which {litter} of the {dam} it was",
    "dam_condition": "how fat or thin the {dam} was",
    "sire_id": "its sire",
    "breed": "its breed",
    "birth_place": "indoors or outdoors",
    "group": "its pen, paddock or mob",
    "born_alive": "born alive or dead",
    "premature": "whether it came before its time",
    "gestation_d": "how long the {dam} carried it",
    "birth_order": "which of the litter came first",
    "breathing_after_s": "how long until it breathed",
    "suck_reflex": "whether it sucked strongly at 10 minutes",
    "stood_after_min": "how long until it stood",
    "fed_after_min": "how long until it first fed",
    "meconium_after_min": "how long until it passed its first dung",
    "mothered_up": "whether the {dam} took it",
    "rectal_temperature_c": "its temperature",
    "died_at": "when it died, or was found dead",
    "cause": "what it died of",
    "cause_basis": "who or what says why it died",
    "last_seen_at": "when it was last seen alive",
}
"""What a column asks, as a keeper would put it; for every column that the records may be asked for."""


def asks(voice: Voice, column: str) -> str:
    """What a column of births asks, in spoken words."""
    return voice.say(ASKS[column])
