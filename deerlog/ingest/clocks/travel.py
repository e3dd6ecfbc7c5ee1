"""One buck at two sites sooner than a deer can move: a wrong clock or a wrong tag."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

# --- What is fixed by judgement, with its reason ------------------------------------------------
FLAT_OUT_MPS = 13.4
"""30 miles an hour, flat out (common practice, no published source)."""
SUSTAINED_MPS = 3.6
"""8 miles an hour kept up (common practice, no published source)."""
SPRINT_M = 400.0
"""Ground a deer that was pushed may cover flat out before it slows. Our choice."""
PLACE_M = 60.0
"""Taken off each distance: two positions good to 30 m under trees, our choice."""
TIME_SECONDS = 60.0
"""Added to each time between: two clocks, each set to the minute. Our choice."""
REPEATED = 3
"""So many impossible or doubtful trips at one camera, of two bucks or on three days, speak for its
clock: wrong tags do not gather at one camera. Our choice."""
REPEATED_DAYS = 3
"""With trips of one buck only, they must fall on so many days, and all be at that camera."""

_COLUMNS = ("buck", "camera", "site", "time", "x_m", "y_m")


@dataclass(frozen=True, kw_only=True)
class TravelFinding:
    """Two photos of one buck too far apart for the time between them.

    Attributes
    ----------
    impossible
        True where even 30 mph would not do; False where only a sustained 8 mph would not.
    suspect
        ``"clock"`` or ``"tag"``.
    cameras
        Cameras whose clock is suspected: one, or the two of this trip where only these two ever
        disagree; empty for a tag.
    n_trips
        Trips that speak against the suspected clock, or of this buck against his tags.
    buck, camera_a, site_a, time_a, camera_b, site_b, time_b
        The two photos in order of time, UTC (naive ``datetime64[us]``).
    distance_m, seconds, speed_mps
        Between the sites; the speed is infinite where he is at both at one time.
    """

    impossible: bool
    suspect: str
    cameras: tuple[str, ...]
    n_trips: int
    buck: str
    camera_a: str
    site_a: str
    time_a: np.datetime64
    camera_b: str
    site_b: str
    time_b: np.datetime64
    distance_m: float
    seconds: float

    @property
    def speed_mps(self) -> float:
        """Metres a second."""
        return self.distance_m / self.seconds if self.seconds > 0 else float("inf")


def least_seconds(
    distance_m: npt.NDArray[np.float64],
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Shortest believable, and shortest possible, time for each distance.

    Believable: a sprint of `SPRINT_M`, the rest at `SUSTAINED_MPS`; possible: all of it flat out.
    Less the allowances for positions and clocks, which may make it negative.
    """
    ground = np.clip(distance_m - PLACE_M, 0.0, None)
    sprint = np.minimum(ground, SPRINT_M)
    believable = sprint / FLAT_OUT_MPS + (ground - sprint) / SUSTAINED_MPS
    return believable - TIME_SECONDS, ground / FLAT_OUT_MPS - TIME_SECONDS


def travel_findings(sightings: pd.DataFrame) -> list[TravelFinding]:
    """The trips that no deer makes, each with what is likelier wrong.

    Each sighting is held against that buck's next one at another site. A camera that takes part
    in several such trips, of two or more bucks or day after day, is suspected of a wrong clock;
    the worst is named first and its trips set aside, so that the cameras it was compared with are
    not blamed. Trips left over are put down to tags.

    Parameters
    ----------
    sightings
        Columns ``buck``, ``camera``, ``site``, ``time`` (UTC, ``datetime64``, aware or naive) and
        ``x_m``, ``y_m`` (metres, see `deerlog.property.coordinates`); unsure tags left out by the
        caller; rows without a time or place are not used.

    Returns
    -------
    list of TravelFinding
        Clocks before tags, the most trips first, then by time.
    """
    trips = _trips(sightings)
    blamed: dict[int, tuple[tuple[str, ...], int]] = {}
    left = trips
    while len(left):
        camera, n_trips = _worst_camera(left)
        if not camera:
            break
        at = (left["camera_a"] == camera) | (left["camera_b"] == camera)
        mine = left[at]
        partners = set(mine["camera_a"]) | set(mine["camera_b"])
        # Where only two cameras disagree, either may be the wrong one.
        cameras = tuple(sorted(partners)) if len(partners) == 2 else (camera,)
        blamed |= {int(i): (cameras, n_trips) for i in mine.index}
        left = left[~at]
    by_buck: Counter[str] = Counter(left["buck"].astype(str))
    findings = [
        _finding(trips.iloc[i], *blamed.get(i, ((), by_buck[str(trips["buck"].iloc[i])])))
        for i in range(len(trips))
    ]
    return sorted(
        findings, key=lambda f: (f.suspect != "clock", -f.n_trips, f.cameras, f.time_a, f.buck)
    )


