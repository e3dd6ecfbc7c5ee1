"""property.toml: where the property lies, and the choices that hold for all of it."""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import MISSING, dataclass, field, fields
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from deerlog.errors import Problem, PropertyError
from deerlog.property.day_and_time import DATE_ORDERS
from deerlog.property.table_reader import bytes_of, decode_text, shortened
from deerlog.timekeeping.seasons import WEEKDAYS, SeasonCalendar

# What people call their time, where no spelling comes close to the IANA name.
_NICKNAMES = {
    "eastern": "America/New_York",
    "central": "America/Chicago",
    "mountain": "America/Denver",
    "pacific": "America/Los_Angeles",
}
_ABBREVIATIONS = {
    f"{nickname[0]}{ending}": zone
    for nickname, zone in _NICKNAMES.items()
    for ending in ("t", "dt", "st")
}


def zone_exists(name: str) -> bool:
    """Whether there is such a time zone."""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


def nearest_zone(name: str) -> str | None:
    """The zone a name that does not exist is probably meant to be, or None."""
    word = name.casefold().strip()
    if word in _ABBREVIATIONS:
        return _ABBREVIATIONS[word]
    for nickname, zone in _NICKNAMES.items():
        if nickname in word:
            return zone
    names = {zone.casefold(): zone for zone in sorted(available_timezones())}
    place = word.replace(" ", "_")
    if near := difflib.get_close_matches(place, names, n=1, cutoff=0.7):
        return names[near[0]]
    cities = {folded.rpartition("/")[2]: zone for folded, zone in names.items()}
    near = difflib.get_close_matches(place.rpartition("/")[2], cities, n=1, cutoff=0.7)
    return cities[near[0]] if near else None


def hours_from_sun(zone: str, longitude: float) -> float:
    """Hours the sun runs ahead of a zone's winter clock at a longitude, from -12 to below 12."""
    offset = datetime(2025, 1, 15, tzinfo=ZoneInfo(zone)).utcoffset()
    clock = offset.total_seconds() / 3600 if offset is not None else 0.0
    return (longitude / 15 - clock + 12) % 24 - 12


class _Faults(list[str]):
    """What is wrong with the keys of the file and their values."""

    def tell(self, key: str, value: object, wanted: str, advice: str = "") -> None:
        """A value that is missing (None) or not what is wanted."""
        what = f"= {_shown(value)} cannot be used: it" if value is not None else "is missing; it"
        advice = "" if value is None else advice
        self.append(f"{key} {what} must be {wanted}.{advice}")

    def tell_unknown(self, table: Mapping[str, Any], keys: Sequence[str], prefix: str) -> None:
        """The keys of a table that mean nothing there."""
        for key in [key for key in table if key not in keys]:
            if prefix and key in _readers(Settings):
                advice = f"move it above the first [[{prefix.partition('[')[0]}]] line."
            elif near := difflib.get_close_matches(key.casefold(), keys, n=1, cutoff=0.6):
                advice = f"did you mean {prefix}{near[0]}?"
            else:
                advice = f"remove it. The keys are: {', '.join(keys)}."
            shown = "a table" if isinstance(table[key], dict | list) else _shown(table[key])
            self.append(f"{prefix}{key} = {shown}: there is no such setting; {advice}")


