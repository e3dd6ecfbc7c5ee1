"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])


def day(ctx: click.Context, param: click.Parameter, value: str | None) -> date | None:
    """Reads ``YYYY-MM-DD``; for a click option's ``callback``."""
    if value is None:
        return None
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise click.BadParameter(
            f"{value!r} is not a day; write it as YYYY-MM-DD, such as 2026-10-31."
        ) from None


def as_json(command: Command) -> Command:
    """``--json``: figures for a script."""
    return click.option("--json", "json_wanted", is_flag=True, help="Print JSON for a script.")(
        command
    )


def as_of(command: Command) -> Command:
    """``--as-of DAY``."""
    return click.option(
        "--as-of",
        callback=day,
        metavar="DAY",
        help="Use only what had happened by the end of this day "
        "(default: the last day a camera is known to have run).",
    )(command)
