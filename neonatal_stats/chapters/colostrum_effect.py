"""Did the age at first feed go with survival? Landmarks, the feed as it happens, and why not simply compare."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd

from neonatal_stats.chapters.counted.colostrum_effect import (
    ALL_FROM_BIRTH,
    FEWEST,
    FROM_MARK,
    HOURLY,
    LAG_H,
    LAGGED,
    ONLY_THOSE_FED,
    Effect,
)
from neonatal_stats.chapters.protocol import Verdicts, interval_heading
from neonatal_stats.drawing import Figure, draw_ratios
from neonatal_stats.measures.claims import judged
from neonatal_stats.measures.rates import one_below_another
from neonatal_stats.season.settings import Settings
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.tables.printing import NOT_KNOWN
from neonatal_stats.words import Sentence, Verdict, Voice
from neonatal_stats.words.evidence import Templates, with_readings
from neonatal_stats.words.names import season_names

Row = Mapping[Hashable, Any]

FEWEST_DEATHS = 5
BY_THE_HOUR = Templates(
    higher="While not yet fed, {newborns} died faster than once fed, {allowed}: {ratio} times the hazard ({level} "
    "interval {interval}).",
    lower="While not yet fed, {newborns} died more slowly than once fed, {allowed}: {ratio} times the hazard "
    "({level} interval {interval}).",
    leaning_higher="While not yet fed, {newborns} look to die faster than once fed, {allowed}, but chance is not "
    "ruled out: {ratio} times the hazard ({level} interval {interval}).",
    leaning_lower="While not yet fed, {newborns} look to die more slowly than once fed, {allowed}, but chance is "
    "not ruled out: {ratio} times the hazard ({level} interval {interval}).",
    no_clear="No clear difference in dying between {newborns} not yet fed and those fed, {allowed}: {ratio} times "
    "the hazard ({level} interval {interval}).",
)
FROM_THE_MARK = Templates(
    higher="From {mark} on, {newborns} not fed by then died faster than those fed, {allowed}: {ratio} times the "
    "hazard ({level} interval {interval}).",
    lower="From {mark} on, {newborns} not fed by then died more slowly than those fed, {allowed}: {ratio} times the "
    "hazard ({level} interval {interval}).",
    leaning_higher="From {mark} on, {newborns} not fed by then look to die faster than those fed, {allowed}, but "
    "chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
    leaning_lower="From {mark} on, {newborns} not fed by then look to die more slowly than those fed, {allowed}, "
    "but chance is not ruled out: {ratio} times the hazard ({level} interval {interval}).",
    no_clear="From {mark} on, no clear difference in dying between {newborns} not fed by then and those fed, "
    "{allowed}: {ratio} times the hazard ({level} interval {interval}).",
)
UNSETTLED = {
    HOURLY: "While not yet fed, {newborns} seem to have died at {ratio} times the hazard of those fed, {allowed} "
    "({level} interval {interval}), but the records do not settle it.",
    FROM_MARK: "From {mark} on, {newborns} not fed by then seem to have died at {ratio} times the hazard of those "
    "fed, {allowed} ({level} interval {interval}), but the records do not settle it.",
}
"""Said where the interval leaves out no difference, and the weakest reading does not."""
WEAKNESS = ("weak_suck", "absent_suck", "birth_weight_sd", "difficult_delivery")
ALLOWED = {True: "weakness at birth allowed for", False: "weakness at birth not recorded and not allowed for"}
"""By whether any of `WEAKNESS` was written down for enough."""
COMPARISONS = {
    FROM_MARK: "alive at {mark}: not fed by then against fed",
    HOURLY: "hour by hour to {horizon}: not yet fed against fed",
    ALL_FROM_BIRTH: "from birth: not fed by {mark} (or dead first) against fed by then",
    ONLY_THOSE_FED: "only those ever fed: after {mark} against by then",
}
PRINTED = {
    "n": "unfed",
    "events": "unfed_deaths",
    "n_versus": "fed",
    "events_versus": "fed_deaths",
    "estimate": "ratio",
}
"""What the tables call the columns of the contrast frame: unfed newborns against the fed."""


def sentences(
    result: Effect, voice: Voice, settings: Settings, period: tuple[str, ...], verdicts: Verdicts
) -> Iterator[Sentence]:
    """Adjusted answers with counts, how far each moves, the E-value of a clear one, the bias of simply comparing, what
    would do.
    """
    both = one_below_another(result.landmarks, result.hourly)
    adjusted = judged(both[both["adjusted"]], verdicts)
    main = (adjusted["how"] == FROM_MARK) & (adjusted["mark_h"] == result.main_mark_h)
    for row in adjusted[adjusted["verdict"] != Verdict.TOO_FEW].to_dict("records"):
        yield Sentence(_counts(result, row, voice, period))
        text = _with_readings(_effect(result, row, voice, settings), result, row, voice)
        yield Sentence(text, row["verdict"], float(row["events"]), claim=row["key"], goes_on=True)
        if pd.notna(row["e_value"]) and row["verdict"] is Verdict.CLEAR:
            yield _weakness(row, voice)
    yield from _bias(result, voice, settings)
    if (adjusted["verdict"] == Verdict.TOO_FEW).all():
        yield _needed(result, voice, period, adjusted.loc[main, "key"].iloc[0])
    elif (adjusted.loc[main, "verdict"] == Verdict.TOO_FEW).all():
        text = voice.say(
            "Too few to say whether {newborns} not fed by {mark} died faster from then on ({period}).",
            mark=voice.age(result.main_mark_h),
            period=season_names(voice, period, period),
        )
        yield Sentence(text, Verdict.TOO_FEW, claim=adjusted.loc[main, "key"].iloc[0])


def _counts(result: Effect, row: Row, voice: Voice, period: tuple[str, ...]) -> str:
    """Deaths of the unfed and the fed, as counts."""
    if row["how"] == HOURLY:
        return voice.say(
            "Hour by hour to {until} ({period}): deaths before a first feed {unfed}, after it {fed}.",
            until=voice.age(result.horizon_h),
            period=season_names(voice, period, period),
            unfed=voice.count(row["events"]),
            fed=voice.count(row["events_versus"]),
        )
    return voice.say(
        "Alive at {mark} ({period}): of those not yet fed, {unfed} died by {until}; of those fed, {fed}.",
        mark=voice.age(row["mark_h"]),
        period=season_names(voice, period, period),
        until=voice.age(result.until_h),
        unfed=voice.counts(row["events"], row["n"]),
        fed=voice.counts(row["events_versus"], row["n_versus"]),
    )


def _allowed(result: Effect, voice: Voice) -> str:
    """Whether weakness at birth could be allowed for."""
    return voice.say(ALLOWED[bool({*WEAKNESS} & {*result.group.names})])


def _effect(result: Effect, row: Row, voice: Voice, settings: Settings) -> str:
    """Death of the unfed against the fed; an association, weakness at birth allowed for where it is on record."""
    templates = BY_THE_HOUR if row["how"] == HOURLY else FROM_THE_MARK
    unsettled = row["verdict"] is Verdict.NO_CLEAR and (row["low"] > 1 or row["high"] < 1)
    return voice.say(
        UNSETTLED[row["how"]] if unsettled else templates.of(row["verdict"], higher=row["estimate"] > 1),
        mark=voice.age(row["mark_h"]),
        allowed=_allowed(result, voice),
        ratio=voice.ratio(row["estimate"]),
        level=voice.percent(settings.level, 0),
        interval=voice.ratio_range(row["low"], row["high"]),
    )


def _with_readings(text: str, result: Effect, row: Row, voice: Voice) -> str:
    """The answer with how far it moves by what the records leave open, and with the next hours' deaths left out."""
    bounds, lagged = (
        frame[(frame["how"] == row["how"]) & ((frame["mark_h"] == row["mark_h"]) | (row["how"] == HOURLY))]
        for frame in (result.bounds, result.readings[result.readings["reading"] == LAGGED])
    )
    text = with_readings(voice, text, bounds["lowest"].iloc[0], bounds["highest"].iloc[0])
    lagged = lagged["estimate"].dropna()
    if lagged.empty:
        return text
    return voice.say(
        "{answer} A dying {newborn} does not feed: with the deaths of the next {lag} left out it is {lagged} times.",
        answer=text,
        lag=voice.age(LAG_H),
        lagged=voice.ratio(lagged.iloc[0]),
    )


