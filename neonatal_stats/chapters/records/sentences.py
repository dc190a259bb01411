"""What the records are worth, in words."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from neonatal_stats.chapters.records.result import Records
from neonatal_stats.tables import printing
from neonatal_stats.words import Sentence, Verdict
from neonatal_stats.words.column_names import column_name
from neonatal_stats.words.problems import heard
from neonatal_stats.words.records import recorded_less, rounded

WORST = 3
MUCH_MISSING = 0.20


def sentences(result: Records) -> tuple[Sentence, ...]:
    """Rows, wholeness, rounding, ages, litters and dams, follow-up, and what to write down next."""
    return (
        *_rows(result),
        *_outcome(result),
        *_rounded(result),
        *_ages(result),
        *_litters(result),
        *_watched(result),
        *_next(result),
    )


def _rows(result: Records) -> Iterator[Sentence]:
    say = result.voice.say
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
        yield Sentence(say(text, problem=heard(result.voice, str(worst["problem"])), **values))


def _outcome(result: Records) -> Iterator[Sentence]:
    rows = result.by_outcome
    if rows.empty:
        return
    said = [
        (row, recorded_less(row, minimum_group=result.settings.minimum_group))
        for row in rows.to_dict("records")
    ]
    worse = sorted(
        (row for row, verdict in said if verdict is Verdict.CLEAR), key=lambda row: float(row["estimate"])
    )
    if worse:
        told = "; ".join(
            result.voice.say(
                "{column} {a} against {b}",
                column=column_name(result.voice, str(row["column"])),
                a=printing.counts(row["events"], row["n"]),
                b=printing.counts(row["events_versus"], row["n_versus"]),
            )
            for row in worse[:WORST]
        )
        text = (
            "Written down less often for those lost than for the others: {told}. Comparisons by these lean "
            "on fewer losses."
        )
        yield Sentence(result.voice.say(text, told=told), role="cannot say")
    elif any(verdict is not Verdict.TOO_FEW for _, verdict in said):
        yield Sentence(
            result.voice.say(
                "No clear difference in how well births were written down, between those lost and the others."
            )
        )


def _rounded(result: Records) -> Iterator[Sentence]:
    for row in result.heaped.to_dict("records"):
        if row["heaped"] and row["n"] >= printing.SMALL_GROUP:
            yield rounded(result.voice, str(row["what"]), row["events"], row["n"], row["expected"])


def _ages(result: Records) -> Iterator[Sentence]:
    ages = {name.replace(" ", "_"): printing.count(n) for name, n in result.ages.items()}
    if not result.ages["died after birth"]:
        return
    text = (
        "Of {died_after_birth} deaths after birth, the hour is known for {hour_known}, {between_two_checks} "
        "lie between two checks, only the day is known for {day_known} and no age for {not_known}."
    )
    yield Sentence(result.voice.say(text, **ages))


def _litters(result: Records) -> Iterator[Sentence]:
    say, n = result.voice.say, printing.count(result.counted.n)
    if result.counted_litters:
        text = (
            "Litter size was not written, or not believed, for {counted} of {n}; it is counted from the "
            "rows there."
        )
        yield Sentence(say(text, counted=printing.count(result.counted_litters), n=n))
    if result.unknown_dams:
        text = "The {dam} is not known for {unknown} of {n}; each of these counts as a litter of its own."
        yield Sentence(say(text, unknown=printing.count(result.unknown_dams), n=n))


def _watched(result: Records) -> Iterator[Sentence]:
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
    yield Sentence(result.voice.say(text, **values))


def _next(result: Records) -> Iterator[Sentence]:
    """The columns that were used and yet left empty most, in the last season read."""
    latest = result.missing[result.missing["season"].isin(result.missing["season"].tail(1))]
    gaps = latest[latest["share"] > MUCH_MISSING].sort_values("share", ascending=False, kind="stable")
    for row in gaps.head(WORST).to_dict("records"):
        text = "Write down {column} for every {newborn}: it is missing for {missing}."
        missing = printing.counts(row["events"], row["n"])
        name = column_name(result.voice, str(row["column"]))
        yield Sentence(result.voice.say(text, column=name, missing=missing), role="record next")
