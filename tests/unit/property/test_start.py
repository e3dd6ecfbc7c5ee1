"""A new property folder."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as budget
from hypothesis import strategies as st

from deerlog.errors import OutputError, PropertyError
from deerlog.property import HuntingSeason, open_property, start_property
from deerlog.property.start import toml_text

HERE = {"latitude": 40.1, "longitude": -91.2, "timezone": "America/Chicago"}
BOW = HuntingSeason(name='bow "early" \\', opens=(10, 1), closes=(1, 15))


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "hollow"
    written = start_property(
        folder,
        name='Söder "Fork" C:\\new 🦌',
        **HERE,  # type: ignore[arg-type]
        units="metric",
        rut_peak=(10, 5),
        season_start=(5, 1),
        light_before_sunrise_minutes=0,
        light_after_sunset_minutes=20,
        hunting=(BOW,),
    )
    found = open_property(folder)
    settings = found.settings
    assert settings.name == 'Söder "Fork" C:\\new 🦌'
    assert (settings.latitude, settings.longitude) == (40.1, -91.2)
    assert (settings.units, settings.rut_peak, settings.season_start) == ("metric", (10, 5), (5, 1))
    assert settings.light_before_sunrise_minutes == 0
    assert settings.light_after_sunset_minutes == 20
    assert settings.hunting == (BOW,)
    assert found.problems == () and found.missing == ()
    assert found.placements.empty and found.weather is None
    assert (folder / "cards").is_dir() and (folder / "tags").is_dir()
    assert set(written) == set(folder.iterdir())


def test_the_headers_are_those_of_the_contract(tmp_path: Path) -> None:
    start_property(tmp_path, name="x", **HERE)  # type: ignore[arg-type]
    assert {path.name: path.read_bytes() for path in tmp_path.glob("*.csv")} == {
        "cameras.csv": b"camera,site,setting,latitude,longitude,start,end,clock,bait,notes\n",
        "bucks.csv": b"buck,target,born,aliases,notes\n",
        "stands.csv": b"stand,sites,latitude,longitude,use,winds,rest_days,from,to,notes\n",
        "clock.csv": b"camera,shown,actual,from,to\n",
        "outages.csv": b"camera,from,to,status\n",
        "sits.csv": b"day,half,stand,bucks_seen,deer_seen,notes\n",
        "weather.csv": b"time,temperature_f,wind_mph,wind_from,pressure_inhg\n",
    }


def test_a_rut_peak_not_known_yet_is_hinted_at_and_asked_for(tmp_path: Path) -> None:
    start_property(tmp_path, name="x", **HERE)  # type: ignore[arg-type]
    text = (tmp_path / "property.toml").read_text(encoding="utf-8")
    assert '\n# rut_peak = "11-12"\n' in text
    assert "conception dates" in text and "200 days" in text
    assert [p.kind for p in open_property(tmp_path).problems] == ["rut-peak"]


def test_every_setting_is_shown_with_a_comment(tmp_path: Path) -> None:
    start_property(tmp_path, name="x", rut_peak=(11, 12), hunting=(BOW,), **HERE)  # type: ignore[arg-type]
    text = (tmp_path / "property.toml").read_text(encoding="utf-8")
    assert set(tomllib.loads(text)) == {
        "name",
        "latitude",
        "longitude",
        "timezone",
        "units",
        "season_start",
        "rut_peak",
        "light_before_sunrise_minutes",
        "light_after_sunset_minutes",
        "visit_gap_minutes",
        "week_starts",
        "watched_share",
        "blank_means",
        "date_order",
        "hunting",
    }


def test_nothing_that_exists_is_changed(tmp_path: Path) -> None:
    (tmp_path / "Cameras.csv").write_text("mine\n", encoding="utf-8")
    (tmp_path / "cards").mkdir()
    written = start_property(tmp_path, name="x", **HERE)  # type: ignore[arg-type]
    assert (tmp_path / "Cameras.csv").read_text(encoding="utf-8") == "mine\n"
    assert "cards" not in {path.name for path in written}
    assert len(list(tmp_path.glob("[Cc]ameras.csv"))) == 1
    before = {path: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    with pytest.raises(PropertyError, match="already"):
        start_property(tmp_path, name="y", **HERE)  # type: ignore[arg-type]
    assert {path: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()} == before


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ({"latitude": 123.0}, "-90 to 90"),
        ({"longitude": float("nan")}, "-180 to 180"),
        ({"timezone": "America/Chicgo"}, "America/Chicago"),
        ({"units": "feet"}, "imperial"),
        ({"name": "  "}, "name"),
        ({"name": "half \ud83e"}, "cannot be written"),
        ({"rut_peak": (2, 30)}, "rut_peak"),
        ({"hunting": (HuntingSeason(name="b", opens=(13, 1), closes=(1, 1)),)}, "opens"),
    ],
)
def test_an_impossible_answer_writes_nothing(
    tmp_path: Path, answer: dict[str, object], words: str
) -> None:
    with pytest.raises(PropertyError, match="nothing was written") as caught:
        start_property(tmp_path / "new", **({"name": "x", **HERE} | answer))  # type: ignore[arg-type]
    assert words in str(caught.value)
    assert not (tmp_path / "new").exists()


def test_a_file_in_the_folders_place_is_told(tmp_path: Path) -> None:
    (tmp_path / "new").write_text("", encoding="utf-8")
    with pytest.raises(OutputError, match="cannot be written"):
        start_property(tmp_path / "new", name="x", **HERE)  # type: ignore[arg-type]


@budget(max_examples=150, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_survives_toml(text: str) -> None:
    assert tomllib.loads(f"x = {toml_text(text)}") == {"x": text}


def test_a_longitude_of_another_time_zone_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "east"
    with pytest.raises(PropertyError, match=r"12 hours off the clock .* -91\.83 would fit"):
        start_property(folder, name="x", latitude=38.7, longitude=91.83, timezone="America/Chicago")
    assert not folder.exists()


def test_south_of_the_equator_the_year_is_half_a_year_on(tmp_path: Path) -> None:
    here = {"name": "x", "latitude": -38.0, "longitude": -71.0, "timezone": "America/Santiago"}
    start_property(tmp_path / "south", **here)  # type: ignore[arg-type]
    text = (tmp_path / "south" / "property.toml").read_text(encoding="utf-8")
    assert 'season_start = "12-01"' in text
    assert '# rut_peak = "05-12"' in text
    found = open_property(tmp_path / "south")
    assert found.settings.season_start == (12, 1)
    assert "season-south" not in {problem.kind for problem in found.problems}
    start_property(tmp_path / "own", **here, season_start=(10, 1))  # type: ignore[arg-type]
    assert open_property(tmp_path / "own").settings.season_start == (10, 1)
