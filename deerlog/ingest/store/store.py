"""The photo log, ``deerlog.sqlite``: every file and photo ever met, as the cameras showed them.

It holds nothing that a table of the property decides: corrected times, sites, visits and tags are
worked out when it is read, so that a new row in clock.csv re-times it without opening a picture.
Rows lie in order of their key and carry no numbers of their own: the same cards give the same
content, however often interrupted they were read. Only of copies of one picture is it kept which
came first.
"""

from __future__ import annotations

import json
import sqlite3
import warnings
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from datetime import date
from pathlib import Path

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.cards.photo_file import FileRecord
from deerlog.ingest.store.store_file import APPLICATION, FILE, check_version, connect, damaged, told
from deerlog.ingest.store.stored_files import (
    OTHER,
    PUT,
    READ,
    SCHEMA,
    UPGRADES,
    VERSION,
    Stored,
    frame_of_rows,
    stored_files,
)

_BATCH = 20_000
_CARD_FILE = "listed_in = '' AND replaced = 0"
"""A file as it lies on a card now: no row of a CSV, and no picture that was overwritten."""
_KEEP_OVERWRITTEN = f"""
    UPDATE file SET gone = 1, replaced = (
      SELECT max(replaced) + 1 FROM file WHERE camera = ?1 AND path = ?2 AND listed_in = '')
    WHERE camera = ?1 AND path = ?2 AND {_CARD_FILE}
"""


def problem_text(problem: Problem) -> str:
    """A problem as JSON."""
    return json.dumps(asdict(problem), ensure_ascii=True, sort_keys=True, default=date.isoformat)


def problem_from(text: str) -> Problem:
    """The problem that `problem_text` wrote."""
    values = json.loads(text)
    values["bucks"] = tuple(values["bucks"])
    for name in ("first_day", "last_day"):
        values[name] = date.fromisoformat(values[name]) if values.get(name) else None
    return Problem(**values)


@dataclass
class KnownFiles:
    """Files of one camera folder as last met: path to ``(size, mtime_ns)``."""

    there: dict[str, tuple[int, int]] = field(default_factory=dict)
    gone: dict[str, tuple[int, int]] = field(default_factory=dict)


