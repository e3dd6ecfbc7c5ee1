"""What several commands share: their options, and a word about days gone by."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from deerlog.cli.group import chosen_property
from deerlog.cli.progress import READING, progress_line

if TYPE_CHECKING:
    from deerlog.study import PropertyStudy

FIRST_YEAR, LAST_YEAR = 1970, 2100
"""Years a day may lie in: no camera is older, and no season so far off."""


def day(ctx: click.Context, param: click.Parameter, value: str | None) -> date | None:
    """Reads ``YYYY-MM-DD``; for a click option's ``callback``."""
    if value is None:
        return None
    try:
        given = date.fromisoformat(value)
    except ValueError:
        raise click.BadParameter(
            f"{value!r} is not a day; write it as YYYY-MM-DD, such as 2026-10-31."
        ) from None
    if not FIRST_YEAR <= given.year <= LAST_YEAR:
        raise click.BadParameter(f"{value} is not between {FIRST_YEAR} and {LAST_YEAR}.")
    return given


as_json = click.option("--json", "json_wanted", is_flag=True, help="Print JSON for a script.")
as_of = click.option(
    "--as-of",
    callback=day,
    metavar="DAY",
    help="Use only what had happened by the end of this day "
    "(default: the last day a camera is known to have run).",
)
weather = click.option(
    "--weather",
    "weather_file",
    metavar="FILE",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="A weather forecast, in the form of weather.csv.",
)


def today() -> date:
    """The day of the person at the keyboard."""
    return date.today()  # noqa: DTZ011


@contextmanager
def opened(
    folder: Path | None, as_of: date | None = None
) -> Iterator[tuple[PropertyStudy, Callable[[str, int, int], None]]]:
    """The study of ``--property`` or of the folder one is in, and a line of progress for the work
    on it."""
    from deerlog.study import open_study

    with progress_line() as progress:
        progress(READING, 0, 0)
        yield open_study(chosen_property(folder), as_of=as_of), progress


OLD_DAYS = 300
"""A record that ended longer ago is read for its own sake, not for the week to come: our choice."""


def behind_today(last_day: date | None, today: date, command: str) -> str | None:
    """What to run instead, where the record ends before yesterday; None where it does not.

    ``command`` has ``{today}`` or ``{tomorrow}`` in it.
    """
    if last_day is None or not 2 <= (today - last_day).days <= OLD_DAYS:
        return None
    instead = command.format(today=today, tomorrow=today + timedelta(days=1))
    return (
        f"The cards end on {last_day}, and this speaks of the days after it. For the days ahead of "
        f"today: `{instead}`"
    )
