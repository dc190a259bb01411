"""Outcome columns in the farm's own words: fates, ticks, codes, blanks, dates, and what a reader cannot see."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from openpyxl import Workbook
from openpyxl.styles import Font, PatternFill

from tests.season.farm_files.case import Made, add, case
from tests.season.farm_files.truth import Newborn, season_of
from tests.season.farm_files.writing import columns, grid, table, workbook

Words = tuple[str, ...]
KIND = "outcome in the farm's own words"
CODES = "outcome in codes, ticks and crosses"
BLANKS = "blank outcome cells"

# name, heading, words for the dead in turn, words for the living in turn, how it may end
OWN_WORDS: tuple[tuple[str, str, Words, Words, str], ...] = (
    ("died says the culprit", "died", ("fox", "badger", "crow", "dog"), ("no",), "mapped"),
    ("died says dead", "died", ("dead", "Dead", "DEAD "), ("no", "No"), "mapped"),
    ("died says how", "died", ("yes - smothered", "yes, watery mouth", "yes (weak)"), ("no",), "mapped"),
    ("fate column", "fate", ("died", "DOA", "stillborn", "put down"), ("reared", "kept", "weaned"), "mapped"),
    ("status with sales", "status", ("dead", "DOA"), ("alive", "sold", "alive", "on farm"), "mapped"),
    ("outcome lives and dies", "outcome", ("dies", "died"), ("lives", "lived"), "mapped"),
    ("ok and gone", "outcome", ("gone", "lost"), ("ok", "OK", "fine"), "said"),
    ("what happened", "What happened", ("found dead", "dead in pen", "DOA"), ("fine", "turned out"), "said"),
    ("live or dead", "Live / dead", ("D", "dead"), ("L", "live"), "mapped"),
    ("born alive, later dead", "alive or dead", ("Dead at birth", "Dead later"), ("Alive",), "mapped"),
    ("culled at birth", "status", ("culled", "PTS", "euthanised"), ("alive",), "said"),
    ("died with a spelling", "died", ("ye", "yess", "yes!!"), ("no", "nope"), "said"),
    ("died with question marks", "died", ("yes?", "yes"), ("no",), "said"),
    ("French words", "died", ("mort", "morte", "mort-né"), ("vivant", "vivante"), "mapped"),
    ("German words", "died", ("tot", "verendet", "totgeboren"), ("lebt", "lebendig"), "mapped"),
    ("Spanish words", "died", ("muerto", "muerta"), ("vivo", "viva"), "mapped"),
    ("Dutch words", "died", ("dood", "doodgeboren"), ("levend", "leeft"), "mapped"),
    ("Norwegian words", "died", ("død", "dødfødt"), ("lever", "levende"), "mapped"),
    ("Polish words", "died", ("padło", "martwe"), ("żywe", "żyje"), "said"),
    ("Welsh words", "died", ("wedi marw", "marw"), ("byw", "yn fyw"), "said"),
    ("carcass words", "outcome", ("knackerman", "fallen stock", "to post mortem"), ("alive",), "said"),
)

CODED: tuple[tuple[str, str, Words, Words, str], ...] = (
    ("dead 1, not dead 0", "dead", ("1",), ("0",), "mapped"),
    ("alive 1, not alive 0", "alive", ("0",), ("1",), "mapped"),
    ("survived 1 or 0", "survived", ("0",), ("1",), "mapped"),
    ("died Y or N", "died", ("Y", "y"), ("N", "n"), "right"),
    ("died tick", "died", ("✓", "✔"), ("",), "said"),
    ("died cross", "died", ("x", "X"), ("",), "said"),
    ("dead asterisk", "dead", ("*",), ("",), "said"),
    ("alive tick and cross", "alive", ("✗", "✘"), ("✓", "✔"), "said"),
    ("died 1/2 without a legend", "died", ("1",), ("2",), "asked"),
    ("outcome 1/2 without a legend", "outcome", ("2",), ("1",), "asked"),
    ("outcome 0/1 without a legend", "outcome", ("1",), ("0",), "asked"),
    ("result of letters", "result", ("B",), ("A",), "asked"),
    ("status 1 to 4", "status", ("3", "4"), ("1", "2"), "asked"),
    ("fate of stars", "fate", ("**",), ("*",), "asked"),
    ("TRUE and FALSE", "died", ("TRUE",), ("FALSE",), "right"),
    ("plus and minus", "alive", ("-",), ("+",), "said"),
    ("skull and heart", "outcome", ("☠", "†"), ("♥",), "said"),
    ("dagger for the dead", "outcome", ("†",), ("",), "said"),
)

BLANK: tuple[tuple[str, str, Words, Words, str], ...] = (
    ("blank is alive", "died", ("yes",), ("",), "right"),
    ("blank is alive, fox is not", "died", ("fox", "yes", "cold"), ("",), "mapped"),
    ("a dash is alive", "died", ("dead", "yes"), ("-",), "said"),
    ("n/a is alive", "died", ("yes",), ("n/a", ""), "said"),
    ("zero is alive", "died", ("died", "1"), ("0", ""), "said"),
)


def lean(heading: str, dead: Words, alive: Words, seed: int) -> Callable[[Path], Made]:
    """A book with one outcome column, its words in turn."""

    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=14 + seed % 30)
        turn = {n.tag: place for place, n in enumerate(truth)}

        def say(n: Newborn) -> str:
            words = dead if n.dead else alive
            return words[turn[n.tag] % len(words)]

        return Made(
            [table(folder / "lambs.csv", grid(truth, columns("", {heading: say})))], truth, "litter season"
        )

    return build


for number, (name, heading, dead, alive, accept) in enumerate(OWN_WORDS):
    add(KIND, name, accept, lean(heading, dead, alive, 100 + number))
for number, (name, heading, dead, alive, accept) in enumerate(CODED):
    add(CODES, name, accept, lean(heading, dead, alive, 200 + number))
for number, (name, heading, dead, alive, accept) in enumerate(BLANK):
    add(BLANKS, name, accept, lean(heading, dead, alive, 300 + number))


def unsaid(truth: list[Newborn], every: int, *, filled: bool = False) -> list[Newborn]:
    """Each so-manieth newborn's outcome is left unsaid by the farm itself."""
    return [
        n.but(dead=None, age_h=None, cause=None, filled=filled) if place % every == 0 else n
        for place, n in enumerate(truth)
    ]


