"""Every printed table of the simulations, one after another from one tree; whole pages (`page.py`) go by themselves.

    python -m tests.simulations                     (all, about an hour; prints how long each took)
    python -m tests.simulations plan seasons        (these)

A table is written beside its script, whole or not at all: one that fails leaves the earlier table as it was.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).parent
TABLES = sorted(path.stem for path in HERE.glob("*.txt") if path.stem != "page")


def write_table(name: str) -> bool:
    """Run one script and keep what it printed; whether it came to its end."""
    begun = time.monotonic()
    run = subprocess.run(
        [sys.executable, "-m", f"tests.simulations.{name}"], stdout=subprocess.PIPE, text=True
    )
    ended = f"{name}: {(time.monotonic() - begun) / 60:.1f} min"
    if run.returncode:
        print(f"{ended}, failed; {name}.txt is as it was", flush=True)
        return False
    (HERE / f"{name}.txt").write_text(run.stdout, encoding="utf-8")
    print(ended, flush=True)
    return True


def main() -> int:
    """Write the tables asked for; 1 where one failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulations", description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", choices=[*TABLES, []], metavar="NAME", help=", ".join(TABLES))
    written = [write_table(name) for name in parser.parse_args().names or TABLES]
    return int(not all(written))


if __name__ == "__main__":
    sys.exit(main())
