"""What is wrong with a clock, and the row to put in clock.csv, in words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.clocks.clock_order import OrderFinding
from deerlog.ingest.clocks.light_faults import ClockFault
from deerlog.ingest.clocks.retime import RunBounds, clock_row, minute_text
from deerlog.ingest.clocks.travel import TravelFinding
from deerlog.property.cell_values import counted, rows_in_words

FILE = "clock.csv"
HILL_MINUTES = 45
"""Shifts smaller than this could come from the lie of the land. Our choice: on a slope facing away
from the evening sun it is dark most of an hour early."""
_MILE_M = 1609.344  # exact


def light_problem(
    fault: ClockFault,
    zone: str,
    n_visits: float,
    bucks: tuple[str, ...],
    *,
    instead_of: Sequence[int] = (),
) -> Problem:
    """A fault found by light, with its row.

    Parameters
    ----------
    zone
        IANA name of the property's time.
    n_visits, bucks
        What it touches.
    instead_of
        Rows of clock.csv that have to go for it.
    """
    row = fault.row
    line = clock_row(
        row.camera,
        shown=row.shown,
        actual=row.actual,
        opens=row.valid_from,
        closes=row.valid_to,
    )
    return Problem(
        kind="clock-light",
        file=FILE,
        column="camera",
        value=fault.camera,
        why=f"The clock of {fault.camera} looks {_off(fault)}{_since(fault, zone)}. "
        f"{_evidence(fault)}",
        how=f"{_doubt(fault)}{add(instead_of)}: {line}",
        harm=n_visits,
        bucks=bucks,
        camera=fault.camera,
        first_day=_day(row.valid_from),
        last_day=_day(row.valid_to - np.timedelta64(1, "us")),
        paste=line,
    )


def order_problem(
    found: OrderFinding, bounds: RunBounds, n_visits: float, bucks: tuple[str, ...]
) -> Problem:
    """A run of photos out of order.

    Parameters
    ----------
    bounds
        What a row of clock.csv for them would name.
    n_visits, bucks
        What it touches.
    """
    how, row = _order_how(found, bounds)
    return Problem(
        kind=f"clock-{found.kind}",
        file=f"cards/{found.camera}/{found.first_path}",
        value=minute_text(bounds.shown),
        why=_order_why(found),
        how=how,
        must_mend=found.kind != "jump",
        harm=n_visits,
        bucks=bucks,
        camera=found.camera,
        first_day=_day(found.shown_first),
        last_day=_day(found.shown_last),
        paste=row,
    )


def travel_problem(
    trips: Sequence[TravelFinding],
    zone: str,
    units: str,
    n_visits: float,
    bucks: tuple[str, ...],
) -> Problem:
    """A camera (or one of two) whose clock several trips speak against.

    Parameters
    ----------
    trips
        At least one, all with the same cameras.
    zone, units
        Of the property: IANA name; ``imperial`` or ``metric``.
    n_visits, bucks
        What the clock touches from the first to the last of them.
    """
    named = " or ".join(trips[0].cameras)
    row = clock_row(trips[0].cameras[0])
    return Problem(
        kind="clock-travel",
        file=FILE,
        column="camera",
        value=named,
        why=f"{counted(len(trips), 'time', 'times')} a buck was at {named} and elsewhere sooner "
        f"than a deer can move, such as {_trip(trips[0], zone, units)}. Wrong tags do not gather "
        "at one camera: its clock looks wrong.",
        how="First look at those two photos to be sure of the buck. Then hold the clock of "
        f"{named} against a watch, and add to {FILE}: {row}",
        must_mend=any(trip.impossible for trip in trips),
        harm=n_visits,
        bucks=bucks,
        camera=trips[0].cameras[0],
        paste=row,
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
    one = found.n_photos == 1
    run = (
        f"{counted(found.n_photos, 'photo', 'photos')} of {found.camera} "
        f"({_to(found.first_path, found.last_path)})"
    )
    said = _to(minute_text(found.shown_first), minute_text(found.shown_last))
    if found.kind == "jump":
        return (
            f"From {found.before_path} to the next file, {found.first_path}, the clock of "
            f"{found.camera} jumps from {minute_text(found.before_shown)} to "
            f"{minute_text(found.shown_first)}."
        )
    if found.kind == "reset":
        begins = "shows" if one else "begin at"
        return f"{run} {begins} a clock's factory date ({said}){_between(found)}."
    says, their = ("says", "its file number") if one else ("say", "their file numbers")
    return f"{run} {says} {said}, against {their}{_between(found)}."


def _to(first: str, last: str) -> str:
    return first if first == last else f"{first} to {last}"


def _between(found: OrderFinding) -> str:
    known = []
    if found.before_path:
        known.append(f"after {found.before_path} of {minute_text(found.before_shown)}")
    if found.after_path:
        known.append(f"before {found.after_path} of {minute_text(found.after_shown)}")
    taken = "it was taken" if found.n_photos == 1 else "they were taken"
    return f"; {taken} {' and '.join(known)}" if known else ""


def _order_how(found: OrderFinding, bounds: RunBounds) -> tuple[str, str]:
    if found.kind == "jump":
        return (
            "If the camera was off in between, nothing to do. If its clock was set wrong at the "
            f"battery change, add a row to {FILE}.",
            "",
        )
    return mend_run(found.camera, found.first_path, bounds, alone=found.n_photos == 1)


def mend_run(
    camera: str, first_path: str, bounds: RunBounds, *, alone: bool = False
) -> tuple[str, str]:
    """What to do about a run of photos whose clock was wrong, and the row for clock.csv.

    Where a row would move photos that are right too, there is none (``""``).

    Parameters
    ----------
    alone
        Whether the run is a single photo.
    """
    if bounds.n_others:
        shows, them = ("shows a time", "it") if bounds.n_others == 1 else ("show times", "them")
        theirs, these, own = (
            ("like that of this one", "this photo", "its") if alone
            else ("between theirs", "these photos", "their")
        )  # fmt: skip
        return (
            f"{counted(bounds.n_others, 'other photo', 'other photos')} of this camera {shows} "
            f"{theirs}, so a row in {FILE} would move {them} too: put {these} in a folder of {own} "
            f"own under cards/, and give that name its own rows in cameras.csv and {FILE}.",
            "",
        )
    row = clock_row(camera, shown=bounds.shown, opens=bounds.opens, closes=bounds.closes)
    return f"Find out the real local time of {first_path}. {add(bounds.instead_of)}: {row}", row


def add(instead_of: Sequence[int]) -> str:
    """``Add to clock.csv``, and which rows have to go for it."""
    return f"Add to {FILE}" + (f", in place of {rows_in_words(instead_of)}" if instead_of else "")


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


def _day(moment: np.datetime64) -> date | None:
    return None if np.isnat(moment) else pd.Timestamp(moment).date()


def _local(instant: np.datetime64, zone: str, *, seconds: bool = False) -> str:
    local = pd.Timestamp(instant).tz_localize("UTC").tz_convert(ZoneInfo(zone))
    return local.strftime("%Y-%m-%d %H:%M:%S" if seconds else "%Y-%m-%d %H:%M")