def _weakness(row: Row, voice: Voice) -> Sentence:
    """The E-value, in words."""
    return Sentence(
        voice.say(
            "To explain this away, a weakness that is not in the records would have to raise both late feeding "
            "and death {estimate} times each ({limit} times to bring the interval to no difference); of those too "
            "near death to feed this says nothing.",
            estimate=voice.ratio(row["e_value"]),
            limit=voice.ratio(row["e_limit"]),
        ),
        goes_on=True,
    )


def _bias(result: Effect, voice: Voice, settings: Settings) -> Iterator[Sentence]:
    """What simply comparing would have said, two ways, on the season's own numbers."""
    whole, alone = result.simply.to_dict("records")
    smallest = min(whole["n"], whole["n_versus"])
    few = whole["events"] < FEWEST_DEATHS or smallest < settings.minimum_group
    if pd.isna(whole["estimate"]) or not whole["dead_before"] or few:
        return
    text = voice.say(
        "Simply comparing {newborns} not fed by {mark} with those fed by then gives {ratio} times the "
        "hazard. But of the {deaths} deaths among those {unfed}, {before} came before {mark}: they were not "
        "fed by then because they died, not the other way round. That number is no answer.",
        mark=voice.age(result.main_mark_h),
        unfed=voice.count(whole["n"]),
        before=voice.count(whole["dead_before"]),
        deaths=voice.count(whole["events"]),
        ratio=voice.ratio(whole["estimate"]),
    )
    yield Sentence(text)
    if pd.notna(alone["estimate"]):
        text = voice.say(
            "Looking only at those that were ever fed errs the other way, since one has to live to be fed late: "
            "{alone} times the hazard. That is no answer either.",
            alone=voice.ratio(alone["estimate"]),
        )
        yield Sentence(text, goes_on=True)


