"""``deerlog export``."""

from __future__ import annotations

from pathlib import Path

import click

from deerlog.cli.group import DONE, MUST_MEND, chosen_property, say
from deerlog.cli.progress import READING, progress_line

FORMATS = ("camtrap-dp", "geojson", "photo-log")


@click.command("export")
@click.argument("form", metavar="FORMAT", type=click.Choice(FORMATS))
@click.option(
    "--to",
    metavar="DIR",
    type=click.Path(path_type=Path, file_okay=False),
    help="Where to write (default: exports/FORMAT in the property folder).",
)
@click.option(
    "--round-coordinates",
    "decimals",
    metavar="N",
    type=click.IntRange(0, 6),
    help="Give latitudes and longitudes to N decimals only: 2 hides a place within about half a "
    "mile, 3 within a hundred yards.",
)
@click.pass_context
def command(ctx: click.Context, form: str, to: Path | None, decimals: int | None) -> None:
    """Write the record in an open FORMAT: camtrap-dp, geojson or photo-log.

    camtrap-dp is the open camera-trap data package; geojson holds the sites, stands and shifts for
    a map; photo-log is a CSV for each camera in the form that cards/ takes, so that pictures can be
    cleared from the disk without losing the record.
    """
    from deerlog.ingest.photo_lists import photo_log_text
    from deerlog.report.exports.camtrap import Rounding, camtrap_package, camtrap_text
    from deerlog.report.exports.geojson_text import geojson_text
    from deerlog.report.exports.write_files import photo_log_summary, write_files
    from deerlog.study import open_study

    folder = chosen_property(ctx.obj)
    target = to or folder / "exports" / form
    rounding = Rounding(decimals)
    with progress_line() as tell:
        tell(READING, 0, 0)
        if form == "photo-log":
            log = photo_log_text(folder)
            write_files(target, log.texts)
            summary = photo_log_summary(log.photos, log.left_out, log.unreadable, target)
            if decimals is not None:
                summary = f"A photo log holds no coordinates to round.\n{summary}"
            must_mend = bool(log.left_out)
        else:
            study = open_study(folder)
            tell("Writing the export", 0, 0)
            if form == "geojson":
                written = write_files(target, {"property.geojson": geojson_text(study, rounding)})
                summary = f"Written to {written[0]}"
            else:
                package = camtrap_package(study, rounding)
                write_files(target, package.texts)
                summary = camtrap_text(package, rounding, target)
            must_mend = False
    say(summary)
    ctx.exit(MUST_MEND if must_mend else DONE)
