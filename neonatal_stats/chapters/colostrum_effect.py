"""Did the age at first feed go with survival? Landmarks, the feed as it happens, why not simply compare, and
what if every newborn alive had been fed by the mark: an imitated trial, shown only when the records carry it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted.colostrum_effect import FEWEST, RESAMPLES, Attempt, Effect
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_ratios
from neonatal_stats.estimates.emulated_trial import EmulatedTrial
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Sentence, Verdict, Voice, judge

FEWEST_DEATHS = 5
_HOURLY = {
    (
        Verdict.CLEAR,
        True,
    ): "While not yet fed, {newborns} died faster than once fed, weakness at birth allowed for: {ratio} "
    "times the hazard ({level} interval {interval}).",
    (
        Verdict.CLEAR,
        False,
    ): "While not yet fed, {newborns} died more slowly than once fed, weakness at birth allowed for: "
    "{ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.LEANING,
        True,
    ): "While not yet fed, {newborns} look to die faster than once fed, weakness at birth allowed for, "
    "but chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.LEANING,
        False,
    ): "While not yet fed, {newborns} look to die more slowly than once fed, weakness at birth allowed "
    "for, but chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
}
_HOURLY_PLAIN = (
    "No clear difference in dying between {newborns} not yet fed and those fed, weakness at birth allowed "
    "for: {ratio} times the hazard ({level} interval {interval})."
)
_FROM_MARK = {
    (
        Verdict.CLEAR,
        True,
    ): "From {mark} on, {newborns} not fed by then died faster than those fed, weakness at birth allowed "
    "for: {ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.CLEAR,
        False,
    ): "From {mark} on, {newborns} not fed by then died more slowly than those fed, weakness at birth "
    "allowed for: {ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.LEANING,
        True,
    ): "From {mark} on, {newborns} not fed by then look to die faster than those fed, weakness at birth "
    "allowed for, but chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
    (
        Verdict.LEANING,
        False,
    ): "From {mark} on, {newborns} not fed by then look to die more slowly than those fed, weakness at "
    "birth allowed for, but chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
}
_FROM_MARK_PLAIN = (
    "From {mark} on, no clear difference in dying between {newborns} not fed by then and those fed, "
    "weakness at birth allowed for: {ratio} times the hazard ({level} interval {interval})."
)


def sentences(result: Effect, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    """Adjusted answers with counts, the E-value of the hourly one, the bias of simply comparing, what would
    do.
    """
    adjusted = pd.concat([result.hourly, result.landmarks], ignore_index=True)
    rows = adjusted[adjusted["adjusted"]].to_dict("records")
    for row in rows:
        found = verdict(row, settings)
        if found is Verdict.TOO_FEW:
            continue
        yield Sentence(_counts(result, row, voice))
        text = _effect(row, found, voice, settings)
        if row["how"] == "as it happens":
            text = _with_rounds(text, result.moved, voice)
        yield Sentence(text, found, float(row["unfed_deaths"]))
        if row["how"] == "as it happens" and pd.notna(row["e_value"]) and found is Verdict.CLEAR:
            yield _weakness(row, voice)
    yield from _bias(result, voice, settings)
    if all(verdict(row, settings) is Verdict.TOO_FEW for row in rows):
        yield _needed(result, voice)


def verdict(row: Any, settings: Settings) -> Verdict:
    """Strength of the evidence in a row: deaths and group sizes first, then the interval."""
    hourly = row["how"] == "as it happens"
    smallest = min(row["unfed"], row["fed"])
    events = row["unfed_deaths"] + row["fed_deaths"]
    if hourly and min(row["unfed_deaths"], row["fed_deaths"]) == 0:
        return Verdict.TOO_FEW
    return judge(
        row["low"],
        row["high"],
        row["p"],
        null=1.0,
        events=events,
        smallest_group=smallest,
        minimum_group=settings.minimum_group,
    )


def _counts(result: Effect, row: Any, voice: Voice) -> str:
    """Deaths of the unfed and the fed, as counts."""
    if row["how"] == "as it happens":
        return voice.say(
            "Hour by hour to {until}: {unfed} deaths came before a first feed and {fed} after it.",
            until=printing.age(result.horizon_h),
            unfed=printing.count(row["unfed_deaths"]),
            fed=printing.count(row["fed_deaths"]),
        )
    return voice.say(
        "Alive at {mark}: of those not yet fed, {unfed} died by {until}; of those fed, {fed}.",
        mark=printing.age(row["mark_h"]),
        until=printing.age(result.until_h),
        unfed=printing.counts(row["unfed_deaths"], row["unfed"]),
        fed=printing.counts(row["fed_deaths"], row["fed"]),
    )


def _effect(row: Any, found: Verdict, voice: Voice, settings: Settings) -> str:
    """Death of the unfed against the fed; an association, weakness at birth allowed for."""
    which = (found, bool(row["ratio"] > 1))
    hourly, from_mark = _HOURLY.get(which, _HOURLY_PLAIN), _FROM_MARK.get(which, _FROM_MARK_PLAIN)
    return voice.say(
        hourly if row["how"] == "as it happens" else from_mark,
        mark=printing.age(row["mark_h"]),
        ratio=printing.ratio(row["ratio"]),
        level=printing.percent(settings.level, 0),
        interval=printing.ratio_range(row["low"], row["high"]),
    )


def _with_rounds(text: str, moved: pd.DataFrame, voice: Voice) -> str:
    """The answer with how far it moves by when deaths found at rounds are placed, where any were."""
    known = moved["ratio"].dropna() if len(moved) else pd.Series(dtype=float)
    if known.empty:
        return text
    low, high = printing.ratio(known.min()), printing.ratio(known.max())
    if low == high:
        return text
    return voice.say(
        "{answer} By when the deaths found at rounds are taken to have come, between last seen alive and found "
        "dead, this runs from {low} to {high} times.",
        answer=text,
        low=low,
        high=high,
    )


def _weakness(row: Any, voice: Voice) -> Sentence:
    """The E-value, in words."""
    return Sentence(
        voice.say(
            "To explain this away, a weakness that is not in the records would have to raise both late feeding "
            "and death {estimate} times each ({limit} times to bring the interval to no difference).",
            estimate=printing.ratio(row["e_value"]),
            limit=printing.ratio(row["e_limit"]),
        )
    )


def _bias(result: Effect, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    """What simply comparing would have said, two ways, on the season's own numbers."""
    whole, alone = result.simply.to_dict("records")
    smallest = min(whole["unfed"], whole["fed"])
    few = whole["unfed_deaths"] < FEWEST_DEATHS or smallest < settings.minimum_group
    if pd.isna(whole["ratio"]) or not whole["dead_before"] or few:
        return
    text = voice.say(
        "Simply comparing {newborns} not fed by {mark} with those fed by then gives {ratio} times the "
        "hazard. But of the {deaths} deaths among those {unfed}, {before} came before {mark}: they were not "
        "fed by then because they died, not the other way round. That number is no answer.",
        mark=printing.age(result.naive_mark_h),
        unfed=printing.count(whole["unfed"]),
        before=printing.count(whole["dead_before"]),
        deaths=printing.count(whole["unfed_deaths"]),
        ratio=printing.ratio(whole["ratio"]),
    )
    yield Sentence(text)
    if pd.notna(alone["ratio"]):
        text = voice.say(
            "Looking only at those that were ever fed errs the other way, since one has to live to be fed late: "
            "{alone} times the hazard. That is no answer either.",
            alone=printing.ratio(alone["ratio"]),
        )
        yield Sentence(text)


