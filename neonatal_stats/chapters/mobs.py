"""From mating to weaning, told by the mob."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping
from typing import Any

from neonatal_stats.chapters.counted.mobs import Mobs
from neonatal_stats.chapters.counted.mobs import answer as count
from neonatal_stats.chapters.mobs_shown import (
    BETWEEN,
    CLASSES,
    PLACES,
    by_then,
    each_told,
    figures,
    mob_named,
    share_told,
    tables,
)
from neonatal_stats.chapters.protocol import MOBS, NOT_WATCHED, WHEN, Headline, heed
from neonatal_stats.measures.mobs import FEWEST_MOBS, FITTED
from neonatal_stats.season.model import Season
from neonatal_stats.words import Method, Sentence, joined, voice_of
from neonatal_stats.words.plain import money

NAME = "mobs"
TITLE = "From mating to weaning"
QUESTION = (
    "Of the {dams} {joined} and the {newborns} scanned, how many came through to {weaning}, and where did the "
    "others go?"
)
ALONE = ("mobs",)

__all__ = [
    "ALONE",
    "NAME",
    "QUESTION",
    "TITLE",
    "Mobs",
    "answer",
    "figures",
    "glance",
    "headlines",
    "method",
    "missing",
    "opened",
    "sentences",
    "tables",
]

Row = Mapping[Hashable, Any]

LEADS = {
    ("foetuses", "marked"): "In {season}, of the {newborns} scanned, {lost} were not there at {marking}.",
    ("foetuses", "weaned"): "In {season}, of the {newborns} scanned, {lost} were not there at {weaning}.",
    ("born", "marked"): "In {season}, of the {newborns} born, {lost} were not there at {marking}.",
    ("born", "weaned"): "In {season}, of the {newborns} born, {lost} were not there at {weaning}.",
}
COUNTED_ONLY = (
    "In {season}, {n} mobs were counted; a share lost needs those scanned or born, and those at {marking} or "
    "{weaning}."
)
PER = 100
PER_JOINED = {
    "foetuses": "Scanned per {per} {dams} {joined}: {each}.",
    "marked": "At {marking} per {per} {dams} {joined}: {each}.",
    "weaned": "At {weaning} per {per} {dams} {joined}: {each}.",
}
LARGEST = "Of {all} that went between {first} and {last}, {n} went {step}, the most of any stage."
OF_DAMS = {
    "dry": "Not in young: {share} of the {dams} scanned.",
    "dams died": "{Dams} that died: {share} of those {joined}.",
}
RANGE = "By mob the loss ran from {low} ({lowest}) to {high} ({highest})."
APART = {
    (
        True,
        False,
    ): "Beyond chance and littermates, the mobs lie {apart} percentage points apart (one standard deviation).",
    (
        True,
        True,
    ): "Beyond chance, littermates and their scanned classes, the mobs lie {apart} percentage points apart (one "
    "standard deviation).",
    (
        False,
        False,
    ): "The mobs lie no further apart than chance, and littermates that share one fate, would have them.",
    (
        False,
        True,
    ): "Their scanned classes allowed for, the mobs lie no further apart than chance, and littermates that share"
    " "
    "one fate, would have them.",
}
"""By whether the mobs lie apart, and whether their scanned classes could be allowed for."""
BY_CLASS = "There at {place}, of those scanned as so many, {seasons}: {told}."
AGAINST = (
    "On the same mix of scanned classes {season} kept {ratio} times what {seasons} together lead one to expect "
    "({low} to {high}, mobs allowed for; how seasons swing by themselves is not)."
)
COST = (
    "At {price} each, the {n} {newborns} that went between {first} and {last} come to {money}; nobody could have "
    "saved all."
)
NOT_USED = (
    "Of {n} rows on mobs, of all seasons, {aside} were set aside and {cleared} used without some of their counts; the "
    "set-aside list says why."
)
NO_MOBS = (
    "Left out as no mob (totals, or rows that count nothing): {none} of {n} rows on mobs, of all seasons."
)
ROUGH = "With {n} mobs the intervals are rough; from {fewest} on they hold."
ONE = "One mob tells nothing of how mobs differ: its interval allows for chance and littermates alone."
NOT_SINGLE = "Counts by the mob do not say which {newborns} were lost, at what age or of what."
BORN_NEXT = (
    "Count those born, the born dead among them, where it can be done without disturbing {dams} and {newborns}: "
    "it parts loss before birth from loss after."
)
ONE_MOB_NEXT = (
    "Write down single {newborns} of one mob at least, the dead ones too: that would show when they are lost and "
    "of what."
)
MISSED = (
    "Caution: a scan misses some and a muster misses others, so that a part of what went may never have been "
    "there, or be there still."
)


def opened(season: Season) -> bool:
    """Asked where anything was counted by the mob."""
    return len((season.whole or season).mobs) > 0


def missing(season: Season) -> tuple[str, ...]:
    """Open where anything was counted by the mob."""
    if opened(season):
        return ()
    return (voice_of(season).say("Not answered: nothing was counted by the mob."),)


def answer(season: Season) -> Mobs:
    """The mobs; `NotRecorded` where there are none."""
    heed(missing(season))
    return count(season)


def sentences(result: Mobs) -> tuple[Sentence, ...]:
    """The loss, the classes, the stage at which most went, so many for each dam, dams, mobs, seasons, money."""
    return (
        _lead(result),
        *_classes(result),
        *_largest(result),
        *_per_joined(result),
        *_dams(result),
        *_range(result),
        *_against(result),
        *_cost(result),
        *_cannot_say(result),
    )


def _lead(result: Mobs) -> Sentence:
    voice, main = voice_of(result), result.main
    if main is None:
        n = voice.count(len(result.here))
        return Sentence(voice.say(COUNTED_ONLY, season=result.season, n=n), lead=True)
    text = LEADS[result.start, result.kept]
    return Sentence(voice.say(text, season=result.season, lost=share_told(voice, main)), lead=True)


def _per_joined(result: Mobs) -> Iterator[Sentence]:
    voice, per = voice_of(result), voice_of(result).count(PER)
    for row in result.per_dam[result.per_dam["of"] == "joined"].to_dict("records"):
        if row["what"] in PER_JOINED:
            text = voice.say(PER_JOINED[row["what"]], per=per, each=each_told(voice, row, PER))
            yield Sentence(text)


def _largest(result: Mobs) -> Iterator[Sentence]:
    """The stage at which most went, where there are two or more at which any did."""
    voice, steps = voice_of(result), result.newborns
    went = steps[steps["lost"] > 0]
    if len(went) < 2:
        return
    place = int(went["lost"].to_numpy().argmax())
    at = int(went.index[place])
    step = BETWEEN[steps["stage"].iloc[at - 1], steps["stage"].iloc[at]]
    yield Sentence(
        voice.say(
            LARGEST,
            all=voice.count(went["lost"].sum()),
            first=voice.say(PLACES[steps["stage"].iloc[0]]),
            last=voice.say(PLACES[steps["stage"].iloc[-1]]),
            n=voice.count(went["lost"].iloc[place]),
            step=voice.say(step),
        )
    )


def _dams(result: Mobs) -> Iterator[Sentence]:
    voice = voice_of(result)
    for row in result.shares.to_dict("records"):
        if row["what"] in OF_DAMS:
            yield Sentence(voice.say(OF_DAMS[row["what"]], share=share_told(voice, row)))


def _range(result: Mobs) -> Iterator[Sentence]:
    """The mobs that lost least and most, and how far mobs lie apart beyond chance."""
    voice, known, main = voice_of(result), result.here.dropna(subset="share"), result.main
    if main is None or len(known) < 2:
        return
    known = known.sort_values(["share", "farm", "mob"])
    low, high = known.iloc[0], known.iloc[-1]
    said = voice.say(
        RANGE,
        low=voice.counts(low["events"], low["n"]),
        lowest=mob_named(result, low),
        high=voice.counts(high["events"], high["n"]),
        highest=mob_named(result, high),
    )
    if not math.isnan(main["apart"]):
        apart = voice.number(100 * main["apart"], 1)
        text = APART[main["apart"] > 0, bool(main["mix_allowed"])]
        said = joined((said, voice.say(text, apart=apart)))
    yield Sentence(said)


def _classes(result: Mobs) -> Iterator[Sentence]:
    """Survival by scanned class: of the mobs of one class, else as fitted over all mobs."""
    voice, rows = voice_of(result), result.classes.to_dict("records")
    known = [row for row in rows if row["mobs"] or not math.isnan(row["survival"])]
    if len(known) < 2:
        return
    told = joined((f"{voice.say(CLASSES[row['scan_class']])} {_class(result, row)}" for row in known), "; ")
    yield Sentence(voice.say(BY_CLASS, place=by_then(result), seasons=_seasons(result), told=told))


def _class(result: Mobs, row: Row) -> str:
    voice = voice_of(result)
    if row["mobs"]:
        return share_told(voice, row)
    if math.isnan(row["fitted"]):
        return voice.say("cannot be told apart")
    share, low, high = (voice.percent(row[name], 0) for name in FITTED)
    return voice.say("about {share} ({low} to {high})", share=share, low=low, high=high)


def _seasons(result: Mobs) -> str:
    voice, period = voice_of(result), result.period
    return voice.span(period[0], period[-1]) if len(period) > 1 else period[0]


def _against(result: Mobs) -> Iterator[Sentence]:
    """The season's newborns kept against the expected on one mix of scanned classes."""
    voice, main = voice_of(result), result.main
    if main is None or len(result.period) < 2 or math.isnan(main["against_low"]):
        return
    ends = {name: voice.ratio(main[f"against_{name}"]) for name in ("low", "high")}
    ratio = voice.ratio(main["against"])
    yield Sentence(voice.say(AGAINST, season=result.season, ratio=ratio, seasons=_seasons(result), **ends))


