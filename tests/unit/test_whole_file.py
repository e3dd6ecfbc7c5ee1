"""A file is replaced wholly or not at all."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from invented.windows_files import read_only_as_on_windows

from deerlog.property.whole_file import UNFINISHED, clear_away, unfinished, write_whole


def test_new_and_old_files_are_put_in_their_place(tmp_path: Path) -> None:
    path = tmp_path / "made" / "sheet.csv"
    write_whole(path, b"one")
    write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert [p.name for p in path.parent.iterdir()] == ["sheet.csv"]


def test_a_last_look_that_objects_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "sheet.csv"
    path.write_bytes(b"old")

    def object_to(fresh: Path) -> None:
        assert fresh.name.startswith(UNFINISHED) and fresh.read_bytes() == b"new"
        raise LookupError

    with pytest.raises(LookupError):
        write_whole(path, b"new", last_look=object_to)
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["sheet.csv"]


def test_a_disk_that_refuses_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "sheet.csv"
    path.write_bytes(b"old")

    def refuse(number: int) -> None:
        raise OSError("No space left on device")

    monkeypatch.setattr("deerlog.property.whole_file.os.fsync", refuse)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["sheet.csv"]


def test_a_read_only_file_leaves_nothing_in_the_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read_only_as_on_windows(monkeypatch)
    path = tmp_path / "sheet.csv"
    path.write_bytes(b"old")
    path.chmod(0o444)
    for _ in range(2):
        with pytest.raises(PermissionError):
            write_whole(path, b"new", last_look=lambda fresh: shutil.copymode(path, fresh))
        assert [p.name for p in tmp_path.iterdir()] == ["sheet.csv"]
    assert path.read_bytes() == b"old"
    path.chmod(0o644)
    write_whole(path, b"new", last_look=lambda fresh: shutil.copymode(path, fresh))
    assert path.read_bytes() == b"new"


def test_what_a_killed_run_left_read_only_is_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read_only_as_on_windows(monkeypatch)
    path = tmp_path / "sheet.csv"
    unfinished(path).write_bytes(b"half")
    unfinished(path).chmod(0o444)
    write_whole(path, b"new")
    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("sheet.csv", b"new")]


def test_what_cannot_be_cleared_away_hides_no_other_fault(tmp_path: Path) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    clear_away(folder)
    clear_away(tmp_path / "nothing")
    assert folder.is_dir()
