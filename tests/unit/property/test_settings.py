"""property.toml."""

from __future__ import annotations

import pickle
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as budget
from hypothesis import strategies as st

from deerlog.errors import PropertyError
from deerlog.property import HuntingSeason
from deerlog.property.settings import Settings, read_settings, settings_from_text

NEEDED = 'latitude = 40.1\nlongitude = -91.2\ntimezone = "America/Chicago"\n'
RUT = 'rut_peak = "11-12"\n'


def read(text: str) -> Settings:
    settings, problems = settings_from_text(text, folder_name="hollow-fork")
    assert problems == []
    return settings


def refuse(text: str) -> str:
    with pytest.raises(PropertyError) as caught:
        settings_from_text(text, folder_name="x")
    assert caught.value.where == "property.toml"
    return str(caught.value)


def test_defaults() -> None:
    settings = read(NEEDED + RUT)
    assert settings == Settings(
        name="hollow-fork",
        latitude=40.1,
        longitude=-91.2,
        timezone="America/Chicago",
        units="imperial",
        season_start=(6, 1),
        rut_peak=(11, 12),
        light_before_sunrise_minutes=30,
        light_after_sunset_minutes=30,
        visit_gap_minutes=30,
        week_starts="Mon",
        watched_share=0.25,
        hunting=(),
        presence={},
        plan={},
    )


def test_everything_given() -> None:
    settings = read(
        'name = "Hollow Fork"\nlatitude = 33\nlongitude = -80\ntimezone = "America/New_York"\n'
        'units = "Metric"\nseason_start = "02-01"\nrut_peak = "10-05"\n'
        "light_before_sunrise_minutes = 60\nlight_after_sunset_minutes = 0\n"
        'visit_gap_minutes = 10\nweek_starts = "sun"\nwatched_share = 0.5\n'
        '[[hunting]]\nname = "bow"\nopens = "10-01"\ncloses = "01-15"\n'
        '[[hunting]]\nname = "gun"\nopens = "11-15"\ncloses = "11-30"\n'
        "[presence]\nwrong_tag_rate = 0.01\nother = 2\n"
        "[plan]\nwind = false\nsit_hours = 3\n"
    )
    assert settings.units == "metric"
    assert settings.week_starts == "Sun"
    assert settings.light_after_sunset_minutes == 0
    assert settings.hunting == (
        HuntingSeason(name="bow", opens=(10, 1), closes=(1, 15)),
        HuntingSeason(name="gun", opens=(11, 15), closes=(11, 30)),
    )
    assert settings.presence == {"wrong_tag_rate": 0.01, "other": 2.0}
    assert settings.plan == {"wind": False, "sit_hours": 3.0}
    assert settings.calendar.season_start == (2, 1)
    assert settings.calendar.rut_peak == (10, 5)
    assert pickle.loads(pickle.dumps(settings)) == settings


@pytest.mark.parametrize(
    ("day", "bow", "gun"),
    [
        ((9, 30), False, False),
        ((10, 1), True, False),
        ((11, 15), True, True),
        ((11, 30), True, True),
        ((12, 1), True, False),
        ((1, 15), True, False),
        ((1, 16), False, False),
    ],
)
def test_a_season_is_open_from_its_first_day_to_its_last(
    day: tuple[int, int], bow: bool, gun: bool
) -> None:
    across = HuntingSeason(name="bow", opens=(10, 1), closes=(1, 15))
    within = HuntingSeason(name="gun", opens=(11, 15), closes=(11, 30))
    when = date(2025, *day)
    assert (across.is_open(when), within.is_open(when)) == (bow, gun)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("latitude = 123", ("latitude = 123", "-90 to 90")),
        ('latitude = "40"', ('latitude = "40"', "without quotation marks")),
        ("latitude = nan", ("latitude = nan", "-90 to 90")),
        ("latitude = true", ("latitude = true",)),
        ("longitude = 181", ("longitude = 181", "-180 to 180")),
        ('timezone = "America/Chicgo"', ("America/Chicgo", 'mean "America/Chicago"')),
        ('timezone = "central"', ('mean "America/Chicago"',)),
        ('timezone = "../etc"', ("IANA name",)),
        ("timezone = -6", ("timezone = -6", "IANA name")),
        ('units = "feet"', ('units = "feet"', '"imperial", "metric"')),
        ('season_start = "13-01"', ('season_start = "13-01"', "MM-DD")),
        ('rut_peak = "02-29"', ("rut_peak", "every year has")),
        ('rut_peak = "Nov 12"', ("rut_peak", "MM-DD")),
        ("rut_peak = 2025-11-12", ("rut_peak = 2025-11-12", "MM-DD")),
        ("light_after_sunset_minutes = -1", ("= -1", "0 to 120")),
        ("light_after_sunset_minutes = 30.5", ("= 30.5", "whole number")),
        ("visit_gap_minutes = 0", ("visit_gap_minutes = 0", "1 to 1440")),
        ('week_starts = "Montag"', ('"Montag"', '"Mon"')),
        ("watched_share = 25", ("watched_share = 25", "0.01 to 1")),
        ("name = 7", ("name = 7", "quotation marks")),
        ('hunting = "bow"', ("hunting", "[[hunting]]")),
        ('[[hunting]]\nname = "bow"\nopens = "10-01"', ("hunting[1].closes is missing",)),
        (
            '[[hunting]]\nname = "bow"\nopens = "10-01"\ncloses = "1-15"\nclose = 1',
            ("hunting[1].close = 1", "hunting[1].closes?"),
        ),
        (
            '[[hunting]]\nname = "b"\nopens = "10-01"\ncloses = "1-15"\nunits = "metric"',
            ("hunting[1].units", "move it above the first [[hunting]]"),
        ),
        ("[presence]\nrate = true", ("presence.rate = true", "a number")),
        ('[presence]\nrate = "0.1"', ("presence.rate",)),
        ("presence = 3", ("presence = 3", "[presence] table")),
        ('[plan]\nwind = "no"', ('plan.wind = "no"', "true, false or a number")),
        ("[plan]\nsit_hours = nan", ("plan.sit_hours = nan", "a number")),
        ("plan = true", ("plan = true", "[plan] table")),
        ("lattitude = 40", ("lattitude = 40", "did you mean latitude?")),
        ("flux = 3", ("flux = 3", "remove it", "visit_gap_minutes")),
    ],
)
def test_what_is_wrong_names_key_value_and_range(line: str, words: tuple[str, ...]) -> None:
    key = line.split(" =")[0]
    base = "".join(row + "\n" for row in (NEEDED + RUT).splitlines() if row.split(" =")[0] != key)
    message = refuse(base + line + "\n")
    assert all(word in message for word in words), message


