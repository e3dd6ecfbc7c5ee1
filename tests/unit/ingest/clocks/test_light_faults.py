"""A clock held against the sun, on cameras without noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest

from deerlog.ingest.clocks.light_faults import ClockFault, light_faults
from deerlog.ingest.clocks.retime import corrected_times
from deerlog.timekeeping.sun import sun_height

ZONE = "America/Chicago"
HERE = {"latitude": 40.0, "longitude": -90.0, "zone": ZONE}
HOUR = np.timedelta64(3_600_000_000, "us")


@dataclass
class Record:
    """True instants with what the camera made of them."""

    true: np.ndarray
    stated: np.ndarray
    shown: np.ndarray
    look: np.ndarray


def wall(utc: np.ndarray) -> np.ndarray:
    local = pd.DatetimeIndex(utc, tz="UTC").tz_convert(ZONE).tz_localize(None)
    return np.asarray(local, dtype="datetime64[us]")


def record(
    first: str,
    days: int,
    shift_hours: float = 0.0,
    since: str | None = None,
    until: str | None = None,
) -> Record:
    """Ten photos a day at all hours; grey with the sun 2 degrees down.

    The clock is off by ``shift_hours`` (actual less shown) for true instants in ``[since, until)``.
    """
    rng = np.random.default_rng(5)
    start = np.datetime64(first, "us")
    true = np.sort(start + (rng.uniform(0, days, 10 * days) * 86_400e6).astype("timedelta64[us]"))
    wrong = np.ones(len(true), dtype=bool)
    if since is not None:
        wrong &= true >= np.datetime64(since)
    if until is not None:
        wrong &= true < np.datetime64(until)
    stated = true - np.where(wrong, round(shift_hours * 60), 0) * np.timedelta64(60_000_000, "us")
    look = (sun_height(40.0, -90.0, true) > -2).astype(float)
    return Record(true, stated, wall(stated), look)


def judged(made: Record, **more: object) -> list[ClockFault]:
    return light_faults("Ridge", made.stated, made.shown, made.look, **HERE, **more)


def retimed(made: Record, row: dict[str, np.datetime64]) -> np.ndarray:
    """The record's instants once the row stands in clock.csv."""
    readings = pd.DataFrame(
        {
            "camera": ["Ridge"],
            "shown": [row["shown"]],
            "actual": [row["actual"]],
            "valid_from": [row["opens"]],
            "valid_to": [row["closes"]],
        }
    )
    placed = pd.DataFrame(
        {
            "camera": ["Ridge"],
            "clock": ["local"],
            "start": [pd.Timestamp("2020-01-01")],
            "end": [pd.NaT],
        }
    )
    n = len(made.shown)
    names = np.full(n, "Ridge", dtype=object)
    return corrected_times(names, made.shown, np.full(n, np.nan), placed, readings, ZONE).utc


def test_a_right_clock() -> None:
    assert judged(record("2023-09-01", 60)) == []


@pytest.mark.parametrize("hours", [1.0, -1.0, 3.0, -5.0, 0.5, 12.0])
def test_a_shift_is_found_with_a_row_that_mends_it(hours: float) -> None:
    made = record("2023-08-01", 60, hours)
    (fault,) = judged(made)
    assert fault.shift_minutes == hours * 60
    assert fault.low_minutes <= fault.shift_minutes <= fault.high_minutes
    assert fault.sure > 0.999
    assert fault.begins_with == ""
    n_contradict = fault.n_grey_in_light + fault.n_coloured_in_dark
    assert n_contradict > 5 * max(fault.n_contradict_after, 1)
    assert np.isnat(fault.row["opens"]) and np.isnat(fault.row["closes"])
    assert (retimed(made, fault.row) == made.true).all()


def test_the_way_of_the_shift_shows_in_the_evidence() -> None:
    """A clock an hour behind calls the grey of 20 minutes after dusk the light of before it."""
    (behind,) = judged(record("2023-08-01", 60, 1.0))
    assert behind.n_grey_in_light > 0 and behind.n_coloured_in_dark > 0
    assert behind.n_near < behind.n_looks


