"""Camera-days against a clock that ticks hour by hour."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from deerlog.ingest.effort.effort import Effort, camera_effort

FIRST = np.datetime64("2024-07-01T00", "h")
SPAN = 12 * 24
"""Hours that are looked at; no clock changes in them."""


def at(hours: list[int]) -> np.ndarray:
    return (FIRST + np.array(hours, dtype="timedelta64[h]")).astype("datetime64[us]")


def table(camera: str, rows: list[tuple[int, int | None]], **more: list[str]) -> pd.DataFrame:
    ends = [np.datetime64("NaT", "us") if b is None else at([b])[0] for _, b in rows]
    frame = pd.DataFrame({"start": at([a for a, _ in rows]), "end": np.array(ends, "M8[us]")})
    return frame.assign(camera=camera, **more)


class Record:
    """One camera at two sites one after the other, outages typed in, and some photos."""

    def __init__(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        cut = sorted(int(h) for h in rng.choice(np.arange(5, SPAN - 60), 3, replace=False))
        last = None if seed % 2 else SPAN - 40
        self.placements = [(cut[0], cut[1]), (cut[2] if seed % 3 else cut[1], last)]
        self.outages = []
        for _ in range(4):
            start = int(rng.integers(0, SPAN - 50))
            status = str(rng.choice(["down", "running"]))
            self.outages.append((start, start + int(rng.integers(1, 70)), status))
        self.photos = sorted(int(h) for h in rng.integers(0, SPAN - 5, 6))
        self.read = [int(rng.integers(0, SPAN - 5))] if seed % 4 else []

    def effort(self) -> Effort:
        local = pd.Series(pd.DatetimeIndex(at(self.photos)).tz_localize("America/Chicago"))
        photos = pd.DataFrame({"local": local, "time": local.dt.tz_convert("UTC")})
        photos = photos.assign(camera="Seep", path="a.jpg", excluded="", same_as=pd.NA)
        # What is none of this camera's, or no time to go by, proves nothing.
        late = photos.assign(local=local + pd.Timedelta(days=9), time=photos["time"])
        others = [late.assign(camera="Gate"), late.assign(excluded="time before 2005")]
        others.append(late.assign(same_as=0))
        bounds = [(a, b) for a, b, _ in self.outages]
        status = [status for _, _, status in self.outages]
        place = SimpleNamespace(
            settings=SimpleNamespace(timezone="America/Chicago"),
            placements=table("Seep", self.placements, site=["Creek", "Ridge"]),
            clock_readings=pd.DataFrame({"camera": "Seep", "actual": at(self.read)}),
            outages=table("Seep", bounds, status=status),
        )
        return camera_effort(pd.concat([photos, *others], ignore_index=True), place)

    def hours_watched(self, number: int) -> np.ndarray:
        """Whether each hour counts at a placement, by the rules in words."""
        start, end = self.placements[number]
        end = 10**6 if end is None else end
        later = [hour for hour in self.photos + self.read if hour >= start]
        until = start if not later else end if max(later) >= end else max(later)
        typed = {"down": np.zeros(SPAN, dtype=bool), "running": np.zeros(SPAN, dtype=bool)}
        for first, after, status in self.outages:
            typed[status][first:after] = True
        hour = np.arange(SPAN)
        ran = (hour >= start) & (hour < until) & ~typed["down"]
        return ran | (typed["running"] & (hour >= start) & (hour < end))


@pytest.mark.parametrize("seed", range(16))
def test_every_day_and_stretch(seed: int) -> None:
    record = Record(seed)
    effort = record.effort()
    for number, site in enumerate(("Creek", "Ridge")):
        watched = record.hours_watched(number)
        days = effort.camera_days[effort.camera_days["site"] == site].set_index("day")["camera_day"]
        by_day = watched.reshape(-1, 24).mean(axis=1)
        wanted = pd.Series(by_day, pd.date_range("2024-07-01", periods=len(by_day), unit="us"))
        got = days.reindex(wanted.index).fillna(0.0)
        np.testing.assert_allclose(got, wanted, atol=5e-5)
        assert days.sum() == pytest.approx(watched.sum() / 24, abs=1e-3)  # and none outside
        if len(days):  # from the first day on without a hole
            assert days.index[0] == at([record.placements[number][0]])[0].astype("datetime64[D]")
            assert (np.diff(days.index) == np.timedelta64(1, "D")).all()
        stretches = effort.stretches[effort.stretches["placement"] == number]
        hours = np.zeros(SPAN, dtype=int)
        for start, end in zip(stretches["start"], stretches["end"], strict=True):
            first, after = (
                (t - pd.Timestamp(FIRST)) // pd.Timedelta(hours=1) for t in (start, end)
            )
            hours[first:after] += 1
        np.testing.assert_array_equal(hours, watched)
        assert (
            stretches["start"].iloc[1:].to_numpy() > stretches["end"].iloc[:-1].to_numpy()
        ).all()
    assert (effort.camera_days["camera"] == "Seep").all() and effort.found.empty
    down = effort.silent[effort.silent["status"] == "down"]
    inside = [(a, b if b is not None else 10**6) for a, b in record.placements]
    typed = np.zeros(SPAN, dtype=bool)
    for first, after, status in record.outages:
        typed[first:after] |= status == "down"
    placed = np.any([(np.arange(SPAN) >= a) & (np.arange(SPAN) < b) for a, b in inside], axis=0)
    told = (down["end"] - down["start"]).sum() / pd.Timedelta(hours=1) if len(down) else 0
    assert told == (typed & placed).sum()


def test_a_camera_put_up_twice_a_day_shares_the_day() -> None:
    record = Record(0)
    record.placements, record.outages, record.read = [(6, 18), (18, 30)], [], []
    record.photos = [40]
    effort = record.effort().camera_days
    assert effort.groupby("site")["camera_day"].apply(list).to_dict() == {
        "Creek": [0.5], "Ridge": [0.25, 0.25],
    }  # fmt: skip
