"""``deerlog demo``."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from deerlog.cli.progress import progress_line

LOOK_FIRST = """
Look first at:
  - This week: which target buck is on, and what to mend.
  - {buck}: his label, and the strip of weeks it rests on.
  - Cameras: the one that fell silent, and the one whose clock is an hour off.
  - {sheet}: pictures that wait for a name, each with its row of the tag sheet.
Then try, from inside {folder}:
  deerlog check
  deerlog residency
"""


@click.command("demo")
@click.argument("folder", metavar="[DIR]", default="deerlog-demo",
                type=click.Path(path_type=Path, file_okay=False))  # fmt: skip
def command(folder: Path) -> None:
    """Unpack the sample property into DIR, ingest it and write its report."""
    from deerlog.ingest.run import ingest_cards
    from deerlog.property import open_property
    from deerlog.report.ingest_text import ingest_text
    from deerlog.report.page.contact_sheet import TaggingPages
    from deerlog.report.report_files import write_study_report
    from deerlog.study import open_study
    from deerlog.study.sample import LAST_CARD, unpack_sample

    unpack_sample(folder)
    click.echo(f"The sample property is in {folder}.\n")
    place = open_property(folder)
    with progress_line() as progress:
        summary = ingest_cards(
            place,
            today=max(date.today(), LAST_CARD),  # noqa: DTZ011
            progress=progress,
            on_to_tag=TaggingPages(place).write,
        )
    click.echo(ingest_text(summary))
    with progress_line() as progress:
        study = open_study(folder)
        written = write_study_report(study, progress)
    click.echo(f"\nReport as of {study.as_of}: {written / 'report.html'}")
    click.echo(
        LOOK_FIRST.format(buck=study.targets[0], folder=folder, sheet=Path("tags", "cam-08.html"))
    )