@case(BLANKS, "both words written, some cells blank", "said")
def blank_among_both(folder: Path) -> Made:
    truth = unsaid(season_of(310), 6)
    say = columns(outcome=lambda n: {True: "dead", False: "alive", None: ""}[n.dead])
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(BLANKS, "yes, no and blank under died", "said")
def blank_among_yes_and_no(folder: Path) -> Made:
    truth = unsaid(season_of(311), 5)
    say = columns(died=lambda n: {True: "yes", False: "no", None: ""}[n.dead])
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(BLANKS, "a question mark for the unsure", "said")
def unsure(folder: Path) -> Made:
    truth = unsaid(season_of(312), 7, filled=True)
    say = columns(died=lambda n: {True: "yes", False: "no", None: "?"}[n.dead])
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(BLANKS, "words that nobody can read", "said")
def unreadable(folder: Path) -> Made:
    truth = unsaid(season_of(313), 8, filled=True)
    say = columns(died=lambda n: {True: "yes", False: "no", None: "ysno"}[n.dead])
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(BLANKS, "the outcome column was never filled in", "asked")
def empty_column(folder: Path) -> Made:
    truth = season_of(314)
    return Made([table(folder / "l.csv", grid(truth, columns(died=lambda n: "")))], truth)


@case(BLANKS, "three outcome columns, all empty", "asked")
def empty_columns(folder: Path) -> Made:
    truth = season_of(315)
    say = columns(died=lambda n: "", died_at=lambda n: "", cause=lambda n: "")
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(BLANKS, "only filled in until the farm gave up", "said")
def gave_up(folder: Path) -> Made:
    truth = season_of(316, litters=30)
    truth = [n if place < 25 else n.but(dead=None, age_h=None, cause=None) for place, n in enumerate(truth)]
    say = columns(died=lambda n: {True: "yes", False: "no", None: ""}[n.dead])
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(BLANKS, "no outcome column at all", "asked")
def no_column(folder: Path) -> Made:
    truth = season_of(317)
    return Made([table(folder / "l.csv", grid(truth, columns()))], truth)


