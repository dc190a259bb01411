"""Output is written whole or not at all, and nothing is overwritten without being told."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from neonatal_stats.report.folder import FolderExists, NotOurFolder, NotWritable, ready, written_whole


def test_a_failure_leaves_nothing_behind(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError):
        _fail_halfway(tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_an_existing_folder_is_kept(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    with pytest.raises(FolderExists) as caught, written_whole(out):
        pass
    assert (
        str(caught.value)
        == f"{out} already exists; name another folder, or add --force (in Python force=True) to replace it"
    )


def test_force_does_not_replace_a_folder_of_something_else(tmp_path: Path) -> None:
    out = tmp_path / "photographs"
    out.mkdir()
    (out / "lamb.jpg").write_bytes(b"")
    with pytest.raises(NotOurFolder) as caught, written_whole(out, force=True):
        pass
    assert str(caught.value) == f"{out} holds other things than an earlier output; name another folder"
    assert (out / "lamb.jpg").exists()


def test_force_replaces_an_earlier_review_whole(tmp_path: Path) -> None:
    out = tmp_path / "out"
    with written_whole(out) as folder:
        (folder / "headline.json").write_text("{}")
        (folder / "old.txt").write_text("old")
    with written_whole(out, force=True) as folder:
        (folder / "headline.json").write_text("{}")
    assert [path.name for path in out.iterdir()] == ["headline.json"]


def test_a_failed_replacement_keeps_the_earlier_review(tmp_path: Path) -> None:
    out = tmp_path / "out"
    with written_whole(out) as folder:
        (folder / "headline.json").write_text("first")
    with pytest.raises(RuntimeError):
        _fail_halfway(out, force=True)
    assert (out / "headline.json").read_text() == "first"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def _fail_halfway(out: Path, *, force: bool = False) -> None:
    with written_whole(out, force=force) as folder:
        (folder / "headline.json").write_text("second")
        raise RuntimeError


def test_where_nothing_can_be_written_is_found_before_any_work(tmp_path: Path) -> None:
    (tmp_path / "births.csv").write_text("")
    with pytest.raises(NotWritable) as caught:
        ready(tmp_path / "births.csv" / "out")
    place = tmp_path / "births.csv" / "out"
    assert str(caught.value) == f"{place} cannot be written (not a directory); name another place"
    with pytest.raises(NotWritable, match="file name too long"):
        ready(tmp_path / ("review" * 50))
    ready(tmp_path / "not" / "there" / "yet")
    assert [path.name for path in tmp_path.iterdir()] == ["births.csv"]


def test_a_folder_that_may_not_be_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object, **__: object) -> str:
        raise PermissionError(13, "Permission denied", str(tmp_path))

    monkeypatch.setattr("tempfile.mkdtemp", refused)
    with pytest.raises(NotWritable, match=r"out cannot be written \(permission denied\); name another place"):
        ready(tmp_path / "out")


def test_a_failure_takes_the_folders_away_that_it_made(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError):
        _fail_halfway(tmp_path / "a" / "b" / "out")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_request_to_end_during_the_move_waits_until_it_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    out, replace = tmp_path / "out", os.replace
    with written_whole(out) as folder:
        (folder / "headline.json").write_text("first")

    def interrupted(*names: Path) -> None:
        replace(*names)
        signal.raise_signal(number)

    def end(number: int, frame: object) -> None:
        raise SystemExit(128 + number)

    monkeypatch.setattr("os.replace", interrupted)
    before = signal.signal(number, end)
    try:
        with pytest.raises(SystemExit), written_whole(out, force=True) as folder:
            (folder / "headline.json").write_text("second")
    finally:
        signal.signal(number, before)
    assert (out / "headline.json").read_text() == "second"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
