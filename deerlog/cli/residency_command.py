"""``deerlog residency``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import click

from deerlog.cli.group import DONE, MUST_MEND, say
from deerlog.cli.options import as_json, as_of, opened


@click.command("residency")
@as_of
@as_json
@click.pass_context
def command(ctx: click.Context, as_of: date | None, json_wanted: bool) -> None:
    """Show which bucks live here, which visit, and which cannot be told yet."""
    from deerlog.report.terminal import RESIDENCY_KEY, json_text, residency_text, wrapped

    with opened(ctx.obj, as_of) as (study, progress):
        if study.as_of is not None:
            progress("Working out who lives here", 0, 0)
            _ = study.residency
    to_mend = sum(p.must_mend for p in study.problems)
    if json_wanted:
        table: object = [] if study.as_of is None else study.residency.table
        click.echo(json_text({"as_of": study.as_of, "to_mend": to_mend, "residency": table}))
    elif study.as_of is None or study.residency.table.empty:
        say(wrapped(_nobody(study.place.left_out)))
    else:
        listed = set(study.place.bucks["buck"])
        say(f"{study.place.settings.name}, as of {study.as_of}\n")
        say(residency_text(study.residency.table, listed))
        say("\n" + wrapped(RESIDENCY_KEY))
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
