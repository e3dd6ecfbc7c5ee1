"""The tables of the photo log, column by column.

The database file of the photo log: opened, told from others, and its errors in words.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from deerlog.errors import StoreError
from deerlog.ingest.cards.photo_file import FileRecord

VERSION = 2
APPLICATION = 0x646C6F67  # "dlog": tells this database from any other program's

SCHEMA = (
    """
CREATE TABLE file (
  camera         TEXT NOT NULL,     -- folder below cards/
  path           TEXT NOT NULL,     -- below that folder, with /
  listed_in      TEXT NOT NULL,     -- '' = a file on the card; else path of the CSV photo log
                                    -- whose row this is
  replaced       INTEGER NOT NULL,  -- 0 = what lies at the path; 1, 2, ... = other pictures that
                                    -- lay there before and were overwritten
  kind           TEXT NOT NULL,     -- photo, video, log (row of a CSV), csv (a CSV), unreadable
  reason         TEXT NOT NULL,     -- why unreadable; for a photo '' or 'truncated'
  size           INTEGER,           -- bytes           } as last met: while both stay the
  mtime_ns       INTEGER,           -- nanoseconds     } same the file is not opened again
  gone           INTEGER NOT NULL,  -- 1 = no longer on disk (or no longer in the CSV)
  read_on        TEXT NOT NULL,     -- day of the ingest that read it: no photo is from after it
  shown          TEXT,              -- what the camera's clock showed: YYYY-MM-DD HH:MM[:SS]
  time_source    TEXT,              -- original, digitized, changed, container, csv
  fraction_us    INTEGER NOT NULL,  -- microseconds beyond shown
  offset_minutes INTEGER,           -- east of UTC, as the camera stated it beside shown
  head           BLOB,              -- hash of the leading bytes
  look           REAL,              -- 0 grey to 1 coloured
  flash          INTEGER,           -- 1 fired, 0 not
  exposure_s     REAL,
  iso            INTEGER,
  make           TEXT NOT NULL,
  model          TEXT NOT NULL,
  serial         TEXT NOT NULL,
  copies_before  INTEGER NOT NULL DEFAULT 0,  -- copies of this picture that were known before it
  PRIMARY KEY (camera, path, listed_in, replaced)
) WITHOUT ROWID
""",
    """
CREATE TABLE csv_problem (          -- what a person should mend in a CSV photo log, which is read
  camera         TEXT NOT NULL,     -- only when it changes
  path           TEXT NOT NULL,
  place          INTEGER NOT NULL,  -- 0, 1, ... in order of the file
  problem        TEXT NOT NULL,     -- JSON
  PRIMARY KEY (camera, path, place)
) WITHOUT ROWID
""",
    """
CREATE TABLE outcome (              -- at most one row: what the last run came to, so that a run on
  inputs         TEXT NOT NULL,     -- the same inputs need not work it out again
  summary        TEXT NOT NULL      -- JSON
)
""",
)

UPGRADES = {
    1: (
        "ALTER TABLE file ADD COLUMN copies_before INTEGER NOT NULL DEFAULT 0",
        "DELETE FROM outcome",
    ),
}
"""What makes of each older version the next one."""

COLUMNS = (
    "camera",
    "path",
    "listed_in",
    "replaced",
    "kind",
    "reason",
    "size",
    "mtime_ns",
    "gone",
    "read_on",
    "shown",
    "time_source",
    "fraction_us",
    "offset_minutes",
    "head",
    "look",
    "flash",
    "exposure_s",
    "iso",
    "make",
    "model",
    "serial",
    "copies_before",
)
PUT = f"INSERT OR REPLACE INTO file ({','.join(COLUMNS)}) VALUES ({','.join('?' * len(COLUMNS))})"


def values_after_key(
    record: FileRecord, gone: int, read_on: str, copies_before: int = 0
) -> tuple[Any, ...]:
    """Values of a row after its key, in the order of `COLUMNS`."""
    return (
        record.kind,
        record.reason,
        record.size,
        record.mtime_ns,
        gone,
        read_on,
        record.shown,
        record.time_source,
        record.fraction_us,
        record.offset_minutes,
        record.head,
        record.look,
        None if record.flash is None else int(record.flash),
        record.exposure_s,
        record.iso,
        record.make,
        record.model,
        record.serial,
        copies_before,
    )


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
    """The version of the log, 0 for an empty database.

    Raises
    ------
    StoreError
        It is another program's, or from a newer version.
    """
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    application = int(db.execute("PRAGMA application_id").fetchone()[0])
    tables = int(db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])
    if version == 0 and application == 0 and tables == 0:
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
            how = (
                "Free some space and run `deerlog ingest` again: what was read so far is kept, "
                "and it goes on from there."
            )
        elif code in (
            sqlite3.SQLITE_CANTOPEN,
            sqlite3.SQLITE_READONLY,
            sqlite3.SQLITE_PERM,
            sqlite3.SQLITE_IOERR,
        ):
            what = f"the photo log cannot be opened or written ({error})."
            how = "Check that the folder is there and that you may write to it."
        else:
            # Corrupt pages, but also a missing table or column, or text that is none: this
            # program asks only for what it made itself.
            raise damaged(path) from error
        raise StoreError(what, where=str(path), how=how) from error
