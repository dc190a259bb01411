"""The tables of the causes."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.causes.figures import window_names
from neonatal_stats.chapters.causes.result import LEADING_EVENTS, Causes
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.tables import Table, printing
from neonatal_stats.vocabulary.terms import CAUSE_BASES
from neonatal_stats.words.labels import label


def tables(result: Causes) -> tuple[Table, ...]:
    """Causes and ages first; then what they rest on, and birth types."""
    return (_causes(result), _ages(result), _basis(result), *_types(result))


def _named(result: Causes, frame: pd.DataFrame) -> pd.DataFrame:
    return frame.assign(name=[label(result.voice, cause) for cause in frame["cause"]])


def _causes(result: Causes) -> Table:
    say = result.voice.say
    interval = interval_heading(result.voice, result.settings.level)
    frame = _named(result, result.by_cause)
    pairs = zip(frame["at_end_low"], frame["at_end_high"], strict=True)
    frame = frame.assign(at_end_range=[printing.percent_range(low, high) for low, high in pairs])
    headings = {
        "name": say("Cause"),
        "events": say("Losses"),
        "n": say("Of all losses"),
        "share": say("Share of losses"),
        "interval": interval,
        "highest": say("Share were all unknown of this cause"),
    }
    formats = {"events": "count", "n": "count", "share": "share", "highest": "share", "at_end": "share"}
    note = say("One cause a loss. Shares of a known cause lie between the two columns of shares.")
    if not result.incidence.empty:
        headings["at_end"] = say("Share of all born, by {age}", age=printing.age(result.end_h))
        headings["at_end_range"] = say("{interval} of all born", interval=interval)
    return Table("causes-losses", say("Losses by cause"), frame, headings, formats, note)


def _ages(result: Causes) -> Table:
    say, names = result.voice.say, window_names(result)
    wide = result.by_age.pivot_table(index="cause", columns="window", values="events", sort=False)
    wide = wide.loc[result.causes, sorted(wide.columns)].astype(int)
    columns = [f"window_{place}" for place in range(wide.shape[1])]
    frame = wide.set_axis(columns, axis=1).reset_index()
    frame = _named(result, frame).assign(all=wide.sum(axis=1).to_numpy())
    total = {name: int(frame[name].sum()) for name in (*columns, "all")}
    frame = pd.concat([frame, pd.DataFrame([{"name": say("all causes"), **total}])], ignore_index=True)
    used = [(column, name) for column, name in zip(columns, names, strict=True) if total[column]]
    headings = {"name": say("Cause"), **dict(used), "all": say("All ages")}
    formats = dict.fromkeys((*columns, "all"), "count")
    note = say(
        "A span takes in its start and not its end; the last takes in both. Spans without a loss are left out."
    )
    return Table("causes-ages", say("Losses by cause and age"), frame, headings, formats, note)


def _basis(result: Causes) -> Table:
    say = result.voice.say
    columns = [*CAUSE_BASES, "not given"]
    frame = _named(result, result.by_basis)
    total = {name: int(frame[name].sum()) for name in (*columns, "n")}
    frame = pd.concat([frame, pd.DataFrame([{"name": say("all causes"), **total}])], ignore_index=True)
    headings = {"name": say("Cause"), **{basis: label(result.voice, basis) for basis in CAUSE_BASES}}
    headings |= {"not given": say("not given"), "n": say("All")}
    formats = dict.fromkeys((*columns, "n"), "count")
    return Table("causes-basis", say("What the cause rests on"), frame, headings, formats)


def _types(result: Causes) -> Iterator[Table]:
    if result.by_type.empty:
        return
    say, frame = result.voice.say, _named(result, result.by_type)
    types = list(frame["told"].iloc[0])
    for name in types:
        frame[name] = [
            f"{printing.count(told[name][0])}/{printing.count(told[name][1])}" for told in frame["told"]
        ]
    headings = {"name": say("Cause"), **{name: label(result.voice, name) for name in types}}
    headings |= {"statistic": say("Chi-square"), "p": say("p"), "q": say("q")}
    formats = {"statistic": "number", "p": "p", "q": "p"}
    note = say(
        "Lost to the cause / born, and Gray's test between birth types with littermates allowed for. Causes "
        "with at least {n} losses; q allows for how many were tried ({tried}).",
        n=printing.count(LEADING_EVENTS),
        tried=printing.count(len(frame)),
    )
    yield Table("causes-birth-types", say("Leading causes by birth type"), frame, headings, formats, note)
