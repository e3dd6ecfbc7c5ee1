"""What the ``clock`` column of cameras.csv means."""

from __future__ import annotations

import re

from deerlog.property.cell_values import CellError

_FIXED = re.compile(r"(?:utc|gmt)(?:([+-])([0-9]{1,2})(?::?([0-9]{2}))?)?")


def parse_clock(text: str) -> str:
    """Read ``local`` or a fixed offset; returns ``local``, ``UTC``, ``UTC-5`` or ``UTC+5:30``.

    Raises
    ------
    CellError
        Anything else, or an offset no place on earth has.
    """
    word = "".join(text.split()).casefold().replace("\u2212", "-").replace("\u2013", "-")
    if word == "local":
        return "local"
    match = _FIXED.fullmatch(word)
    if not match:
        raise CellError(
            f"{text!r} is not a clock.",
            how="Leave it blank or write local if it changes to daylight-saving time, by itself or "
            "by hand; or, if it never changes, the offset it was set by: set in summer time in "
            "Central that is UTC-5, in winter UTC-6.",
        )
    if not match[1]:
        return "UTC"
    hours, minutes = int(match[2]), int(match[3] or 0)
    offset = (hours * 60 + minutes) * (-1 if match[1] == "-" else 1)
    if minutes % 15 or minutes > 45 or not -12 * 60 <= offset <= 14 * 60:
        raise CellError(
            f"{text!r} is an offset no place has.", how="Offsets run from UTC-12 to UTC+14."
        )
    if offset == 0:
        return "UTC"
    return f"UTC{match[1]}{hours}" + (f":{minutes:02d}" if minutes else "")


def clock_offset_minutes(clock: str) -> int | None:
    """Minutes east of UTC that a camera's clock keeps; None for ``local``.

    Parameters
    ----------
    clock
        As in `Property.placements`.
    """
    match = _FIXED.fullmatch(clock.casefold())
    if not match:
        return None
    if not match[1]:
        return 0
    minutes = int(match[2]) * 60 + int(match[3] or 0)
    return -minutes if match[1] == "-" else minutes