def _needed(result: Effect, voice: Voice, period: tuple[str, ...], claim: str) -> Sentence:
    """How many records would do."""
    text = voice.say(
        "Whether late first feeds went with death cannot be judged here ({period}): {deaths} deaths after birth with "
        "a known first feed. To see a doubled hazard with four chances in five takes about {needed} such deaths, at "
        "losses like these about {births} births with the time of the first feed written down.",
        period=season_names(voice, period, period),
        deaths=voice.count(result.deaths),
        needed=voice.count(result.needed),
        births=voice.count(result.births) if result.births else NOT_KNOWN,
    )
    return Sentence(text, Verdict.TOO_FEW, claim=claim)


def figures(result: Effect, voice: Voice, settings: Settings) -> list[Figure]:
    """Hazard of death of the unfed against the fed, weakness at birth allowed for; what simply comparing says is no
    answer, and stands in its table alone.
    """
    whole = one_below_another(result.landmarks, result.hourly)
    whole = whole[whole["adjusted"].astype(bool)]
    quiet = whole["estimate"].isna() | (whole["verdict"] == Verdict.TOO_FEW)
    if quiet.all():
        return []
    say, frame = voice.say, _named(result, whole.assign(quiet=quiet), voice)
    said = "; ".join(
        say(
            "{what}: {ratio}, {interval}",
            what=row["what"],
            ratio=voice.ratio(row["ratio"]),
            interval=voice.ratio_range(row["low"], row["high"]),
        )
        for row in frame[~quiet].to_dict("records")
    )
    return [
        draw_ratios(
            frame.assign(label=frame["what"]),
            printer=voice,
            name="colostrum-effect",
            title=say("Death of the unfed against the fed"),
            alt=say(
                "Hazard ratios with {level} intervals, {allowed}. {list}.",
                allowed=_allowed(result, voice),
                level=voice.percent(settings.level, 0),
                list=said,
            ),
            axis=say("hazard ratio, unfed against fed (log scale)"),
            few=say("too few"),
        )
    ]


def tables(result: Effect, voice: Voice, settings: Settings) -> list[Table]:
    """The effect; why not simply compare; how far deaths found at rounds move the answer; what would do."""
    built = [_effect_table(result, voice, settings), _simply_table(result, voice, settings)]
    if len(result.readings):
        built.append(_readings_table(result, voice, settings))
    built.append(_enough_table(result, voice))
    return built


def _named(result: Effect, frame: pd.DataFrame, voice: Voice) -> pd.DataFrame:
    """The rows with what they compare in words, under the names of `_columns`; shares only where counts have them."""
    rows = zip(frame["how"], frame["mark_h"], strict=True)
    horizon = voice.age(result.horizon_h)
    names = [voice.say(COMPARISONS[how], mark=voice.age(mark), horizon=horizon) for how, mark in rows]
    allowed = {True: voice.say("yes"), False: voice.say("no")}
    counted = frame["how"] != HOURLY
    return frame.rename(columns=PRINTED).assign(
        what=names,
        allowed=[allowed[bool(one)] for one in frame["adjusted"]],
        unfed_share=frame["events"] / frame["n"].where(counted & (frame["n"] > 0)),
        fed_share=frame["events_versus"] / frame["n_versus"].where(counted & (frame["n_versus"] > 0)),
    )


def _columns(voice: Voice, settings: Settings) -> dict[str, Column]:
    """The columns that the tables share, by name."""
    say = voice.say
    declared = (
        columns.text("what", say("Comparison"), raw="how"),
        columns.in_csv(columns.age("mark_h", say("Mark"))),
        columns.text("allowed", say("Allowing for weakness at birth"), raw="adjusted"),
        columns.count("unfed", say("Unfed")),
        columns.count("unfed_deaths", say("Of these died")),
        columns.share("unfed_share", say("Share")),
        columns.count("fed", say("Fed")),
        columns.count("fed_deaths", say("Of these died (fed)")),
        columns.share("fed_share", say("Share (fed)")),
        columns.ratio("ratio", say("Hazard ratio, unfed against fed")),
        columns.interval("low", "high", interval_heading(voice, settings.level), "ratio"),
        columns.in_csv(columns.p("p", say("p"))),
        columns.key("note", say("Note")),
    )
    return {column.name: column for column in declared}


