"""Latitude and longitude as metres on the ground around a property."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

# WGS 84, the ellipsoid of GPS receivers (NIMA TR8350.2, 2000; defining constants).
EQUATOR_RADIUS_M = 6_378_137.0
FLATTENING = 1 / 298.257223563

_ECCENTRICITY_2 = FLATTENING * (2 - FLATTENING)
_INVERSE_STEPS = 3

Degrees = npt.ArrayLike
Metres = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Ground:
    """A flat map of the ground around one point, in metres east and north of it.

    The leading terms of the transverse Mercator projection on the WGS 84 ellipsoid. Between two
    points within 20 km of the origin, at latitudes up to 60 degrees, distances are within 6 parts
    in a million of the geodesic (0.1 m in 20 km); within 100 km, within 150. A GPS receiver under
    trees is off by more. Within 20 km `degrees` returns to 1e-7 degrees.

    Attributes
    ----------
    latitude, longitude
        The origin, in degrees, north and east positive.
    """

    latitude: float
    longitude: float

    def metres(self, latitude: Degrees, longitude: Degrees) -> tuple[Metres, Metres]:
        """East and north of the origin in metres, each of the shape of the input.

        Parameters
        ----------
        latitude, longitude
            Degrees, any one shape; NaN gives NaN.
        """
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
