"""Coordinates: distances and metres on the ground, points of the compass, and likely slips."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

POINTS = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
    "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip
"""Clockwise from north, 22.5 degrees apart. A wind is named for where it blows from."""


def point_degrees(point: str) -> float:
    """Direction of a compass point in degrees clockwise from north, 0 to 337.5."""
    return POINTS.index(point) * 22.5


def degrees_point(degrees: float) -> str:
    """The compass point nearest to a direction in degrees clockwise from north."""
    return POINTS[round(degrees / 22.5) % len(POINTS)]


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

    All in degrees; ``home`` is the property's position, from property.toml.
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


# WGS 84, the ellipsoid of GPS receivers (NIMA TR8350.2, 2000; defining constants).
EQUATOR_RADIUS_M = 6_378_137.0
FLATTENING = 1 / 298.257223563

_ECCENTRICITY_2 = FLATTENING * (2 - FLATTENING)
_INVERSE_STEPS = 3

Metres = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Ground:
    """A flat map of the ground around one point (degrees), in metres east and north of it.

    The leading terms of the transverse Mercator projection on the WGS 84 ellipsoid. Between two
    points within 20 km of the origin, at latitudes up to 60 degrees, distances are within 6 parts
    in a million of the geodesic (0.1 m in 20 km); within 100 km, within 150. A GPS receiver under
    trees is off by more. Within 20 km `degrees` returns to 1e-7 degrees.
    """

    latitude: float
    longitude: float

    def metres(self, latitude: npt.ArrayLike, longitude: npt.ArrayLike) -> tuple[Metres, Metres]:
        """East and north of the origin in metres; degrees of any one shape, NaN gives NaN."""
        phi = np.radians(np.asarray(latitude, dtype=np.float64))
        turn = np.asarray(longitude, dtype=np.float64) - self.longitude
        # Ground on both sides of the 180th meridian is one piece of ground.
        turn = np.radians((turn + 180.0) % 360.0 - 180.0)
        parallel = _prime_vertical(phi) * np.cos(phi)
        east = parallel * turn * (1 + (np.cos(phi) * turn) ** 2 / 6 * (1 - np.tan(phi) ** 2))
        origin = np.radians(self.latitude)
        north = _meridian((phi + origin) / 2) * (phi - origin)
        north = north + parallel * np.sin(phi) * turn**2 / 2
        return np.asarray(east), np.asarray(north)

    def degrees(
        self, east_m: npt.ArrayLike, north_m: npt.ArrayLike
    ) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
        """Latitude and longitude in degrees of points in metres: the way back of `metres`."""
        east = np.asarray(east_m, dtype=np.float64)
        north = np.asarray(north_m, dtype=np.float64)
        latitude = np.full(np.broadcast(east, north).shape, self.latitude, dtype=np.float64)
        longitude = np.full_like(latitude, self.longitude)
        for _ in range(_INVERSE_STEPS):
            x, y = self.metres(latitude, longitude)
            phi = np.radians(latitude)
            latitude = latitude + np.degrees((north - y) / _meridian(phi))
            longitude = longitude + np.degrees((east - x) / (_prime_vertical(phi) * np.cos(phi)))
        return np.asarray(latitude), np.asarray((longitude + 180.0) % 360.0 - 180.0)


def _prime_vertical(phi: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Radius of curvature across the meridian, metres; latitude in radians."""
    return np.asarray(EQUATOR_RADIUS_M / np.sqrt(1 - _ECCENTRICITY_2 * np.sin(phi) ** 2))


def _meridian(phi: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Radius of curvature along the meridian, metres; latitude in radians."""
    shape = 1 - _ECCENTRICITY_2 * np.sin(phi) ** 2
    return np.asarray(EQUATOR_RADIUS_M * (1 - _ECCENTRICITY_2) / shape**1.5)
