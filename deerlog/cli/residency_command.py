"""``deerlog residency``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

import click

from deerlog.cli.group import DONE, MUST_MEND, chosen_property, say
from deerlog.cli.options import as_json, as_of
from deerlog.cli.progress import READING, progress_line


@click.command("residency")
@as_of
@as_json
@click.pass_context
def command(ctx: click.Context, as_of: date | None, json_wanted: bool) -> None:
    """Show which bucks live here, which visit, and which cannot be told yet."""
    from deerlog.report import terminal
    from deerlog.report.terminal import json_text
    from deerlog.study import open_study

    folder: Path | None = ctx.obj
    with progress_line() as progress:
        progress(READING, 0, 0)
        study = open_study(chosen_property(folder), as_of=as_of)
        if study.as_of is not None:
            progress("Working out who lives here", 0, 0)
            _ = study.residency
    to_mend = sum(p.must_mend for p in study.problems)
    if json_wanted:
        table = [] if study.as_of is None else study.residency.table
        click.echo(json_text({"as_of": study.as_of, "to_mend": to_mend, "residency": table}))
    elif study.as_of is None or study.residency.table.empty:
        say(terminal.wrapped(_nobody(study.place.left_out)))
    else:
        listed = set(study.place.bucks["buck"])
        say(f"{study.place.settings.name}, as of {study.as_of}\n")
        say(terminal.residency_text(study.residency.table, listed))
        say("\n" + terminal.wrapped(terminal.RESIDENCY_KEY))
    if to_mend and not json_wanted:
        say(f"\n{to_mend} to mend, which may change this: `deerlog check` lists them.")
    ctx.exit(MUST_MEND if to_mend else DONE)


def _nobody(left_out: Mapping[str, Sequence[object]]) -> str:
    """Why no buck can be told, where these rows of cameras.csv are left out."""
    from deerlog.property.wording import agree, count, listing

    if not left_out:
        return (
            "No buck has a tag yet. Run `deerlog ingest`, write names in the bucks column of the "
            "sheets in tags/, and run this again."
        )
    rows = sum(len(each) for each in left_out.values())
    return (
        f"No tag counts yet: {count(rows, 'row')} of cameras.csv "
        f"({listing(sorted(left_out))}) {agree(rows, 'is', 'are')} left out, and "
        "photos of a camera without a row belong to no site. `deerlog check` says what to mend."
    )
