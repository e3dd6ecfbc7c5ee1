"""IANA time zone names as people type them."""

from __future__ import annotations

import difflib
from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

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
