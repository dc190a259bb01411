"""Can we trust these records?

Rows read and set aside, who stands in the records, whether they are whole (in every season, and for the dead as well as
for the living), rounded numbers, ages and follow-up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pandas as pd

from neonatal_stats.chapters.counted.records import LESS, MANY_TIMES, Records, answer
from neonatal_stats.chapters.protocol import interval_heading
from neonatal_stats.drawing import Figure, draw_pairs
from neonatal_stats.season.model import Season
from neonatal_stats.tables import Table, columns
from neonatal_stats.tables.columns import Column
from neonatal_stats.tables.printing import SMALL_GROUP
from neonatal_stats.words import Method, Sentence, Voice, cautions, voice_of
from neonatal_stats.words.names import column_name, factor, label
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
        *_outcome_said(result),
        *_rounded_said(result),
        *_ages_said(result),
        *_litters_said(result),
        *_watched_said(result),
        *_next_said(result),
    )


def figures(result: Records) -> tuple[Figure, ...]:
    """Only where some column known at birth was not filled for every newborn."""
    return tuple(_outcome_drawn(result))


def tables(result: Records) -> tuple[Table, ...]:
    """Rows first and who stands in the records; then problems, gaps, rounding, ages and follow-up."""
    return (
        _rows_table(result),
        *_lines_table(result),
        _described_table(result),
        *_problems_table(result),
        *_missing_table(result),
        *_outcome_table(result),
        *_rounded_table(result),
        _ages_table(result),
        _watched_table(result),
    )


def _rows_said(result: Records) -> Iterator[Sentence]:
    """Rows of births read, used and set aside; and what was wrong most often, in all tables."""
    voice, problems = voice_of(result), result.problems
    for balance in (one for one in result.balances if one.table == "births"):
        text = (
            "{read} rows of births were read: {used} used as they stand, {partly} used with a field set to "
            "missing, {aside} set aside."
        )
        if balance.no_record:
            text = (
                "{read} rows of births were read: {used} used as they stand, {partly} used with a field set to "
                "missing, {aside} set aside, {none} no record."
            )
        numbers = {
            "read": balance.rows_read,
            "used": balance.used,
            "partly": balance.used_with_missing,
            "aside": balance.set_aside,
            "none": balance.no_record,
        }
        yield Sentence(voice.say(text, **{name: voice.count(n) for name, n in numbers.items()}))
    if len(problems):
        text = (
            "Problems found in all tables: {n}, each in the set-aside list with what to do. Most often: "
            "{problem} ({m})."
        )
        worst = problems.sort_values("events", ascending=False, kind="stable").iloc[0]
        values = {"n": voice.count(problems["events"].sum()), "m": voice.count(worst["events"])}
        yield Sentence(voice.say(text, problem=heard(voice, str(worst["problem"])), **values))


def _rows_table(result: Records) -> Table:
    """Rows of each table by where they ended."""
    voice = voice_of(result)
    say = voice.say
    frame = pd.DataFrame([vars(one) for one in result.balances])
    frame = frame.assign(name=[say(TABLES.get(name, name)) for name in frame["table"]])
    frame = frame.rename(columns={"rows_read": "read", "used_with_missing": "partly", "set_aside": "aside"})
    declared = (
        columns.text("name", say("Table"), raw="table"),
        columns.count("read", say("Rows read")),
        columns.count("used", say("Used as they stand")),
        columns.count("partly", say("Used, a field set to missing")),
        columns.count("aside", say("Set aside")),
        columns.count("no_record", say("No record")),
    )
    note = say(
        "The last four add up to the rows read. Each row set aside, and each field, stands in the "
        "set-aside list."
    )
    title = say("Rows read, used and set aside")
    return Table("records-balance", title, frame, declared, note=note, printer=voice)


LINES = ("lines", "records", "no_record", "left_out", "headings", "titles", "blank")


def _lines_table(result: Records) -> Iterator[Table]:
    """The lines of each file by what stands in them; only files whose lines were counted."""
    frame = pd.DataFrame([vars(one) for one in result.sources if one.lines])
    if frame.empty:
        return
    voice = voice_of(result)
    say = voice.say
    total = {"file": say("all files"), "sheet": "", **{name: frame[name].sum() for name in LINES}}
    declared = (
        columns.text("file", say("File")),
        columns.text("sheet", say("Sheet")),
        columns.count("lines", say("Lines")),
        columns.count("records", say("Records")),
        columns.count("no_record", say("No record")),
        columns.count("left_out", say("Left out")),
        columns.count("headings", say("Headings")),
        columns.count("titles", say("Titles")),
        columns.count("blank", say("Blank")),
    )
    note = say("Records, no record, left out, headings, titles and blank add up to the lines of the file.")
    frame = pd.concat([frame, pd.DataFrame([total])], ignore_index=True)
    yield Table("records-lines", say("Lines of each file"), frame, declared, note=note, printer=voice)


def _problems_table(result: Records) -> Iterator[Table]:
    """How often each problem occurred and what was done, and all of them together."""
    if result.problems.empty:
        return
    voice = voice_of(result)
    say, rows = voice.say, said_in(voice, result.problems)
    rows["table"] = [say(TABLES.get(name, name)) for name in rows["table"]]
    total = {"table": say("all"), "ended": "", "problem": "", "events": int(rows["events"].sum())}
    frame = pd.concat([rows, pd.DataFrame([total])], ignore_index=True)
    declared = (
        columns.text("table", say("Table")),
        columns.text("ended", say("What was done")),
        columns.text("problem", say("Problem")),
        columns.count("events", say("Times")),
    )
    yield Table("records-problems", say("Problems found"), frame, declared, printer=voice)


LEVELS = {"newborns": "{newborns}", "dams": "{dams} that gave birth"}
NUMBERS = ("events", "n", "median", "low", "high")


def _described_table(result: Records) -> Table:
    """Dams and newborns by what was recorded of them, a column a season."""
    voice = voice_of(result)
    say, described = voice.say, result.described
    wide = _by_season(described, ("level", "about", "term"), NUMBERS)
    frame = wide.assign(
        of=[say(LEVELS[str(one)]) for one in wide["level"]],
        by=[_about(voice, str(one)) for one in wide["about"]],
        group=[label(voice, one) if one else "" for one in wide["term"]],
        kind=["out of" if one else "middle half" for one in wide["term"]],
    )
    declared = (
        columns.text("of", say("Of"), raw="level"),
        columns.text("by", say("By"), raw="about"),
        columns.text("group", say("Group"), raw="term"),
        *(_in_season(one) for one in described["season"].unique()),
    )
    note = say(
        "Count of those with a value; for a measured quantity the median, the middle half and the count."
    )
    title = say("Who stands in these records: {dams} and {newborns}")
    return Table("records-described", title, frame, declared, note=note, printer=voice)


def _in_season(season: str) -> Column:
    """A count of those with a value; of a measured quantity its middle half."""
    first, *more = (f"{name}_{season}" for name in NUMBERS)
    return Column(first, season, "middle half", tuple(more), kinds="kind")


def _about(voice: Voice, name: str) -> str:
    return factor(voice, name) if name in ("birth_type", "parity_class") else column_name(voice, name)


WORST = 3
MUCH_MISSING = 0.20
NO_QUESTION = ("rectal_temperature_c",)
"""Columns that no chapter asks of, and that mean handling every newborn: nobody is told to fill them."""


def _outcome_said(result: Records) -> Iterator[Sentence]:
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


def _outcome_drawn(result: Records) -> Iterator[Figure]:
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


def _outcome_table(result: Records) -> Iterator[Table]:
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


def _missing_table(result: Records) -> Iterator[Table]:
    """A row a column that was not filled for every newborn, a column a season."""
    gaps = result.missing.groupby("column", sort=False)["events"].sum()
    if not (gaps > 0).any():
        return
    voice = voice_of(result)
    say, missing = voice.say, result.missing[result.missing["column"].map(gaps) > 0]
    wide = _by_season(missing, ("column",), ("events", "n"))
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


def _by_season(frame: pd.DataFrame, keys: Sequence[str], numbers: Sequence[str]) -> pd.DataFrame:
    """A frame with a row a season as one with a column a season and number ("events_2026"), in the same order."""
    rows: dict[tuple[object, ...], dict[str, object]] = {}
    for cell in frame.to_dict("records"):
        key = tuple(cell[name] for name in keys)
        row = rows.setdefault(key, dict(zip(keys, key, strict=True)))
        row |= {f"{name}_{cell['season']}": cell.get(name) for name in numbers}
    return pd.DataFrame(list(rows.values()), columns=None if rows else list(keys))


def _next_said(result: Records) -> Iterator[Sentence]:
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
    voice, heaped = voice_of(result), result.heaped
    for row in heaped[heaped["heaped"].astype(bool) & (heaped["n"] >= SMALL_GROUP)].to_dict("records"):
        share, by_chance = voice.counts(row["events"], row["n"]), voice.percent(row["expected"], 0)
        yield Sentence(voice.say(ROUNDED[str(row["what"])], share=share, expected=by_chance))


def _rounded_table(result: Records) -> Iterator[Table]:
    """Round numbers of each kind, of all that were written down, beside what chance would give."""
    if result.heaped.empty:
        return
    voice = voice_of(result)
    say = voice.say
    frame = result.heaped.assign(name=[say(HEAPED[str(what)]) for what in result.heaped["what"]])
    declared = (
        columns.text("name", say("Round number"), raw="what"),
        columns.count("events", say("Round")),
        columns.count("n", say("Written down")),
        columns.share("share", say("Share")),
        columns.interval("low", "high", interval_heading(voice, result.settings.level)),
        columns.share("expected", say("By chance about"), whole=True),
        columns.key("heaped", say("Rounded numbers")),
    )
    yield Table("records-rounded", say("Rounded numbers"), frame, declared, printer=voice)


AGES = {
    "died after birth": "died after birth",
    "hour known": "hour of death known",
    "between two checks": "known only to lie between two checks",
    "day known": "only the day known",
    "not known": "age not known",
}


def _ages_said(result: Records) -> Iterator[Sentence]:
    """How exactly age at death is known, of those that died after birth."""
    voice = voice_of(result)
    if result.ages["died after birth"]:
        text = (
            "Of {died_after_birth} deaths after birth, the hour is known for {hour_known}, {between_two_checks} "
            "lie between two checks, only the day is known for {day_known} and no age for {not_known}."
        )
        ages = {name.replace(" ", "_"): voice.count(n) for name, n in result.ages.items()}
        yield Sentence(voice.say(text, **ages))


def _litters_said(result: Records) -> Iterator[Sentence]:
    """Newborns whose litter size was counted from the rows, and those of an unknown dam."""
    voice = voice_of(result)
    n = voice.count(result.counted.n)
    if result.counted_litters:
        text = (
            "Litter size was not written, or not believed, for {counted} of {n}; it is counted from the "
            "rows there."
        )
        yield Sentence(voice.say(text, counted=voice.count(result.counted_litters), n=n))
    if result.unknown_dams:
        text = "The {dam} is not known for {unknown} of {n}; each of these counts as a litter of its own."
        yield Sentence(voice.say(text, unknown=voice.count(result.unknown_dams), n=n))


def _ages_table(result: Records) -> Table:
    """Deaths after birth by how exactly their age is known; litters counted from the rows; dams not known."""
    voice = voice_of(result)
    say = voice.say
    at_birth_alone = any(one.n for one in result.watched.values()) and not any(
        one.total_days for one in result.watched.values() if one.n
    )
    told = {} if at_birth_alone and not result.ages["died after birth"] else result.ages
    rows = [(say(AGES[name]), n) for name, n in told.items()]
    rows.append((say("litter size counted from the rows"), result.counted_litters))
    rows.append((say("{dam} not known"), result.unknown_dams))
    rows.append((say("{newborns} in these records"), result.counted.n))
    frame = pd.DataFrame(rows, columns=["what", "n"])
    declared = (columns.text("what", say("{Newborns}")), columns.count("n", say("Count")))
    return Table("records-ages", say("Ages at death, litters and dams"), frame, declared, printer=voice)


def _watched_said(result: Records) -> Iterator[Sentence]:
    """How long those born alive were watched; the median only where there is one season."""
    voice, every = voice_of(result), list(result.watched.values())
    watched = [one for one in every if one.n]
    if not watched:
        return
    values = {
        "n": voice.count(sum(one.n for one in watched)),
        "days": voice.count(sum(one.total_days for one in watched)),
    }
    text = "{n} {newborns} born alive were watched for {days} {newborn}-days in all."
    if len(every) == 1 and not pd.isna(every[0].median_days):
        text = (
            "{n} {newborns} born alive were watched for {days} {newborn}-days in all; half of them for "
            "{median} days or more."
        )
        values["median"] = voice.number(every[0].median_days)
    yield Sentence(voice.say(text, **values))


def _watched_table(result: Records) -> Table:
    """Newborn-days watched in each season, and in all."""
    voice = voice_of(result)
    say = voice.say
    rows = [(name, one.n, one.total_days, one.median_days) for name, one in result.watched.items()]
    total = (say("all"), sum(row[1] for row in rows), sum(row[2] for row in rows if row[1]), float("nan"))
    frame = pd.DataFrame([*rows, total], columns=["season", "n", "days", "median"])
    declared = (
        columns.text("season", say("Season")),
        columns.count("n", say("Born alive, age known")),
        columns.count("days", say("{Newborn}-days watched")),
        columns.number("median", say("Days watched, median")),
    )
    note = say("The median is of how long each would have been watched had it lived.")
    title = say("How long they were watched")
    return Table("records-watched", title, frame, declared, note=note, printer=voice)


def method(result: Records) -> Method:
    """Method, settings, limits and sources."""
    voice, settings = voice_of(result), result.settings
    say = voice.say
    return Method(
        method=(
            say(
                "Every row read ends in one place: used, used with a field set to missing, or set aside; a "
                "row is set aside only where no honest outcome can be made of it."
            ),
            say(
                "Columns known at birth: the share filled for those lost against the others, as a "
                "difference with an interval that allows for litters. Those short by {points} percentage points or "
                "more are named; it is description, and no verdict.",
                points=voice.number(100 * LESS, 0),
            ),
            say(
                "Rounded: minutes on the quarter hour (4 in 60 by chance), weights on the half kilogram (2 "
                "in 10 by chance); called rounded where the interval lies above {times} times that.",
                times=voice.number(MANY_TIMES, 0),
            ),
            say(
                "How long {newborns} were watched: reverse Kaplan-Meier, deaths counted as the end of sight."
            ),
        ),
        settings=(
            say("End of follow-up: {days} days.", days=voice.number(settings.follow_up_d, 0)),
            say("Confidence level: {level}.", level=voice.percent(settings.level, 0)),
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
