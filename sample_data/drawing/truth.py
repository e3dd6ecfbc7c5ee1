"""Writes what the sample was drawn from, for tests and for anyone who wants to check deerlog."""

from __future__ import annotations

import csv
import io
import math
from collections import Counter
from datetime import timedelta
from pathlib import Path

from drawing import ground, mishaps
from drawing.herd import BUCKS
from drawing.hunts import SCARED_DAYS, SCARED_KEEPS
from drawing.movement import COLD_EFFECT_PER_F
from drawing.photos import Photo
from drawing.sheets import EXTRA_COLUMN, EXTRA_COLUMN_SHEET, SEMICOLON_SHEET, Row


def write_truth(
    folder: Path, photos: list[Photo], rows: list[Row], spoiled: dict[str, str]
) -> None:
    """Writes every table of ``truth/``."""
    folder.mkdir(parents=True, exist_ok=True)
    _write(folder / "labels.csv", _labels(rows))
    _write(folder / "seasons.csv", _seasons(rows))
    _write(folder / "around.csv", _around())
    _write(folder / "shift.csv", _shift())
    _write(folder / "visits.csv", _visits(rows))
    _write(folder / "warts.csv", _warts(photos, rows, spoiled))
    (folder / "effects.toml").write_bytes(_effects().encode())


def _write(path: Path, rows: list[list[object]]) -> None:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    path.write_bytes(text.getvalue().encode())


def _labels(rows: list[Row]) -> list[list[object]]:
    tagged = Counter(n for r in rows for n in r.names if r.bucks and not r.left_out)
    table: list[list[object]] = [["buck", "label", "pattern", "target", "visits_tagged"]]
    for buck in BUCKS:
        target = "yes" if buck.target else "no"
        table.append([buck.name, buck.label, buck.pattern, target, tagged[buck.name]])
    return table


def _seasons(rows: list[Row]) -> list[list[object]]:
    """A buck's pattern season by season; blank where he never came."""
    visits: Counter[tuple[str, int]] = Counter()
    days: dict[tuple[str, int], set[object]] = {}
    for row in rows:
        season = _season(row.photo)
        for name in row.names:
            visits[name, season] += 1
            days.setdefault((name, season), set()).add(row.photo.corrected.date())
    table: list[list[object]] = [["buck", "season", "pattern", "visits", "days_seen"]]
    for buck in BUCKS:
        for season in ground.SEASONS:
            pattern = buck.pattern if season in buck.around else ""
            seen = len(days.get((buck.name, season), set()))
            table.append([buck.name, season, pattern, visits[buck.name, season], seen])
    return table


def _season(photo: Photo) -> int:
    when = photo.corrected
    return when.year if when.month >= 6 else when.year - 1


def _around() -> list[list[object]]:
    """Runs of days, both ends included, on which each buck was on the property."""
    table: list[list[object]] = [["buck", "from", "to"]]
    for buck in BUCKS:
        days = buck.days_around()
        first = days[0]
        for day, following in zip(days, [*days[1:], None], strict=True):
            if following != day + timedelta(days=1):
                table.append([buck.name, first, day])
                first = following or first
    return table


def _shift() -> list[list[object]]:
    header = "buck,season,change_day,summer_latitude,summer_longitude,fall_latitude,fall_longitude"
    table: list[list[object]] = [[*header.split(","), "distance_m"]]
    for buck in BUCKS:
        summer, fall = buck.summer_centre, buck.fall_centre
        for season, day in buck.change.items():
            metres = round(math.dist(summer, fall))
            table.append(
                [
                    buck.name,
                    season,
                    day,
                    *ground.coordinates(*summer),
                    *ground.coordinates(*fall),
                    metres,
                ]
            )
    return table


def _visits(rows: list[Row]) -> list[list[object]]:
    """Every visit of a named buck, tagged or not, at its true local time."""
    table: list[list[object]] = [["buck", "camera", "site", "photo", "true_utc", "tagged"]]
    for row in rows:
        for name in row.names:
            mine = next(p for p in row.all_photos if p.event.buck == name)
            stamp = str(mine.true).replace("T", " ")
            tagged = "yes" if row.bucks and not row.left_out else "no"
            table.append([name, row.camera, row.photo.site, row.photo.path, stamp, tagged])
    return table


