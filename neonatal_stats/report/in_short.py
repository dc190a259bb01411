"""A claim in at most 20 plain words, with natural frequencies: what page one says of what stands out.

The exact sentence is the chapter's own; here are who and how many in 100, and nothing else. Where a claim holds like
against like (season by season, weakness allowed for) and the plain counts point the other way, no counts are told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import date

from neonatal_stats.measures.claims import Claim
from neonatal_stats.measures.contrasts import NULL, REST
from neonatal_stats.measures.on_the_calendar import EVERYWHERE
from neonatal_stats.vocabulary.factors import BY_NAME
from neonatal_stats.vocabulary.terms import STILLBIRTH
from neonatal_stats.words import Voice, joined
from neonatal_stats.words.evidence import seasons_compared
from neonatal_stats.words.names import factor_in_short, label, phrase
from neonatal_stats.words.plain import frequency, old, out_of, whole

MOST_WORDS = 20
MOST_OF_A_NAME = 4  # words of a level that is the farm's own text

LOST = "{who}: {a} lost, {versus} {b}."
MISSED = {
    "breathing": "Slow to breathe",
    "suck": "Weak or no suck reflex",
    "standing": "Not standing in time",
    "standing_late": "Very slow to stand",
    "feeding": "Not fed in time",
    "meconium": "First dung late",
}
"""The checks of the first hours, not met."""
TESTS = {
    "losses/born_week": "Some weeks of birth lost more than others, by more than chance.",
    "survival/birth_type": "Singles, twins and larger litters survived differently, by more than chance.",
    "birth_type/birth weight": "Loss went with birth weight, by more than chance.",
}
CONTRARY = {
    True: "{who}: higher than {versus}, once like is held against like.",
    False: "{who}: lower than {versus}, once like is held against like.",
}
TOGETHER = {
    True: "{place}: deaths rose from {onset} on ({low} to {high}): {n} died, {expected} expected.",
    False: "{place}: {n} died, {expected} expected, most of them from {onset} on (or {low} to {high}).",
}
NAMED_BY = {
    "difficulty": "birth",
    "parity_class": "{litters}",
    "suck_class": "suck reflex",
    "weight_class": "weight",
    "dam_condition": "condition",
    "group": "place",
    "breed": "breed",
    "sire_id": "sire",
    "source": "colostrum from",
    "person": "fed by",
}
"""Factors whose levels do not say by themselves what they are levels of, each in the fewest words."""
RATE = {
    True: "On the same mix of births, {second} lost {n} in {all} more than {first}.",
    False: "On the same mix of births, {second} lost {n} in {all} fewer than {first}.",
}
MIX = {
    True: "By the mix of births alone, {second} would lose {n} in {all} more than {first}.",
    False: "By the mix of births alone, {second} would lose {n} in {all} fewer than {first}.",
}
TREND = {
    True: "Loss rose over the seasons: {b} lost in {first}, {a} in {second}.",
    False: "Loss fell over the seasons: {b} lost in {first}, {a} in {second}.",
}
TREND_ALONE = {
    True: "Loss rose over the seasons as a whole, though not from the first to the last.",
    False: "Loss fell over the seasons as a whole, though not from the first to the last.",
}
COLD = {
    True: "{newborns} died {ratio} times as fast in the coldest fifth of their hours.",
    False: "{newborns} died more slowly in the coldest fifth of their hours.",
}


def in_short(voice: Voice, claim: Claim) -> str:
    """The claim in plain words."""
    if claim.key in TESTS:
        return voice.say(TESTS[claim.key])
    told = claim.about or claim.chapter in BY_LINE
    return (BY_CHAPTER.get(claim.chapter, _any) if told else _any)(voice, claim)


def span(voice: Voice, claim: Claim) -> str:
    """The seasons that a claim speaks of, as short as can be: "2026", "2023 to 2026", "2026 against 2025"."""
    if claim.against:
        return seasons_compared(voice, claim.period[-1], claim.against, claim.period)
    return voice.span(claim.period[0], claim.period[-1]) if len(claim.period) > 1 else "".join(claim.period)


def higher(claim: Claim) -> bool:
    """Is it higher among those that the claim is about?"""
    null = NULL.get(claim.measure, math.nan)
    return claim.excess > 0 if math.isnan(claim.estimate - null) else claim.estimate > null


def shares(claim: Claim) -> tuple[float, float]:
    """What was lost of each side; NaN where a side is empty."""
    a, b = ((claim.events, claim.n), (claim.events_versus, claim.n_versus))
    return a[0] / a[1] if a[1] else math.nan, b[0] / b[1] if b[1] else math.nan


def sides(voice: Voice, claim: Claim) -> dict[str, str]:
    """What was lost of each side as natural frequencies, out of the same."""
    a, b = shares(claim)
    of = out_of((a, b))
    return {"a": frequency(voice, a, of), "b": frequency(voice, b, of)}


def _two(voice: Voice, claim: Claim, template: str, who: str, versus: str, **more: str) -> str:
    """Both sides and their counts; where the counts point the other way than the claim, no counts."""
    a, b = shares(claim)
    if a == b or (a > b) is not higher(claim):
        return voice.say(CONTRARY[higher(claim)], who=who, versus=versus)
    return voice.say(template, who=who, versus=versus, **more, **sides(voice, claim))


def _groups(voice: Voice, claim: Claim, template: str = LOST, **more: str) -> str:
    """A group and those it is held against: as newborns of a kind, or by the names of levels where that is long."""
    about = dict(claim.about)
    told = _two(voice, claim, template, _phrase(voice, about), _versus(voice, about, phrase), **more)
    if len(told.split()) <= MOST_WORDS:
        return told
    return _two(voice, claim, template, _named(voice, about), _versus(voice, about, _level), **more)


def _phrase(voice: Voice, about: Mapping[str, str]) -> str:
    with_factor = about.get("with_factor", "")
    return phrase(voice, about["factor"], about["group"], with_factor, about.get("with_group", ""))


def _named(voice: Voice, about: Mapping[str, str]) -> str:
    """The name of a level; of a pair both: "twin or more, weight lowest fifth"."""
    pairs = [(about["factor"], about["group"]), (about.get("with_factor", ""), about.get("with_group", ""))]
    return joined((_level_named(voice, factor, level) for factor, level in pairs if factor), ", ")


def _level_named(voice: Voice, factor: str, level: str) -> str:
    """A level, after its factor where it does not say by itself what it is."""
    told = _level(voice, factor, level)
    if factor in BY_NAME and factor not in NAMED_BY and not BY_NAME[factor].own:
        return told
    what = voice.say(NAMED_BY[factor]) if factor in NAMED_BY else factor_in_short(voice, factor)
    return voice.say("{what} {level}", what=what, level=told)


def _level(voice: Voice, factor: str, level: str) -> str:
    """The printed level; of a farm's own long text the first words."""
    return _first_words(label(voice, level))


