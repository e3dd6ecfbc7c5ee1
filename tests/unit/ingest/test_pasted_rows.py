"""Every row that `check` prints to be pasted is read back, mends what it is for, and nothing else.

The real times are known here, as a person would have found them out, so that each photo can be
held against its true instant afterwards.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from invented.card_photos import mp4, photo

from deerlog.errors import Problem
from deerlog.property import open_property
from deerlog.study import open_study
from deerlog.timekeeping.sun import sun_height

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
ZONE = ZoneInfo("America/Chicago")
FACTORY = datetime(2001, 1, 1)  # noqa: DTZ001
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
CLOCKS, OUTAGES = "camera,shown,actual,from,to\n", "camera,from,to,status\n"


def checked(place: Place, kind: str) -> list[Problem]:
    """What ``deerlog check`` says of one kind, most harmful first."""
    return [p for p in open_study(place.folder).problems if p.kind == kind]


def paste(place: Place, *rows: str, name: str = "clock.csv", head: str = CLOCKS) -> None:
    """Add rows as they are, and see that the table's own reader has nothing against them."""
    path = place.folder / name
    before = path.read_text(encoding="utf-8") if path.exists() else head
    place.write(name, before + "".join(f"{row}\n" for row in rows))
    assert [p for p in open_property(place.folder).problems if p.file == name] == []


def put(place: Place, camera: str, shown: Iterable[datetime], *, first: int = 1) -> None:
    """Numbered photos on a card, in the order in which they were taken."""
    for number, time in enumerate(shown, start=first):
        place.card(f"{camera}/DCIM/100ABCDE/IMG_{number:04d}.JPG", photo(time, seed=number))


def local(place: Place, camera: str = "Seep") -> list[datetime]:
    """Corrected times of one camera's photos in order of their paths."""
    photos = place.log().photos
    mine = photos[photos["camera"] == camera]
    return [time.replace(tzinfo=None) for time in mine["local"].dt.to_pydatetime()]


def run_of(start: datetime, n: int, every: timedelta = 5 * HOUR) -> list[datetime]:
    return [start + i * every for i in range(n)]


def test_one_reset_before_2005(place: Place, at: At) -> None:
    true = run_of(at(9, 3, 6), 10) + run_of(at(9, 20, 6), 6) + run_of(at(10, 3, 6), 10)
    shown = [*true[:10], *[FACTORY + (t - true[10]) for t in true[10:16]], *true[16:]]
    put(place, "Seep", shown)
    place.ingest()
    (problem,) = checked(place, "impossible-time")
    assert (problem.harm, problem.camera) == (6.0, "Seep")
    paste(place, problem.paste.replace("<real local time>", f"{true[10]}"))
    assert local(place) == true
    assert checked(place, "impossible-time") == []
    assert place.ingest().visits == 26


def test_a_clock_that_shows_the_future(place: Place, at: At) -> None:
    true = run_of(at(9, 3, 6), 12)
    put(place, "Seep", [t + timedelta(days=365) for t in true])
    place.ingest()
    (problem,) = checked(place, "impossible-time")
    paste(place, problem.paste.replace("<real local time>", f"{true[0]}"))
    # The last photo too: `to` is not included, so it lies behind that.
    assert local(place) == true
    assert checked(place, "impossible-time") == []


def test_a_fault_that_goes_on_over_two_cards_is_one_row(place: Place, at: At) -> None:
    true = run_of(at(9, 3, 6), 12)
    for card, times in (("a", true[:6]), ("b", true[6:])):
        for i, time in enumerate(times):
            ahead = photo(time + timedelta(days=365), seed=100 * ord(card) + i)
            place.card(f"Seep/{card}/IMG_{i + 1:04d}.JPG", ahead)
    place.ingest()
    (problem,) = checked(place, "impossible-time")
    paste(place, problem.paste.replace("<real local time>", f"{true[0]}"))
    assert local(place) == true