def _needed(result: Effect, voice: Voice) -> Sentence:
    """How many records would do."""
    text = voice.say(
        "The effect of the first feed cannot be judged here: {deaths} deaths after birth with a known first "
        "feed. To see a doubled hazard with four chances in five takes about {needed} such deaths, at this "
        "season's losses about {births} births with the time of the first feed written down.",
        deaths=printing.count(result.deaths),
        needed=printing.count(result.needed),
        births=printing.count(result.births) if result.births else printing.NOT_KNOWN,
    )
    return Sentence(text, Verdict.TOO_FEW)


def trial_sentences(
    result: tuple[Attempt, ...], voice: Voice, until_h: float, settings: Settings
) -> Iterator[Sentence]:
    """The what-if at each mark, or why it is not attempted; then the assumptions."""
    for one in result:
        if one.trial is None:
            text = voice.say(
                "What if all had been fed by {mark}? Not attempted: too few died or lived on among those fed or not "
                "fed by then. At least {fewest} deaths and {fewest} survivors in each are needed.",
                mark=printing.age(one.mark_h),
                fewest=printing.count(FEWEST),
            )
            yield Sentence(text)
        elif one.reason:
            text = voice.say(
                "What if all had been fed by {mark}? No answer is given: the {unfed} not fed by then are worth "
                "{worth} equally weighted {newborns}, too few for how often they die.",
                mark=printing.age(one.mark_h),
                unfed=printing.count(one.trial.unfed),
                worth=printing.count(one.trial.effective_unfed),
            )
            yield Sentence(text)
        else:
            yield _what_if(one.mark_h, one.trial, voice, until_h, settings)
    if any(one.trial is not None and not one.reason for one in result):
        yield Sentence(assumptions(voice))