def test_all_faults_are_told_at_once() -> None:
    message = refuse('latitude = 123\nunit = "metric"\nvisit_gap_minutes = 0\n')
    for word in ("5 settings", "latitude = 123", "longitude is missing", "timezone is missing"):
        assert word in message
    assert "did you mean units?" in message and "visit_gap_minutes = 0" in message


@pytest.mark.parametrize(
    "text", ["latitude 40", "rut_peak = 11-12", "a = 1\na = 2", "x = " + "9" * 5000]
)
def test_what_is_not_toml_is_told_with_a_hint(text: str) -> None:
    message = refuse(text)
    assert "not valid TOML" in message and "quotation marks" in message


def test_a_rut_peak_left_out_is_assumed_and_said() -> None:
    settings, (problem,) = settings_from_text(NEEDED, folder_name="x")
    assert settings.rut_peak == (11, 12)
    assert problem.must_mend is False
    assert "conception dates" in problem.how and "200 days" in problem.how


@pytest.mark.parametrize(
    ("longitude", "zone", "wrong"),
    [
        (91.2, "America/Chicago", True),
        (-91.2, "UTC", True),
        (-91.2, "America/New_York", False),
        (-176.6, "America/Adak", False),
        (75.9, "Asia/Shanghai", False),
    ],
)
def test_a_longitude_that_does_not_fit_the_zone(longitude: float, zone: str, wrong: bool) -> None:
    text = f'latitude = 40\nlongitude = {longitude}\ntimezone = "{zone}"\n' + RUT
    _, problems = settings_from_text(text, folder_name="x")
    assert [p.kind for p in problems] == (["zone-longitude"] if wrong else [])
    if longitude > 90 and wrong:
        assert "-91.2 would fit" in problems[0].how


@pytest.mark.parametrize(
    ("latitude", "start", "wrong"),
    [
        (-38, "06-01", True),
        (-38, "04-01", True),
        (-38, "08-31", True),
        (-38, "03-31", False),
        (-38, "09-01", False),
        (-38, "12-01", False),
        (38, "06-01", False),
    ],
)
def test_a_deer_year_of_the_other_half_of_the_earth(
    latitude: float, start: str, wrong: bool
) -> None:
    text = f'latitude = {latitude}\nlongitude = -71\ntimezone = "America/Santiago"\n' + RUT
    _, problems = settings_from_text(text + f'season_start = "{start}"\n', folder_name="x")
    assert [p.kind for p in problems] == (["season-south"] if wrong else [])
    if wrong:
        assert 'season_start = "12-01"' in problems[0].how
        assert problems[0].value == start


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_text_editor_may_choose_the_encoding(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "property.toml"
    path.write_bytes(('name = "Söder 🦌"\r\n' + NEEDED + RUT).encode(encoding))
    settings, problems = read_settings(path)
    assert settings.name == "Söder 🦌"
    assert problems == []


def test_a_missing_file_says_how_to_begin(tmp_path: Path) -> None:
    with pytest.raises(PropertyError, match="deerlog new"):
        read_settings(tmp_path / "property.toml")


@budget(max_examples=100, deadline=None)
@given(st.text(st.sampled_from("[]=\"{}.,#\n' 1-aé"), max_size=30))
def test_no_text_leads_to_a_traceback(text: str) -> None:
    try:
        settings_from_text(NEEDED + text, folder_name="x")
    except PropertyError as error:
        assert error.how
