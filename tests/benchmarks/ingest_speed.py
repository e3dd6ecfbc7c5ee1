"""How fast ingest is, against the least any program in this language could do.

First ingest: against a plain loop of exifread over the same files. Second ingest, nothing new:
against os.walk and a stat of each file. Ratios within one run, since machines differ.

    python tests/benchmarks/ingest_speed.py [--photos 5000] [--known 100000]
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import exifread
from invented.card_photos import exif_block, photo, picture

from deerlog.ingest.run import ingest_cards
from deerlog.ingest.store_file import FILE
from deerlog.property import Property, open_property

CAMERAS = 4
TODAY = date(2025, 1, 1)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--photos", type=int, default=5_000, help="photos for the first ingest")
    parser.add_argument("--known", type=int, default=20_000, help="files for the second ingest")
    parser.add_argument("--lean", action="store_true", help="EXIF of nine tags, not forty-five")
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        first_ingest(Path(folder), wanted.photos, full=not wanted.lean)
    with tempfile.TemporaryDirectory() as folder:
        second_ingest(Path(folder), wanted.known)


def first_ingest(folder: Path, count: int, *, full: bool) -> None:
    place = new_property(folder)
    size = fill_with_photos(folder / "cards", count, full=full)
    cards = list(all_files(folder / "cards"))
    plain = best(lambda: read_plainly(cards))
    alone = best(lambda: afresh(place, processes=1))
    ours = best(lambda: afresh(place))
    print(f"first ingest of {count:,} photos of {size / count / 1024:.0f} KB on average")
    print(f"  plain exifread loop    {plain:7.2f} s   {plain / count * 1e6:6.0f} us a photo")
    print(f"  ingest, one process    {alone:7.2f} s   ratio {alone / plain:.2f}")
    print(f"  ingest                 {ours:7.2f} s   ratio {ours / plain:.2f}   (aim 1.3)")
    print(f"  peak memory            {peak_memory(folder)}   (aim 300 MB)")


def second_ingest(folder: Path, count: int) -> None:
    place = new_property(folder)
    for i in range(CAMERAS):
        for j in range(count // CAMERAS):
            path = folder / "cards" / f"cam-{i}" / f"{j // 999:03d}FERN" / f"IMG_{j % 999:04d}.JPG"
            if j % 999 == 0:
                path.parent.mkdir(parents=True)
            path.write_bytes(b"x")
    ingest_cards(place, today=TODAY)
    walk = best(lambda: walk_and_stat(folder / "cards"), times=5)
    ours = best(lambda: ingest_cards(place, today=TODAY), times=5)
    print(f"second ingest, {count:,} files known, nothing new")
    print(f"  os.walk and stat       {walk:7.3f} s")
    print(f"  ingest                 {ours:7.3f} s   ratio {ours / walk:.2f}   (aim 3)")


def new_property(folder: Path) -> Property:
    (folder / "property.toml").write_text(
        'name = "Speed"\nlatitude = 44.0\nlongitude = -91.0\ntimezone = "America/Chicago"\n'
    )
    rows = [f"cam-{i},site {i},44.0,-91.0,2023-01-01" for i in range(CAMERAS)]
    text = "\n".join(["camera,site,latitude,longitude,start", *rows])
    (folder / "cameras.csv").write_text(text + "\n")
    return open_property(folder)


def fill_with_photos(cards: Path, count: int, *, full: bool) -> int:
    """Photos with thumbnails of 160 x 120, bodies of 30 to 50 KB; gives the bytes in all."""
    start = datetime(2024, 1, 1)  # noqa: DTZ001
    thumbnails = [picture(i, grey=i % 2 == 0, width=160, height=120) for i in range(20)]
    size = 0
    for i in range(count):
        text = f"{start + i * timedelta(minutes=7):%Y:%m:%d %H:%M:%S}"
        block = exif_block(
            original=text, digitized=text, changed=text, thumbnail=thumbnails[i % 20], full=full
        )
        content = photo(None, seed=i, thumbnail=False, body_bytes=30_000 + (i * 37) % 20_000)
        content = replace_exif(content, block)
        folder = cards / f"cam-{i % CAMERAS}" / f"{i // CAMERAS // 999:03d}FERN"
        folder.mkdir(parents=True, exist_ok=True)
        (folder / f"IMG_{i // CAMERAS % 999:04d}.JPG").write_bytes(content)
        size += len(content)
    return size


def replace_exif(jpeg: bytes, block: bytes) -> bytes:
    """Put another EXIF segment into the place of the first segment."""
    length = int.from_bytes(jpeg[4:6], "big")
    body = b"Exif\x00\x00" + block
    head = b"\xff\xd8\xff\xe1" + (len(body) + 2).to_bytes(2, "big") + body
    return head + jpeg[4 + length :]


def all_files(cards: Path) -> Iterator[str]:
    for folder, _, names in os.walk(cards):
        for name in names:
            yield os.path.join(folder, name)  # noqa: PTH118


def read_plainly(paths: list[str]) -> None:
    for path in paths:
        with open(path, "rb") as file:  # noqa: PTH123
            exifread.process_file(file, details=False)


def afresh(place: Property, processes: int | None = None) -> object:
    (place.folder / FILE).unlink(missing_ok=True)
    for sheet in (place.folder / "tags").glob("*.csv"):
        sheet.unlink()
    return ingest_cards(place, today=TODAY, processes=processes)


def walk_and_stat(cards: Path) -> int:
    return sum(os.stat(path).st_size for path in all_files(cards))  # noqa: PTH116


def best(work: Callable[[], object], times: int = 3) -> float:
    """Shortest of a few runs, in seconds: the one least disturbed by others on the machine."""
    shortest = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        work()
        shortest = min(shortest, time.perf_counter() - start)
    return shortest


MEASURED = """
import resource, sys
from datetime import date
from pathlib import Path
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
if __name__ == "__main__":
    folder = Path(sys.argv[1])
    (folder / "deerlog.sqlite").unlink()
    ingest_cards(open_property(folder), today=date(2025, 1, 1))
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def peak_memory(folder: Path) -> str:
    """Of a first ingest in a process of its own; workers hold less, having read no tables."""
    try:
        import resource  # noqa: F401
    except ImportError:
        return "not measured on this system"
    run = [sys.executable, "-c", MEASURED, str(folder)]
    text = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    unit = 1 if sys.platform == "darwin" else 1024
    return f"{int(text) * unit / 2**20:.0f} MB"


if __name__ == "__main__":
    main()