def _shown(value: object) -> str:
    """A value about as it stands in the file, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    return shortened(f'"{value}"' if isinstance(value, str) else str(value), 60)


# Each of the next takes a key and its value (None where it is missing), and gives what the value
# means, or None where it cannot be used, which is told.


def _text(key: str, value: object, faults: _Faults) -> str | None:
    if isinstance(value, str) and value.strip():
        return value
    faults.tell(key, value, "text in quotation marks")
    return None


def _words(key: str, value: object, faults: _Faults) -> tuple[str, ...] | None:
    if isinstance(value, list) and all(isinstance(each, str) and each for each in value):
        return tuple(value)
    faults.tell(key, value, 'a list of words, such as ["nix", "the lot"]')
    return None


def _number(
    key: str, value: object, faults: _Faults, low: float = -math.inf, high: float = math.inf
) -> float | None:
    if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high:
        with suppress(OverflowError):
            if math.isfinite(number := float(value)):
                return number
    bounds = f" from {low:g} to {high:g}" if math.isfinite(low) else ""
    faults.tell(key, value, f"a number{bounds}, without quotation marks")
    return None


def _whole(key: str, value: object, faults: _Faults, low: int, high: int) -> int | None:
    if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
        return value
    faults.tell(key, value, f"a whole number from {low} to {high}")
    return None


def _choice(key: str, value: object, faults: _Faults, choices: Sequence[str]) -> str | None:
    word = value.strip().casefold() if isinstance(value, str) else None
    for choice in choices:
        if word == choice.casefold():
            return choice
    faults.tell(key, value, "one of " + ", ".join(f'"{choice}"' for choice in choices))
    return None


# A day that every year has: 29 February would be no date in most.
_MONTH_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def _month_day(key: str, value: object, faults: _Faults) -> tuple[int, int] | None:
    parts = value.strip().split("-") if isinstance(value, str) else []
    if len(parts) == 2 and all(p.isascii() and p.isdigit() and len(p) <= 2 for p in parts):
        month, day = int(parts[0]), int(parts[1])
        if 1 <= month <= 12 and 1 <= day <= _MONTH_LENGTHS[month - 1]:
            return month, day
    wanted = '"MM-DD", month and day in quotation marks, a day that every year has'
    faults.tell(key, value, wanted)
    return None


def _zone(key: str, value: object, faults: _Faults) -> str | None:
    if isinstance(value, str) and zone_exists(value):
        return value
    near = nearest_zone(value) if isinstance(value, str) else None
    advice = f' Did you mean "{near}"?' if near else ""
    faults.tell(key, value, 'an IANA name such as "America/Chicago"', advice)
    return None


def _rule(key: str, value: object, faults: _Faults) -> float | bool | None:
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        return _number(key, value, faults)
    faults.tell(key, value, "true, false or a number, without quotation marks")
    return None


def _named(
    key: str, value: object, faults: _Faults, each: Callable[..., Any], holds: str
) -> dict[str, Any] | None:
    if isinstance(value, dict):
        return {name: each(f"{key}.{name}", held, faults) for name, held in value.items()}
    faults.tell(key, value, f"a [{key}] table of {holds}")
    return None


def _seasons(key: str, value: object, faults: _Faults) -> tuple[HuntingSeason, ...] | None:
    if not isinstance(value, list) or not all(isinstance(table, dict) for table in value):
        faults.tell(key, value, f"a [[{key}]] table for each season")
        return None
    tables = enumerate(value, start=1)
    read = [_values(HuntingSeason, table, faults, f"{key}[{n}].") for n, table in tables]
    return tuple(HuntingSeason(**season) for season in read if None not in season.values())


def _setting(read: Callable[..., Any], about: str | None = None, **default: Any) -> Any:
    """A key: how its value is read, and the comment above it in a new file.

    Without one it is not written there; a blank one keeps it below the key before it.
    """
    return field(metadata={"read": read, "about": about}, **default)


def _readers(kind: type[Any]) -> dict[str, Callable[..., Any]]:
    return {each.name: each.metadata["read"] for each in fields(kind)}


def _values(
    kind: type[Any], table: Mapping[str, Any], faults: _Faults, prefix: str = ""
) -> dict[str, Any]:
    """The values of a table's keys, those left out that have a default."""
    readers = _readers(kind)
    faults.tell_unknown(table, list(readers), prefix)
    needed = {f.name for f in fields(kind) if f.default is f.default_factory is MISSING}
    return {
        key: read(f"{prefix}{key}", table.get(key), faults)
        for key, read in readers.items()
        if key in table or key in needed
    }


FILE = "property.toml"

BLANK_MEANS = ("auto", "not looked at", "nobody named")
RUT_PEAK_HINT = (
    "Your state agency publishes conception dates; or take the local peak of fawning less about "
    "200 days"
)
"""Where to find the rut peak. Gestation of about 200 days: Pennsylvania Game Commission."""

SOUTH_START, SOUTH_RUT_PEAK = (12, 1), (5, 12)
"""``season_start`` and ``rut_peak`` as their defaults, half a year on: south of the equator."""

ZONE_SLACK_HOURS = 3.25
"""The sun and the legal clock may differ by this much (our choice; the widest real gap is 3.1
hours, in the far west of China)."""


