"""Invented visits to tag, for the tests of contact sheets and workbooks."""

from __future__ import annotations

from datetime import datetime, timedelta

from deerlog.ingest.to_tag import Picture, SheetToTag, VisitToTag

START = datetime(2025, 11, 15, 16, 58)  # noqa: DTZ001  (wall time, as the sheets have it)


def visit(
    number: int = 0,
    pictures: int = 3,
    *,
    kind: str = "photo",
    on_disk: bool = True,
    row: int | None = 2,
    folder: str = "dump/100",
    camera: str = "cam-2",
    site: str = "Alder bend",
    in_workbook: bool = False,
) -> VisitToTag:
    """A visit some hours after the one before it, its pictures ten seconds apart."""
    taken = START + timedelta(hours=7 * number)
    end = {"photo": "JPG", "video": "MP4", "log": "JPG"}[kind]
    names = [f"{folder}/V{number:03d}_{n}.{end}" for n in range(pictures)]
    return VisitToTag(
        row=None if row is None else row + number,
        photo=names[0],
        camera=camera,
        site=site,
        taken=taken,
        pictures=tuple(
            Picture(
                camera=camera,
                taken=taken + timedelta(seconds=10 * n),
                kind=kind,
                file=f"cards/{camera}/{name}" if on_disk else None,
            )
            for n, name in enumerate(names)
        ),
        in_workbook=in_workbook,
    )


def sheet(*visits: VisitToTag, waiting: int | None = None, camera: str = "cam-2") -> SheetToTag:
    """The tag sheet of a camera in which these visits wait."""
    return SheetToTag(
        camera=camera,
        sheet=f"tags/{camera}.csv",
        waiting=len(visits) if waiting is None else waiting,
        visits=visits,
    )
