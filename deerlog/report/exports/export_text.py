"""What an export came to, for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from deerlog.report.exports.camtrap_package import CamtrapPackage
from deerlog.report.exports.rounding import Rounding
from deerlog.report.terminal import wrapped

_SHOWN = 5


def camtrap_text(package: CamtrapPackage, rounding: Rounding, folder: Path) -> str:
    """Counts, and what a receiver should know."""
    lines = [
        f"{package.n_deployments:,} deployments, {package.n_media:,} media, "
        f"{package.n_observations:,} observations.",
    ]
    if package.n_outside:
        lines.append(
            f"{package.n_outside:,} photos are left out: their camera stood nowhere then, is not "
            "taken to have run (outages.csv), or showed an impossible time."
        )
    if package.n_timestamp_issues:
        lines.append(
            f"{package.n_timestamp_issues:,} deployments are marked timestampIssues: "
            "`deerlog check` says which clock looks wrong, and how to mend it."
        )
    if rounding.decimals is None:
        lines.append("Coordinates are exact; --round-coordinates hides them.")
    lines.append(f"Written to {folder}")
    return "\n".join(wrapped(line) for line in lines)


def photo_log_summary(n_photos: int, left_out: Sequence[str], unreadable: int, folder: Path) -> str:
    """Counts, what has no row, and what to do with the CSVs."""
    lines = [f"{n_photos:,} photos."]
    if unreadable:
        lines.append(f"{unreadable:,} files that could never be read have no row.")
    if left_out:
        named = ", ".join(left_out[:_SHOWN]) + (", ..." if len(left_out) > _SHOWN else "")
        lines.append(
            f"{len(left_out):,} photos have no row, since their name or time cannot stand in a "
            f"cell: {named}. Rename these files, run `deerlog ingest` and export again before you "
            "clear any picture."
        )
    lines.append(f"Written to {folder}")
    lines.append(
        "To clear pictures from the disk: copy these folders into cards/, run `deerlog ingest`, "
        "look that `deerlog residency` says the same, then delete the pictures."
    )
    return "\n".join(wrapped(line) for line in lines)