def _first_words(name: str) -> str:
    words = name.split()
    return " ".join(words) if len(words) <= MOST_OF_A_NAME else f"{' '.join(words[:MOST_OF_A_NAME])}…"


def _versus(voice: Voice, about: Mapping[str, str], named: Callable[[Voice, str, str], str]) -> str:
    return (
        voice.say("the rest") if about["versus"] == REST else named(voice, about["factor"], about["versus"])
    )


def _any(voice: Voice, claim: Claim) -> str:
    """A claim that does not say what it is about."""
    return voice.say("One group: {a} lost, the others {b}.", **sides(voice, claim))


def _night(voice: Voice, claim: Claim) -> str:
    return _two(voice, claim, LOST, voice.say("born by night"), voice.say("by day"))


def _cause(voice: Voice, claim: Claim) -> str:
    if claim.line == STILLBIRTH:
        return voice.say("Born dead: birth types differ by more than chance.")
    return voice.say(
        "Lost to {cause}: birth types differ by more than chance.", cause=label(voice, claim.line)
    )


def _first_hours(voice: Voice, claim: Claim) -> str:
    """A check that was not met and loss, or a group that met it less often."""
    about = dict(claim.about)
    mark = voice.say(MISSED[about["check"]])
    if "factor" not in about:
        return _two(voice, claim, LOST, mark, voice.say("the others"))
    return _groups(voice, claim, "{mark}: {who}, {a}; {versus}, {b}.", mark=mark)


def _colostrum(voice: Voice, claim: Claim) -> str:
    """The first feed and death; sources and persons whose first feeds came late, or were followed by a low sample."""
    about = dict(claim.about)
    if "factor" in about:
        late = claim.line.endswith(" late")
        mark = voice.say("First feed late") if late else voice.say("Blood sample low")
        return _groups(voice, claim, "{mark}: {who}, {a}; {versus}, {b}.", mark=mark)
    if about["mark_h"] == "nan":
        ratio = voice.ratio(claim.estimate)
        return voice.say("Not yet fed, {newborns} died {ratio} times as fast as once fed.", ratio=ratio)
    who = voice.say("not fed by {age}", age=old(voice, float(about["mark_h"])))
    return _two(voice, claim, "{who}: {a} lost later, {versus} {b}.", who, voice.say("those fed by then"))


