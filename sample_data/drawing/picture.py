"""Draws a trail-camera picture: the same view at every site, day or infrared, with its animals."""

from __future__ import annotations

import io
import zlib
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from drawing.exif_block import ASCII, LONG, RATIONAL, SHORT, UNDEFINED, Entry, exif_block
from drawing.ground import Camera, Site

WIDTH, HEIGHT = 320, 240
STRIP = 14  # height of the dark strip with the time
THUMBNAIL = (160, 120)
QUALITY, THUMBNAIL_QUALITY = 52, 30

_GROUND = {
    "food": (112, 128, 62),
    "bed": (98, 88, 58),
    "travel": (118, 104, 70),
    "water": (96, 104, 78),
    "scrape": (110, 92, 62),
}
_LEAVES = {"summer": (58, 92, 44), "fall": (142, 98, 44), "bare": (104, 92, 80)}
_DEER = {"buck": (1.0, 4), "young buck": (0.86, 2), "doe": (0.84, 0), "fawn": (0.52, 0)}
"""Size beside a grown buck, and tines a side."""
_SMALL = {"squirrel": (7, 6), "raccoon": (14, 9), "opossum": (13, 8), "coyote": (26, 15)}
"""Half the length and half the height in pixels, at the middle of the picture."""

Colour = tuple[int, int, int]
Point = tuple[float, float]


@dataclass(frozen=True)
class Coat:
    """Colours of an animal: in infrared a deer's coat is pale."""

    hide: Colour
    dark: Colour
    antler: Colour


_DAY_COAT = Coat((124, 92, 64), (84, 64, 48), (200, 182, 150))
_NIGHT_COAT = Coat((205, 200, 190), (150, 145, 138), (235, 232, 225))
_backdrops: dict[tuple[str, str], Image.Image] = {}


def jpeg(
    camera: Camera, site: Site, shown: datetime, colour: bool, subjects: list[str], seed: list[int]
) -> bytes:
    """A small JPEG with EXIF as the camera would write it.

    Parameters
    ----------
    shown
        What the camera's clock says; stamped in the strip and in the EXIF, without an offset.
    colour
        False for an infrared picture: grey, with a bright near field.
    subjects
        ``buck``, ``doe``, ``fawn``, ``squirrel`` and so on, drawn as silhouettes.
    """
    rng = np.random.default_rng(seed)
    image = _scene(site, shown, colour, subjects, rng)
    small = image.resize(THUMBNAIL, Image.Resampling.BILINEAR)
    thumbnail = io.BytesIO()
    small.save(thumbnail, "JPEG", quality=THUMBNAIL_QUALITY)
    main, detail = _entries(camera, shown, colour, rng)
    whole = io.BytesIO()
    image.save(
        whole,
        "JPEG",
        quality=QUALITY,
        optimize=True,
        exif=exif_block(main, detail, thumbnail.getvalue()),
    )
    return whole.getvalue()


def _entries(
    camera: Camera, shown: datetime, colour: bool, rng: np.random.Generator
) -> tuple[list[Entry], list[Entry]]:
    stamp = shown.strftime("%Y:%m:%d %H:%M:%S")
    exposure = (
        (1, int(rng.choice([60, 125, 250, 500]))) if colour else (1, int(rng.choice([12, 15, 20])))
    )
    iso = int(rng.choice([100, 200, 400])) if colour else int(rng.choice([800, 1600]))
    main: list[Entry] = [
        (0x010F, ASCII, camera.make.make),
        (0x0110, ASCII, camera.make.model),
        (0x0112, SHORT, 1),
        (0x0132, ASCII, stamp),
    ]
    detail: list[Entry] = [
        (0x829A, RATIONAL, exposure),
        (0x829D, RATIONAL, camera.make.aperture),
        (0x8827, SHORT, iso),
        (0x9000, UNDEFINED, b"0232"),
        (0x9003, ASCII, stamp),
        (0x9004, ASCII, stamp),
        (0xA002, LONG, WIDTH),
        (0xA003, LONG, HEIGHT),
        (0xA431, ASCII, camera.serial),
    ]
    if camera.make.writes_flash:
        detail.append((0x9209, SHORT, 16 if colour else 1))  # did not fire; fired
    return main, detail


