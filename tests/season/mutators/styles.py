"""Mutators of style: the same records under other headings, in other words, dates and numbers."""

from __future__ import annotations

from datetime import datetime

from tests.season.mutators.book import Book, Mutator


def moments_as(style: str) -> Mutator:
    """Write every date in another style."""

    def mutate(book: Book) -> None:
        book.moment = style

    return mutate


def decimal_comma(book: Book) -> None:
    """Write decimals after a comma."""
    book.decimal = ","


def shuffled_rows(book: Book) -> None:
    """Put the rows in another order."""
    book.rows = [book.rows[place] for place in book.rng.permutation(len(book.rows))]


def shuffled_columns(book: Book) -> None:
    """Put the columns in another order."""
    book.headings = [book.headings[place] for place in book.rng.permutation(len(book.headings))]


def readable_headings(book: Book) -> None:
    """Write the headings as the blank sheet prints them, some of them in capitals."""
    renamed(
        book,
        {
            "birth_weight_kg": "Birth weight (kg)",
            "newborn_id": "NEWBORN ID",
            "stood_after_min": "Stood after (min)",
        },
    )


def renamed(book: Book, names: dict[str, str]) -> None:
    """Give columns other headings."""
    book.headings = [names.get(heading, heading) for heading in book.headings]
    for row in book.rows:
        row.cells = {names.get(heading, heading): cell for heading, cell in row.cells.items()}


def title_rows(book: Book) -> None:
    """Put two title rows above the headings."""
    book.title_rows = 2


def own_headings(book: Book) -> None:
    """Headings of the farm's own, explained by a map."""
    renamed(book, {"newborn_id": "Tag", "dam_id": "Ewe", "born_at": "Lambed", "cause": "Why"})
    book.map_text += (
        '[columns]\n"Tag" = "newborn_id"\n"Ewe" = "dam_id"\n"lambed" = "born_at"\n"Why" = "cause"\n'
    )


def own_words(book: Book) -> None:
    """Words of the farm's own, explained by a map."""
    spoken = {"unassisted": "alone", "hard assist": "pulled", "caesarean": "section", "easy assist": "helped"}
    for row in book.rows:
        row.cells["delivery"] = spoken.get(str(row.cells["delivery"]), row.cells["delivery"])
    lines = "\n".join(f'"{said}" = "{meant}"' for meant, said in spoken.items())
    book.map_text += f"[words.delivery]\n{lines}\n"


def in_german(book: Book) -> None:
    """Headings, words and month names of another language, explained by a map."""
    renamed(
        book, {"sex": "Geschlecht", "died": "Verendet", "born_at": "Geboren", "birth_weight_kg": "Gewicht"}
    )
    for row in book.rows:
        row.cells["Geschlecht"] = {"female": "weiblich", "male": "männlich"}[str(row.cells["Geschlecht"])]
        row.cells["Verendet"] = {"yes": "ja", "no": "nein"}[str(row.cells["Verendet"])]
        born = row.cells["Geboren"]
        assert isinstance(born, datetime)
        row.cells["Geboren"] = f"{born.day}. April {born:%Y %H:%M}".replace("April", "Ostermond")
    book.map_text += (
        '[columns]\n"Geschlecht" = "sex"\n"Verendet" = "died"\n"Geboren" = "born_at"\n"Gewicht" = "birth_weight_kg"\n'
        '[words.sex]\n"weiblich" = "female"\n"männlich" = "male"\n[words.died]\n"ja" = "yes"\n"nein" = "no"\n'
        '[months]\n"ostermond" = 4\n'
    )


def separate_date_and_time(book: Book) -> None:
    """The day of birth in one column, the clock time in another."""
    book.headings.insert(book.headings.index("born_at"), "born_on")
    for row in book.rows:
        born = row.cells["born_at"]
        assert isinstance(born, datetime)
        row.cells |= {"born_on": born.strftime("%Y-%m-%d"), "born_at": born.strftime("%H:%M")}


def clock_times_after_birth(book: Book) -> None:
    """Standing written as the clock time at which it stood, over midnight too."""
    for row in book.rows:
        born, stood = row.cells["born_at"], row.cells["stood_after_min"]
        assert isinstance(born, datetime)
        if isinstance(stood, float):
            minute = (born.hour * 60 + born.minute + int(stood)) % 1440
            row.cells["stood_after_min"] = f"{minute // 60:02d}:{minute % 60:02d}"


def units_in_cells(book: Book) -> None:
    """The column's own unit written behind each number."""
    for row in book.rows:
        row.cells["birth_weight_kg"] = f"{row.cells['birth_weight_kg']} kg"


def pounds_declared(book: Book) -> None:
    """Weights in pounds, and a map that says so."""
    for row in book.rows:
        kg = row.cells["birth_weight_kg"]
        assert isinstance(kg, float)
        row.cells["birth_weight_kg"] = kg / 0.45359237
    book.map_text += '[units]\nbirth_weight_kg = "lb"\n'


