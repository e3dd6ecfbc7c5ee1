"""A study to export: two cameras, an outage, a fault of a clock, every sort of tag."""

from __future__ import annotations

from datetime import date

import pytest

from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
from deerlog.study import PropertyStudy, open_study

FILES = {
    "property.toml": 'name = "Alder Bottom"\nlatitude = 44.0\nlongitude = -91.0\n'
    'timezone = "America/Chicago"\nrut_peak = "11-12"\n',
    "cameras.csv": "camera,site,setting,latitude,longitude,start,end,clock,bait,notes\n"
    "Gate,Gate,travel,44.001234,-91.001678,2024-10-01,2024-11-15,,no,by the post\n"
    "Seep,Seep,water,44.0,-91.0,2024-11-01,2024-11-20,,yes,\n"
    "Seep,Oak,food,44.002,-91.0,2024-11-20,,,no,\n",
    "bucks.csv": "buck,target,born,aliases,notes\nOld Plow,yes,2018,,\nSplitbrow,no,,,\n",
    "stands.csv": "stand,sites,latitude,longitude,use,winds,rest_days,notes\n"
    "Ladder,Gate;Seep,44.0005,-91.0002,either,N;NW,3,\nBlind,Oak,,,evening,,3,\n",
    "outages.csv": "camera,from,to,status\nGate,2024-10-20,2024-10-25,down\n",
    "cards/Gate/log.csv": "file,taken,kind\n"
    + "".join(f"g{d:02d}.JPG,2024-10-{d:02d} 17:{d:02d}:30,\n" for d in range(2, 32))
    + "".join(f"n{d:02d}.JPG,2024-11-{d:02d} 16:00:00,\n" for d in range(1, 14))
    + "night.JPG,2024-11-03 01:30:00,\nclip.MOV,2024-11-05 06:30:00,video\nx..y.JPG,"
    "2024-11-14 12:00,\n",
    "cards/Seep/log.csv": "file,taken\n"
    + "".join(f"s{d:02d}.JPG,2024-11-{d:02d} 07:00:00\n" for d in range(1, 31)),
    "tags/Gate.csv": "photo,taken,photos,bucks,others,notes\n"
    "g02.JPG,2024-10-02 17:02:30,1,Old Plow,,\n"
    "g03.JPG,2024-10-03 17:03:30,1,Old Plow; Splitbrow?,doe;fawn,\n"
    "g04.JPG,2024-10-04 17:04:30,1,-,,\n"
    "g05.JPG,2024-10-05 17:05:30,1,-,empty,\n"
    "g06.JPG,2024-10-06 17:06:30,1,-,Person; heron,\n"
    "g22.JPG,2024-10-22 17:22:30,1,Old Plow,,\n"
    "night.JPG,2024-11-03 01:30:00,1,Splitbrow,,\n",
}


@pytest.fixture(scope="session")
def study(tmp_path_factory: pytest.TempPathFactory) -> PropertyStudy:
    """Opened once for all; nothing may be changed in it."""
    folder = tmp_path_factory.mktemp("exports") / "alder"
    for name, text in FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="")
    ingest_cards(open_property(folder), today=date(2024, 12, 2))
    return open_study(folder)