def test_two_resets_that_do_not_overlap_get_a_row_each(place: Place, at: At) -> None:
    first, second = run_of(at(9, 3, 6), 4), run_of(at(9, 20, 6), 4)
    between = run_of(at(9, 10, 6), 4)
    other = datetime(2003, 1, 1)  # noqa: DTZ001
    put(place, "Seep", [FACTORY + (t - first[0]) for t in first])
    put(place, "Seep", between, first=5)
    put(place, "Seep", [other + (t - second[0]) for t in second], first=9)
    place.ingest()
    problems = checked(place, "impossible-time")
    assert [p.harm for p in problems] == [4.0, 4.0]
    for problem, begins in zip(problems, (first[0], second[0]), strict=True):
        paste(place, problem.paste.replace("<real local time>", f"{begins}"))
    assert local(place) == first + between + second


def test_resets_to_the_same_date_cannot_be_told_apart_by_a_row(place: Place, at: At) -> None:
    true = run_of(at(9, 3, 6), 6)
    put(place, "Seep", [FACTORY + (t - true[0]) for t in true])
    put(place, "Seep", [FACTORY + (t - true[0]) for t in true], first=7)
    place.ingest()
    problems = checked(place, "impossible-time")
    assert [p.paste for p in problems] == ["", ""]
    assert all("folder of their own" in p.how for p in problems)
    # As it says: the second run in a folder of its own, with rows of its own.
    cards = place.folder / "cards"
    for number in range(7, 13):
        name = f"DCIM/100ABCDE/IMG_{number:04d}.JPG"
        (cards / "Seep 2" / name).parent.mkdir(parents=True, exist_ok=True)
        (cards / "Seep" / name).rename(cards / "Seep 2" / name)
    text = (place.folder / "cameras.csv").read_text(encoding="utf-8")
    place.write("cameras.csv", text + "Seep 2,Seep,water,44.0,-91.0,2024-09-01,,,no,\n")
    place.ingest()
    problems = checked(place, "impossible-time")
    assert len(problems) == 2
    for problem in problems:
        begins = true[0] if problem.camera == "Seep" else true[0] + timedelta(days=10)
        paste(place, problem.paste.replace("<real local time>", f"{begins}"))
    assert checked(place, "impossible-time") == []
    assert local(place, "Seep 2") == [t + timedelta(days=10) for t in true]


@pytest.mark.parametrize("name", ["Seep", "Seep, lower"])
def test_a_reset_to_a_later_year_and_a_name_that_needs_quoting(
    place: Place, at: At, name: str
) -> None:
    text = (place.folder / "cameras.csv").read_text(encoding="utf-8")
    place.write("cameras.csv", text.replace("Seep,Seep", f'"{name}",Seep'))
    true = run_of(at(9, 3, 6), 10) + run_of(at(9, 20, 6), 6)
    reset = datetime(2015, 1, 1, 0, 4)  # noqa: DTZ001
    put(place, name, [*true[:10], *[reset + (t - true[10]) for t in true[10:]]])
    place.ingest()
    (problem,) = checked(place, "clock-reset")
    paste(place, problem.paste.replace("<real local time>", f"{true[10]}"))
    assert local(place, name) == true
    assert checked(place, "clock-reset") == []


def test_a_clock_put_back_and_put_right_again(place: Place, at: At) -> None:
    true = run_of(at(9, 3, 6), 60)
    # A fortnight early for ten photos, at a time of which no other photo shows.
    shown = [t - timedelta(days=30) if 30 <= i < 40 else t for i, t in enumerate(true)]
    put(place, "Seep", shown)
    place.ingest()
    (problem,) = checked(place, "clock-backwards")
    paste(place, problem.paste.replace("<real local time>", f"{true[30]}"))
    assert local(place) == true
    assert checked(place, "clock-backwards") == []