class PhotoLog:
    """The photo log of one property, open for one run of ingest.

    While it is open no other run can write, and none is met half-way: the lock is the database's
    own, so that it is free again as soon as the process ends, however it ends.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / FILE
        # Every picture on a card that the log holds, and how many copies of it.
        self._known_pictures: Counter[int] | None = None
        with told(self.path):
            self._db = connect(self.path)
        try:
            with told(self.path):
                self._db.execute("PRAGMA locking_mode = EXCLUSIVE")
                self._bring_up_to_date(check_version(self._db, self.path))
                # In this mode the first transaction takes the lock and keeps it.
                self._db.execute("BEGIN IMMEDIATE")
                self._db.execute("COMMIT")
        except BaseException:
            self._db.close()
            raise

    def _bring_up_to_date(self, version: int) -> None:
        if version == VERSION:
            return
        if version == 0:
            self._db.execute("PRAGMA journal_mode = WAL")
        steps = [UPGRADES[older] for older in range(version, VERSION)] if version else [SCHEMA]
        with self._transaction():
            for statement in (each for step in steps for each in step):
                self._db.execute(statement)
            self._db.execute(f"PRAGMA application_id = {APPLICATION}")
            self._db.execute(f"PRAGMA user_version = {VERSION}")

    def __enter__(self) -> PhotoLog:
        return self

    def __exit__(self, *error: object) -> None:
        """Close; the write-ahead log is folded into the file and removed."""
        with told(self.path):
            self._db.close()

    def known_files(self) -> dict[str, KnownFiles]:
        """For each camera folder, each file on its card as last met."""
        known: dict[str, KnownFiles] = defaultdict(KnownFiles)
        with told(self.path):
            rows = self._db.execute(
                f"SELECT camera, path, size, mtime_ns, gone FROM file WHERE {_CARD_FILE}"
            )
            for camera, path, size, mtime_ns, gone in rows:
                mine = known[camera]
                (mine.gone if gone else mine.there)[path] = (size, mtime_ns)
        return dict(known)

    def put_files(self, records: Iterable[FileRecord], *, read_on: str) -> Counter[str]:
        """Log files, in one transaction; gives how many of each camera lie over another picture.

        Where another picture (with another time) lay at the same path, it was overwritten: it is
        kept, as gone.
        """
        overwritten: Counter[str] = Counter()
        with self._transaction():
            for record in records:
                old = self._picture_at(record.camera, record.path)
                if old and old[1] != record.shown:
                    self._db.execute(_KEEP_OVERWRITTEN, (record.camera, record.path))
                    overwritten[record.camera] += 1
                self._put(record, read_on, copies_before=self._copies_before(record, old))
        return overwritten

    def put_looks(self, files: pd.DataFrame) -> None:
        """Log the ``look`` of files that are there, by ``camera`` and ``path``."""
        with self._transaction():
            self._db.executemany(
                f"UPDATE file SET look = ? WHERE camera = ? AND path = ? AND {_CARD_FILE}",
                files[["look", "camera", "path"]].itertuples(index=False, name=None),
            )

    def put_csv(
        self, csv: FileRecord, rows: Iterable[FileRecord], problems: list[Problem], *, read_on: str
    ) -> None:
        """Log a CSV photo log, its rows and problems, in one transaction.

        Rows that were in it before and are not any more are gone. Further rows with one path are
        pictures that lay there before and were overwritten.
        """
        key = (csv.camera, csv.path)
        replaced: Counter[str] = Counter()
        with self._transaction():
            self._db.execute("UPDATE file SET gone = 1 WHERE camera = ? AND listed_in = ?", key)
            for row in rows:
                self._put(row, read_on, listed_in=csv.path, replaced=replaced[row.path])
                replaced[row.path] += 1
            self._put(csv, read_on)
            self._db.execute("DELETE FROM csv_problem WHERE camera = ? AND path = ?", key)
            self._db.executemany(
                "INSERT INTO csv_problem VALUES (?, ?, ?, ?)",
                [(*key, place, problem_text(each)) for place, each in enumerate(problems)],
            )

    def mark(self, files: Iterable[tuple[str, str]], *, gone: bool) -> None:
        """Mark ``(camera, path)`` as no longer on disk (with a CSV, its rows), or there again."""
        marks = list(files)
        if not marks:
            return
        with self._transaction():
            self._db.executemany(
                f"UPDATE file SET gone = ? WHERE camera = ? AND path = ? AND {_CARD_FILE}",
                [(gone, *mark) for mark in marks],
            )
            if gone:
                self._db.executemany(
                    "UPDATE file SET gone = 1 WHERE camera = ? AND listed_in = ?",
                    [mark for mark in marks if is_csv(mark[1])],
                )

    def read(self) -> Stored:
        """What the log holds; see `read_log`."""
        with told(self.path):
            return _read(self._db, self.path)

    def outcome(self) -> tuple[str, str]:
        """Inputs and summary of the last run as `put_outcome` got them; ``("", "")`` if none."""
        with told(self.path):
            row = self._db.execute("SELECT inputs, summary FROM outcome").fetchone()
        return (str(row[0]), str(row[1])) if row else ("", "")

    def put_outcome(self, inputs: str, summary: str) -> None:
        """Keep what this run came to, in the place of what the last one did."""
        with self._transaction():
            self._db.execute("DELETE FROM outcome")
            self._db.execute("INSERT INTO outcome VALUES (?, ?)", (inputs, summary))

    def _put(self, record: FileRecord, read_on: str, **others: str | int) -> None:
        values = record._asdict() | {"listed_in": "", "replaced": 0, "copies_before": 0} | others
        self._db.execute(PUT, values | {"read_on": record.read_on or read_on})

    def _picture_at(self, camera: str, path: str) -> tuple[int, str, int] | None:
        """Which picture the log has at a path, what time it shows, and how many came before."""
        row = self._db.execute(
            "SELECT head, size, shown, copies_before FROM file WHERE camera = ? AND path = ?"
            f" AND {_CARD_FILE} AND kind IN ('photo', 'video')",
            (camera, path),
        ).fetchone()
        return (hash(row[:3]), row[2], int(row[3])) if row else None

    def _copies_before(self, record: FileRecord, old: tuple[int, str, int] | None) -> int:
        """How many copies of a picture were known before it came."""
        if record.kind not in ("photo", "video"):
            return 0
        picture = hash((record.head, record.size, record.shown))
        if old and old[0] == picture:
            return old[2]
        if self._known_pictures is None:
            # As numbers: a quarter of a million of them as they are would take much memory.
            rows = self._db.execute(
                "SELECT head, size, shown FROM file"
                " WHERE listed_in = '' AND kind IN ('photo', 'video')"
            )
            self._known_pictures = Counter(hash(row) for row in rows)
        self._known_pictures[picture] += 1
        return self._known_pictures[picture] - 1

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with told(self.path), self._db:  # committed, or rolled back where something is raised
            self._db.execute("BEGIN IMMEDIATE")
            yield


def is_csv(path: str) -> bool:
    """Whether a file on a card is read as a CSV photo log; the one thing its name decides."""
    return path[-4:].casefold() == ".csv"


def read_log(folder: Path) -> Stored:
    """What the photo log of a property folder holds. Nothing is written.

    Raises `StoreError` where it is locked by a run that is writing, damaged, or from a newer
    version, and `FileNotFoundError` where there is none yet.
    """
    path = folder / FILE
    if not path.exists():
        raise FileNotFoundError(path)
    with told(path):
        db = connect(path, reading=True)
        try:
            version = check_version(db, path)
            if version == 0:
                raise FileNotFoundError(path)
            return _read(db, path, version)
        finally:
            db.close()


def _read(db: sqlite3.Connection, path: Path, version: int = VERSION) -> Stored:
    # A log of version 1, which only an ingest brings up to date, lacks one column.
    columns = ["0" if name == "copies_before" and version == 1 else name for name in READ]
    rows = db.execute(
        f"SELECT {','.join(columns)} FROM file WHERE kind <> 'csv'"
        " ORDER BY camera, path, listed_in, replaced"
    )
    problems = db.execute(
        "SELECT problem FROM csv_problem JOIN file USING (camera, path)"
        f" WHERE {_CARD_FILE} AND gone = 0 ORDER BY camera, path, place"
    )
    others = db.execute(
        f"SELECT {','.join(OTHER)} FROM file WHERE kind IN ('csv', 'unreadable')"
        f" AND {_CARD_FILE} AND gone = 0 ORDER BY camera, path"
    )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            files = stored_files(iter(lambda: rows.fetchmany(_BATCH), []))
            csv_problems = tuple(problem_from(text) for (text,) in problems)
            (outcome,) = db.execute("SELECT summary FROM outcome").fetchone() or ("",)
            return Stored(
                files, csv_problems, frame_of_rows(others.fetchall(), OTHER), str(outcome)
            )
    # Nothing but damage puts into a column what was never written there.
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError, Warning) as error:
        raise damaged(path) from error
