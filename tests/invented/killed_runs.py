"""Runs of ingest that are killed, each in a process of its own.

Loading pandas takes longer than the runs themselves. So where a process can be forked without risk
(Linux), one that is warm forks a child for each run; elsewhere each run starts afresh.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import time
from datetime import date
from pathlib import Path
from types import TracebackType

TODAY = date(2024, 12, 1)
CHUNK = 4
"""Photos of one transaction: small, so that few photos make many steps to be killed between."""
FORKS = sys.platform == "linux"


Result = tuple[str, dict[str, bytes]]


def ingest(folder: Path) -> None:
    """What ``deerlog ingest`` does, on a fixed day."""
    from deerlog.ingest.run import ingest_cards
    from deerlog.property import open_property
    from deerlog.report.page.contact_sheet import TaggingPages

    place = open_property(folder)
    ingest_cards(place, today=TODAY, on_to_tag=TaggingPages(place).write)


def result(folder: Path) -> Result:
    """What the photo log holds, and everything below tags/."""
    db = sqlite3.connect(folder / "deerlog.sqlite")
    try:
        text = "\n".join(db.iterdump())
    finally:
        db.close()
    return text, {path.name: path.read_bytes() for path in sorted((folder / "tags").iterdir())}


def copy_of(source: Path, folder: Path) -> Path:
    """A property folder like another, over the same cards, which no run may write to."""
    shutil.copytree(source, folder, ignore=shutil.ignore_patterns("cards"))
    try:
        (folder / "cards").symlink_to(source / "cards", target_is_directory=True)
    except OSError:  # making links needs rights on Windows
        shutil.copytree(source / "cards", folder / "cards")
    return folder


class Runs:
    """Begins runs of ingest, and kills them."""

    def __init__(self) -> None:
        self._server = self._start() if FORKS else None

    def __enter__(self) -> Runs:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._server is not None:
            self._server.communicate()

    def run(self, folder: Path, kill_after_seconds: float | None = None) -> float | None:
        """Ingest a property folder; seconds it took, or None if it was killed before its end."""
        server = self._server or self._start()
        assert server.stdin is not None
        assert server.stdout is not None
        wait = "" if kill_after_seconds is None else str(kill_after_seconds)
        server.stdin.write(f"{wait}\t{folder}\n")
        server.stdin.flush()
        if self._server is None:
            if kill_after_seconds is not None:
                time.sleep(kill_after_seconds)
                server.kill()
            answer, _ = server.communicate()
        else:
            answer = server.stdout.readline()
        return float(answer) if answer.strip() else None

    @staticmethod
    def _start() -> subprocess.Popen[str]:
        server = subprocess.Popen(
            [sys.executable, __file__],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            # No threads beside the one that forks.
            env=os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"},
        )
        assert server.stdout is not None
        assert server.stdout.readline() == "ready\n"
        return server


def _forked(folder: str, wait: str) -> bool:
    """Whether a run in a forked child came to its end."""
    child = os.fork()
    if child == 0:
        code = 1
        try:
            ingest(Path(folder))
            code = 0
        finally:
            os._exit(code)
    until = time.perf_counter() + float(wait or "inf")
    done = status = 0
    while not done and time.perf_counter() < until:
        time.sleep(0.001)
        done, status = os.waitpid(child, os.WNOHANG)
    if not done:
        # The child was not buried yet, so that its number is its own.
        os.kill(child, 9)
        _, status = os.waitpid(child, 0)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        raise RuntimeError("the run itself failed")
    return os.WIFEXITED(status)


def _serve() -> None:
    import deerlog.ingest.run
    import deerlog.property
    import deerlog.report.page.contact_sheet  # noqa: F401
    from deerlog.ingest.cards import photo_file as read_many

    read_many.CHUNK = CHUNK
    print("ready", flush=True)
    for line in sys.stdin:
        wait, folder = line.rstrip("\n").split("\t")
        start = time.perf_counter()
        if not FORKS:
            ingest(Path(folder))
            done = True
        else:
            done = _forked(folder, wait)
        print(time.perf_counter() - start if done else "", flush=True)


if __name__ == "__main__":
    _serve()
