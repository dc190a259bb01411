"""Mutators of single values and of contradictions between them."""

from __future__ import annotations

from datetime import datetime, timedelta

from tests.season.mutators.book import Book
from tests.season.mutators.truth import Newborn

ALIVE = "no"


def heavy(book: Book) -> None:
    """A lamb of 45 kg: a point was lost."""
    (newborn,) = book.some(1, lambda n: True)
    book.row_of(newborn).cells["birth_weight_kg"] = 45
    problem = "it is outside the plausible 0.5 to 10 kg for sheep; it would be inside if oz was meant"
    book.say(newborn, "birth_weight_kg", problem, "set to missing")
    newborn["birth_weight_kg"] = None


def unknown_word(book: Book) -> None:
    """A word for the sex that is none."""
    for newborn in book.some(2, lambda n: True):
        book.row_of(newborn).cells["sex"] = "hermaphrodite?"
        book.say(newborn, "sex", "this is no word for sex", "set to missing")
        newborn["sex"] = None


def ease_scores(book: Book) -> None:
    """Numbers for ease of birth without a list that explains them."""
    for newborn in book.some(3, lambda n: True):
        book.row_of(newborn).cells["delivery"] = 4
        problem = "a number for ease of birth means different things in different lists"
        book.say(newborn, "delivery", problem, "set to missing")
        newborn["delivery"] = None


def no_number(book: Book) -> None:
    """Words and guesses where a weight belongs."""
    for newborn, text in zip(book.some(3, lambda n: True), ("heavy", "~4", "4-5"), strict=True):
        book.row_of(newborn).cells["birth_weight_kg"] = text
        problem = {
            "heavy": "this is not a number",
            "~4": "this is not a number",
            "4-5": "this is not a number",
        }[text]
        book.say(newborn, "birth_weight_kg", problem, "set to missing")
        newborn["birth_weight_kg"] = None


def half_a_newborn(book: Book) -> None:
    """A litter size that is no whole number."""
    (newborn,) = book.some(1, lambda n: n["litter_size"] == 1)
    book.row_of(newborn).cells["litter_size"] = 1.5
    book.say(newborn, "litter_size", "a whole number belongs here", "set to missing")


def shortened_tags(book: Book) -> None:
    """A long tag that a spreadsheet has shortened."""
    (newborn,) = book.some(1, lambda n: n["newborn_id"] is not None)
    book.row_of(newborn).cells["newborn_id"] = "8.26E+14"
    problem = "the spreadsheet has shortened this number and its last digits are lost"
    book.say(newborn, "newborn_id", problem, "set to missing")
    newborn["newborn_id"] = None


def sheet_errors(book: Book) -> None:
    """Cells that the spreadsheet could not work out."""
    for newborn in book.some(2, lambda n: True):
        book.row_of(newborn).cells["birth_weight_kg"] = "#REF!"
        problem = "the spreadsheet could not work this cell out"
        book.say(newborn, "birth_weight_kg", problem, "set to missing")
        newborn["birth_weight_kg"] = None


def no_such_day(book: Book) -> None:
    """The 31st of April: the newborn counts, its age does not."""
    (newborn,) = book.some(1, lambda n: n["died"] == "yes" and n["died_at"] is not None)
    book.row_of(newborn).cells["died_at"] = "2026-04-31 10:00"
    book.say(newborn, "died_at", "there is no such day", "set to missing")
    newborn["died_at"] = None


def dead_before_born(book: Book) -> None:
    """A death an hour before the birth."""
    for newborn in book.some(2, lambda n: n["died_at"] is not None):
        born = newborn["born_at"]
        assert isinstance(born, datetime)
        book.row_of(newborn).cells["died_at"] = born - timedelta(hours=1)
        book.say(newborn, "died_at", "it died before it was born", "set to missing")
        newborn["died_at"] = None


def stillborn_that_stood(book: Book) -> None:
    """Born dead, and yet it stood."""
    (newborn,) = book.some(1, lambda n: n["died_at"] is not None)
    cells = {
        "born_alive": "no",
        "died_at": None,
        "cause": "stillbirth",
        "fed_after_min": None,
        "mothered_up": None,
    }
    book.row_of(newborn).cells |= cells | {"suck_reflex": None}
    newborn |= cells | {"suck_reflex": None, "stood_after_min": None}
    problem = "it was born dead, and yet it stood; it stays counted as born dead"
    book.say(newborn, "stood_after_min", problem, "set to missing")


