"""The photo log: what it keeps, and what it says when it cannot."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from deerlog.errors import Problem, StoreError
from deerlog.ingest.cards.photo_file import FileRecord
from deerlog.ingest.store import store_file
from deerlog.ingest.store.store import PhotoLog, read_log
from deerlog.ingest.store.store_file import FILE

DAY = "2024-12-01"


def record(path: str, shown: str = "2024-10-05 06:07:08", **more: object) -> FileRecord:
    return FileRecord("Seep", path, 10, 20, "photo", shown=shown, head=bytes(20))._replace(**more)


def dump(folder: Path) -> str:
    db = sqlite3.connect(folder / FILE)
    try:
        return "\n".join(db.iterdump())
    finally:
        db.close()


def test_rows_lie_in_order_of_their_key_however_they_came(tmp_path: Path) -> None:
    a, b = tmp_path / "a", tmp_path / "b"
    a.mkdir()
    b.mkdir()
    rows = [record(f"{i}.jpg", head=bytes([i]) * 20) for i in (3, 1, 2)]
    with PhotoLog(a) as log:
        log.put_files(rows, read_on=DAY)
    for row in sorted(rows):
        with PhotoLog(b) as log:
            log.put_files([row], read_on=DAY)
    assert dump(a) == dump(b)
    assert read_log(a).files["path"].tolist() == ["1.jpg", "2.jpg", "3.jpg"]


def test_opening_and_reading_writes_nothing(tmp_path: Path) -> None:
    with PhotoLog(tmp_path) as log:
        log.put_files([record("a.jpg")], read_on=DAY)
    before = (tmp_path / FILE).read_bytes()
    with PhotoLog(tmp_path) as log:
        assert log.known_files()["Seep"].there == {"a.jpg": (10, 20)}
        log.mark([], gone=True)
        log.mark([], gone=False)
    read_log(tmp_path)
    assert (tmp_path / FILE).read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == [FILE]


def test_an_overwritten_picture_is_kept_as_gone(tmp_path: Path) -> None:
    with PhotoLog(tmp_path) as log:
        log.put_files([record("a.jpg")], read_on=DAY)
        log.put_files([record("a.jpg", "2024-11-05 06:07:08", size=11)], read_on=DAY)
        log.put_files([record("a.jpg", "2024-11-25 06:07:08", size=12)], read_on=DAY)
        # The same picture again, touched or turned: nothing more to keep.
        log.put_files([record("a.jpg", "2024-11-25 06:07:08", size=13)], read_on=DAY)
    files = read_log(tmp_path).files
    assert files["replaced"].tolist() == [0, 1, 2]
    assert files["gone"].tolist() == [False, True, True]
    assert files["size"].tolist() == [13, 10, 11]


def test_rows_of_a_changed_csv_are_updated_and_dropped_ones_are_gone(tmp_path: Path) -> None:
    csv = record("log.csv", kind="csv")
    problem = Problem(kind="bad-cell", file="cards/Seep/log.csv", why="w", how="h", bucks=("B",))
    with PhotoLog(tmp_path) as log:
        log.put_csv(csv, [record("a", kind="log"), record("b", kind="log")], [problem], read_on=DAY)
        assert log.read().csv_problems == (problem,)
        new = record("b", "2024-10-06 06:07", kind="log")
        log.put_csv(csv, [new], [], read_on=DAY)
        stored = log.read()
        assert stored.csv_problems == ()
        assert stored.files["gone"].tolist() == [True, False]
        assert stored.files["seconds"].tolist() == [True, False]
        assert str(stored.files["shown"][1]) == "2024-10-06 06:07:00"
        log.mark([("Seep", "log.csv")], gone=True)
        assert log.read().files["gone"].tolist() == [True, True]


def test_a_second_run_is_told_to_wait(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store_file, "WAIT_SECONDS", 0.05)
    with PhotoLog(tmp_path) as log:
        log.put_files([record("a.jpg")], read_on=DAY)
        for blocked in (PhotoLog, read_log):
            with pytest.raises(StoreError, match="in use by another run") as caught:
                blocked(tmp_path)
            assert caught.value.where.endswith(FILE)
            assert "Wait" in caught.value.how


def test_the_lock_of_a_killed_run_is_free(tmp_path: Path) -> None:
    code = (
        "import os, sys; from pathlib import Path; from deerlog.ingest.store.store import PhotoLog;"
        "from deerlog.ingest.cards.photo_file import FileRecord;"
        "log = PhotoLog(Path(sys.argv[1]));"
        "log.put_files([FileRecord('Seep', 'a.jpg', 1, 1, 'photo', shown='2024-10-05 06:07:08')],"
        f" read_on='{DAY}'); os._exit(9)"
    )
    assert subprocess.run([sys.executable, "-c", code, str(tmp_path)]).returncode == 9
    with PhotoLog(tmp_path) as log:
        assert list(log.known_files()["Seep"].there) == ["a.jpg"]


def test_what_is_no_photo_log_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / FILE
    path.write_bytes(b"this is no database" * 100)
    for reader in (PhotoLog, read_log):
        with pytest.raises(StoreError, match="damaged, or no photo log"):
            reader(tmp_path)
    assert path.read_bytes() == b"this is no database" * 100
    path.unlink()
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE mine (x)")
    other.close()
    with pytest.raises(StoreError, match="another program"):
        PhotoLog(tmp_path)


def test_a_newer_log_is_refused(tmp_path: Path) -> None:
    with PhotoLog(tmp_path):
        pass
    db = sqlite3.connect(tmp_path / FILE)
    db.execute("PRAGMA user_version = 99")
    db.close()
    for reader in (PhotoLog, read_log):
        with pytest.raises(StoreError, match=r"newer deerlog \(version 99"):
            reader(tmp_path)


def test_a_log_cut_short_is_told_as_damaged(tmp_path: Path) -> None:
    with PhotoLog(tmp_path) as log:
        log.put_files([record(f"{i:05d}.jpg") for i in range(2_000)], read_on=DAY)
    path = tmp_path / FILE
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(StoreError, match="damaged"):
        read_log(tmp_path)


def test_a_full_disk_is_told_and_what_was_kept_stays(tmp_path: Path) -> None:
    with PhotoLog(tmp_path) as log:
        log.put_files([record("a.jpg")], read_on=DAY)
        pages = log._db.execute("PRAGMA page_count").fetchone()[0]
        log._db.execute(f"PRAGMA max_page_count = {pages + 1}")
        with pytest.raises(StoreError, match="disk is full"):
            log.put_files([record(f"{i:05d}.jpg") for i in range(2_000)], read_on=DAY)
        assert list(log.known_files()["Seep"].there) == ["a.jpg"]
    with PhotoLog(tmp_path) as log:
        log.put_files([record("b.jpg")], read_on=DAY)
    assert read_log(tmp_path).files["path"].tolist() == ["a.jpg", "b.jpg"]


def test_no_log_yet(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        read_log(tmp_path)
    assert list(tmp_path.iterdir()) == []
    (tmp_path / FILE).touch()
    with pytest.raises(FileNotFoundError):
        read_log(tmp_path)


def test_outcome_is_one_row(tmp_path: Path) -> None:
    with PhotoLog(tmp_path) as log:
        assert log.outcome() == ("", "")
        log.put_outcome("a", "b")
        log.put_outcome("c", "d")
        assert log.outcome() == ("c", "d")


def test_which_copy_came_first_is_kept(tmp_path: Path) -> None:
    one = {"head": b"1" * 20}
    with PhotoLog(tmp_path) as log:
        log.put_files([record("b.jpg", **one)], read_on=DAY)
    with PhotoLog(tmp_path) as log:
        log.put_files([record("a.jpg", **one), record("c.jpg", head=b"2" * 20)], read_on=DAY)
        log.put_files([record("b.jpg", mtime_ns=21, **one)], read_on=DAY)  # touched only
        log.put_files([record("d.jpg", **one)], read_on=DAY)
    assert read_log(tmp_path).files["copies_before"].tolist() == [1, 0, 0, 2]


PRIVATE = "no EXIF time, unless in the maker's own block"


def test_a_log_of_the_first_version_is_read_and_brought_up_to_date(tmp_path: Path) -> None:
    with PhotoLog(tmp_path) as log:
        log.put_files([record("a.jpg"), record("b.jpg")], read_on=DAY)
    new = dump(tmp_path)
    db = sqlite3.connect(tmp_path / FILE)
    for column in ("copies_before", "temperature_c", "pressure_hpa"):
        db.execute(f"ALTER TABLE file DROP COLUMN {column}")
    # The time in a maker's block could not be read then: such a file is to be read again.
    db.execute("UPDATE file SET kind = 'unreadable', reason = ? WHERE path = 'b.jpg'", (PRIVATE,))
    db.execute("INSERT INTO outcome VALUES ('as before', '{}')")
    db.execute("PRAGMA user_version = 1")
    db.commit()
    db.close()
    assert read_log(tmp_path).files["copies_before"].tolist() == [0, 0]
    with PhotoLog(tmp_path) as log:
        assert [*log.known_files()["Seep"].there] == ["a.jpg"]
        assert log.outcome() == ("", "")  # it was worked out by other rules
        log.put_files([record("b.jpg")], read_on=DAY)
    assert read_log(tmp_path).files["path"].tolist() == ["a.jpg", "b.jpg"]
    assert dump(tmp_path).count("INSERT") == new.count("INSERT")
