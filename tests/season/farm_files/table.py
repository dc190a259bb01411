"""Writes what became of the corpus to this folder's README: `python -m tests.season.farm_files.table`."""

from __future__ import annotations

import tempfile
from collections import Counter
from pathlib import Path

from tests.season.farm_files.corpus import cases, outcomes_of
from tests.season.farm_files.reconcile import BAD, Outcome

COLUMNS = ("right unaided", "right with the drafted map", "asked or said", "refused", "wrong")
README = Path(__file__).parent / "README.md"
NOT_UNAIDED = "## Not right unaided"
HEAD = """# Farm files, and what becomes of them

Invented books as farms might keep them, each with its truth; written anew at each run, nothing is stored. Each file is
read unaided and with the map that `neonatal-stats map` drafts, unedited, and held against its truth newborn by newborn:
births, deaths, ages at death, causes, litters, seasons. Each stands in one column:

| column | what it means |
|---|---|
| right unaided | everything that the file tells was read right |
| right with the drafted map | right with the drafted map, unedited; asked about or refused without it |
| asked or said | outcomes left open, or deaths right and what was not read named; exit code 1 |
| refused | exit code 2 and one sentence that says how to mend it |
| wrong | a wrong number in either reading, or a number where nobody can know one |

`outcomes.py` `lines.py` `seasons.py` `litters.py` `files.py` `identity.py` `languages.py` `words.py` `exchange.py` hold
the files, `reconcile.py` the judge, `lean.py` random files of one outcome column
(`python -m tests.season.farm_files.lean 500`). This page is made by `python -m tests.season.farm_files.table`.

"""


def rows(outcomes: tuple[Outcome, ...]) -> list[str]:
    kinds: dict[str, Counter[str]] = {}
    for outcome in outcomes:
        kinds.setdefault(outcome.case.kind, Counter())[outcome.column] += 1
    total = sum(kinds.values(), Counter())
    lines = [f"| kind of fault | files | {' | '.join(COLUMNS)} |", "|---|" + "---:|" * (len(COLUMNS) + 1)]
    for kind, counts in [*kinds.items(), ("**all**", total)]:
        lines.append(f"| {kind} | {counts.total()} | {' | '.join(str(counts[name]) for name in COLUMNS)} |")
    return lines


def worst(outcomes: tuple[Outcome, ...]) -> list[str]:
    """What must not be: named file by file, so that it can be mended."""
    counts = Counter(outcome.worst for outcome in outcomes)
    lines = [f"- {what}: {counts[what]} files" for what in (*BAD, "overreached")]
    for outcome in outcomes:
        if outcome.worst:
            runs = [run for run in (outcome.unaided, outcome.mapped) if run.why]
            lines.append(
                f"- {outcome.case.name}: {outcome.worst} ({' / '.join(dict.fromkeys(run.why for run in runs))})"
            )
    return lines


def not_right_unaided(outcomes: tuple[Outcome, ...]) -> list[str]:
    """Each file that is not read right unaided, with the column it stands in."""
    return [
        f"- {outcome.case.name} | {outcome.column}" for outcome in outcomes if outcome.column != COLUMNS[0]
    ]


def column_before() -> dict[str, str]:
    """The column in which the page has each file that is not read right unaided."""
    told = README.read_text(encoding="utf-8").partition(NOT_UNAIDED)[2].partition("##")[0]
    lines = (line.removeprefix("- ") for line in told.splitlines() if line.startswith("- "))
    return dict(line.rsplit(" | ", 1) for line in lines)  # type: ignore[misc]


def page() -> str:
    with tempfile.TemporaryDirectory() as folder:
        outcomes = outcomes_of(cases(), Path(folder))
    by_kind = ["## By kind", "", *rows(outcomes), ""]
    by_file = [NOT_UNAIDED, "", *not_right_unaided(outcomes), ""]
    return HEAD + "\n".join([*by_kind, *by_file, "## Wrong", "", *worst(outcomes)]) + "\n"


if __name__ == "__main__":
    README.write_text(page(), encoding="utf-8")
    print(f"{README} written")
