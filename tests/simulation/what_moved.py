"""Bursts of invented pictures with a moving animal or without: can a measure of change tell them?

    cd tests
    python -m simulation.what_moved

prints, at each setting of wind, light and animal, how often a burst with an animal stands before
one without (0.5 is chance), and what share of the empty bursts one goes through before 95 % of the
animals are found; beside it the same of a plain count of changed pixels. Empty bursts have the same
wind and light as those with an animal: it is what sets a camera off.

Pictures are 160 x 120 grey, as the small ones inside a camera's files. What changes between frames
beyond noise is what is left of each 8 x 8 block after the best of all shifts by up to 3 px and a
change of brightness of its own, over what is left in its quietest blocks; the info strip is left
out. A burst's measure is its 2 x 2 blocks that changed most, over its quietest blocks. Others did
no better (over the upper quarter of the blocks, over those of the same height, 3 x 3 blocks, what
is left against the texture there).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy import ndimage

HEIGHT, WIDTH = 120, 160
STRIP, BLOCK, SHIFT = 8, 8, 3
FRAMES = 3
BURSTS = 150
FOUND = 0.95

Picture = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Setting:
    """What a camera looks at.

    ``sway_px`` is the sd of how far grass moves between frames, ``light`` of the log of brightness
    in the parts of the picture (moving shade), ``noise`` of a pixel, ``length_px`` the animal's
    length and ``steps_px`` how far it goes between frames, from and to.
    """

    sway_px: float = 0.3
    light: float = 0.02
    noise: float = 2.0
    length_px: tuple[float, float] = (10, 60)
    steps_px: tuple[float, float] = (1, 40)


SETTINGS = {
    "calm, day": Setting(),
    "calm, night (noise 6)": Setting(noise=6.0),
    "breeze": Setting(sway_px=1.5),
    "wind": Setting(sway_px=4.0),
    "changing light": Setting(light=0.25),
    "wind and changing light": Setting(sway_px=4.0, light=0.25),
    "calm, animal stands and feeds": Setting(steps_px=(0, 2)),
    "calm, animal far off": Setting(length_px=(6, 14)),
    "wind, animal far off": Setting(sway_px=4.0, length_px=(6, 14)),
}


def _field(rng: np.random.Generator, smooth_px: float) -> Picture:
    """Smooth noise of mean 0 and sd 1."""
    field = ndimage.gaussian_filter(rng.standard_normal((HEIGHT, WIDTH)), smooth_px, mode="wrap")
    return np.asarray((field - field.mean()) / field.std())


def burst(setting: Setting, rng: np.random.Generator, *, animal: bool) -> list[Picture]:
    """The frames of one burst."""
    scene = 110 + 22 * _field(rng, 12) + 14 * _field(rng, 3) + 9 * _field(rng, 1)
    rows, columns = np.mgrid[:HEIGHT, :WIDTH].astype(float)
    # Grass and twigs stand in the lower part and in clumps above; trunks do not move.
    moves = np.clip((rows - 45) / 60, 0, 1) + (_field(rng, 8) > 1.0)
    length = np.exp(rng.uniform(*np.log(setting.length_px)))
    coat = rng.choice((-1, 1)) * rng.uniform(12, 45)
    marks = 8 * _field(rng, 1.5)
    x, y = rng.uniform(0.1, 0.9) * WIDTH, rng.uniform(0.4, 0.8) * HEIGHT
    way = rng.choice((-1, 1))
    frames = []
    for _ in range(FRAMES):
        sway = setting.sway_px * rng.normal(1, 0.3) * moves
        shown = ndimage.map_coordinates(
            scene,
            [rows + 0.4 * sway * _field(rng, 5), columns + sway * _field(rng, 5)],
            order=1,
            mode="nearest",
        )
        if animal:
            body = ((columns - x) / (length / 2)) ** 2 + ((rows - y) / (length / 5)) ** 2 < 1
            legs = (abs(abs(columns - x) - length / 3) < length / 20) & (
                abs(rows - y - length / 4) < length / 4
            )
            on_it = ndimage.gaussian_filter((body | legs).astype(float), 0.6)
            # Grass hides part of it.
            on_it *= np.clip(1.3 - 0.5 * (_field(rng, 3) > 1) * (rows > 70), 0, 1)
            shown = shown * (1 - on_it) + (110 + coat + marks) * on_it
            x += way * rng.uniform(*setting.steps_px)
        shown = shown * np.exp(0.02 * rng.standard_normal() + setting.light * _field(rng, 20))
        shown = shown + setting.noise * rng.standard_normal(shown.shape)
        frames.append(np.clip(np.round(shown), 0, 255))
    return frames


def _blocks(picture: Picture) -> Picture:
    """Sums of the blocks, the info strip left out."""
    part = picture[STRIP : HEIGHT - STRIP]
    high, wide = part.shape[0] // BLOCK, part.shape[1] // BLOCK
    shaped = part[: high * BLOCK, : wide * BLOCK].reshape(high, BLOCK, wide, BLOCK)
    return np.asarray(shaped.sum(axis=(1, 3)))


def left_over(one: Picture, other: Picture) -> Picture:
    """What no shift and no change of brightness explains of each block, mean square a pixel."""
    n = BLOCK * BLOCK
    a, aa = _blocks(one) / n, _blocks(one**2) / n
    best = np.full(a.shape, np.inf)
    for down in range(-SHIFT, SHIFT + 1):
        for right in range(-SHIFT, SHIFT + 1):
            moved = np.roll(other, (down, right), axis=(0, 1))
            b = _blocks(moved) / n
            spread = np.maximum(_blocks(moved**2) / n - b**2, 1e-9)
            along = _blocks(one * moved) / n - a * b
            gain = np.clip(along / spread, 0.6, 1.6)
            rest = (aa - a**2) - 2 * gain * along + gain**2 * spread
            best = np.minimum(best, rest)
    return best


def change(frames: list[Picture]) -> float:
    """How much changed in one place, over the quietest places."""
    smooth = [ndimage.gaussian_filter(frame, 0.7) for frame in frames]
    most = np.maximum.reduce(
        [left_over(a, b) for a, b in pairwise(smooth)]
        + [left_over(b, a) for a, b in pairwise(smooth)]
    )
    relative = np.log(most / np.quantile(most, 0.1))
    together = ndimage.uniform_filter(relative, 2)[1:, 1:]
    return float(together.max())


def plain_change(frames: list[Picture]) -> float:
    """The simplest measure beside it: the share of pixels that changed by more than their noise."""
    differ = [abs(b - a)[STRIP:-STRIP] for a, b in pairwise(frames)]
    return float(max(np.mean(d > 4 * 1.48 * np.median(d)) for d in differ))


def stands_before(with_one: npt.NDArray[np.float64], empty: npt.NDArray[np.float64]) -> float:
    """How often a burst with an animal has more of a measure than one without."""
    return float(np.mean(with_one[:, None] > empty) + 0.5 * np.mean(with_one[:, None] == empty))


def looked_through(with_one: npt.NDArray[np.float64], empty: npt.NDArray[np.float64]) -> float:
    """Share of the empty bursts that one goes through before `FOUND` of the animals are found."""
    return float(np.mean(empty >= np.quantile(with_one, 1 - FOUND)))


def measured(setting: Setting, n_bursts: int) -> list[npt.NDArray[np.float64]]:
    """Both measures of bursts with an animal and without, shape (2, 2, n): by measure, by kind."""
    rng = np.random.default_rng(20251201)
    kinds = [[burst(setting, rng, animal=a) for _ in range(n_bursts)] for a in (True, False)]
    return [
        np.array([[measure(frames) for frames in kind] for kind in kinds])
        for measure in (change, plain_change)
    ]


def main() -> None:
    """Print the table."""
    print(f"{'setting':32} {'before':>7} {'empty seen':>11} {'plain':>7} {'empty seen':>11}")
    found = {}
    for name, setting in SETTINGS.items():
        found[name] = measured(setting, BURSTS)
        _print(name, found[name])
    together = [np.concatenate(each, axis=1) for each in zip(*found.values(), strict=True)]
    _print("all of them on one card", together)


def _print(name: str, measures: list[npt.NDArray[np.float64]]) -> None:
    cells = [
        f"{stands_before(one, none):7.2f} {looked_through(one, none):11.0%}"
        for one, none in measures
    ]
    print(f"{name:32} {' '.join(cells)}", flush=True)


if __name__ == "__main__":
    main()
