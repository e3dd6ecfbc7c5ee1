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
    from deerlog.report.report_files import write_study_report
    from deerlog.sample import unpack_sample
    from deerlog.study import open_study

    unpack_sample(folder)
    click.echo(f"The sample property is in {folder}.\n")
    with progress_line() as progress:
        summary = ingest_cards(open_property(folder), today=date.today(),  # noqa: DTZ011
                               progress=progress)  # fmt: skip
    click.echo(ingest_text(summary))
    study = open_study(folder)
    written = write_study_report(study)
    click.echo(f"\nReport as of {study.as_of}: {written / 'report.html'}")
    click.echo(LOOK_FIRST.format(buck=study.targets[0], folder=folder))
