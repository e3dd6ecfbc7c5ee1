"""The invented farm: its spots, cameras, placements, stands and card checks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

NAME = "Nettlepost Farm"
LATITUDE, LONGITUDE = 40.3127, -92.3618
ZONE = "America/Chicago"
FIRST_DAY, LAST_DAY = date(2024, 6, 1), date(2026, 11, 22)
SEASONS = (2024, 2025, 2026)

METRES_PER_DEGREE = 111_195.0  # along a meridian on a sphere of 6371 km; plenty for a farm


def coordinates(east_m: float, north_m: float) -> tuple[float, float]:
    """Latitude and longitude (degrees, 6 places) of a point so many metres from the centre."""
    latitude = LATITUDE + north_m / METRES_PER_DEGREE
    longitude = LONGITUDE + east_m / (METRES_PER_DEGREE * math.cos(math.radians(LATITUDE)))
    return round(latitude, 6), round(longitude, 6)


@dataclass(frozen=True)
class Site:
    """A spot on the ground, in metres east and north of the farm's centre."""

    name: str
    setting: str
    east_m: float
    north_m: float
    bystanders_a_day: float
    """Visits a day by anything but a named buck."""
    bait: bool = False


SITES = {
    site.name: site
    for site in (
        Site("Bean Corner", "food", -780, -420, 1.3),
        Site("Old Orchard", "food", -300, -560, 1.35, bait=True),
        Site("Willow Seep", "water", -150, -380, 1.1),
        Site("Pipe Gate", "travel", -420, -150, 1.05),
        Site("Creek Ford", "travel", -60, 120, 1.05),
        Site("Clover Strip", "food", 310, 60, 1.4),
        Site("Split Oak", "scrape", 340, 255, 1.05),
        Site("Saddle", "travel", 150, 400, 1.05),
        Site("Corn Tail", "food", 640, 540, 2.0),
        Site("Cedar Point", "bed", -520, 480, 1.0),
        Site("Sumac Bench", "bed", 560, 300, 1.05),
        Site("Line Fence", "travel", 900, -240, 1.05),
    )
}


@dataclass(frozen=True)
class Make:
    """An invented make of camera, and how it writes its cards."""

    make: str
    model: str
    folder: str
    prefix: str
    restarts: bool
    """The numbering starts over when a card is cleared."""
    writes_flash: bool
    aperture: tuple[int, int]


FENNOCK = Make("Fennock", "F-12", "100FENOK", "FENO", False, True, (28, 10))
MARROWBY = Make("Marrowby", "M3", "100MRRBY", "MRBY", False, False, (24, 10))
TARNBECK = Make("Tarnbeck", "TB20", "100_TBCK", "PICT", True, True, (31, 10))


@dataclass(frozen=True)
class Camera:
    """A device; ``grey_below`` is the height of the sun (degrees) below which it sees grey."""

    name: str
    make: Make
    serial: str
    grey_below: float
    clock: str = "local"


CAMERAS = {
    camera.name: camera
    for camera in (
        Camera("cam-01", FENNOCK, "F12-20417", -3.5),
        Camera("cam-02", FENNOCK, "F12-20422", -3.0),
        Camera("cam-03", MARROWBY, "M3-008153", -4.5),
        Camera("cam-04", TARNBECK, "TB20-6640", -2.5),
        Camera("cam-05", TARNBECK, "TB20-6671", -4.0),
        Camera("cam-06", FENNOCK, "F12-31090", -3.0),
        Camera("cam-07", MARROWBY, "M3-008160", -4.8),
        Camera("cam-08", TARNBECK, "TB20-7125", -2.2),
        Camera("cam-09", MARROWBY, "M3-011902", -3.8),
        Camera("cam-10", TARNBECK, "TB20-8003", -3.2, clock="UTC-6"),
        Camera("cam-11", FENNOCK, "F12-40256", -3.4),
    )
}


