from __future__ import annotations

import os
import socket
from pathlib import Path

import pytest

from deerlog.errors import OutputError
from deerlog.report import write
from deerlog.report.write import REPORT_FILES, write_report

FILES = {name: f"new {name} é\n" for name in REPORT_FILES}


def contents(folder: Path) -> dict[str, str]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes().decode()
        for p in folder.rglob("*")
        if p.is_file()
    }


@pytest.fixture
def old(tmp_path: Path) -> Path:
    folder = tmp_path / "reports" / "2025-11-16"
    folder.mkdir(parents=True)
    (folder / "report.html").write_text("old", encoding="utf-8")
    (folder / "plan.csv").write_text("a plan", encoding="utf-8")
    (folder / "mine").mkdir()
    (folder / "mine" / "notes.txt").write_text("my notes", encoding="utf-8")
    return folder


def test_writes_all_files_and_makes_the_folders(tmp_path: Path) -> None:
    folder = tmp_path / "reports" / "2025-11-16"
    assert write_report(folder, FILES) == folder
    assert contents(folder) == FILES
    assert [p.name for p in folder.parent.iterdir()] == [folder.name], "nothing else is left"


def test_replaces_its_own_files_and_keeps_all_others(old: Path) -> None:
    write_report(old, {"report.html": "new"})
    assert contents(old) == {
        "report.html": "new",
        "plan.csv": "a plan",
        "mine/notes.txt": "my notes",
    }
    assert [p.name for p in old.parent.iterdir()] == [old.name]


def test_a_table_of_an_older_report_does_not_outlive_it(old: Path) -> None:
    (old / "weekly.csv").write_text("stale", encoding="utf-8")
    write_report(old, {"report.html": "new"})
    assert not (old / "weekly.csv").exists()


def test_writing_the_same_twice_gives_the_same(old: Path) -> None:
    write_report(old, FILES)
    first = contents(old)
    write_report(old, FILES)
    assert contents(old) == first


@pytest.mark.parametrize("failing", ["write_closed", "_clear_left_over", "_swap"])
def test_a_failed_run_leaves_the_old_report_whole(
    old: Path, failing: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = contents(old)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device", str(old))

    monkeypatch.setattr(write, failing, full)
    with pytest.raises(OutputError) as raised:
        write_report(old, FILES)
    assert "No space left" in raised.value.what
    assert raised.value.where
    assert "run the report again" in raised.value.how
    assert contents(old) == before
    assert [p.name for p in old.parent.iterdir()] == [old.name]


def test_a_report_that_cannot_be_put_in_place_is_taken_back(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = contents(old)
    rename = Path.rename

    def held(self: Path, target: Path) -> Path:
        if self.name.startswith("."):
            raise PermissionError(13, "in use", str(self))
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", held)
    with pytest.raises(OutputError, match="in use"):
        write_report(old, FILES)
    assert contents(old) == before


def test_a_run_killed_between_its_renames_loses_nothing(old: Path) -> None:
    old.rename(old.with_name(f"{old.name}.replaced-by-deerlog"))
    write_report(old, {"report.html": "new"})
    assert contents(old)["plan.csv"] == "a plan"
    assert contents(old)["report.html"] == "new"
    assert [p.name for p in old.parent.iterdir()] == [old.name]


def test_a_folder_someone_put_beside_the_report_stays(old: Path) -> None:
    beside = old.with_name(old.name + ".old")
    beside.mkdir()
    (beside / "notes.txt").write_text("mine", encoding="utf-8")
    write_report(old, FILES)
    assert (beside / "notes.txt").read_text(encoding="utf-8") == "mine"


def test_a_name_that_is_not_the_report_s_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="elsewhere"):
        write_report(tmp_path / "r", {"../elsewhere.txt": ""})
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_way_is_told(tmp_path: Path) -> None:
    (tmp_path / "reports").write_text("a file, not a folder", encoding="utf-8")
    with pytest.raises(OutputError) as raised:
        write_report(tmp_path / "reports" / "2025-11-16", FILES)
    assert "reports" in raised.value.where


def test_a_note_saved_while_the_report_is_put_in_place_is_kept(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    swap = write._swap

    def someone_saves_then(fresh: Path, folder: Path, retired: Path) -> None:
        (folder / "plan.csv").write_text("a plan, changed", encoding="utf-8")
        (folder / "late.txt").write_text("late", encoding="utf-8")
        swap(fresh, folder, retired)

    monkeypatch.setattr(write, "_swap", someone_saves_then)
    write_report(old, FILES)
    assert contents(old)["plan.csv"] == "a plan, changed"
    assert contents(old)["late.txt"] == "late"
    assert contents(old)["report.html"] == FILES["report.html"]


@pytest.mark.skipif(os.name == "nt", reason="needs links and sockets as POSIX has them")
def test_links_and_sockets_are_kept_as_they_are(old: Path, tmp_path: Path) -> None:
    (tmp_path / "note.txt").write_text("elsewhere", encoding="utf-8")
    (old / "note").symlink_to(tmp_path / "note.txt")
    (old / "dangling").symlink_to(tmp_path / "nothing")
    os.mkfifo(old / "pipe")
    with socket.socket(socket.AF_UNIX) as unix:
        here = Path.cwd()
        os.chdir(old)  # the path of a socket may be 100 letters long
        unix.bind("socket")
        os.chdir(here)
    for text in ("new", "newer"):
        write_report(old, {"report.html": text})
        assert (old / "report.html").read_text(encoding="utf-8") == text
        assert (old / "note").readlink() == tmp_path / "note.txt"
        assert (old / "dangling").is_symlink() and not (old / "dangling").exists()
        assert (old / "pipe").is_fifo() and (old / "socket").is_socket()
    assert [p.name for p in old.parent.iterdir()] == [old.name]


def test_what_a_killed_run_left_goes_with_the_next(old: Path) -> None:
    left = old.with_name(".deerlog-new-2025-11-16")
    other = old.with_name(".deerlog-new-2025-11-09")
    running = old.with_name(".deerlog-new-2025-11-02")
    for folder in (left, other, running):
        folder.mkdir()
        (folder / "report.html").write_text("half", encoding="utf-8")
    os.utime(other, (0, 0))
    write_report(old, FILES)
    assert sorted(p.name for p in old.parent.iterdir()) == [running.name, old.name]


def test_what_could_not_be_carried_over_is_by_the_next(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*_: object) -> None:
        raise PermissionError(13, "in use")

    with monkeypatch.context() as patched:
        patched.setattr(write, "_free", held)
        write_report(old, {"report.html": "new"})
    assert set(contents(old)) == {"report.html"}
    (old / "plan.csv").write_text("another plan", encoding="utf-8")
    write_report(old, {"report.html": "newer"})
    assert contents(old) == {
        "report.html": "newer", "mine/notes.txt": "my notes",
        "plan.csv": "another plan", "plan 2.csv": "a plan",
    }  # fmt: skip
    assert [p.name for p in old.parent.iterdir()] == [old.name]


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_a_folder_that_is_a_link_stays_one(old: Path, tmp_path: Path) -> None:
    away = tmp_path / "disk" / "week"
    away.parent.mkdir()
    old.rename(away)
    old.symlink_to(away)
    write_report(old, {"report.html": "new"})
    assert old.readlink() == away
    assert contents(away)["report.html"] == "new" and contents(away)["plan.csv"] == "a plan"
