"""The tables of the records."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.records.result import Records
from neonatal_stats.chapters.showing import interval_heading
from neonatal_stats.tables import Table, printing
from neonatal_stats.words.column_names import column_name
from neonatal_stats.words.labels import factor, label
from neonatal_stats.words.problems import TABLES, said_in

AGES = {
    "died after birth": "died after birth",
    "hour known": "hour of death known",
    "between two checks": "known only to lie between two checks",
    "day known": "only the day known",
    "not known": "age not known",
}
LEVELS = {"newborns": "{newborns}", "dams": "{dams} that gave birth"}
HEAPED = {
    "time of birth on the quarter hour": "time of birth on the quarter hour",
    "time of death on the quarter hour": "time of death on the quarter hour",
    "birth weight on the half kilogram": "birth weight on the half kilogram",
}


def tables(result: Records) -> tuple[Table, ...]:
    """Rows first and who stands in the records; then problems, gaps, rounding, ages and follow-up."""
    return (
        _balance(result),
        _described(result),
        *_problems(result),
        *_missing(result),
        *_outcome(result),
        *_heaped(result),
        _ages(result),
        _watched(result),
    )


def _balance(result: Records) -> Table:
    say = result.voice.say
    rows = [
        (one.table, one.rows_read, one.used, one.used_with_missing, one.set_aside) for one in result.balances
    ]
    columns = ["table", "read", "used", "partly", "aside"]
    frame = pd.DataFrame(rows, columns=columns)
    frame["table"] = [say(TABLES.get(name, name)) for name in frame["table"]]
    headings = {
        "table": say("Table"),
        "read": say("Rows read"),
        "used": say("Used as they stand"),
        "partly": say("Used, a field set to missing"),
        "aside": say("Set aside"),
    }
    formats = dict.fromkeys(columns[1:], "count")
    note = say(
        "The last three add up to the rows read. Each row set aside, and each field, stands in the "
        "set-aside list."
    )
    return Table("records-balance", say("Rows read, used and set aside"), frame, headings, formats, note)


def _described(result: Records) -> Table:
    say, frame = result.voice.say, result.described
    seasons = list(frame["season"].unique()) if len(frame) else []
    rows: dict[tuple[str, str, str], dict[str, str]] = {}
    for cell in frame.to_dict("records"):
        about, term = str(cell["about"]), str(cell["term"])
        key = (
            say(LEVELS[str(cell["level"])]),
            _about(result, about),
            label(result.voice, term) if term else "",
        )
        rows.setdefault(key, {})[str(cell["season"])] = _cell(cell)
    body = [
        {"level": level, "about": about, "term": term, **{f"season_{s}": cells.get(s, "") for s in seasons}}
        for (level, about, term), cells in rows.items()
    ]
    columns = ["level", "about", "term", *(f"season_{s}" for s in seasons)]
    headings = {"level": say("Of"), "about": say("By"), "term": say("Group")}
    headings |= {f"season_{s}": s for s in seasons}
    note = say(
        "Count of those with a value; for a measured quantity the median, the middle half and the count."
    )
    title = say("Who stands in these records: {dams} and {newborns}")
    return Table("records-described", title, pd.DataFrame(body, columns=columns), headings, {}, note)


def _about(result: Records, name: str) -> str:
    if name in ("birth_type", "parity_class"):
        return factor(result.voice, name)
    return column_name(result.voice, name)


def _cell(cell: dict[object, object]) -> str:
    n = printing.count(float(str(cell["n"])))
    if not cell["term"]:
        low, median, high = (printing.number(float(str(cell[name]))) for name in ("low", "median", "high"))
        return f"{median} ({printing.span(low, high)}; {n})"
    return f"{printing.count(float(str(cell['events'])))} / {n}"


def _problems(result: Records) -> Iterator[Table]:
    if result.problems.empty:
        return
    say = result.voice.say
    total = {"table": say("all"), "ended": "", "problem": "", "events": int(result.problems["events"].sum())}
    rows = said_in(result.voice, result.problems)
    rows["table"] = [say(TABLES.get(name, name)) for name in rows["table"]]
    frame = pd.concat([rows, pd.DataFrame([total])], ignore_index=True)
    headings = {
        "table": say("Table"),
        "ended": say("What was done"),
        "problem": say("Problem"),
        "events": say("Times"),
    }
    yield Table("records-problems", say("Problems found"), frame, headings, {"events": "count"})


def _missing(result: Records) -> Iterator[Table]:
    """A row a column that was not filled for every newborn, a column a season."""
    if result.missing.empty:
        return
    say, frame = result.voice.say, result.missing
    gaps = frame.groupby("column", sort=False)["events"].sum()
    if not (gaps > 0).any():
        return
    seasons = list(frame["season"].unique())
    body = []
    for name in gaps[gaps > 0].index:
        mine = frame[frame["column"] == name]
        cells = {
            f"season_{row['season']}": printing.counts(row["events"], row["n"])
            for row in mine.to_dict("records")
        }
        body.append({"name": column_name(result.voice, str(name)), **cells})
    columns = [f"season_{season}" for season in seasons]
    headings = {"name": say("Column"), **dict(zip(columns, seasons, strict=True))}
    note = say(
        "Without a value, of {newborns} born; for what is seen after birth, of those born alive. Filled for "
        "all: {whole}.",
        whole=", ".join(column_name(result.voice, str(name)) for name in gaps[gaps == 0].index) or "-",
    )
    shown = pd.DataFrame(body, columns=["name", *columns]).fillna(printing.NOT_KNOWN)
    yield Table("records-missing", say("Missing, by column and season"), shown, headings, {}, note)


def _outcome(result: Records) -> Iterator[Table]:
    if result.by_outcome.empty:
        return
    say, frame = result.voice.say, result.by_outcome
    frame = frame[frame["events"] + frame["events_versus"] < frame["n"] + frame["n_versus"]]
    if frame.empty:
        return
    frame = frame.assign(
        name=[column_name(result.voice, str(name)) for name in frame["column"]],
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
        "range": interval_heading(result.voice, result.settings.level),
    }
    formats = dict.fromkeys(("events", "n", "events_versus", "n_versus"), "count")
    formats |= {"first": "share", "second": "share", "estimate": "points"}
    title = say("Written down for those lost and for the others")
    yield Table("records-outcome", title, frame, headings, formats)


def _heaped(result: Records) -> Iterator[Table]:
    if result.heaped.empty:
        return
    say = result.voice.say
    frame = result.heaped.assign(
        name=[say(HEAPED[str(what)]) for what in result.heaped["what"]],
        chance=[printing.percent(share, 0) for share in result.heaped["expected"]],
    )
    headings = {
        "name": say("Round number"),
        "events": say("Round"),
        "n": say("Written down"),
        "share": say("Share"),
        "interval": interval_heading(result.voice, result.settings.level),
        "chance": say("By chance about"),
    }
    formats = {"events": "count", "n": "count", "share": "share"}
    yield Table("records-rounded", say("Rounded numbers"), frame, headings, formats)


def _ages(result: Records) -> Table:
    say = result.voice.say
    rows = [(say(AGES[name]), n) for name, n in result.ages.items()]
    rows.append((say("litter size counted from the rows"), result.counted_litters))
    rows.append((say("{dam} not known"), result.unknown_dams))
    rows.append((say("{newborns} in these records"), result.counted.n))
    frame = pd.DataFrame(rows, columns=["what", "n"])
    headings = {"what": say("{Newborns}"), "n": say("Count")}
    return Table("records-ages", say("Ages at death, litters and dams"), frame, headings, {"n": "count"})


def _watched(result: Records) -> Table:
    say = result.voice.say
    rows = [(name, one.n, one.total_days, one.median_days) for name, one in result.watched.items()]
    total = (say("all"), sum(row[1] for row in rows), sum(row[2] for row in rows if row[1]), float("nan"))
    frame = pd.DataFrame([*rows, total], columns=["season", "n", "days", "median"])
    headings = {
        "season": say("Season"),
        "n": say("Born alive, age known"),
        "days": say("{Newborn}-days watched"),
        "median": say("Days watched, median"),
    }
    formats = {"n": "count", "days": "count", "median": "number"}
    note = say("The median is of how long each would have been watched had it lived.")
    return Table("records-watched", say("How long they were watched"), frame, headings, formats, note)
