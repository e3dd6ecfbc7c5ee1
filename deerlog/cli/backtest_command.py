"""``deerlog backtest``."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from deerlog.cli.group import say
from deerlog.cli.options import as_json, as_of, day, opened


@click.command("backtest")
@click.option(
    "--from",
    "first",
    callback=day,
    metavar="DAY",
    help="First day replayed (default: the whole record).",
)
@as_of
@as_json
@click.pass_obj
def command(folder: Path | None, first: date | None, as_of: date | None, json_wanted: bool) -> None:
    """Replay past weeks: how good the chances would have been.

    Each week is forecast with only what had happened by the week before, and held against what the
    cameras then saw, beside two simple rules.
    """
    from deerlog.report.backtest_text import backtest_figures, backtest_text
    from deerlog.report.page.how_good_contents import how_good, sits_view
    from deerlog.report.terminal import json_text
    from deerlog.study.replay import replay, sits_result

    with opened(folder, as_of) as (study, progress):
        played = replay(
            study, first, progress=lambda done, total: progress("Replaying weeks", done, total)
        )
        good = how_good(study, played)
        sits = sits_result(study, played.given)
    if json_wanted:
        click.echo(json_text(backtest_figures(study, played, sits)))
    else:
        say(backtest_text(good, sits_view(sits), study.place.settings.name))
