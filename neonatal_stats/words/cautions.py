"""Cautions that stand where a reader might act (resuscitation, drugs, tubing, plasma, fluids that infect people),
and those at the foot of every review.
"""

from __future__ import annotations

from neonatal_stats.words.evidence import Sentence
from neonatal_stats.words.voice import Voice


def resuscitation(voice: Voice) -> Sentence:
    """Beside anything about starting a newborn's breathing."""
    return Sentence(
        voice.say(
            "Caution: a newborn's fluids can carry infections that reach people. Pregnant women, and anyone whose "
            "immunity is weak, keep away; everyone else wears gloves, washes hands and gives no breath mouth to nose "
            "without a barrier. Drugs only on a veterinary surgeon's direction."
        ),
        role="caution",
    )


def tubing(voice: Voice) -> Sentence:
    """Beside anything about feeding by tube."""
    return Sentence(
        voice.say(
            "Caution: a tube in the windpipe drowns a {newborn}. Learn tubing from a veterinary surgeon "
            "before it is needed; never tube one that cannot hold up its head or that is cold."
        ),
        role="caution",
    )


def without_colostrum(voice: Voice, hours: str) -> Sentence:
    """Beside anything about newborns that got no colostrum in time."""
    return Sentence(
        voice.say(
            "A {newborn} without colostrum by {hours} is treated as without immunity of its own (common "
            "practice). Whether it needs drugs or plasma is for a veterinary surgeon to decide.",
            hours=hours,
        ),
        role="caution",
    )


def other_colostrum(voice: Voice) -> Sentence:
    """Beside anything about colostrum from another dam or another farm."""
    return Sentence(
        voice.say(
            "Caution: colostrum from another dam or another farm can carry disease. Ask a veterinary "
            "surgeon which sources are safe for this {herd}, and follow local rules."
        ),
        role="caution",
    )


def blood(voice: Voice) -> Sentence:
    """Beside anything about blood samples and what follows from them."""
    return Sentence(
        voice.say(
            "Drawing blood, and any treatment that follows from a result, is for a veterinary surgeon or "
            "under their direction."
        ),
        role="caution",
    )


def handling(voice: Voice) -> Sentence:
    """Beside anything about touching newborns, dams and afterbirth while they bond."""
    return Sentence(
        voice.say(
            "Handling a {newborn} before its dam has bonded can end in rejection (common practice): watch "
            "from a distance first, but not too long. Birth fluids can carry infections that reach people: pregnant "
            "women, and anyone whose immunity is weak, keep away; everyone else wears gloves and washes hands."
        ),
        role="caution",
    )


def outbreak(voice: Voice) -> tuple[Sentence, ...]:
    """Beside what looks like an outbreak: when a vet is usually called, and what is usually done until then."""
    say = voice.say
    texts = (
        say(
            "Usually a reason to call a veterinary surgeon the same day (common practice): several deaths in a few "
            "days in one place, the same signs in {newborns} of different {dams}, sudden deaths, scours that spread "
            "from pen to pen, or more than one abortion close together."
        ),
        say(
            "Until then, usually (common practice): isolate the sick and their {dams}; bring no {newborns} into or "
            "out of the place and foster none; let {dams} still to give birth do so on clean ground; see to the "
            "healthy before the sick; clean boots, hands and tools between pens; write down day, place and signs of "
            "each."
        ),
        say(
            "Samples (common practice): fresh carcasses, kept cool and not frozen, samples from sick {newborns} not "
            "yet treated, and after abortions foetus and afterbirth; ask the veterinary surgeon which. What must be "
            "reported, and how carcasses are handled, local rules say: they come first."
        ),
        say(
            "Some infections of {newborns}, and most that cause abortion, reach people: pregnant women, and anyone "
            "whose immunity is weak, keep away; everyone else wears gloves and washes hands."
        ),
    )
    return tuple(Sentence(text, role="caution") for text in texts)


def in_short(voice: Voice) -> tuple[str, ...]:
    """The usual cautions in the fewest words, for the keeper's sheet."""
    say = voice.say
    return (
        say(
            "Pregnant women and people of weak immunity keep away from births; all others wear gloves, wash hands."
        ),
        say("Drugs, stomach tubes and post-mortems: only with your vet."),
        say("Local rules on medicines and carcasses come first."),
        say("The numbers show what went together, not what caused it."),
    )


def cautions(voice: Voice) -> tuple[str, ...]:
    """The usual cautions, in printed order."""
    say = voice.say
    return (
        say(
            "A {newborn}'s and a {dam}'s fluids, afterbirth and soiled clothing can carry infections that reach "
            "people. Pregnant women, and anyone whose immunity is weak, keep away from {dams} giving birth, {newborns} "
            "and afterbirth; everyone else wears gloves, washes hands, and gives no breath mouth to nose without a "
            "barrier."
        ),
        say(
            "Drugs, tubing technique, transfusion and post-mortem examination are for a veterinary surgeon or under "
            "their direction."
        ),
        say("Local rules on medicines, carcass disposal and notifiable disease come first."),
        say("The figures show association in these records, not proof of cause."),
        say(
            "The marks for the first hours are common practice unless a source is named; they can be changed in the "
            "settings."
        ),
    )
