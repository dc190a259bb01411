"""The three editions on paper: a headless browser of the Chromium family prints what was written.

keeper.pdf is the keeper's sheet; review-short.pdf is the page with its folds closed: page one and each chapter's
finding, figure and caveat; review-full.pdf is the same page with every fold open.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from neonatal_stats.report.folder import KEEPER_HTML, PAGE_HTML

EDITIONS = {"keeper.pdf": KEEPER_HTML, "review-short.pdf": PAGE_HTML, "review-full.pdf": PAGE_HTML}
"""Each edition, and the page that it is printed from."""
FULL = "review-full.pdf"

BROWSERS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
    "microsoft-edge",
)
MAC = (
    "Google Chrome.app/Contents/MacOS/Google Chrome",
    "Chromium.app/Contents/MacOS/Chromium",
    "Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
)
WINDOWS = (
    "Google/Chrome/Application/chrome.exe",
    "Chromium/Application/chrome.exe",
    "Microsoft/Edge/Application/msedge.exe",
)
PROGRAM_FOLDERS = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--no-pdf-header-footer",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PATIENCE_S = 300


class NoBrowser(Exception):
    """There is no browser to print with; the sentence says what to install."""


class NotPrinted(Exception):
    """The browser did not print; the sentence says which page to print by hand."""


def browser() -> Path:
    """The program that prints: the first browser of the Chromium family on the PATH or in its usual place.

    Raises
    ------
    NoBrowser : there is none.
    """
    found = next((Path(path) for path in _places() if path), None)
    if found is None:
        raise NoBrowser(
            "--pdf prints with a browser of the Chromium family, and none was found; install Chromium, Chrome or Edge "
            "(Debian: apt-get install chromium), or leave --pdf away and print review.html from any browser"
        )
    return found


def _places() -> Iterator[str | None]:
    yield from (shutil.which(name) for name in BROWSERS)
    if sys.platform == "darwin":
        yield from _there(
            Path(folder) / name for folder in ("/Applications", "~/Applications") for name in MAC
        )
    if sys.platform == "win32":
        folders = (os.environ.get(name) for name in PROGRAM_FOLDERS)
        yield from _there(Path(folder) / name for folder in folders if folder for name in WINDOWS)


def _there(paths: Iterator[Path]) -> Iterator[str]:
    yield from (str(path.expanduser()) for path in paths if path.expanduser().exists())


def write_pdfs(folder: Path, program: Path) -> tuple[Path, ...]:
    """Print the editions of a written review into its folder, the keeper's where there is one; all of them or none.

    Parameters
    ----------
    folder : holds review.html, and keeper.html where a loss was counted.
    program : what `browser` found.

    Raises
    ------
    NotPrinted : the browser gave no file.
    """
    folder = folder.resolve()
    with tempfile.TemporaryDirectory(prefix="printing-", dir=folder) as desk:
        editions = {edition: page for edition, page in EDITIONS.items() if (folder / page).exists()}
        for edition, page in editions.items():
            text = (folder / page).read_text(encoding="utf-8")
            sheet = Path(desk) / page
            sheet.write_text(unfolded(text) if edition == FULL else text, encoding="utf-8")
            _print(sheet, Path(desk) / edition, program)
        return tuple(Path(shutil.move(Path(desk) / edition, folder / edition)) for edition in editions)


def unfolded(html: str) -> str:
    """The page with every fold open, as the full edition is printed; text of the farm is escaped and holds no fold."""
    return html.replace("<details", "<details open")


def _print(page: Path, pdf: Path, program: Path) -> None:
    with tempfile.TemporaryDirectory(prefix="browser-", ignore_cleanup_errors=True) as own:
        command = [str(program), *FLAGS, f"--user-data-dir={own}", f"--print-to-pdf={pdf}", page.as_uri()]
        try:
            subprocess.run(command, capture_output=True, timeout=PATIENCE_S, check=True)
        except (subprocess.SubprocessError, OSError):
            pdf.unlink(missing_ok=True)
    if not pdf.exists():
        raise NotPrinted(
            f"{program} did not print {pdf.name}; the review is written: print {page.name} from any browser"
        )