DATES = "dates in the outcome cell"


@case(DATES, "died holds the day", "mapped")
def day_in_died(folder: Path) -> Made:
    truth = season_of(320)
    say = columns(died=lambda n: n.died.date() if n.dead else "no")
    return Made([table(folder / "l.csv", grid(truth, say))], truth, "day")


@case(DATES, "died holds the time or nothing", "mapped")
def time_in_died(folder: Path) -> Made:
    truth = season_of(321)
    return Made([table(folder / "l.csv", grid(truth, columns(died=lambda n: n.died or "")))], truth, "age")


@case(DATES, "died holds days and words", "said")
def days_and_words(folder: Path) -> Made:
    truth = [n.but(age_h=None) if n.dead and n.order == 1 else n for n in season_of(322)]
    say = columns(died=lambda n: (n.died.date() if n.died else "dead") if n.dead else "alive")
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(DATES, "a date of loss beside a note", "said")
def date_and_note(folder: Path) -> Made:
    truth = season_of(323)
    say = columns(died=lambda n: f"{n.died:%Y-%m-%d} found stiff" if n.dead else "")
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


CAUSE = "cause only"
PLAIN_CAUSES = {
    "stillbirth": ("stillborn", "born dead"),
    "starvation-mismothering-exposure": ("hypothermia", "starved"),
    "infection": ("scours", "joint ill"),
    "predation": ("fox", "crows"),
    "accident": ("drowned", "accident"),
    "congenital": ("deformed", "congenital"),
    "unknown": ("not known", "unknown"),
}
ODD_CAUSES = ("just faded", "ewe lay on it", "old tom", "bad un", "no milk", "rattle belly", "wet night", "?")


@case(CAUSE, "in plain words", "mapped")
def cause_plain(folder: Path) -> Made:
    truth = season_of(330, litters=30)
    say = columns(cause=lambda n: PLAIN_CAUSES[n.cause][n.order % 2] if n.dead else "")
    return Made([table(folder / "l.csv", grid(truth, say))], truth, "cause")


@case(CAUSE, "in the farm's own words", "said")
def cause_odd(folder: Path) -> Made:
    truth = season_of(331, litters=30)
    say = columns(cause=lambda n: ODD_CAUSES[int(n.tag) % 8] if n.dead else "")
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(CAUSE, "reason of death", "said")
def cause_reason(folder: Path) -> Made:
    truth = season_of(332, litters=30)
    say = columns("", {"Reason for loss": lambda n: ODD_CAUSES[int(n.tag) % 8] if n.dead else ""})
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(CAUSE, "none for the living", "said")
def cause_none(folder: Path) -> Made:
    truth = season_of(333, litters=30)
    say = columns(cause=lambda n: PLAIN_CAUSES[n.cause][0] if n.dead else "none")
    return Made([table(folder / "l.csv", grid(truth, say))], truth, "cause")


@case(CAUSE, "a cause where died says no", "said")
def cause_against_no(folder: Path) -> Made:
    truth = season_of(334, litters=30)
    say = columns(
        died=lambda n: "yes" if n.dead and n.order == 1 else "no",
        cause=lambda n: ODD_CAUSES[n.order] if n.dead else "",
    )
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(CAUSE, "a finding from the post-mortem", "said")
def post_mortem(folder: Path) -> Made:
    truth = season_of(335, litters=30)
    say = columns("", {"PM finding": lambda n: "lungs not inflated" if n.dead else ""})
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


