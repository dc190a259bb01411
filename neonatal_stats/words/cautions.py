"""Cautions that stand where a reader might act, and those at the foot of every review.

People first (fluids that infect them), then what can harm an animal: tubing, warming and energy in the wrong order,
handling before a dam has bonded, drugs and plasma; abortion, navel and euthanasia as agreed with a vet beforehand.
Common practice, all of it; temperatures and hours are marks of the settings.
"""

from __future__ import annotations

from collections.abc import Collection

from neonatal_stats.season.settings import Marks
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


def tubing(voice: Voice, marks: Marks) -> Sentence:
    """Beside anything about feeding by tube."""
    return Sentence(
        voice.say(
            "Caution: a tube in the windpipe drowns a {newborn}. Learn tubing from a veterinary surgeon before it is "
            "needed. Never tube one that cannot hold up its head or swallow, or that is under {cold} °C.",
            cold=voice.number(marks.cold_c, 0),
        ),
        role="caution",
    )


def weak_and_cold(voice: Voice, marks: Marks) -> Sentence:
    """Beside anything about newborns that are slow to stand or feed."""
    return Sentence(_weak_and_cold(voice, marks), role="caution")


def wet_and_wind(voice: Voice) -> Sentence:
    """Beside anything about weather: what to do with those that have grown cold stands in the usual cautions."""
    return Sentence(
        voice.say(
            "Shelter before a storm; feed a cold {newborn} only once it is warm and swallows (see the cautions)."
        ),
        role="caution",
    )


def _weak_and_cold(voice: Voice, marks: Marks) -> str:
    """What is done first, by temperature and age: common practice, and a vet's to teach."""
    return voice.say(
        "Weak or cold {newborns} (common practice): {cold} to {cool} °C: dry, shelter, feed. Under {cold} °C: up to "
        "about {hours} old, dry and warm first; older, energy before warming, as a veterinary surgeon has shown. Feed "
        "only once warm and swallowing.",
        cold=voice.number(marks.cold_c, 0),
        cool=voice.number(marks.cool_c, 0),
        hours=voice.age(marks.energy_first_h),
    )


def navel(voice: Voice) -> Sentence:
    """Beside anything about the first hours."""
    return Sentence(_navel(voice), role="caution")


def _navel(voice: Voice) -> str:
    return voice.say("Care for navels at birth as agreed with your veterinary surgeon.")


def abortion(voice: Voice) -> Sentence:
    """Beside anything about newborns born dead, and losses that come close together."""
    return Sentence(_abortion(voice), role="caution")


def _abortion(voice: Voice) -> str:
    return voice.say(
        "Abortions, or more dead than usual: isolate the {dam}, keep foetus and afterbirth for the laboratory, ask a "
        "veterinary surgeon, report where the law says so. Gloves; no pregnant women near."
    )


def euthanasia(voice: Voice) -> Sentence:
    """Beside anything about newborns that cannot be helped."""
    return Sentence(_euthanasia(voice), role="caution")


def _euthanasia(voice: Voice) -> str:
    return voice.say(
        "Where suffering cannot be relieved: put the {newborn} down without delay, as agreed beforehand with your "
        "veterinary surgeon."
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
            "Drawing blood, and treatment by its result, are for a veterinary surgeon or under their direction."
        ),
        role="caution",
    )


def handling(voice: Voice) -> Sentence:
    """Beside anything about touching newborns, dams and afterbirth while they bond."""
    return Sentence(
        voice.say(
            "Handling a {newborn} before its dam has bonded can end in rejection, in sheep above all (common "
            "practice): watch from a distance first, but not too long. Birth fluids can infect people: gloves, and "
            "neither pregnant women nor anyone whose immunity is weak."
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


TOUCHING = ("birth_weight_kg", "suck_reflex", "rectal_temperature_c")
"""Columns that nobody can fill without touching the newborn."""


def touching(voice: Voice, columns: Collection[str]) -> tuple[Sentence, ...]:
    """Beside advice to write down what cannot be known without touching every newborn; none where none of it is."""
    if not set(TOUCHING) & set(columns):
        return ()
    return (Sentence(_touching(voice), role="caution"),)


def touching_in_short(voice: Voice, columns: Collection[str]) -> str:
    """The same in the fewest words, "" where nothing is touched."""
    touched = set(TOUCHING) & set(columns)
    return voice.say("Touch it for this only once its dam has taken it.") if touched else ""


def _touching(voice: Voice) -> str:
    return voice.say(
        "Touch a {newborn} for this only once its dam has taken it, or where it needs help anyway: a blank is better "
        "than one left by its dam."
    )


def in_short(voice: Voice) -> tuple[str, ...]:
    """The usual cautions in the fewest words, for the keeper's sheet."""
    say = voice.say
    return (
        say(
            "Pregnant women and people of weak immunity keep away from births, newborns and afterbirth; all others "
            "wear gloves, wash hands."
        ),
        say("Abortions; weak, cold or suffering ones: agree beforehand with your vet."),
        say("Drugs, stomach tubes and post-mortems: only with your vet."),
        say("Local rules on medicines and carcasses come first."),
        say("The numbers show what went together, not what caused it."),
    )


def cautions(voice: Voice, marks: Marks) -> tuple[str, ...]:
    """The usual cautions, in printed order."""
    say = voice.say
    return (
        say(
            "A {newborn}'s and a {dam}'s fluids, afterbirth and soiled clothing can carry infections that reach "
            "people. Pregnant women, and anyone whose immunity is weak, keep away from {dams} giving birth, {newborns} "
            "and afterbirth; everyone else wears gloves, washes hands, and gives no breath mouth to nose without a "
            "barrier."
        ),
        _abortion(voice),
        _weak_and_cold(voice, marks),
        say("Never tube a {newborn} that cannot hold up its head or swallow."),
        _navel(voice),
        _euthanasia(voice),
        _touching(voice),
        say(
            "Drugs, tubing technique, transfusion and post-mortem examination are for a veterinary surgeon or under "
            "their direction."
        ),
        say("Local rules on medicines, carcass disposal and notifiable disease come first."),
        say(
            "Marks for the first hours are common practice unless a source is named; the settings change them."
        ),
    )