def pounds_undeclared(book: Book) -> None:
    """Weights in pounds, and nobody says so: asked for."""
    for row in book.rows:
        kg = row.cells["birth_weight_kg"]
        assert isinstance(kg, float)
        row.cells["birth_weight_kg"] = round(kg / 0.45359237 + 2, 1)
    heavy = [row for row in book.rows if float(str(row.cells["birth_weight_kg"])) > 7.5]
    book.sentence = (
        "{file}, column birth_weight_kg: all of the column seems to be in lb and not in kg "
        f"({len(heavy)} of {len(book.rows)} values, such as {heavy[0].cells['birth_weight_kg']:g}); "
        'say in the map under [units] birth_weight_kg = "lb", or, if kg is right, birth_weight_kg = "kg" under [units].'
    )


def hours_among_minutes(book: Book) -> None:
    """Some times to the first feed in hours, most in minutes: asked for."""
    fed = [row for row in book.rows if row.cells["fed_after_min"] is not None]
    for row in fed[:8]:
        row.cells["fed_after_min"] = 1.5
    book.sentence = (
        "{file}, column fed_after_min: some of the column seems to be in h and not in min "
        f"(8 of {len(fed)} values, such as 1.5); write one unit throughout, "
        'or, if min is right, fed_after_min = "min" under [units].'
    )


def only_days_up_to_twelve(book: Book) -> None:
    """Dates with slashes of which none shows which number is the day: asked for."""
    book.moment = "%d/%m/%Y %H:%M"
    for row in book.rows:
        born = row.cells["born_at"]
        assert isinstance(born, datetime)
        for name, cell in row.cells.items():
            if isinstance(cell, datetime):
                row.cells[name] = cell.replace(day=2)
    first = book.rows[0].cells["born_at"]
    assert isinstance(first, datetime)
    book.sentence = (
        f"{{file}}, column born_at: {first:%d/%m/%Y %H:%M} may have the day or the month first and no date in the "
        "column settles it; say day_first = true or day_first = false in the settings file."
    )


def day_first_declared(book: Book) -> None:
    """The same dates, and settings that say which number is the day."""
    for newborn in book.births:
        born, died = newborn["born_at"], newborn["died_at"]
        assert isinstance(born, datetime)
        moved = born.replace(day=2)
        if isinstance(died, datetime):
            newborn["died_at"] = died + (moved - born)
        newborn["born_at"] = moved
    for row in book.rows:
        assert row.newborn is not None
        row.cells |= {name: row.newborn[name] for name in ("born_at", "died_at")}
    book.moment = "%d/%m/%Y %H:%M"
    book.settings_text += "day_first = true\n"


def words_for_nothing(book: Book) -> None:
    """The many ways of saying that something was not recorded."""
    ways = ["-", "?", "n/a", "NA", "not recorded", "  "]
    for row in book.rows:
        if row.cells["suck_reflex"] == "not checked":
            row.cells["suck_reflex"] = ways[int(book.rng.integers(len(ways)))]
            assert row.newborn is not None
            row.newborn["suck_reflex"] = None


def short_yes_and_no(book: Book) -> None:
    """Y and N, 1 and 0, F and M."""
    for row in book.rows:
        row.cells["died"] = {"yes": "Y", "no": "n"}[str(row.cells["died"])]
        row.cells["born_alive"] = {"yes": 1, "no": 0}[str(row.cells["born_alive"])]
        row.cells["sex"] = str(row.cells["sex"])[0].upper()


def not_by(book: Book) -> None:
    """Some were seen not to have stood by a clock time an hour and a half after birth."""
    for newborn in book.some(5, lambda n: n["stood_after_min"] is not None):
        born = newborn["born_at"]
        assert isinstance(born, datetime)
        minute = (born.hour * 60 + born.minute + 90) % 1440
        book.row_of(newborn).cells["stood_after_min"] = f"not by {minute // 60:02d}:{minute % 60:02d}"
        newborn |= {"stood_after_min": None, "stood_not_by_h": 1.5}


def only_deaths_written(book: Book) -> None:
    """Nobody writes "no": an empty cell means that it lived."""
    for row in book.rows:
        row.cells["died"] = None if row.cells["died"] == "no" else "yes"


def litter_size_in_words(book: Book) -> None:
    """Single, twins, triplet for the size of the litter."""
    for row in book.rows:
        row.cells["litter_size"] = {1: "Single", 2: "twins", 3: "Triplet"}[int(str(row.cells["litter_size"]))]


def lengths_like_clock_times(book: Book) -> None:
    """Times to standing as hours and minutes, which look like clock times: asked for."""
    for row in book.rows:
        stood = row.cells["stood_after_min"]
        if isinstance(stood, float):
            row.cells["stood_after_min"] = f"{int(stood) // 60}:{int(stood) % 60:02d}"
    first = next(row for row in book.rows if row.cells["stood_after_min"] is not None)
    hours, _, minutes = str(first.cells["stood_after_min"]).partition(":")
    book.sentence = (
        f"{{file}}, column stood_after_min: its clock times, such as {int(hours):02d}:{minutes}, would often lie many "
        "hours after birth and seem to be hours and minutes after birth; write minutes after birth (45) instead."
    )