TIMES = "a time of death that cannot be read"


def unread_times(name: str, accept: str, seed: int, *words: str) -> None:
    def build(folder: Path) -> Made:
        truth = season_of(seed, litters=26)
        odd = {
            n.tag: words[place % len(words)]
            for place, n in enumerate(t for t in truth if t.dead)
            if place % 2
        }
        say = columns(died_at=lambda n: odd.get(n.tag) or (n.died or ""))
        truth = [n.but(age_h=None, cause=None) if n.tag in odd else n for n in truth]
        return Made([table(folder / "l.csv", grid(truth, say))], truth, "age")

    add(TIMES, name, accept, build)


unread_times("words", "said", 340, "overnight", "found am", "some time last week")
unread_times("question marks", "said", 341, "?", "??", "not sure")
unread_times("a day that is not", "said", 342, "2026-04-31 08:00", "2026-02-30")
unread_times("a cause in its cell", "said", 343, "fox", "hypothermia")
unread_times("a clock without a day", "said", 344, "early", "07:xx", "4 am or so")
unread_times("yes in its cell", "said", 345, "yes", "dead")

BEFORE = "death before birth"


@case(BEFORE, "a slip of the month", "said")
def before_birth(folder: Path) -> Made:
    truth = season_of(350, litters=30)
    slips = {n.tag for n in truth if n.dead and not n.stillborn and n.order == 1}
    say = columns(
        died_at=lambda n: (n.died - timedelta(days=61) if n.tag in slips else n.died) if n.dead else ""
    )
    path = table(folder / "l.csv", grid(truth, say))
    return Made([path], [n.but(age_h=None) if n.tag in slips else n for n in truth], "age")


@case(BEFORE, "a slip of the year", "said")
def year_before(folder: Path) -> Made:
    truth = season_of(351, litters=30)
    slips = {n.tag for n in truth if n.dead and not n.stillborn and n.order == 1}
    say = columns(
        died=lambda n: "yes" if n.dead else "no",
        died_at=lambda n: (n.died - timedelta(days=365) if n.tag in slips else n.died) if n.dead else "",
    )
    path = table(folder / "l.csv", grid(truth, say))
    return Made([path], [n.but(age_h=None) if n.tag in slips else n for n in truth], "age")


SEEN = "outcome that a reader cannot see"


def painted(truth: list[Newborn], how: str, dead: Callable[[Newborn], bool]) -> Callable[[Workbook], None]:
    def change(book: Workbook) -> None:
        for place, n in enumerate(truth, 2):
            for cell in book.worksheets[0][place] if dead(n) else ():
                if how == "red":
                    cell.fill = PatternFill("solid", fgColor="FFFF0000")
                elif how == "struck":
                    cell.font = Font(strike=True)
                else:
                    cell.font = Font(color="FFFF0000")

    return change


def seen_only(name: str, how: str, seed: int) -> None:
    def alone(folder: Path) -> Made:
        truth = season_of(seed)
        paint = painted(truth, how, lambda n: bool(n.dead))
        return Made([workbook(folder / "b.xlsx", {"Lambs": grid(truth, columns())}, paint)], truth)

    def beside(folder: Path) -> Made:
        truth = season_of(seed + 5)
        told = [n.tag for n in truth if n.dead][:2]
        say = columns(died=lambda n: "yes" if n.tag in told else "")
        paint = painted(truth, how, lambda n: bool(n.dead) and n.tag not in told)
        return Made([workbook(folder / "b.xlsx", {"Lambs": grid(truth, say)}, paint)], truth)

    add(SEEN, f"{name}, no column", "said", alone)
    add(SEEN, f"{name} beside a column", "said", beside)


