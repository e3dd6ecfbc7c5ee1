"""The tables of the photo log, column by column."""

from __future__ import annotations

from typing import Any

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
