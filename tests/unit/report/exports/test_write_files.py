"""Exported files are whole or not there."""

from __future__ import annotations

from pathlib import Path

import pytest

from deerlog.errors import OutputError
from deerlog.report.exports.write_files import write_files


def test_files_are_written_below_the_folder_and_others_kept(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    written = write_files(tmp_path, {"a.csv": "x\r\ny\n", "sub/b.csv": "ä"})
    assert written == [tmp_path / "a.csv", tmp_path / "sub" / "b.csv"]
    assert (tmp_path / "a.csv").read_bytes() == b"x\r\ny\n"
    assert (tmp_path / "sub/b.csv").read_bytes() == "ä".encode()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.csv", "notes.txt", "sub"]


def test_where_one_cannot_be_written_the_old_ones_stay(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("old")
    (tmp_path / "b.csv").mkdir()
    (tmp_path / "b.csv" / "in the way").touch()
    with pytest.raises(OutputError, match="--to"):
        write_files(tmp_path / "b.csv" / "in the way", {"a.csv": "new"})
    (tmp_path / "folder").write_text("a file where a folder is wanted")
    with pytest.raises(OutputError):
        write_files(tmp_path, {"a.csv": "new", "folder/c.csv": "new"})
    assert (tmp_path / "a.csv").read_text() == "old"
    assert not list(tmp_path.glob(".deerlog-new-*"))
