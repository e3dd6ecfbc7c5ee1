"""``deerlog plan``."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import click

from deerlog.cli.group import chosen_property
from deerlog.cli.options import as_json, day
from deerlog.cli.progress import READING, progress_line


@click.command("plan")
@click.option(
    "--from",
    "first",
    callback=day,
    metavar="DAY",
    help="First day of the plan (default: the day after the last day known).",
)
@click.option(
    "--days",
    "n_days",
    type=click.IntRange(1, 60),
    default=7,
    show_default=True,
    help="How many days.",
)
@click.option(
    "--weather",
    "weather_file",
    metavar="FILE",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="A weather forecast, in the form of weather.csv.",
)
@click.option("--buck", metavar="NAME", help="Plan for this buck alone, target or not.")
@click.option("--stand", metavar="NAME", help="Plan for this stand alone.")
@click.option(
    "--all",
    "all_sites",
    is_flag=True,
    help="A row for every running site, target and half, stand or no stand.",
)
@as_json
@click.pass_obj
def command(
    folder: Path | None,
    first: date | None,
    n_days: int,
    weather_file: Path | None,
    buck: str | None,
    stand: str | None,
    all_sites: bool,
    json_wanted: bool,
) -> None:
    """Rank the coming sits, and say where to stay out.

    Writes plan.csv and plan.ics into reports/<day before the first>/.
    """
    from deerlog.report.json_text import json_text
    from deerlog.report.plan_files import write_plan
    from deerlog.report.plan_table import plan_rows, site_rows
    from deerlog.report.plan_text import plan_text, site_table_text
    from deerlog.report.terminal import problem_text
    from deerlog.study import open_study
    from deerlog.study.plan import coming_plan, every_site, read_forecast

    as_of = None if first is None else first - timedelta(days=1)
    with progress_line() as progress:
        progress(READING, 0, 0)
        study = open_study(chosen_property(folder), as_of=as_of)
        weather, problems = read_forecast(study, weather_file)
        progress("Working out the chances", 0, 0)
        made = coming_plan(study, n_days=n_days, weather=weather, buck=buck, stand=stand)
        written = write_plan(study, made, all_sites=all_sites)
        every = site_rows(made, every_site(study, made)) if all_sites else None
    if json_wanted:
        click.echo(json_text({
            "as_of": made.as_of, "first": made.first, "last": made.last, "bucks": made.bucks,
            "plan": plan_rows(made) if every is None else every,
            "outlook": made.outlook, "not_considered": made.not_considered,
            "folder": str(written), "problems": problems,
        }))  # fmt: skip
        return
    click.echo(plan_text(made, study.place.settings.name, study.place.settings.units))
    if every is not None:
        click.echo("\n" + site_table_text(every))
    for number, problem in enumerate(problems, 1):
        click.echo("\n" + problem_text(problem, number))
    click.echo(f"\nplan.csv and plan.ics are in {written}")
