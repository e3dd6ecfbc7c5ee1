"""Weather as it is downloaded: the hourly forecast as GeoJSON, airport observations as CSV."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from deerlog.property.weather import read_weather

Write = Callable[[str, str], Path]
ZONE = "America/Chicago"
HOME = (40.31, -92.37)
SHARED = Path(__file__).parents[4] / "shared" / "data" / "weather" / "hourly_forecast.json"


def forecast(*periods: dict[str, Any], at: object = None) -> str:
    geometry = {"type": "Polygon", "coordinates": at} if at else None
    return json.dumps({"geometry": geometry, "properties": {"periods": list(periods)}})


def period(start: str, **more: Any) -> dict[str, Any]:
    usual = {"temperature": 50, "temperatureUnit": "F", "windSpeed": "10 mph", "windDirection": "W"}
    return {"startTime": start, **usual, **more}


def test_an_hourly_forecast_as_saved() -> None:
    """The service's own answer; 16 F is -8.9 C, 10 mph 4.47 m/s."""
    if not SHARED.is_file():
        pytest.skip("no forecast as saved at hand")
    weather, problems = read_weather(SHARED, ZONE, home=(44.976, -93.278))
    assert problems == [] and weather is not None and len(weather) == 156
    assert str(weather["time"].iloc[0]) == "2026-11-23 05:00:00"
    assert weather["temperature_c"].iloc[0] == pytest.approx((16 - 32) / 1.8)
    assert weather["wind_ms"].iloc[0] == pytest.approx(4.4704)
    assert weather["wind_from_deg"].iloc[0] == 270
    assert (weather["time"].diff().iloc[1:] == weather["time"].diff().iloc[1]).all()
    _, (far,) = read_weather(SHARED, ZONE, home=HOME)
    assert far.kind == "weather-far" and "km from the property" in far.why and not far.must_mend


def test_ranges_calm_gaps_and_other_units(write: Write) -> None:
    text = forecast(
        period("2026-11-23T05:00:00-06:00", windSpeed="5 to 10 mph", windGust="25 mph"),
        period("2026-11-23T06:00:00-06:00", windSpeed="0 mph", windDirection=""),
        period("2026-11-23T07:00:00-06:00", windSpeed="Calm", windDirection="VRB"),
        period("2026-11-23T15:00:00+00:00", temperature=None, windSpeed="18 km/h"),
        period(
            "2026-11-23T10:00:00-06:00",
            temperature={"unitCode": "wmoUnit:degC", "value": 4.5},
            windSpeed={"unitCode": "wmoUnit:km_h-1", "value": 36},
        ),
    )
    weather, problems = read_weather(write("forecast.json", text), ZONE, home=HOME)
    assert problems == [] and weather is not None
    assert weather["time"].dt.hour.tolist() == [5, 6, 7, 9, 10]
    assert weather["wind_ms"].tolist() == pytest.approx([7.5 * 0.44704, 0, 0, 5, 10])
    assert weather["temperature_c"].tolist() == pytest.approx(
        [10, 10, 10, np.nan, 4.5], nan_ok=True
    )
    assert np.isnan(weather["wind_from_deg"].iloc[1:3]).all()


@pytest.mark.parametrize("text", ["{", "{}", '{"properties": {"periods": 3}}', "[" * 9])
def test_other_json_is_named(write: Write, text: str) -> None:
    weather, (problem,) = read_weather(write("forecast.json", text), ZONE, home=HOME)
    assert weather is None and problem.must_mend
    assert problem.how


