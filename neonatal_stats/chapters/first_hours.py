"""Were our newborns breathing, up, and fed in time, and which were not?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import pandas as pd

from neonatal_stats.chapters.counted.first_hours import HORIZON_H, KEYS, FirstHours, answer, checks
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.bars import draw_milestones
from neonatal_stats.drawing.curves import draw_time_to
from neonatal_stats.measures.milestones import STATES, read_at
from neonatal_stats.season.model import Season
from neonatal_stats.season.settings import Marks
from neonatal_stats.tables import Table, printing
from neonatal_stats.vocabulary.terms import ANYTHING_DONE
from neonatal_stats.words import Method, Sentence, Verdict, Voice, cautions
from neonatal_stats.words.comparisons import Compared, compare_groups
from neonatal_stats.words.group_rows import FORMATS, group_headings, group_rows
from neonatal_stats.words.labels import label, phrase

__all__ = [
    "NAME",
    "QUESTION",
    "TITLE",
    "FirstHours",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]

NAME = "first_hours"

TITLE = "First hours"

QUESTION = "Were our {newborns} breathing, standing and fed in time, which were not, and did it matter?"


READ_AT_H = (0.5, 1.0, 2.0, 3.0, 4.0, 8.0, 12.0)
CHECKS = {
    "breathing": (
        "breathing regularly within {mark} s",
        "{newborns} not breathing regularly within {mark} s",
    ),
    "suck": (
        "strong suck reflex at {mark} min",
        "{newborns} with a weak or absent suck reflex at {mark} min",
    ),
    "standing": ("standing by {mark}", "{newborns} not standing by {mark}"),
    "standing_late": ("standing by {mark}", "{newborns} not standing by {mark}"),
    "feeding": ("fed by {mark}", "{newborns} not fed by {mark}"),
    "meconium": ("meconium passed by {mark}", "{newborns} that had passed no meconium by {mark}"),
}
"""Each check as it is named, and those that did not meet it, as part of a sentence."""
STATE_LABELS = {
    "met": "met",
    "not met": "not met",
    "died before it was due": "died before it was due",
    "not observed": "not observed",
}


def missing(season: Season) -> tuple[str, ...]:
    """Open as soon as one check of one newborn born alive was recorded."""
    births = season.births
    alive = births[~births["stillborn"].fillna(False).astype(bool)]
    if checks(alive, season.settings.marks):
        return ()
    return (
        voice_of(season).say(
            "Not answered: no {newborn} born alive has a time to breathing, a suck reflex, or a time of "
            "standing, first feed or meconium. Any one of these columns would open the chapter: "
            "breathing_after_s, suck_reflex, stood_after_min, fed_after_min, meconium_after_min."
        ),
    )


def check_label(voice: Voice, key: str, marks: Marks) -> str:
    """The printed name of a check, with the mark it is held against."""
    named, _ = CHECKS[key]
    return voice.say(named, mark=_mark(key, marks))


def not_met_phrase(voice: Voice, key: str, marks: Marks) -> str:
    """The newborns that did not meet a check, as part of a sentence."""
    _, not_met = CHECKS[key]
    return voice.say(not_met, mark=_mark(key, marks))


def _mark(key: str, marks: Marks) -> str:
    return {
        "breathing": printing.number(marks.breathing_s, 0),
        "suck": printing.number(marks.suck_reflex_min, 0),
        "standing": printing.age(marks.standing_h),
        "standing_late": printing.age(marks.standing_late_h),
        "feeding": printing.age(marks.fed_h),
        "meconium": printing.age(marks.meconium_h),
    }[key]


def sentences(result: FirstHours) -> tuple[Sentence, ...]:
    """The answer in words."""
    return (*_met(result), *_risks(result), *_behind(result), *_resuscitation(result))


def _met(result: FirstHours) -> Iterator[Sentence]:
    """How many met a milestone, of those observed, and how many nobody can tell."""
    voice = voice_of(result)
    for row in result.states.to_dict("records"):
        if row["key"] == "standing_late":
            continue
        text = voice.say(
            "{check}: {met} of those observed. Not observed, so not counted either way: {unseen}; died before "
            "it was due: {dead}.",
            check=check_label(voice, row["key"], result.settings.marks),
            met=printing.share_of(row["events"], row["n"], row["low"], row["high"]),
            unseen=printing.count(row["not observed"]),
            dead=printing.count(row["died before it was due"]),
        )
        yield Sentence(text)


def _risks(result: FirstHours) -> Iterator[Sentence]:
    """What the comparisons count, then those that had not met each check against those that had."""
    voice, settings = voice_of(result), result.settings
    if len(result.predictors):
        text = voice.say(
            "Checks and loss: of {newborns} alive when a check was due, those lost by {window}. A check tells "
            "which to watch; it does not say why they were lost.",
            window=result.window,
        )
        yield Sentence(text)
    for row in result.predictors.to_dict("records"):
        pair = Compared(
            group=not_met_phrase(voice, row["key"], settings.marks),
            versus=voice.say("those that had met this mark"),
            events=row["events"],
            n=row["n_failed"],
            events_versus=row["events_passed"],
            n_versus=row["n_passed"],
            estimate=row["ratio"],
            low=row["ratio_low"],
            high=row["ratio_high"],
            p=row["p"],
        )
        yield compare_groups(voice, pair, minimum_group=settings.minimum_group, level=settings.level)


def _behind(result: FirstHours) -> Iterator[Sentence]:
    """The groups that met a mark less often, after allowing for how many were tried; or that none did."""
    voice, tried = voice_of(result), result.behind["q"].notna().sum()
    if not tried:
        return
    clear = result.behind[result.behind["q"] <= result.settings.false_discovery_share]
    clear = clear[clear["ratio"] > 1]
    if clear.empty:
        text = voice.say(
            "Of {tried} comparisons of groups (birth type, delivery, parity, weight, season), no clear "
            "difference in meeting the marks is left once the number tried is allowed for.",
            tried=printing.count(tried),
        )
        yield Sentence(text, Verdict.NO_CLEAR)
    for row in clear.sort_values(["q", "key"], kind="stable").head(4).to_dict("records"):
        text = voice.say(
            "{check}: missed more often by {group}, {share}, than by {versus}, {versus_share} (q {q}, of {tried} "
            "comparisons tried).",
            check=check_label(voice, row["key"], result.settings.marks),
            group=phrase(voice, row["factor"], row["group"]),
            share=printing.counts(row["events"], row["n"]),
            versus=phrase(voice, row["factor"], row["versus"]),
            versus_share=printing.counts(row["events_versus"], row["n_versus"]),
            q=printing.p_value(row["q"]),
            tried=printing.count(tried),
        )
        yield Sentence(text, Verdict.CLEAR)


def _resuscitation(result: FirstHours) -> Iterator[Sentence]:
    """What was done to start newborns breathing, without implying that it changed the outcome."""
    rows = {row["action"]: row for row in result.resuscitation.to_dict("records")}
    if ANYTHING_DONE not in rows:
        return
    voice, done, rest = voice_of(result), rows[ANYTHING_DONE], rows.get("none")
    text = voice.say(
        "Something was done to start breathing for {treated}. Of these {lost} were lost by {window}; of "
        "those for which nothing was needed, {rest}. The two were not alike when they were born, so this "
        "does not show what the help did.",
        treated=printing.count(done["done"]),
        lost=printing.counts(done["events"], done["n"]),
        rest=printing.counts(0, 0) if rest is None else printing.counts(rest["events"], rest["n"]),
        window=result.window,
    )
    yield Sentence(text)
    yield cautions.resuscitation(voice)


def figures(result: FirstHours) -> tuple[Figure, ...]:
    """Milestones; standing, feeding and meconium by age; the first feed by birth type."""
    drawn = [_milestones_figure(result)] if len(result.states) else []
    if any(len(curve) for curve in result.curves.values()):
        drawn.append(_times_figure(result))
    if len(result.by_birth_type) and len(result.by_birth_type["birth_type"].unique()) > 1:
        drawn.append(_by_birth_type_figure(result))
    return tuple(drawn)


def _milestones_figure(result: FirstHours) -> Figure:
    say, marks = voice_of(result).say, result.settings.marks
    labels = [check_label(voice_of(result), key, marks) for key in result.states["key"]]
    parts = [(state, say(STATE_LABELS[state])) for state in STATES]
    said = [
        say(
            "{check}: {met} of {n} observed",
            check=label,
            met=printing.count(row["events"]),
            n=printing.count(row["n"]),
        )
        for label, row in zip(labels, result.states.to_dict("records"), strict=True)
    ]
    return draw_milestones(
        result.states.assign(label=labels),
        parts,
        printer=voice_of(result),
        name="first_hours-milestones",
        title=say("Who met the marks of the first hours"),
        alt=say(
            "Bars of {newborns} that met each mark, did not, died first or were not observed. {list}.",
            list="; ".join(said),
        ),
        axis=say("{newborns} born alive"),
    )


def _times_figure(result: FirstHours) -> Figure:
    say, marks = voice_of(result).say, result.settings.marks
    names = {"standing": say("standing"), "feeding": say("fed"), "meconium": say("meconium passed")}
    curves = {names[key]: curve for key, curve in result.curves.items() if len(curve)}
    return draw_time_to(
        curves,
        horizon_h=HORIZON_H,
        marks_h=sorted({marks.standing_h, marks.fed_h, marks.meconium_h}),
        printer=voice_of(result),
        name="first_hours-times",
        title=say("When {newborns} stood, fed and passed meconium"),
        alt=say("Curves of the share by age, death first counted. {list}.", list=_read_out(result, curves)),
        axis=say("% of {newborns} born alive"),
        age_axis=say("age, hours since birth"),
        waiting=say("waiting"),
    )


def _by_birth_type_figure(result: FirstHours) -> Figure:
    voice = voice_of(result)
    say, groups = voice.say, result.by_birth_type.groupby("birth_type", observed=True)
    curves = {label(voice, name): frame.reset_index(drop=True) for name, frame in groups}
    alt = say(
        "Curves of the share fed by age in each birth type, death first counted. {list}.",
        list=_read_out(result, curves),
    )
    return draw_time_to(
        curves,
        horizon_h=HORIZON_H,
        marks_h=(result.settings.marks.fed_h,),
        printer=voice,
        name="first_hours-fed-by-birth-type",
        title=say("First feed by birth type"),
        alt=alt,
        axis=say("fed, % of {newborns} born alive"),
        age_axis=say("age, hours since birth"),
        waiting=say("waiting"),
    )


def _read_out(result: FirstHours, curves: Mapping[str, pd.DataFrame]) -> str:
    """Every curve read at the mark of the first feed, in words."""
    say, mark = voice_of(result).say, result.settings.marks.fed_h
    return "; ".join(
        say(
            "{what} by {age}: {share}",
            what=what,
            age=printing.age(mark),
            share=printing.percent(_at(curve, mark)),
        )
        for what, curve in curves.items()
    )


def _at(curve: pd.DataFrame, age_h: float) -> float:
    return float(read_at(curve, (), (age_h,))["share"].iloc[0])


def tables(result: FirstHours) -> tuple[Table, ...]:
    """Milestones, time to each, groups behind, checks and loss, checks as predictors, resuscitation."""
    built = [milestones_table(result)]
    if result.curves:
        built.append(_times_table(result))
    if len(result.behind):
        built.append(_behind_table(result))
    if len(result.predictors):
        built += [_losses_table(result), _predictors_table(result)]
    if len(result.resuscitation):
        built.append(_resuscitation_table(result))
    return tuple(built)


def _interval(result: FirstHours) -> str:
    return interval_heading(voice_of(result), result.settings.level)


def _labelled(result: FirstHours, frame: pd.DataFrame) -> pd.DataFrame:
    """The rows with the printed name of their check."""
    voice, marks = voice_of(result), result.settings.marks
    labels = {key: check_label(voice, key, marks) for key in KEYS}
    return frame.assign(check=frame["key"].map(labels))


def milestones_table(result: FirstHours) -> Table:
    """Each check: met, not met, died before it was due, not observed, and the share met of those observed."""
    say = voice_of(result).say
    headings = {"check": say("Check")} | {state: say(STATE_LABELS[state]) for state in STATES}
    headings |= {
        "n": say("Observed"),
        "share": say("Met, of those observed"),
        "interval": _interval(result),
    }
    formats = {**dict.fromkeys(STATES, "count"), "n": "count", "share": "share"}
    note = say("{newborns} born alive. Not observed is never counted as not met.")
    return Table(
        "first_hours-milestones",
        say("Milestones of the first hours"),
        _labelled(result, result.states),
        headings,
        formats,
        note,
    )


def _times_table(result: FirstHours) -> Table:
    say = voice_of(result).say
    parts = [
        read_at(curve, (), READ_AT_H).assign(key=key) for key, curve in result.curves.items() if len(curve)
    ]
    names = {"standing": say("standing"), "feeding": say("fed"), "meconium": say("meconium passed")}
    frame = pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=["key"])
    headings = {
        "what": say("Milestone"),
        "age_h": say("By age, h"),
        "share": say("Share of {newborns}"),
        "interval": _interval(result),
        "died_first": say("Died before it"),
    }
    formats = {"age_h": "number", "share": "share", "died_first": "share"}
    note = say("Cumulative incidence: those seen not to have yet count until they were last seen.")
    frame = frame.assign(what=frame["key"].map(names))
    return Table("first_hours-times", say("Time to each milestone"), frame, headings, formats, note)


def _behind_table(result: FirstHours) -> Table:
    voice = voice_of(result)
    say = voice.say
    frame = _labelled(result, group_rows(voice, result.behind))
    interval = _interval(result)
    headings = {"check": say("Check"), **group_headings(voice, interval, say("Not met"), say("Observed"))}
    note = say(
        "q allows for every comparison in its check. Association only; {tried} comparisons tried.",
        tried=printing.count(result.behind["q"].notna().sum()),
    )
    return Table("first_hours-groups", say("Marks not met, by group"), frame, headings, FORMATS, note)


def _losses_table(result: FirstHours) -> Table:
    say = voice_of(result).say
    frame = _labelled(result, result.predictors)
    frame = frame.assign(
        low=frame["ratio_low"],
        high=frame["ratio_high"],
        share_failed=frame["events"] / frame["n_failed"].where(frame["n_failed"] > 0),
        share_passed=frame["events_passed"] / frame["n_passed"].where(frame["n_passed"] > 0),
    )
    headings = {
        "check": say("Check"),
        "events": say("Not met: lost"),
        "n_failed": say("Not met"),
        "share_failed": say("Not met: share lost"),
        "events_passed": say("Met: lost"),
        "n_passed": say("Met"),
        "share_passed": say("Met: share lost"),
        "ratio": say("Risk ratio"),
        "interval": _interval(result),
        "not_known": say("Outcome not known"),
    }
    formats = dict.fromkeys(("events", "n_failed", "events_passed", "n_passed", "not_known"), "count")
    formats |= {"ratio": "ratio", "interval": "ratio", "share_failed": "share", "share_passed": "share"}
    title = say("Checks and loss by {window}, of those alive when the check was due", window=result.window)
    return Table("first_hours-losses", title, frame, headings, formats)


def _predictors_table(result: FirstHours) -> Table:
    say = voice_of(result).say
    names = {
        "sensitivity": say("Sensitivity: of those lost, not met"),
        "specificity": say("Specificity: of survivors, met"),
        "positive_predictive_value": say("Of those not met, lost"),
        "negative_predictive_value": say("Of those met, survived"),
        "positive_likelihood_ratio": say("Likelihood ratio of not met"),
        "negative_likelihood_ratio": say("Likelihood ratio of met"),
    }
    parts = [
        frame_of(result.predictors, name).assign(measure=label, place=place)
        for place, (name, label) in enumerate(names.items())
    ]
    frame = pd.concat(parts, ignore_index=True)
    order = {key: place for place, key in enumerate(KEYS)}
    frame = frame.assign(check_place=frame["key"].map(order)).sort_values(
        ["check_place", "place"], kind="stable"
    )
    headings = {
        "check": say("Check"),
        "measure": say("Measure"),
        "value": say("Value"),
        "range": _interval(result),
    }
    title = say("Each check as a predictor of loss by {window}", window=result.window)
    return Table("first_hours-predictors", title, _labelled(result, frame.reset_index(drop=True)), headings)


def frame_of(predictors: pd.DataFrame, name: str) -> pd.DataFrame:
    """One screening measure of every check, printed: value and range."""
    ratio = name.endswith("likelihood_ratio")
    triples = predictors[[name, f"{name}_low", f"{name}_high"]].to_numpy(float)
    show, span = (
        (printing.ratio, printing.ratio_range) if ratio else (printing.percent, printing.percent_range)
    )
    return pd.DataFrame(
        {
            "key": predictors["key"],
            "raw": triples[:, 0],
            "low": triples[:, 1],
            "high": triples[:, 2],
            "value": [show(value) for value in triples[:, 0]],
            "range": [span(low, high) for low, high in triples[:, 1:]],
        }
    )


def _resuscitation_table(result: FirstHours) -> Table:
    say = voice_of(result).say
    headings = {
        "action": say("Done to start breathing"),
        "done": say("{newborns}"),
        "difficult": say("After a difficult birth"),
        "events": say("Lost by {window}", window=result.window),
        "n": say("Followed"),
        "share": say("Share lost"),
        "interval": _interval(result),
    }
    formats = {"done": "count", "difficult": "count", "events": "count", "n": "count", "share": "share"}
    note = say("Description only: those that needed help were not like those that did not.")
    actions = [label(voice_of(result), action) for action in result.resuscitation["action"]]
    frame = result.resuscitation.assign(action=actions)
    return Table("first_hours-resuscitation", say("Resuscitation"), frame, headings, formats, note)


def method(result: FirstHours) -> Method:
    """Method, settings, limits and sources."""
    say, marks = voice_of(result).say, result.settings.marks
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
                "clustered on the litter."
            ),
            say(
                "Group comparisons carry a q-value: the share of false alarms among those called clear at "
                "that value."
            ),
        ),
        settings=(
            say(
                "Marks (common practice, all adjustable): breathing {breathing} s, suck reflex at {suck} "
                "min, standing {standing} and at the latest {late}, fed {fed}, meconium {meconium}.",
                breathing=printing.number(marks.breathing_s, 0),
                suck=printing.number(marks.suck_reflex_min, 0),
                standing=printing.age(marks.standing_h),
                late=printing.age(marks.standing_late_h),
                fed=printing.age(marks.fed_h),
                meconium=printing.age(marks.meconium_h),
            ),
        ),
        limits=(
            say("Deaths are known to the hour: a death in the hour of a check counts as after it."),
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
        ),
    )
