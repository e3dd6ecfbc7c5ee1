"""property.toml: where the property lies, and the choices that hold for all of it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from deerlog.errors import Problem, PropertyError
from deerlog.property.day_and_time import DATE_ORDERS
from deerlog.property.settings_values import SettingsValues
from deerlog.property.text_encoding import decode_text
from deerlog.property.zone_names import hours_from_sun
from deerlog.timekeeping.seasons import WEEKDAYS, SeasonCalendar

FILE = "property.toml"

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
    date_order
        How days such as 03/04/2025 are meant: ``month first``, ``day first``, or ``""`` where
        that is not known.
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
    date_order: str = ""
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
        date_order=values.choice("date_order", ("", *DATE_ORDERS), Settings.date_order),
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