def _trips(sightings: pd.DataFrame) -> pd.DataFrame:
    """Pairs of successive sightings of one buck at different sites that are too fast."""
    known = sightings[list(_COLUMNS)].copy()
    time = pd.to_datetime(known["time"], utc=True).dt.tz_localize(None)
    known["time"] = time.astype("datetime64[us]")
    known = known.dropna(subset=["time", "x_m", "y_m"])
    known = known.sort_values(["buck", "time", "site", "camera"], kind="stable")
    known = known.reset_index(drop=True)
    first, second = known.iloc[:-1], known.iloc[1:].reset_index(drop=True)
    trips = first.add_suffix("_a").join(second.add_suffix("_b"))
    trips["buck"] = trips["buck_a"]
    trips["distance_m"] = np.hypot(trips["x_m_b"] - trips["x_m_a"], trips["y_m_b"] - trips["y_m_a"])
    trips["seconds"] = (trips["time_b"] - trips["time_a"]).dt.total_seconds()
    believable, possible = least_seconds(np.asarray(trips["distance_m"], dtype=np.float64))
    trips["impossible"] = trips["seconds"] < possible
    fast = (trips["buck_a"] == trips["buck_b"]) & (trips["site_a"] != trips["site_b"])
    return trips[fast & (trips["seconds"] < believable)].reset_index(drop=True)


def _worst_camera(trips: pd.DataFrame) -> tuple[str, int]:
    """The camera whose clock most trips speak against, and how many; ``""`` if none does."""
    ends = pd.concat(
        [
            trips[["buck", "time_a", f"camera_{end}"]].set_axis(["buck", "time", "camera"], axis=1)
            for end in ("a", "b")
        ]
    )
    # A camera with two sites is one clock: a trip between its own sites counts once.
    ends = ends.reset_index().drop_duplicates(["index", "camera"])
    ends["day"] = ends["time"].dt.normalize()
    table = ends.groupby("camera").agg(
        trips=("index", "size"), bucks=("buck", "nunique"), days=("day", "nunique")
    )
    alone = (table["trips"] == len(trips)) & (table["days"] >= REPEATED_DAYS)
    against = table[(table["trips"] >= REPEATED) & ((table["bucks"] >= 2) | alone)]
    if against.empty:
        return "", 0
    worst = against.sort_values("trips", ascending=False, kind="stable").iloc[0]
    return str(worst.name), int(worst["trips"])


def _finding(trip: pd.Series, cameras: tuple[str, ...], n_trips: int) -> TravelFinding:
    return TravelFinding(
        impossible=bool(trip["impossible"]),
        suspect="clock" if cameras else "tag",
        cameras=cameras,
        n_trips=n_trips,
        buck=str(trip["buck"]),
        camera_a=str(trip["camera_a"]),
        site_a=str(trip["site_a"]),
        time_a=trip["time_a"].to_datetime64(),
        camera_b=str(trip["camera_b"]),
        site_b=str(trip["site_b"]),
        time_b=trip["time_b"].to_datetime64(),
        distance_m=float(trip["distance_m"]),
        seconds=float(trip["seconds"]),
    )
