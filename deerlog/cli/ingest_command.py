"""``deerlog ingest``."""

from __future__ import annotations

import click

from deerlog.cli.group import DONE, MUST_MEND, chosen_property, say
from deerlog.cli.options import as_json, today
from deerlog.cli.progress import progress_line


@click.command("ingest")
@click.option(
    "--workbook",
    is_flag=True,
    help="Also write a new workbook (.xlsx) into tags/workbooks/: the visits still to tag, with "
    "their pictures and the bucks' names to choose from.",
)
@as_json
@click.pass_context
def command(ctx: click.Context, workbook: bool, json_wanted: bool) -> None:
    """Read new and changed card dumps and extend the tag sheets.

    Beside each sheet, tags/<camera>.html shows the pictures of the visits still to tag and takes
    the names.
    """
    from deerlog.ingest.run import ingest_cards
    from deerlog.property import open_property
    from deerlog.report.ingest_text import ingest_text, workbook_text
    from deerlog.report.page.contact_sheet import TaggingPages
    from deerlog.report.terminal import json_text

    place = open_property(chosen_property(ctx.obj))
    day = today()
    with progress_line() as progress:
        pages = TaggingPages(place, workbook_of=day if workbook else None, progress=progress)
        summary = ingest_cards(
            place, today=day, progress=progress, on_to_tag=pages.write, anew=workbook
        )
    if json_wanted:
        click.echo(json_text(summary))
    else:
        say(ingest_text(summary))
        if workbook:
            say("\n" + workbook_text(pages.workbook, summary))
    ctx.exit(MUST_MEND if any(p.must_mend for p in summary.problems) else DONE)