def _what_if(
    mark_h: float, found: EmulatedTrial, voice: Voice, until_h: float, settings: Settings
) -> Sentence:
    """The imitated trial, clearly labelled as a what-if."""
    low, high = printing.points(found.difference.low), printing.points(found.difference.high)
    return Sentence(
        voice.say(
            "What if (an imitated trial, not an experiment): had every {newborn} alive been fed by {mark}, "
            "{fed} would have died by {until}; had none been fed by {mark}, {unfed}: a difference of "
            "{difference} percentage points ({level} interval {interval}). This holds only if the assumptions "
            "below it do.",
            mark=printing.age(mark_h),
            until=printing.age(until_h),
            fed=printing.percent(found.risk_fed.estimate),
            unfed=printing.percent(found.risk_unfed.estimate),
            difference=printing.points(found.difference.estimate),
            level=printing.percent(settings.level, 0),
            interval=printing.span(low, high),
        )
    )


def assumptions(voice: Voice) -> str:
    """What the imitated trial stands on, in plain words."""
    return voice.say(
        "The what-if assumes that the records hold all that made {newborns} both slow to feed and likely to "
        "die, that every kind of {newborn} had some chance of being fed in time and of not being, that feed "
        "times and deaths are written down right, and that one {newborn}'s feed does not change another's "
        "fate. None of these can be proved from the records."
    )


def figures(result: Effect, voice: Voice, settings: Settings) -> list[Figure]:
    """The adjusted ratios and, above them, what simply comparing would have said."""
    parts = [
        result.simply,
        result.landmarks[result.landmarks["adjusted"]],
        result.hourly[result.hourly["adjusted"]],
    ]
    frame = _names(result, pd.concat(parts, ignore_index=True), voice)
    enough = [verdict(row, settings) is not Verdict.TOO_FEW for row in frame.to_dict("records")]
    frame = frame[frame["ratio"].notna() & pd.Series(enough, index=frame.index, dtype=bool)].reset_index(
        drop=True
    )
    if frame.empty:
        return []
    say = voice.say
    said = "; ".join(
        say("{what}: {ratio}, {interval}", what=row["what"], ratio=printing.ratio(row["ratio"]),
            interval=printing.ratio_range(row["low"], row["high"]))
        for row in frame.to_dict("records")
    )  # fmt: skip
    return [
        draw_ratios(
            frame.assign(label=frame["what"], quiet=frame["how"].isin(["all from birth", "only those fed"])),
            printer=voice,
            name="colostrum-effect",
            title=say("Death of the unfed against the fed"),
            alt=say("Hazard ratios with {level} intervals, open marks are no answer. {list}.",
                    level=printing.percent(settings.level, 0), list=said),
            axis=say("hazard ratio, unfed against fed (log scale)"),
            quiet_words=say("simply compared: no answer"),
        )
    ]  # fmt: skip


