"""Lean files, as most farms keep them: one outcome column and a few others, in words, order and signs drawn at random.

`python -m tests.season.farm_files.lean 500` reads 500 of them and counts the deaths that came out as lives.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from functools import cache
from pathlib import Path
from random import Random

from tests.season.farm_files.case import Case, Made
from tests.season.farm_files.reconcile import LIFE, judged, one_sentence_that_mends
from tests.season.farm_files.truth import Newborn, season_of
from tests.season.farm_files.writing import Say, grid, put, table, text_of, workbook

# Heading, words for the dead, words for the living. A blank among the living is a farm that writes only its dead.
BOOKS: tuple[tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]], ...] = (
    (("died", "Died?", "dead"), ("yes", "y", "Y", "dead", "fox", "x", "✓", "1"), ("",)),
    (("cause",), ("fox", "starved", "weak", "no idea", "infection", "stillbirth"), ("",)),
    (("died_at", "died"), ("{day}", "overnight", "found am", "{day} 06:00"), ("",)),
    (("died",), ("yes", "dead", "fox", "y", "1", "TRUE", "mort", "tot"), ("", "no")),
    (("died", "dead", "lost"), ("yes", "Yes", "YES"), ("no", "No", "")),
    (("died", "Died?"), ("fox", "cold", "mastitis", "lay on", "?", "yes"), ("no",)),
    (
        ("outcome", "fate", "status"),
        ("dead", "died", "DOA", "stillborn", "put down"),
        ("alive", "ok", "sold", "weaned"),
    ),
    (("cause", "Cause of death"), ("scours", "fox", "stillborn", "unknown", "weak", "no idea"), ("",)),
    (("reason", "why lost"), ("hung by fence", "drowned", "starved", "?"), ("", "-")),
    (("alive", "lives", "survived"), ("no", "N", "dead"), ("yes", "Y")),
    (("alive at turnout", "alive now", "reared"), ("no", "N", "0"), ("yes", "Y", "1")),
    (("Gestorben", "tot", "verendet"), ("ja", "tot", "Fuchs"), ("nein", "")),
    (("lebt", "Lebend"), ("nein", "tot"), ("ja", "lebt")),
    (("mort", "état"), ("mort", "mort-né", "oui"), ("vivant", "non")),
    (("muerto", "baja"), ("sí", "si", "muerto"), ("no", "vivo")),
    (("dood", "gestorven"), ("ja", "dood"), ("nee", "levend")),
    (("död", "dødt", "død"), ("ja", "död", "død"), ("nej", "nei", "lever")),
    (("padło", "martwe"), ("tak", "padło"), ("nie", "")),
    (("morto",), ("sim", "sì", "morto"), ("não", "no", "vivo")),
    (("marw",), ("ydy", "marw"), ("na", "byw")),
    (("died_on", "died", "date dead"), ("{day}", "{day}", "{month}", "in April"), ("", "no")),
    (("remarks", "notes"), ("found dead", "died in night", "taken by fox"), ("", "good strong lamb")),
    (("result", "code"), ("D", "2", "X"), ("A", "1", "O")),
)
DAMS = ("dam_id", "Ewe", "ewe tag", "Mutter", "mère", "dam", "Tacka")
TAGS = ("newborn_id", "lamb", "Lamb no", "tag")
BORN = ("born_on", "born", "date of birth", "lambed", "Geburtsdatum")


def lean(seed: int, folder: Path) -> Made:
    """One random file and its truth."""
    random = Random(seed)
    truth = season_of(seed, litters=random.randrange(12, 40), lost=random.uniform(0.1, 0.25))
    says = columns_of(random)
    rows = grid(truth, says)
    if random.random() < 0.2:
        rows = [["Lambing book, low shed"], *rows]
    if random.random() < 0.2:
        rows = [*rows, [], [random.choice(("* seen by the vet", "Total", "end of book"))]]
    return Made([written(random, folder, rows)], truth)


def columns_of(random: Random) -> dict[str, Say]:
    heads, dead, alive = random.choice(BOOKS)
    dead = tuple(random.sample(dead, random.randint(1, len(dead))))
    alive = (random.choice(alive),) if "" in alive or random.random() < 0.5 else alive

    def fate(n: Newborn) -> str:
        words = dead if n.dead else alive
        word = words[int(n.tag) % len(words)]
        day = n.died or n.born
        return word.format(day=f"{day:%Y-%m-%d}", month=f"{day:%d %b}")

    tidy = random.random() < 0.75
    dam, tag, born = (names[0] if tidy else random.choice(names) for names in (DAMS, TAGS, BORN))
    found: list[tuple[str, Say]] = [(dam, lambda n: n.dam), (random.choice(heads), fate)]
    found += [(tag, lambda n: n.tag)] if random.random() < 0.7 else []
    found += [(born, lambda n: n.born.date())] if random.random() < 0.8 or len(found) < 3 else []
    found += [("sex", lambda n: n.sex)] if random.random() < 0.4 else []
    found += [("season", lambda n: n.season)] if random.random() < 0.4 else []
    random.shuffle(found)
    return dict(found)


def written(random: Random, folder: Path, rows: list[list[object]]) -> Path:
    if random.random() < 0.2:
        return workbook(folder / "lambs.xlsx", {random.choice(("Sheet1", "2026")): rows})
    separator = random.choice(",,;;\t|")
    encoding = random.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16"))
    if random.random() < 0.05:
        lines = text_of(rows, separator).splitlines()
        return put(folder / "lambs.csv", "\r\n".join(lines) + "\r\n", encoding)
    return table(folder / "lambs.csv", rows, separator, encoding)


def count(seeds: range) -> Counter[str]:
    """How many files ended how, unaided and with the drafted map, and how many deaths were read as lives."""
    found: Counter[str] = Counter()
    for seed in seeds:
        found.update(_counted(seed))
    return found


@cache
def _counted(seed: int) -> Counter[str]:
    """The same of one file."""
    found: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        made = lean(seed, folder)
        outcome = judged(Case(f"lean {seed}", "lean", "said", lambda _: made), folder)
    found["files"] = 1
    found["deaths"] = sum(bool(n.dead) for n in made.truth)
    for way, run in (("unaided", outcome.unaided), ("with the drafted map", outcome.mapped)):
        found[f"{way}: {run.verdict}"] += 1
        found[f"deaths lost {way}"] += run.lives
        found["files that lose deaths"] += way == "unaided" and run.verdict == LIFE
        found["refusals not one sentence"] += run.exit == 2 and not one_sentence_that_mends(run.message)
    return found


if __name__ == "__main__":
    for what, number in sorted(count(range(int(sys.argv[1]) if sys.argv[1:] else 60)).items()):
        print(f"{number:6d}  {what}")
