"""Takes the picture of the report that the README shows: two screens of a phone, side by side.

    python tests/browser/picture_of_report.py

Needs Chromium. Take it anew when the page has changed, and look at it before you commit it.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from invented.headless_browser import HeadlessBrowser, find_browser
from PIL import Image

PICTURE = Path(__file__).parents[2] / "sample_data" / "report.png"
WIDTH, HEIGHT = 390, 844
"""A phone's screen, CSS pixels."""
GAP = 20


def main() -> None:
    browser = find_browser()
    if browser is None:
        sys.exit("There is no Chromium: name one in DEERLOG_TEST_BROWSER.")
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "property"
        subprocess.run([sys.executable, "-m", "deerlog", "demo", folder], check=True)
        (page,) = folder.glob("reports/*/report.html")
        shot = Path(place) / "page.png"
        with HeadlessBrowser(browser) as driven:
            driven.open(page, width=WIDTH)
            season = driven.evaluate(
                "document.getElementById('season').getBoundingClientRect().top + window.scrollY"
            )
            driven.screenshot(shot)
        with Image.open(shot) as whole:
            picture = Image.new("RGB", (2 * WIDTH + GAP, HEIGHT), "white")
            for n, top in enumerate((0, int(season) - 8)):
                screen = whole.crop((0, top, WIDTH, top + HEIGHT))
                picture.paste(screen, (n * (WIDTH + GAP), 0))
    picture.quantize(64).save(PICTURE, optimize=True)
    print(f"{PICTURE}: {PICTURE.stat().st_size / 1024:.0f} KB")


if __name__ == "__main__":
    main()
