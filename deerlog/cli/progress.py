"""One line of progress on a terminal, nothing when piped."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

QUIET_SECONDS = 2.0
"""Work shorter than this shows nothing."""
REDRAW_SECONDS = 0.1
"""Least time between two showings of a count."""
READING = "Reading the photo log and the tag sheets"
"""What every command that opens a study begins with."""
_WIDTH = 60


class _Line:
    """The line and what it last said. A timer shows it when a first long step says nothing more."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._started = time.monotonic()
        self._shown_at: float | None = None
        self._what = ""
        self._text = ""

    def tell(self, what: str, done: int, total: int) -> None:
        text = f"{what}: {done:,} of {total:,}" if total else f"{what} ..."
        with self._lock:
            new_step, self._what, self._text = what != self._what, what, text
            now = time.monotonic()
            if now - self._started < QUIET_SECONDS:
                return
            if new_step or self._shown_at is None or now - self._shown_at >= REDRAW_SECONDS:
                self._draw(now)

    def show(self) -> None:
        with self._lock:
            if self._text and self._shown_at is None:
                self._draw(time.monotonic())

    def clear(self) -> None:
        with self._lock:
            if self._shown_at is not None:
                click.echo("\r" + " " * _WIDTH + "\r", nl=False, err=True)
            self._text = ""

    def _draw(self, now: float) -> None:
        self._shown_at = now
        click.echo("\r" + self._text[:_WIDTH].ljust(_WIDTH), nl=False, err=True)


@contextmanager
def progress_line() -> Iterator[Callable[[str, int, int], None]]:
    """Gives ``progress(what, done, total)``, to be called as often as one likes.

    A step that has nothing to count has a ``total`` of 0.
    """
    if not sys.stderr.isatty():
        yield lambda what, done, total: None
        return
    line = _Line()
    timer = threading.Timer(QUIET_SECONDS, line.show)
    timer.daemon = True
    timer.start()
    try:
        yield line.tell
    finally:
        timer.cancel()
        line.clear()
