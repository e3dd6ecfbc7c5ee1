"""Killed at any moment, ingest loses nothing, and the next run comes to the same."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from invented.killed_runs import CHUNK, Result, Runs, copy_of, ingest, result

from deerlog.ingest.store.store_file import FILE

KILLS = int(os.environ.get("DEERLOG_TEST_KILLS", "16"))
TYPED = b"DCIM/IMG_0002.JPG,2024-10-01 13:00:00,1,Old Plow,,\n"
N_FILES = 35
"""Pictures, videos and rows of CSVs on the cards of `eventful`."""


def stage(folder: Path, spare: Path) -> str:
    """How far a killed run had come; asked of a copy, since opening a log mends it."""
    shutil.rmtree(spare, ignore_errors=True)
    spare.mkdir()
    for name in (FILE, f"{FILE}-wal"):
        if (folder / name).exists():
            shutil.copyfile(folder / name, spare / name)
    db = sqlite3.connect(spare / FILE)
    try:
        (known,) = db.execute("SELECT count(*) FROM file WHERE kind <> 'csv'").fetchone()
    finally:
        db.close()
    if known < N_FILES:
        return "before the first photo" if known <= 3 else "while reading"
    sheet = folder / "tags" / "Seep.csv"
    return "before the tag sheets" if not sheet.exists() else "after a tag sheet"


def test_killed_at_random_moments(eventful: Path, expected: Result, tmp_path: Path) -> None:
    folder = tmp_path / "killed"
    draw = random.Random(20)
    stages: Counter[str] = Counter()
    finished = 0
    with Runs() as runs:
        times = []
        for _ in range(2):
            copy_of(eventful, folder)
            times.append(runs.run(folder))
            assert result(folder) == expected
            shutil.rmtree(folder)
        seconds = min(time for time in times if time is not None)
        while stages.total() < KILLS:
            copy_of(eventful, folder)
            # Any moment of the whole run alike, the writing of tag sheets and pages among them:
            # one in each of as many parts of it.
            part = (stages.total() + draw.random()) / KILLS
            done_in = runs.run(folder, seconds * part)
            if done_in is None:
                stages[stage(folder, tmp_path / "spare")] += 1
            else:
                seconds = min(seconds, done_in)  # the machine has become less busy
                finished += 1
                assert finished <= KILLS, "most runs were done before they were killed"
            assert TYPED in (folder / "tags" / "Gate.csv").read_bytes()
            ingest(folder)
            assert result(folder) == expected
            shutil.rmtree(folder)
    told = ", ".join(f"{number} {name}" for name, number in stages.most_common())
    print(f"\n{stages.total()} runs killed ({told}); {finished} were done before")
    assert len(stages) >= 3


WITH_READERS = """
import sys
from datetime import date
from pathlib import Path
from deerlog.ingest.cards import photo_file as read_many
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property

def told(what, done, total):
    if done:
        print("reading", flush=True)

if __name__ == "__main__":
    read_many.CHUNK = 1
    place = open_property(Path(sys.argv[1]))
    ingest_cards(place, today=date(2024, 12, 1), processes=2, progress=told)
"""


def test_killed_while_other_processes_read(
    eventful: Path, expected: Result, tmp_path: Path
) -> None:
    folder, script = tmp_path / "killed", tmp_path / "run.py"
    copy_of(eventful, folder)
    script.write_text(WITH_READERS, encoding="utf-8")
    run = subprocess.Popen(
        [sys.executable, script, folder], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    )
    assert run.stdout is not None
    assert run.stdout.readline().strip() == b"reading"
    run.kill()
    # Its readers hold the same output: this ends when the last of them has.
    run.communicate(timeout=60)
    ingest(folder)
    assert result(folder) == expected


WITH_SLOW_STORE = """
import signal, sys, time
from pathlib import Path
from deerlog.ingest.cards import photo_file as read_many

if __name__ == "__main__":
    # A shell has what it starts in the background leave Ctrl-C alone.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    read_many.CHUNK = 1
    tasks = [(str(path), "Seep", path.name, 1, 0) for path in [Path(__file__)] * 400]
    from contextlib import closing
    with closing(read_many.read_files(tasks, processes=3)) as chunks:
        for n, chunk in enumerate(chunks):
            print("reading", flush=True)
            time.sleep(0.05)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="a group of processes is told otherwise there")
def test_ctrl_c_while_other_processes_read(tmp_path: Path) -> None:
    """Told to all processes at once, as a terminal does, while they read."""
    script = tmp_path / "run.py"
    script.write_text(WITH_SLOW_STORE, encoding="utf-8")
    for _ in range(3):
        run = subprocess.Popen(
            [sys.executable, script],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            start_new_session=True,
        )
        assert run.stdout is not None
        run.stdout.readline()
        os.killpg(run.pid, signal.SIGINT)
        _, told = run.communicate(timeout=30)
        assert told.count(b"Traceback") == 1 and b"KeyboardInterrupt" in told, told.decode()
        assert run.returncode == -signal.SIGINT


# Where a run is ended, at which call of it.
POINTS = (
    ("deerlog.ingest.store.store.PhotoLog.put_files", 1),
    ("deerlog.ingest.store.store.PhotoLog.put_files", 3),
    ("deerlog.ingest.store.store.PhotoLog.put_csv", 1),
    ("deerlog.ingest.run.append_rows", 1),
    ("deerlog.property.whole_file.os.fsync", 1),
    ("deerlog.property.whole_file.os.fsync", 2),
    ("pathlib.Path.replace", 1),
    ("pathlib.Path.replace", 2),
    ("deerlog.report.page.contact_sheet.write_whole", 1),
    ("deerlog.ingest.store.store.PhotoLog.put_outcome", 1),
)


class Killed(BaseException):
    """Stands for the end of the process at one point."""


@pytest.mark.parametrize(("point", "times"), POINTS)
def test_ended_at_each_step(
    eventful: Path,
    expected: Result,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    point: str,
    times: int,
) -> None:
    monkeypatch.setattr("deerlog.ingest.cards.photo_file.CHUNK", CHUNK)
    folder = tmp_path / "ended"
    copy_of(eventful, folder)
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
        with pytest.raises(Killed):
            ingest(folder)
    ingest(folder)
    assert result(folder) == expected


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
