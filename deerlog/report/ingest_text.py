"""What an ingest brought in, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from deerlog.errors import worst_first
from deerlog.ingest.summary import CameraIntake, IngestSummary
from deerlog.property.wording import agree, count
from deerlog.report.terminal import problem_text, text_table, wrapped

NAMES_SHOWN = 6
"""Names that are new or gone told one by one before the rest is counted (our choice)."""
PROBLEMS_SHOWN = 3
"""How many things to mend are spelled out; `deerlog check` lists them all."""


def ingest_text(summary: IngestSummary) -> str:
    """One table of cameras, what could not be read, what to tag, and the worst of what to mend."""
    if not summary.cameras:
        return wrapped(
            "There are no cards yet. Copy each card into cards/<camera>/, in a folder of its own, "
            "and run `deerlog ingest` again."
        )
    parts = [
        text_table(
            ("Camera", "Photos", "Videos", "In CSV", "Copies", "Known", "Visits", "To tag"),
            [row for camera in summary.cameras if (row := _row(camera, summary.to_tag))],
            right="nrrrrrrr",
        ),
        wrapped(
            "Known: files known before. To tag: visits nobody has looked at yet. The rest is what "
            "this run brought in."
        ),
    ]
    unread = [line for camera in summary.cameras for line in _unread(camera)]
    if unread:
        parts.append("Not read:\n" + "\n".join(unread))
    gone = sum(camera.gone for camera in summary.cameras)
    if gone:
        lost, its = count(gone, "file is", "files are"), agree(gone, "its", "their")
        parts.append(wrapped(f"{lost} no longer on the disk; {its} photos stay in the log."))
    parts += [_overwritten(camera) for camera in summary.cameras if camera.overwritten]
    photos, visits = count(summary.photos, "photo"), count(summary.visits, "visit")
    parts.append(wrapped(f"The log holds {photos} in {visits}."))
    changed = [_changed(what, summary) for what in {**summary.new, **summary.gone}]
    if changed:
        parts.append("\n".join(changed))
    waiting = sum(summary.to_tag.values())
    if waiting:
        where = (
            "open tags/<camera>.html, which shows the pictures and takes the names, or write them "
            "into tags/<camera>.csv."
        )
        parts.append(wrapped(f"{count(waiting, 'visit')} to tag: {where}"))
    problems = worst_first(summary.problems)
    lately = [p for p in problems if p.lately]
    if lately:
        told = [problem_text(p, i) for i, p in enumerate(lately, 1)]
        parts.append(f"What went wrong lately ({len(lately)}):\n\n" + "\n".join(told))
    to_mend = [p for p in problems if p.must_mend and not p.lately]
    if to_mend:
        shown = [problem_text(p, i) for i, p in enumerate(to_mend[:PROBLEMS_SHOWN], 1)]
        parts.append(f"To mend ({len(to_mend)}), worst first:\n\n" + "\n".join(shown))
        if len(to_mend) > PROBLEMS_SHOWN:
            parts.append("`deerlog check` lists them all.")
    return "\n\n".join(parts)


def workbook_text(written: tuple[Path, int] | None, summary: IngestSummary) -> str:
    """What became of a workbook that was asked for."""
    if written is None:
        there = "the visits still to tag are in one already" if summary.to_tag else "all is tagged"
        return f"No new workbook: {there}."
    path, visits = written
    return wrapped(f"Workbook with {count(visits, 'visit')} to tag: {path}")


def _changed(what: str, summary: IngestSummary) -> str:
    """Which cards, cameras, sheets or bucks are new, and which were there and are gone."""
    said = [("new", summary.new.get(what)), ("here last time and gone now", summary.gone.get(what))]
    texts = []
    for how, names in said:
        if names:
            more = f", and {len(names) - NAMES_SHOWN:,} more" if len(names) > NAMES_SHOWN else ""
            texts.append(f"{how} {', '.join(names[:NAMES_SHOWN])}{more}")
    return wrapped(f"{what.capitalize()}: {'; '.join(texts)}.")


def _row(camera: CameraIntake, to_tag: Mapping[str, int]) -> tuple[str, ...]:
    """A line of the table; none where nothing is left of a camera's folder: it was renamed or
    cleared away."""
    new = camera.new_photos, camera.new_videos, camera.new_listed
    waiting = to_tag.get(camera.camera, 0)
    if camera.gone and not (any(new) or camera.known or any(camera.unreadable.values()) or waiting):
        return ()
    numbers = (*new, camera.copies, camera.known, camera.new_visits, waiting)
    return (camera.camera, *(f"{n:,}" if n else "-" for n in numbers))


def _overwritten(camera: CameraIntake) -> str:
    """That a card was copied over an earlier one."""
    n = camera.overwritten
    return wrapped(
        f"{count(n, 'file')} of {camera.camera} {agree(n, 'holds', 'hold')} another picture than "
        "before: it looks as if a card was copied over an earlier one. The earlier "
        f"{agree(n, 'photo stays', 'photos stay')} in the log, but "
        f"{agree(n, 'its file is', 'their files are')} gone. Copy each card into a folder of its "
        f"own below cards/{camera.camera}/."
    )


def _unread(camera: CameraIntake) -> Iterator[str]:
    """Each reason, with the file that could not be read, or the first of them."""
    for reason, number in camera.unreadable.items():
        first = "first " * (number > 1) + camera.first_unreadable.get(reason, "")
        yield wrapped(f"  {camera.camera}: {number:,} x {reason} ({first})")