def test_two_resets_in_a_row_are_two_runs(place: Place, at: At) -> None:
    true = run_of(at(9, 3, 6), 24)
    shown = list(true)
    for begins, year in ((8, 2015), (16, 2012)):
        reset = datetime(year, 1, 1, 0, 4)  # noqa: DTZ001
        for i in range(begins, begins + 8):
            shown[i] = reset + (true[i] - true[begins])
    put(place, "Seep", shown)
    place.ingest()
    problems = checked(place, "clock-reset")
    assert len(problems) == 2
    for problem in problems:
        number = int(problem.file[-8:-4])
        paste(place, problem.paste.replace("<real local time>", f"{true[number - 1]}"))
    assert local(place) == true
    assert checked(place, "clock-reset") == []


Behind = Callable[[np.ndarray], np.ndarray]


def looks(place: Place, camera: str, behind_minutes: Behind) -> list[str]:
    """A record of looks in a CSV by a clock that is off; gives the true local times."""
    rng = np.random.default_rng(len(camera))
    start = np.datetime64("2024-09-02", "us")
    true = np.sort(start + (rng.uniform(0, 80, 500) * 86_400e6).astype("timedelta64[us]"))
    true = true.astype("datetime64[s]").astype("datetime64[us]")
    look = np.where(sun_height(44.0, -91.0, true) > 0, "colour", "grey")
    wall = pd.DatetimeIndex(true, tz="UTC").tz_convert(ZONE).tz_localize(None)
    shown = wall - pd.to_timedelta(behind_minutes(np.asarray(true)), unit="m")
    rows = zip(shown, look, strict=True)
    lines = [f"IMG_{i:04d}.JPG,{t:%Y-%m-%d %H:%M:%S},{y}" for i, (t, y) in enumerate(rows, 1)]
    place.write(f"cards/{camera}/log.csv", "file,taken,look\n" + "\n".join(lines) + "\n")
    return [str(t) for t in wall]


BATTERIES = np.datetime64("2024-10-05T18:00", "us")


@pytest.mark.parametrize(
    ("name", "behind"),
    [
        ("an hour behind", lambda true: np.full(len(true), 60)),
        ("morning and evening swapped", lambda true: np.full(len(true), 720)),
        ("from a battery change on", lambda true: np.where(true >= BATTERIES, 60, 0)),
        ("until a battery change", lambda true: np.where(true < BATTERIES, 120, 0)),
        # Not set back with local time on 3 November 2024, 07:00 UTC.
        ("left on summer time",
         lambda true: np.where(true >= np.datetime64("2024-11-03T07:00"), -60, 0)),
    ],
)  # fmt: skip
def test_faults_by_light(place: Place, name: str, behind: Behind) -> None:
    true = looks(place, "Seep", behind)
    place.ingest()
    (problem,) = checked(place, "clock-light")
    paste(place, problem.paste)
    assert checked(place, "clock-light") == []
    got = place.log().photos["local"].dt.tz_localize(None).sort_values()
    off = np.abs(got.to_numpy() - np.sort(np.array(true, dtype="datetime64[us]")))
    # Light knows a shift to some minutes, and a change to the photos between two looks.
    right = off <= np.timedelta64(10, "m")
    if "swapped" in name:
        right |= np.abs(off - np.timedelta64(24, "h")) <= np.timedelta64(10, "m")
    assert right.mean() >= 0.98


def test_a_row_for_part_of_the_time_leaves_a_wider_one_its_say(place: Place) -> None:
    """A clock an hour behind, mended by a row; then left on summer time besides."""
    night = np.datetime64("2024-11-03T07:00")
    true = looks(place, "Seep", lambda t: np.where(t >= night, 0, 60))
    place.write("clock.csv", f"{CLOCKS}Seep,2024-09-10 11:00,2024-09-10 12:00,,\n")
    place.ingest()
    (problem,) = checked(place, "clock-light")
    assert "in place of" not in problem.how
    paste(place, problem.paste)
    assert checked(place, "clock-light") == []
    got = place.log().photos["local"].dt.tz_localize(None).sort_values()
    off = np.abs(got.to_numpy() - np.sort(np.array(true, dtype="datetime64[us]")))
    assert (off <= np.timedelta64(10, "m")).mean() >= 0.98


