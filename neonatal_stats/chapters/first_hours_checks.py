"""What the checks of the first hours went with: groups that met them less often, and losses of those that did not.

The checks have their printed names here; `first_hours` is the chapter.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pandas as pd

from neonatal_stats.chapters.counted.first_hours import KEYS, FirstHours
from neonatal_stats.chapters.protocol import Verdicts, interval_heading
from neonatal_stats.estimates.results import ratio
from neonatal_stats.measures.claims import judged
from neonatal_stats.season.settings import Marks
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.words import Sentence, Verdict, Voice, voice_of
from neonatal_stats.words.evidence import Compared, comparison, with_readings
from neonatal_stats.words.group_tables import compared_group, group_columns, group_rows
from neonatal_stats.words.names import season_names

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
PRINTED = {"estimate": "ratio", "n": "n_failed", "events_versus": "events_passed", "n_versus": "n_passed"}
"""What the table of losses calls the columns of the contrast frame."""
SCREENED_LABELS = {
    "sensitivity": "Sensitivity: of those lost, not met",
    "specificity": "Specificity: of survivors, met",
    "positive_predictive_value": "Of those not met, lost",
    "negative_predictive_value": "Of those met, survived",
    "positive_likelihood_ratio": "Likelihood ratio of not met",
    "negative_likelihood_ratio": "Likelihood ratio of met",
}


def check_label(voice: Voice, key: str, marks: Marks) -> str:
    """The printed name of a check, with the mark it is held against."""
    named, _ = CHECKS[key]
    return voice.say(named, mark=_mark(voice, key, marks))


def _not_met(voice: Voice, key: str, marks: Marks) -> str:
    """The newborns that did not meet a check, as part of a sentence."""
    _, not_met = CHECKS[key]
    return voice.say(not_met, mark=_mark(voice, key, marks))


def _mark(voice: Voice, key: str, marks: Marks) -> str:
    return {
        "breathing": voice.number(marks.breathing_s, 0),
        "suck": voice.number(marks.suck_reflex_min, 0),
        "standing": voice.age(marks.standing_h),
        "standing_late": voice.age(marks.standing_late_h),
        "feeding": voice.age(marks.fed_h),
        "meconium": voice.age(marks.meconium_h),
    }[key]


def interval_column(result: FirstHours) -> Column:
    return columns.interval("low", "high", interval_heading(voice_of(result), result.settings.level))


def check_column(result: FirstHours) -> Column:
    return columns.text("check", voice_of(result).say("Check"), raw="key")


def labelled(result: FirstHours, frame: pd.DataFrame) -> pd.DataFrame:
    """The rows with the printed name of their check; ``key`` is the check's own name."""
    voice, marks = voice_of(result), result.settings.marks
    if "check" in frame:
        frame = frame.drop(columns="key").rename(columns={"check": "key"})
    return frame.assign(check=[check_label(voice, key, marks) for key in frame["key"]])


def risks_said(result: FirstHours, verdicts: Verdicts) -> Iterator[Sentence]:
    """What the comparisons count, then those that had not met each check against those that had."""
    voice, settings = voice_of(result), result.settings
    if len(result.predictors):
        text = voice.say(
            "Checks and loss ({period}): of {newborns} alive when a check was due, those lost by {window}. A check "
            "tells which to watch; it does not say why they were lost.",
            period=season_names(voice, result.period, result.period),
            window=result.window,
        )
        yield Sentence(text)
    met = voice.say("those that had met this mark")
    for row in judged(result.predictors, verdicts).to_dict("records"):
        pair = Compared.of(row, group=_not_met(voice, row["check"], settings.marks), versus=met)
        said = comparison(voice, pair, row["verdict"], level=settings.level, claim=row["key"])
        if row["verdict"] is Verdict.TOO_FEW:
            yield said
        else:
            yield replace(said, text=with_readings(voice, said.text, row["lowest"], row["highest"]))


