"""stands.csv: the places to hunt from."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date
from functools import partial
from pathlib import Path

import pandas as pd

from deerlog.property.cell_values import (
    CellError,
    one_of,
    parse_list,
    parse_name,
    parse_number,
    parse_whole_number,
)
from deerlog.property.coordinates import POINTS, far_away
from deerlog.property.matching import NameList, fold_name, name_list
from deerlog.property.settings import Settings
from deerlog.property.table_rows import Column, Faults, Record, dtypes_of, frame_of, open_table

REST_DAYS = 3
"""Days to leave a stand alone after a sit where stands.csv does not say. Bucks kept out of sight of
a hunted stand for three full days (McCoy, Auburn University, author's articles)."""


def parse_winds(text: str) -> tuple[str, ...]:
    """Read compass points separated by ``;`` (also ``,`` ``/`` or spaces), in compass order."""
    words = [word.upper() for word in re.split(r"[;,/\s]+", text.strip()) if word]
    wrong = [word for word in words if word not in POINTS]
    if wrong:
        raise CellError(
            f"{wrong[0]!r} is not a wind direction.",
            how=f"Use {', '.join(POINTS)}, each by itself and separated by ';' (S;SSW;SW), or "
            "leave it blank for any wind.",
        )
    return tuple(point for point in POINTS if point in words)


_MONTH_DAY = re.compile(r"([0-9]{1,2})-([0-9]{1,2})")


def parse_month_day(text: str) -> tuple[int, int]:
    """Read a day that comes every year, ``MM-DD``; 29 February does not."""
    match = _MONTH_DAY.fullmatch(text.strip())
    try:
        when = date(2025, int(match[1]), int(match[2])) if match else None
    except ValueError:
        when = None
    if when is None:
        raise CellError(
            f"{text!r} is not a day of the year.",
            how="Write month and day as MM-DD (11-01), or leave from and to blank for any time.",
        )
    return when.month, when.day


COLUMNS = (
    Column(name="stand", parse=parse_name),
    Column(name="sites", parse=parse_list, dtype="object"),
    *(Column(name=name, parse=partial(parse_number, low=-most, high=most), blank=math.nan,
             unreadable=math.nan, stand_in="not given", number=True, dtype="float64")
      for name, most in (("latitude", 90), ("longitude", 180))),
    Column(name="use", parse=one_of(("morning", "evening", "either"),
           {"am": "morning", "pm": "evening", "both": "either", "any": "either"}), blank="either"),
    Column(name="winds", parse=parse_winds, blank=(), dtype="object"),
    Column(name="rest_days", parse=partial(parse_whole_number, low=0, high=365), blank=REST_DAYS,
           unreadable=REST_DAYS, stand_in=str(REST_DAYS), dtype="int64"),
    *(Column(name=name, parse=parse_month_day, blank=None, dtype="object")
      for name in ("from", "to")),
    Column(name="notes", parse=str, blank=""),
)  # fmt: skip

DTYPES = dtypes_of(COLUMNS)


def read_stands(
    path: Path, settings: Settings, sites: Iterable[str] | NameList
) -> tuple[pd.DataFrame, Faults]:
    """Read the stands, in file order with the columns of `DTYPES`.

    ``sites`` and ``winds`` are tuples; no winds means any. ``from`` and ``to`` are (month, day),
    both included, None where open; ``to`` before ``from`` runs across the turn of the year.
    Coordinates are NaN where not given. A stand whose winds, use or dates cannot be read is left
    out, since the plan could send someone there on a wrong wind. Problems are rows, sites and
    coordinates left out.
    """
    records, faults = open_table(path, COLUMNS)
    known = name_list(sites)
    kept: list[Record] = []
    first_row: dict[str, int] = {}
    for record in records:
        row = first_row.setdefault(fold_name(record["stand"]), record["row"])
        if row != record["row"]:
            why = f"{record['stand']} is on row {row} already; this row is left out."
            how = "Keep one row for each stand, with its sites separated by ';'."
            faults.add("stand-twice", record, "stand", why, how)
            continue
        record["sites"] = _known_sites(record, known, faults)
        if record["sites"]:
            _check_position(record, settings, faults)
            kept.append(record)
    return frame_of(kept, DTYPES), faults


def _known_sites(record: Record, known: NameList, faults: Faults) -> tuple[str, ...]:
    found = {site: known.find(site) for site in record["sites"]}
    good = tuple(dict.fromkeys(site for site in found.values() if site))
    outcome = "it is passed over" if good else "the stand is left out"
    for written in (each for each, site in found.items() if not site):
        rows = known.rows_left_out(written)
        why = f"What cameras.csv says of the site {written} ({rows}) was left out; {outcome}."
        if not rows:
            why = f"No camera ever stood at a site {written}; {outcome}."
        how = known.advice(written, "cameras.csv") + " Sites are separated by ';'."
        faults.add("unknown-site", record, "sites", why, how, value=written)
    return good


def _check_position(record: Record, settings: Settings, faults: Faults) -> None:
    latitude, longitude = record["latitude"], record["longitude"]
    if math.isnan(latitude) and math.isnan(longitude):
        return
    if math.isnan(latitude) or math.isnan(longitude):
        why, how = "Only one of latitude and longitude can be used.", "Give both, or neither."
    else:
        far = far_away(latitude, longitude, settings.latitude, settings.longitude)
        if not far:
            return
        why, how = far
    record["latitude"] = record["longitude"] = math.nan
    here, why = f"{latitude:g}, {longitude:g}", f"{why} The position is passed over."
    faults.add("far-away", record, "latitude, longitude", why, how, value=here)


def stands_left_out(stands: pd.DataFrame, faults: Faults) -> dict[str, int]:
    """Stands of the file that `read_stands` could not use, each with its row, in file order."""
    seen = {fold_name(stand) for stand in stands["stand"]}
    lost = {}
    for row, name in faults.unused(stands["row"], "stand"):
        folded = fold_name(name)
        if folded and folded not in seen:
            seen.add(folded)
            lost[name] = row
    return lost
