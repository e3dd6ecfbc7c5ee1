"""``deerlog report``."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from deerlog.cli.group import DONE, MUST_MEND, chosen_property
from deerlog.cli.options import as_json, as_of
from deerlog.cli.progress import READING, progress_line


@click.command("report")
@as_of
@as_json
@click.pass_context
def command(ctx: click.Context, as_of: date | None, json_wanted: bool) -> None:
    """Write the weekly report into reports/<day>/."""
    from deerlog.report.json_text import json_text
    from deerlog.report.report_files import write_study_report
    from deerlog.study import open_study

    folder: Path | None = ctx.obj
    with progress_line() as progress:
        progress(READING, 0, 0)
        study = open_study(chosen_property(folder), as_of=as_of)
        written = write_study_report(study, progress)
    to_mend = sum(p.must_mend for p in study.problems)
    if json_wanted:
        click.echo(
            json_text(
                {
                    "as_of": study.as_of,
                    "report": str(written / "report.html"),
                    "to_mend": to_mend,
                    "residency": study.residency.table,
                }
            )
        )
    else:
        click.echo(f"Report as of {study.as_of}: {written / 'report.html'}")
        if to_mend:
            click.echo(f"{to_mend} to mend first: `deerlog check` lists them.")
    ctx.exit(MUST_MEND if to_mend else DONE)
