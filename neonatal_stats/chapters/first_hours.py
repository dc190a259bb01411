"""Were our newborns breathing, up, and fed in time, and which were not?"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.first_hours import HORIZON_H, FirstHours, checks, claims
from neonatal_stats.chapters.counted.first_hours import answer as count
from neonatal_stats.chapters.first_hours_checks import (
    behind_said,
    behind_table,
    check_column,
    check_label,
    interval_column,
    labelled,
    losses_table,
    predictors_table,
    risks_said,
)
from neonatal_stats.chapters.protocol import Headline, Verdicts, heed
from neonatal_stats.drawing import Figure, draw_milestones, draw_time_to
from neonatal_stats.measures.ledger import settled
from neonatal_stats.measures.milestones import STATES, read_at
from neonatal_stats.measures.rates import each_row
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Marks
from neonatal_stats.tables import Table, columns
from neonatal_stats.vocabulary.terms import ANYTHING_DONE
from neonatal_stats.words import Method, Sentence, Voice, cautions, voice_of
from neonatal_stats.words.group_tables import curve_table
from neonatal_stats.words.names import few_words, label

NAME = "first_hours"
TITLE = "First hours"
QUESTION = "Were our {newborns} breathing, standing and fed in time, which were not, and what of those?"

READ_AT_H = (0.5, 1.0, 2.0, 3.0, 4.0, 8.0, 12.0)
STATE_LABELS = {
    "met": "met",
    "not met": "not met",
    "died before it was due": "died before it was due",
    "not observed": "not observed",
}
TIMED_LABELS = {"standing": "standing", "feeding": "fed", "meconium": "meconium passed"}
TIMED_TITLES = {
    ("standing",): "When {newborns} stood",
    ("meconium",): "When {newborns} passed meconium",
    ("standing", "meconium"): "When {newborns} stood and passed meconium",
}
"""The milestones drawn together; the first feed has its figure in the chapter on colostrum."""


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as one check of one newborn born alive was recorded."""
    births = season.births
    alive = births[~births["stillborn"]]
    if checks(alive, season.settings.marks):
        return ()
    return (
        voice_of(season).say(
            "Not answered: no {newborn} born alive has a time to breathing, a suck reflex, or a time of "
            "standing, first feed or meconium. Any one of these columns would open the chapter: "
            "breathing_after_s, suck_reflex, stood_after_min, fed_after_min, meconium_after_min."
        ),
    )


def answer(season: Season) -> FirstHours:
    """The checks, who was behind and what went with a loss; `NotRecorded` where no check was recorded."""
    heed(missing(season))
    return count(season)


def sentences(result: FirstHours, verdicts: Verdicts | None = None) -> tuple[Sentence, ...]:
    """The answer in words."""
    said, voice = settled(claims(result), result.settings, verdicts), voice_of(result)
    return (
        *_met(result),
        *risks_said(result, said),
        *behind_said(result, said),
        *_resuscitation(result),
        cautions.weak_and_cold(voice, result.settings.marks),
        cautions.navel(voice),
        cautions.euthanasia(voice),
    )


def _met(result: FirstHours) -> Iterator[Sentence]:
    """How many met a milestone, of those observed, and how many nobody can tell."""
    voice = voice_of(result)
    for row in result.states.to_dict("records"):
        if row["key"] == "standing_late":
            continue
        text = voice.say(
            "{check}: {met} of those observed. Not observed, so not counted: {unseen}; died before it was "
            "due: {dead}.",
            check=check_label(voice, row["key"], result.settings.marks),
            met=voice.share_of(row["events"], row["n"], row["low"], row["high"]),
            unseen=voice.count(row["not observed"]),
            dead=voice.count(row["died before it was due"]),
        )
        yield Sentence(text)