def _scene(
    site: Site, shown: datetime, colour: bool, subjects: list[str], rng: np.random.Generator
) -> Image.Image:
    leaf = "summer" if 5 <= shown.month <= 9 else "fall" if shown.month in (10, 11) else "bare"
    image = _backdrop(site, leaf).copy()
    draw = ImageDraw.Draw(image)
    coat = _DAY_COAT if colour else _NIGHT_COAT
    eyes = [_animal(draw, subject, i, coat, rng) for i, subject in enumerate(subjects[:4])]
    image = image.filter(ImageFilter.GaussianBlur(0.6))
    image = _daylight(image, rng) if colour else _infrared(image, eyes)
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, HEIGHT - STRIP, WIDTH, HEIGHT), fill=(16, 16, 16))
    text = shown.strftime("%Y-%m-%d  %H:%M:%S")
    draw.text((6, HEIGHT - STRIP + 1), text, fill=(225, 225, 225))
    return image


def _backdrop(site: Site, leaf: str) -> Image.Image:
    """Sky, a line of trees, a trunk or two and the ground; always the same at one site."""
    key = (site.name, leaf)
    if key not in _backdrops:
        rng = np.random.default_rng(zlib.crc32(site.name.encode()))
        image = Image.new("RGB", (WIDTH, HEIGHT), (196, 208, 218))
        draw = ImageDraw.Draw(image)
        horizon = int(rng.integers(88, 112))
        for depth in range(3):
            top = horizon - 34 + 14 * depth
            x = np.arange(0, WIDTH + 16, 16)
            edge = top + rng.normal(0, 7, len(x))
            shade = tuple(int(c * (0.95 - 0.17 * depth)) for c in _LEAVES[leaf])
            points = [*zip(x.tolist(), edge.tolist(), strict=True), (WIDTH, HEIGHT), (0, HEIGHT)]
            draw.polygon(points, fill=shade)
        x = np.arange(0, WIDTH + 20, 20)
        edge = horizon + 16 + rng.normal(0, 3, len(x))
        ground = [*zip(x.tolist(), edge.tolist(), strict=True), (WIDTH, HEIGHT), (0, HEIGHT)]
        draw.polygon(ground, fill=_GROUND[site.setting])
        if site.setting == "water":
            draw.ellipse((70, 150, 260, 196), fill=(126, 140, 150))
        for _ in range(0 if site.setting == "food" else 3):
            left, width = int(rng.integers(0, WIDTH)), int(rng.integers(6, 15))
            draw.rectangle((left, 0, left + width, horizon + 40), fill=(70, 60, 50))
        for _ in range(26):
            left, down = int(rng.integers(0, WIDTH)), int(rng.integers(horizon + 24, HEIGHT))
            height = int(rng.integers(4, 12))
            blade = tuple(int(c * 0.8) for c in _GROUND[site.setting])
            draw.line((left, down, left + 2, down - height), fill=blade, width=1)
        _backdrops[key] = image
    return _backdrops[key]


def _animal(
    draw: ImageDraw.ImageDraw, subject: str, place: int, coat: Coat, rng: np.random.Generator
) -> Point | None:
    """Draws one animal and says where its eye is, if it shines."""
    x = int(rng.integers(60, 240)) if place == 0 else int(rng.integers(20, 290))
    y = int(rng.integers(146, 200))
    way = 1 if rng.random() < 0.5 else -1
    near = 0.75 + (y - 146) / 110  # nearer animals stand lower in the picture and look larger
    if subject in _DEER:
        size, tines = _DEER[subject]
        return _deer(draw, x, y, size * near, way, tines, rng.random() < 0.4, coat)
    if subject == "person":
        draw.ellipse((x - 9, y - 92, x + 9, y - 72), fill=coat.hide)
        shoulders = [(x - 18, y - 70), (x + 18, y - 70), (x + 14, y), (x - 14, y)]
        draw.polygon(shoulders, fill=(66, 70, 52))
        return None
    if subject == "turkey":
        draw.ellipse((x - 14, y - 26, x + 14, y - 4), fill=(50, 42, 36))
        draw.line((x + 12 * way, y - 20, x + 20 * way, y - 36), fill=(60, 48, 44), width=4)
        return None
    if subject == "empty":
        return None
    long, high = (half * near for half in _SMALL[subject])
    for leg in (-0.6, 0.6):
        draw.line((x + leg * long, y - high, x + leg * long, y), fill=coat.dark, width=3)
    draw.ellipse((x - long, y - 2 * high, x + long, y - 0.4 * high), fill=coat.dark)
    head = (x + way * long, y - 1.8 * high)
    draw.ellipse(
        (head[0] - 0.5 * high, head[1] - 0.5 * high, head[0] + 0.5 * high, head[1] + 0.5 * high),
        fill=coat.dark,
    )
    tail = (x - way * 1.7 * long, y - (2.6 if subject == "squirrel" else 1.0) * high)
    draw.line([(x - way * long, y - high), tail], fill=coat.dark, width=4)
    return head


