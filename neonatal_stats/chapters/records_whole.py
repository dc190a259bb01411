"""Are the records whole: in every season, and for the dead as well as for the living?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pandas as pd

from neonatal_stats.chapters.counted.records import LESS, Records
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure, draw_pairs
from neonatal_stats.tables import Table, columns
from neonatal_stats.words import Sentence, cautions, voice_of
from neonatal_stats.words.names import column_name

WORST = 3
MUCH_MISSING = 0.20
NO_QUESTION = ("rectal_temperature_c",)
"""Columns that no chapter asks of, and that mean handling every newborn: nobody is told to fill them."""


def outcome_said(result: Records) -> Iterator[Sentence]:
    """Columns known at birth that were filled less often for those lost: comparisons by them lean on fewer losses."""
    voice, rows = voice_of(result), result.by_outcome
    points = voice.number(100 * LESS, 0)
    worse = rows[rows["less"].astype(bool)].sort_values("estimate", kind="stable").head(WORST)
    if len(worse):
        told = "; ".join(
            voice.say(
                "{column} {a} against {b}",
                column=column_name(voice, str(row["column"])),
                a=voice.counts(row["events"], row["n"]),
                b=voice.counts(row["events_versus"], row["n_versus"]),
            )
            for row in worse.to_dict("records")
        )
        text = (
            "Written down less often for those lost than for the others, by {points} percentage points or more: "
            "{told}. Comparisons by these lean on fewer losses."
        )
        yield Sentence(voice.say(text, told=told, points=points), role="cannot say")
    elif rows["enough"].any():
        text = (
            "No column known at birth was written down less often for those lost than for the others by {points} "
            "percentage points or more."
        )
        yield Sentence(voice.say(text, points=points))


def outcome_drawn(result: Records) -> Iterator[Figure]:
    """The same columns as a picture, where some newborn had one of them empty."""
    shown = _with_gaps(result)
    if shown.empty:
        return
    voice = voice_of(result)
    say = voice.say
    rows = shown.to_dict("records")
    empty = [[row["n"] - row["events"], row["n_versus"] - row["events_versus"]] for row in rows]
    told = [
        say(
            "{lost} of those lost, {others} of the others",
            lost=voice.counts(gone, row["n"]),
            others=voice.counts(others, row["n_versus"]),
        )
        for row, (gone, others) in zip(rows, empty, strict=True)
    ]
    yield draw_pairs(
        shown.assign(
            first=1 - shown["first"],
            second=1 - shown["second"],
            counts=[
                f"{voice.percent(gone / row['n'])}, {voice.percent(others / row['n_versus'])}"
                for row, (gone, others) in zip(rows, empty, strict=True)
            ],
            told=told,
        ),
        names=(say("of those lost"), say("of the others")),
        printer=voice,
        name="records-outcome",
        title=say("What was not written down at birth, for those lost and for the others"),
        alt=say(
            "Without a value: {told}.",
            told="; ".join(f"{row['label']} {one}" for row, one in zip(rows, told, strict=True)),
        ),
        axis=say("without a value, % of {newborns}"),
    )


def outcome_table(result: Records) -> Iterator[Table]:
    """The same columns in numbers; a difference below 0 is less often filled for those lost."""
    frame = _with_gaps(result)
    if frame.empty:
        return
    voice = voice_of(result)
    say = voice.say
    declared = (
        columns.text("label", say("Column"), raw="column"),
        columns.count("events", say("Written, of those lost")),
        columns.count("n", say("Lost")),
        columns.share("first", say("Share")),
        columns.count("events_versus", say("Written, of the others")),
        columns.count("n_versus", say("Others")),
        columns.share("second", say("Share of the others")),
        columns.points("estimate", say("Difference, percentage points")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level), "points"),
        columns.text("flag", say("Flag"), raw="less"),
    )
    frame = frame.assign(flag=[say("less often") if less else "" for less in frame["less"]])
    note = say(
        "Flagged from {points} percentage points on; it is no test.", points=voice.number(100 * LESS, 0)
    )
    title = say("Written down for those lost and for the others")
    yield Table("records-outcome", title, frame, declared, note=note, printer=voice)


def _with_gaps(result: Records) -> pd.DataFrame:
    """The columns known at birth that were not filled for every newborn, with their names and the two shares."""
    rows, voice = result.by_outcome, voice_of(result)
    rows = rows[rows["events"] + rows["events_versus"] < rows["n"] + rows["n_versus"]]
    return rows.assign(
        label=[column_name(voice, str(name)) for name in rows["column"]],
        first=rows["events"] / rows["n"],
        second=rows["events_versus"] / rows["n_versus"],
    )


def missing_table(result: Records) -> Iterator[Table]:
    """A row a column that was not filled for every newborn, a column a season."""
    gaps = result.missing.groupby("column", sort=False)["events"].sum()
    if not (gaps > 0).any():
        return
    voice = voice_of(result)
    say, missing = voice.say, result.missing[result.missing["column"].map(gaps) > 0]
    wide = by_season(missing, ("column",), ("events", "n"))
    frame = wide.assign(name=[column_name(voice, str(name)) for name in wide["column"]])
    seasons = list(missing["season"].unique())
    declared = (
        columns.text("name", say("Column"), raw="column"),
        *(columns.counts(f"events_{one}", f"n_{one}", one) for one in seasons),
    )
    note = say(
        "Without a value, of {newborns} born; for what is seen after birth, of those born alive. Filled for "
        "all: {whole}.",
        whole=", ".join(column_name(voice, str(name)) for name in gaps[gaps == 0].index) or "-",
    )
    title = say("Missing, by column and season")
    yield Table("records-missing", title, frame, declared, note=note, printer=voice)


def by_season(frame: pd.DataFrame, keys: Sequence[str], numbers: Sequence[str]) -> pd.DataFrame:
    """A frame with a row a season as one with a column a season and number ("events_2026"), in the same order."""
    rows: dict[tuple[object, ...], dict[str, object]] = {}
    for cell in frame.to_dict("records"):
        key = tuple(cell[name] for name in keys)
        row = rows.setdefault(key, dict(zip(keys, key, strict=True)))
        row |= {f"{name}_{cell['season']}": cell.get(name) for name in numbers}
    return pd.DataFrame(list(rows.values()), columns=None if rows else list(keys))


def next_said(result: Records) -> Iterator[Sentence]:
    """The columns that were used and yet left empty most, in the last season read."""
    latest = result.missing[result.missing["season"].isin(result.missing["season"].tail(1))]
    latest = latest[~latest["column"].isin([*NO_QUESTION, *result.not_asked])]
    gaps = latest[latest["share"] > MUCH_MISSING].sort_values("share", ascending=False, kind="stable")
    voice, asked = voice_of(result), gaps.head(WORST)
    for row in asked.to_dict("records"):
        text = "Write down {column} for every {newborn}: in {season} it is missing for {missing}."
        name, missing = column_name(voice, str(row["column"])), voice.counts(row["events"], row["n"])
        said = voice.say(text, column=name, missing=missing, season=str(row["season"]))
        yield Sentence(said, role="record next", columns=(str(row["column"]),))
    if "mothered_up" not in result.not_asked:
        yield from cautions.touching(voice, asked["column"].astype(str).tolist())
