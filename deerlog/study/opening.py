"""The sample property that ships with deerlog.

Properties read and opened from Python: the commands' work without the commands.
"""

from __future__ import annotations

import os
import shutil
from datetime import date
from pathlib import Path

from deerlog.errors import OutputError, Problem, PropertyError
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
from deerlog.study import Study
from deerlog.study import open_study as open_folder

MARK = "property.toml"
LAST_CARD = date(2026, 11, 22)
"""The day on which the sample's last cards were pulled. On a machine whose clock is behind it, its
photos would be from the future."""


def sample_folder() -> Path:
    """Where the sample property lies: in an installed package, or beside it in a checkout."""
    package = Path(__file__).parents[1]
    for place in (package / "sample_property", package.parent / "sample_data" / "property"):
        if (place / MARK).is_file():
            return place
    raise PropertyError(
        "the sample property is not where it was installed.",
        where=str(package),
        how="Install deerlog again.",
    )


def unpack_sample(folder: Path) -> None:
    """Copy the sample property to ``folder``; go on with one unpacked there before.

    A file that is there already is left as it is: it may hold what someone typed.

    Raises
    ------
    OutputError
        The folder holds something else, or cannot be written.
    """
    source = sample_folder()
    if folder.exists() and any(folder.iterdir()):
        settings = folder / MARK
        if not settings.is_file() or settings.read_bytes() != (source / MARK).read_bytes():
            raise OutputError(
                "the folder is not empty and holds no sample property.",
                where=str(folder),
                how="Name another: `deerlog demo DIR`.",
            )
    try:
        for path in sorted(source.rglob("*")):
            target = folder / path.relative_to(source)
            if path.is_dir():
                target.mkdir(parents=True, exist_ok=True)
            elif not target.exists():
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(path, target)
    except OSError as error:
        raise OutputError(
            f"the sample property could not be unpacked ({error.strerror or error}).",
            where=str(folder),
            how="Name a folder you may write to: `deerlog demo DIR`.",
        ) from error


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
