"""Are the records whole: in every season, and for the dead as well as for the living?"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from typing import Any

import pandas as pd

from neonatal_stats.chapters.counted.records import Records
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.drawing import Figure
from neonatal_stats.drawing.dots import draw_pairs
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Sentence, Verdict, judge
from neonatal_stats.words.column_names import column_name

WORST = 3
MUCH_MISSING = 0.20


def outcome_said(result: Records) -> Iterator[Sentence]:
    """Columns known at birth that were filled less often for those lost: comparisons by them lean on fewer losses."""
    voice = voice_of(result)
    rows = result.by_outcome
    if rows.empty:
        return
    said = [
        (row, _recorded_less(row, minimum_group=result.settings.minimum_group))
        for row in rows.to_dict("records")
    ]
    worse = sorted(
        (row for row, verdict in said if verdict is Verdict.CLEAR), key=lambda row: float(row["estimate"])
    )
    if worse:
        told = "; ".join(
            voice.say(
                "{column} {a} against {b}",
                column=column_name(voice, str(row["column"])),
                a=printing.counts(row["events"], row["n"]),
                b=printing.counts(row["events_versus"], row["n_versus"]),
            )
            for row in worse[:WORST]
        )
        text = (
            "Written down less often for those lost than for the others: {told}. Comparisons by these lean "
            "on fewer losses."
        )
        yield Sentence(voice.say(text, told=told), role="cannot say")
    elif any(verdict is not Verdict.TOO_FEW for _, verdict in said):
        yield Sentence(
            voice.say(
                "No clear difference in how well births were written down, between those lost and the others."
            )
        )


def _recorded_less(row: Mapping[Hashable, Any], *, minimum_group: int) -> Verdict:
    """Was a column filled less often for those lost? Clear where the interval of the difference lies below 0.

    Too few to say by the rule of `judge`, the empty cells taken as the events. A column filled more often for
    those lost is no clear difference here.
    """
    empty = row["n"] - row["events"] + row["n_versus"] - row["events_versus"]
    smallest = min(row["n"], row["n_versus"])
    if not empty and smallest >= minimum_group:
        return Verdict.NO_CLEAR
    verdict = judge(
        row["low"],
        row["high"],
        row["p"],
        null=0.0,
        events=empty,
        smallest_group=smallest,
        minimum_group=minimum_group,
    )
    return verdict if verdict is not Verdict.CLEAR or row["estimate"] < 0 else Verdict.NO_CLEAR


def outcome_drawn(result: Records) -> Iterator[Figure]:
    """The same columns as a picture, where some newborn had one of them empty."""
    rows = _with_gaps(result)
    if rows.empty:
        return
    voice = voice_of(result)
    say = voice.say
    shown = rows.assign(
        label=[column_name(voice, str(name)) for name in rows["column"]],
        first=rows["events"] / rows["n"],
        second=rows["events_versus"] / rows["n_versus"],
    )
    told = "; ".join(
        f"{row['label']} {printing.percent(row['first'], 0)} / {printing.percent(row['second'], 0)}"
        for row in shown.to_dict("records")
    )
    yield draw_pairs(
        shown,
        names=(say("of those lost"), say("of the others")),
        printer=voice,
        name="records-outcome",
        title=say("What was written down at birth, for those lost and for the others"),
        alt=say("Share with a value, of those lost / of the others: {told}.", told=told),
        axis=say("with a value, % of {newborns}"),
    )


def outcome_table(result: Records) -> Iterator[Table]:
    """The same columns in numbers; a difference below 0 is less often filled for those lost."""
    frame = _with_gaps(result)
    if frame.empty:
        return
    voice = voice_of(result)
    say = voice.say
    frame = frame.assign(
        name=[column_name(voice, str(name)) for name in frame["column"]],
        first=frame["events"] / frame["n"],
        second=frame["events_versus"] / frame["n_versus"],
        range=[
            printing.span(printing.points(low), printing.points(high))
            for low, high in zip(frame["low"], frame["high"], strict=True)
        ],
    )
    headings = {
        "name": say("Column"),
        "events": say("Written, of those lost"),
        "n": say("Lost"),
        "first": say("Share"),
        "events_versus": say("Written, of the others"),
        "n_versus": say("Others"),
        "second": say("Share of the others"),
        "estimate": say("Difference, percentage points"),
        "range": interval_heading(voice, result.settings.level),
    }
    formats = dict.fromkeys(("events", "n", "events_versus", "n_versus"), "count")
    formats |= {"first": "share", "second": "share", "estimate": "points"}
    title = say("Written down for those lost and for the others")
    yield Table("records-outcome", title, frame, headings, formats)


def _with_gaps(result: Records) -> pd.DataFrame:
    """The columns known at birth that were not filled for every newborn."""
    rows = result.by_outcome
    if rows.empty:
        return rows
    return rows[rows["events"] + rows["events_versus"] < rows["n"] + rows["n_versus"]]


def missing_table(result: Records) -> Iterator[Table]:
    """A row a column that was not filled for every newborn, a column a season."""
    if result.missing.empty:
        return
    voice = voice_of(result)
    say, frame = voice.say, result.missing
    gaps = frame.groupby("column", sort=False)["events"].sum()
    if not (gaps > 0).any():
        return
    seasons = sorted(frame["season"].unique())
    body = []
    for name in gaps[gaps > 0].index:
        mine = frame[frame["column"] == name]
        cells = {
            f"season_{row['season']}": printing.counts(row["events"], row["n"])
            for row in mine.to_dict("records")
        }
        body.append({"name": column_name(voice, str(name)), **cells})
    columns = [f"season_{season}" for season in seasons]
    headings = {"name": say("Column"), **dict(zip(columns, seasons, strict=True))}
    note = say(
        "Without a value, of {newborns} born; for what is seen after birth, of those born alive. Filled for "
        "all: {whole}.",
        whole=", ".join(column_name(voice, str(name)) for name in gaps[gaps == 0].index) or "-",
    )
    shown = pd.DataFrame(body, columns=["name", *columns]).fillna(printing.NOT_KNOWN)
    yield Table("records-missing", say("Missing, by column and season"), shown, headings, {}, note)


def next_said(result: Records) -> Iterator[Sentence]:
    """The columns that were used and yet left empty most, in the last season read."""
    latest = result.missing[result.missing["season"] == result.missing["season"].max()]
    gaps = latest[latest["share"] > MUCH_MISSING].sort_values("share", ascending=False, kind="stable")
    voice = voice_of(result)
    for row in gaps.head(WORST).to_dict("records"):
        text = "Write down {column} for every {newborn}: it is missing for {missing}."
        missing = printing.counts(row["events"], row["n"])
        name = column_name(voice, str(row["column"]))
        yield Sentence(voice.say(text, column=name, missing=missing), role="record next")
