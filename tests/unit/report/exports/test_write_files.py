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
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        ".deerlog-export.json", "a.csv", "notes.txt", "sub",
    ]  # fmt: skip


def test_where_one_cannot_be_written_the_old_ones_stay(tmp_path: Path) -> None:
    write_files(tmp_path, {"a.csv": "old"})
    (tmp_path / "b.csv").mkdir()
    (tmp_path / "b.csv" / "in the way").touch()
    with pytest.raises(OutputError, match="--to"):
        write_files(tmp_path / "b.csv" / "in the way", {"a.csv": "new"})
    (tmp_path / "folder").write_text("a file where a folder is wanted")
    with pytest.raises(OutputError):
        write_files(tmp_path, {"a.csv": "new", "folder/c.csv": "new"})
    assert (tmp_path / "a.csv").read_text() == "old"
    assert not list(tmp_path.glob(".deerlog-new-*"))


def test_what_an_export_wrote_is_written_over(tmp_path: Path) -> None:
    write_files(tmp_path, {"a.csv": "old"})
    write_files(tmp_path, {"b.csv": "another format"})
    write_files(tmp_path, {"a.csv": "new"})
    assert (tmp_path / "a.csv").read_text() == "new"


def test_an_export_that_was_killed_may_be_given_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_files(tmp_path, {"a.csv": "old"})
    replace = Path.replace

    def killed(self: Path, target: Path) -> Path:
        if target.name == "a.csv":
            raise KeyboardInterrupt
        return replace(self, target)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "replace", killed)
        with pytest.raises(KeyboardInterrupt):
            write_files(tmp_path, {"a.csv": "new"})
    write_files(tmp_path, {"a.csv": "newer"})
    assert (tmp_path / "a.csv").read_text() == "newer"


@pytest.mark.parametrize(
    ("before", "says"),
    [(None, "not written by an export"), ("exported", "changed since an export wrote it")],
)
def test_what_a_person_wrote_is_not(tmp_path: Path, before: str | None, says: str) -> None:
    if before is not None:
        write_files(tmp_path, {"a.csv": before})
    (tmp_path / "a.csv").write_text("typed")
    with pytest.raises(OutputError, match=says):
        write_files(tmp_path, {"b.csv": "new", "a.csv": "new"})
    assert (tmp_path / "a.csv").read_text() == "typed"
    assert not (tmp_path / "b.csv").exists()


def test_nor_is_what_a_link_leads_to(tmp_path: Path) -> None:
    (tmp_path / "typed.csv").write_text("typed")
    try:
        (tmp_path / "a.csv").symlink_to(tmp_path / "typed.csv")
    except OSError:
        pytest.skip("no right to make links")
    with pytest.raises(OutputError, match="not written by an export"):
        write_files(tmp_path, {"a.csv": "new"})
    assert (tmp_path / "typed.csv").read_text() == "typed"


@pytest.mark.parametrize("where", [".", "cards", "tags", "Tags/sub", "reports/2026-11-22"])
def test_the_folders_of_a_property_are_its_own(tmp_path: Path, where: str) -> None:
    (tmp_path / "property.toml").touch()
    with pytest.raises(OutputError, match="your own files"):
        write_files(tmp_path / where, {"media.csv": "new"})
    assert [p.name for p in tmp_path.iterdir()] == ["property.toml"]
    assert write_files(tmp_path / "exports" / "tags", {"media.csv": "new"})
