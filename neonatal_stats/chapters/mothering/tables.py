"""The tables of mothering-up."""

from __future__ import annotations

import pandas as pd

from neonatal_stats.chapters.mothering.evidence import tally
from neonatal_stats.chapters.mothering.result import Mothering
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.tables import Table, printing
from neonatal_stats.words.group_rows import FORMATS, group_headings, group_rows
from neonatal_stats.words.labels import label

COUNTS = ("events", "n", "events_versus", "n_versus")


def tables(result: Mothering) -> tuple[Table, ...]:
    """Rates, groups, handled within difficulty, litters, outcomes, deaths."""
    built = [_rates(result)]
    if len(result.groups):
        built.append(groups_table(result))
    if result.handled is not None:
        built += [_handled_counts(result), _handled_ratios(result)]
    if len(result.separated):
        built.append(_separated(result))
    return (*built, _outcomes(result), _deaths(result))


def _interval(result: Mothering) -> str:
    return interval_heading(result.voice, result.settings.level)


def _rates(result: Mothering) -> Table:
    say = result.voice.say
    of = {"newborns": say("{newborns} judged"), "dams": say("{dams} judged, at least one {newborn} failed")}
    frame = pd.concat([result.rates.assign(of=result.rates["unit"].map(of))], ignore_index=True)
    headings = {"of": say("Of"), "events": say("Not accepted"), "n": say("Judged"), "share": say("Share")}
    headings["interval"] = _interval(result)
    formats = {"events": "count", "n": "count", "share": "share"}
    note = say("Born alive but not judged: {unjudged}.", unjudged=str(result.unjudged))
    return Table("mothering-rates", say("Failures at mothering-up"), frame, headings, formats, note)


def groups_table(result: Mothering) -> Table:
    """Failures by group, each against its comparison."""
    say, voice = result.voice.say, result.voice
    frame = group_rows(voice, result.groups)
    headings = group_headings(voice, _interval(result), say("Not accepted"), say("Judged"))
    found = {name: printing.count(n) for name, n in tally(result).items()}
    note = say(
        "q allows for the number of comparisons in this table. Clear or leaning {telling}, no clear "
        "difference {no_clear}, too few to say {too_few}. Association only.",
        **found,
    )
    return Table("mothering-groups", say("Failures by group"), frame, headings, FORMATS, note)


def _handled_counts(result: Mothering) -> Table:
    assert result.handled is not None
    say = result.voice.say
    frame = result.handled.counts
    frame = frame.assign(birth=[label(result.voice, name) for name in frame["difficulty"]])
    headings = {
        "birth": say("Birth"),
        "events": say("Handled: not accepted"),
        "n": say("Handled"),
        "share": say("Share"),
        "events_versus": say("Not handled: not accepted"),
        "n_versus": say("Not handled"),
        "share_versus": say("Share there"),
    }
    formats = {**dict.fromkeys(COUNTS, "count"), "share": "share", "share_versus": "share"}
    title = say("Handled before bonding, within easy and difficult births")
    return Table("mothering-handled", title, frame, headings, formats)


def _handled_ratios(result: Mothering) -> Table:
    assert result.handled is not None
    say, found = result.voice.say, result.handled
    rows = [
        {"how": how, "ratio": one.estimate, "low": one.low, "high": one.high, "p": one.p}
        for how, one in ((say("crude"), found.crude), (say("within difficulty"), found.stratified))
    ]
    headings = {
        "how": say("Comparison"),
        "ratio": say("Risk ratio"),
        "interval": _interval(result),
        "p": say("p"),
    }
    formats = {"ratio": "ratio", "interval": "ratio", "p": "p"}
    note = say("Handled against not handled. Difficult births are both handled and rejected more.")
    title = say("Handled before bonding: ratio of failures")
    return Table("mothering-handled-ratio", title, pd.DataFrame(rows), headings, formats, note)


def _separated(result: Mothering) -> Table:
    say = result.voice.say
    kept = {
        "kept all": say("kept all"),
        "left some, kept some": say("left some, kept some"),
        "left all": say("left all"),
    }
    frame = result.separated.assign(what=result.separated["kept"].map(kept))
    headings = {
        "what": say("The {dam}"),
        "events": say("Litters"),
        "n": say("Of litters"),
        "share": say("Share"),
    }
    headings["interval"] = _interval(result)
    formats = {"events": "count", "n": "count", "share": "share"}
    title = say("Litters of two or more born alive, all judged")
    return Table("mothering-litters", title, frame, headings, formats)


def _outcomes(result: Mothering) -> Table:
    say = result.voice.say
    names = {
        "fostered": say("fostered"),
        "artificial": say("reared artificially"),
        "dam": say("back with the {dam}"),
        "not written down": say("not written down"),
    }
    whole = pd.DataFrame([{"reared": "all", **result.outcomes[["n", "died"]].sum()}])
    frame = pd.concat([result.outcomes, whole], ignore_index=True)
    frame = frame.assign(what=frame["reared"].map({**names, "all": say("all not accepted")}))
    headings = {"what": say("Reared"), "n": say("{newborns}"), "died": say("Of these died")}
    formats = {"n": "count", "died": "count"}
    return Table("mothering-outcomes", say("What became of those not accepted"), frame, headings, formats)


def _deaths(result: Mothering) -> Table:
    say = result.voice.say
    names = {
        "no": say("not accepted: lost by {window}", window=result.window),
        "yes": say("accepted: lost by {window}", window=result.window),
    }
    lost = result.deaths.assign(what=result.deaths["accepted"].astype(str).map(names))
    passed = result.passed.assign(what=say("of those lost: had not been accepted"))
    frame = pd.concat([lost[lost["n"] > 0], passed[passed["n"] > 0]], ignore_index=True)
    headings = {
        "what": say("Of {newborns} judged"),
        "events": say("Count"),
        "n": say("Of"),
        "share": say("Share"),
    }
    headings["interval"] = _interval(result)
    formats = {"events": "count", "n": "count", "share": "share"}
    note = say("Description only: mothering-up is judged after birth, and one has to live to be judged.")
    return Table("mothering-deaths", say("Losses and mothering-up"), frame, headings, formats, note)
