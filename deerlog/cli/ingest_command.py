"""``deerlog ingest``."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from deerlog.cli.group import DONE, MUST_MEND, chosen_property
from deerlog.cli.options import as_json
from deerlog.cli.progress import progress_line


@click.command("ingest")
@as_json
@click.pass_context
def command(ctx: click.Context, json_wanted: bool) -> None:
    """Read new and changed card dumps and extend the tag sheets."""
    from deerlog.ingest.run import ingest_cards
    from deerlog.property import open_property
    from deerlog.report.ingest_text import ingest_text
    from deerlog.report.json_text import json_text

    folder: Path | None = ctx.obj
    place = open_property(chosen_property(folder))
    with progress_line() as progress:
        summary = ingest_cards(place, today=date.today(), progress=progress)  # noqa: DTZ011
    if json_wanted:
        click.echo(json_text(summary))
    else:
        click.echo(ingest_text(summary))
    ctx.exit(MUST_MEND if any(p.must_mend for p in summary.problems) else DONE)
