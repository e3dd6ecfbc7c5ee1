"""Which photos, visits and bucks a clock's fault touches, and what is asked of which photos."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from deerlog.errors import Problem
from deerlog.ingest.card_problems import with_harm
from deerlog.ingest.clocks.clock_problems import clock_findings, impossible_times
from deerlog.property.coordinates import Ground

ZONE = "America/Chicago"
HOME = (44.0, -91.0)


def photos(*rows: tuple[str, str, str], **more: object) -> pd.DataFrame:
    """Camera, local time, path; one visit a photo."""
    table = pd.DataFrame(rows, columns=["camera", "shown", "path"])
    shown = pd.to_datetime(table["shown"]).astype("datetime64[us]")
    local = shown.dt.tz_localize(ZONE)
    table = table.assign(
        shown=shown, local=local, time=local.dt.tz_convert("UTC"), visit=range(len(table)),
        placement=(table["camera"] != "Ridge").astype(int) + (table["camera"] == "Gate"),
        same_as=pd.Series(pd.NA, index=table.index, dtype="Int64"), excluded="", kind="photo",
        reason="", gone=False, replaced=0, listed_in="",
        look=pd.Series(pd.NA, index=table.index, dtype="Float64"),
        flash=pd.Series(pd.NA, index=table.index, dtype="Float64"),
    )  # fmt: skip
    return table.assign(**more)


def sightings(table: pd.DataFrame, bucks: dict[int, str], unsure: tuple[int, ...] = ()):
    rows = table.iloc[list(bucks)]
    return pd.DataFrame(
        {"buck": list(bucks.values()), "camera": rows["camera"], "site": rows["camera"],
         "visit": rows["visit"], "local": rows["local"],
         "unsure": [i in unsure for i in bucks]}
    ).reset_index(drop=True)  # fmt: skip


def clock_problems(table: pd.DataFrame, his: pd.DataFrame, where: SimpleNamespace) -> list[Problem]:
    """The findings, with the visits of their photos and whoever was in them."""

    def touch(part: pd.DataFrame) -> tuple[float, tuple[str, ...]]:
        visits = part.loc[part["visit"] >= 0, "visit"].unique()
        bucks = his.loc[his["visit"].isin(visits), "buck"].unique()
        return float(len(visits)), tuple(sorted(bucks))

    return list(with_harm(clock_findings(table, his, where), touch))


def place(north_m: float = 3000.0) -> SimpleNamespace:
    """Ridge at home, Seep to the north, Gate as far to the east."""
    per_degree = Ground(*HOME).metres([45.0], [-91.0])[1][0]
    east = Ground(*HOME).metres([44.0], [-90.0])[0][0]
    placements = pd.DataFrame(
        {
            "camera": ["Ridge", "Seep", "Gate"],
            "start": pd.to_datetime(["2024-09-01"] * 3),
            "end": pd.to_datetime([None] * 3),
            "clock": "local",
            "latitude": [44.0, 44.0 + north_m / per_degree, 44.0],
            "longitude": [-91.0, -91.0, -91.0 + north_m / east],
        }
    )
    return SimpleNamespace(
        settings=SimpleNamespace(
            timezone=ZONE, units="metric", latitude=44.0, longitude=-91.0
        ),
        placements=placements,
        clock_readings=pd.DataFrame(
            {"camera": pd.Series([], dtype=str), "shown": pd.to_datetime([]),
             "actual": pd.to_datetime([]),
             "valid_from": pd.to_datetime([]), "valid_to": pd.to_datetime([]), "row": []}
        ),
        problems=[],
    )  # fmt: skip


def test_a_camera_that_bucks_fly_to_touches_its_visits_from_the_first_trip_to_the_last() -> None:
    rows, bucks = [], {}
    for day, (buck, site) in enumerate([("Ten", "Seep"), ("Six", "Gate"), ("Ten", "Gate")], 1):
        for camera, minute in ((site, 0), ("Ridge", 1)):
            bucks[len(rows)] = buck
            rows.append((camera, f"2024-10-{day:02d} 07:0{minute}", f"a/{len(rows)}.JPG"))
    for time in ("2024-10-01 06:59", "2024-10-02 12:00", "2024-10-03 07:02"):
        rows.append(("Ridge", time, f"a/{len(rows)}.JPG"))
    bucks[7] = "Old"  # the one in between is his
    table = photos(*rows)
    (problem,) = clock_problems(table, sightings(table, bucks), place())
    assert (problem.kind, problem.value, problem.must_mend) == ("clock-travel", "Ridge", True)
    assert "3 times a buck was at Ridge" in problem.why and "3.0 km off" in problem.why
    # Three trips and the visit between them; those just before and after are not touched.
    assert (problem.harm, problem.bucks) == (4.0, ("Old", "Six", "Ten"))
    # Tags that are in doubt, and sites 60 m off, say nothing.
    doubted = sightings(table, bucks, unsure=(0, 2, 4))
    assert clock_problems(table, doubted, place()) == []
    assert clock_problems(table, sightings(table, bucks), place(north_m=60.0)) == []
    # Copies, and times that cannot be, are asked nothing.
    assert clock_problems(table.assign(excluded="x"), sightings(table, bucks), place()) == []
    assert clock_problems(table.assign(same_as=0), sightings(table, bucks), place()) == []


def card(**more: object) -> pd.DataFrame:
    """Ten photos a day apart, of which the sixth and seventh show days before."""
    days = [1, 2, 3, 4, 5, 2, 3, 8, 9, 10]
    return photos(
        *(("Ridge", f"2024-10-{d:02d} 07:00", f"100ABCDE/IMG_{i:04d}.JPG")
          for i, d in enumerate(days, 1)), **more,
    )  # fmt: skip


def test_a_run_out_of_order_touches_its_own_visits() -> None:
    table = card()
    (problem,) = clock_problems(table, sightings(table, {5: "Ten", 8: "Six"}), place())
    assert (problem.kind, problem.harm, problem.bucks) == ("clock-backwards", 2.0, ("Ten",))
    no_visit = card(visit=[-1, *range(1, 10)])
    (problem,) = clock_problems(no_visit, sightings(no_visit, {5: "Ten"}), place())
    assert problem.harm == 2.0


@pytest.mark.parametrize(
    ("change", "n_problems"),
    [
        ({"kind": "log"}, 0),  # rows of a list are in no order of files
        ({"reason": "truncated", "gone": True}, 0),  # a damaged picture that is gone
        ({"reason": "truncated"}, 1),
        ({"gone": True}, 1),
        ({"replaced": 1}, 0),  # another picture has lain there
        ({"replaced": 1, "listed_in": "log.csv"}, 1),
    ],
)
def test_which_files_are_witnesses(change: dict[str, object], n_problems: int) -> None:
    table = card(**change)
    assert len(clock_problems(table, sightings(table, {5: "Ten"}), place())) == n_problems


def light_record(behind_hours: float, since: int) -> pd.DataFrame:
    """Eight photos a day for 40 days, grey by night; the clock behind from some day on."""
    from deerlog.timekeeping.sun import sun_height

    rng = np.random.default_rng(3)
    day = np.sort(rng.uniform(0, 40, 320))
    true = np.datetime64("2024-09-05", "us") + (day * 86_400e6).astype("timedelta64[us]")
    look = (sun_height(*HOME, true) > -2).astype(float)
    local = pd.DatetimeIndex(true, tz="UTC").tz_convert(ZONE).tz_localize(None)
    shown = local - pd.to_timedelta(np.where(day >= since, behind_hours, 0), unit="h")
    rows = [
        ("Ridge", str(t), f"{'b' if d >= since else 'a'}/x")
        for t, d in zip(shown, day, strict=True)
    ]
    return photos(*rows, kind="log", look=pd.array(look, dtype="Float64"))


@pytest.mark.parametrize("since", [0, 15])
def test_a_fault_by_light_touches_what_lies_in_it(since: int) -> None:
    table = light_record(5.0, since)
    his = sightings(table, {0: "Early", 200: "Late"})
    (problem,) = clock_problems(table, his, place())
    assert (problem.kind, problem.camera) == ("clock-light", "Ridge")
    # Where it began is known to the card: its first photo is where someone was at the camera.
    wrong = 320 if since == 0 else int(table["path"].str.startswith("b").sum())
    assert problem.harm == wrong
    assert problem.bucks == (("Early", "Late") if since == 0 else ("Late",))
    if since:
        first = table.loc[table["path"].str.startswith("b"), "shown"].iloc[0].floor("min")
        assert f",{first:%Y-%m-%d %H:%M}," in problem.paste
    sun_elsewhere = place()
    sun_elsewhere.problems = [SimpleNamespace(kind="zone-longitude")]
    assert clock_problems(table, his, sun_elsewhere) == []


def impossible(*rows: tuple[str, str, str, str], **more: object) -> list[tuple[object, ...]]:
    table = photos(*(row[:3] for row in rows), excluded=[row[3] for row in rows], **more)
    found = [problem for problem, _ in impossible_times(table, place().clock_readings)]
    return [(p.camera, p.why.split(" show")[0], p.first_day.day, p.last_day.day, bool(p.paste))
            for p in found]  # fmt: skip


EARLY, FUTURE = "time before 2005", "time in the future"


def test_stretches_of_impossible_times() -> None:
    """Two cards: the fault goes on over them; a step back by over two minutes begins another."""
    first = [("Ridge", f"2001-01-0{d} 07:00", f"a/100ABCDE/IMG_000{d}.JPG", EARLY) for d in (1, 2)]
    on = [("Ridge", f"2001-01-0{d} 07:00", f"b/100ABCDE/IMG_000{d}.JPG", EARLY) for d in (3, 4)]
    assert impossible(*first, *on) == [("Ridge", "4 photos of Ridge", 1, 4, True)]
    # Where the second card begins earlier, or a right photo lies between, there are two.
    back = [("Ridge", f"2001-01-0{d} 06:00", f"b/100ABCDE/IMG_000{d}.JPG", EARLY) for d in (2, 3)]
    assert len(impossible(*first, *back)) == 2
    right = ("Ridge", "2024-10-01 07:00", "b/100ABCDE/IMG_0001.JPG", "")
    assert len(impossible(*first, right, *on)) == 2
    other = ("Ridge", "2031-01-05 07:00", "b/100ABCDE/IMG_0005.JPG", FUTURE)
    assert [row[1] for row in impossible(*first, *on, other)] == [
        "4 photos of Ridge", "1 photo of Ridge",
    ]  # fmt: skip
    elsewhere = [("Seep", *row[1:]) for row in on]
    assert [row[0] for row in impossible(*elsewhere, *first)] == ["Ridge", "Seep"]
    # Numbers are the order, and copies of others' pictures no photos.
    assert impossible(*first[::-1], *on) == impossible(*first, *on)
    copy = pd.array([pd.NA, pd.NA, 0, 0], dtype="Int64")
    assert impossible(*first, *on, same_as=copy) == [("Ridge", "2 photos of Ridge", 1, 2, True)]


@pytest.mark.parametrize(("second", "n_found"), [("06:58:00", 1), ("06:57:59", 2)])
def test_two_minutes_back_are_one_stretch(second: str, n_found: int) -> None:
    rows = [("Ridge", "2024-10-01 07:00:00", "a/IMG_0001.JPG", ""),
            ("Ridge", "2001-01-01 07:00:00", "a/IMG_0002.JPG", EARLY),
            ("Ridge", f"2001-01-01 {second}", "a/IMG_0003.JPG", EARLY)]  # fmt: skip
    assert len(impossible(*rows)) == n_found


def test_names_without_numbers_are_taken_by_time() -> None:
    rows = [("Ridge", f"2001-01-0{d} 07:00", f"a/{name}.jpg", EARLY)
            for d, name in ((3, "aaa"), (1, "zzz"), (2, "mmm"))]  # fmt: skip
    assert impossible(*rows) == [("Ridge", "3 photos of Ridge", 1, 3, True)]