def tables(result: Effect, voice: Voice, settings: Settings) -> list[Table]:
    """The effect; why not simply compare; how far deaths found at rounds move the answer; what would do."""
    built = [_effect_table(result, voice, settings), _simply_table(result, voice, settings)]
    if len(result.moved):
        built.append(_moved_table(result, voice, settings))
    built.append(_enough_table(result, voice))
    return built


def _names(result: Effect, frame: pd.DataFrame, voice: Voice) -> pd.DataFrame:
    say = voice.say
    said = {
        "landmark": "alive at {mark}: not fed by then against fed",
        "as it happens": "hour by hour to {horizon}: not yet fed against fed",
        "all from birth": "from birth: not fed by {mark} (or dead first) against fed by then",
        "only those fed": "only those ever fed: after {mark} against by then",
    }
    horizon = printing.age(result.horizon_h)
    rows = zip(frame["how"], frame["mark_h"], strict=True)
    names = [say(said[how], mark=printing.age(mark), horizon=horizon) for how, mark in rows]
    allowed = {True: say("yes"), False: say("no")}
    counted = frame["how"] != "as it happens"
    return frame.assign(
        what=names,
        allowed=[allowed[bool(one)] for one in frame["adjusted"]],
        unfed_share=frame["unfed_deaths"] / frame["unfed"].where(counted & (frame["unfed"] > 0)),
        fed_share=frame["fed_deaths"] / frame["fed"].where(counted & (frame["fed"] > 0)),
    )


def _headings(voice: Voice, settings: Settings) -> tuple[dict[str, str], dict[str, str]]:
    say = voice.say
    headings = {
        "what": say("Comparison"),
        "allowed": say("Allowing for weakness at birth"),
        "unfed": say("Unfed"),
        "unfed_deaths": say("Of these died"),
        "unfed_share": say("Share"),
        "fed": say("Fed"),
        "fed_deaths": say("Of these died (fed)"),
        "fed_share": say("Share (fed)"),
        "ratio": say("Hazard ratio, unfed against fed"),
        "interval": interval_heading(voice, settings.level),
    }
    formats = dict.fromkeys(("unfed", "unfed_deaths", "fed", "fed_deaths", "dead_before"), "count")
    shares = {"unfed_share": "share", "fed_share": "share"}
    return headings, formats | shares | {"ratio": "ratio", "interval": "ratio"}


