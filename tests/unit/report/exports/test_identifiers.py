"""Identifiers and rounded coordinates."""

from __future__ import annotations

import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deerlog.report.exports.camtrap import Rounding, identifier, iso_times


def test_an_identifier_is_the_same_everywhere_and_tells_nothing() -> None:
    assert identifier("m", "cam-01", "a/b.JPG") == "m-88ae65f0c17d4d1d"
    assert identifier("m", "cam-01a", "/b.JPG") != identifier("m", "cam-01", "a/b.JPG")
    assert identifier("m", "x") != identifier("d", "x")


@given(st.floats(-90, 90), st.floats(-180, 180), st.integers(0, 6))
def test_the_true_place_lies_within_the_uncertainty(
    latitude: float, longitude: float, decimals: int
) -> None:
    rounding = Rounding(decimals)
    given_latitude, given_longitude = rounding.degrees(latitude), rounding.degrees(longitude)
    north = (latitude - given_latitude) * 111_195.0  # mean degree of a sphere of 6,371 km
    east = (longitude - given_longitude) * 111_195.0 * math.cos(math.radians(latitude))
    # The parallel's length is that of the given latitude: nearer the pole than half a cell it
    # may be longer by this factor.
    slack = 111_195.0 * 10.0**-decimals * math.sin(math.radians(10.0**-decimals))
    assert math.hypot(north, east) <= rounding.uncertainty_m(given_latitude) + slack


def test_times_carry_their_offset() -> None:
    times = pd.Series(
        pd.to_datetime(
            ["2024-07-01T12:00:00.75Z", "2024-11-03T06:30Z", "2024-11-03T07:30Z"], format="ISO8601"
        ).tz_convert("America/Chicago")
    )
    assert iso_times(times) == [
        "2024-07-01T07:00:00-05:00",
        "2024-11-03T01:30:00-05:00",  # this hour comes twice
        "2024-11-03T01:30:00-06:00",
    ]


def test_minus_zero_is_zero() -> None:
    assert str(Rounding(0).degrees(-0.2)) == "0.0"
    assert Rounding().uncertainty_m(44.0) is None
    assert Rounding(3).precision_degrees == pytest.approx(0.001)
