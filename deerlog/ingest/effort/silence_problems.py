"""Silent stretches in words, with the row that says the camera ran."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.effort.effort import FoundSilence
from deerlog.ingest.effort.silence import NEIGHBOUR_DAYS
from deerlog.property.row_words import counted, csv_line

FILE = "outages.csv"


def silence_problems(found: Iterable[FoundSilence], sightings: pd.DataFrame) -> list[Problem]:
    """Each silent stretch, worth knowing.

    Parameters
    ----------
    found
        Of `deerlog.ingest.effort.effort.Effort`.
    sightings
        Of `deerlog.ingest.tags.sightings.sighting_table`.
    """
    wall = np.asarray(sightings["local"].dt.tz_localize(None), dtype="datetime64[us]")
    # Whoever was seen at the site so soon before or after is touched: our choice, the time over
    # which the camera's rate is taken too.
    near = np.timedelta64(round(NEIGHBOUR_DAYS), "D")
    problems = []
    for silence in found:
        around = (wall >= silence.start - near) & (wall < silence.end + near)
        bucks = sightings.loc[around & (sightings["site"] == silence.site), "buck"]
        problems.append(_problem(silence, tuple(sorted(bucks.unique().tolist()))))
    return problems


def _problem(silence: FoundSilence, bucks: tuple[str, ...]) -> Problem:
    first, last = (t.astype("datetime64[D]").item() for t in (silence.start, silence.end))
    days = round(float((silence.end - silence.start) / np.timedelta64(1, "D")))
    unlikely = -silence.log10_p
    odds = "less than one in a million" if unlikely > 6 else f"about one in {10**unlikely:,.0f}"
    missed = round(silence.expected_visits)
    row = csv_line(silence.camera, str(first), str(last), "running")
    return Problem(
        kind="silent-stretch",
        file=FILE,
        value=silence.camera,
        why=f"{silence.camera} at {silence.site} took no photo of any kind from {first} to {last} "
        f"({counted(days, 'day', 'days')}); its own rate would have given about "
        f"{counted(missed, 'visit', 'visits')}, and the chance of none while running is {odds}. "
        "These days count as not watched.",
        how=f"If it was down, nothing to do. If it ran, add to {FILE}: {row}",
        must_mend=False,
        harm=float(missed),
        bucks=bucks,
        camera=silence.camera,
        first_day=first,
        last_day=last,
        paste=row,
    )
