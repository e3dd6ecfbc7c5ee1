"""The invented bucks: who they are, when they are here, and where on the ground."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from drawing.ground import FIRST_DAY, LAST_DAY

Days = tuple[str, str]
"""First and last day, both included, ``YYYY-MM-DD``."""


@dataclass(frozen=True, kw_only=True)
class Buck:
    """A buck and the truth about him.

    Attributes
    ----------
    around
        For each season in which he came, the days he was here, first and last.
    pattern
        ``year-round``, ``fall``, ``summer``, ``rut``, or blank for the one who is undecided.
    absences
        Stretches inside ``around`` when he was off the property.
    summer_centre, fall_centre
        Centre of his range in metres east and north of the farm's centre.
    change
        For each season, the day his range moves from the summer to the fall centre.
    spread_m
        How far from the centre his use falls off (a standard deviation).
    visits_a_day
        Visits to camera sites on an average day when he is here.
    shy_hours
        How much later than others he comes out in the evening.
    morning
        How much more than others he moves in the morning (1 = as others).
    """

    name: str
    pattern: str
    around: dict[int, Days]
    summer_centre: tuple[float, float]
    fall_centre: tuple[float, float]
    visits_a_day: float
    spread_m: float = 330.0
    target: bool = False
    born: int | None = None
    aliases: tuple[str, ...] = ()
    notes: str = ""
    absences: tuple[Days, ...] = ()
    change: dict[int, str] = field(default_factory=dict)
    shy_hours: float = 0.0
    morning: float = 1.0
    only_days: tuple[str, ...] = ()
    only_site: str = ""

    @property
    def label(self) -> str:
        """The label he should have on the last day."""
        if not self.pattern:
            return "undecided"
        return "resident" if self.pattern in ("year-round", "fall") else "visiting"

    def days_around(self) -> list[date]:
        """Every day on which he was on the property, within the years drawn."""
        days = []
        for first, last in self.around.values():
            day, end = date.fromisoformat(first), min(date.fromisoformat(last), LAST_DAY)
            while day <= end:
                gone = any(
                    date.fromisoformat(a) <= day <= date.fromisoformat(b) for a, b in self.absences
                )
                if day >= FIRST_DAY and not gone:
                    days.append(day)
                day += timedelta(days=1)
        return days


def _all_year(*seasons: int) -> dict[int, Days]:
    return {season: (f"{season}-06-01", f"{season + 1}-05-31") for season in seasons}


BUCKS = (
    Buck(
        name="Ladle",
        pattern="year-round",
        target=True,
        born=2020,
        notes="long flat tine on the left, like a spoon",
        around=_all_year(2024, 2025, 2026),
        summer_centre=(-640, -400),
        fall_centre=(330, 210),
        change={2024: "2024-09-05", 2025: "2025-08-31", 2026: "2026-09-07"},
        visits_a_day=0.60,
        shy_hours=0.25,
        absences=(("2024-10-06", "2024-10-21"), ("2025-12-08", "2025-12-23")),
    ),
    Buck(
        name="Bellows",
        pattern="year-round",
        target=True,
        born=2021,
        notes="wide, heavy, noisy on the bench",
        around=_all_year(2024, 2025, 2026),
        summer_centre=(520, 470),
        fall_centre=(420, 380),
        visits_a_day=0.56,
        morning=2.2,
        shy_hours=0.15,
        absences=(("2025-10-09", "2025-10-28"), ("2026-08-16", "2026-08-29")),
    ),
    Buck(
        name="Tongs",
        pattern="year-round",
        born=2022,
        aliases=("Mallet",),
        notes="called Mallet in 2024, same split brow tine",
        around=_all_year(2024, 2025, 2026),
        summer_centre=(-260, -500),
        fall_centre=(-390, 330),
        change={2024: "2024-09-12", 2025: "2025-09-08", 2026: "2026-09-02"},
        visits_a_day=0.52,
        absences=(("2025-11-03", "2025-11-16"),),
    ),
    Buck(
        name="Thimble",
        pattern="year-round",
        born=2023,
        notes="small rack, white throat",
        around={2025: ("2025-06-20", "2026-05-31"), 2026: ("2026-06-01", "2027-05-31")},
        summer_centre=(-160, -180),
        fall_centre=(-40, 40),
        visits_a_day=0.50,
        absences=(("2026-10-02", "2026-10-17"),),
    ),
    Buck(
        name="Sawhorse",
        pattern="fall",
        target=True,
        born=2020,
        notes="four even tines a side",
        around={
            2024: ("2024-09-07", "2025-05-02"),
            2025: ("2025-09-15", "2026-04-20"),
            2026: ("2026-09-03", "2027-04-25"),
        },
        summer_centre=(300, 180),
        fall_centre=(300, 180),
        visits_a_day=0.62,
        shy_hours=0.3,
        absences=(("2024-12-02", "2024-12-18"), ("2026-10-01", "2026-10-14")),
    ),
    Buck(
        name="Picket",
        pattern="fall",
        born=2022,
        notes="tall and narrow",
        around={2025: ("2025-09-24", "2026-04-10"), 2026: ("2026-09-12", "2027-04-15")},
        summer_centre=(-380, 340),
        fall_centre=(-380, 340),
        visits_a_day=0.58,
    ),
    Buck(
        name="Kettle",
        pattern="fall",
        born=2021,
        notes="round belly, short main beams",
        around={
            2024: ("2024-08-27", "2025-03-28"),
            2025: ("2025-09-10", "2026-04-02"),
            2026: ("2026-09-18", "2027-04-01"),
        },
        summer_centre=(640, 20),
        fall_centre=(640, 20),
        visits_a_day=0.60,
        spread_m=380.0,
        absences=(("2025-12-27", "2026-01-12"),),
    ),
    Buck(
        name="Whisk",
        pattern="summer",
        born=2021,
        notes="thin tines, runs with Ladle in July",
        around={
            2024: ("2024-05-20", "2024-09-06"),
            2025: ("2025-05-12", "2025-08-30"),
            2026: ("2026-05-18", "2026-09-09"),
        },
        summer_centre=(-660, -380),
        fall_centre=(-660, -380),
        visits_a_day=0.62,
    ),
    Buck(
        name="Spindle",
        pattern="summer",
        born=2022,
        around={2025: ("2025-05-22", "2025-09-11"), 2026: ("2026-05-15", "2026-09-02")},
        summer_centre=(-240, -440),
        fall_centre=(-240, -440),
        visits_a_day=0.58,
    ),
    Buck(
        name="Trowel",
        pattern="summer",
        born=2021,
        notes="flat brow tine",
        around={
            2024: ("2024-05-10", "2024-08-29"),
            2025: ("2025-05-25", "2025-09-03"),
            2026: ("2026-05-16", "2026-09-06"),
        },
        summer_centre=(520, 420),
        fall_centre=(520, 420),
        visits_a_day=0.60,
    ),
    Buck(
        name="Gimlet",
        pattern="rut",
        target=True,
        born=2020,
        notes="corkscrew right beam; only ever in November",
        around={
            2024: ("2024-11-07", "2024-11-16"),
            2025: ("2025-11-06", "2025-11-17"),
            2026: ("2026-11-07", "2026-11-17"),
        },
        summer_centre=(210, 240),
        fall_centre=(210, 240),
        visits_a_day=1.15,
        spread_m=420.0,
    ),
    Buck(
        name="Bent Fork",
        pattern="rut",
        born=2021,
        around={
            2024: ("2024-11-10", "2024-11-20"),
            2025: ("2025-11-11", "2025-11-21"),
            2026: ("2026-11-09", "2026-11-19"),
        },
        summer_centre=(-260, 120),
        fall_centre=(-260, 120),
        visits_a_day=1.25,
        spread_m=420.0,
    ),
    Buck(
        name="Washboard",
        pattern="rut",
        born=2021,
        notes="ribs like one, that winter",
        around={2025: ("2025-11-14", "2025-11-24"), 2026: ("2026-11-12", "2026-11-23")},
        summer_centre=(560, 0),
        fall_centre=(560, 0),
        visits_a_day=1.10,
        spread_m=420.0,
    ),
    Buck(
        name="Hinge",
        pattern="",
        notes="new at the east line, who is he?",
        around={2026: ("2026-10-21", "2026-11-03")},
        summer_centre=(900, -240),
        fall_centre=(900, -240),
        visits_a_day=0.0,
        only_days=("2026-10-21", "2026-10-25", "2026-11-03"),
        only_site="Line Fence",
    ),
)
