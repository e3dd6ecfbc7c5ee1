"""Distances on the ground, and coordinates that cannot be right."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

EARTH_RADIUS_M = 6_371_008.8
"""Mean radius of the GRS 80 ellipsoid (Moritz 2000, Journal of Geodesy 74:128; from memory)."""

FAR_FROM_PROPERTY_M = 30_000.0
"""Farther than this from the property a camera or stand is taken for a typing error (our choice:
the largest holdings one person runs cameras on are some 20 km across)."""

SITE_SPREAD_M = 100.0
"""A site's placements may differ by this much (our choice: a phone's position under trees is good
to some 20 m, and the next tree is still the same site)."""

Degrees = float | npt.NDArray[np.float64]


def distance_m(
    latitude_a: Degrees, longitude_a: Degrees, latitude_b: Degrees, longitude_b: Degrees
) -> npt.NDArray[np.float64]:
    """Distance along the ground in metres between points in degrees, broadcast over shapes.

    On a sphere (haversine formula), at most 0.6 % off the ellipsoid.
    """
    phi_a, phi_b = np.radians(latitude_a), np.radians(latitude_b)
    half_phi = (phi_b - phi_a) / 2
    half_lambda = np.radians(np.asarray(longitude_b) - np.asarray(longitude_a)) / 2
    h = np.sin(half_phi) ** 2 + np.cos(phi_a) * np.cos(phi_b) * np.sin(half_lambda) ** 2
    return np.asarray(2 * EARTH_RADIUS_M * np.arcsin(np.sqrt(np.clip(h, 0.0, 1.0))))


def far_away(
    latitude: float, longitude: float, home_latitude: float, home_longitude: float
) -> tuple[str, str] | None:
    """Why a position cannot belong to the property and what may be meant, or None if it can.

    Parameters
    ----------
    latitude, longitude
        The position in degrees.
    home_latitude, home_longitude
        The property's, from ``property.toml``.
    """
    off_m = float(distance_m(latitude, longitude, home_latitude, home_longitude))
    if off_m <= FAR_FROM_PROPERTY_M:
        return None
    why = f"{latitude:g}, {longitude:g} is {off_m / 1000:,.0f} km from the property."
    slips = (
        ("the sign of the longitude (west is negative)", latitude, -longitude),
        ("the sign of the latitude (south is negative)", -latitude, longitude),
        ("latitude and longitude swapped", longitude, latitude),
        ("latitude and longitude swapped, and a sign", -longitude, latitude),
        ("latitude and longitude swapped, and a sign", longitude, -latitude),
    )
    for slip, lat, lon in slips:
        if abs(lat) > 90 or abs(lon) > 180:
            continue
        if float(distance_m(lat, lon, home_latitude, home_longitude)) <= FAR_FROM_PROPERTY_M:
            return why, f"It looks like {slip}: {lat:g}, {lon:g} would fit."
    return why, (
        "Check both figures here, and latitude and longitude in property.toml "
        f"({home_latitude:g}, {home_longitude:g})."
    )
