"""What is wrong with a clock, and the row to put in clock.csv, in words.

``photos`` are all those of `deerlog.ingest.field_log.logged_photos`, ``readings``
`Property.clock_readings`; ``zone`` and ``units`` are of the property: IANA name; ``imperial`` or
``metric``.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.clocks.clock_order import OrderFinding
from deerlog.ingest.clocks.light_faults import ClockFault
from deerlog.property.cell_values import csv_line, rows_in_words
from deerlog.property.wording import agree, count

FILE = "clock.csv"
ACTUAL = "<real local time>"
SHOWN = "<what it showed>"
HILL_MINUTES = 45
"""Shifts smaller than this could come from the lie of the land. Our choice: on a slope facing away
from the evening sun it is dark most of an hour early."""
_MILE_M = 1609.344  # exact
_SECOND = np.timedelta64(1_000_000, "us")
_FIRST, _LAST = pd.Timestamp("0001-01-01"), pd.Timestamp("9999-12-31")
Moment = np.datetime64 | pd.Timestamp


def light_problem(fault: ClockFault, zone: str, readings: pd.DataFrame) -> Problem:
    """A fault found by light, with its row."""
    opens, closes = fault.row["opens"], fault.row["closes"]
    line = clock_row(fault.camera, **fault.row)
    doubt = ""
    if fault.shift_minutes == 720:
        off = "12 h wrong (morning and evening swapped)"
        doubt = (
            "Light cannot tell 12 h early from 12 h late: if with this row the dates come out a "
            "day wrong, write an actual time one day earlier. "
        )
    else:
        hours, minutes = divmod(abs(fault.shift_minutes), 60)
        span = " ".join([f"{hours} h"] * (hours > 0) + [f"{minutes} min"] * (minutes > 0))
        way = "behind" if fault.shift_minutes > 0 else "ahead"
        low, high = sorted((abs(fault.low_minutes), abs(fault.high_minutes)))
        off = f"{span if hours else f'{minutes} minutes'} {way} ({low:.0f} to {high:.0f} minutes)"
        if abs(fault.shift_minutes) < HILL_MINUTES:
            doubt = (
                "A hill or thick wood on one side can look like this too: first hold the camera's "
                "clock against a watch. "
            )
    begins, low_, high_, ends = (
        _local(at, zone) for at in (fault.begins, fault.begins_low, fault.begins_high, fault.ends)
    )
    since = {
        "clock change": ", since the night the clocks changed",
        "break": ", after a card was changed or a gap",
        "unknown": f" (some time between {low_} and {high_})",
    }.get(fault.begins_with, "")
    since = f" from {begins}{since}" if begins else ""
    contradict = [
        f"{count(number, 'is', 'are')} {where}"
        for number, where in (
            (fault.n_grey_in_light, "grey in what its clock calls full light"),
            (fault.n_coloured_in_dark, "coloured in what it calls the dark"),
        )
        if number
    ]
    sure = "over 99 %" if fault.sure > 0.99 else f"{100 * fault.sure:.0f} %"
    return Problem(
        kind="clock-light",
        file=FILE,
        column="camera",
        value=fault.camera,
        why=f"The clock of {fault.camera} looks {off}{since}{f' until {ends}' if ends else ''}. "
        f"Of {count(fault.n_looks, 'picture')}, {fault.n_near} near dusk or dawn by its clock, "
        f"{' and '.join(contradict)}; with the clock put right {fault.n_contradict_after} would "
        f"be. Probability of a fault {sure}.",
        how=f"{doubt}{_add(readings, fault.camera, opens, closes)}: {line}",
        camera=fault.camera,
        first_day=None if np.isnat(opens) else pd.Timestamp(opens).date(),
        last_day=None if np.isnat(closes) else pd.Timestamp(closes - _SECOND).date(),
        paste=line,
    )


def order_problem(
    found: OrderFinding, asked: pd.DataFrame, photos: pd.DataFrame, readings: pd.DataFrame
) -> Problem:
    """A run of photos out of order; ``asked`` is the table `order_findings` was asked about."""
    run, said = photos.loc[list(found.rows)], asked.loc[list(found.rows)]
    camera = str(run["camera"].iloc[0])
    how, row = mend_run(run, photos, readings)
    if found.kind == "jump" and row:
        first, closes = run["shown"].iloc[0], run["shown"].max() + _SECOND
        row = clock_row(camera, shown=first, actual=first, opens=run["shown"].min(), closes=closes)
        how = (
            "If its clock was set wrong at the battery change, write the real time as actual; if "
            f"the camera was off in between, this says so. Add to {FILE}: {row}"
        )
    return Problem(
        kind=f"clock-{found.kind}",
        file=f"cards/{camera}/{said['path'].iloc[0]}",
        value=minute_text(run["shown"].iloc[0]),
        why=_order_why(found, said, asked),
        how=how,
        must_mend=found.kind != "jump",
        camera=camera,
        first_day=said["shown"].min().date(),
        last_day=said["shown"].max().date(),
        paste=row,
    )


def travel_problem(trips: Sequence[Any], zone: str, units: str) -> Problem:
    """A camera (or one of two) whose clock several trips speak against.

    ``trips``: at least one row of `deerlog.ingest.clocks.travel.impossible_trips`, all with the
    same cameras.
    """
    named = " or ".join(trips[0].cameras)
    row = clock_row(trips[0].cameras[0])
    return Problem(
        kind="clock-travel",
        file=FILE,
        column="camera",
        value=named,
        why=f"{count(len(trips), 'time')} a buck was at {named} and elsewhere sooner "
        f"than a deer can move, such as {_trip(trips[0], zone, units)}. Wrong tags do not gather "
        "at one camera: its clock looks wrong.",
        how="First look at those two photos to be sure of the buck. Then hold the clock of "
        f"{named} against a watch, and add to {FILE}: {row}",
        must_mend=any(trip.impossible for trip in trips),
        camera=trips[0].cameras[0],
        paste=row,
    )


def tag_problem(trip: Any, zone: str, units: str) -> Problem:
    """A trip that no deer makes, put down to a tag; see `travel_problem`."""
    repeated = (
        f" It is one of {trip.n_trips} such trips of his at different cameras: two bucks may go "
        "by one name."
    )
    return Problem(
        kind="tag-travel",
        file=f"tags/{trip.camera_b}.csv",
        column="bucks",
        value=trip.buck,
        why=f"Too fast for a deer: {_trip(trip, zone, units)}."
        f"{repeated if trip.n_trips > 1 else ''}",
        how=f"Look at both photos ({trip.camera_a} and {trip.camera_b}) and correct the tag that "
        "is wrong; if both are right, hold the two cameras' clocks against a watch.",
        must_mend=trip.impossible,
        harm=2.0,
        bucks=(trip.buck,),
    )


def _order_why(found: OrderFinding, said: pd.DataFrame, asked: pd.DataFrame) -> str:
    camera = said["camera"].iloc[0]
    path, shown = said["path"], said["shown"]
    at = minute_text(shown.min()), minute_text(shown.max())
    around = {"after": found.before, "before": found.after}
    known: dict[str, Any] = {
        way: asked.loc[label] for way, label in around.items() if label is not None
    }
    if found.kind == "jump":
        before = known["after"]
        return (
            f"From {before['path']} to the next file, {path.iloc[0]}, the clock of {camera} jumps "
            f"from {minute_text(before['shown'])} to {at[0]}."
        )
    n = len(said)
    beside = [f"{way} {x['path']} of {minute_text(x['shown'])}" for way, x in known.items()]
    taken = agree(n, "it was taken", "they were taken")
    between = f"; {taken} {' and '.join(beside)}" if beside else ""
    run = f"{count(n, 'photo')} of {camera} ({span_in_words(path.iloc[0], path.iloc[-1])})"
    if found.kind == "reset":
        begins = agree(n, "shows", "begin at")
        return f"{run} {begins} a clock's factory date ({span_in_words(*at)}){between}."
    says = agree(n, "says", "say")
    their = agree(n, "its file number", "their file numbers")
    return f"{run} {says} {span_in_words(*at)}, against {their}{between}."


def span_in_words(first: str, last: str) -> str:
    """``a``; ``a to b``."""
    return first if first == last else f"{first} to {last}"


def mend_run(run: pd.DataFrame, photos: pd.DataFrame, readings: pd.DataFrame) -> tuple[str, str]:
    """What to do about a run of photos whose clock was wrong, and the row for clock.csv.

    Where a row would move photos that are right too, there is none (``""``). ``run``: rows of
    ``photos``, all of one camera, in order of their numbers.
    """
    camera, n = str(run["camera"].iloc[0]), len(run)
    # From the earliest photo of the run to a second after the latest.
    opens, closes = run["shown"].min(), run["shown"].max() + _SECOND
    within = (photos["shown"] >= opens) & (photos["shown"] < closes) & photos["same_as"].isna()
    others = len(photos.index[within & (photos["camera"] == camera)].difference(run.index))
    if others:
        theirs = agree(n, "like that of this one", "between theirs")
        return (
            f"{count(others, 'other photo')} of this camera "
            f"{agree(others, 'shows a time', 'show times')} {theirs}, so a row in {FILE} would "
            f"move {agree(others, 'it', 'them')} too: put {agree(n, 'this photo', 'these photos')} "
            f"in a folder of {agree(n, 'its', 'their')} own under cards/, and give that name its "
            f"own rows in cameras.csv and {FILE}.",
            "",
        )
    row = clock_row(camera, shown=run["shown"].iloc[0], opens=opens, closes=closes)
    add = _add(readings, camera, opens, closes)
    return f"Find out the real local time of {run['path'].iloc[0]}. {add}: {row}", row


def _add(readings: pd.DataFrame, camera: str, opens: Moment, closes: Moment) -> str:
    """``Add to clock.csv``, and which of a camera's rows there have to go for a new one.

    Of rows that apply to a photo the one with the narrowest bounds counts alone (see
    `deerlog.ingest.clocks.retime.clock_shift`), so that a wider row may stay where it is.
    """
    mine = readings[readings["camera"] == camera]
    first, after = mine["valid_from"].fillna(_FIRST), mine["valid_to"].fillna(_LAST)
    low = _FIRST if pd.isna(opens) else pd.Timestamp(opens)
    high = _LAST if pd.isna(closes) else pd.Timestamp(closes)
    before = mine.loc[(first < high) & (after > low) & (after - first <= high - low), "row"]
    instead = f", in place of {rows_in_words([*before])}" if len(before) else ""
    return f"If the clock was right, give the shown time as actual too. Add to {FILE}{instead}"


def clock_row(
    camera: str,
    *,
    shown: Moment | None = None,
    actual: Moment | None = None,
    opens: Moment | None = None,
    closes: Moment | None = None,
) -> str:
    """A line of clock.csv; what only a person can know in ``<>``."""
    bounds = minute_text(opens), minute_text(closes)
    return csv_line(camera, minute_text(shown) or SHOWN, minute_text(actual) or ACTUAL, *bounds)


def minute_text(moment: Moment | None) -> str:
    """``2024-11-03 02:00``, seconds only where there are any; blank for none and NaT."""
    if moment is None or pd.isna(moment):
        return ""
    stamp = pd.Timestamp(moment)
    return stamp.strftime("%Y-%m-%d %H:%M:%S" if stamp.second else "%Y-%m-%d %H:%M")


def _trip(trip: Any, zone: str, units: str) -> str:
    if units == "imperial":
        far, pace, unit = f"{trip.distance_m / _MILE_M:.1f} miles", 3600 / _MILE_M, "mph"
    else:
        far, pace, unit = f"{trip.distance_m / 1000:.1f} km", 3.6, "km/h"
    speed = trip.distance_m * pace / trip.seconds if trip.seconds > 0 else np.inf
    return (
        f"{trip.buck} at {trip.site_a} on {_local(trip.time_a, zone, seconds=True)} and at "
        f"{trip.site_b}, {far} off, on {_local(trip.time_b, zone, seconds=True)}"
        + (f", {speed:.0f} {unit}" if speed < 1000 else "")
    )


def _local(instant: Moment, zone: str, *, seconds: bool = False) -> str:
    if pd.isna(instant):
        return ""
    local = pd.Timestamp(instant).tz_localize("UTC").tz_convert(ZoneInfo(zone))
    return local.strftime("%Y-%m-%d %H:%M:%S" if seconds else "%Y-%m-%d %H:%M")
