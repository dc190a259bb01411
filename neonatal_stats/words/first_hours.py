"""The words of the first hours: what was checked, what was seen, what went with a loss."""

from __future__ import annotations

from neonatal_stats.season.settings import Marks
from neonatal_stats.tables import printing
from neonatal_stats.words.voice import Voice

KEYS = ("breathing", "suck", "standing", "standing_late", "feeding", "meconium")


def check_label(voice: Voice, key: str, marks: Marks) -> str:
    """The printed name of a check, with the mark it is held against."""
    within = {
        "breathing": ("breathing regularly within {mark} s", printing.number(marks.breathing_s, 0)),
        "suck": ("strong suck reflex at {mark} min", printing.number(marks.suck_reflex_min, 0)),
        "standing": ("standing by {mark}", printing.age(marks.standing_h)),
        "standing_late": ("standing by {mark}", printing.age(marks.standing_late_h)),
        "feeding": ("fed by {mark}", printing.age(marks.fed_h)),
        "meconium": ("meconium passed by {mark}", printing.age(marks.meconium_h)),
    }
    template, mark = within[key]
    return voice.say(template, mark=mark)


def state_label(voice: Voice, state: str) -> str:
    """The printed name of one of the four states of a milestone."""
    templates = {
        "met": "met",
        "not met": "not met",
        "died before it was due": "died before it was due",
        "not observed": "not observed",
    }
    return voice.say(templates[state])


def met_sentence(voice: Voice, check: str, met: str, unseen: str, dead: str) -> str:
    """How many met a milestone, of those observed, and how many nobody can tell."""
    return voice.say(
        "{check}: {met} of those observed. Not observed, so not counted either way: {unseen}; died before "
        "it was due: {dead}.",
        check=check,
        met=met,
        unseen=unseen,
        dead=dead,
    )


def not_met_phrase(voice: Voice, key: str, marks: Marks) -> str:
    """The newborns that did not meet a check, as part of a sentence."""
    phrases = {
        "breathing": (
            "{newborns} not breathing regularly within {mark} s",
            printing.number(marks.breathing_s, 0),
        ),
        "suck": (
            "{newborns} with a weak or absent suck reflex at {mark} min",
            printing.number(marks.suck_reflex_min, 0),
        ),
        "standing": ("{newborns} not standing by {mark}", printing.age(marks.standing_h)),
        "standing_late": ("{newborns} not standing by {mark}", printing.age(marks.standing_late_h)),
        "feeding": ("{newborns} not fed by {mark}", printing.age(marks.fed_h)),
        "meconium": ("{newborns} that had passed no meconium by {mark}", printing.age(marks.meconium_h)),
    }
    template, mark = phrases[key]
    return voice.say(template, mark=mark)


def losses_sentence(voice: Voice, window: str) -> str:
    """What the comparisons that follow count."""
    return voice.say(
        "Checks and loss: of {newborns} alive when a check was due, those lost by {window}. A check tells "
        "which to watch; it does not say why they were lost.",
        window=window,
    )


def group_sentence(voice: Voice, **values: str) -> str:
    """A group that met a milestone less often than its comparison, after allowing for how many were tried."""
    return voice.say(
        "{check}: missed more often by {group}, {share}, than by {versus}, {versus_share} (q {q}, of {tried} "
        "comparisons tried).",
        **values,
    )


def no_group_sentence(voice: Voice, tried: str) -> str:
    """No group stood out."""
    return voice.say(
        "Of {tried} comparisons of groups (birth type, delivery, parity, weight, season), no clear "
        "difference in meeting the marks is left once the number tried is allowed for.",
        tried=tried,
    )


def resuscitation_sentence(voice: Voice, treated: str, lost: str, rest: str, window: str) -> str:
    """What was done to start newborns breathing, without implying that it changed the outcome."""
    return voice.say(
        "Something was done to start breathing for {treated}. Of these {lost} were lost by {window}; of "
        "those for which nothing was needed, {rest}. The two were not alike when they were born, so this "
        "does not show what the help did.",
        treated=treated,
        lost=lost,
        rest=rest,
        window=window,
    )
