"""Properties read and opened from Python: the commands' work without the commands."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

from deerlog.errors import Problem
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
from deerlog.sample import unpack_sample
from deerlog.study import Study
from deerlog.study import open_study as open_folder


def read_cards(folder: str | os.PathLike[str], *, today: date) -> tuple[Problem, ...]:
    """Read what is new on the cards into the photo log, and extend the tag sheets.

    The same as ``deerlog ingest``: nothing below ``cards/`` is written, nothing a person typed is
    changed, and a second run with nothing new writes nothing.

    Parameters
    ----------
    folder
        The property folder.
    today
        The day of the run; a photo that claims to be from after it is kept, but left out.

    Returns
    -------
    tuple of Problem
        What a person should mend.

    Raises
    ------
    DeerlogError
        The folder cannot be used, or the photo log is in use by another run.
    """
    return ingest_cards(open_property(Path(folder)), today=today).problems


def open_study(folder: str | os.PathLike[str], *, as_of: date | None = None) -> Study:
    """Open a property folder, whose cards were read before, for study.

    Parameters
    ----------
    folder
        The property folder.
    as_of
        Use only what had happened by the end of this day. None: the last day on which any camera
        is known to have run. No clock is asked, so that one folder always gives the same tables.

    Returns
    -------
    Study
        To be handed to `residency_table` and the other tables; each is worked out when first asked
        for and kept.

    Raises
    ------
    DeerlogError
        The folder or its photo log cannot be used; the text says what to do.
    """
    return open_folder(Path(folder), as_of=as_of)


def open_sample(folder: str | os.PathLike[str], *, today: date) -> Study:
    """Unpack the sample property into a folder, read its cards, and open it.

    The place, its bucks and its weather are invented; ``sample_data/README.md`` tells the story.

    Parameters
    ----------
    folder
        Empty, not there yet, or one into which the sample was unpacked before.
    today
        As in `read_cards`; the sample's last photo is from 22 November 2026.

    Raises
    ------
    DeerlogError
        The folder holds something else, or cannot be written.
    """
    unpack_sample(Path(folder))
    read_cards(folder, today=today)
    return open_study(folder)
