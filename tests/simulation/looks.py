"""What large pictures without a thumbnail say of their camera's clock.

    cd tests
    python -m simulation.looks

makes pictures of 300 kB as cameras take them (night with and without a coloured strip of figures,
wood, snow and fog by day, the purple day of an infrared filter that sticks), prints the look that
ingest gives them, and holds clocks against looks drawn from them: faults of an hour found from 60
pictures, and right clocks called wrong.
"""

from __future__ import annotations

import io
import sys

import numpy as np
from PIL import Image

from deerlog.ingest.cards.picture import look_of, look_of_upper_half
from deerlog.ingest.clocks.light_faults import light_faults
from deerlog.one_thread import one_thread
from deerlog.timekeeping.sun import sun_height
from simulation.test_clock_light_simulation import MINUTE, PLACES, deer_times, local_time

SIZE = (1296, 2304)
# Red, green and blue of what is light and what is dark in the picture, and the sensor's noise.
KINDS = {
    "night": ((200, 200, 200), (20, 20, 20), 9.0),
    "night, strip": ((200, 200, 200), (20, 20, 20), 9.0),
    "night, pink tint": ((215, 195, 205), (22, 18, 20), 9.0),
    "wood": ((170, 180, 130), (50, 45, 25), 6.0),
    "snow": ((225, 228, 236), (80, 76, 72), 4.0),
    "fog": ((190, 194, 198), (120, 122, 122), 4.0),
    "purple day": ((225, 175, 235), (70, 40, 75), 6.0),
}
# How far hues swing from picture to picture, in units of 255.
HUES = {"wood": (8.0, 20.0), "snow": (2.0, 8.0), "fog": (1.0, 5.0)}


def jpeg(kind: str, rng: np.random.Generator) -> bytes:
    """A picture of a kind, about 300 kB."""
    light, dark, noise = KINDS[kind]
    height, width = SIZE
    # Blobs of light and shade, and in the coloured ones of hue: leaf, bark, sky, hide.
    blobs = Image.fromarray(rng.uniform(0, 255, (18, 32)).astype(np.uint8))
    share = np.asarray(blobs.resize((width, height), Image.Resampling.BICUBIC))[..., None] / 255
    pixels = np.array(dark) + share * (np.array(light) - np.array(dark))
    grey = kind.startswith("night") or kind == "purple day"
    hue = rng.uniform(*HUES.get(kind, (0.0, 0.0)))
    hues = Image.fromarray(rng.uniform(0, 255, (9, 16)).astype(np.uint8))
    swing = (
        np.asarray(hues.resize((width, height), Image.Resampling.BICUBIC))[..., None] / 127.5 - 1
    )
    pixels = pixels + swing * hue * np.array([1.0, 0.2, -1.2])
    pixels = pixels + rng.normal(0, noise, (height, width, 1 if grey else 3))
    if kind == "night, strip":
        for rows in (slice(0, int(0.05 * height)), slice(int(0.95 * height), height)):
            pixels[rows] = (15, 30, 140)
            pixels[rows][::7] = (250, 230, 40)
    out = io.BytesIO()
    Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(out, "JPEG", quality=40)
    return out.getvalue()


def looks_by_kind(n: int) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
    """Looks of n pictures of each kind, and those of a thumbnail of each."""
    rng = np.random.default_rng(12)
    without, with_thumbnail = {}, {}
    for kind in KINDS:
        pictures = [jpeg(kind, rng) for _ in range(n)]
        without[kind] = np.array([look_of_upper_half(each) for each in pictures], dtype=float)
        small = [look_of(thumbnail(each)) for each in pictures]
        with_thumbnail[kind] = np.array(small, dtype=float)
    return without, with_thumbnail


def thumbnail(picture: bytes) -> bytes:
    """The small picture that a camera would embed."""
    image, out = Image.open(io.BytesIO(picture)), io.BytesIO()
    image.thumbnail((160, 120))
    image.save(out, "JPEG", quality=75)
    return out.getvalue()


def called_wrong(looks: dict[str, np.ndarray], n: int, minutes: int, seed: int) -> int:
    """Of n cameras with 60 pictures each, those whose clock is called wrong."""
    rng = np.random.default_rng(seed)
    nights = [kind for kind in looks if kind.startswith("night")]
    wrong = 0
    for i in range(n):
        latitude, longitude, zone = place = PLACES[i % 3]
        first = np.datetime64("2023-06-01", "us") + np.timedelta64(int(rng.integers(0, 330)), "D")
        true = deer_times(rng, place, first, rng.uniform(20, 90), 60)
        seen = sun_height(latitude, longitude, true) + rng.normal(0, rng.uniform(2, 3), 60)
        by_day = "snow" if rng.uniform() < 0.3 else "wood"
        day = np.where(rng.uniform(size=60) < 0.05, "fog", by_day)
        kinds = np.where(seen > rng.uniform(-6, 6), day, rng.choice(nights))
        look = np.array([rng.choice(looks[kind]) for kind in kinds])
        stated = true - minutes * int(rng.choice([-1, 1])) * MINUTE
        with one_thread():
            faults = light_faults(
                "Ridge",
                stated,
                local_time(stated, zone),
                look,
                latitude=latitude,
                longitude=longitude,
                zone=zone,
            )
        wrong += bool(faults)
    return wrong


def main(n_wrong: int = 200, n_right: int = 2000) -> None:
    """Print the looks and the counts."""
    without, with_thumbnail = looks_by_kind(12)
    for kind, values in without.items():
        small = with_thumbnail[kind]
        print(
            f"{kind:17} look {values.min():.2f} to {values.max():.2f}, "
            f"by a thumbnail {small.min():.2f} to {small.max():.2f}"
        )
    found, as_before = (called_wrong(looks, n_wrong, 60, 3) for looks in (without, with_thumbnail))
    print(
        f"an hour wrong, 60 pictures, {n_wrong} cameras: {found} found, {as_before} by thumbnails"
    )
    print(f"right: {called_wrong(without, n_right, 0, 4)} of {n_right} called wrong")


if __name__ == "__main__":
    main(*(int(number) for number in sys.argv[1:]))
