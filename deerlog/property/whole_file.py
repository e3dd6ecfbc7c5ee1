"""Files put in their place wholly or not at all, whatever stops the writing."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

UNFINISHED = ".deerlog-new-"
"""How the name of a file begins that is being written; what a killed run left may be cleared away.
"""


def unfinished(path: Path) -> Path:
    """Where new content waits, beside the file whose place it takes."""
    return path.with_name(f"{UNFINISHED}{path.name}")


def clear_away(path: Path) -> None:
    """Remove an unfinished file, if it is there and can be removed.

    Where it has taken on from the file it was to replace that it may only be read, Windows refuses
    to remove it until that is undone.
    """
    with suppress(OSError):  # what cannot be cleared away hides no other fault
        try:
            path.unlink(missing_ok=True)
        except PermissionError:
            path.chmod(stat.S_IREAD | stat.S_IWRITE)
            path.unlink(missing_ok=True)


def write_closed(path: Path, content: bytes) -> None:
    """Write a file and close it with its content on the disk, so that it may be renamed."""
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def write_whole(
    path: Path, content: bytes, *, last_look: Callable[[Path], None] | None = None
) -> None:
    """Put new content in the place of a file, or leave the file as it was.

    Its folder is made where there is none, but not that folder's own. ``last_look`` is called with
    the finished new file just before the exchange; when it raises, the old file stays. `OSError`
    says what stopped it, and nothing of the new content is left lying about.
    """
    fresh = unfinished(path)
    try:
        path.parent.mkdir(exist_ok=True)
        clear_away(fresh)  # what a killed run left may be read-only
        write_closed(fresh, content)
        if last_look is not None:
            last_look(fresh)
        fresh.replace(path)
    finally:
        clear_away(fresh)
