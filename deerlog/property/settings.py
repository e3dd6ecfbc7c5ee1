"""property.toml: where the property lies, and the choices that hold for all of it."""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from deerlog.errors import Problem, PropertyError
from deerlog.property.day_and_time import DATE_ORDERS
from deerlog.property.table_reader import decode_text
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


# A day that every year has: 29 February would be no date in most.
_MONTH_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


class SettingsValues:
    """The values of a file's keys.

    A value that cannot be used is remembered, a stand-in is returned, and `finish` raises.

    Parameters
    ----------
    data
        The parsed file.
    keys
        All keys there may be.
    file
        The file's name for messages.
    """

    def __init__(self, data: Mapping[str, Any], keys: Sequence[str], file: str) -> None:
        self._data = data
        self._keys = keys
        self._file = file
        self._faults: list[str] = []
        self.unknown_keys(data, keys, "")

    def finish(self) -> None:
        """Raise `PropertyError` with all that was wrong, if anything."""
        if not self._faults:
            return
        if len(self._faults) == 1:
            what = self._faults[0]
        else:
            listed = (f"({number}) {fault}" for number, fault in enumerate(self._faults, start=1))
            what = f"{len(self._faults)} settings cannot be used: {' '.join(listed)}"
        raise PropertyError(what, where=self._file, how="Correct the file and run again.")

    def text(self, key: str, default: str) -> str:
        """Text that is not blank."""
        value = self._data.get(key, default)
        if isinstance(value, str) and value.strip():
            return value
        self._fault(key, value, "text in quotation marks")
        return default

    def words(self, key: str) -> tuple[str, ...]:
        """A list of words."""
        value = self._data.get(key, [])
        if isinstance(value, list) and all(isinstance(each, str) and each for each in value):
            return tuple(value)
        self._fault(key, value, 'a list of words, such as ["nix", "the lot"]')
        return ()

    def number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """A number from low to high; needed where there is no default."""
        return self._number(key, self._data.get(key, default), low, high)

    def whole(self, key: str, low: int, high: int, default: int) -> int:
        """A whole number from low to high."""
        value = self._data.get(key, default)
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        self._fault(key, value, f"a whole number from {low} to {high}")
        return default

    def choice(self, key: str, choices: Sequence[str], default: str) -> str:
        """One of a few words, in any case."""
        value = self._data.get(key, default)
        word = value.strip().casefold() if isinstance(value, str) else None
        for choice in choices:
            if word == choice.casefold():
                return choice
        self._fault(key, value, "one of " + ", ".join(f'"{choice}"' for choice in choices))
        return default

    def month_day(self, key: str, default: tuple[int, int]) -> tuple[int, int]:
        """(month, day) of ``"MM-DD"``."""
        if key not in self._data:
            return default
        return self._month_day(key, self._data[key]) or default

    def zone(self, key: str) -> str:
        """An IANA time zone; needed."""
        value = self._data.get(key)
        if isinstance(value, str) and zone_exists(value):
            return value
        near = nearest_zone(value) if isinstance(value, str) else None
        advice = f' Did you mean "{near}"?' if near else ""
        self._fault(key, value, 'an IANA name such as "America/Chicago"', advice)
        return "UTC"

    def seasons(self, key: str) -> list[tuple[str, tuple[int, int], tuple[int, int]]]:
        """Name, opening and closing day of each table under ``[[key]]``."""
        tables = self._data.get(key, [])
        if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
            self._fault(key, tables, f"a [[{key}]] table for each season")
            return []
        seasons = []
        for number, table in enumerate(tables, start=1):
            prefix = f"{key}[{number}]."
            self.unknown_keys(table, ("name", "opens", "closes"), prefix)
            name = table.get("name")
            if not isinstance(name, str) or not name.strip():
                self._fault(f"{prefix}name", name, "text in quotation marks")
                name = None
            opens = self._month_day(f"{prefix}opens", table.get("opens"))
            closes = self._month_day(f"{prefix}closes", table.get("closes"))
            if name and opens and closes:
                seasons.append((name, opens, closes))
        return seasons

    def rates(self, key: str) -> dict[str, float]:
        """The names and numbers of the table ``[key]``."""
        table = self._data.get(key, {})
        if not isinstance(table, dict):
            self._fault(key, table, f"a [{key}] table of names and numbers")
            return {}
        return {
            name: self._number(f"{key}.{name}", value, -math.inf, math.inf)
            for name, value in table.items()
        }

    def rules(self, key: str) -> dict[str, float | bool]:
        """The names of the table ``[key]``, each with ``true``, ``false`` or a number."""
        table = self._data.get(key, {})
        if not isinstance(table, dict):
            self._fault(key, table, f"a [{key}] table of names with true, false or a number")
            return {}
        found: dict[str, float | bool] = {}
        for name, value in table.items():
            if isinstance(value, bool):
                found[name] = value
            elif isinstance(value, int | float):
                found[name] = self._number(f"{key}.{name}", value, -math.inf, math.inf)
            else:
                wanted = "true, false or a number, without quotation marks"
                self._fault(f"{key}.{name}", value, wanted)
        return found

    def unknown_keys(self, table: Mapping[str, Any], keys: Sequence[str], prefix: str) -> None:
        """Remember the keys of a table that mean nothing there."""
        for key, value in table.items():
            if key in keys:
                continue
            if prefix and key in self._keys:
                advice = f"move it above the first [[{prefix.partition('[')[0]}]] line."
            elif near := difflib.get_close_matches(key.casefold(), keys, n=1, cutoff=0.6):
                advice = f"did you mean {prefix}{near[0]}?"
            else:
                advice = f"remove it. The keys are: {', '.join(keys)}."
            shown = "a table" if isinstance(value, dict | list) else _shown(value)
            self._faults.append(f"{prefix}{key} = {shown}: there is no such setting; {advice}")

    def _number(self, key: str, value: object, low: float, high: float) -> float:
        if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high:
            try:
                number = float(value)
            except OverflowError:
                number = math.inf
            if math.isfinite(number):
                return number
        bounds = f" from {low:g} to {high:g}" if math.isfinite(low) else ""
        self._fault(key, value, f"a number{bounds}, without quotation marks")
        return max(low, 0.0)

    def _month_day(self, key: str, value: object) -> tuple[int, int] | None:
        parts = value.strip().split("-") if isinstance(value, str) else []
        if len(parts) == 2 and all(p.isascii() and p.isdigit() and len(p) <= 2 for p in parts):
            month, day = int(parts[0]), int(parts[1])
            if 1 <= month <= 12 and 1 <= day <= _MONTH_LENGTHS[month - 1]:
                return month, day
        self._fault(
            key, value, '"MM-DD", month and day in quotation marks, a day that every year has'
        )
        return None

    def _fault(self, key: str, value: object, wanted: str, advice: str = "") -> None:
        if value is None:
            self._faults.append(f"{key} is missing; it must be {wanted}.")
        else:
            self._faults.append(
                f"{key} = {_shown(value)} cannot be used: it must be {wanted}.{advice}"
            )


