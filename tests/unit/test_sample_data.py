"""The sample property agrees with itself and with the truth it was drawn from."""

from __future__ import annotations

import csv
import tomllib
from collections import Counter, defaultdict
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from PIL import Image, UnidentifiedImageError

SAMPLE = Path(__file__).resolve().parents[2] / "sample_data"
PROPERTY, TRUTH = SAMPLE / "property", SAMPLE / "truth"
LAST_DUMP = "2026-11-22"
GAP = timedelta(minutes=30)
MOVE = datetime.fromisoformat("2025-09-07 12:00")  # cam-04, split at noon

Photo = tuple[datetime, str]  # shown time, path below cards/<camera>/


def read_rows(path: Path) -> list[dict[str, str]]:
    text = path.read_bytes().decode("utf-8-sig")
    delimiter = ";" if text.splitlines()[0].count(";") else ","
    return list(csv.DictReader(text.splitlines(), delimiter=delimiter))


def header(path: Path) -> list[str]:
    return path.read_bytes().decode("utf-8-sig").splitlines()[0].replace(";", ",").split(",")


def shown_time(path: Path) -> datetime | None:
    """The EXIF time of a JPEG, or None where the file is spoiled."""
    try:
        with Image.open(path) as image:
            stamp = image.getexif().get_ifd(0x8769)[0x9003]
    except (UnidentifiedImageError, OSError, KeyError):
        return None
    return datetime.strptime(stamp, "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007 (a camera's wall clock)


@pytest.fixture(scope="module")
def photos() -> dict[str, list[Photo]]:
    """Every readable photo of each camera, in order, the copied dump left out."""
    found: dict[str, list[Photo]] = defaultdict(list)
    for log in (PROPERTY / "cards").glob("*/*/log.csv"):
        for row in read_rows(log):
            taken = datetime.fromisoformat(row["taken"])
            found[log.parts[-3]].append((taken, f"{log.parts[-2]}/{row['file']}"))
    for path in (PROPERTY / "cards").glob(f"*/{LAST_DUMP}/**/*.JPG"):
        below = path.relative_to(PROPERTY / "cards")
        taken = shown_time(path)
        if taken is not None:
            found[below.parts[0]].append((taken, "/".join(below.parts[1:])))
    return {camera: sorted(mine) for camera, mine in found.items()}


@pytest.fixture(scope="module")
def tags() -> dict[str, list[dict[str, str]]]:
    return {path.stem: read_rows(path) for path in sorted((PROPERTY / "tags").glob("*.csv"))}


@pytest.fixture(scope="module")
def warts() -> list[dict[str, str]]:
    return read_rows(TRUTH / "warts.csv")


def wart(warts: list[dict[str, str]], kind: str) -> dict[str, str]:
    return next(row for row in warts if row["wart"] == kind)


def first_of_visits(mine: list[Photo], camera: str) -> dict[str, int]:
    """Path of the first photo of each visit at a site, and how many photos it has."""
    out: dict[str, int] = {}
    current, last = "", datetime.fromisoformat("2000-01-01")
    for taken, path in mine:
        moved = camera == "cam-04" and last < MOVE <= taken
        if taken - last > GAP or moved:
            current = path
            out[current] = 0
        out[current] += 1
        last = taken
    return out


def test_small_enough_to_clone() -> None:
    drawn = [path for folder in (PROPERTY, TRUTH) for path in folder.rglob("*") if path.is_file()]
    assert sum(path.stat().st_size for path in drawn) < 8_000_000


@pytest.mark.parametrize(
    ("table", "columns"),
    [
        ("cameras", "camera,site,setting,latitude,longitude,start,end,clock,bait,notes"),
        ("bucks", "buck,target,born,aliases,notes"),
        ("stands", "stand,sites,latitude,longitude,use,winds,rest_days,notes"),
        ("clock", "camera,shown,actual,from,to"),
        ("outages", "camera,from,to,status"),
        ("weather", "time,temperature_f,wind_mph,wind_from,pressure_inhg"),
        ("sits", "day,half,stand,bucks_seen,deer_seen,notes"),
    ],
)
def test_tables_have_the_columns_and_rows(table: str, columns: str) -> None:
    path = PROPERTY / f"{table}.csv"
    assert header(path) == columns.split(",")
    assert read_rows(path)


def test_scenario_is_as_rich_as_it_should_be() -> None:
    bucks = read_rows(PROPERTY / "bucks.csv")
    cameras = {row["camera"] for row in read_rows(PROPERTY / "cameras.csv")}
    patterns = Counter(row["pattern"] for row in read_rows(TRUTH / "labels.csv"))
    assert len(bucks) >= 12
    assert len(cameras) >= 9
    assert 3 <= sum(row["target"] == "yes" for row in bucks) <= 4
    assert any(row["aliases"] for row in bucks)
    assert all(patterns[p] >= 2 for p in ("year-round", "fall", "summer", "rut"))
    assert patterns[""] == 1
    assert len({row["buck"] for row in read_rows(TRUTH / "shift.csv")}) >= 2
    settings = tomllib.loads((PROPERTY / "property.toml").read_text(encoding="utf-8"))
    assert settings["rut_peak"] == "11-12"
    assert len(settings["hunting"]) == 2


def test_truth_speaks_of_the_bucks_of_the_property() -> None:
    names = [row["buck"] for row in read_rows(PROPERTY / "bucks.csv")]
    assert [row["buck"] for row in read_rows(TRUTH / "labels.csv")] == names
    for table in ("seasons", "around", "shift", "visits"):
        assert {row["buck"] for row in read_rows(TRUTH / f"{table}.csv")} <= set(names)


def test_sits_are_on_known_stands_that_cover_known_sites() -> None:
    sites = {row["site"] for row in read_rows(PROPERTY / "cameras.csv")}
    stands = {row["stand"]: row["sites"].split(";") for row in read_rows(PROPERTY / "stands.csv")}
    assert all(set(covered) <= sites for covered in stands.values())
    assert {row["stand"] for row in read_rows(PROPERTY / "sits.csv")} <= set(stands)


def test_every_tag_is_the_first_photo_of_a_visit_on_the_cards(
    photos: dict[str, list[Photo]], tags: dict[str, list[dict[str, str]]]
) -> None:
    assert set(tags) == set(photos)
    for camera, rows in tags.items():
        visits = first_of_visits(photos[camera], camera)
        assert {row["photo"]: int(row["photos"]) for row in rows}.items() <= visits.items()


def test_every_visit_but_the_last_cards_has_a_row(
    photos: dict[str, list[Photo]],
    tags: dict[str, list[dict[str, str]]],
    warts: list[dict[str, str]],
) -> None:
    no_row = {row["camera"] for row in warts if row["wart"] == "no row yet"}
    for camera, mine in photos.items():
        missing = set(first_of_visits(mine, camera)) - {row["photo"] for row in tags[camera]}
        assert all(path.startswith(LAST_DUMP) for path in missing)
        assert not missing or camera in no_row


def test_only_the_last_cards_have_blank_tags(tags: dict[str, list[dict[str, str]]]) -> None:
    blank = [row["photo"] for rows in tags.values() for row in rows if not row["bucks"]]
    assert 20 <= len(blank) <= 100
    assert all(path.startswith(LAST_DUMP) for path in blank)


def test_tags_name_bucks_aliases_or_a_known_slip(
    tags: dict[str, list[dict[str, str]]], warts: list[dict[str, str]]
) -> None:
    known = {"", "-"}
    for row in read_rows(PROPERTY / "bucks.csv"):
        known |= {row["buck"], *row["aliases"].split(";")}
    slips = {(row["camera"], row["file"]) for row in warts}
    strange = {
        (camera, row["photo"])
        for camera, rows in tags.items()
        for row in rows
        if not set(row["bucks"].split(";")) <= known
    }
    assert strange <= slips
    assert sum(row["wart"] == "typo" for row in warts) == 4
    assert sum(row["wart"] == "date" for row in warts) == 1
    assert sum(row["wart"] == "unsure" for row in warts) == 3


def test_true_visits_lie_on_the_cards(photos: dict[str, list[Photo]]) -> None:
    paths = {camera: {path for _, path in mine} for camera, mine in photos.items()}
    for row in read_rows(TRUTH / "visits.csv"):
        assert row["photo"] in paths[row["camera"]]


def test_thin_buck_was_seen_on_three_days() -> None:
    mine = [row for row in read_rows(TRUTH / "visits.csv") if row["buck"] == "Hinge"]
    assert len({row["true_utc"][:10] for row in mine}) == 3
    assert {row["site"] for row in mine} == {"Line Fence"}


def test_dead_camera_took_nothing_for_three_weeks_and_the_others_did(
    photos: dict[str, list[Photo]], warts: list[dict[str, str]]
) -> None:
    dead = wart(warts, "dead camera")
    start, end = (datetime.fromisoformat(dead[key]) for key in ("from", "to"))
    assert end - start > timedelta(days=20)
    assert not [1 for taken, _ in photos[dead["camera"]] if start < taken < end]
    season = [t for t, _ in photos[dead["camera"]] if t > datetime.fromisoformat("2026-06-13")]
    watched = (season[-1] - season[0]) - (end - start)
    assert len(season) / watched.days > 2
    assert dead["camera"] not in {r["camera"] for r in read_rows(PROPERTY / "outages.csv")}


def test_clock_fault_starts_as_clocks_go_back(warts: list[dict[str, str]]) -> None:
    fault = wart(warts, "clock one hour ahead")
    assert date.fromisoformat(fault["from"][:10]) == date(2026, 11, 1)
    assert fault["camera"] not in {r["camera"] for r in read_rows(PROPERTY / "clock.csv")}
    # Every true visit stands an hour earlier than its picture says (Central standard: UTC-6).
    folder = PROPERTY / "cards" / fault["camera"]
    mine = [
        row
        for row in read_rows(TRUTH / "visits.csv")
        if row["camera"] == fault["camera"] and row["photo"].startswith(LAST_DUMP)
    ]
    ahead = []
    for row in mine:
        taken = shown_time(folder / row["photo"])
        assert taken is not None
        ahead.append(taken - (datetime.fromisoformat(row["true_utc"]) - timedelta(hours=6)))
    # Where others opened the visit, its first picture is older than the buck's own.
    assert max(ahead) == timedelta(hours=1)
    assert ahead.count(timedelta(hours=1)) >= max(5, 0.7 * len(ahead))


def test_copied_dump_is_the_same_byte_for_byte(warts: list[dict[str, str]]) -> None:
    copied = wart(warts, "copied dump")
    folder = PROPERTY / "cards" / copied["camera"]
    first = sorted(p for p in (folder / LAST_DUMP).rglob("*") if p.is_file())
    second = sorted(p for p in (folder / copied["file"]).rglob("*") if p.is_file())
    assert len(first) > 20
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]