def test_a_clock_left_on_summer_time_through_the_winter() -> None:
    """Wrong from the night in November to the night in March; the row is bounded by both."""
    made = record("2023-09-15", 240, -1.0, since="2023-11-05T07:00", until="2024-03-10T08:00")
    (fault,) = judged(made)
    assert fault.shift_minutes == -60
    assert fault.begins_with == "clock change"
    assert fault.row["opens"] == np.datetime64("2023-11-05T02:00")
    assert fault.row["closes"] == np.datetime64("2024-03-10T03:00")
    assert (retimed(made, fault.row) == made.true).all()


def test_a_fault_that_begins_at_a_card_check() -> None:
    """The check is preferred to the photos around it, and bounds the row."""
    made = record("2023-08-01", 80, -3.0, since="2023-09-01T15:00")
    first_wrong = int(np.flatnonzero(made.true >= np.datetime64("2023-09-01T15:00"))[0])
    check = made.stated[first_wrong : first_wrong + 1]
    (fault,) = judged(made, breaks=check)
    assert (fault.shift_minutes, fault.begins_with) == (-180, "break")
    assert fault.begins == check[0]
    assert (retimed(made, fault.row) == made.true).all()


def test_where_nothing_is_known_to_have_happened_the_change_has_an_interval() -> None:
    made = record("2023-07-01", 80, 3.0, since="2023-08-14T12:00")
    (fault,) = judged(made)
    assert fault.begins_with == "unknown"
    at = np.datetime64("2023-08-14T12:00")
    assert fault.begins_low - 4 * HOUR <= at <= fault.begins_high + 4 * HOUR
    assert fault.begins_low <= fault.begins <= fault.begins_high
    assert abs(float((fault.begins - at) / HOUR)) < 36


def test_two_faults_of_one_camera_are_two_rows() -> None:
    first = record("2023-07-01", 40, 1.0)
    second = record("2023-08-10", 40, -3.0)
    both = Record(
        *(
            np.concatenate((getattr(first, f), getattr(second, f)))
            for f in ("true", "stated", "shown", "look")
        )
    )
    faults = judged(both)
    assert [f.shift_minutes for f in faults] == [60, -180]
    assert np.isnat(faults[0].row["opens"]) and np.isnat(faults[1].row["closes"])
    assert not np.isnat(faults[0].row["closes"]) and not np.isnat(faults[1].row["opens"])


def test_the_row_of_a_fixed_clock_gives_real_local_time() -> None:
    """The camera shows standard time in summer, and is half an hour behind that."""
    made = record("2023-07-01", 60, 0.5)
    made.shown = made.stated - 6 * HOUR
    (fault,) = judged(made)
    # Local time is an hour ahead of standard time; half an hour comes on top.
    assert fault.row["actual"] - fault.row["shown"] == np.timedelta64(90, "m")


def test_a_filter_that_sticks_is_no_clock_fault() -> None:
    for value in (0.0, 1.0):
        made = record("2023-08-01", 80)
        made.look[400:] = value
        assert judged(made) == []


@pytest.mark.parametrize("value", [0.0, 1.0])
def test_one_look_by_day_and_night_tells_nothing(value: float) -> None:
    made = record("2023-08-01", 60, 1.0)
    made.look[:] = value
    assert judged(made) == []


def test_few_pictures_tell_nothing() -> None:
    made = record("2023-08-01", 60, 12.0)
    few = Record(*(getattr(made, f)[::45] for f in ("true", "stated", "shown", "look")))
    assert judged(few) == []
    some = Record(*(getattr(made, f)[::15] for f in ("true", "stated", "shown", "look")))
    assert len(judged(some)) == 1
    assert light_faults("Ridge", made.stated[:0], made.shown[:0], [], **HERE) == []


def test_the_flash_stands_in_for_an_unknown_look() -> None:
    made = record("2023-08-01", 60, 1.0)
    flash = 1.0 - made.look
    made.look[:] = np.nan
    (fault,) = judged(made, flash=flash)
    assert fault.shift_minutes == 60
    assert judged(made, flash=np.ones_like(flash)) == []


