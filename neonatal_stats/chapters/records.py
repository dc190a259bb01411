"""Can we trust these records?

Rows read and set aside, who stands in the records, rounded numbers, ages and follow-up; whether the records are
whole is told in `records_whole`.
"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.counted.records import MANY_TIMES, Records, answer
from neonatal_stats.chapters.protocol import interval_heading, voice_of
from neonatal_stats.chapters.records_whole import (
    missing_table,
    next_said,
    outcome_drawn,
    outcome_said,
    outcome_table,
)
from neonatal_stats.drawing import Figure
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, printing
from neonatal_stats.words import Method, Sentence, Voice
from neonatal_stats.words.column_names import column_name
from neonatal_stats.words.labels import factor, label
from neonatal_stats.words.problems import TABLES, heard, said_in

NAME = "records"
TITLE = "The records"
QUESTION = "Can we trust these records?"
ALL_SEASONS = True

__all__ = [
    "ALL_SEASONS",
    "NAME",
    "QUESTION",
    "TITLE",
    "Records",
    "answer",
    "figures",
    "method",
    "missing",
    "sentences",
    "tables",
]


def missing(season: Season) -> tuple[str, ...]:
    """Always open: there are records, or there is no review."""
    return ()


def sentences(result: Records) -> tuple[Sentence, ...]:
    """Rows, wholeness, rounding, ages, litters and dams, follow-up, and what to write down next."""
    return (
        *_rows_said(result),
        *outcome_said(result),
        *_rounded_said(result),
        *_ages_said(result),
        *_litters_said(result),
        *_watched_said(result),
        *next_said(result),
    )


def figures(result: Records) -> tuple[Figure, ...]:
    """Only where some column known at birth was not filled for every newborn."""
    return tuple(outcome_drawn(result))


def tables(result: Records) -> tuple[Table, ...]:
    """Rows first and who stands in the records; then problems, gaps, rounding, ages and follow-up."""
    return (
        _rows_table(result),
        _described_table(result),
        *_problems_table(result),
        *missing_table(result),
        *outcome_table(result),
        *_rounded_table(result),
        _ages_table(result),
        _watched_table(result),
    )


def _rows_said(result: Records) -> Iterator[Sentence]:
    """Rows of births read, used and set aside; and what was wrong most often, in all tables."""
    voice = voice_of(result)
    say = voice.say
    for balance in result.balances:
        if balance.table != "births":
            continue
        text = (
            "{read} rows of births were read: {used} used as they stand, {partly} used with a field set to "
            "missing, {aside} set aside."
        )
        numbers = {
            "read": balance.rows_read,
            "used": balance.used,
            "partly": balance.used_with_missing,
            "aside": balance.set_aside,
        }
        yield Sentence(say(text, **{name: printing.count(n) for name, n in numbers.items()}))
    noted = result.problems["events"].sum() if len(result.problems) else 0
    if noted:
        text = (
            "Problems found in all tables: {n}, each in the set-aside list with what to do. Most often: "
            "{problem} ({m})."
        )
        worst = result.problems.sort_values("events", ascending=False, kind="stable").iloc[0]
        values = {"n": printing.count(noted), "m": printing.count(worst["events"])}
        yield Sentence(say(text, problem=heard(voice, str(worst["problem"])), **values))


def _rows_table(result: Records) -> Table:
    say = voice_of(result).say
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


def _problems_table(result: Records) -> Iterator[Table]:
    if result.problems.empty:
        return
    voice = voice_of(result)
    say = voice.say
    total = {"table": say("all"), "ended": "", "problem": "", "events": int(result.problems["events"].sum())}
    rows = said_in(voice, result.problems)
    rows["table"] = [say(TABLES.get(name, name)) for name in rows["table"]]
    frame = pd.concat([rows, pd.DataFrame([total])], ignore_index=True)
    headings = {
        "table": say("Table"),
        "ended": say("What was done"),
        "problem": say("Problem"),
        "events": say("Times"),
    }
    yield Table("records-problems", say("Problems found"), frame, headings, {"events": "count"})


LEVELS = {"newborns": "{newborns}", "dams": "{dams} that gave birth"}


def _described_table(result: Records) -> Table:
    """Dams and newborns by what was recorded of them, a column a season."""
    voice = voice_of(result)
    say, frame = voice.say, result.described
    seasons = sorted(frame["season"].unique()) if len(frame) else []
    rows: dict[tuple[str, str, str], dict[str, str]] = {}
    for cell in frame.to_dict("records"):
        about, term = str(cell["about"]), str(cell["term"])
        group = label(voice, term) if term else ""
        key = (say(LEVELS[str(cell["level"])]), _about(voice, about), group)
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


def _about(voice: Voice, name: str) -> str:
    if name in ("birth_type", "parity_class"):
        return factor(voice, name)
    return column_name(voice, name)


def _cell(cell: dict[object, object]) -> str:
    n = printing.count(float(str(cell["n"])))
    if not cell["term"]:
        low, median, high = (printing.number(float(str(cell[name]))) for name in ("low", "median", "high"))
        return f"{median} ({printing.span(low, high)}; {n})"
    return f"{printing.count(float(str(cell['events'])))} / {n}"


ROUNDED = {
    "time of birth on the quarter hour": "Times of birth are rounded: {share} fall on a quarter hour, where "
    "about {expected} would by chance. Ages in the first hours are known only so well.",
    "time of death on the quarter hour": "Times of death are rounded: {share} fall on a quarter hour, where about "
    "{expected} would by chance.",
    "birth weight on the half kilogram": "Birth weights are rounded: {share} are whole or half kilograms, where about "
    "{expected} would be by chance.",
}

HEAPED = {
    "time of birth on the quarter hour": "time of birth on the quarter hour",
    "time of death on the quarter hour": "time of death on the quarter hour",
    "birth weight on the half kilogram": "birth weight on the half kilogram",
}


def _rounded_said(result: Records) -> Iterator[Sentence]:
    """The kinds of number that people rounded, where enough were written down."""
    say = voice_of(result).say
    for row in result.heaped.to_dict("records"):
        if row["heaped"] and row["n"] >= printing.SMALL_GROUP:
            share, by_chance = printing.counts(row["events"], row["n"]), printing.percent(row["expected"], 0)
            yield Sentence(say(ROUNDED[str(row["what"])], share=share, expected=by_chance))


def _rounded_table(result: Records) -> Iterator[Table]:
    if result.heaped.empty:
        return
    voice = voice_of(result)
    say = voice.say
    frame = result.heaped.assign(
        name=[say(HEAPED[str(what)]) for what in result.heaped["what"]],
        chance=[printing.percent(share, 0) for share in result.heaped["expected"]],
    )
    headings = {
        "name": say("Round number"),
        "events": say("Round"),
        "n": say("Written down"),
        "share": say("Share"),
        "interval": interval_heading(voice, result.settings.level),
        "chance": say("By chance about"),
    }
    formats = {"events": "count", "n": "count", "share": "share"}
    yield Table("records-rounded", say("Rounded numbers"), frame, headings, formats)


AGES = {
    "died after birth": "died after birth",
    "hour known": "hour of death known",
    "between two checks": "known only to lie between two checks",
    "day known": "only the day known",
    "not known": "age not known",
}


def _ages_said(result: Records) -> Iterator[Sentence]:
    """How exactly age at death is known, of those that died after birth."""
    ages = {name.replace(" ", "_"): printing.count(n) for name, n in result.ages.items()}
    if not result.ages["died after birth"]:
        return
    text = (
        "Of {died_after_birth} deaths after birth, the hour is known for {hour_known}, {between_two_checks} "
        "lie between two checks, only the day is known for {day_known} and no age for {not_known}."
    )
    yield Sentence(voice_of(result).say(text, **ages))


def _litters_said(result: Records) -> Iterator[Sentence]:
    """Newborns whose litter size was counted from the rows, and those of an unknown dam."""
    say, n = voice_of(result).say, printing.count(result.counted.n)
    if result.counted_litters:
        text = (
            "Litter size was not written, or not believed, for {counted} of {n}; it is counted from the "
            "rows there."
        )
        yield Sentence(say(text, counted=printing.count(result.counted_litters), n=n))
    if result.unknown_dams:
        text = "The {dam} is not known for {unknown} of {n}; each of these counts as a litter of its own."
        yield Sentence(say(text, unknown=printing.count(result.unknown_dams), n=n))


def _ages_table(result: Records) -> Table:
    say = voice_of(result).say
    rows = [(say(AGES[name]), n) for name, n in result.ages.items()]
    rows.append((say("litter size counted from the rows"), result.counted_litters))
    rows.append((say("{dam} not known"), result.unknown_dams))
    rows.append((say("{newborns} in these records"), result.counted.n))
    frame = pd.DataFrame(rows, columns=["what", "n"])
    headings = {"what": say("{Newborns}"), "n": say("Count")}
    return Table("records-ages", say("Ages at death, litters and dams"), frame, headings, {"n": "count"})


def _watched_said(result: Records) -> Iterator[Sentence]:
    """How long those born alive were watched; the median only where there is one season."""
    total = sum(one.total_days for one in result.watched.values() if one.n)
    watched = sum(one.n for one in result.watched.values())
    if not watched:
        return
    text = (
        "{n} {newborns} born alive were watched for {days} {newborn}-days in all; half of them for "
        "{median} days or more."
    )
    latest = list(result.watched.values())[-1]
    if len(result.watched) > 1 or pd.isna(latest.median_days):
        text = "{n} {newborns} born alive were watched for {days} {newborn}-days in all."
    values = {
        "n": printing.count(watched),
        "days": printing.count(total),
        "median": printing.number(latest.median_days),
    }
    yield Sentence(voice_of(result).say(text, **values))


def _watched_table(result: Records) -> Table:
    say = voice_of(result).say
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


def method(result: Records) -> Method:
    """Method, settings, limits and sources."""
    say, settings = voice_of(result).say, result.settings
    return Method(
        method=(
            say(
                "Every row read ends in one place: used, used with a field set to missing, or set aside; a "
                "row is set aside only where no honest outcome can be made of it."
            ),
            say(
                "Columns known at birth: the share filled for those lost against the others, as a "
                "difference with an interval that allows for litters. Said only where the interval lies "
                "wholly below 0."
            ),
            say(
                "Rounded: minutes on the quarter hour (4 in 60 by chance), weights on the half kilogram (2 "
                "in 10 by chance); called rounded where the interval lies above {times} times that.",
                times=printing.number(MANY_TIMES, 0),
            ),
            say(
                "How long {newborns} were watched: reverse Kaplan-Meier, deaths counted as the end of sight."
            ),
        ),
        settings=(
            say("End of follow-up: {days} days.", days=printing.number(settings.follow_up_d, 0)),
            say("Confidence level: {level}.", level=printing.percent(settings.level, 0)),
        ),
        limits=(
            say(
                "Records cannot show births that nobody wrote down: dead {newborns} taken by scavengers, "
                "night births."
            ),
            say("All seasons that were read are looked at together, and by season where the table says so."),
        ),
        sources=(
            say("Schemper M, Smith TL (1996) Control Clin Trials 17:343-346."),
            say("Sargeant JM et al. (2016) STROBE-Vet, J Vet Intern Med 30:1887, items 12 to 14."),
        ),
    )
