"""A photo log that cannot be used, or a disk that takes no more: told with how to mend it.

Whatever happens, what a person typed stays as it is, and once the trouble is mended in the way the
error says, the next run comes to what an uninterrupted one does.
"""

from __future__ import annotations

import errno
import random
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from invented.killed_runs import CHUNK, Result, copy_of, ingest, result

from deerlog.cli import main
from deerlog.errors import StoreError
from deerlog.ingest.store import store, store_file
from deerlog.ingest.store.store import PhotoLog, read_log
from deerlog.ingest.store.store_file import FILE

SHEET = "tags/Gate.csv"
TYPED = b"DCIM/IMG_0002.JPG,2024-10-01 13:00:00,1,Old Plow,,\n"


@pytest.fixture
def folder(eventful: Path, tmp_path: Path) -> Path:
    """A property that was ingested once, tagged, and has new cards."""
    return copy_of(eventful, tmp_path / "place")


def others(folder: Path) -> dict[str, bytes]:
    """Every file but the photo log's, with its bytes."""
    found = {p.relative_to(folder).as_posix(): p for p in folder.rglob("*") if p.is_file()}
    return {n: p.read_bytes() for n, p in found.items() if not n.startswith(FILE)}


def typed(folder: Path) -> dict[str, bytes]:
    """Every table and tag sheet with its bytes."""
    return {n: raw for n, raw in others(folder).items() if n.endswith((".csv", ".toml"))}


def spoil(*statements: str) -> Callable[[Path], None]:
    """Runs statements on the photo log."""

    def run(folder: Path) -> None:
        db = sqlite3.connect(folder / FILE)
        with db:
            for statement in statements:
                db.execute(statement)
        db.close()

    return run


def overwrite(content: bytes) -> Callable[[Path], None]:
    return lambda folder: void((folder / FILE).write_bytes(content))


def cut_short(folder: Path) -> None:
    path = folder / FILE
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def void(_: object) -> None:
    """Nothing, whatever it is given."""


TROUBLES = {
    "no database": (overwrite(b"this is no database" * 100), "damaged"),
    "cut short": (cut_short, "damaged"),
    "no such table": (spoil("DROP TABLE file"), "damaged"),
    "no such column": (spoil("ALTER TABLE file RENAME COLUMN look TO hue"), "damaged"),
    "a lost side table": (spoil("DROP TABLE csv_problem", "DROP TABLE outcome"), "damaged"),
    "no version": (spoil("PRAGMA user_version = 0"), "damaged"),
    "a time that is none": (spoil("UPDATE file SET shown = 'noon'"), "damaged"),
    "a hash cut off": (spoil("UPDATE file SET head = x'00'"), "damaged"),
    "no text": (spoil("UPDATE file SET kind = CAST(x'ff' AS TEXT)"), "damaged"),
    "newer": (spoil("PRAGMA user_version = 99"), "newer deerlog"),
    "another program's": (spoil("PRAGMA application_id = 7"), "another program"),
}


@pytest.mark.parametrize("name", TROUBLES)
def test_a_log_that_cannot_be_used_is_told_and_built_anew(
    folder: Path, expected: Result, name: str
) -> None:
    make, words = TROUBLES[name]
    make(folder)
    before = others(folder)
    for reads in (ingest, read_log):
        with pytest.raises(StoreError, match=words) as caught:
            reads(folder)
        assert caught.value.where.endswith(FILE)
        assert "deerlog ingest" in caught.value.how
    for command in ("ingest", "check"):
        answer = CliRunner().invoke(main, ["--property", str(folder), command])
        assert answer.exit_code == 2
        assert "Traceback" not in answer.output
    assert others(folder) == before
    (folder / FILE).unlink()
    ingest(folder)
    assert result(folder) == expected
    assert TYPED in (folder / SHEET).read_bytes()


def test_a_lost_outcome_is_worked_out_again(folder: Path, expected: Result) -> None:
    ingest(folder)
    spoil("UPDATE outcome SET summary = '{'")(folder)
    ingest(folder)
    assert result(folder) == expected


def test_a_log_deleted_beside_what_a_killed_run_left(folder: Path, expected: Result) -> None:
    """The log's side file alone must not be taken for the log."""
    db = sqlite3.connect(folder / FILE)
    db.execute("UPDATE file SET shown = '1999-01-01 00:00:00'")
    db.commit()
    left = (folder / f"{FILE}-wal").read_bytes()
    db.close()
    assert left
    (folder / FILE).unlink()
    (folder / f"{FILE}-wal").write_bytes(left)
    ingest(folder)
    assert result(folder) == expected