def test_looks_in_between_and_missing_times_are_not_used() -> None:
    made = record("2023-08-01", 60, 1.0)
    (expected,) = judged(made)
    more = Record(*(np.tile(getattr(made, f), 2) for f in ("true", "stated", "shown", "look")))
    more.look[600:] = 0.3
    assert judged(more) == [expected]
    more.look[600:] = 1.0
    more.stated[600:] = np.datetime64("NaT")
    assert judged(more) == [expected]


def test_a_burst_is_one_look_and_order_does_not_matter() -> None:
    made = record("2023-08-01", 60, 1.0)
    (expected,) = judged(made)
    burst = np.arange(3) * np.timedelta64(2_000_000, "us")
    many = Record(*(np.repeat(getattr(made, f), 3) for f in ("true", "stated", "shown", "look")))
    many.stated += np.tile(burst, 600)
    (fault,) = judged(many)
    assert abs(fault.n_looks - expected.n_looks) < 10
    turned = light_faults("Ridge", made.stated[::-1], made.shown[::-1], made.look[::-1], **HERE)
    assert turned == [expected]


@pytest.mark.parametrize("minutes", [728, -728, 730, -730])
def test_a_shift_of_over_twelve_hours_is_told_the_short_way_round(minutes: int) -> None:
    (fault,) = judged(record("2023-08-01", 60, minutes / 60))
    assert abs(fault.shift_minutes) <= 720
    # The usual twelve hours are preferred to what is near them.
    assert abs((fault.shift_minutes - minutes + 720) % 1440 - 720) <= 20
    assert fault.low_minutes <= fault.shift_minutes <= fault.high_minutes
    assert fault.high_minutes - fault.low_minutes < 20


def test_a_long_noisy_record_is_as_narrow_as_it_should_be() -> None:
    """One in 20 of 4,000 looks is wrong: what all weigh together is beyond a float's exponent."""
    made = record("2023-03-20", 400, 1.0)
    wrong = np.random.default_rng(7).random(len(made.look)) < 0.05
    made.look[wrong] = 1 - made.look[wrong]
    (fault,) = judged(made)
    assert fault.shift_minutes == 60
    assert 55 < fault.low_minutes < 60 < fault.high_minutes < 65


@pytest.mark.parametrize(("n_days", "n_found"), [(2, 0), (3, 1)])
def test_contradictions_of_two_days_may_be_a_storm(n_days: int, n_found: int) -> None:
    """An hour off from first to last; looks at dawn and dusk on some days, else far from both."""
    plain = record("2023-09-01", 60, 1.0)
    hour = (plain.true - plain.true.astype("datetime64[D]")) / HOUR
    far = ((hour > 15) & (hour < 20)) | ((hour > 4) & (hour < 8))
    near = np.concatenate((np.arange(630, 780, 11), np.arange(1320, 1490, 11)))
    more = np.concatenate(
        [
            np.datetime64(f"2023-09-{21 + 3 * k:02d}", "us") + near.astype("timedelta64[m]")
            for k in range(n_days)
        ]
    )
    true = np.sort(np.concatenate((plain.true[far], more)))
    stated = true - HOUR
    look = (sun_height(40.0, -90.0, true) > -2).astype(float)
    assert len(judged(Record(true, stated, wall(stated), look))) == n_found


def test_a_clock_wrong_from_its_first_card_check_on_was_right_before_it() -> None:
    """One block of looks comes before the fault."""
    made = record("2023-08-01", 60, -3.0, since="2023-08-02T12:00")
    wrong = np.flatnonzero(made.true != made.stated)
    check = made.stated[wrong[:1]]
    (fault,) = judged(made, breaks=check)
    assert fault.begins_with == "break" and fault.begins == check[0]
    assert fault.begins_low < fault.begins <= fault.begins_high
    assert fault.row["opens"] > made.shown[wrong[0] - 1] and np.isnat(fault.row["closes"])