def fed_after_death(book: Book) -> None:
    """First fed after it had died."""
    (newborn,) = book.some(1, lambda n: n["died_at"] is not None)
    born = newborn["born_at"]
    assert isinstance(born, datetime)
    newborn["died_at"] = born + timedelta(hours=5)
    book.row_of(newborn).cells |= {"died_at": newborn["died_at"], "fed_after_min": 400.0}
    book.say(newborn, "fed_after_min", "it was fed after it died", "set to missing")
    newborn["fed_after_min"] = None


def no_outcome(book: Book) -> None:
    """Nothing says what became of it: set aside, and its litter mates keep their litter size."""
    for newborn in book.some(2, lambda n: n["died"] == ALIVE):
        book.row_of(newborn).cells |= {"died": None, "last_seen_at": None}
        problem = "nothing in the row says whether the newborn lived or died"
        book.say(newborn, "died", problem, "set aside")
        book.lose(newborn)


def alive_and_dead(book: Book) -> None:
    """Said to have lived, with a time of death."""
    (newborn,) = book.some(1, lambda n: n["died_at"] is not None)
    book.row_of(newborn).cells |= {"died": "no", "cause": None}
    problem = "it is said not to have died, and yet a time of death is given"
    book.say(newborn, "died", problem, "set aside")
    book.lose(newborn)


def cause_of_no_death(book: Book) -> None:
    """A cause of loss beside a newborn that lived."""
    for newborn in book.some(2, lambda n: n["died"] == ALIVE):
        book.row_of(newborn).cells["cause"] = "infection"
        problem = "it is said not to have died, and yet a cause of loss is given"
        book.say(newborn, "cause", problem, "set aside")
        book.lose(newborn)


def too_many_littermates(book: Book) -> None:
    """A litter size below the number of rows: it is counted instead."""
    (newborn,) = book.some(1, lambda n: n["litter_size"] == 2 and n["birth_order"] == 1)
    for sibling in _litter(book, newborn):
        book.row_of(sibling).cells["litter_size"] = 1
        problem = "the records hold more littermates than this litter size; the size is counted from the rows"
        book.say(sibling, "litter_size", problem, "set to missing")


def missing_littermate(book: Book) -> None:
    """A litter of two of which only one was written down."""
    (newborn,) = book.some(1, lambda n: n["litter_size"] == 1)
    book.row_of(newborn).cells["litter_size"] = newborn["litter_size"] = 2
    problem = "the records hold fewer littermates than this litter size; were the dead ones written down?"
    book.say(newborn, "litter_size", problem, "asked")


def slip_of_a_year(book: Book) -> None:
    """A death with next year's number."""
    (newborn,) = book.some(1, lambda n: n["died_at"] is not None)
    died_at = newborn["died_at"]
    assert isinstance(died_at, datetime)
    book.row_of(newborn).cells["died_at"] = died_at.replace(year=2027)
    problem = "it died a year or more after birth, at the season's time of year: the year may be a slip"
    book.say(newborn, "died_at", problem, "set aside")
    book.lose(newborn)


def seen_after_death(book: Book) -> None:
    """Seen alive at weaning, weeks after it died."""
    (newborn,) = book.some(1, lambda n: n["died_at"] is not None)
    book.row_of(newborn).cells["last_seen_at"] = datetime(2026, 6, 20, 9, 0)
    problem = "it was last seen after it died; the death was kept"
    book.say(newborn, "last_seen_at", problem, "set to missing")


def _litter(book: Book, newborn: Newborn) -> list[Newborn]:
    return [other for other in book.births if other["dam_id"] == newborn["dam_id"]]


def born_years_before_its_season(book: Book) -> None:
    """A slip in the year of birth: the newborn counts, its ages do not."""
    (newborn,) = book.some(1, lambda n: n["died"] == ALIVE and n["litter_size"] == 1)
    born = newborn["born_at"]
    assert isinstance(born, datetime)
    book.row_of(newborn).cells["born_at"] = born.replace(year=2016)
    book.say(newborn, "born_at", "it was born years away from its season", "set to missing")
    newborn["born_at"] = None


def comma_before_thousands(book: Book) -> None:
    """Grams with a comma before the thousands, in a column that proves its decimal point."""
    (newborn,) = book.some(1, lambda n: True)
    book.row_of(newborn).cells["birth_weight_kg"] = "4,250"
    problem = "it is outside the plausible 0.5 to 10 kg for sheep; it would be inside if g was meant"
    book.say(newborn, "birth_weight_kg", problem, "set to missing")
    newborn["birth_weight_kg"] = None
