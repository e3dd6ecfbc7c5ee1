"""The palette as the colour-blind and the weak-sighted see it, read from the style sheet itself."""

from __future__ import annotations

import re
from importlib.resources import files
from itertools import combinations, product

import numpy as np
import numpy.typing as npt
import pytest

from deerlog.report.page.svg import MARKS, STAND_INS

Colour = npt.NDArray[np.float64]

# Machado, Oliveira and Fernandes 2009, A physiologically-based model for simulation of color
# vision deficiency, IEEE Trans. Vis. Comput. Graph. 15:1291, table of severity 1.0, on linear RGB.
# Written from memory and found equal to the matrices of the colorspacious package 1.1.2.
SIGHT: dict[str, Colour] = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}

# sRGB to CIE XYZ (D65), IEC 61966-2-1.
XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)

# A just noticeable difference in CIE 1976 L*a*b* is about 2.3 (Mahy, Van Eycken and Oosterlinck
# 1994, Color Res. Appl. 19:105; from memory). Small marks far apart need much more; our choice.
MARKS_APART = 30.0
LABELS_APART = 30.0


def read_palettes() -> dict[str, dict[str, str]]:
    """Custom properties of the light and the dark palette."""
    css = files("deerlog.report.page").joinpath("templates/style.css").read_text(encoding="utf-8")
    light, dark = css.split("prefers-color-scheme: dark", 1)
    pattern = re.compile(r"(--[\w-]+): (#[0-9a-f]{6});")
    return {
        "light": dict(pattern.findall(light)),
        "dark": dict(pattern.findall(dark.split("* {")[0])),
    }


CHARTS_ALONE = {"--day", "--dusk", "--night", "--sun", "--rut", *(f"--mark-{n}" for n in range(6))}
"""Colours of charts and maps, which are light in both schemes."""


PALETTES = read_palettes()


def linear(colour: str) -> Colour:
    shown = np.array([int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)])
    return np.where(shown <= 0.04045, shown / 12.92, ((shown + 0.055) / 1.055) ** 2.4)


def lab(light: Colour) -> Colour:
    """CIE 1976 L*a*b* of linear RGB, against D65."""
    ratio = (XYZ @ np.clip(light, 0, 1)) / XYZ.sum(axis=1)
    f = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def apart(one: str, other: str, sight: str) -> float:
    """Distance of two colours in L*a*b*, as one kind of sight has them."""
    matrix = SIGHT[sight]
    return float(np.linalg.norm(lab(matrix @ linear(one)) - lab(matrix @ linear(other))))


def contrast(one: str, other: str) -> float:
    """Contrast ratio of WCAG 2.2: 1 to 21."""
    bright, dim = sorted((float(XYZ[1] @ linear(c)) + 0.05 for c in (one, other)), reverse=True)
    return bright / dim


def least_apart(colours: list[str]) -> float:
    return min(apart(a, b, sight) for (a, b), sight in product(combinations(colours, 2), SIGHT))


def test_measures_agree_with_published_values() -> None:
    # White and black: 21 to 1 (WCAG 2.2); L*a*b* of sRGB red 53.24, 80.09, 67.20 (Lindbloom's
    # calculator, D65; from memory).
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0, abs=1e-4)
    assert lab(linear("#ff0000")) == pytest.approx([53.24, 80.09, 67.20], abs=0.02)
    for matrix in SIGHT.values():
        assert matrix.sum(axis=1) == pytest.approx(1.0, abs=1e-5), "grey stays grey"


def test_the_measure_fails_a_palette_of_red_and_green() -> None:
    traffic = ["#c0392b", "#4f8a10"]
    assert apart(*traffic, "usual") > MARKS_APART
    assert least_apart(traffic) < MARKS_APART


def test_marks_differ_to_every_sight() -> None:
    colours = [PALETTES["light"][f"--mark-{n}"] for n in range(len(MARKS))]
    assert least_apart(colours) >= MARKS_APART


@pytest.mark.parametrize("scheme", PALETTES)
def test_labels_differ_to_every_sight(scheme: str) -> None:
    colours = [PALETTES[scheme][f"--{label}"] for label in ("resident", "visiting", "undecided")]
    assert least_apart(colours) >= LABELS_APART


@pytest.mark.parametrize("scheme", PALETTES)
@pytest.mark.parametrize("ground", ["--paper", "--card"])
@pytest.mark.parametrize(
    "text", ["--ink", "--soft", "--link", "--warn", "--resident", "--visiting", "--undecided"]
)
def test_text_stands_out(scheme: str, ground: str, text: str) -> None:
    assert contrast(PALETTES[scheme][text], PALETTES[scheme][ground]) >= 4.5  # WCAG 2.2 AA


@pytest.mark.parametrize("ground", ["--day", "--dusk", "--night", "--card"])
def test_what_is_drawn_stands_out(ground: str) -> None:
    palette = PALETTES["light"]
    for n in range(len(MARKS)):
        assert contrast(palette[f"--mark-{n}"], palette[ground]) >= 3, n  # WCAG 2.2, 1.4.11
    assert contrast(palette["--rut"], palette[ground]) >= 4.5  # it has words beside it
    assert contrast(palette["--sun"], palette[ground]) >= 3


@pytest.mark.parametrize("scheme", PALETTES)
def test_states_of_a_week_stand_out(scheme: str) -> None:
    palette = PALETTES[scheme]
    for colour in ("--seen", "--soft", "--hatch", "--around", "--resident", "--visiting"):
        for ground in ("--card", "--rut-band"):
            assert contrast(palette[colour], palette[ground]) >= 3, (colour, ground)


def test_light_and_dark_name_the_same_colours_and_charts_use_only_those() -> None:
    assert PALETTES["light"].keys() == PALETTES["dark"].keys() | CHARTS_ALONE
    assert not PALETTES["dark"].keys() & CHARTS_ALONE, "charts have the same colours in the dark"
    assert STAND_INS.keys() <= PALETTES["light"].keys()
    assert len(set(STAND_INS.values())) == len(STAND_INS)


def test_every_class_of_the_page_s_drawings_has_a_rule() -> None:
    """A drawing whose class has no rule is black."""
    folder = files("deerlog.report.page").joinpath("templates")
    css = folder.joinpath("style.css").read_text(encoding="utf-8")
    drawings = folder.joinpath("pictures.html.j2").read_text(encoding="utf-8")
    classes = set(re.findall(r'<(?:rect|path|line|circle) class="([a-z -]+)"', drawings))
    named = {name for each in classes for name in each.split()}
    assert {"resident", "visiting", "window", "rut-band", "full"} <= named
    assert [name for name in sorted(named) if not re.search(rf"\.{name}\b(?!-)", css)] == []
