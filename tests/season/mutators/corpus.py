"""The corpus: every messy file by name, with its mutators and the kind of file it is written in."""

from __future__ import annotations

from dataclasses import dataclass

from tests.season.mutators import faults, layouts, rows, styles
from tests.season.mutators.book import Mutator
from tests.season.mutators.writers import Writer, comma, ods, parquet, text_file, xlsx

NUMBERS = (11, 12)
"""Generator numbers: each named file is made twice, from two different flocks."""


@dataclass(frozen=True)
class Messy:
    """One named kind of messy file."""

    name: str
    mutators: tuple[Mutator, ...]
    writer: Writer = comma


def _each(module: object, *names: str) -> list[Messy]:
    return [Messy(name, (getattr(module, name),)) for name in names]


FORMATS = [
    Messy("clean", ()),
    Messy("byte order mark", (), text_file(encoding="utf-8-sig")),
    Messy("UTF-16", (), text_file(encoding="utf-16")),
    Messy("UTF-16 without mark", (), text_file(encoding="utf-16-le")),
    Messy("semicolons and decimal commas", (styles.decimal_comma,), text_file(";")),
    Messy("tabs", (), text_file("\t", suffix=".tsv")),
    Messy("bars", (), text_file("|", suffix=".txt")),
    Messy("declared separator", (), text_file(";", before="sep=;\r\n")),
    Messy("true dates", (), xlsx()),
    Messy("dates as text", (styles.moments_as("%d/%m/%Y %H:%M"),), xlsx("text")),
    Messy("formulas with their values", (), xlsx(cached=True)),
    Messy("title rows", (styles.title_rows,), xlsx()),
    Messy("title rows in text", (styles.title_rows,)),
    Messy("ODS", (), ods),
    Messy("ODS with titles", (styles.title_rows, styles.shuffled_columns), ods),
    Messy("typed Parquet", (), parquet()),
    Messy("Parquet of text", (), parquet(typed=False)),
]
STYLES = [
    Messy("day first", (styles.moments_as("%d/%m/%Y %H:%M"),)),
    Messy("month first", (styles.moments_as("%m/%d/%Y %H:%M"),)),
    Messy("points and two-digit years", (styles.moments_as("%d.%m.%y %H:%M"),)),
    Messy("month names", (styles.moments_as("%d %b %Y %H.%M"),)),
    Messy("weekdays and noon", (styles.moments_as("%a %d-%b-%Y %I:%M %p"),)),
    Messy("T between", (styles.moments_as("%Y-%m-%dT%H:%M:%S"),)),
    *_each(
        styles,
        *[
            "shuffled_rows",
            "shuffled_columns",
            "readable_headings",
            "own_headings",
            "own_words",
            "in_german",
            "separate_date_and_time",
        ],
        *[
            "clock_times_after_birth",
            "units_in_cells",
            "pounds_declared",
            "pounds_undeclared",
            "hours_among_minutes",
        ],
        *[
            "only_days_up_to_twelve",
            "day_first_declared",
            "words_for_nothing",
            "short_yes_and_no",
            "not_by",
            "only_deaths_written",
            "litter_size_in_words",
            "lengths_like_clock_times",
        ],
    ),
]
ROWS = _each(
    rows,
    *[
        "blank_rows",
        "headings_again",
        "totals",
        "row_twice",
        "row_twice_fuller",
        "two_outcomes",
        "one_tag_two_newborns",
    ],
    *["one_cell_too_many", "unknown_column"],
)
FAULTS = _each(
    faults,
    *[
        "heavy",
        "unknown_word",
        "ease_scores",
        "no_number",
        "half_a_newborn",
        "shortened_tags",
        "sheet_errors",
        "no_such_day",
    ],
    *[
        "dead_before_born",
        "stillborn_that_stood",
        "fed_after_death",
        "no_outcome",
        "alive_and_dead",
        "cause_of_no_death",
    ],
    *[
        "too_many_littermates",
        "missing_littermate",
        "slip_of_a_year",
        "seen_after_death",
        "born_years_before_its_season",
        "comma_before_thousands",
    ],
)
LAYOUTS = [
    *_each(layouts, "one_row_a_dam", "numbers_behind", "headings_over_headings", "counts_alone"),
    Messy("one row a dam in a workbook", (layouts.one_row_a_dam,), xlsx()),
    Messy(
        "headings over headings in a workbook", (layouts.headings_over_headings, styles.title_rows), xlsx()
    ),
    Messy("counts in ODS", (layouts.counts_alone,), ods),
]
MIXTURES = [
    Messy(
        "a German spreadsheet",
        (faults.heavy, styles.in_german, styles.decimal_comma, rows.totals, rows.blank_rows),
        text_file(";", encoding="cp1252"),
    ),
    Messy(
        "a tired keeper's workbook",
        (
            styles.title_rows,
            rows.headings_again,
            rows.row_twice,
            faults.dead_before_born,
            faults.unknown_word,
        ),
        xlsx(),
    ),
    Messy(
        "month first, own words, some lost",
        (
            styles.moments_as("%m/%d/%y %H:%M"),
            styles.own_words,
            styles.shuffled_rows,
            faults.no_outcome,
            faults.no_number,
        ),
        text_file("\t", encoding="utf-16", suffix=".txt"),
    ),
    Messy(
        "a pocket book typed up",
        (
            styles.separate_date_and_time,
            styles.short_yes_and_no,
            styles.not_by,
            faults.shortened_tags,
            rows.unknown_column,
        ),
        ods,
    ),
    Messy(
        "contradictions at once",
        (faults.alive_and_dead, faults.cause_of_no_death, faults.sheet_errors, rows.one_tag_two_newborns),
        xlsx("text"),
    ),
]
CORPUS = [*FORMATS, *STYLES, *ROWS, *FAULTS, *LAYOUTS, *MIXTURES]
