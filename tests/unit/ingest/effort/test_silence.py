"""Silent stretches on records small enough to think through."""

from __future__ import annotations

import numpy as np
import pytest

from deerlog.ingest.effort.silence import silent_stretches

START = np.datetime64("2024-06-01T00:00", "us")


def at(days: object) -> np.ndarray:
    return START + np.round(np.asarray(days, dtype=float) * 86_400e6).astype("timedelta64[us]")


def twice_a_day(first: float, last: float) -> np.ndarray:
    """Events at 06:00 and 18:00 from day ``first`` to day ``last``."""
    return np.arange(first + 0.25, last, 0.5)


def days_of(instant: np.datetime64) -> float:
    return float((instant - START) / np.timedelta64(1, "D"))


def test_a_dead_fortnight_is_found_with_its_evidence() -> None:
    events = np.concatenate((twice_a_day(0, 40), twice_a_day(54, 100)))
    (found,) = silent_stretches(at(events), START, at(100))
    assert days_of(found.last_event) == 39.75
    assert days_of(found.first_event) == 54.25
    assert found.expected_events == pytest.approx(2 * 14.5, rel=0.05)
    assert found.log10_p < -6
    # The camera is taken to have run on for the usual half day after its last photo.
    assert days_of(found.start) == pytest.approx(40.25, abs=0.2)
    assert days_of(found.end) == pytest.approx(53.75, abs=0.2)
    assert (found.end - found.start) / np.timedelta64(1, "D") == pytest.approx(13.5, abs=0.4)


def test_a_steady_camera_is_never_silent() -> None:
    assert silent_stretches(at(twice_a_day(0, 300)), START, at(300)) == []


def test_a_gap_of_the_cameras_own_length_is_believed() -> None:
    """One event each four days: a twelve-day gap proves nothing."""
    events = np.concatenate((np.arange(1, 120, 4), np.arange(131, 250, 4))).astype(float)
    assert silent_stretches(at(events), START, at(250)) == []
    # The very same gap on a camera eight times busier does.
    busy = np.concatenate((twice_a_day(0, 118), twice_a_day(130, 250)))
    assert len(silent_stretches(at(busy), START, at(250))) == 1


def test_the_tail_and_the_head_are_judged_too() -> None:
    (tail,) = silent_stretches(at(twice_a_day(0, 60)), START, at(80))
    assert np.isnat(tail.first_event)
    assert days_of(tail.end) == 80
    assert days_of(tail.last_event) == 59.75
    (head,) = silent_stretches(at(twice_a_day(20, 80)), START, at(80))
    assert np.isnat(head.last_event)
    assert days_of(head.start) == 0


def test_two_outages_do_not_hide_each_other() -> None:
    """Three live days between two dead weeks: each gap lies in the other's neighbourhood."""
    events = np.concatenate((twice_a_day(0, 30), twice_a_day(44, 47), twice_a_day(61, 90)))
    found = silent_stretches(at(events), START, at(90))
    assert [round(days_of(s.last_event)) for s in found] == [30, 47]


def test_photos_of_one_group_prove_no_more_than_one() -> None:
    """Ten photos in ten minutes each fourth day are a slow camera, not a busy one."""
    visits = np.concatenate((np.arange(1, 60, 4), np.arange(71, 130, 4))).astype(float)
    photos = (visits[:, None] + np.arange(10) / 1440).ravel()
    assert silent_stretches(at(photos), START, at(130)) == []


def test_a_feeder_with_photos_all_day_and_night_is_not_one_endless_event() -> None:
    """A photo each twenty minutes for weeks: nothing is silent but the real outage."""
    every = np.arange(0.0, 60.0, 20 / 1440)
    assert silent_stretches(at(every), START, at(60)) == []
    (found,) = silent_stretches(at(every[(every < 20) | (every > 25)]), START, at(60))
    assert days_of(found.last_event) == pytest.approx(20, abs=0.02)
    assert days_of(found.first_event) == pytest.approx(25, abs=0.02)


def test_a_site_gone_cold_is_not_a_dead_camera() -> None:
    """Busy before, one photo a week after: ten empty days fit the second half."""
    cold = np.concatenate((twice_a_day(0, 60), np.arange(70, 160, 7)))
    assert silent_stretches(at(cold), START, at(160)) == []
    # The same ten days between two busy halves do not.
    busy = np.concatenate((twice_a_day(0, 60), twice_a_day(70, 160)))
    assert len(silent_stretches(at(busy), START, at(160))) == 1


def test_too_few_events_tell_nothing() -> None:
    assert silent_stretches(at([0.2, 0.4, 1.1]), START, at(200)) == []
    assert silent_stretches(at([]), START, at(200)) == []


def test_order_doubles_and_missing_times_do_not_matter() -> None:
    events = at(np.concatenate((twice_a_day(0, 40), twice_a_day(54, 100))))
    expected = silent_stretches(events, START, at(100))
    messy = np.concatenate((events[::-1], events[:20], [np.datetime64("NaT")], at([-5, 400])))
    assert silent_stretches(messy, START, at(100)) == expected


def test_a_placement_that_ends_before_it_starts_is_refused() -> None:
    with pytest.raises(ValueError, match="ends"):
        silent_stretches(at([1.0]), at(10), START)


def test_a_stricter_limit_finds_less() -> None:
    events = np.concatenate((twice_a_day(0, 40), twice_a_day(46, 100)))
    assert len(silent_stretches(at(events), START, at(100), believable=1e-3)) == 1
    assert silent_stretches(at(events), START, at(100), believable=1e-9) == []
