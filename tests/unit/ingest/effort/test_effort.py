"""Camera-days: start to last proof of life, less what was not watched."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from invented.card_photos import photo

from deerlog.errors import Problem, worst_first

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
NAMED = Problem(kind="tag-typo", file="tags/Seep.csv", why="Why.", how="How.", harm=99.0)


def days(place: Place, camera: str = "Seep") -> dict[str, float]:
    effort = place.log().effort
    mine = effort[effort["camera"] == camera]
    return dict(zip(mine["day"].dt.strftime("%m-%d"), mine["camera_day"], strict=True))


def one_camera(place: Place, start: str, end: str = "", more: str = "") -> None:
    place.write(
        "cameras.csv",
        f"camera,site,latitude,longitude,start,end\nSeep,Seep,44.0,-91.0,{start},{end}\n{more}",
    )


def test_from_the_start_to_the_last_photo_with_parts_of_days(place: Place, at: At) -> None:
    one_camera(place, "2024-10-01 18:00")
    place.card("Seep/a.jpg", photo(at(10, 2, 3)))
    place.card("Seep/b.jpg", photo(at(10, 4, 6), seed=1))
    place.ingest()
    assert days(place) == {"10-01": 0.25, "10-02": 1.0, "10-03": 1.0, "10-04": 0.25}


def test_an_end_in_the_table_is_no_proof_of_life(place: Place, at: At) -> None:
    one_camera(place, "2024-10-01", "2024-10-20")
    place.card("Seep/a.jpg", photo(at(10, 3, 12)))
    place.ingest()
    assert days(place) == {"10-01": 1.0, "10-02": 1.0, "10-03": 0.5}


def test_a_later_photo_elsewhere_proves_the_earlier_placement(place: Place, at: At) -> None:
    one_camera(place, "2024-10-01", "2024-10-04", "Seep,Ridge,44.002,-91.0,2024-10-04,\n")
    place.card("Seep/a.jpg", photo(at(10, 2, 3)))
    place.card("Seep/b.jpg", photo(at(10, 5, 12), seed=1))
    place.ingest()
    effort = place.log().effort
    by_site = effort.groupby("site")["camera_day"].sum().to_dict()
    assert by_site == {"Seep": 3.5, "Ridge": 1.0}
    shared = effort[effort["day"] == pd.Timestamp("2024-10-04")]
    assert dict(zip(shared["site"], shared["camera_day"], strict=True)) == {
        "Seep": 0.5,
        "Ridge": 0.5,
    }


def test_a_reading_of_the_clock_proves_life_too(place: Place, at: At) -> None:
    one_camera(place, "2024-10-01")
    place.card("Seep/a.jpg", photo(at(10, 1, 3)))
    place.write(
        "clock.csv", "camera,shown,actual,from,to\nSeep,2024-10-03 12:00,2024-10-03 12:00,,\n"
    )
    place.ingest()
    assert days(place) == {"10-01": 1.0, "10-02": 1.0, "10-03": 0.5}


def test_no_photo_at_all_is_no_effort(place: Place) -> None:
    place.ingest()
    assert place.log().effort.empty


def test_copies_and_impossible_times_prove_nothing(place: Place, at: At) -> None:
    one_camera(place, "2024-10-01")
    place.card("Seep/a.jpg", photo(at(10, 1, 12)))
    place.card("Seep/b.jpg", photo("2031:01:01 00:00:00", seed=2))
    place.ingest()
    assert days(place) == {"10-01": 0.5}


def fill(place: Place, at: At, *, gap: tuple[datetime, datetime]) -> None:
    """Twelve photos a day through October and November, none in a gap."""
    rows = ["file,taken"]
    when = at(10, 1)
    while when < at(11, 30):
        if not gap[0] <= when < gap[1]:
            rows.append(f"{when:%m%d%H}.jpg,{when:%Y-%m-%d %H:%M:%S}")
        when += timedelta(hours=2)
    place.card("Seep/log.csv", "\n".join(rows).encode())
    one_camera(place, "2024-10-01")


def test_a_silent_stretch_counts_as_not_watched_and_is_told(place: Place, at: At) -> None:
    fill(place, at, gap=(at(10, 20, 0), at(11, 4, 0)))
    place.ingest()
    found = days(place)
    assert found["10-15"] == found["11-10"] == 1.0
    assert found["10-25"] == found["11-01"] == 0.0
    log = place.log()
    assert log.silent["status"].tolist() == ["silent"]
    (problem,) = [p for p in log.problems if p.kind == "silent-stretch"]
    assert not problem.must_mend
    assert "Seep,2024-10-2" in problem.how or "Seep,2024-10-19" in problem.how
    assert ",running" in problem.how
    assert "very unlikely" in problem.why and "one in" not in problem.why
    assert not problem.lately, "it was over four weeks before the last photo"


@pytest.mark.parametrize(
    ("row", "watched", "statuses", "told"),
    [
        ("Seep,2024-10-19,2024-11-05,running", 1.0, ["running"], 0),
        ("Seep,2024-10-19,2024-11-05,down", 0.0, ["silent", "down"], 0),
    ],
)
def test_outages_overrule_both_ways(
    place: Place, at: At, row: str, watched: float, statuses: list[str], told: int
) -> None:
    fill(place, at, gap=(at(10, 20, 0), at(11, 4, 0)))
    place.write("outages.csv", f"camera,from,to,status\n{row}\nSeep,2024-11-20,2024-11-20,down\n")
    place.ingest()
    found = days(place)
    assert found["10-25"] == watched
    assert found["11-20"] == 0.0
    assert found["11-21"] == 1.0
    log = place.log()
    assert sorted(log.silent["status"]) == sorted([*statuses, "down"])
    assert len([p for p in log.problems if p.kind == "silent-stretch"]) == told


def test_running_in_outages_goes_beyond_the_last_photo(place: Place, at: At) -> None:
    one_camera(place, "2024-10-01", "2024-10-05")
    place.card("Seep/a.jpg", photo(at(10, 1, 12)))
    place.write("outages.csv", "camera,from,to,status\nSeep,2024-10-02,2024-10-09,running\n")
    place.ingest()
    assert days(place) == {"10-01": 0.5, "10-02": 1, "10-03": 1, "10-04": 1, "10-05": 1}


@pytest.mark.parametrize("on_old_card", [True, False])
def test_where_a_card_was_changed_the_outage_ends_with_the_photo_of_that(
    place: Place, at: At, on_old_card: bool
) -> None:
    """Dead until 20 October 10:40: running from then, and not from the day before."""
    rows = {"first": [at(10, 1) + n * timedelta(hours=8) for n in range(18)]}
    rows["second"] = [at(10, 20, 10, 40), at(10, 20, 10, 44)]
    rows["second"] += [at(10, 20, 18) + n * timedelta(hours=8) for n in range(60)]
    if on_old_card:
        rows["first"].append(rows["second"].pop(0))
    for dump, times in rows.items():
        lines = [f"{n}.jpg,{t:%Y-%m-%d %H:%M:%S}" for n, t in enumerate(times)]
        place.card(f"Seep/{dump}/log.csv", "\n".join(["file,taken", *lines]).encode())
    one_camera(place, "2024-10-01")
    place.ingest()
    (silent,) = place.log().silent.to_dict("records")
    assert silent["end"] == pd.Timestamp("2024-10-20 10:40")
    after = silent["start"] - rows["first"][17]
    assert timedelta(hours=4) < after < timedelta(hours=12), "a waiting time after the last photo"
    found = days(place)
    assert found["10-19"] == 0
    assert found["10-20"] == pytest.approx(1 - (10 + 40 / 60) / 24, abs=1e-3)


def steady(place: Place, camera: str, first: datetime, until: datetime) -> None:
    """A photo each eight hours."""
    n = int((until - first) / timedelta(hours=8))
    times = (first + i * timedelta(hours=8) for i in range(n))
    lines = [f"{i}.jpg,{t:%Y-%m-%d %H:%M:%S}" for i, t in enumerate(times)]
    place.card(f"{camera}/log.csv", "\n".join(["file,taken", *lines]).encode())


def test_a_camera_that_fell_silent_is_told_first(place: Place, at: At) -> None:
    steady(place, "Seep", at(9, 1), at(11, 20))
    steady(place, "Gate", at(9, 1), at(11, 1))
    summary = place.ingest()
    quiet = {p.value: p for p in summary.problems if p.kind == "camera-quiet"}
    assert quiet.keys() == {"Gate"}
    assert quiet["Gate"].lately and not quiet["Gate"].must_mend
    assert "no photo since 2024-11-01" in quiet["Gate"].why
    assert "very unlikely" in quiet["Gate"].why
    kinds = [p.kind for p in worst_first([*summary.problems, NAMED])]
    assert kinds[0] == "camera-quiet"
    # Said to be down, or moved on: nothing is wrong with it.
    place.write("outages.csv", "camera,from,to,status\nGate,2024-11-02,2024-11-20,down\n")
    assert [p.value for p in place.log().problems if p.kind == "camera-quiet"] == []
