"""``deerlog check``."""

from __future__ import annotations

import click

from deerlog.cli.group import DONE, MUST_MEND, say
from deerlog.cli.options import as_json, opened


@click.command("check")
@as_json
@click.pass_context
def command(ctx: click.Context, json_wanted: bool) -> None:
    """List what a person should mend, most harmful first."""
    from deerlog.report.terminal import json_text, problem_text

    with opened(ctx.obj) as (study, _):
        problems = study.problems
    to_mend = [p for p in problems if p.must_mend]
    notes = [p for p in problems if not p.must_mend]
    if json_wanted:
        click.echo(json_text({"to_mend": to_mend, "worth_knowing": notes}))
    else:
        if not problems:
            say("Nothing to mend.")
        for title, group in (
            ("What went wrong lately", [p for p in problems if p.lately]),
            ("To mend", [p for p in to_mend if not p.lately]),
            ("Worth knowing", [p for p in notes if not p.lately]),
        ):
            if group:
                say(f"{title} ({len(group)})\n")
                for number, problem in enumerate(group, 1):
                    say(problem_text(problem, number) + "\n")
    ctx.exit(MUST_MEND if to_mend else DONE)