@dataclass(frozen=True, kw_only=True)
class HuntingSeason:
    """A hunting season that comes every year, named as the user calls it.

    ``opens`` and ``closes`` are (month, day), both included; a season may run across the turn of
    the year.
    """

    name: str = _setting(_text)
    opens: tuple[int, int] = _setting(_month_day)
    closes: tuple[int, int] = _setting(_month_day)

    def days(self, year: int) -> tuple[date, date]:
        """First and last day of the season that opens in a year, both included."""
        across = self.closes < self.opens
        return date(year, *self.opens), date(year + across, *self.closes)

    def is_open(self, day: date) -> bool:
        """Whether a day is in it."""
        here = (day.month, day.day)
        if self.opens <= self.closes:
            return self.opens <= here <= self.closes
        return here >= self.opens or here <= self.closes


@dataclass(frozen=True, kw_only=True)
class Settings:
    """What property.toml says, with defaults filled in; what each key means stands beside it.

    Days of the year are (month, day). ``no_names`` are words that people write where a buck's name
    should stand and that are none, beside those that are known already. ``presence`` holds rates
    that override the presence model's own, and ``plan`` rules that override the plan's own, by
    name; the analysis checks the names.
    """

    name: str = _setting(
        _text,
        "The property. Text and dates stand in quotation marks, numbers do not; "
        '"#" begins a comment.\n',
    )
    latitude: float = _setting(
        partial(_number, low=-90, high=90),
        "Degrees with decimals, about the middle of the property. West and south are negative.",
    )
    longitude: float = _setting(partial(_number, low=-180, high=180), "")
    timezone: str = _setting(
        _zone,
        "IANA name: America/New_York, America/Chicago, America/Denver, America/Los_Angeles, ...",
    )
    units: str = _setting(
        partial(_choice, choices=("imperial", "metric")),
        'How figures are shown: "imperial" or "metric".',
        default="imperial",
    )
    season_start: tuple[int, int] = _setting(
        _month_day,
        'The deer year begins on this day ("MM-DD") and is named for the calendar year it begins '
        "in.",
        default=(6, 1),
    )
    rut_peak: tuple[int, int] = _setting(
        _month_day,
        'The local peak of breeding, "MM-DD". Pre-rut, rut and late season hang on it, and places '
        f"differ by months. {RUT_PEAK_HINT} (most fawns born about 1 June: bred about 13 "
        "November).",
        default=(11, 12),
    )
    light_before_sunrise_minutes: int = _setting(
        partial(_whole, low=0, high=120),
        "Shooting light: minutes before sunrise and after sunset. Your regulations rule; some "
        "places end at sunset: 0.",
        default=30,
    )
    light_after_sunset_minutes: int = _setting(partial(_whole, low=0, high=120), "", default=30)
    visit_gap_minutes: int = _setting(
        partial(_whole, low=1, high=1440),
        "A gap between photos of more minutes than this starts a new visit.",
        default=30,
    )
    week_starts: str = _setting(
        partial(_choice, choices=WEEKDAYS), "Mon, Tue, Wed, Thu, Fri, Sat or Sun.", default="Mon"
    )
    watched_share: float = _setting(
        partial(_number, low=0.01, high=1),
        "Share of a week's camera-days that must have run for the week to count as watched, above "
        "0 to 1.",
        default=0.25,
    )
    blank_means: str = _setting(
        partial(_choice, choices=BLANK_MEANS),
        'What a blank cell of a tag sheet says: "not looked at", "nobody named", or "auto": nobody '
        'named where hardly any visit that was looked at is marked "-".',
        default="auto",
    )
    date_order: str = _setting(
        partial(_choice, choices=("", *DATE_ORDERS)),
        'For tables saved by a spreadsheet program: whether 03/04/2026 is "month first" (4 March) '
        'or "day first" (3 April). Left blank, such a day is refused unless others of its column '
        "tell.",
        default="",
    )
    no_names: tuple[str, ...] = _setting(_words, default=())
    hunting: tuple[HuntingSeason, ...] = _setting(
        _seasons,
        "One table for each hunting season, every year; one may run across the turn of the year.",
        default=(),
    )
    presence: Mapping[str, float] = _setting(
        partial(_named, each=_number, holds="names and numbers"), default_factory=dict
    )
    plan: Mapping[str, float | bool] = _setting(
        partial(_named, each=_rule, holds="names with true, false or a number"),
        "Rules of the plan; what is not set stays as here.\n"
        "[plan]\n"
        "mornings_at_food = false   # no morning sits where deer are feeding\n"
        "wind = true                # a stand only on the winds of stands.csv (needs a forecast)\n"
        "rest = true                # a stand rests after a sit, rest_days of stands.csv\n"
        "season_dates = true        # only on days of a [[hunting]] table",
        default_factory=dict,
    )

    @property
    def home(self) -> tuple[float, float]:
        """Latitude and longitude of the property, in degrees."""
        return self.latitude, self.longitude

    @property
    def calendar(self) -> SeasonCalendar:
        """The seasons and phases of this property."""
        return SeasonCalendar(
            season_start=self.season_start,
            rut_peak=self.rut_peak,
            openings=tuple(season.opens for season in self.hunting),
            opener_days=int(self.plan.get("opener_days", SeasonCalendar.opener_days)),
        )