def _shown(value: object) -> str:
    """A value about as it stands in the file, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


FILE = "property.toml"

BLANK_MEANS = ("auto", "not looked at", "nobody named")
RUT_PEAK_HINT = (
    "Your state agency publishes conception dates; or take the local peak of fawning less about "
    "200 days."
)
"""Where to find the rut peak. Gestation of about 200 days: Pennsylvania Game Commission."""

ZONE_SLACK_HOURS = 3.25
"""The sun and the legal clock may differ by this much (our choice; the widest real gap is 3.1
hours, in the far west of China)."""


@dataclass(frozen=True, kw_only=True)
class HuntingSeason:
    """A hunting season that comes every year.

    Attributes
    ----------
    name
        As the user calls it.
    opens, closes
        (month, day), both included; a season may run across the turn of the year.
    """

    name: str
    opens: tuple[int, int]
    closes: tuple[int, int]

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
    """What property.toml says, with defaults filled in.

    Attributes
    ----------
    latitude, longitude
        Degrees, north and east positive.
    timezone
        IANA name.
    units
        ``imperial`` or ``metric``: how figures are shown.
    season_start, rut_peak
        (month, day).
    light_before_sunrise_minutes, light_after_sunset_minutes
        Bounds of shooting light.
    visit_gap_minutes
        A longer gap between photos starts a new visit.
    week_starts
        ``Mon`` to ``Sun``.
    watched_share
        Share (above 0, to 1) of a week's camera-days that must have run for it to count as watched.
    blank_means
        What a blank cell of a tag sheet says: ``not looked at``, ``nobody named``, or ``auto``: the
        latter where hardly any visit that was looked at names nobody.
    date_order
        How days such as 03/04/2025 are meant: ``month first``, ``day first``, or ``""`` where
        that is not known.
    no_names
        Words that people write where a buck's name should stand and that are none, beside those
        that are known already.
    hunting
        In the order written.
    presence
        Rates that override the presence model's own, by name; the analysis checks the names.
    plan
        Rules of the plan that override its own, by name; the analysis checks the names.
    """

    name: str
    latitude: float
    longitude: float
    timezone: str
    units: str = "imperial"
    season_start: tuple[int, int] = (6, 1)
    rut_peak: tuple[int, int] = (11, 12)
    light_before_sunrise_minutes: int = 30
    light_after_sunset_minutes: int = 30
    visit_gap_minutes: int = 30
    week_starts: str = "Mon"
    watched_share: float = 0.25
    blank_means: str = "auto"
    date_order: str = ""
    no_names: tuple[str, ...] = ()
    hunting: tuple[HuntingSeason, ...] = ()
    presence: Mapping[str, float] = field(default_factory=dict)
    plan: Mapping[str, float | bool] = field(default_factory=dict)

    @property
    def calendar(self) -> SeasonCalendar:
        """The seasons and phases of this property."""
        return SeasonCalendar(season_start=self.season_start, rut_peak=self.rut_peak)


def read_settings(path: Path) -> tuple[Settings, list[Problem]]:
    """Read property.toml.

    Raises
    ------
    PropertyError
        Not TOML; or keys unknown or missing, or values impossible: all of them in one message.
    """
    try:
        raw = path.read_bytes()
    except FileNotFoundError as error:
        raise PropertyError(
            f"there is no {FILE} in {path.parent}.",
            how="Start a property folder there with `deerlog new`, or name the right folder.",
        ) from error
    except OSError as error:
        raise PropertyError(
            f"the file cannot be read ({error.strerror or error}).",
            where=FILE,
            how="Close it in other programs and check that you may read it.",
        ) from error
    text = decode_text(raw, where=FILE, instead="Save it as plain text in UTF-8.").text
    return settings_from_text(text, folder_name=path.resolve().parent.name)


def settings_from_text(text: str, *, folder_name: str) -> tuple[Settings, list[Problem]]:
    """Read the text of a property.toml; see `read_settings`.

    Parameters
    ----------
    folder_name
        The property's name where the text gives none.
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        # ValueError: tomllib's own error is one, and so is Python's for a number of absurd length.
        raise PropertyError(
            f"it is not valid TOML: {error}.",
            where=FILE,
            how='Lines read key = value, with text and dates in quotation marks: units = "metric".',
        ) from error
    values = SettingsValues(data, tuple(Settings.__dataclass_fields__), FILE)
    settings = Settings(
        name=values.text("name", folder_name or "property"),
        latitude=values.number("latitude", -90, 90),
        longitude=values.number("longitude", -180, 180),
        timezone=values.zone("timezone"),
        units=values.choice("units", ("imperial", "metric"), Settings.units),
        season_start=values.month_day("season_start", Settings.season_start),
        rut_peak=values.month_day("rut_peak", Settings.rut_peak),
        light_before_sunrise_minutes=values.whole(
            "light_before_sunrise_minutes", 0, 120, Settings.light_before_sunrise_minutes
        ),
        light_after_sunset_minutes=values.whole(
            "light_after_sunset_minutes", 0, 120, Settings.light_after_sunset_minutes
        ),
        visit_gap_minutes=values.whole("visit_gap_minutes", 1, 1440, Settings.visit_gap_minutes),
        week_starts=values.choice("week_starts", WEEKDAYS, Settings.week_starts),
        watched_share=values.number("watched_share", 0.01, 1, Settings.watched_share),
        blank_means=values.choice("blank_means", BLANK_MEANS, Settings.blank_means),
        date_order=values.choice("date_order", ("", *DATE_ORDERS), Settings.date_order),
        no_names=values.words("no_names"),
        hunting=tuple(
            HuntingSeason(name=name, opens=opens, closes=closes)
            for name, opens, closes in values.seasons("hunting")
        ),
        presence=values.rates("presence"),
        plan=values.rules("plan"),
    )
    values.finish()
    return settings, _notes(settings, data)


