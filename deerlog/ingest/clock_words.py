"""What is wrong with a clock, and the row to put in clock.csv, in words."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.clock_order import OrderFinding
from deerlog.ingest.clock_verdict import ClockFault
from deerlog.ingest.row_words import counted
from deerlog.ingest.travel import TravelFinding

FILE = "clock.csv"
HILL_MINUTES = 45
"""Shifts smaller than this could come from the lie of the land. Our choice: on a slope facing away
from the evening sun it is dark most of an hour early."""
_MILE_M = 1609.344  # exact
_NEVER = np.datetime64("NaT", "us")


def light_problem(
    fault: ClockFault, zone: str, n_visits: float, bucks: tuple[str, ...], *, has_rows: bool
) -> Problem:
    """A fault found by light, with its row.

    Parameters
    ----------
    zone
        IANA name of the property's time.
    n_visits, bucks
        What it touches.
    has_rows
        Whether clock.csv has rows of this camera already.
    """
    row = fault.row
    instead = f", in place of rows of {fault.camera} for the same time" if has_rows else ""
    line = _row(row.camera, row.shown, row.actual, row.valid_from, row.valid_to)
    return Problem(
        kind="clock-light",
        file=FILE,
        column="camera",
        value=fault.camera,
        why=f"The clock of {fault.camera} looks {_off(fault)}{_since(fault, zone)}. "
        f"{_evidence(fault)}",
        how=f"{_doubt(fault)}Add to {FILE}{instead}: {line}",
        harm=n_visits,
        bucks=bucks,
        camera=fault.camera,
    )


def order_problem(
    found: OrderFinding,
    shown: tuple[np.datetime64, np.datetime64],
    n_visits: float,
    bucks: tuple[str, ...],
) -> Problem:
    """A run of photos out of order.

    Parameters
    ----------
    shown
        What the camera showed at the first and at the last of them (naive).
    n_visits, bucks
        What it touches.
    """
    return Problem(
        kind=f"clock-{found.kind}",
        file=f"cards/{found.camera}/{found.first_path}",
        value=_minute(shown[0]),
        why=_order_why(found),
        how=_order_how(found, shown),
        must_mend=found.kind != "jump",
        harm=n_visits,
        bucks=bucks,
        camera=found.camera,
    )


def travel_problem(trips: Sequence[TravelFinding], zone: str, units: str) -> Problem:
    """A camera (or one of two) whose clock several trips speak against.

    Parameters
    ----------
    trips
        At least one, all with the same cameras.
    zone, units
        Of the property: IANA name; ``imperial`` or ``metric``.
    """
    named = " or ".join(trips[0].cameras)
    return Problem(
        kind="clock-travel",
        file=FILE,
        column="camera",
        value=named,
        why=f"{counted(len(trips), 'time', 'times')} a buck was at {named} and elsewhere sooner "
        f"than a deer can move, such as {_trip(trips[0], zone, units)}. Wrong tags do not gather "
        "at one camera: its clock looks wrong.",
        how="First look at those two photos to be sure of the buck. Then hold the clock of "
        f"{named} against a watch, and add to {FILE}: "
        f"{_row(trips[0].cameras[0], _NEVER, _NEVER, _NEVER, _NEVER)}",
        must_mend=any(trip.impossible for trip in trips),
        harm=float(len(trips)),
        bucks=tuple(sorted({trip.buck for trip in trips})),
        camera=trips[0].cameras[0],
    )


def tag_problem(found: TravelFinding, zone: str, units: str) -> Problem:
    """A trip that no deer makes, put down to a tag; see `travel_problem`."""
    repeated = (
        f" It is one of {found.n_trips} such trips of his at different cameras: two bucks may go "
        "by one name."
        if found.n_trips > 1
        else ""
    )
    return Problem(
        kind="tag-travel",
        file=f"tags/{found.camera_b}.csv",
        column="bucks",
        value=found.buck,
        why=f"Too fast for a deer: {_trip(found, zone, units)}.{repeated}",
        how=f"Look at both photos ({found.camera_a} and {found.camera_b}) and correct the tag that "
        "is wrong; if both are right, hold the two cameras' clocks against a watch.",
        must_mend=found.impossible,
        harm=2.0,
        bucks=(found.buck,),
    )


def _off(fault: ClockFault) -> str:
    if fault.shift_minutes == 720:
        return "12 h wrong (morning and evening swapped)"
    way = "behind" if fault.shift_minutes > 0 else "ahead"
    low, high = sorted((abs(fault.low_minutes), abs(fault.high_minutes)))
    return f"{_span(abs(fault.shift_minutes))} {way} ({low:.0f} to {high:.0f} minutes)"


def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} minutes"
    return f"{hours} h" + (f" {rest} min" if rest else "")


def _since(fault: ClockFault, zone: str) -> str:
    text = ""
    if not np.isnat(fault.begins):
        text += f" from {_local(fault.begins, zone)}"
        if fault.begins_with == "clock change":
            text += ", since the night the clocks changed"
        elif fault.begins_with == "break":
            text += ", after a card was changed or a gap"
        else:
            low, high = _local(fault.begins_low, zone), _local(fault.begins_high, zone)
            text += f" (some time between {low} and {high})"
    if not np.isnat(fault.ends):
        text += f" until {_local(fault.ends, zone)}"
    return text


def _evidence(fault: ClockFault) -> str:
    parts = []
    if fault.n_grey_in_light:
        parts.append(
            f"{counted(fault.n_grey_in_light, 'is', 'are')} grey in what its clock calls full light"
        )
    if fault.n_coloured_in_dark:
        parts.append(
            f"{counted(fault.n_coloured_in_dark, 'is', 'are')} coloured in what it calls the dark"
        )
    sure = "over 99 %" if fault.sure > 0.99 else f"{100 * fault.sure:.0f} %"
    pictures = counted(fault.n_looks, "picture", "pictures")
    return (
        f"Of {pictures}, {fault.n_near} near dusk or dawn by its clock, "
        f"{' and '.join(parts)}; with the clock put right {fault.n_contradict_after} would "
        f"be. Probability of a fault {sure}."
    )


def _doubt(fault: ClockFault) -> str:
    if fault.shift_minutes == 720:
        return (
            "Light cannot tell 12 h early from 12 h late: if with this row the dates come out a "
            "day wrong, write an actual time one day earlier. "
        )
    if abs(fault.shift_minutes) < HILL_MINUTES:
        return (
            "A hill or thick wood on one side can look like this too: first hold the camera's "
            "clock against a watch. "
        )
    return ""


def _order_why(found: OrderFinding) -> str:
    run = (
        f"{counted(found.n_photos, 'photo', 'photos')} of {found.camera} "
        f"({found.first_path} to {found.last_path})"
    )
    said = f"{_minute(found.shown_first)} to {_minute(found.shown_last)}"
    if found.kind == "jump":
        return (
            f"From {found.before_path} to the next file, {found.first_path}, the clock of "
            f"{found.camera} jumps from {_minute(found.before_shown)} to "
            f"{_minute(found.shown_first)}."
        )
    if found.kind == "reset":
        return f"{run} begin at a clock's factory date ({said}){_between(found)}."
    return f"{run} say {said}, against their file numbers{_between(found)}."


def _between(found: OrderFinding) -> str:
    known = []
    if found.before_path:
        known.append(f"after {found.before_path} of {_minute(found.before_shown)}")
    if found.after_path:
        known.append(f"before {found.after_path} of {_minute(found.after_shown)}")
    return f"; they were taken {' and '.join(known)}" if known else ""


def _order_how(found: OrderFinding, shown: tuple[np.datetime64, np.datetime64]) -> str:
    if found.kind == "jump":
        return (
            "If the camera was off in between, nothing to do. If its clock was set wrong at the "
            f"battery change, add a row to {FILE}."
        )
    if found.shares_times:
        return (
            "Other photos of this camera show the same times, so a row in clock.csv would move "
            "them too: put these photos in a folder of their own under cards/, give that name its "
            "own rows in cameras.csv and clock.csv."
        )
    # `to` is exclusive, so it lies just after the last photo.
    first, after = shown[0], shown[1] + np.timedelta64(1, "m")
    row = _row(found.camera, first, _NEVER, first, after)
    return f"Find out the real local time of {found.first_path} and add to {FILE}: {row}"


def _trip(found: TravelFinding, zone: str, units: str) -> str:
    if units == "imperial":
        far, speed = f"{found.distance_m / _MILE_M:.1f} miles", found.speed_mps * 3600 / _MILE_M
        unit = "mph"
    else:
        far, speed = f"{found.distance_m / 1000:.1f} km", found.speed_mps * 3.6
        unit = "km/h"
    pace = f", {speed:.0f} {unit}" if np.isfinite(speed) and speed < 1000 else ""
    return (
        f"{found.buck} at {found.site_a} on {_local(found.time_a, zone, seconds=True)} and at "
        f"{found.site_b}, {far} off, on {_local(found.time_b, zone, seconds=True)}{pace}"
    )


def _row(
    camera: str,
    shown: np.datetime64,
    actual: np.datetime64,
    first: np.datetime64,
    after: np.datetime64,
) -> str:
    """A line of clock.csv, quoted where a camera's name needs it."""
    line = io.StringIO()
    said = "<what it showed>" if np.isnat(shown) else _minute(shown)
    real = "<real local time>" if np.isnat(actual) else _minute(actual)
    csv.writer(line, lineterminator="").writerow(
        [camera, said, real, _minute(first), _minute(after)]
    )
    return line.getvalue()


def _minute(moment: np.datetime64) -> str:
    """``2024-11-03 02:00``, seconds only where there are any; blank for NaT."""
    if np.isnat(moment):
        return ""
    stamp = pd.Timestamp(moment)
    return stamp.strftime("%Y-%m-%d %H:%M:%S" if stamp.second else "%Y-%m-%d %H:%M")


def _local(instant: np.datetime64, zone: str, *, seconds: bool = False) -> str:
    local = pd.Timestamp(instant).tz_localize("UTC").tz_convert(ZoneInfo(zone))
    return local.strftime("%Y-%m-%d %H:%M:%S" if seconds else "%Y-%m-%d %H:%M")
