"""Trips that no deer makes, and who is to blame."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.ingest.clocks.travel import SUSTAINED_MPS, impossible_trips, least_seconds

SITES = {"Seep": (0.0, 0.0), "Ridge": (2000.0, 0.0), "Gate": (0.0, 3000.0), "Pond": (50.0, 0.0)}
MPH = 0.44704  # metres a second; exact (international mile of 1,609.344 m)


def seen(*rows: tuple[str, str, str]) -> pd.DataFrame:
    """Sightings (buck, site, time), the camera named after its site."""
    table = pd.DataFrame(rows, columns=["buck", "site", "time"])
    table["time"] = pd.to_datetime(table["time"], utc=True)
    table["camera"] = table["site"].str.lower()
    table["x_m"] = [SITES[s][0] for s in table["site"]]
    table["y_m"] = [SITES[s][1] for s in table["site"]]
    return table


def found_in(sightings: pd.DataFrame) -> list[pd.Series]:
    return [trip for _, trip in impossible_trips(sightings).iterrows()]


def test_the_speeds_are_the_stated_ones() -> None:
    far = np.array([10_000.0])
    believable, possible = least_seconds(far)
    assert far / possible == pytest.approx(30 * MPH, rel=0.1)  # a minute's allowance
    assert pytest.approx(13.4, abs=0.02) == 30 * MPH
    assert pytest.approx(8 * MPH, abs=0.03) == SUSTAINED_MPS
    assert (believable > possible).all()


def test_a_walk_says_nothing() -> None:
    assert (
        found_in(seen(("Ten", "Seep", "2023-11-01 06:00"), ("Ten", "Ridge", "2023-11-01 07:00")))
        == []
    )


def test_one_impossible_trip_is_put_down_to_a_tag() -> None:
    (found,) = found_in(
        seen(("Ten", "Seep", "2023-11-01 06:00"), ("Ten", "Ridge", "2023-11-01 06:01"))
    )
    assert found.impossible
    assert (found.cameras, found.n_trips) == ((), 1)
    assert (found.camera_a, found.site_b) == ("seep", "Ridge")
    assert found.distance_m == pytest.approx(2000)
    assert found.seconds == 60


def test_a_long_run_is_doubted_and_not_called_impossible() -> None:
    """2 km in 6 minutes: 12 mph."""
    (found,) = found_in(
        seen(("Ten", "Seep", "2023-11-01 06:00"), ("Ten", "Ridge", "2023-11-01 06:06"))
    )
    assert not found.impossible


def test_neighbouring_sites_and_one_site_say_nothing() -> None:
    rows = [("Ten", "Seep", "2023-11-01 06:00"), ("Ten", "Pond", "2023-11-01 06:00")]
    assert found_in(seen(*rows)) == []
    assert found_in(seen(rows[0], rows[0])) == []


def test_two_bucks_may_be_anywhere_at_once() -> None:
    rows = [("Ten", "Seep", "2023-11-01 06:00"), ("Eight", "Ridge", "2023-11-01 06:00")]
    assert found_in(seen(*rows)) == []


def test_the_camera_involved_again_and_again_is_blamed() -> None:
    """The ridge disagrees with two cameras over two bucks; a lone trip elsewhere is a tag."""
    rows = []
    for day, (buck, site) in enumerate(
        [("Ten", "Seep"), ("Eight", "Gate"), ("Ten", "Gate"), ("Eight", "Seep")], start=1
    ):
        rows.append((buck, site, f"2023-11-{day:02d} 06:00"))
        rows.append((buck, "Ridge", f"2023-11-{day:02d} 06:01"))
    rows += [("Six", "Seep", "2023-11-20 18:00"), ("Six", "Gate", "2023-11-20 18:01")]
    found = found_in(seen(*rows))
    assert [f.cameras for f in found] == [("ridge",)] * 4 + [()]
    assert {f.n_trips for f in found[:4]} == {4}
    assert found[4].buck == "Six"


def test_of_two_cameras_that_disagree_either_may_be_wrong() -> None:
    rows = []
    for day in range(1, 5):
        buck = "Ten" if day % 2 else "Eight"
        rows.append((buck, "Seep", f"2023-11-{day:02d} 06:00"))
        rows.append((buck, "Ridge", f"2023-11-{day:02d} 06:01"))
    found = found_in(seen(*rows))
    assert {f.cameras for f in found} == {("ridge", "seep")}


def test_one_buck_in_two_places_all_over_is_two_bucks_under_one_name() -> None:
    rows = []
    pairs = [("Seep", "Ridge"), ("Gate", "Ridge"), ("Seep", "Gate"), ("Ridge", "Gate")]
    for day, (a, b) in enumerate(pairs, start=1):
        rows.append(("Ten", a, f"2023-11-{day:02d} 06:00"))
        rows.append(("Ten", b, f"2023-11-{day:02d} 06:01"))
    found = found_in(seen(*rows))
    assert {f.cameras for f in found} == {()}
    assert {f.n_trips for f in found} == {4}


def test_missing_times_and_places_are_left_out() -> None:
    table = seen(("Ten", "Seep", "2023-11-01 06:00"), ("Ten", "Ridge", "2023-11-01 06:01"))
    table.loc[1, "x_m"] = np.nan
    assert found_in(table) == []
    assert found_in(table.iloc[:0]) == []


def test_order_of_rows_does_not_matter() -> None:
    table = seen(
        ("Ten", "Seep", "2023-11-01 06:00"),
        ("Ten", "Ridge", "2023-11-01 06:01"),
        ("Ten", "Gate", "2023-11-01 06:02"),
    )
    pd.testing.assert_frame_equal(impossible_trips(table), impossible_trips(table.iloc[::-1]))