def _resuscitation(result: FirstHours) -> Iterator[Sentence]:
    """What was done to start newborns breathing, without implying that it changed the outcome."""
    rows = {row["action"]: row for row in result.resuscitation.to_dict("records")}
    if ANYTHING_DONE not in rows:
        return
    voice, done, rest = voice_of(result), rows[ANYTHING_DONE], rows.get("none")
    told = {
        "treated": voice.count(done["done"]),
        "lost": voice.counts(done["events"], done["n"]),
        "window": result.window,
    }
    if rest is None:
        text = voice.say(
            "Something was done to start breathing for {treated}. Of these {lost} were lost by {window}; this does not "
            "show what the help did.",
            **told,
        )
    else:
        text = voice.say(
            "Something was done to start breathing for {treated}. Of these {lost} were lost by {window}; of "
            "those for which nothing was done, {rest}. The two were not alike when they were born, so this "
            "does not show what the help did.",
            rest=voice.counts(rest["events"], rest["n"]),
            **told,
        )
    yield Sentence(text)
    yield cautions.resuscitation(voice)


GLANCED = {"standing": "Standing by {mark}", "feeding": "Fed by {mark}"}


def glance(result: FirstHours) -> tuple[Headline, ...]:
    """Standing and fed by their marks, of those observed."""
    voice = voice_of(result)
    found = {row["key"]: row for row in result.states.to_dict("records") if row["n"]}
    return tuple(
        Headline(
            key,
            voice.say(GLANCED[key], mark=voice.age(found[key]["due_h"])),
            voice.counts(found[key]["events"], found[key]["n"]),
            *(float(found[key][name]) for name in ("events", "n", "share", "low", "high")),
        )
        for key in GLANCED
        if key in found
    )


def figures(result: FirstHours) -> tuple[Figure, ...]:
    """Milestones; standing and meconium by age; the first feed by birth type, where there are several to draw."""
    drawn = [_milestones_figure(result)] if len(result.states) else []
    if any(len(result.curves.get(key, ())) for key in ("standing", "meconium")):
        drawn.append(_times_figure(result))
    if len(_large_types(result)) > 1:
        drawn.append(_by_birth_type_figure(result))
    return tuple(drawn)


def _milestones_figure(result: FirstHours) -> Figure:
    """Newborns born alive in each of the four states of each check."""
    voice, marks = voice_of(result), result.settings.marks
    say = voice.say
    frame = result.states.assign(
        label=[check_label(voice, key, marks) for key in result.states["key"]],
        counts=[voice.counts(row["events"], row["n"]) for row in result.states.to_dict("records")],
    )
    said = [
        say(
            "{check}: {met} of {n} observed",
            check=row["label"],
            met=voice.count(row["events"]),
            n=voice.count(row["n"]),
        )
        for row in frame.to_dict("records")
    ]
    return draw_milestones(
        frame,
        [(state, say(STATE_LABELS[state])) for state in STATES],
        printer=voice,
        name="first_hours-milestones",
        title=say("Who met the marks of the first hours"),
        alt=say(
            "Bars of {newborns} that met each mark, did not, died first or were not observed. {list}.",
            list="; ".join(said),
        ),
        axis=say("{newborns} born alive"),
    )


def curves(result: FirstHours) -> tuple[Table, ...]:
    """Share that had stood, fed or passed meconium by each age: for other programs."""
    voice = voice_of(result)
    drawn = [(key, curve) for key, curve in result.curves.items() if len(curve)]
    if not drawn:
        return ()
    found = pd.concat([curve.assign(milestone=key) for key, curve in drawn], ignore_index=True)
    keys = {"milestone": voice.say("Milestone")}
    title = voice.say("Share of {newborns} born alive by age, death first counted")
    return (curve_table(voice, "first_hours-times-curve", title, found, keys, result.settings.level),)


def _times_figure(result: FirstHours) -> Figure:
    """Share of newborns born alive that had stood and passed meconium by each age, death first counted."""
    say, marks = voice_of(result).say, result.settings.marks
    due = {"standing": marks.standing_h, "meconium": marks.meconium_h}
    drawn = tuple(key for key in due if len(result.curves.get(key, ())))
    curves = {say(TIMED_LABELS[key]): result.curves[key] for key in drawn}
    read = [_read_out(result, say(TIMED_LABELS[key]), result.curves[key], due[key]) for key in drawn]
    return draw_time_to(
        curves,
        horizon_h=HORIZON_H,
        marks_h=[due[key] for key in drawn],
        printer=voice_of(result),
        name="first_hours-times",
        title=say(TIMED_TITLES[drawn]),
        alt=say("Share of {newborns} by age, death first counted: {list}.", list="; ".join(read)),
        axis=say("% of {newborns} born alive"),
        age_axis=say("age, hours since birth"),
        waiting=say("waiting"),
    )


