"""``deerlog demo``."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import click

from deerlog.cli.group import say
from deerlog.cli.options import today
from deerlog.cli.progress import progress_line

LOOK_FIRST = """
Look first at:
  - This week: which target buck is on, and what to mend.
  - {buck}: his label, and his calendar, and the weeks it rests on.
  - Cameras: the one that fell silent, and the one whose clock is an hour off.
  - {sheet}: pictures that wait for a name, each with its row of the tag sheet.
Then try:
  {deerlog} check
  {deerlog} residency
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
    say(f"The sample property is in {folder}.\n")
    place = open_property(folder)
    with progress_line() as progress:
        summary = ingest_cards(
            place,
            today=max(today(), LAST_CARD),
            progress=progress,
            on_to_tag=TaggingPages(place).write,
        )
    say(ingest_text(summary))
    with progress_line() as progress:
        study = open_study(folder)
        written = write_study_report(study, progress)
    say(f"\nReport as of {study.as_of}: {written / 'report.html'}")
    say(
        LOOK_FIRST.format(
            buck=study.targets[0], sheet=Path("tags", "cam-08.html"), deerlog=typed_on(folder)
        )
    )


def typed_on(folder: Path) -> str:
    """What runs deerlog on a folder from where one is: as it was run just now, found again."""
    run = Path(sys.argv[0])
    on_path = shutil.which(run.stem)
    if run.name == "__main__.py":
        program = [sys.executable, "-m", "deerlog"]
    elif on_path is not None and Path(on_path).resolve() == run.resolve():
        program = [run.stem]
    else:
        program = [str(run)]
    words = [*program, "--property", str(folder)]
    return subprocess.list2cmdline(words) if os.name == "nt" else shlex.join(words)