def behind_said(result: FirstHours, verdicts: Verdicts) -> Iterator[Sentence]:
    """The groups that clearly met a mark less or more often; or that none did."""
    voice, behind = voice_of(result), judged(result.behind, verdicts)
    tried = int(behind["verdict"].isin([one for one in Verdict if one is not Verdict.TOO_FEW]).sum())
    if not tried:
        return
    clear = behind[behind["verdict"] == Verdict.CLEAR]
    if clear.empty:
        text = voice.say(
            "Of {tried} comparisons of groups (birth type, delivery, parity, weight, season), none differs clearly in "
            "meeting the marks.",
            tried=voice.count(tried),
        )
        yield Sentence(text, Verdict.NO_CLEAR)
    for row in clear.sort_values(["p", "key"], kind="stable").to_dict("records"):
        pair = compared_group(voice, row)
        text = voice.say(
            "{check}: missed more often by {group}, {share}, than by {versus}, {versus_share}."
            if pair.excess > 0
            else "{check}: missed less often by {group}, {share}, than by {versus}, {versus_share}.",
            check=check_label(voice, row["check"], result.settings.marks),
            group=pair.group,
            share=voice.counts(pair.events, pair.n),
            versus=pair.versus,
            versus_share=voice.counts(pair.events_versus, pair.n_versus),
        )
        yield Sentence(text, Verdict.CLEAR, claim=row["key"])


def behind_table(result: FirstHours) -> Table:
    """Not met of those observed, group by group, for each check; against the group it is held against."""
    voice = voice_of(result)
    say, interval = voice.say, interval_heading(voice, result.settings.level)
    note = say(
        "q allows for every comparison in its check, not for the rest of the page. Association only; {tried} "
        "comparisons tried.",
        tried=voice.count(result.behind["q"].notna().sum()),
    )
    return Table(
        "first_hours-groups",
        say("Marks not met, by group"),
        labelled(result, group_rows(voice, result.behind)),
        (check_column(result), *group_columns(voice, interval, say("Not met"), say("Observed"))),
        note=note,
        printer=voice,
    )


def losses_table(result: FirstHours) -> Table:
    """Lost by the window's end, of those alive when a check was due: those that had not met it and those that had."""
    voice, frame = voice_of(result), result.predictors
    say = voice.say
    frame = frame.rename(columns=PRINTED).assign(
        share_failed=ratio(frame["events"], frame["n"]),
        share_passed=ratio(frame["events_versus"], frame["n_versus"]),
    )
    return Table(
        "first_hours-losses",
        say("Checks and loss by {window}, of those alive when the check was due", window=result.window),
        labelled(result, frame),
        (
            check_column(result),
            columns.count("events", say("Not met: lost")),
            columns.count("n_failed", say("Not met")),
            columns.share("share_failed", say("Not met: share lost")),
            columns.count("events_passed", say("Met: lost")),
            columns.count("n_passed", say("Met")),
            columns.share("share_passed", say("Met: share lost")),
            columns.ratio("ratio", say("Risk ratio")),
            columns.interval("low", "high", interval_column(result).heading, "ratio"),
            columns.in_csv(columns.p("p", say("p"))),
            columns.interval("lowest", "highest", say("Over what the records leave open"), "ratio"),
            columns.in_csv(columns.p("weakest", say("Largest p over it"))),
            columns.count("not_known", say("Outcome not known")),
        ),
        note=say(
            "Of those whose outcome is known; in the ratio, those still watched stand for those that left before "
            "the end of the window. Left open by the records: when deaths found at a check fell (here as soon as "
            "nobody saw the {newborn} alive any more, else when it was found), and whether a {newborn} with a blank "
            "feed had fed."
        ),
        printer=voice,
    )


def predictors_table(result: FirstHours) -> Table:
    """How well not meeting each check foretold a loss, among those alive when it was due."""
    voice = voice_of(result)
    say = voice.say
    rows = [
        {
            "key": row["check"],
            "measure": name,
            "words": say(SCREENED_LABELS[name]),
            "value": row[name],
            "low": row[f"{name}_low"],
            "high": row[f"{name}_high"],
            "kind": "ratio" if name.endswith("likelihood_ratio") else "share",
        }
        for row in sorted(result.predictors.to_dict("records"), key=lambda row: KEYS.index(row["check"]))
        for name in SCREENED_LABELS
    ]
    return Table(
        "first_hours-predictors",
        say("Each check as a predictor of loss by {window}", window=result.window),
        labelled(result, pd.DataFrame(rows)),
        (
            check_column(result),
            columns.text("words", say("Measure"), raw="measure"),
            columns.mixed(columns.share("value", say("Value")), "kind"),
            columns.mixed(interval_column(result), "kind"),
        ),
        printer=voice,
    )