def _large_types(result: FirstHours) -> dict[str, pd.DataFrame]:
    """The curve of the first feed of each birth type large enough to draw."""
    if result.by_birth_type.empty:
        return {}
    voice, few = voice_of(result), set(result.few["birth_type"])
    groups = result.by_birth_type.groupby("birth_type", observed=True)
    return {label(voice, name): frame.reset_index(drop=True) for name, frame in groups if name not in few}


def _by_birth_type_figure(result: FirstHours) -> Figure:
    """Share of newborns born alive that had fed by each age, in each birth type, death first counted."""
    voice, mark = voice_of(result), result.settings.marks.fed_h
    say, curves = voice.say, _large_types(result)
    read = [_read_out(result, name, curve, mark) for name, curve in curves.items()]
    return draw_time_to(
        curves,
        horizon_h=HORIZON_H,
        marks_h=(mark,),
        printer=voice,
        name="first_hours-fed-by-birth-type",
        title=say("First feed by birth type"),
        alt=say("Share of {newborns} fed by age, death first counted: {list}.", list="; ".join(read)),
        axis=say("fed, % of {newborns} born alive"),
        age_axis=say("age, hours since birth"),
        waiting=say("waiting"),
        too_few=[
            (label(voice, row.birth_type), few_words(voice, row.n, row.litters))
            for row in each_row(result.few)
        ],
    )


def _read_out(result: FirstHours, what: str, curve: pd.DataFrame, age_h: float) -> str:
    """A curve read at a mark, in words."""
    voice, row = voice_of(result), read_at(curve, (), (age_h,)).iloc[0]
    read = {"share": voice.percent(row["share"]), "interval": voice.percent_range(row["low"], row["high"])}
    return voice.say("{what} by {age}: {share} ({interval})", what=what, age=voice.age(age_h), **read)


def tables(result: FirstHours) -> tuple[Table, ...]:
    """Milestones, time to each, groups behind, checks and loss, checks as predictors, resuscitation."""
    built = [_milestones_table(result)]
    if result.curves:
        built.append(_times_table(result))
    if len(result.behind):
        built.append(behind_table(result))
    if len(result.predictors):
        built += [losses_table(result), predictors_table(result)]
    if len(result.resuscitation):
        built.append(_resuscitation_table(result))
    return tuple(built)


def _milestones_table(result: FirstHours) -> Table:
    """Each check: met, not met, died before it was due, not observed, and the share met of those observed."""
    voice = voice_of(result)
    say = voice.say
    return Table(
        "first_hours-milestones",
        say("Milestones of the first hours"),
        labelled(result, result.states),
        (
            check_column(result),
            columns.in_csv(columns.age("due_h", say("Due"))),
            *(columns.count(state, say(STATE_LABELS[state])) for state in STATES),
            columns.count("n", say("Observed")),
            columns.share("share", say("Met, of those observed")),
            interval_column(result),
        ),
        note=say("{newborns} born alive. Not observed is never counted as not met."),
        printer=voice,
    )


def _times_table(result: FirstHours) -> Table:
    """Share of newborns born alive that had done it by an age, and that died before it, for each milestone."""
    voice = voice_of(result)
    say = voice.say
    parts = [
        read_at(curve, (), READ_AT_H).assign(key=key, what=say(TIMED_LABELS[key]))
        for key, curve in result.curves.items()
        if len(curve)
    ]
    names = ["key", "what", "age_h", "share", "low", "high", "died_first"]
    return Table(
        "first_hours-times",
        say("Time to each milestone"),
        pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=names),
        (
            columns.text("what", say("Milestone"), raw="key"),
            columns.number("age_h", say("By age, h"), unit="hours since birth"),
            columns.share("share", say("Share of {newborns}")),
            interval_column(result),
            columns.share("died_first", say("Died before it")),
        ),
        note=say("Cumulative incidence: those seen not to have yet count until they were last seen."),
        printer=voice,
    )


