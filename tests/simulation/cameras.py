"""Cameras on the ground: where they stand, when they run, and what a person believes ran."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

SETTINGS = ("food", "travel", "scrape", "bed", "water", "other")
SETTING_SHARES = (0.27, 0.33, 0.16, 0.08, 0.1, 0.06)


@dataclass(frozen=True, kw_only=True)
class Cameras:
    """Sites of one property and the cameras that stood there.

    Attributes
    ----------
    position_m
        Shape (sites, 2), metres east and north of the property's centre.
    setting
        Index into `SETTINGS`, shape (sites,).
    bait
        Shape (sites,).
    quality
        How much better than the middle a site sees a deer that is near, shape (sites,).
    camera
        Camera that stood at the site, shape (sites,). A moved camera has several sites.
    placed
        True from the placement's first to its last day, shape (sites, days).
    running
        Share of the day that the camera really ran, shape (sites, days).
    believed
        Camera-days as a person would count them, shape (sites, days): short failures go unnoticed.
    """

    position_m: npt.NDArray[np.float64]
    setting: npt.NDArray[np.int64]
    bait: npt.NDArray[np.bool_]
    quality: npt.NDArray[np.float64]
    camera: npt.NDArray[np.int64]
    placed: npt.NDArray[np.bool_]
    running: npt.NDArray[np.float64]
    believed: npt.NDArray[np.float64]


def draw_cameras(
    rng: np.random.Generator, *, n_cameras: int, season_lengths: list[int], side_m: float
) -> Cameras:
    """Place the cameras of a property and let them fail, move and be added to."""
    n_days = sum(season_lengths)
    starts = np.concatenate([[0], np.cumsum(season_lengths)])
    # Three properties in ten are watched from some day in summer to some day in winter only.
    part_year = rng.random() < 0.3
    opens, closes = int(rng.integers(20, 90)), int(rng.integers(225, 275))
    first_season_cameras = max(3, round(n_cameras * rng.uniform(0.6, 1.0)))
    placements: list[tuple[int, list[tuple[int, int]]]] = []
    for camera in range(n_cameras):
        added = 0 if camera < first_season_cameras else int(rng.integers(0, len(season_lengths)))
        stretches: list[tuple[int, int]] = []
        for season in range(added, len(season_lengths)):
            first = int(starts[season])
            if season == added:
                first += int(rng.integers(0, 75))
            if season > added and rng.random() < 0.12:
                moved = first + int(rng.integers(0, 110))
                if part_year:
                    moved = first
                elif stretches:
                    stretches.append((first, moved))
                placements.append((camera, stretches))
                stretches = []
                first = moved
            last = int(starts[season + 1])
            if part_year:
                first = max(first, int(starts[season]) + opens)
                last = min(last, int(starts[season]) + closes)
            stretches.append((first, last))
        placements.append((camera, stretches))
    placements = [p for p in placements if p[1]]
    n_sites = len(placements)
    placed = np.zeros((n_sites, n_days), dtype=bool)
    for site, (_, stretches) in enumerate(placements):
        for first, last in stretches:
            placed[site, first:last] = True
    running, believed = failures(rng, placed)
    return Cameras(
        position_m=_spread_out(rng, n_sites, side_m),
        setting=rng.choice(len(SETTINGS), n_sites, p=SETTING_SHARES),
        bait=rng.random(n_sites) < 0.1,
        quality=rng.lognormal(0, 0.45, n_sites),
        camera=np.array([p[0] for p in placements]),
        placed=placed,
        running=running,
        believed=believed,
    )


def failures(
    rng: np.random.Generator, placed: npt.NDArray[np.bool_]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Flat batteries and full cards: about one day in twelve, a week or so at a time."""
    running = placed.astype(float)
    believed = running.copy()
    n_days = placed.shape[1]
    for site in range(len(placed)):
        day = int(rng.exponential(80))
        while day < n_days:
            length = 1 + int(rng.exponential(7))
            running[site, day : day + length] = 0.0
            if length > 3 or rng.random() < 0.4:
                believed[site, day : day + length] = 0.0
            day += length + 1 + int(rng.exponential(80))
        # Set up or pulled in the middle of a day.
        edges = np.flatnonzero(np.diff(placed[site].astype(int), prepend=0) == 1)
        running[site, edges] *= 0.5
        believed[site, edges] *= 0.5
    return running, believed


def _spread_out(rng: np.random.Generator, n_sites: int, side_m: float) -> npt.NDArray[np.float64]:
    """Sites spread as a person spreads them: each the farthest of some candidates from the rest."""
    position = np.empty((n_sites, 2))
    position[0] = rng.uniform(-0.5, 0.5, 2) * side_m * 0.95
    for site in range(1, n_sites):
        tries = rng.uniform(-0.5, 0.5, (4, 2)) * side_m * 0.95
        apart = np.linalg.norm(tries[:, None, :] - position[None, :site], axis=-1).min(axis=1)
        position[site] = tries[apart.argmax()]
    return position