def _effect_table(result: Effect, voice: Voice, settings: Settings) -> Table:
    """Deaths of the unfed and of the fed, from each mark on and hour by hour, with the hazard ratio and its E-value."""
    say, group = voice.say, result.group
    listed = ", ".join(covariate_label(voice, name) for name in group.names)
    left = "; ".join(f"{say(why)} {voice.count(n)}" for why, n in group.left_out if n)
    return Table(
        "colostrum-effect",
        say("First feed and death"),
        _named(result, one_below_another(result.landmarks, result.hourly), voice),
        (
            *_columns(voice, settings).values(),
            columns.in_csv(columns.count("dead_before", say("Unfed deaths before the mark"))),
            columns.ratio("e_value", say("E-value")),
            columns.ratio("e_limit", say("E-value of the limit")),
        ),
        note=say(
            "{n} {newborns} counted. Allowed for: {list}. Left out: {left}. No feed was written down for {blank}, "
            "of which {dead} died by {horizon}.",
            n=voice.count(len(group.rows)),
            list=listed or say("nothing recorded"),
            left=left or say("none"),
            blank=voice.count(group.blank),
            dead=voice.count(group.blank_dead),
            horizon=voice.age(result.horizon_h),
        ),
        printer=voice,
    )


def _simply_table(result: Effect, voice: Voice, settings: Settings) -> Table:
    """Deaths of the unfed and of the fed simply compared from birth, and below them from the same mark on."""
    say = voice.say
    wanted = result.landmarks["mark_h"] == result.main_mark_h
    frame = one_below_another(result.simply, result.landmarks[wanted])
    frame.loc[frame["how"] == FROM_MARK, "dead_before"] = 0
    return Table(
        "colostrum-simply",
        say("Why not simply compare"),
        _named(result, frame, voice),
        (
            *_columns(voice, settings).values(),
            columns.count("dead_before", say("Unfed deaths before the mark")),
        ),
        note=say(
            "The first two rows are what simply comparing would say and are no answer: they credit or charge a "
            "group with hours in which its {newborns} could not yet be in it. Below them the same mark, counted "
            "from the mark on."
        ),
        printer=voice,
    )


def _readings_table(result: Effect, voice: Voice, settings: Settings) -> Table:
    """The adjusted ratios in every way that the records allow."""
    say = voice.say
    read = {
        "answer": say("the answer: deaths at each likely age in parts, blank feeds left out"),
        "earliest": say("deaths between two checks when last seen alive"),
        "latest": say("deaths between two checks when found dead"),
        "weighted": say("those with a feed written down stand for the blank ones of the same fate"),
        "all fed": say("all blank feeds taken as fed"),
        "all unfed": say("all blank feeds taken as unfed"),
        "lagged": say("deaths of the next {lag} left out", lag=voice.age(LAG_H)),
    }
    shared = _columns(voice, settings)
    for name in ("allowed", "unfed_share", "fed_share"):
        del shared[name]
    frame = result.readings.sort_values(["how", "mark_h"], kind="stable")
    return Table(
        "colostrum-readings",
        say("How far what the records leave open moves the answer"),
        _named(result, frame, voice).assign(read=frame["reading"].map(read)),
        (columns.text("read", say("Read as"), raw="reading"), *shared.values()),
        note=say(
            "Allowing for weakness at birth. A verdict is that of the weakest reading of its comparison. Hour by hour "
            "a death of an unfed {newborn} written down at the next check looks later than it was, when most others "
            "had fed; with the deaths of the next hours left out, a feed counts from so many hours after it."
        ),
        printer=voice,
    )


def _enough_table(result: Effect, voice: Voice) -> Table:
    """Deaths with a known first feed, how many are needed, and the births that would bring as many."""
    say = voice.say
    births = result.births or np.nan
    return Table(
        "colostrum-enough",
        say("How many records would do"),
        pd.DataFrame([{"deaths": result.deaths, "needed": result.needed, "births": births}]),
        (
            columns.count("deaths", say("Deaths with a known first feed")),
            columns.count("needed", say("Deaths needed")),
            columns.count("births", say("Births that would bring as many")),
        ),
        note=say(
            "To see a doubled hazard with four chances in five, at the share unfed at the second mark "
            "(Schoenfeld 1983). The what-if needs {fewest} deaths and {fewest} survivors past the mark among "
            "the fed and the unfed.",
            fewest=voice.count(FEWEST),
        ),
        printer=voice,
    )


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
