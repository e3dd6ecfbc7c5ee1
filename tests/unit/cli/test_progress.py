"""The line of progress: on a terminal only, only for long work, gone when done."""

from __future__ import annotations

import io
import sys
import time

import pytest

from deerlog.cli import progress
from deerlog.cli.progress import progress_line


class Screen(io.StringIO):
    """Standard error as a terminal or a pipe."""

    def __init__(self, terminal: bool) -> None:
        super().__init__()
        self._terminal = terminal

    def isatty(self) -> bool:
        return self._terminal


def look_at(monkeypatch: pytest.MonkeyPatch, *, terminal: bool = True) -> Screen:
    """Put a screen in place; not as a fixture, since pytest has its own after those."""
    shown = Screen(terminal)
    monkeypatch.setattr(sys, "stderr", shown)
    return shown


def test_short_work_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = look_at(monkeypatch)
    with progress_line() as tell:
        tell("Reading photos", 1, 3)
    assert screen.getvalue() == ""


def test_a_pipe_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = look_at(monkeypatch, terminal=False)
    monkeypatch.setattr(progress, "QUIET_SECONDS", 0.0)
    with progress_line() as tell:
        tell("Reading photos", 1, 3)
    assert shown.getvalue() == ""


def test_long_work_counts_and_the_line_is_cleared(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = look_at(monkeypatch)
    monkeypatch.setattr(progress, "QUIET_SECONDS", 0.0)
    monkeypatch.setattr(progress, "REDRAW_SECONDS", 0.0)
    with progress_line() as tell:
        tell("Reading photos", 1_200, 3_000)
        tell("Drawing", 0, 0)
    text = screen.getvalue()
    assert "\rReading photos: 1,200 of 3,000" in text
    assert "\rDrawing ..." in text
    assert text.endswith("\r" + " " * 60 + "\r")
    assert "\n" not in text


def test_one_long_step_shows_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = look_at(monkeypatch)
    monkeypatch.setattr(progress, "QUIET_SECONDS", 0.05)
    with progress_line() as tell:
        tell("Working out the chances", 0, 0)
        assert screen.getvalue() == ""
        deadline = time.monotonic() + 5
        while not screen.getvalue() and time.monotonic() < deadline:
            time.sleep(0.01)
    assert screen.getvalue().startswith("\rWorking out the chances ...")


def test_the_line_is_cleared_after_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = look_at(monkeypatch)
    monkeypatch.setattr(progress, "QUIET_SECONDS", 0.0)
    with pytest.raises(ValueError, match="lost"), progress_line() as tell:
        tell("Reading", 1, 2)
        raise ValueError("lost")
    assert screen.getvalue().endswith("\r")
