"""Output is written whole or not at all, and nothing is overwritten without being told."""

from __future__ import annotations

from pathlib import Path

import pytest

from neonatal_stats.report.folder import FolderExists, NotOurFolder, written_whole


def test_a_failure_leaves_nothing_behind(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError):
        _fail_halfway(tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_an_existing_folder_is_kept(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    with pytest.raises(FolderExists) as caught, written_whole(out):
        pass
    assert str(caught.value) == f"{out} already exists; name another folder, or add --force to replace it"


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
