"""Data folders are found, and files are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from fixplan import atomic, resources


def test_the_data_folders_are_found() -> None:
    assert any(resources.resource_dir("implant_specs").glob("*.toml"))
    assert any(resources.resource_dir("demo_cases").glob("*.toml"))
    with pytest.raises(FileNotFoundError, match="install fixplan again"):
        resources.resource_dir("no_such_folder")


def test_inside_the_package_comes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "fixplan"
    (tmp_path / "implant_specs").mkdir()
    monkeypatch.setattr(resources, "files", lambda name: package)
    assert resources.resource_dir("implant_specs") == tmp_path / "implant_specs"
    (package / "implant_specs").mkdir(parents=True)
    assert resources.resource_dir("implant_specs") == package / "implant_specs"


def test_text_is_written_with_plain_line_feeds_as_utf8(tmp_path: Path) -> None:
    atomic.write(tmp_path / "a.txt", "4.7 ± 0.3 mm\n")
    assert (tmp_path / "a.txt").read_bytes() == b"4.7 \xc2\xb1 0.3 mm\n"
    atomic.write(tmp_path / "a.txt", b"new")
    assert (tmp_path / "a.txt").read_bytes() == b"new"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_new_file_has_the_usual_permissions(tmp_path: Path) -> None:
    (tmp_path / "usual").write_text("x")
    atomic.write(tmp_path / "ours", "x")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_nothing_is_written_when_one_of_several_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "old").write_text("old")
    with pytest.raises(OSError):
        atomic.write_all({tmp_path / "old": "new", tmp_path / "no" / "folder": "x"})
    (tmp_path / "taken").mkdir()
    with pytest.raises(IsADirectoryError):
        atomic.write_all({tmp_path / "old": "new", tmp_path / "taken": "x"})
    assert (tmp_path / "old").read_text() == "old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["old", "taken"]


def test_an_interrupted_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "old").write_text("old")

    def interrupted(handle: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        atomic.write(tmp_path / "old", "new")
    assert (tmp_path / "old").read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["old"]