def test_airport_observations(write: Write) -> None:
    text = (
        "#DEBUG: a line about the download\n"
        "station,valid,lon,lat,tmpf,drct,sknt,gust,alti,mslp\n"
        "KXYZ,2026-11-22 11:53,-92.5,40.1,41.00,270.00,10.00,21.00,30.01,M\n"
        "KXYZ,2026-11-22 12:53,-92.5,40.1,M,0.00,0.00,M,30.03,1017.2\n"
        "KXYZ,2026-11-22 13:53,-92.5,40.1,39.02,VRB,3.00,M,M,M\n"
        "KABC,2026-11-22 13:53,-99.5,40.1,12.00,90.00,3.00,M,M,M\n"
    )
    weather, problems = read_weather(write("weather.csv", text), ZONE, home=HOME)
    assert weather is not None
    assert [p.kind for p in problems] == ["weather-stations", "weather-utc"]
    assert not any(p.must_mend for p in problems)
    assert weather["time"].dt.strftime("%H:%M").tolist() == ["05:53", "06:53", "07:53"]
    assert weather["temperature_c"].tolist() == pytest.approx([5, np.nan, 3.9], nan_ok=True)
    assert weather["wind_ms"].tolist() == pytest.approx([5.1444, 0, 1.5433], abs=1e-4)
    assert weather["wind_from_deg"].tolist() == pytest.approx([270, np.nan, np.nan], nan_ok=True)
    # Of the two pressures that with more values; never both in one column.
    assert weather["pressure_hpa"].tolist() == pytest.approx(
        [30.01 * 33.86389, 30.03 * 33.86389, np.nan], nan_ok=True
    )


def test_a_station_far_off_and_local_times(write: Write) -> None:
    far = "station,valid,lon,lat,tmpf\nKABC,2026-11-22 13:53,-99.5,40.1,12.00\n"
    weather, problems = read_weather(write("weather.csv", far), ZONE, home=HOME)
    assert weather is not None and "weather-far" in {p.kind for p in problems}
    # As the note advises for local times; and a zone of its own is kept, without a note.
    local = far.replace("valid", "time")
    weather, problems = read_weather(write("local.csv", local), ZONE, home=HOME)
    assert weather is not None and [p.kind for p in problems] == ["weather-far"]
    assert weather["time"].dt.hour.tolist() == [13]
    assert weather["temperature_c"].tolist() == pytest.approx([-100 / 9])
    zoned = far.replace("13:53", "13:53-05:00")
    weather, problems = read_weather(write("zoned.csv", zoned), ZONE, home=HOME)
    assert weather is not None and [p.kind for p in problems] == ["weather-far"]
    assert weather["time"].dt.hour.tolist() == [12]


def test_a_bad_cell_is_told_with_its_row(write: Write) -> None:
    text = "station,valid,tmpf\nKXYZ,2026-11-22 11:53,41\nKXYZ,2026-11-22 12:53,4l\n"
    weather, problems = read_weather(write("weather.csv", text), ZONE, home=HOME)
    assert weather is not None and np.isnan(weather["temperature_c"].iloc[1])
    (bad,) = [p for p in problems if p.kind == "bad-cell"]
    assert bad.row == 3 and bad.value == "4l"


def test_a_forecast_by_days_and_nights_is_none_by_the_hour(write: Write) -> None:
    """Its first figure is the day's high, which would stand at six in the morning."""
    day = period("2026-11-23T06:00:00-06:00", endTime="2026-11-23T18:00:00-06:00")
    weather, (problem,) = read_weather(write("forecast.json", forecast(day)), ZONE, home=HOME)
    assert weather is None and "longer than three hours" in problem.why
    hour = period("2026-11-23T06:00:00-06:00", endTime="2026-11-23T07:00:00-06:00")
    weather, problems = read_weather(write("hourly.json", forecast(hour)), ZONE, home=HOME)
    assert weather is not None and problems == []


def test_a_wind_between_two_figures_counts_as_their_middle(write: Write) -> None:
    wind = {"unitCode": "wmoUnit:km_h-1", "minValue": 9, "maxValue": 27, "value": None}
    text = forecast(period("2026-11-23T06:00:00-06:00", windSpeed=wind))
    weather, _ = read_weather(write("forecast.json", text), ZONE, home=HOME)
    assert weather is not None and weather["wind_ms"].tolist() == pytest.approx([5.0])
