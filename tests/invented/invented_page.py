"""What the page's tests draw: a small property with names that try to get out, and invented frames.

No real place, buck or camera.
"""

from __future__ import annotations

import math
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pandas as pd
from invented.small_property import SETTINGS, TABLES, make_small_property

from deerlog.report.page.contents import page_of_study
from deerlog.report.page.season_frame import SeasonFrame
from deerlog.study import open_study
from deerlog.timekeeping.seasons import SeasonCalendar

AS_OF = date(2025, 11, 16)
SITES = ("Seep", "Oak flat", "Gate lane", "Upper beans", "Fence gap", "Creek ford", "Old still")
SETTINGS_OF = ("food", "bed", "travel", "water", "scrape", "other")
HOSTILE_NAME = "=HYPERLINK(\"x\") <script>alert('1')</script> & 🦌 $\\frac{1}{2}$"
_IN_CSV = '"' + HOSTILE_NAME.replace('"', '""') + '"'
_IN_TOML = HOSTILE_NAME.replace("\\", "\\\\").replace('"', '\\"')


def page_of_property(folder: Path, *, tagged: bool = True) -> dict[str, Any]:
    """The page of the small property, each kind of name in it once the hostile one."""
    renamed = {
        name: TABLES[name].replace("Creek", _IN_CSV).replace("Summers,no", f"{_IN_CSV},yes")
        for name in ("cameras.csv", "bucks.csv", "stands.csv")
    }
    renamed["bucks.csv"] = renamed["bucks.csv"].replace("Passer,yes", "Passer,no")
    renamed["cameras.csv"] = renamed["cameras.csv"].replace("2025-02-01", "")
    settings = SETTINGS.replace("Hollow Fork", _IN_TOML).replace('"bow"', f'"{_IN_TOML}"')
    tables = renamed | {"property.toml": settings, "outages.csv": OUTAGES}
    make_small_property(folder, tables, tagged=tagged, summer_buck=HOSTILE_NAME)
    return page_of_study(open_study(folder))


OUTAGES = "camera,from,to,status\nc1,2025-02-10,2025-02-20,down\n"


def frame(season: int) -> SeasonFrame:
    first, end = date(season, 6, 1), date(season + 1, 6, 1)
    return SeasonFrame(
        season=season,
        first=first,
        end=end,
        rut_peak=date(season, 11, 12),
        phases=tuple(SeasonCalendar().phase_bounds(season)),
        hunting=(
            ("bow", date(season, 9, 27), date(season + 1, 1, 4)),
            ("gun", date(season, 11, 29), date(season, 12, 5)),
            ("late gun", date(season, 12, 20), date(season, 12, 28)),
        ),
    )


def sun(season: int) -> pd.DataFrame:
    """Roughly 40 degrees north, with the clock an hour on until the first Sunday of November."""
    days = pd.date_range(f"{season}-06-01", f"{season + 1}-05-31")
    swing = [math.cos(2 * math.pi * (n - 20) / 365.25) for n in range(len(days))]
    back, forward = pd.Timestamp(season, 11, 2), pd.Timestamp(season + 1, 3, 8)
    noon = pd.Series([12.1 if back <= day < forward else 13.1 for day in days], days)
    rise, fall = noon - 6 - 1.5 * pd.Series(swing, days), noon + 6.1 + 1.5 * pd.Series(swing, days)
    return pd.DataFrame(
        {"sunrise": rise, "sunset": fall, "light_begins": rise - 0.5, "light_ends": fall + 0.5}
    )


def ground() -> dict[str, Any]:
    """Seven sites; he moves from the first to the third, and one site has no camera in the rut."""
    places = ((0, 0), (420, 610), (900, 450), (-300, 700), (650, -120), (120, 330), (1010, 820))
    sites = [
        {"site": site, "setting": setting, "x_m": float(x), "y_m": float(y)}
        for site, setting, (x, y) in zip(SITES, (*SETTINGS_OF, "food"), places, strict=True)
    ]
    phases: dict[str, dict[str, Any]] = {}
    for n, phase in enumerate(("summer", "early season", "rut")):
        phases[phase] = {
            site: site_use(site, max(0, 24 - 9 * abs(k - n)))
            for k, site in enumerate(SITES)
            if not (phase == "rut" and k == 6)
        }
    words = "From summer the centre of his use moved 1,236 yd (1,028 yd to 1,433 yd)."
    move = {"from_x_m": 40.0, "from_y_m": 90.0, "to_x_m": 870.0, "to_y_m": 480.0, "words": words}
    return {"sites": sites, "phases": phases, "moves": {"early season": move}, "units": "imperial"}


def site_use(site: str, visits: int, camera_days: float = 61.5) -> dict[str, Any]:
    return {
        "site": site,
        "visits": visits,
        "shooting_light_visits": visits // 3,
        "camera_days": camera_days,
        "per_100_camera_days": 100 * visits / camera_days if camera_days else None,
    }


def chances(chance: float) -> list[dict[str, Any]]:
    """The days to the season's end, half as likely again from 28 November to 9 December."""
    good = (date(2025, 11, 28), date(2025, 12, 9))
    days = [AS_OF + timedelta(days=n) for n in range(1, 197)]
    return [
        {
            "day": day,
            "chance": chance * (1.5 if good[0] <= day <= good[1] else 1),
            "site": "Seep",
            "half": "PM",
        }
        for day in days
    ]
