"""The sample property that ships with deerlog: where it lies, and a copy of it to work in."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

from deerlog.errors import OutputError, PropertyError

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

    A file that is there already is left as it is: it may hold what someone typed. An OutputError
    where the folder holds something else, or cannot be written.
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
