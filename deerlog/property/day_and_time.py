"""A day or a local time in a cell, also as spreadsheet programs rewrite it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone

from deerlog.property.cell_values import CellError

FIRST_YEAR, LAST_YEAR = 1970, 2100
"""Years taken seriously (our choice; a camera's clock that lost power may show 1970 or 2000)."""

DATE_ORDERS = ("month first", "day first")
"""How ``03/04/2025`` can be meant."""

_MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_WEEKDAY = r"(?:(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?\.?,? )?"

_ISO = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})(?:[ T]([0-9]{2}):([0-9]{2})(?::([0-9]{2}))?)?")
_CLOCK = re.compile(
    r"(?:^|[\sT,]+)(?P<hour>[0-9]{1,2}):(?P<minute>[0-9]{2})"
    r"(?::(?P<second>[0-9]{2})(?:[.,](?P<part>[0-9]{1,9}))?)?"
    r"(?: ?(?P<half>[ap])\.? ?m\.?)?"
    r"(?: ?(?P<zone>z|utc|gmt|[+-][0-9]{2}:?[0-9]{2}))?$",
    re.IGNORECASE,
)
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.:])([0-9]{1,2})\2([0-9]{1,2})")
_YEAR_MAY_BE_LAST = re.compile(r"\s*[0-9]{1,2}[-/.][0-9]")
_YEAR_LAST = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{2}|[0-9]{4})")
_DAY_MONTH_NAME = re.compile(
    _WEEKDAY + r"([0-9]{1,2})(?:st|nd|rd|th)?[-/. ]{1,2}([a-z]{3,9})\.?[-/, ]{1,2}"
    r"([0-9]{4}|[0-9]{2})"
)
_MONTH_NAME_DAY = re.compile(
    _WEEKDAY + r"([a-z]{3,9})\.?[-/ ]([0-9]{1,2})(?:st|nd|rd|th)?(?:, ?|[-/ ])([0-9]{4})"
)
_YEAR_MONTH_NAME = re.compile(r"([0-9]{4})[-/ ]([a-z]{3,9})[-/ ]([0-9]{1,2})")
_NO_YEAR = re.compile(r"[0-9]{1,2}[-/. ][a-z]{3,9}\.?|[a-z]{3,9}\.?[- ][0-9]{1,2}")
_SERIAL = re.compile(r"[0-9]{5}(?:[.,][0-9]+)?")

_WRITE_DAY = "Write it as YYYY-MM-DD, such as 2025-04-13."
_WRITE_TIME = "Write it as YYYY-MM-DD HH:MM, such as 2025-04-13 19:05."


@dataclass(frozen=True, kw_only=True)
class Moment:
    """A day, or a time on a day, as a person wrote it.

    Naive local time, midnight for a bare day; aware only where a zone was written and allowed.
    """

    time: datetime
    whole_day: bool

    @property
    def ends(self) -> datetime:
        """First instant after, where this closes an interval: a bare day is included wholly."""
        return self.time + timedelta(days=1) if self.whole_day else self.time


def parse_day(text: str, *, date_order: str = "") -> date:
    """Read a day as `parse_moment` does. A time of midnight beside it, as spreadsheets add, is
    passed over; another is refused."""
    moment = parse_moment(text, date_order=date_order)
    if moment.time.time() != datetime.min.time():
        raise CellError(f"{text!r} holds a time; a day is wanted here.", how=_WRITE_DAY)
    return moment.time.date()


def parse_time(text: str, *, date_order: str = "") -> datetime:
    """Read a naive local time as `parse_moment` does; a bare day is refused."""
    moment = parse_moment(text, date_order=date_order)
    if moment.whole_day:
        raise CellError(f"{text!r} has no time of day.", how=_WRITE_TIME)
    return moment.time


