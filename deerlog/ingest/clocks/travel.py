"""One buck at two sites sooner than a deer can move: a wrong clock or a wrong tag."""

from __future__ import annotations

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


def impossible_trips(sightings: pd.DataFrame) -> pd.DataFrame:
    """The trips that no deer makes, each with what is likelier wrong.

    Each sighting is held against that buck's next one at another site. A camera that takes part
    in several such trips, of two or more bucks or day after day, is suspected of a wrong clock;
    the worst is named first and its trips set aside, so that the cameras it was compared with are
    not blamed. Trips left over are put down to tags.

    ``sightings`` has columns ``buck``, ``camera``, ``site``, ``time`` (UTC, ``datetime64``, aware
    or naive) and ``x_m``, ``y_m`` (metres, see `deerlog.property.coordinates`); unsure tags left
    out by the caller; rows without a time or place are not used.

    The frame has clocks before tags, the most trips first, then by time:

    - ``buck``; ``camera_a``, ``site_a``, ``time_a``, ``camera_b``, ``site_b``, ``time_b``: the
      two photos in order of time, UTC (naive); ``distance_m`` and ``seconds`` between them
    - ``impossible``: even 30 mph would not do; else only a sustained 8 mph would not
    - ``cameras``: whose clock is suspected: one, or the two of this trip where only these two
      ever disagree; ``()`` where a tag is
    - ``n_trips`` that speak against the suspected clock, or of this buck against his tags
    """
    trips = _trips(sightings)
    blamed: dict[int, tuple[tuple[str, ...], int]] = {}
    left = trips
    while len(left):
        camera, n_trips = _worst_camera(left)
        if not camera:
            break
        at = (left["camera_a"] == camera) | (left["camera_b"] == camera)
        partners = {*left.loc[at, "camera_a"], *left.loc[at, "camera_b"]}
        # Where only two cameras disagree, either may be the wrong one.
        cameras = tuple(sorted(partners)) if len(partners) == 2 else (camera,)
        blamed |= dict.fromkeys(left.index[at].tolist(), (cameras, n_trips))
        left = left[~at]
    of_buck = left["buck"].value_counts()
    why = [blamed.get(i, ((), int(of_buck.get(b, 0)))) for i, b in enumerate(trips["buck"])]
    trips["cameras"] = pd.Series([cameras for cameras, _ in why], dtype=object)
    trips["n_trips"] = np.array([n for _, n in why], dtype=np.int64)
    order = trips.assign(tag=[not cameras for cameras, _ in why], most=-trips["n_trips"])
    order = order.sort_values(["tag", "most", "cameras", "time_a", "buck"], kind="stable")
    return trips.loc[order.index].reset_index(drop=True)


def _trips(sightings: pd.DataFrame) -> pd.DataFrame:
    """Pairs of successive sightings of one buck at different sites that are too fast."""
    known = sightings[["buck", "camera", "site", "time", "x_m", "y_m"]].copy()
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
