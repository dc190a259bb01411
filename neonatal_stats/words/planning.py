"""Next season in words: what could be seen, what could be won, what to write down."""

from __future__ import annotations

from neonatal_stats.tables import printing
from neonatal_stats.words.column_names import column_name
from neonatal_stats.words.sentence import Sentence
from neonatal_stats.words.verdict import Verdict
from neonatal_stats.words.voice import Voice

OPENS = {
    "born_at": "when, by the hour, the losses fall, and every check of the first hours",
    "birth_weight_kg": "whether small or large {newborns} are lost more, and colostrum by weight",
    "delivery": "whether hard births and births by surgery lose more",
    "dam_parity": "whether first-time {dams} lose more",
    "sex": "whether males are lost more",
    "suck_reflex": "whether a weak suck reflex at 10 minutes marks those to feed by hand",
    "stood_after_min": "whether standing late marks those at risk",
    "fed_after_min": "whether late colostrum goes with loss",
    "mothered_up": "which {dams} reject, and what it costs",
    "died_at": "at what age {newborns} are lost: the survival curve",
    "cause": "what the losses were due to",
    "cause_basis": "how far the causes can be trusted",
    "last_seen_at": "that the living were truly seen alive at the end",
}
ASKED = {
    "all": "{newborns} born",
    "alive": "born alive",
    "lost": "lost after a live birth",
    "living": "not lost",
}

NEEDED = (
    "To see loss fall by {fall} next season, from {p0} to {p1}, about {n} {newborns} would be needed in each "
    "of the two seasons (chance of seeing it {power}); last season had {born}."
)
NEEDED_NONE = "With {lost} of {n} lost, how many births would show a fall cannot be worked out."
AVOIDABLE = (
    "Had {phrase} done as well as the rest, about {saved} fewer would have been lost a season ({low} to "
    "{high}){cost}."
)
AT_MOST = (
    "These are the most there is to win, and only if the group itself is the reason, which records cannot "
    "prove; groups overlap, so their losses must not be added up."
)
COST = ", worth {cost} ({low} to {high})"
LOST_COST = "The {lost} {newborns} lost by {window} in {season} cost {cost} at {price} each."
NO_PRICE = "No price of a {newborn} is set; with one in the settings, losses would be shown as cost."
REPEAT = {
    Verdict.CLEAR: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two or "
    "more; chance alone would give about {expected} ({low} to {high}). That is more than chance: look at "
    "these {dams_word} first.",
    Verdict.NO_CLEAR: "{observed} of {dams} {dams_word} seen in more than one season lost {newborns} in two "
    "or more; chance alone would give about {expected} ({low} to {high}), so most of them may just have been "
    "unlucky.",
}
RECORD = "Record next season: {columns} (so far written down for too few to answer what that opens)."
RECORD_ALL = "Every column that opens a question was recorded for at least {enough} of those it is asked of."


def needed_sentence(
    voice: Voice, *, fall: float, p0: float, p1: float, n: int, power: float, born: int
) -> Sentence:
    """Newborns needed to see a stated fall."""
    return Sentence(
        voice.say(
            NEEDED,
            fall=printing.percent(fall, 0),
            p0=printing.percent(p0),
            p1=printing.percent(p1),
            n=printing.count(n),
            power=printing.percent(power, 0),
            born=printing.count(born),
        )
    )


def avoidable_sentence(voice: Voice, phrase: str, found: tuple[float, float, float], cost: str) -> Sentence:
    """What a group could save a season, at most."""
    saved, low, high = (printing.number(one, 0) for one in found)
    text = voice.say(AVOIDABLE, phrase=phrase, saved=saved, low=low, high=high, cost=cost)
    return Sentence(text, None, found[0])


def at_most(voice: Voice) -> Sentence:
    """What an avoidable loss is not."""
    return Sentence(voice.say(AT_MOST))


def money(amount: float, currency: str) -> str:
    """An amount in the keeper's currency."""
    return f"{printing.count(amount)} {currency}".strip()


def cost_phrase(voice: Voice, found: tuple[float, float, float], currency: str) -> str:
    """The same in money."""
    cost, low, high = found
    return voice.say(COST, cost=money(cost, currency), low=printing.count(low), high=printing.count(high))


def repeat_sentence(
    voice: Voice,
    *,
    observed: int,
    dams: int,
    expected: float,
    low: float,
    high: float,
    p: float,
    level: float,
) -> Sentence:
    """Dams that lost in more than one season beside chance."""
    verdict = Verdict.CLEAR if p < 1 - level else Verdict.NO_CLEAR
    text = voice.say(
        REPEAT[verdict],
        observed=printing.count(observed),
        dams=printing.count(dams),
        dams_word=voice.say("{dams}"),
        expected=printing.number(expected, 0),
        low=printing.number(low, 0),
        high=printing.number(high, 0),
    )
    return Sentence(text, verdict)


def record_sentence(voice: Voice, columns: list[str], enough: str) -> Sentence:
    """Which columns to record next season."""
    if not columns:
        return Sentence(voice.say(RECORD_ALL, enough=enough))
    named = ", ".join(column_name(voice, name) for name in columns)
    return Sentence(voice.say(RECORD, columns=named), role="record next")