def parse_moment(text: str, *, zone_allowed: bool = False, date_order: str = "") -> Moment:
    """Read a day or a time that can be read in one way only.

    A zone may follow the time (``Z``, ``-06:00``) where that is allowed; the result is then aware.
    What could be read either way (``03/04/2025``) is read in ``date_order``, one of `DATE_ORDERS`,
    or refused where that is ``""`` for not known.
    """
    moments = _moments(text, zone_allowed)
    if date_order in moments:
        return moments[date_order]
    different = {moment.time: moment for moment in moments.values()}
    if len(different) == 1:
        return next(iter(different.values()))
    each = " or ".join(str(time.date()) for time in sorted(different))
    raise CellError(
        f"{text!r} can be read in two ways.",
        how=f"Write {each}, whichever it is, and format the column as text or as year-month-day, "
        "so that the spreadsheet program keeps it; or set date_order in property.toml.",
    )


def possible_moments(text: str) -> tuple[Moment, ...]:
    """Every day or time, each once, that a cell can mean; none where it cannot be read."""
    try:
        moments = _moments(text, zone_allowed=False)
    except CellError:
        return ()
    return tuple({moment.time: moment for moment in moments.values()}.values())


def fitting_order(texts: Iterable[str], fits: Callable[[date], bool]) -> tuple[str, str]:
    """The one order of `DATE_ORDERS` in which all days of a column can be true, and a day as
    written that cannot be in the other; ``("", "")`` where both or neither will do."""
    misfit: dict[str, str] = {}
    for text in texts:
        try:
            moments = _moments(text, zone_allowed=False)
        except CellError:
            continue
        for order, moment in moments.items():
            if order in DATE_ORDERS and not fits(moment.time.date()):
                misfit.setdefault(order, text)
    left = [order for order in DATE_ORDERS if order not in misfit]
    return (left[0], next(iter(misfit.values()))) if len(left) == 1 else ("", "")


def settled_order(texts: Iterable[str]) -> str:
    """The order of `DATE_ORDERS` that a column is written in, ``""`` where it does not tell.

    A spreadsheet program writes all days of a column in one order, so those that can be read in
    one way only (``13/...``) settle it for the others. Where these disagree, nothing is settled.
    """
    found: set[str] = set()
    for text in texts:
        if not _YEAR_MAY_BE_LAST.match(text):
            continue
        try:
            moments = _moments(text, zone_allowed=True)
        except CellError:
            continue
        if len(moments) == 1:
            found.update(moments.keys() & set(DATE_ORDERS))
    return found.pop() if len(found) == 1 else ""


def _moments(text: str, zone_allowed: bool) -> dict[str, Moment]:
    """What a cell can mean, by the order that it would be written in (``""``: in any)."""
    match = _ISO.fullmatch(text)
    if match:
        year, month, day, hour, minute, second = match.groups()
        clock = (int(hour), int(minute), int(second or 0)) if hour else (0, 0, 0)
        time = _moment(text, (int(year), int(month), int(day)), clock)
        return {"": Moment(time=time, whole_day=hour is None)}
    plain = " ".join(unicodedata.normalize("NFKC", text).split()).casefold()
    found = _CLOCK.search(plain)
    if not found:
        return {
            order: Moment(time=_moment(text, ymd), whole_day=True)
            for order, ymd in _read_days(text, plain).items()
        }
    if found["zone"] and not zone_allowed:
        raise CellError(
            f"{text!r} carries a time zone; times here are local.",
            how="Write the local time without a zone. " + _WRITE_TIME,
        )
    days = _read_days(text, plain[: found.start()].rstrip(" ,"))
    hour_shown = int(found["hour"])
    if found["half"]:
        if not 1 <= hour_shown <= 12:
            what = f"{text!r}: no clock shows {hour_shown} with AM or PM."
            raise CellError(what, how=_WRITE_TIME)
        hour_shown = hour_shown % 12 + (12 if found["half"] == "p" else 0)
    clock = (hour_shown, int(found["minute"]), int(found["second"] or 0))
    moments = {}
    for order, ymd in days.items():
        time = _moment(text, ymd, clock)
        if found["part"]:
            time = time.replace(microsecond=int(found["part"][:6].ljust(6, "0")))
        if found["zone"]:
            time = time.replace(tzinfo=_zone(text, found["zone"]))
        moments[order] = Moment(time=time, whole_day=False)
    return moments