def _warts(photos: list[Photo], rows: list[Row], spoiled: dict[str, str]) -> list[list[object]]:
    table: list[list[object]] = [["wart", "camera", "file", "from", "to", "what"]]

    def add(wart: str, camera: str, file: str, what: str, first: str = "", last: str = "") -> None:
        table.append([wart, camera, file, first, last, what])

    dead = mishaps.DEAD
    gap = _gap(photos, dead[0], str(dead[1])[:10])
    add("dead camera", dead[0], "", "no photo at all and no row in outages.csv", *gap)
    add("noted outage", "cam-08", "outages.csv", "card full, noted", *mishaps.CARD_FULL_DAYS)
    fault = [p for p in photos if p.camera == mishaps.FAULT_CAMERA and p.true >= mishaps.FAULT_FROM]
    add(
        "clock one hour ahead",
        mishaps.FAULT_CAMERA,
        "",
        "still on summer time; not in clock.csv",
        str(fault[0].shown),
        str(fault[-1].shown),
    )
    add(
        "clock mended",
        mishaps.DRIFT_CAMERA,
        "clock.csv",
        f"{mishaps.DRIFT_MINUTES} min fast at the end of the stretch",
        str(mishaps.DRIFT_START),
        str(mishaps.DRIFT_END),
    )
    add("clock never changes", "cam-10", "cameras.csv", "UTC-6 all year")
    add("moved", "cam-04", "cameras.csv", "Old Orchard to Split Oak", str(ground.MOVE_DAY))
    add(
        "copied dump", mishaps.COPIED_CAMERA, mishaps.COPY, f"the same files as {mishaps.LAST_DUMP}"
    )
    for wart, file in spoiled.items():
        camera, _, path = file.partition("/")
        what = {
            "truncated": "cut inside its EXIF block",
            "zero bytes": "no bytes at all",
            "video": "MP4; its movie header holds the creation time in UTC",
        }[wart]
        when = next(str(p.true) + "Z" for p in photos if f"{p.camera}/{p.path}" == file)
        add(wart, camera, path, what, when if wart == "video" else "")
    for row in rows:
        if row.wart:
            add(
                row.wart,
                row.camera,
                row.photo.path,
                f"reads {row.bucks}, is {';'.join(row.names) or row.others}",
                str(row.photo.corrected),
            )
    blank = [row for row in rows if not row.bucks and not row.left_out]
    for camera in sorted({row.camera for row in blank}):
        count = sum(row.camera == camera for row in blank)
        add("not tagged", camera, f"tags/{camera}.csv", f"{count} rows with blank bucks")
    left = [row for row in rows if row.left_out]
    for camera in sorted({row.camera for row in left}):
        count = sum(row.camera == camera for row in left)
        add("no row yet", camera, f"tags/{camera}.csv", f"{count} visits of the last card")
    add("saved by a spreadsheet", SEMICOLON_SHEET, f"tags/{SEMICOLON_SHEET}.csv", "BOM, ; and CRLF")
    add("extra column", EXTRA_COLUMN_SHEET, f"tags/{EXTRA_COLUMN_SHEET}.csv", EXTRA_COLUMN)
    return table


def _gap(photos: list[Photo], camera: str, day: str) -> tuple[str, str]:
    """Local times of the last photo before a silence and the first after it."""
    mine = [p for p in photos if p.camera == camera]
    after = next(i for i, p in enumerate(mine) if str(p.true)[:10] > day)
    return str(mine[after - 1].corrected), str(mine[after].corrected)


def _effects() -> str:
    return f"""# What was put into the sample beside the bucks' own ways.

[weather]
# Log of a named buck's visits in shooting light per degree F of the day's mean above its normal;
# at night none. Ten degrees colder: {math.exp(-10 * COLD_EFFECT_PER_F):.2f} times as many.
log_daylight_visits_per_degree_f = {COLD_EFFECT_PER_F}
wind = 0.0
pressure = 0.0

[sits]
# For so many days after a sit, so many of the visits in shooting light at the stand's sites remain.
days = {SCARED_DAYS}
daylight_visits_kept = {SCARED_KEEPS}

[tags]
wrong_tags = 1
"""