def _cost(result: Mobs) -> Iterator[Sentence]:
    """What went in money, where a price is set."""
    voice, settings, steps = voice_of(result), result.settings, result.newborns
    if settings.price is None or len(steps) < 2 or steps["lost"].sum() <= 0:
        return
    n = int(steps["lost"].sum())
    yield Sentence(
        voice.say(
            COST,
            price=money(voice, settings.price, settings.currency),
            n=voice.count(n),
            first=voice.say(PLACES[steps["stage"].iloc[0]]),
            last=voice.say(PLACES[steps["stage"].iloc[-1]]),
            money=money(voice, n * settings.price, settings.currency),
        )
    )


def _cannot_say(result: Mobs) -> Iterator[Sentence]:
    """What mobs do not tell, how rough the intervals are, what to count next, and what a count misses."""
    voice, n, read = voice_of(result), len(result.here), result.balance
    if read is not None and (read.set_aside or read.used_with_missing):
        yield Sentence(
            voice.say(
                NOT_USED,
                n=voice.count(read.rows_read),
                aside=voice.count(read.set_aside),
                cleared=voice.count(read.used_with_missing),
            ),
            role="cannot say",
        )
    if read is not None and read.no_record:
        text = voice.say(NO_MOBS, n=voice.count(read.rows_read), none=voice.count(read.no_record))
        yield Sentence(text, role="cannot say")
    if n == 1:
        yield Sentence(voice.say(ONE), role="cannot say")
    elif n < FEWEST_MOBS:
        rough = voice.say(ROUGH, n=voice.count(n), fewest=voice.count(FEWEST_MOBS))
        yield Sentence(rough, role="cannot say")
    yield Sentence(voice.say(NOT_SINGLE), role="cannot say")
    if result.alone:
        yield Sentence(voice.say(ONE_MOB_NEXT), role="record next")
    if "born" not in set(result.newborns["stage"]):
        yield Sentence(voice.say(BORN_NEXT), role="record next")
    if result.start == "foetuses":
        yield Sentence(voice.say(MISSED), role="caution")


