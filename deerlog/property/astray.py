"""Where the cameras agree with each other and not with property.toml."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from deerlog.errors import Problem
from deerlog.property.coordinates import FAR_FROM_PROPERTY_M, distance_m
from deerlog.property.settings import FILE, Settings, zone_doubt
from deerlog.property.table_rows import Record

_ROWS_NAMED = 3


def property_astray(far: Sequence[Record], n_rows: int, settings: Settings) -> Problem | None:
    """The problem that the coordinates of property.toml are wrong rather than those of cameras.

    So it is where more than half of the rows of cameras.csv are far from the property and lie
    together, and either their longitude fits the time zone and the property's does not, or both
    fit (or neither does) and there are at least two of them.

    Parameters
    ----------
    far
        Rows of cameras.csv that are far from the property.
    n_rows
        How many rows with coordinates there are.
    """
    if 2 * len(far) <= n_rows:
        return None
    latitude = median(record["latitude"] for record in far)
    longitude = median(record["longitude"] for record in far)
    apart = [
        float(distance_m(latitude, longitude, record["latitude"], record["longitude"]))
        for record in far
    ]
    if max(apart) > FAR_FROM_PROPERTY_M:
        return None
    property_fits = zone_doubt(settings.longitude, settings.timezone) is None
    cameras_fit = zone_doubt(longitude, settings.timezone) is None
    if cameras_fit < property_fits or (cameras_fit == property_fits and len(far) < 2):
        return None
    off_km = float(distance_m(latitude, longitude, settings.latitude, settings.longitude)) / 1000
    rows = [str(record["row"]) for record in far]
    named = ", ".join(rows[:_ROWS_NAMED]) + (", ..." if len(rows) > _ROWS_NAMED else "")
    zone = "" if property_fits else f", nor is it in the time zone {settings.timezone}"
    which = (
        f"row {named} of cameras.csv puts its camera"
        if len(far) == 1
        else f"{len(far)} of {n_rows} rows of cameras.csv (rows {named}) put their cameras"
    )
    return Problem(
        kind="property-far-away",
        file=FILE,
        column="latitude, longitude",
        value=f"{settings.latitude:g}, {settings.longitude:g}",
        why=f"This is {off_km:,.0f} km from where {which}{zone}. So it is taken to be wrong here. "
        f"Until it is mended {'that row is' if len(far) == 1 else 'those rows are'} left out.",
        how=f"Write latitude = {latitude:.3f} and longitude = {longitude:.3f}, which is about the "
        "middle of the cameras.",
    )