def _mothering(voice: Voice, claim: Claim) -> str:
    """Groups that were not accepted; those handled before bonding."""
    mark = voice.say("Not mothered up")
    if "factor" in dict(claim.about):
        return _groups(voice, claim, "{mark}: {who}, {a}; {versus}, {b}.", mark=mark)
    who, versus = voice.say("handled before bonding"), voice.say("not handled")
    return _two(voice, claim, "{mark}: {who}, {a}; {versus}, {b}.", who, versus, mark=mark)


def _weather(voice: Voice, claim: Claim) -> str:
    return voice.say(COLD[higher(claim)], ratio=voice.ratio(claim.estimate))


def _years(voice: Voice, claim: Claim) -> str:
    """The change, its parts, causes and groups that moved; the trend; a season apart from the others."""
    about = dict(claim.about)
    if not about:
        return _of_all_seasons(voice, claim)
    names = {"first": about["versus"], "second": about["season"]}
    if about.get("part") in ("mix", "rate"):
        of = out_of([abs(claim.estimate)])
        template = (MIX if about["part"] == "mix" else RATE)[higher(claim)]
        return voice.say(template, n=whole(voice, abs(claim.estimate), of), all=voice.count(of), **names)
    if "cause" in about:
        text = "Lost to {cause}: {a} in {second}, {b} in {first}."
        if about["cause"] == STILLBIRTH:
            return voice.say("Born dead: {a} in {second}, {b} in {first}.", **names, **sides(voice, claim))
        return voice.say(text, cause=label(voice, about["cause"]), **names, **sides(voice, claim))
    if "factor" in about:
        return _moved(voice, claim, names)
    return voice.say("{second}: {a} lost. {first}: {b}.", **names, **sides(voice, claim))


def _moved(voice: Voice, claim: Claim, names: Mapping[str, str]) -> str:
    """A group whose loss changed otherwise than that of the others; what it lost itself."""
    about, text = dict(claim.about), "{who}: {a} lost in {second}, {b} in {first}, unlike others."
    for named in (_phrase, _named):
        told = voice.say(text, who=named(voice, about), **names, **sides(voice, claim))
        if len(told.split()) <= MOST_WORDS:
            break
    return told


def _of_all_seasons(voice: Voice, claim: Claim) -> str:
    """The trend, or one season that lies apart."""
    if claim.line != "trend":
        return voice.say("One season apart: {a} lost, all the others {b}.", **sides(voice, claim))
    a, b = shares(claim)
    if a == b or (a > b) is not higher(claim):
        return voice.say(TREND_ALONE[higher(claim)])
    names = {"first": claim.period[0], "second": claim.period[-1]}
    return voice.say(TREND[higher(claim)], **names, **sides(voice, claim))


def _farm(voice: Voice, claim: Claim) -> str:
    who = voice.say("farm {letter}", letter=claim.line)
    return _two(voice, claim, LOST, who, voice.say("the other farms"))


def _again(voice: Voice, claim: Claim) -> str:
    return voice.say(
        "{n} of {all} {dams} lost {newborns} again; chance alone gives about {expected}.",
        n=voice.count(claim.events),
        all=voice.count(claim.n),
        expected=voice.count(claim.events_versus),
    )


def _outbreak(voice: Voice, claim: Claim) -> str:
    """Where deaths came together, and from which day on."""
    about = dict(claim.about)
    days = {name: voice.day(date.fromisoformat(about[name])) for name in ("onset", "onset_low", "onset_high")}
    place = voice.say("Everywhere") if about["place"] == EVERYWHERE else _first_words(about["place"])
    return voice.say(
        TOGETHER[about["in_time"] == "True"],
        place=place,
        onset=days["onset"],
        low=days["onset_low"],
        high=days["onset_high"],
        n=voice.count(claim.events),
        expected=voice.count(round(float(about["expected"]))),
    )


BY_LINE = ("causes", "years", "farms", "planning")
"""Chapters with claims that are told by their line alone."""
BY_CHAPTER: Mapping[str, Callable[[Voice, Claim], str]] = {
    "losses": _night,
    "causes": _cause,
    "outbreak": _outbreak,
    "birth_type": _groups,
    "groups": _groups,
    "first_hours": _first_hours,
    "colostrum": _colostrum,
    "mothering": _mothering,
    "weather": _weather,
    "years": _years,
    "farms": _farm,
    "planning": _again,
}