def _effect_table(result: Effect, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    frame = _names(result, pd.concat([result.landmarks, result.hourly], ignore_index=True), voice)
    headings, formats = _headings(voice, settings)
    headings |= {"e_value": say("E-value"), "e_limit": say("E-value of the limit")}
    listed = ", ".join(covariate_label(voice, name) for name in result.group.names)
    left = "; ".join(f"{say(why)} {printing.count(n)}" for why, n in result.group.left_out if n)
    note = say(
        "{n} {newborns} counted. Allowed for: {list}. Left out: {left}. Died with no feed written down, "
        "taken as unfed: {taken}.",
        n=printing.count(len(result.group.rows)),
        list=listed or say("nothing recorded"),
        left=left or say("none"),
        taken=printing.count(result.group.taken_unfed),
    )
    formats |= {"e_value": "ratio", "e_limit": "ratio"}
    return Table("colostrum-effect", say("First feed and death"), frame, headings, formats, note)


def _simply_table(result: Effect, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    wanted = result.landmarks["mark_h"] == result.naive_mark_h
    frame = _names(result, pd.concat([result.simply, result.landmarks[wanted]], ignore_index=True), voice)
    headings, formats = _headings(voice, settings)
    headings["dead_before"] = say("Unfed deaths before the mark")
    note = say(
        "The first two rows are what simply comparing would say and are no answer: they credit or charge a "
        "group with hours in which its {newborns} could not yet be in it. Below them the same mark, counted "
        "from the mark on."
    )
    frame.loc[frame["how"] == "landmark", "dead_before"] = 0
    return Table("colostrum-simply", say("Why not simply compare"), frame, headings, formats, note)


def _moved_table(result: Effect, voice: Voice, settings: Settings) -> Table:
    say = voice.say
    placed = {
        "earliest": say("when last seen alive"),
        "likely": say("at each likely age in parts (used here)"),
        "latest": say("when found dead"),
    }
    headings, formats = _headings(voice, settings)
    headings["what"] = say("Deaths between two rounds placed")
    headings = {
        key: heading
        for key, heading in headings.items()
        if key not in ("allowed", "unfed_share", "fed_share")
    }
    frame = result.moved.assign(what=result.moved["placed"].map(placed))
    note = say(
        "Hour by hour, allowing for weakness at birth. A death of an unfed {newborn} written down at the "
        "next round looks later than it was, when most others had fed."
    )
    title = say("How far deaths found at rounds move the answer")
    return Table("colostrum-rounds", title, frame, headings, formats, note)


def _enough_table(result: Effect, voice: Voice) -> Table:
    say = voice.say
    rows = pd.DataFrame(
        [{"deaths": result.deaths, "needed": result.needed, "births": result.births or np.nan}]
    )
    headings = {
        "deaths": say("Deaths with a known first feed"),
        "needed": say("Deaths needed"),
        "births": say("Births that would bring as many"),
    }
    note = say(
        "To see a doubled hazard with four chances in five, at the share unfed at the second mark "
        "(Schoenfeld 1983). The what-if needs {fewest} deaths and {fewest} survivors past the mark among "
        "the fed and the unfed.",
        fewest=printing.count(FEWEST),
    )
    title = say("How many records would do")
    return Table("colostrum-enough", title, rows, headings, dict.fromkeys(headings, "count"), note)


def covariate_label(voice: Voice, name: str) -> str:
    """The printed name of something adjusted for."""
    names = {
        "weak_suck": "weak suck reflex",
        "absent_suck": "absent suck reflex",
        "birth_weight_sd": "birth weight",
        "difficult_delivery": "difficult delivery",
        "twin": "twin",
        "triplet_or_more": "triplet or more",
    }
    return voice.say(names[name])


def trial_tables(result: tuple[Attempt, ...], voice: Voice, settings: Settings) -> list[Table]:
    """Risks in both arms."""
    rows = [_trial_row(one, one.trial) for one in result if one.trial is not None]
    if not rows:
        return []
    say = voice.say
    headings = {
        "mark_h": say("Mark"),
        "fed": say("Fed by it"),
        "unfed": say("Not fed by it"),
        "risk_fed": say("Would have died, all fed"),
        "risk_unfed": say("Would have died, none fed"),
        "difference": say("Difference, percentage points"),
        "interval": interval_heading(voice, settings.level),
        "effective_unfed": say("The unfed are worth"),
    }
    formats = {"mark_h": "age", "fed": "count", "unfed": "count", "risk_fed": "share", "risk_unfed": "share"}
    formats |= {"difference": "points", "interval": "points", "effective_unfed": "count"}
    note = say(
        "Intervals by the score of the weighted counts, their variance from {resamples} resamples of whole "
        "litters. Worth: how many equally weighted {newborns} the unfed count as.",
        resamples=printing.count(RESAMPLES),
    )
    title = say("What if all had been fed by the mark, or none (imitated trial)")
    return [Table("colostrum-trial", title, pd.DataFrame(rows), headings, formats, note)]


def _trial_row(one: Attempt, found: EmulatedTrial) -> dict[str, float]:
    return {
        "mark_h": one.mark_h,
        "fed": found.fed,
        "unfed": found.unfed,
        "risk_fed": found.risk_fed.estimate,
        "risk_unfed": found.risk_unfed.estimate,
        "difference": found.difference.estimate,
        "low": found.difference.low,
        "high": found.difference.high,
        "effective_unfed": found.effective_unfed,
    }
