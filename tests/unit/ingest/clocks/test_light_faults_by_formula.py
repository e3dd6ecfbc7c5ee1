"""What is told of a fault by light, against looks counted one by one and the likelihood itself."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
import pytest

from deerlog.ingest.clocks.light_faults import ClockFault, light_faults
from deerlog.ingest.clocks.look_model import log_likelihood, looks_in_the_sun, possible_cameras
from deerlog.timekeeping.sun import sun_height

ZONE = "America/Chicago"
MINUTE = np.timedelta64(60_000_000, "us")
CAMERAS = possible_cameras()


@dataclass(frozen=True)
class Record:
    """True instants, what the clock made of them, and the looks."""

    true: np.ndarray
    stated: np.ndarray
    look: np.ndarray

    @property
    def shown(self) -> np.ndarray:
        local = pd.DatetimeIndex(self.stated, tz="UTC").tz_convert(ZONE).tz_localize(None)
        return np.asarray(local, dtype="datetime64[us]")

    def judged(self, **more: object) -> list[ClockFault]:
        return light_faults(
            "Ridge", self.stated, self.shown, self.look,
            latitude=40.0, longitude=-90.0, zone=ZONE, **more,
        )  # fmt: skip


def record(
    minutes: float, days: float = 50, since: float = 0.0, until: float = 1e9, n_a_day: int = 8,
    first: str = "2023-07-01",
) -> Record:  # fmt: skip
    """Photos at all hours, grey with the sun 2 degrees down, the clock off for some days."""
    rng = np.random.default_rng(11)
    n = int(n_a_day * days)
    day = np.sort(rng.uniform(0, days, n))
    day = day[np.diff(day, prepend=-1.0) > 11 / 1440]  # more than ten minutes apart
    true = np.datetime64(first, "us") + np.round(day * 86_400).astype("timedelta64[s]")
    wrong = (day >= since) & (day < until)
    stated = true - np.where(wrong, round(minutes), 0) * MINUTE
    return Record(true, stated, (sun_height(40.0, -90.0, true) > -2).astype(float))


@cache
def whole(minutes: int) -> tuple[Record, ClockFault]:
    made = record(minutes)
    (fault,) = made.judged()
    return made, fault


def within_a_day(minutes: np.ndarray) -> np.ndarray:
    return (minutes + 719.5) % 1440 - 719.5


@pytest.mark.parametrize("minutes", [81, -133, 94, 300, -715, 690])
def test_any_shift_is_found_to_five_minutes(minutes: int) -> None:
    _, fault = whole(minutes)
    assert abs(within_a_day(fault.shift_minutes - minutes)) <= 6
    assert fault.shift_minutes % 5 == 0 and -720 < fault.shift_minutes <= 720
    # The interval is about the shift, a few minutes wide, and holds the truth.
    assert fault.low_minutes <= fault.shift_minutes <= fault.high_minutes
    assert fault.low_minutes - 1 <= minutes + 1440 * round((fault.shift_minutes - minutes) / 1440)
    assert fault.high_minutes - fault.low_minutes < 30


@pytest.mark.parametrize("minutes", [60, 133])
def test_the_interval_holds_95_percent(minutes: int) -> None:
    """Of a record that is wrong throughout, only its own looks and the prior of cameras count."""
    made, fault = whole(minutes)
    looks = looks_in_the_sun(made.stated, made.look > 0.5, 40.0, -90.0)
    fine = np.arange(round(minutes, -1) - 40, round(minutes, -1) + 41, 2)

    def log_fit(shifts: np.ndarray) -> np.ndarray:
        block = np.zeros(len(looks), dtype=np.int64)
        by_camera = log_likelihood(looks, block, 1, CAMERAS, shifts)[0] + CAMERAS.log_prior
        return np.logaddexp.reduce(by_camera, axis=1)

    fit = log_fit(fine)
    share = np.exp(fit - np.logaddexp.reduce(fit))
    below = np.cumsum(share)
    low, high = fine[below >= 0.025][0] - 1, fine[below >= 0.975][0] + 1
    assert (fault.low_minutes, fault.high_minutes) == (
        min(low, fault.shift_minutes), max(high, fault.shift_minutes),
    )  # fmt: skip


def test_looks_are_counted_by_where_the_sun_stood() -> None:
    made, fault = whole(133)
    height = sun_height(40.0, -90.0, made.stated)
    grey = made.look < 0.5
    assert fault.n_looks == len(made.look)
    threshold = -2.0
    # The level found is good to a degree and a half, the sun's height to a quarter.
    near = [(np.abs(height - threshold) <= 15 + off).sum() for off in (-2, 2)]
    assert near[0] - 2 <= fault.n_near <= near[1] + 2
    # Below one chance in ten: some degrees beyond the change-over, not many.
    for told, beyond in ((fault.n_grey_in_light, grey * (height - threshold)),
                         (fault.n_coloured_in_dark, ~grey * (threshold - height))):  # fmt: skip
        assert (beyond > 5).sum() <= told <= (beyond > 1).sum()
        assert told > 10
    assert fault.n_contradict_after <= 2


def test_contradictions_of_two_days_are_a_storm() -> None:
    """Twelve hours off for some days in the middle of the record."""
    assert record(720, since=20.3, until=22.2).judged() == []
    (fault,) = record(720, since=20.3, until=24.2).judged()
    assert fault.shift_minutes == 720


def test_a_quarter_of_an_hour_is_not_noticed() -> None:
    assert record(14).judged() == [] == record(-14).judged()
    assert record(27).judged() and record(-27).judged()


def test_a_wrong_stretch_is_bounded_by_its_own_looks() -> None:
    made = record(-300, days=70, since=20.0, until=45.0)
    (fault,) = made.judged()
    first_wrong, first_right = np.searchsorted(
        made.true, np.datetime64("2023-07-01", "us") + np.array([20, 45], "timedelta64[D]")
    )
    at = {instant: place for place, instant in enumerate(made.stated)}
    # Only looks near dusk and dawn tell; between those of one evening and the next it may lie.
    assert abs(at[fault.begins] - first_wrong) <= 6
    assert abs(at[fault.ends] - first_right) <= 6
    n_looks = at[fault.ends] - at[fault.begins]
    assert n_looks - 2 <= fault.n_looks <= n_looks  # looks of ten minutes are one
    assert at[fault.begins_low] < at[fault.begins] <= at[fault.begins_high]
    assert at[fault.begins_low] < first_wrong + 1 <= at[fault.begins_high] + 1
    assert at[fault.begins_high] - at[fault.begins_low] < 12
    assert fault.begins_with == "unknown"
    # The row says the same: bounds in shown time to the minute, a photo of the middle.
    row = fault.row
    for bound, look in ((row["opens"], fault.begins), (row["closes"], fault.ends)):
        shown = made.shown[at[look]]
        assert np.timedelta64(0, "us") <= shown - bound < MINUTE
        assert made.shown[at[look] - 1] < bound
    assert row["actual"] - row["shown"] == -300 * MINUTE
    assert row["shown"] == row["shown"].astype("datetime64[m]")
    middle = (at[fault.begins] + at[fault.ends]) // 2
    assert np.timedelta64(0, "us") <= made.shown[middle] - row["shown"] < MINUTE


def test_a_card_check_among_the_looks_is_where_the_clock_changed() -> None:
    """Likelier by far than between two other looks that tell as little, of full day or night."""
    made = record(180, days=60, since=30.0)
    place = int(np.searchsorted(made.true, np.datetime64("2023-07-31", "us")))
    for off in (0, 1):
        check = made.stated[place + off : place + off + 1]
        (fault,) = made.judged(breaks=check)
        assert (fault.begins, fault.begins_with) == (check[0], "break")
        assert fault.begins_low == made.stated[place + off - 1] and np.isnat(fault.ends)
        assert fault.begins_high == fault.begins


def test_the_photo_a_person_looks_at_is_of_no_night_on_which_clocks_change() -> None:
    """The middle of the record is 5 November; the row's photo is more than 14 hours from it."""
    (fault,) = record(-60, days=40, first="2023-10-16").judged()
    assert abs(fault.row["shown"] - np.datetime64("2023-11-05T01:00")) > np.timedelta64(13, "h")