@pytest.mark.parametrize("name", ["Seep", "Seep, lower"])
def test_a_silence_that_was_none(place: Place, at: At, name: str) -> None:
    text = (place.folder / "cameras.csv").read_text(encoding="utf-8")
    place.write("cameras.csv", text.replace("Seep,Seep", f'"{name}",Seep'))
    rows = []
    for hours in range(0, 24 * 80, 5):
        when = at(9, 2, 6) + timedelta(hours=hours)
        if not at(10, 5) <= when < at(10, 25):
            rows.append(f"{hours}.jpg,{when}\n")
    place.write(f"cards/{name}/log.csv", "file,taken\n" + "".join(rows))
    place.ingest()
    if name == "Seep":
        place.tag(name, rows[150].split(",")[0], "Splitbrow")
    (problem,) = checked(place, "silent-stretch")
    assert problem.bucks == (("Splitbrow",) if name == "Seep" else ())
    assert 85 <= problem.harm <= 100  # 20 days of a photo each five hours
    paste(place, problem.paste, name="outages.csv", head=OUTAGES)
    assert checked(place, "silent-stretch") == []
    effort = place.log().effort
    mine = effort[(effort["day"] >= at(10, 3)) & (effort["day"] < at(10, 28))]
    assert mine["camera_day"].tolist() == [1.0] * 25


@pytest.mark.parametrize(
    ("kind", "file", "content"),
    [
        ("time-of-change", "IMG_0002.JPG", lambda t: photo(None, changed=f"{t:%Y:%m:%d %H:%M:%S}")),
        ("time-of-container", "VID_0002.MP4", mp4),
    ],
)
def test_a_lesser_time_that_is_wrong(
    place: Place, at: At, kind: str, file: str, content: Callable[[datetime], bytes]
) -> None:
    """By the container's UTC, or by a file saved later; photos of the same minute stay."""
    place.card("Seep/IMG_0001.JPG", photo(at(10, 5, 12, 0, 5), seed=1))
    place.card(f"Seep/{file}", content(at(10, 5, 12, 0, 7)))
    place.card("Seep/IMG_0003.JPG", photo(at(10, 5, 12, 0, 9), seed=3))
    place.ingest()
    (problem,) = checked(place, kind)
    assert not problem.must_mend
    paste(place, problem.paste.replace("<real local time>", "2024-10-05 07:00:07"))
    assert checked(place, kind) == []
    assert sorted(f"{t:%H:%M:%S}" for t in local(place)) == ["07:00:07", "12:00:05", "12:00:09"]


def test_a_camera_whose_bucks_are_elsewhere_too_soon(place: Place, at: At) -> None:
    """Gate is two miles off and an hour behind; Pond, as far again, keeps the right time."""
    place.write(
        "cameras.csv",
        "camera,site,latitude,longitude,start\nSeep,Seep,44.0,-91.0,2024-09-01\n"
        "Gate,Gate,44.03,-91.0,2024-09-01\nPond,Pond,43.97,-91.0,2024-09-01\n",
    )
    bucks = ("Old Plow", "Splitbrow")
    for i in range(8):
        # Seen at Gate an hour after, which its clock calls the same minute.
        near = ("Seep", "Pond")[i // 2 % 2]
        morning = at(10, 3 + i, 7)
        place.card(f"{near}/IMG_{i + 1:04d}.JPG", photo(morning, seed=i))
        place.card(f"Gate/IMG_{i + 1:04d}.JPG", photo(morning + MINUTE, seed=50 + i))
    place.ingest()
    for i in range(8):
        for camera in (("Seep", "Pond")[i // 2 % 2], "Gate"):
            place.tag(camera, f"IMG_{i + 1:04d}.JPG", bucks[i % 2])
    (problem,) = checked(place, "clock-travel")
    assert (problem.value, problem.bucks) == ("Gate", bucks)
    assert problem.harm == 8.0
    assert checked(place, "tag-travel") == []
    row = problem.paste.replace("<what it showed>", "2024-10-03 07:01")
    paste(place, row.replace("<real local time>", "2024-10-03 08:01"))
    assert checked(place, "clock-travel") == checked(place, "tag-travel") == []
