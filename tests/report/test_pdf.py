"""Three editions on paper: found browser or one sentence, as many sides as promised, none half empty but the last."""

from __future__ import annotations

import os
import shutil
import subprocess
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from neonatal_stats.report.pdf import EDITIONS, NoBrowser, NotPrinted, browser, unfolded, write_pdfs
from tests.report.browser import program

SHORT_SIDES = 12  # for one season of the demo flock
FOOT = 17 / 297  # of a side of A4: its lower margin, where its number stands
DPI, INK = 24, 225  # small letters are pale at so few points to the inch; paper is 255


def stand_in(folder: Path, script: str, name: str = "chromium") -> Path:
    """A program of that name that does what the script says."""
    path = folder / name
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)
    return path


posix = pytest.mark.skipif(os.name != "posix", reason="stands in for a browser by a shell script")


@pytest.fixture
def written(tmp_path: Path) -> Path:
    folder = tmp_path / "out"
    folder.mkdir()
    for page in ("keeper.html", "review.html"):
        (folder / page).write_text("<details><summary>For the vet</summary></details>")
    return folder


def test_without_a_browser_one_sentence_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    monkeypatch.setattr("sys.platform", "linux")
    with pytest.raises(
        NoBrowser, match=r"install Chromium, Chrome or Edge \(Debian: apt-get install chromium\)"
    ):
        browser()


@posix
@pytest.mark.parametrize("name", ["chromium-browser", "google-chrome", "msedge"])
def test_a_browser_is_found_by_its_name(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, name: str) -> None:
    stand_in(tmp_path, "exit 0", name)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert browser() == tmp_path / name


@pytest.mark.parametrize(
    ("platform", "place"),
    [
        ("darwin", "Applications/Chromium.app/Contents/MacOS/Chromium"),
        ("win32", "Google/Chrome/Application/chrome.exe"),
    ],
)
def test_a_browser_is_found_in_its_usual_place(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, platform: str, place: str
) -> None:
    (tmp_path / place).parent.mkdir(parents=True)
    (tmp_path / place).write_bytes(b"")
    monkeypatch.setenv("PATH", "")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("PROGRAMFILES", str(tmp_path))
    monkeypatch.setattr("neonatal_stats.report.pdf.shutil.which", lambda name: None)
    monkeypatch.setattr("sys.platform", platform)
    assert browser() == tmp_path / place


@posix
def test_the_full_edition_has_its_folds_open_and_the_short_one_closed(written: Path, tmp_path: Path) -> None:
    """The stand-in prints what it was given: the page itself, to the file that it was told."""
    reads = 'case $one in --print-to-pdf=*) to="${one#*=}";; file:*) from="${one#file://}";; esac'
    copies = f'for one in "$@"; do {reads}; done'
    made = write_pdfs(written, stand_in(tmp_path, f'{copies}; cp "$from" "$to"'))
    assert [path.name for path in made] == list(EDITIONS)
    text = {path.name: path.read_text() for path in made}
    assert "<details open>" in text["review-full.pdf"]
    assert "<details>" in text["review-short.pdf"]
    assert {path.name for path in written.iterdir()} == {*EDITIONS, "keeper.html", "review.html"}


@posix
@pytest.mark.parametrize("script", ["exit 1", "exit 0"])
def test_a_browser_that_does_not_print_leaves_the_review_as_it_was(
    written: Path, tmp_path: Path, script: str
) -> None:
    with pytest.raises(
        NotPrinted, match=r"did not print keeper\.pdf; the review is written: print keeper\.html"
    ):
        write_pdfs(written, stand_in(tmp_path, script))
    assert {path.name for path in written.iterdir()} == {"keeper.html", "review.html"}


def test_every_fold_is_opened_and_nothing_else_is_touched() -> None:
    page = "<details class='vet'><summary>&lt;details</summary></details>"
    assert unfolded(page) == "<details open class='vet'><summary>&lt;details</summary></details>"


@pytest.fixture(scope="session")
def editions(last_season_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The three editions of one demo season."""
    folder = tmp_path_factory.mktemp("editions")
    for page in ("keeper.html", "review.html"):
        shutil.copy(last_season_folder / page, folder)
    return {path.name: path for path in write_pdfs(folder, Path(program()))}


@cache
def sides(pdf: Path) -> list[NDArray[np.uint8]]:
    """Each side as a picture in greys."""
    subprocess.run(["pdftoppm", "-gray", "-r", str(DPI), str(pdf), str(pdf.with_suffix(""))], check=True)
    return [_greys(path) for path in sorted(pdf.parent.glob(f"{pdf.stem}-*.pgm"))]


def _greys(path: Path) -> NDArray[np.uint8]:
    """A picture of the portable grey map format: its kind, width, height and depth, then a byte a point."""
    _, width, height, _, points = path.read_bytes().split(maxsplit=4)
    return np.frombuffer(points, np.uint8, int(width) * int(height)).reshape(int(height), int(width))


def filled(side: NDArray[np.uint8]) -> float:
    """How far down a side its lowest ink stands, of the height above the foot."""
    body = side[: round(len(side) * (1 - FOOT))]
    inked = np.flatnonzero((body < INK).any(axis=1))
    return float(inked.max(initial=0)) / len(body)


@pytest.mark.browser
def test_the_short_edition_of_a_season_is_short(editions: dict[str, Path]) -> None:
    assert 3 <= len(sides(editions["review-short.pdf"])) <= SHORT_SIDES


@pytest.mark.browser
def test_the_keepers_sheet_is_one_side(editions: dict[str, Path]) -> None:
    assert len(sides(editions["keeper.pdf"])) == 1


@pytest.mark.browser
@pytest.mark.parametrize("edition", ["review-short.pdf", "review-full.pdf"])
def test_no_side_but_the_last_is_half_empty(editions: dict[str, Path], edition: str) -> None:
    found = sides(editions[edition])
    assert {n: how for n, how in enumerate(map(filled, found[:-1]), start=1) if how < 0.5} == {}


@pytest.mark.browser
def test_the_short_edition_leaves_the_folds_out_and_the_full_one_holds_them(
    editions: dict[str, Path],
) -> None:
    said = {
        name: subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True, check=True).stdout
        for name, path in editions.items()
    }
    assert "How this was worked out" in said["review-full.pdf"]
    assert "How this was worked out" not in said["review-short.pdf"]
    assert "For the vet" not in said["review-short.pdf"]
    for name in ("review-short.pdf", "review-full.pdf"):
        assert "How many lambs were lost, and when?" in said[name].replace("\n", " ")
        assert "Open every fold" not in said[name]
