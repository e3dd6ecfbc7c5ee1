"""One line of progress on a terminal, nothing when piped."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

QUIET_SECONDS = 2.0
"""Work shorter than this shows nothing."""


@contextmanager
def progress_line() -> Iterator[Callable[[str, int, int], None]]:
    """Gives ``progress(what, done, total)``, to be called as often as one likes."""
    started = time.monotonic()
    shown = False
    last = 0.0

    def progress(what: str, done: int, total: int) -> None:
        nonlocal shown, last
        now = time.monotonic()
        if not sys.stderr.isatty() or now - started < QUIET_SECONDS or now - last < 0.1:
            return
        shown, last = True, now
        click.echo(f"\r{what}: {done:,} of {total:,}".ljust(60), nl=False, err=True)

    try:
        yield progress
    finally:
        if shown:
            click.echo("\r" + " " * 60 + "\r", nl=False, err=True)
