"""The tables of the first hours."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.chapters.first_hours.result import FirstHours
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.measures.milestones import STATES
from neonatal_stats.measures.time_to import read_at
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import first_hours as words
from neonatal_stats.words.group_rows import FORMATS, group_headings, group_rows
from neonatal_stats.words.labels import label

READ_AT_H = (0.5, 1.0, 2.0, 3.0, 4.0, 8.0, 12.0)


def tables(result: FirstHours) -> tuple[Table, ...]:
    """Milestones, time to each, groups behind, checks and loss, checks as predictors, resuscitation."""
    built = [milestones_table(result)]
    if result.curves:
        built.append(_times(result))
    if len(result.behind):
        built.append(_behind(result))
    if len(result.predictors):
        built += [_losses(result), _predictors(result)]
    if len(result.resuscitation):
        built.append(_resuscitation(result))
    return tuple(built)


def _labelled(result: FirstHours, frame: pd.DataFrame) -> pd.DataFrame:
    labels = {key: words.check_label(result.voice, key, result.settings.marks) for key in words.KEYS}
    return frame.assign(check=frame["key"].map(labels))


def milestones_table(result: FirstHours) -> Table:
    """Each check: met, not met, died before it was due, not observed, and the share met of those observed."""
    say = result.voice.say
    headings = {"check": say("Check")} | {state: words.state_label(result.voice, state) for state in STATES}
    headings |= {
        "n": say("Observed"),
        "share": say("Met, of those observed"),
        "interval": interval_heading(result.voice, result.settings.level),
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


def _times(result: FirstHours) -> Table:
    say = result.voice.say
    parts = [
        read_at(curve, (), READ_AT_H).assign(key=key) for key, curve in result.curves.items() if len(curve)
    ]
    names = {"standing": say("standing"), "feeding": say("fed"), "meconium": say("meconium passed")}
    frame = pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=["key"])
    headings = {
        "what": say("Milestone"),
        "age_h": say("By age, h"),
        "share": say("Share of {newborns}"),
        "interval": interval_heading(result.voice, result.settings.level),
        "died_first": say("Died before it"),
    }
    formats = {"age_h": "number", "share": "share", "died_first": "share"}
    note = say("Cumulative incidence: those seen not to have yet count until they were last seen.")
    frame = frame.assign(what=frame["key"].map(names))
    return Table("first_hours-times", say("Time to each milestone"), frame, headings, formats, note)


def _behind(result: FirstHours) -> Table:
    say, voice = result.voice.say, result.voice
    frame = _labelled(result, group_rows(voice, result.behind))
    interval = interval_heading(voice, result.settings.level)
    headings = {"check": say("Check"), **group_headings(voice, interval, say("Not met"), say("Observed"))}
    note = say(
        "q allows for every comparison in its check. Association only; {tried} comparisons tried.",
        tried=printing.count(result.behind["q"].notna().sum()),
    )
    return Table("first_hours-groups", say("Marks not met, by group"), frame, headings, FORMATS, note)


def _losses(result: FirstHours) -> Table:
    say = result.voice.say
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
        "interval": interval_heading(result.voice, result.settings.level),
        "not_known": say("Outcome not known"),
    }
    formats = dict.fromkeys(("events", "n_failed", "events_passed", "n_passed", "not_known"), "count")
    formats |= {"ratio": "ratio", "interval": "ratio", "share_failed": "share", "share_passed": "share"}
    title = say("Checks and loss by {window}, of those alive when the check was due", window=result.window)
    return Table("first_hours-losses", title, frame, headings, formats)


def _predictors(result: FirstHours) -> Table:
    say = result.voice.say
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
    order = {key: place for place, key in enumerate(words.KEYS)}
    frame = frame.assign(check_place=frame["key"].map(order)).sort_values(
        ["check_place", "place"], kind="stable"
    )
    headings = {
        "check": say("Check"),
        "measure": say("Measure"),
        "value": say("Value"),
        "range": interval_heading(result.voice, result.settings.level),
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


def _resuscitation(result: FirstHours) -> Table:
    say = result.voice.say
    headings = {
        "action": say("Done to start breathing"),
        "done": say("{newborns}"),
        "difficult": say("After a difficult birth"),
        "events": say("Lost by {window}", window=result.window),
        "n": say("Followed"),
        "share": say("Share lost"),
        "interval": interval_heading(result.voice, result.settings.level),
    }
    formats = {"done": "count", "difficult": "count", "events": "count", "n": "count", "share": "share"}
    note = say("Description only: those that needed help were not like those that did not.")
    actions = [label(result.voice, action) for action in result.resuscitation["action"]]
    frame = result.resuscitation.assign(action=actions)
    return Table("first_hours-resuscitation", say("Resuscitation"), frame, headings, formats, note)
