"""``deerlog residency``."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from deerlog.cli.group import chosen_property
from deerlog.cli.options import as_json, as_of
from deerlog.cli.progress import READING, progress_line


@click.command("residency")
@as_of
@as_json
@click.pass_obj
def command(folder: Path | None, as_of: date | None, json_wanted: bool) -> None:
    """Show which bucks live here, which visit, and which cannot be told yet."""
    from deerlog.report import terminal
    from deerlog.report.json_text import json_text
    from deerlog.study import open_study

    with progress_line() as progress:
        progress(READING, 0, 0)
        study = open_study(chosen_property(folder), as_of=as_of)
        if study.as_of is not None:
            progress("Working out who lives here", 0, 0)
            _ = study.residency
    if study.as_of is None and not json_wanted:
        click.echo(terminal.wrapped(NOBODY))
        return
    table = study.residency.table
    if json_wanted:
        click.echo(json_text({"as_of": study.as_of, "residency": table}))
        return
    if table.empty:
        click.echo(terminal.wrapped(NOBODY))
        return
    click.echo(f"{study.place.settings.name}, as of {study.as_of}")
    click.echo()
    click.echo(terminal.residency_text(table, set(study.place.bucks["buck"])))
    click.echo()
    click.echo(terminal.wrapped(terminal.RESIDENCY_KEY))
    to_mend = sum(p.must_mend for p in study.problems)
    if to_mend:
        click.echo(f"\n{to_mend} to mend, which may change this: `deerlog check` lists them.")


NOBODY = (
    "No buck has a tag yet. Run `deerlog ingest`, write names in the bucks column of the sheets in "
    "tags/, and run this again."
)