@dataclass(frozen=True)
class Placement:
    """A camera at a site; ``end`` None is still there. A shared day of a move splits at noon."""

    camera: str
    site: str
    start: date
    end: date | None
    notes: str = ""


# The cameras come home after the season and go out again in June: in between, bucks carry no
# antlers and cannot be told apart anyway.
SET_OUT = {2024: date(2024, 6, 15), 2025: date(2025, 6, 14), 2026: date(2026, 6, 13)}
PULLED = {2024: date(2025, 2, 1), 2025: date(2026, 1, 31)}
MOVE_DAY = date(2025, 9, 7)

_FIRST_SEASON = {"cam-09": 2025, "cam-10": 2025, "cam-11": 2026}
_HOME = {
    "cam-01": "Bean Corner",
    "cam-02": "Clover Strip",
    "cam-03": "Pipe Gate",
    "cam-04": "Old Orchard",
    "cam-05": "Saddle",
    "cam-06": "Corn Tail",
    "cam-07": "Willow Seep",
    "cam-08": "Creek Ford",
    "cam-09": "Cedar Point",
    "cam-10": "Line Fence",
    "cam-11": "Sumac Bench",
}


def placements() -> list[Placement]:
    """Every placement, by camera and start."""
    rows = []
    for camera, home in _HOME.items():
        for season in SEASONS:
            if season < _FIRST_SEASON.get(camera, SEASONS[0]):
                continue
            start, end = SET_OUT[season], PULLED.get(season)
            if camera != "cam-04" or season == 2024:
                rows.append(Placement(camera, home, start, end))
            elif season == 2025:
                rows.append(Placement(camera, home, start, MOVE_DAY, "feeder empty, moved"))
                rows.append(Placement(camera, "Split Oak", MOVE_DAY, end, "on the big scrape"))
            else:
                rows.append(Placement(camera, "Split Oak", start, end))
    return rows


CHECKS = {
    2024: ("07-06", "07-28", "08-18", "09-08", "09-29", "10-20", "11-10", "12-01", "12-29"),
    2025: ("07-05", "07-27", "08-17", "09-07", "09-28", "10-19", "11-09", "11-30", "12-28"),
    2026: ("07-05", "07-26", "08-16", "09-06", "09-20", "10-11", "10-25", "11-08", "11-22"),
}
"""Days on which the cards were pulled, "MM-DD". Not the setting out and the last pull."""


def check_days(camera: str, season: int) -> list[date]:
    """The days a camera's card was pulled in a season, the last pull included."""
    days = [date.fromisoformat(f"{season}-{day}") for day in CHECKS[season]]
    if camera == "cam-06" and season == 2026:
        # Nobody went in on the 8th; he had been there on the 1st, as the clocks went back.
        days = [date(2026, 11, 1) if day == date(2026, 11, 8) else day for day in days]
    if season in PULLED:
        days.append(PULLED[season])
    return days


@dataclass(frozen=True)
class Stand:
    """A place to hunt from and the sites it covers."""

    name: str
    sites: tuple[str, ...]
    east_m: float
    north_m: float
    use: str
    winds: str
    rest_days: int
    notes: str = ""


STANDS = (
    Stand(
        "Hackberry Ladder", ("Clover Strip",), 350, 40, "evening", "N;NW;W", 3, "in by the ditch"
    ),
    Stand("Saddle Hang-on", ("Saddle", "Split Oak"), 190, 370, "morning", "NW;W;SW", 4),
    Stand("Bench Hang-on", ("Sumac Bench",), 520, 285, "morning", "S;SW;W", 5, "rut only"),
    Stand("Corn Blind", ("Corn Tail",), 690, 500, "evening", "", 2, "box blind, any wind"),
    Stand("Ford Ladder", ("Creek Ford", "Pipe Gate"), -110, 95, "either", "N;NE;E", 3),
    Stand("Bean Tripod", ("Bean Corner",), -740, -450, "evening", "N;NE;NW", 3, "September only"),
    Stand("Fence Ladder", ("Line Fence",), 880, -270, "either", "W;SW;NW", 3),
)