def _read_days(text: str, plain: str) -> dict[str, tuple[int, int, int]]:
    """Year, month, day of the part of a cell that is a day, by the order it is written in."""
    match = _YEAR_FIRST.fullmatch(plain)
    if match:
        return {"": (int(match[1]), int(match[3]), int(match[4]))}
    match = _YEAR_LAST.fullmatch(plain)
    if match:
        return _number_days(text, match[1], match[3], match[4])
    for pattern, order in (
        (_DAY_MONTH_NAME, (3, 2, 1)),
        (_MONTH_NAME_DAY, (3, 1, 2)),
        (_YEAR_MONTH_NAME, (1, 2, 3)),
    ):
        match = pattern.fullmatch(plain)
        if match:
            year, month, day = (match[i] for i in order)
            return {"": (_full_year(text, year), _month(text, month), int(day))}
    if _NO_YEAR.fullmatch(plain):
        raise CellError(f"{text!r} has no year.", how=_WRITE_DAY)
    if _SERIAL.fullmatch(plain):
        guess = date(1899, 12, 30) + timedelta(days=int(plain[:5]))
        raise CellError(
            f"{text!r} is a spreadsheet's day number (perhaps {guess}), not a day.",
            how="Format the column as a date there and save again. " + _WRITE_DAY,
        )
    raise CellError(f"{text!r} is not a day or time.", how=_WRITE_TIME)


def _number_days(text: str, first: str, second: str, third: str) -> dict[str, tuple[int, int, int]]:
    """The days that ``a/b/c`` can mean, by the order it was written in."""
    a, b = int(first), int(second)
    year = _full_year(text, third)
    readings = {"month first": _valid(year, a, b), "day first": _valid(year, b, a)}
    if len(third) == 2:
        # With a short year the first figure may be the year as well.
        readings["year first"] = _valid(2000 + a, b, int(third))
    days = {order: (day.year, day.month, day.day) for order, day in readings.items() if day}
    if not days:
        raise CellError(f"{text!r} is not a day of the calendar.", how=_WRITE_DAY)
    return days


def _valid(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _full_year(text: str, year: str) -> int:
    if len(year) == 4:
        return int(year)
    if int(year) >= 50:
        raise CellError(f"{text!r}: the year is not clear.", how=_WRITE_DAY)
    return 2000 + int(year)


def _month(text: str, word: str) -> int:
    for number, name in enumerate(_MONTHS, start=1):
        if word == name or word == name[:3] or (word == "sept" and number == 9):
            return number
    raise CellError(f"{text!r}: {word!r} is not a month.", how=_WRITE_DAY)


def _moment(
    text: str, ymd: tuple[int, int, int], clock: tuple[int, int, int] = (0, 0, 0)
) -> datetime:
    try:
        time = datetime(*ymd, *clock)  # noqa: DTZ001  local wall-clock time, zone from settings
    except ValueError:
        raise CellError(f"{text!r} is not a day or time that there is.", how=_WRITE_TIME) from None
    if not FIRST_YEAR <= time.year <= LAST_YEAR:
        what = f"{text!r}: the year is outside {FIRST_YEAR} to {LAST_YEAR}."
        raise CellError(what, how=_WRITE_TIME)
    return time


def _zone(text: str, zone: str) -> timezone:
    if zone in ("z", "utc", "gmt"):
        return timezone.utc  # noqa: UP017
    sign = -1 if zone[0] == "-" else 1
    digits = zone[1:].replace(":", "")
    try:
        return timezone(sign * timedelta(hours=int(digits[:2]), minutes=int(digits[2:])))
    except ValueError:
        raise CellError(f"{text!r}: {zone} is not a time zone.", how=_WRITE_TIME) from None