seen_only("red rows", "red", 360)
seen_only("struck-out rows", "struck", 361)
seen_only("red letters", "ink", 362)

REMARKS = ("found dead by the gate", "died in the night", "fox got it", "dead, ewe trod on it")


@case(SEEN, "remarks only", "said")
def remarks_only(folder: Path) -> Made:
    truth = season_of(370)
    say = columns(
        Remarks=lambda n: REMARKS[int(n.tag) % 4] if n.dead else ("nice lamb" if n.order == 1 else "")
    )
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(SEEN, "remarks beside a column", "said")
def remarks_beside(folder: Path) -> Made:
    truth = season_of(371)
    told = [n.tag for n in truth if n.dead][:2]
    say = columns(
        died=lambda n: "yes" if n.tag in told else "",
        Notes=lambda n: REMARKS[int(n.tag) % 4] if n.dead and n.tag not in told else "",
    )
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(SEEN, "formulas without stored values", "asked")
def formulas(folder: Path) -> Made:
    truth = season_of(372)
    rows = grid(truth, columns(died_on=lambda n: n.died.date() if n.dead else ""))
    width = len(rows[0])
    rows[0] = [*rows[0][:-1], "day it went", "died"]
    rows[1:] = [[*row, f'=IF(H{place}="","no","yes")'] for place, row in enumerate(rows[1:], 2)]
    assert width == 8
    return Made([workbook(folder / "b.xlsx", {"Lambs": rows})], truth)


@case(SEEN, "an error in every outcome cell", "asked")
def errors(folder: Path) -> Made:
    truth = season_of(373)
    return Made([table(folder / "l.csv", grid(truth, columns(died=lambda n: "#REF!")))], truth)


TURNOUT = "alive now, alive at turnout"


@case(TURNOUT, "alive now is not born alive", "mapped")
def alive_now(folder: Path) -> Made:
    truth = season_of(380, litters=30)
    say = columns("", {"Alive": lambda n: "no" if n.dead else "yes"}, died_at=lambda n: n.died or "")
    return Made([table(folder / "l.csv", grid(truth, say))], truth, "age")


@case(TURNOUT, "alive at turnout", "said")
def alive_at_turnout(folder: Path) -> Made:
    truth = season_of(381, litters=30)
    say = columns("", {"Alive at turnout": lambda n: "N" if n.dead else "Y"})
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(TURNOUT, "alive at turnout says more than died", "said")
def turnout_says_more(folder: Path) -> Made:
    truth = season_of(382, litters=30)
    hidden = [n.tag for n in truth if n.dead][-2:]
    say = columns(
        "",
        {
            "died": lambda n: "yes" if n.dead and n.tag not in hidden else "",
            "Alive at turnout": lambda n: "no" if n.dead else "yes",
        },
    )
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(TURNOUT, "still here at weaning", "said")
def at_weaning(folder: Path) -> Made:
    truth = season_of(383, litters=30)
    say = columns("", {"Weaned (y/n)": lambda n: "n" if n.dead else "y"})
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(TURNOUT, "a weaning weight only of those that lived", "said")
def weaning_weight(folder: Path) -> Made:
    truth = season_of(384, litters=30)
    say = columns("", {"Weaning weight kg": lambda n: "" if n.dead else round(22 + n.weight, 1)})
    return Made([table(folder / "l.csv", grid(truth, say))], truth)


@case(TURNOUT, "alive at 24 h and alive at weaning", "said")
def two_looks(folder: Path) -> Made:
    truth = season_of(385, litters=30)
    say = columns(
        "",
        {
            "Alive at 24h": lambda n: "no" if n.dead and (n.age_h or 0) < 24 else "yes",
            "Alive at weaning": lambda n: "no" if n.dead else "yes",
        },
    )
    return Made([table(folder / "l.csv", grid(truth, say))], truth)