def test_a_change_within_a_minute_is_bounded_to_the_second() -> None:
    """Two looks in one minute, the first by the old clock: a grey and a coloured one at dusk."""
    made = record(180, days=60, since=30.0)
    place = int(np.searchsorted(made.true, np.datetime64("2023-07-31", "us")))
    start = made.stated[place].astype("datetime64[m]").astype("datetime64[us]")
    stated = made.stated.copy()
    stated[place - 1], stated[place] = start + MINUTE // 6, start + MINUTE // 2
    look = made.look.copy()
    look[place - 1] = 1 - look[place]
    changed = Record(made.true, stated, look)
    (fault,) = changed.judged(breaks=stated[place : place + 1])
    assert fault.begins == stated[place]
    assert fault.row["opens"] == changed.shown[place]


def test_two_faults_an_hour_apart_are_two_and_ten_minutes_apart_are_one() -> None:
    """A drift of some minutes between blocks is one fault still."""
    base = record(0, days=60)
    half = base.true >= np.datetime64("2023-07-31", "us")
    for second, n_faults in ((110, 1), (180, 2)):
        stated = base.true - np.where(half, second, 100) * MINUTE
        order = np.argsort(stated, kind="stable")
        made = Record(base.true[order], stated[order], base.look[order])
        assert len(made.judged()) == n_faults


def test_a_filter_that_sticks_through_a_fault_hides_it() -> None:
    made = record(180)
    stuck = Record(made.true, made.stated, made.look * 0)
    stuck.look[:20] = made.look[:20]
    assert stuck.judged() == []
