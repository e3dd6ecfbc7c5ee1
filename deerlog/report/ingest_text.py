"""What an ingest brought in, for the terminal."""

from __future__ import annotations

from deerlog.ingest.summary import CameraIntake, IngestSummary
from deerlog.report.terminal import problem_text, text_table, wrapped

PROBLEMS_SHOWN = 3
"""How many things to mend are spelled out; `deerlog check` lists them all."""


def ingest_text(summary: IngestSummary) -> str:
    """One table of cameras, what could not be read, and the worst of what to mend."""
    if not summary.cameras:
        return wrapped(
            "There are no cards yet. Copy each card into cards/<camera>/, in a folder of its own, "
            "and run `deerlog ingest` again."
        )
    parts = [
        text_table(
            ("Camera", "New photos", "Videos", "In CSV", "Copies", "Known", "New visits"),
            [_row(camera) for camera in summary.cameras],
            right="lrrrrrr",
        )
    ]
    unread = [line for camera in summary.cameras for line in _unread(camera)]
    if unread:
        parts.append("Not read:\n" + "\n".join(unread))
    gone = sum(camera.gone for camera in summary.cameras)
    if gone:
        parts.append(
            wrapped(f"{gone:,} files are no longer on the disk; their photos stay in the log.")
        )
    parts.append(wrapped(f"The log holds {summary.photos:,} photos in {summary.visits:,} visits."))
    to_mend = sorted((p for p in summary.problems if p.must_mend), key=lambda p: -p.harm)
    if to_mend:
        shown = [problem_text(p, i) for i, p in enumerate(to_mend[:PROBLEMS_SHOWN], 1)]
        parts.append(f"To mend ({len(to_mend)}):\n\n" + "\n".join(shown))
        if len(to_mend) > PROBLEMS_SHOWN:
            parts.append("`deerlog check` lists them all.")
    return "\n\n".join(parts)


def _row(camera: CameraIntake) -> tuple[str, ...]:
    numbers = (
        camera.new_photos, camera.new_videos, camera.new_listed, camera.copies, camera.known,
        camera.new_visits,
    )  # fmt: skip
    return (camera.camera, *(f"{n:,}" if n else "-" for n in numbers))


def _unread(camera: CameraIntake) -> list[str]:
    return [
        wrapped(f"  {camera.camera}: {count:,} x {reason}")
        for reason, count in camera.unreadable.items()
    ]