def _deer(
    draw: ImageDraw.ImageDraw,
    x: int,
    y: int,
    size: float,
    way: int,
    tines: int,
    grazing: bool,
    coat: Coat,
) -> Point:
    def point(right: float, down: float) -> Point:
        return x + way * right * size, y + down * size

    for leg in (-30, -22, 20, 28):
        draw.line([point(leg, -38), point(leg + 1, 0)], fill=coat.dark, width=max(2, int(5 * size)))
    body = [(-38, -62), (-10, -66), (24, -66), (36, -54), (32, -34), (-30, -34), (-40, -46)]
    draw.polygon([point(*corner) for corner in body], fill=coat.hide)
    brow, nose = ((52, -30), (56, -12)) if grazing else ((48, -94), (64, -86))
    neck = [(20, -66), (36, -44), (brow[0] + 5, brow[1] + 9), (brow[0] - 5, brow[1] - 4)]
    draw.polygon([point(*corner) for corner in neck], fill=coat.hide)
    draw.line([point(*brow), point(*nose)], fill=coat.hide, width=max(3, int(9 * size)))
    draw.line(
        [point(brow[0] - 3, brow[1] - 2), point(brow[0] - 12, brow[1] - 7)],
        fill=coat.dark,
        width=max(2, int(4 * size)),
    )
    draw.line([point(-38, -60), point(-46, -48)], fill=(225, 222, 214), width=max(2, int(6 * size)))
    root = point(*brow)
    for lean in (-0.5, 0.3) if tines else ():
        tip = (root[0] + way * lean * 40 * size, root[1] - 30 * size)
        draw.line([root, tip], fill=coat.antler, width=2)
        for k in range(1, tines):
            share = k / tines
            at = (root[0] + share * (tip[0] - root[0]), root[1] + share * (tip[1] - root[1]))
            draw.line([at, (at[0] + way * 3, at[1] - 12 * size)], fill=coat.antler, width=2)
    return point(brow[0] + 5, brow[1] + 2)


def _daylight(image: Image.Image, rng: np.random.Generator) -> Image.Image:
    light = float(rng.uniform(0.72, 1.06))
    array = np.asarray(image, dtype=np.float64) * light * (1.0, 0.99, 0.95)
    return Image.fromarray(np.clip(array, 0, 255).astype(np.uint8))


def _infrared(image: Image.Image, eyes: list[Point | None]) -> Image.Image:
    """Grey, lit from the camera: the near ground bright, the sky black, eyes shining."""
    grey = np.asarray(image.convert("L"), dtype=np.float64)
    down = np.linspace(0.0, 1.0, HEIGHT)[:, None]
    across = 1.0 - 0.55 * np.abs(np.linspace(-1.0, 1.0, WIDTH))[None, :] ** 1.5
    grey = grey * np.clip(0.12 + 1.25 * down**1.3, 0, 1.25) * across
    lit = Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8))
    draw = ImageDraw.Draw(lit)
    for eye in eyes:
        if eye is not None:
            draw.ellipse((eye[0] - 1.5, eye[1] - 1.5, eye[0] + 1.5, eye[1] + 1.5), fill=250)
    return lit.convert("RGB")
