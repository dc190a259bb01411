"""Treatments told: what was given, whom it reached and what became of them; never as an effect, and never a claim."""

from __future__ import annotations

from collections.abc import Iterator

from neonatal_stats.chapters.counted.treatments import (
    COLD,
    COOL,
    ENERGY_FIRST,
    NO_ENERGY,
    NOT_TAKEN,
    NOT_TOLD,
    WARM,
    WARMED_FIRST,
    Treatments,
)
from neonatal_stats.chapters.counted.treatments import answer as count
from neonatal_stats.chapters.protocol import heed, interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Method, Sentence, Voice, cautions, joined, voice_of
from neonatal_stats.words.names import label

ALONE = ("treatments",)
NAME = "treatments"
TITLE = "Treatments"
QUESTION = "What was given and done, to which {newborns}, and what became of these?"

NO_EFFECT = (
    "Who is treated is mostly who was ill, weak, cold or in danger, or who lived long enough to be treated. That many "
    "of the treated were lost, or few, says nothing of what the treatment did (confounding by indication): these "
    "figures describe, and no treatment is to be begun, changed or stopped because of them."
)
TEMPERATURES = {
    COLD: "under {cold} °C",
    COOL: "{cold} to {cool} °C",
    WARM: "over {cool} °C",
    NOT_TAKEN: "temperature not taken",
}
ORDERS = {
    ENERGY_FIRST: "energy before warming",
    WARMED_FIRST: "warming before energy",
    NO_ENERGY: "no energy given",
    NOT_TOLD: "order not told",
}


def opened(season: Season) -> bool:
    """Asked where any treatment was written down."""
    return len(season.treatments) > 0


def missing(season: Season) -> tuple[str, ...]:
    """Open with one treatment in the season."""
    if len(season.treatments):
        return ()
    return (voice_of(season).say("Not answered: no treatment of this season was written down."),)


def answer(season: Season) -> Treatments:
    """What was given; `NotRecorded` where nothing was written down."""
    heed(missing(season))
    return count(season)


def sentences(result: Treatments) -> tuple[Sentence, ...]:
    """What was given to how many, what it cannot say, and warming by temperature and order."""
    voice = voice_of(result)
    return (
        Sentence(_given(result, voice), lead=True),
        Sentence(voice.say(NO_EFFECT), goes_on=True),
        *_warming(result, voice),
        *_unplaced(result, voice),
        *((cautions.navel(voice),) if "navel care" in set(result.given["treatment"]) else ()),
        cautions.weak_and_cold(voice, result.settings.marks),
        Sentence(
            voice.say(
                "Drugs and vaccines only as a veterinary surgeon directs; local rules on medicines come first."
            ),
            role="caution",
        ),
    )


def _given(result: Treatments, voice: Voice) -> str:
    if result.given.empty:
        return voice.say(
            "Rows of treatments read: {n}. None says which treatment it was, so nothing can be counted; say in "
            "the map under [treatments.words.product] which product is which.",
            n=voice.count(result.counted.n),
        )
    return voice.say("Given or done: {listed}.", listed=joined(_listed(result, voice), "; "))


def _listed(result: Treatments, voice: Voice) -> Iterator[str]:
    for row in result.given.to_dict("records"):
        name = label(voice, row["treatment"])
        if not result.with_births or not row["n"]:
            yield voice.say("{treatment}, times: {n}", treatment=name, n=voice.count(row["rows"]))
            continue
        yield voice.say(
            "{treatment}, {newborns}: {n}, lost afterwards {lost}",
            treatment=name,
            n=voice.count(row["newborns"]),
            lost=voice.part_of(row["lost"], row["n"]),
        )


def _warming(result: Treatments, voice: Voice) -> Iterator[Sentence]:
    """Warming by temperature and order, and how often energy came first where that is common practice."""
    if result.warmed.empty:
        return
    listed = (
        voice.say(
            "{temperature}, {order}: {n}",
            temperature=_temperature(result, voice, str(row["temperature"])),
            order=voice.say(ORDERS[row["order"]]),
            n=voice.count(row["n"]),
        )
        for row in result.warmed.to_dict("records")
    )
    yield Sentence(
        voice.say("{Newborns} warmed, by temperature and order: {listed}.", listed=joined(listed, "; "))
    )
    first, due = result.energy_due
    if due:
        yield Sentence(
            voice.say(
                "Of those under {cold} °C and over {hours} old, energy came before warming in {part}, as is common "
                "practice.",
                cold=voice.number(result.settings.marks.cold_c, 0),
                hours=voice.age(result.settings.marks.energy_first_h),
                part=voice.part_of(first, due),
            )
        )


def _temperature(result: Treatments, voice: Voice, name: str) -> str:
    marks = result.settings.marks
    return voice.say(
        TEMPERATURES[name], cold=voice.number(marks.cold_c, 0), cool=voice.number(marks.cool_c, 0)
    )


def _unplaced(result: Treatments, voice: Voice) -> Iterator[Sentence]:
    if result.unplaced:
        text = voice.say(
            "Treatments that reach no {newborn} of the births: {n}. The row names nobody, a {dam} of several, or one "
            "that no birth has.",
            n=voice.count(result.unplaced),
        )
        yield Sentence(text, role="cannot say")


def figures(result: Treatments) -> tuple[Figure, ...]:
    """None: a picture of shares side by side would be read as an effect."""
    return ()


def tables(result: Treatments) -> tuple[Table, ...]:
    """What was given and to whom; warming by temperature and order."""
    voice = voice_of(result)
    say = voice.say
    given = result.given.assign(name=[label(voice, one) for one in result.given["treatment"]])
    fate = (
        columns.count("newborns", say("{Newborns} reached")),
        columns.count("born", say("Born alive")),
        columns.count("lost", say("Lost afterwards")),
        columns.count("n", say("Of how many")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
    )
    built = [
        Table(
            "treatments-given",
            say("What was given and done"),
            given,
            (
                columns.text("name", say("Treatment"), raw="treatment"),
                columns.count("rows", say("Times")),
                *(fate if result.with_births else ()),
            ),
            note=say("No effect of a treatment can be read from these shares: see above."),
            printer=voice,
        )
    ]
    if len(result.warmed):
        built.append(_warmed_table(result, voice))
    return tuple(built)


def _warmed_table(result: Treatments, voice: Voice) -> Table:
    say, rows = voice.say, result.warmed
    first, due = result.energy_due
    return Table(
        "treatments-warmed",
        say("Warming, by temperature and order"),
        rows.assign(
            name=[_temperature(result, voice, one) for one in rows["temperature"]],
            came=[say(ORDERS[one]) for one in rows["order"]],
        ),
        (
            columns.text("name", say("Temperature before"), raw="temperature"),
            columns.text("came", say("Order"), raw="order"),
            columns.count("n", say("{Newborns}")),
            *((columns.count("lost", say("Lost in the end")),) if result.with_births else ()),
        ),
        note=say(
            "Cold and old enough for energy first: {due}, of which {first} were given it first.",
            due=voice.count(due),
            first=voice.count(first),
        ),
        printer=voice,
    )


def method(result: Treatments) -> Method:
    """How rows are counted, and why no effect is read."""
    say = voice_of(result).say
    return Method(
        (
            say(
                "Each {newborn} counts once under each treatment, from its first; lost afterwards are those that died "
                "within follow-up and not before it. A {dam}'s vaccine counts for all of her litter."
            ),
        ),
        (),
        (
            say(
                "Treated and untreated {newborns} differ in all that led to the treatment, and none of it is allowed "
                "for."
            ),
            say("One that died early could not be treated any more: the treated had lived until then."),
        ),
    )
