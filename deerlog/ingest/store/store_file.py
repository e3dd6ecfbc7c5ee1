"""The database file of the photo log: opened, told from others, and its errors in words."""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from deerlog.errors import StoreError
from deerlog.ingest.store.stored_files import VERSION

APPLICATION = 0x646C6F67  # "dlog": tells this database from any other program's
FILE = "deerlog.sqlite"
WAIT_SECONDS = 3.0
"""How long to wait for another run before giving up."""
_NO_SIDE_FILES = (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_IOERR)
_WHAT_STAYS = (
    "(photos cleared from the disk would be missing). Tables and tag sheets are not touched."
)


def connect(path: Path, *, reading: bool = False) -> sqlite3.Connection:
    """Open the database of the photo log, to write, or only to read."""
    if not reading:
        return sqlite3.connect(path, timeout=WAIT_SECONDS, isolation_level=None)
    uri = path.absolute().as_uri()
    # Not as read-only: such a connection cannot clear away its side files when it closes.
    db = sqlite3.connect(f"{uri}?mode=rw", uri=True, timeout=WAIT_SECONDS, isolation_level=None)
    try:
        db.execute("PRAGMA query_only = ON")
        db.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.Error as error:
        db.close()
        if error.sqlite_errorcode & 0xFF not in _NO_SIDE_FILES:
            raise
        # A folder that may not be written to, or a network drive that shares no memory.
        return sqlite3.connect(f"{uri}?mode=ro&immutable=1", uri=True)
    return db


def check_version(db: sqlite3.Connection, path: Path) -> int:
    """The version of the log, 0 for an empty database; another program's, or one from a newer
    version, is a `StoreError`."""
    asked = ("PRAGMA user_version", "PRAGMA application_id", "SELECT count(*) FROM sqlite_master")
    version, application, tables = (int(db.execute(each).fetchone()[0]) for each in asked)
    if version == application == tables == 0:
        return 0
    if application != APPLICATION:
        raise StoreError(
            "this is a database of another program, not a photo log.",
            where=str(path),
            how="Move it elsewhere; `deerlog ingest` then builds the photo log from the cards.",
        )
    if version < 1:
        raise damaged(path)
    if version > VERSION:
        raise StoreError(
            f"the photo log is from a newer deerlog (version {version} of its form; this one "
            f"knows up to {VERSION}).",
            where=str(path),
            how=f"Install the newer deerlog, or move {FILE} elsewhere and run `deerlog ingest`: it "
            f"is built anew from the cards {_WHAT_STAYS}",
        )
    return version


def damaged(path: Path) -> StoreError:
    """The error for a log whose content cannot be what was written."""
    return StoreError(
        "the photo log is damaged, or no photo log.",
        where=str(path),
        how=f"Put back a copy of it, or delete {FILE} and run `deerlog ingest`: it is built anew "
        f"from the cards {_WHAT_STAYS}",
    )


def _may_only_be_read(path: Path) -> bool:
    """Whether the log or its folder is set read-only, which the database calls many things."""
    there = [each for each in (path, path.parent) if each.exists()]
    return any(
        not os.access(each, os.W_OK) or not each.stat().st_mode & stat.S_IWRITE for each in there
    )


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn the database's errors into ones that say what, where and how to mend."""
    try:
        yield
    except (sqlite3.ProgrammingError, sqlite3.InterfaceError):
        raise  # a mistake of this program, not of the file
    except UnicodeDecodeError as error:
        raise damaged(path) from error
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) & 0xFF
        if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            what = "the photo log is in use by another run of deerlog."
            how = "Wait until that run has ended, then run this again."
        elif code == sqlite3.SQLITE_FULL:
            what = "the disk is full."
            how = "Free some space and run `deerlog ingest` again: what was read so far is kept, "
            how += "and it goes on from there."
        elif code in (*_NO_SIDE_FILES, sqlite3.SQLITE_PERM):
            what = f"the photo log cannot be opened or written ({error})."
            how = "Check that the folder is there and that you may write to it."
            if _may_only_be_read(path):
                what = "the photo log may only be read, not written."
                how = f"Allow writing to {FILE} and to its folder, then run this again."
        else:
            # Corrupt pages, but also a missing table or column, or text that is none: this
            # program asks only for what it made itself.
            raise damaged(path) from error
        raise StoreError(what, where=str(path), how=how) from error