def headlines(result: Mobs) -> tuple[Headline, ...]:
    """The loss between the two counts that mobs are compared by, those there for each dam joined, and the dry."""
    voice, main, nan = voice_of(result), result.main, math.nan
    found = []
    if main is not None:
        lost = (float(main[name]) for name in ("events", "n", "share", "low", "high"))
        label = voice.say("Lost to {place}, by the mob", place=by_then(result))
        found.append(Headline("mobs_lost", label, share_told(voice, main), *lost))
    for row in result.per_dam[result.per_dam["of"] == "joined"].to_dict("records"):
        if row["what"] == result.kept:
            label = voice.say("There at {place}, of {dams} {joined}", place=by_then(result))
            counts = voice.part_of(row["numerator"], row["denominator"])
            numbers = (float(row["numerator"]), float(row["denominator"]), nan, nan, nan)
            found.append(Headline("mobs_kept_of_joined", label, counts, *numbers))
    return tuple(found)


def glance(result: Mobs) -> tuple[Headline, ...]:
    """What page one leads with where no single newborn is on record: the loss, and the stages at which they went."""
    voice, main, steps, nan = voice_of(result), result.main, result.to_kept, math.nan
    if not result.alone or main is None or (steps["lost"] < 0).any():
        return ()
    n, names = float(main["n"]), list(steps["stage"])
    lost = [float(main[name]) for name in ("events", "n", "share", "low", "high")]
    label = by_then(result)
    found = [
        Headline(MOBS[result.start], label, share_told(voice, main), *lost),
        Headline(NOT_WATCHED, label, voice.count(0), 0.0, n, nan, nan, nan),
    ]
    for before, row in zip(names, steps.iloc[1:].to_dict("records"), strict=False):
        words = voice.say(BETWEEN[before, row["stage"]])
        told = voice.count(row["lost"])
        found.append(Headline(f"{WHEN}{row['stage']}", words, told, float(row["lost"]), n, nan, nan, nan))
    return tuple(found)


