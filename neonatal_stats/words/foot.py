"""The cautions that belong at the foot of every review."""

from __future__ import annotations

from neonatal_stats.words.voice import Voice


def cautions(voice: Voice) -> tuple[str, ...]:
    """The usual cautions, in printed order; the first two also stand on the keeper's summary."""
    say = voice.say
    return (
        say(
            "A {newborn}'s and a {dam}'s fluids can carry infections that reach people, pregnant women above all: "
            "gloves, and no mouth-to-nose breathing without a barrier."
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