def test_locked_by_a_second_run(
    folder: Path, expected: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_file, "WAIT_SECONDS", 0.05)
    with PhotoLog(folder):
        before = others(folder)
        for reads in (ingest, read_log):
            with pytest.raises(StoreError, match="in use by another run") as caught:
                reads(folder)
            assert "Wait until that run has ended" in caught.value.how
        assert others(folder) == before
    ingest(folder)
    assert result(folder) == expected


@pytest.mark.parametrize("pages", [0, 1])
def test_the_disk_is_full_for_the_log(
    folder: Path, expected: Result, monkeypatch: pytest.MonkeyPatch, pages: int
) -> None:
    monkeypatch.setattr("deerlog.ingest.cards.photo_file.CHUNK", CHUNK)
    real = store.connect

    def on_a_full_disk(path: Path, *, reading: bool = False) -> sqlite3.Connection:
        db = real(path, reading=reading)
        (there,) = db.execute("PRAGMA page_count").fetchone()
        db.execute(f"PRAGMA max_page_count = {there + pages}")
        return db

    with monkeypatch.context() as patch:
        patch.setattr(store, "connect", on_a_full_disk)
        with pytest.raises(StoreError, match="disk is full") as caught:
            ingest(folder)
    assert "Free some space" in caught.value.how
    assert TYPED in (folder / SHEET).read_bytes()
    ingest(folder)
    assert result(folder) == expected


def test_the_disk_is_full_before_there_is_a_log(
    folder: Path, expected: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / FILE).unlink()
    real = store.connect

    def on_a_full_disk(path: Path, *, reading: bool = False) -> sqlite3.Connection:
        db = real(path, reading=reading)
        db.execute("PRAGMA max_page_count = 2")
        return db

    with monkeypatch.context() as patch:
        patch.setattr(store, "connect", on_a_full_disk)
        with pytest.raises(StoreError, match="disk is full"):
            ingest(folder)
    ingest(folder)
    assert result(folder) == expected


@pytest.mark.parametrize("call", ["write", "fsync", "replace"])
def test_the_disk_is_full_for_the_tag_sheets(
    folder: Path, expected: Result, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    def refuse(*args: object, **more: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    class Full:
        """A file that takes nothing."""

        def __init__(self, path: Path) -> None:
            path.touch()

        def __enter__(self) -> Full:
            return self

        def __exit__(self, *error: object) -> None:
            pass

        write = staticmethod(refuse)

    real = Path.open

    def open_full(path: Path, *how: Any, **more: Any) -> Any:
        partial = path.name.startswith(".deerlog-new-")
        return Full(path) if partial else real(path, *how, **more)

    before = typed(folder)
    with monkeypatch.context() as patch:
        if call == "write":
            patch.setattr(Path, "open", open_full)
        elif call == "fsync":
            patch.setattr("deerlog.property.whole_file.os.fsync", refuse)
        else:
            patch.setattr(Path, "replace", refuse)
        ingest(folder)
    assert typed(folder) == before
    assert not list((folder / "tags").glob(".deerlog*"))
    ingest(folder)
    assert result(folder) == expected


def test_bytes_of_a_log_changed_anywhere_give_no_traceback(folder: Path) -> None:
    ingest(folder)
    path = folder / FILE
    good = path.read_bytes()
    draw = random.Random(3)
    told = 0
    for _ in range(150):
        bad = bytearray(good)
        for _ in range(draw.choice((1, 4, 40))):
            bad[draw.randrange(len(bad))] = draw.randrange(256)
        path.write_bytes(bad)
        try:
            read_log(folder)
        except StoreError as error:
            assert error.how
            told += 1
        except FileNotFoundError:  # the change made it an empty database
            told += 1
    print(f"\n{told} of 150 changed logs were told as damaged")
    assert told > 30


@pytest.mark.parametrize("code", [sqlite3.SQLITE_IOERR, sqlite3.SQLITE_READONLY])
def test_a_read_only_log_is_said_to_be_read_only(tmp_path: Path, code: int) -> None:
    """The database calls it a disk I/O error where it cannot make a file beside the log."""
    with PhotoLog(tmp_path):
        pass
    path = tmp_path / FILE
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode = code
    path.chmod(0o444)
    said = r"may only be read.* Allow writing to deerlog\.sqlite"
    with pytest.raises(StoreError, match=said), store_file.told(path):
        raise error
    path.chmod(0o644)
    with pytest.raises(StoreError, match="disk I/O error"), store_file.told(path):
        raise error
