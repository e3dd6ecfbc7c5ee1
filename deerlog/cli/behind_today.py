"""A word to whoever reads a plan of days that have gone by since the last card."""

from __future__ import annotations

from datetime import date

OLD_DAYS = 300
"""A record that ended longer ago is read for its own sake, not for the week to come: our choice."""


def behind_today(last_day: date | None, today: date, command: str) -> str | None:
    """What to run instead, where the record ends before yesterday; None where it does not.

    Parameters
    ----------
    last_day
        The last day known.
    today
        The day of the person at the keyboard.
    command
        What to run, with ``{today}`` or ``{tomorrow}`` in it.
    """
    if last_day is None or not 2 <= (today - last_day).days <= OLD_DAYS:
        return None
    tomorrow = date.fromordinal(today.toordinal() + 1)
    instead = command.format(today=today, tomorrow=tomorrow)
    return (
        f"The cards end on {last_day}, and this speaks of the days after it. For the days ahead of "
        f"today: `{instead}`"
    )
