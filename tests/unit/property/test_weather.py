"""weather.csv: units, gaps, zones."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from deerlog.property.coordinates import POINTS, point_degrees
from deerlog.property.weather import read_weather

Write = Callable[[str, str], Path]
ZONE = "America/Chicago"


def test_imperial_units(write: Write) -> None:
    weather, problems = read_weather(
        write(
            "weather.csv",
            "time,temperature_f,wind_mph,wind_from,pressure_inhg\n"
            "2025-11-02 06:00,32,10,NW,29.92\n2025-11-02 07:00,-40,,calm,\n",
        ),
        ZONE,
    )
    assert problems == [] and weather is not None
    assert list(weather.columns) == [
        "time",
        "temperature_c",
        "wind_ms",
        "wind_from_deg",
        "pressure_hpa",
    ]
    # -40 is one temperature on both scales; the standard atmosphere is 29.92 inHg, 1013.25 hPa
    # (ICAO Doc 7488; from memory); a mile is 1,609.344 m.
    assert weather["temperature_c"].tolist() == pytest.approx([0.0, -40.0], abs=1e-9)
    assert weather["wind_ms"].iloc[0] == pytest.approx(16093.44 / 3600, rel=1e-12)
    assert weather["pressure_hpa"].iloc[0] == pytest.approx(1013.25, abs=0.1)
    assert weather["wind_from_deg"].iloc[0] == 315.0
    assert weather.iloc[1][["wind_ms", "wind_from_deg", "pressure_hpa"]].isna().all()


def test_metric_units_and_decimal_commas(write: Write) -> None:
    weather, problems = read_weather(
        write(
            "weather.csv",
            "time;temperature_c;wind_kph;wind_from;pressure_hpa\n"
            "2025-11-02 06:00;-1,5;36;270,5;1021,3\n2025-11-02 07:00;;;360;\n",
        ),
        ZONE,
    )
    assert problems == [] and weather is not None
    assert weather.iloc[0, 1:].tolist() == [-1.5, 10.0, 270.5, 1021.3]
    assert weather["wind_from_deg"].iloc[1] == 0.0


def test_both_columns_of_a_measure_fill_each_other(write: Write) -> None:
    weather, _ = read_weather(
        write("weather.csv", "time,wind_ms,wind_mph\n2025-11-02,3,99\n2025-11-03,,10\n"), ZONE
    )
    assert weather is not None
    assert weather["wind_ms"].tolist() == pytest.approx([3.0, 4.4704])


def test_rows_are_sorted_and_a_bare_day_stands_at_noon(write: Write) -> None:
    weather, _ = read_weather(
        write("weather.csv", "time,temperature_c\n2025-11-03,5\n2025-11-02 06:00,1\n"), ZONE
    )
    assert weather is not None
    assert weather["time"].tolist() == [
        pd.Timestamp("2025-11-02 06:00"),
        pd.Timestamp("2025-11-03 12:00"),
    ]
    assert weather["time"].dtype == "datetime64[us]"


def test_times_with_a_zone_become_local(write: Write) -> None:
    weather, problems = read_weather(
        write(
            "weather.csv",
            "time,temperature_c\n2025-07-01T12:00Z,20\n2025-12-01T12:00:00-05:00,2\n",
        ),
        ZONE,
    )
    assert problems == [] and weather is not None
    assert weather["time"].tolist() == [
        pd.Timestamp("2025-07-01 07:00"),
        pd.Timestamp("2025-12-01 11:00"),
    ]


def test_the_hour_that_happens_twice_is_no_fault_another_repeat_is(write: Write) -> None:
    rows = ["2025-11-02 01:00,1", "2025-11-02 01:00,2", "2025-11-02 05:00,3", "2025-11-02 05:00,4"]
    weather, (problem,) = read_weather(
        write("weather.csv", "time,temperature_c\n" + "\n".join(rows)), ZONE
    )
    assert weather is not None
    assert weather["temperature_c"].tolist() == [1.0, 3.0]
    assert (problem.kind, problem.row, problem.must_mend) == ("weather-twice", 5, False)
    assert "earlier row: 1." in problem.why


def test_bad_cells_are_told_together_and_bad_times_one_by_one(write: Write) -> None:
    weather, problems = read_weather(
        write(
            "weather.csv",
            "time,temperature_f,wind_from\n2025-11-02,M,N\n2025-11-03,M,up\n2025-11-04,500,NNE\n"
            ",45,S\n03/04/2025,45,S\n",
        ),
        ZONE,
    )
    assert weather is not None
    assert len(weather) == 3 and weather["temperature_c"].isna().all()
    assert weather["wind_from_deg"].iloc[[0, 2]].tolist() == [0.0, 22.5]
    told = {(p.column, p.row): p for p in problems}
    assert set(told) == {
        ("time", 5),
        ("time", 6),
        ("temperature_f", 2),
        ("temperature_f", 4),
        ("wind_from", 3),
    }
    assert "1 more" in told["temperature_f", 2].why
    assert "temperature_f" in told["temperature_f", 4].how


@pytest.mark.parametrize(
    "text",
    ["", "time,temperature\n2025-11-02,4\n", "temperature_c\n4\n", "time,temperature_c\nx,4\n"],
)
def test_nothing_usable_is_none_and_told(write: Write, text: str) -> None:
    weather, problems = read_weather(write("weather.csv", text), ZONE)
    assert weather is None and problems and all(p.how for p in problems)


def test_a_header_alone_is_no_weather_and_no_fault(write: Write) -> None:
    assert read_weather(write("weather.csv", "time,temperature_c\n"), ZONE) == (None, [])


def test_compass_points_go_round_clockwise() -> None:
    assert [point_degrees(p) for p in ("N", "E", "S", "W")] == [0, 90, 180, 270]
    assert np.allclose(np.diff([point_degrees(p) for p in POINTS]), 22.5)
