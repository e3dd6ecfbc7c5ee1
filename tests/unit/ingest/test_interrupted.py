"""Killed at any moment, ingest loses nothing, and the next run comes to the same.

More kills than the few of an ordinary run: ``DEERLOG_TEST_KILLS=50``.
"""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from deerlog.ingest.store import FILE

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
KILLS = int(os.environ.get("DEERLOG_TEST_KILLS", "5"))
SMALL_CHUNK = 7

RUN = f"""
import sys
from datetime import date
from pathlib import Path
from deerlog.ingest import read_many
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
read_many.CHUNK = {SMALL_CHUNK}
place = open_property(Path(sys.argv[1]))
print("ready", flush=True)
sys.stdin.readline()
ingest_cards(place, today=date(2024, 12, 1))
print("done", flush=True)
"""


class Run:
    """An ingest in a process of its own, which waits for the word to begin."""

    def __init__(self, folder: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", RUN, str(folder)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self.process.stdout is not None
        assert self.process.stdin is not None
        assert self.process.stdout.readline() == "ready\n"

    def begin(self) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write("\n")
        self.process.stdin.flush()

    def end(self) -> None:
        self.process.communicate()


def result(folder: Path) -> tuple[str, dict[str, bytes]]:
    """What the log holds, and the tag sheets."""
    db = sqlite3.connect(folder / FILE)
    try:
        text = "\n".join(db.iterdump())
    finally:
        db.close()
    return text, {path.name: path.read_bytes() for path in sorted((folder / "tags").iterdir())}


@pytest.fixture
def full(place: Place, at: At) -> Place:
    """A card with enough on it to be killed in the middle of, and a sheet with tags in it."""
    place.photos("Gate/DCIM", at(10, 1), 3, every=timedelta(hours=1), seed=900)
    place.ingest()
    place.tag("Gate", "DCIM/IMG_0002.JPG", "Old Plow")
    place.photos("Seep/DCIM/100", at(10, 5), 60, every=timedelta(minutes=20))
    place.photos("Seep/DCIM/101", at(11, 5), 60, every=timedelta(minutes=45), seed=200)
    place.photos("Gate/DCIM/again", at(10, 5), 20, every=timedelta(minutes=20))
    place.card("Gate/log.csv", b"file,taken\nx.jpg,2024-10-09 10:00\ny.jpg,2024-10-09 11:00\n")
    place.card("Seep/zero.jpg", b"")
    return place


def test_killed_at_random_moments(full: Place, tmp_path: Path) -> None:
    whole = tmp_path / "whole"
    shutil.copytree(full.folder, whole)
    run = Run(whole)
    start = time.perf_counter()
    run.begin()
    run.end()
    seconds = time.perf_counter() - start
    expected = result(whole)
    draw = random.Random(20)
    unfinished = 0
    for number in range(KILLS):
        folder = tmp_path / f"killed {number}"
        shutil.copytree(full.folder, folder)
        run = Run(folder)
        run.begin()
        # Spread over the whole run, each a random moment in its part of it.
        time.sleep(seconds * (number + draw.random()) / KILLS)
        run.process.kill()
        out, _ = run.process.communicate()
        unfinished += out != "done\n"
        tags = (folder / "tags" / "Gate.csv").read_bytes()
        assert b"DCIM/IMG_0002.JPG,2024-10-01 13:00:00,1,Old Plow,,\n" in tags
        type(full).ingest(at_folder(full, folder))
        assert result(folder) == expected
    assert unfinished, "every run was done before it was killed"


def at_folder(place: Place, folder: Path) -> Place:
    """The same kind of place around a folder that is there already."""
    other = object.__new__(type(place))
    other.folder = folder
    return other


POINTS = (
    "deerlog.ingest.store.PhotoLog.put_files",
    "deerlog.ingest.store.PhotoLog.put_csv",
    "deerlog.ingest.run.append_rows",
    "deerlog.ingest.tag_sheets.os.fsync",
    "pathlib.Path.replace",
    "deerlog.ingest.store.PhotoLog.put_outcome",
)


class Killed(BaseException):
    """Stands for the end of the process at one point."""


@pytest.mark.parametrize("point", POINTS)
@pytest.mark.parametrize("times", [1, 2])
def test_ended_at_each_step(
    full: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, point: str, times: int
) -> None:
    monkeypatch.setattr("deerlog.ingest.read_many.CHUNK", SMALL_CHUNK)
    whole = tmp_path / "whole"
    shutil.copytree(full.folder, whole)
    at_folder(full, whole).ingest()
    expected = result(whole)
    calls = [0]

    def end(*args: object, **more: object) -> None:
        calls[0] += 1
        if calls[0] >= times:
            raise Killed
        return real(*args, **more)

    owner, name = point.rsplit(".", 1)
    holder = _find(owner)
    real = getattr(holder, name)
    with monkeypatch.context() as patch:
        patch.setattr(holder, name, end)
        try:
            full.ingest()
        except Killed:
            pass
        else:
            assert times == 2
    full.ingest()
    assert result(full.folder) == expected


def _find(dotted: str) -> object:
    import importlib

    parts = dotted.split(".")
    for cut in range(len(parts), 0, -1):
        try:
            found: object = importlib.import_module(".".join(parts[:cut]))
        except ImportError:
            continue
        for part in parts[cut:]:
            found = getattr(found, part)
        return found
    raise AssertionError(dotted)