def read_settings(path: Path) -> tuple[Settings, list[Problem]]:
    """Read property.toml.

    Raises `PropertyError` where it is no TOML, or for all keys that are unknown or missing and all
    values that are impossible together.
    """
    try:
        raw = bytes_of(path, FILE)
    except FileNotFoundError as error:
        raise PropertyError(
            f"there is no {FILE} in {path.parent}.",
            how="Start a property folder there with `deerlog new`, or name the right folder.",
        ) from error
    text = decode_text(raw, where=FILE, instead="Save it as plain text in UTF-8.").text
    return settings_from_text(text, folder_name=path.resolve().parent.name)


def settings_from_text(text: str, *, folder_name: str) -> tuple[Settings, list[Problem]]:
    """Read the text of a property.toml, which may leave out the name; see `read_settings`."""
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        # ValueError: tomllib's own error is one, and so is Python's for a number of absurd length.
        raise PropertyError(
            f"it is not valid TOML: {error}.",
            where=FILE,
            how='Lines read key = value, with text and dates in quotation marks: units = "metric".',
        ) from error
    faults = _Faults()
    values = _values(Settings, {"name": folder_name or "property"} | data, faults)
    if faults:
        listed = " ".join(f"({number}) {fault}" for number, fault in enumerate(faults, start=1))
        what = f"{len(faults)} settings cannot be used: {listed}" if faults[1:] else faults[0]
        raise PropertyError(what, where=FILE, how="Correct the file and run again.")
    settings = Settings(**values)
    return settings, _notes(settings, rut_peak_given="rut_peak" in data)


def _notes(settings: Settings, rut_peak_given: bool) -> list[Problem]:
    """What cannot be called impossible, but should be said."""
    problems = []
    if not rut_peak_given:
        month, day = settings.rut_peak
        problems.append(
            Problem(
                kind="rut-peak",
                file=FILE,
                column="rut_peak",
                why=f'rut_peak is not given; it is taken as "{month:02d}-{day:02d}". Places differ '
                "by months, and pre-rut, rut and late season hang on it.",
                how=f'Add rut_peak = "MM-DD". {RUT_PEAK_HINT}.',
                must_mend=False,
            )
        )
    start = "{:02d}-{:02d}".format(*settings.season_start)
    if settings.latitude < 0 and (4, 1) <= settings.season_start < (9, 1):
        problems.append(
            Problem(
                kind="season-south",
                file=FILE,
                column="season_start",
                value=start,
                why="The property lies south of the equator, where a deer year that begins on "
                f"{start} begins in fall or winter, and that would count as summer.",
                how='Write season_start = "{:02d}-{:02d}", and a rut_peak of your place (half a '
                'year from the northern one: about "{:02d}-{:02d}"). If the property lies north, '
                "write the latitude without the minus.".format(*SOUTH_START, *SOUTH_RUT_PEAK),
            )
        )
    doubt = zone_doubt(settings.longitude, settings.timezone)
    if doubt:
        problems.append(
            Problem(
                kind="zone-longitude",
                file=FILE,
                column="longitude, timezone",
                value=f"{settings.longitude:g}, {settings.timezone}",
                why=f"{doubt[0]} Sunrise and sunset come out wrong.",
                how=doubt[1],
            )
        )
    return problems


def zone_doubt(longitude: float, timezone: str) -> tuple[str, str] | None:
    """Why a longitude (degrees, east positive) cannot lie in a time zone that there is, and what
    may be meant; None if it can."""
    hours = abs(hours_from_sun(timezone, longitude))
    if hours <= ZONE_SLACK_HOURS:
        return None
    flipped = abs(hours_from_sun(timezone, -longitude)) <= ZONE_SLACK_HOURS
    meant = f" It looks like the sign: {-longitude:g} would fit." if flipped else ""
    return (
        f"At longitude {longitude:g} the sun is {hours:.0f} hours off the clock of {timezone}.",
        f"Correct the longitude (west is negative) or the timezone.{meant}",
    )