def method(result: Mobs) -> Method:
    """How mobs were counted."""
    voice = voice_of(result)
    say = voice.say
    return Method(
        method=(
            say(
                "A mob is the cluster of every interval: {newborns} of one mob share paddock, weather, feed and "
                "care. A share has Wilson's interval at the number divided by the design effect of the mobs, with"
                " the correction that few clusters need."
            ),
            say(
                "So many for each {dam} is the ratio of two totals, its logarithm with the jackknife over mobs "
                "and Student's t; a mob's own interval reckons as if all littermates shared one fate."
            ),
            say(
                "Survival by scanned class is that of the mobs of one class alone where there are any; else it is"
                " fitted over all mobs (least squares of those kept on the foetuses of each class), which takes "
                "every mob to do alike, with limits from the mobs' scatter about it; a fit at 0 or 100 %, or with wide "
                "limits, tells nothing. Against expected: those kept over what the classes of the season's mobs "
                "lead one to expect."
            ),
            say(
                "Foetuses scanned are as written, else one, two and three for each {dam} scanned so; more than "
                "three count as three. The flow is of the mobs that were counted at all of its stages."
            ),
        ),
        settings=(say("Confidence level: {level}.", level=voice.percent(result.settings.level, 0)),),
        limits=(
            say(
                "Mobs differ in dams, feed, paddock and weather together: a mob that lost more has not shown why,"
                " and no mob is called worse here."
            ),
            say(
                "Where mobs are drafted by what the {dams} carry, the intervals also hold the difference between the "
                "classes: they are rather too wide than too narrow."
            ),
            say(
                "Intervals were simulated and hold from {n} mobs on; of fewer they are rough.",
                n=voice.count(FEWEST_MOBS),
            ),
        ),
        sources=(
            say("Rao JNK, Scott AJ (1992) Biometrics 48:577-585."),
            say("Bell RM, McCaffrey DF (2002) Surv Methodol 28:169-181."),
            say("Miller RG (1974) Biometrika 61:1-15."),
            say("DerSimonian R, Laird N (1986) Control Clin Trials 7:177-188."),
        ),
    )
