"""Which tests the quick ones leave out: measured, not guessed.

    python -m pytest -n auto --durations=0 --durations-min=0.02 > times.txt    (on a machine left alone)
    python -m tests.long_tests times.txt

writes `tests/long_tests.txt`, a line a test: how many of its forms stand for one that stays quick (0: none does), and
its name. `conftest.py` marks the others ``slow``. What several tests share is paid by the first of them, so that the
quick ones are timed in their turn (``-m "not browser and not slow"``) and both files given: the longer time counts.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from pathlib import Path

LIST = Path(__file__).with_suffix(".txt")
LONG_S = 0.2
"""A test that takes longer than this, all its forms together, is no quick one."""


def long_tests() -> dict[str, int]:
    """Names of tests, each with how many of its forms stand for a quick one."""
    lines = LIST.read_text(encoding="utf-8").splitlines()
    return {name: int(forms) for forms, name in (line.split(" ", 1) for line in lines)}


def found_long(*printed: str) -> dict[str, int]:
    """The same, from what pytest printed of the times in one run or several.

    A form that alone takes less than half of the limit stays among the quick ones.

    >>> one = "0.30s call     tests/a.py::one[x]\\n0.30s call     tests/a.py::one[y]\\n0.10s setup    tests/a.py::two"
    >>> found_long(one), found_long(one, "0.50s setup    tests/a.py::two")
    ({'tests/a.py::one': 0}, {'tests/a.py::one': 0, 'tests/a.py::two': 0})
    >>> found_long("\\n".join(f"0.05s call     tests/a.py::one[{form}]" for form in range(6)))
    {'tests/a.py::one': 6}
    """
    taken, forms = Counter[str](), Counter[str]()
    for run in printed:
        seconds, names = Counter[str](), dict[str, set[str]]()
        for took, name in re.findall(r"^([\d.]+)s (?:call|setup|teardown) +(\S.*)$", run, re.MULTILINE):
            test = name.partition("[")[0]
            seconds[test] += float(took)
            names.setdefault(test, set()).add(name)
        taken |= seconds
        forms |= Counter({test: len(of) for test, of in names.items()})
    long = sorted(test for test, took in taken.items() if took > LONG_S)
    return {test: forms[test] if taken[test] / forms[test] < LONG_S / 2 else 0 for test in long}


if __name__ == "__main__":
    found = found_long(*(Path(name).read_text(encoding="utf-8") for name in sys.argv[1:]))
    LIST.write_text("".join(f"{forms} {test}\n" for test, forms in found.items()), encoding="utf-8")
