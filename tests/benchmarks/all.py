"""Every benchmark in one run, one after the other: `python tests/benchmarks/all.py`. Prints tables; no test.

Each script also runs alone; what it printed on a quiet machine is kept beside it as text. Takes about half an hour.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
SCRIPTS = (
    ("marginal.py", "1e6", "--r"),
    ("regression.py", "--most", "1000000", "--limit", "20"),
    ("measures.py",),
    ("groups.py",),
    ("reading.py",),
    ("scheme.py", "1e7"),
)


def main() -> None:
    """Run each script and let it print."""
    for script, *options in SCRIPTS:
        print(f"\n=== {script} {' '.join(options)}", flush=True)
        module = f"tests.benchmarks.{script.removesuffix('.py')}"
        subprocess.run([sys.executable, "-m", module, *options], check=True, cwd=HERE.parents[1])


if __name__ == "__main__":
    main()
