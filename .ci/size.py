"""Says how large an environment's packages are, all together and one by one, and fails over the bound.

The bound is on what is installed; the byte code that Python makes of it, which takes a third more, is told beside it.

Usage: python .ci/size.py [ENVIRONMENT] [MEGABYTES]; by default this Python's own packages, without pip and setuptools.
"""

from __future__ import annotations

import sys
import sysconfig
from pathlib import Path

BOUND_MB = 330
TOOLS = ("pip", "setuptools", "_distutils_hack", "pkg_resources")


def packages(environment: str) -> Path:
    """The folder in which the packages of an environment lie."""
    if not environment:
        return Path(sysconfig.get_path("purelib"))
    return next(Path(environment).glob("[Ll]ib*/**/site-packages"))


def megabytes(path: Path) -> tuple[float, float]:
    """What a file or folder takes, and the byte code in it."""
    files = [path] if path.is_file() else [one for one in path.rglob("*") if one.is_file()]
    of_kind = [
        sum(one.stat().st_size for one in files if (one.suffix == ".pyc") is made) for made in (False, True)
    ]
    return of_kind[0] / 1e6, of_kind[1] / 1e6


def main() -> int:
    """Print the sizes; 1 where all together are over the bound."""
    environment, bound = [*sys.argv[1:], "", ""][:2]
    held = [path for path in packages(environment).iterdir() if not path.name.startswith(TOOLS)]
    sizes = sorted(((*megabytes(path), path.name) for path in held), reverse=True)
    whole, made, most = sum(one[0] for one in sizes), sum(one[1] for one in sizes), float(bound or BOUND_MB)
    for size, _, name in sizes[:8]:
        print(f"{size:7.1f} MB  {name}")
    print(f"{whole:7.1f} MB  in all, and {made:.1f} MB of byte code; the bound is {most:.0f} MB")
    return int(whole > most)


if __name__ == "__main__":
    sys.exit(main())