def _notes(settings: Settings, data: Mapping[str, Any]) -> list[Problem]:
    """What cannot be called impossible, but should be said."""
    problems = []
    if "rut_peak" not in data:
        month, day = settings.rut_peak
        problems.append(
            Problem(
                kind="rut-peak",
                file=FILE,
                column="rut_peak",
                why=f'rut_peak is not given; it is taken as "{month:02d}-{day:02d}". Places differ '
                "by months, and pre-rut, rut and late season hang on it.",
                how=f'Add rut_peak = "MM-DD". {RUT_PEAK_HINT}',
                must_mend=False,
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
    """Why a longitude cannot lie in a time zone, and what may be meant; None if it can.

    Parameters
    ----------
    longitude
        Degrees, east positive.
    timezone
        IANA name of a zone that there is.
    """
    hours = abs(hours_from_sun(timezone, longitude))
    if hours <= ZONE_SLACK_HOURS:
        return None
    flipped = abs(hours_from_sun(timezone, -longitude)) <= ZONE_SLACK_HOURS
    meant = f" It looks like the sign: {-longitude:g} would fit." if flipped else ""
    return (
        f"At longitude {longitude:g} the sun is {hours:.0f} hours off the clock of {timezone}.",
        f"Correct the longitude (west is negative) or the timezone.{meant}",
    )