def _resuscitation_table(result: FirstHours) -> Table:
    """Newborns born alive by what was done to start them breathing, and those of them lost by the window's end."""
    voice = voice_of(result)
    say = voice.say
    return Table(
        "first_hours-resuscitation",
        say("Resuscitation"),
        result.resuscitation.assign(what=[label(voice, one) for one in result.resuscitation["action"]]),
        (
            columns.text("what", say("Done to start breathing"), raw="action"),
            columns.count("done", say("{newborns}")),
            columns.count("difficult", say("After a difficult birth")),
            columns.count("events", say("Lost by {window}", window=result.window)),
            columns.count("n", say("Followed")),
            columns.share("share", say("Share lost")),
            interval_column(result),
        ),
        note=say("Description only: those that needed help were not like those that did not."),
        printer=voice,
    )


def method(result: FirstHours) -> Method:
    """Method, settings, limits and sources."""
    voice = voice_of(result)
    say = voice.say
    return Method(
        method=(
            say(
                "Each mark has four answers kept apart: met, not met, died before it was due, and not "
                "observed. Shares are of those observed, with Wilson's score interval on the number "
                "divided by the design effect of litters."
            ),
            say(
                "Time to a milestone is a cumulative incidence (Aalen-Johansen) in which death before it "
                "competes; one seen not to have yet counts until it was last seen. A {newborn} with "
                "nothing written that died within the hours shown counts as died first."
            ),
            say(
                "A check as a predictor: only {newborns} alive when it was due, observed, and followed to "
                "the end of the window; not met is the positive test. Risk ratios and intervals are "
                "clustered on the litter; where {newborns} left before the window's end, those still watched "
                "stand for them (inverse probability of being watched). Where a group lost none, no comparison "
                "is stronger than Fisher's exact test."
            ),
            say(
                "Group comparisons carry a q-value: the share of false alarms among those called clear at "
                "that value. What is called clear is decided over all comparisons of the page."
            ),
        ),
        settings=(_marks_said(voice, result.settings.marks),),
        limits=(
            say("Deaths are known to the hour: a death in the hour of a check counts as after it."),
            say(
                "A {newborn} found dead that nobody saw alive when a check was due is counted as dead before it. "
                "Comparisons are made again with such deaths placed when found, of those that had met the mark or of "
                "those that had not, and with all blank feeds taken as fed and as not fed by the mark; the verdict is "
                "that of the weakest."
            ),
            say(
                "{newborns} watched closely have more written down; those not observed may differ from "
                "those observed."
            ),
            say(
                "A check that goes with loss may mark a {newborn} that was weak already; these are "
                "associations, not causes, and those who were resuscitated were chosen because they needed "
                "it."
            ),
        ),
        sources=(
            say("Marks: common practice, no published source."),
            "Aalen OO, Johansen S (1978) Scandinavian Journal of Statistics 5:141-150.",
            "Rao JNK, Scott AJ (1992) Biometrics 48:577-585.",
            "Benjamini Y, Hochberg Y (1995) Journal of the Royal Statistical Society B 57:289-300.",
            "Robins JM, Rotnitzky A (1992) in AIDS Epidemiology, 297-331 (weights of those watched; from memory).",
        ),
    )


def _marks_said(voice: Voice, marks: Marks) -> str:
    """The hours and minutes by which each of the first things is due."""
    return voice.say(
        "Marks (common practice, all adjustable): breathing {breathing} s, suck reflex at {suck} "
        "min, standing {standing} and at the latest {late}, fed {fed}, meconium {meconium}.",
        breathing=voice.number(marks.breathing_s, 0),
        suck=voice.number(marks.suck_reflex_min, 0),
        standing=voice.age(marks.standing_h),
        late=voice.age(marks.standing_late_h),
        fed=voice.age(marks.fed_h),
        meconium=voice.age(marks.meconium_h),
    )
