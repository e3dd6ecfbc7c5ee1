"""A small invented property with cards, for the tests of ingest."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from invented.card_photos import photo, put
from invented.killed_runs import Result, ingest, result

from deerlog.ingest.field_log import FieldLog, read_field_log
from deerlog.ingest.run import ingest_cards
from deerlog.ingest.summary import IngestSummary
from deerlog.one_thread import one_thread
from deerlog.property import open_property

TODAY = date(2024, 12, 1)

SETTINGS = """\
name = "Alder Bottom"
latitude = 44.0
longitude = -91.0
timezone = "America/Chicago"
rut_peak = "11-12"
"""
CAMERAS = """\
camera,site,setting,latitude,longitude,start,end,clock,bait,notes
Seep,Seep,water,44.0,-91.0,2024-09-01,,,no,
Gate,Gate,travel,44.001,-91.0,2024-09-01,,,no,
"""
BUCKS = """\
buck,target,born,aliases,notes
Old Plow,yes,2018,Plow,
Splitbrow,no,,,
"""


class Place:
    """A property folder that a test fills; one that is there already is taken as it is."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        if not folder.exists():
            self.write("property.toml", SETTINGS)
            self.write("cameras.csv", CAMERAS)
            self.write("bucks.csv", BUCKS)

    def write(self, name: str, text: str) -> None:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())

    def card(self, name: str, content: bytes, *, age_days: float = 0.0) -> Path:
        return put(self.folder / "cards" / name, content, age_days=age_days)

    def photos(
        self, folder: str, first: datetime, count: int, *, every: timedelta, seed: int = 0
    ) -> None:
        for i in range(count):
            name = f"{folder}/IMG_{i + 1:04d}.JPG"
            self.card(name, photo(first + i * every, seed=seed + i))

    def ingest(self, today: date = TODAY, **how: int) -> IngestSummary:
        return ingest_cards(open_property(self.folder), today=today, **how)

    def log(self) -> FieldLog:
        return read_field_log(open_property(self.folder))

    def sheet(self, camera: str) -> str:
        return (self.folder / "tags" / f"{camera}.csv").read_text(encoding="utf-8")

    def tag(self, camera: str, photo_path: str, bucks: str) -> None:
        """Fill the ``bucks`` cell of a row, as a person would."""
        lines = self.sheet(camera).splitlines()
        cells = [line.split(",") for line in lines]
        column = cells[0].index("bucks")
        hits = [row for row in cells if row[0] == photo_path]
        assert len(hits) == 1
        hits[0][column] = bucks
        self.write(f"tags/{camera}.csv", "".join(",".join(row) + "\n" for row in cells))

    def everything(self) -> dict[str, bytes]:
        """Every file of the property with its bytes."""
        return {
            path.relative_to(self.folder).as_posix(): path.read_bytes()
            for path in sorted(self.folder.rglob("*"))
            if path.is_file()
        }


@pytest.fixture(scope="session", autouse=True)
def on_one_thread() -> Iterator[None]:
    """As a study asks for clocks: threads cost more here than they save."""
    with one_thread():
        yield


@pytest.fixture(scope="session")
def place_at() -> Callable[[Path], Place]:
    """Makes a `Place` of a folder: for what is made once and copied for each test."""
    return Place


@pytest.fixture
def place(tmp_path: Path) -> Place:
    return Place(tmp_path / "alder")


@pytest.fixture(scope="session")
def at() -> Callable[..., datetime]:
    """A naive time in the fall of 2024: month, day, hour, minute, second."""

    def time(month: int, day: int, hour: int = 12, minute: int = 0, second: int = 0) -> datetime:
        return datetime(2024, month, day, hour, minute, second)  # noqa: DTZ001

    return time


@pytest.fixture(scope="session")
def eventful(at: Callable[..., datetime], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Cards with enough on them to be interrupted in, and a sheet with a tag in it. To be copied.

    Gate has been ingested and tagged once; the rest is new.
    """
    place = Place(tmp_path_factory.mktemp("eventful") / "before")
    place.photos("Gate/DCIM", at(10, 1), 3, every=timedelta(hours=1), seed=900)
    ingest(place.folder)
    place.tag("Gate", "DCIM/IMG_0002.JPG", "Old Plow")
    place.photos("Seep/DCIM/100", at(10, 5), 12, every=timedelta(minutes=20))
    place.photos("Seep/DCIM/101", at(11, 5), 11, every=timedelta(minutes=45), seed=200)
    place.photos("Gate/DCIM/again", at(10, 5), 6, every=timedelta(minutes=20))
    place.card("Gate/log.csv", b"file,taken\nx.jpg,2024-10-09 10:00\ny.jpg,2024-10-09 11:00\n")
    place.card("Seep/zero.jpg", b"")
    return place.folder


@pytest.fixture(scope="session")
def expected(eventful: Path) -> Result:
    """What a run on them comes to that nothing interrupts."""
    whole = eventful.with_name("whole")
    shutil.copytree(eventful, whole)
    ingest(whole)
    return result(whole)