def test_spoiled_files_are_what_the_truth_says(warts: list[dict[str, str]]) -> None:
    def file(kind: str) -> Path:
        row = wart(warts, kind)
        return PROPERTY / "cards" / row["camera"] / row["file"]

    assert file("zero bytes").stat().st_size == 0
    assert 0 < file("truncated").stat().st_size < 200
    assert file("video").read_bytes()[4:8] == b"ftyp"
    spoiled = [
        path
        for path in (PROPERTY / "cards").glob(f"*/{LAST_DUMP}/**/*.JPG")
        if shown_time(path) is None
    ]
    assert set(spoiled) == {file("zero bytes"), file("truncated")}


def test_look_follows_the_sun_by_a_thumbnail_too() -> None:
    """Embedded thumbnails are JPEGs, grey exactly where the picture is grey."""
    for path in sorted((PROPERTY / "cards").glob(f"cam-0[13]/{LAST_DUMP}/**/*.JPG"))[::8]:
        if shown_time(path) is None:
            continue
        data = path.read_bytes()
        start = data.index(b"\xff\xd8", 2)
        assert data[start : start + 3] == b"\xff\xd8\xff"
        with Image.open(path) as image:
            red, green, blue = image.convert("RGB").resize((1, 1)).getpixel((0, 0))
            hour = int(image.getexif().get_ifd(0x8769)[0x9003][11:13])
        is_grey = red == green == blue
        if 9 <= hour <= 15:
            assert not is_grey
        if hour >= 20 or hour <= 4:
            assert is_grey
