"""Clocks asked of a whole property: light, order and travel together, and mended by their rows."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from invented.card_photos import mp4

from deerlog.errors import Problem
from deerlog.ingest.card_problems import with_harm
from deerlog.ingest.clocks.clock_problems import clock_findings
from deerlog.property import open_property
from deerlog.timekeeping.sun import sun_height

if TYPE_CHECKING:
    from conftest import Place

TODAY = date(2024, 12, 1)
ZONE = ZoneInfo("America/Chicago")


def asked(place: Place) -> list[Problem]:
    log = place.log()
    found = clock_findings(log.photos, log.sightings, open_property(place.folder))
    return list(with_harm(found, log.touch))


def write_record(place: Place, camera: str, behind_minutes: int = 0) -> None:
    """Sixty days of photos with their looks, in a CSV, by a clock some minutes behind."""
    rng = np.random.default_rng(len(camera))
    start = np.datetime64("2024-09-02", "us")
    true = np.sort(start + (rng.uniform(0, 60, 400) * 86_400e6).astype("timedelta64[us]"))
    look = np.where(sun_height(44.0, -91.0, true) > 0, "colour", "grey")
    local = pd.DatetimeIndex(true, tz="UTC").tz_convert(ZONE) - timedelta(minutes=behind_minutes)
    lines = [
        f"IMG_{i + 1:04d}.JPG,{t:%Y-%m-%d %H:%M:%S},{y}"
        for i, (t, y) in enumerate(zip(local, look, strict=True))
    ]
    place.write(f"cards/{camera}/log.csv", "file,taken,look\n" + "\n".join(lines) + "\n")


def test_no_photos_no_problems(place: Place) -> None:
    place.ingest(TODAY)
    assert asked(place) == []


def test_a_clock_an_hour_behind_is_named_and_its_row_mends_it(place: Place) -> None:
    write_record(place, "Seep", behind_minutes=60)
    write_record(place, "Gate")
    place.ingest(TODAY)
    (problem,) = asked(place)
    assert (problem.kind, problem.value) == ("clock-light", "Seep")
    log = place.log()
    assert problem.harm == (log.visits["camera"] == "Seep").sum()
    row = problem.paste
    place.write("clock.csv", f"camera,shown,actual,from,to\n{row}\n")
    assert asked(place) == []


def test_a_wrong_row_is_found_too(place: Place) -> None:
    """The row takes an hour off a clock that was right; its own row is to be replaced."""
    write_record(place, "Gate")
    place.write(
        "clock.csv",
        "camera,shown,actual,from,to\nGate,2024-09-10 12:00,2024-09-10 11:00,,\n",
    )
    place.ingest(TODAY)
    (problem,) = asked(place)
    assert "in place of row 2: " in problem.how
    row = problem.paste.split(",")
    shown, actual = (datetime.fromisoformat(cell) for cell in row[1:3])
    assert shown == actual


def test_a_reset_card_is_named_by_its_files_and_mended_by_a_row(place: Place) -> None:
    hours = timedelta(hours=5)
    place.photos("Seep/100ABCDE", datetime(2024, 9, 3, 6), 20, every=hours)  # noqa: DTZ001
    for i in range(6):
        first = datetime(2015, 1, 1, 0, 4)  # noqa: DTZ001
        place.photos(f"Seep/{101 + i}ABCDE", first + i * hours, 1, every=hours, seed=100 + i)
    place.ingest(TODAY)
    (problem,) = asked(place)
    assert problem.kind == "clock-reset"
    assert problem.file == "cards/Seep/101ABCDE/IMG_0001.JPG"
    assert "6 photos of Seep" in problem.why
    row = problem.paste.replace("<real local time>", "2024-09-08 10:00")
    place.write("clock.csv", f"camera,shown,actual,from,to\n{row}\n")
    assert asked(place) == []


def test_a_clock_that_a_person_has_seen_right_is_left_alone(place: Place) -> None:
    """The row of the finding, with the shown time as actual; on a fixed clock in its own time."""
    write_record(place, "Seep", behind_minutes=60)
    place.ingest(TODAY)
    (problem,) = asked(place)
    camera, shown, actual, *bounds = problem.paste.split(",")
    assert "If the clock was right, give the shown time as actual too" in problem.how

    def says(row: list[str], clock: str = "local") -> list[str]:
        place.write("clock.csv", "camera,shown,actual,from,to\n" + ",".join(row) + "\n")
        cameras = (place.folder / "cameras.csv").read_text(encoding="utf-8")
        place.write("cameras.csv", cameras.replace(",,,no,", f",,{clock},no,"))
        return [p.kind for p in asked(place)]

    assert says([camera, shown, shown, *bounds]) == []
    assert says([camera, shown, shown, "", ""]) == []
    # Seen right before the fault, or over a part of it, is no answer.
    assert says([camera, "2024-08-20 12:00", "2024-08-20 12:00", "", ""]) == ["clock-light"]
    assert says([camera, shown, shown, "2024-09-20", ""]) == ["clock-light"]
    # A clock on standard time in summer shows an hour less than the real local time.
    assert says([camera, shown, actual, *bounds], clock="UTC-6") == []


def test_videos_with_a_counter_of_their_own_accuse_no_clock(place: Place) -> None:
    hours = timedelta(hours=5)
    start = datetime(2024, 9, 3, 6)  # noqa: DTZ001
    place.photos("Seep/100ABCDE", start, 30, every=hours)
    for i in range(6):
        place.card(f"Seep/100ABCDE/VID_{i + 1:04d}.MP4", mp4(start + timedelta(hours=20 + 9 * i)))
    place.ingest(TODAY)
    assert [p.kind for p in asked(place) if p.kind.startswith("clock-")] == []


def test_a_buck_in_two_places_at_once(place: Place) -> None:
    cameras = (place.folder / "cameras.csv").read_text(encoding="utf-8")
    place.write("cameras.csv", cameras.replace("44.001,-91.0", "44.03,-91.0"))
    for camera, minute in (("Seep", 0), ("Gate", 1)):
        first = datetime(2024, 10, 1, 7, minute)  # noqa: DTZ001
        place.photos(camera, first, 1, every=timedelta(1), seed=minute)
    place.ingest(TODAY)
    for camera in ("Seep", "Gate"):
        place.tag(camera, "IMG_0001.JPG", "Splitbrow")
    (problem,) = asked(place)
    assert (problem.kind, problem.bucks) == ("tag-travel", ("Splitbrow",))
    assert "2.1 miles off" in problem.why
    place.tag("Gate", "IMG_0001.JPG", "Splitbrow?")
    assert asked(place) == []
