"""``deerlog plan``."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import click

from deerlog.cli.group import DONE, MUST_MEND, say
from deerlog.cli.options import as_json, behind_today, day, opened, today, weather


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
@weather
@click.option("--buck", metavar="NAME", help="Plan for this buck alone, target or not.")
@click.option("--stand", metavar="NAME", help="Plan for this stand alone.")
@click.option(
    "--all",
    "all_sites",
    is_flag=True,
    help="A row for every running site, target and half, stand or no stand.",
)
@click.option("--places", is_flag=True, help="Put the coordinates of stands into plan.ics.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    first: date | None,
    n_days: int,
    weather_file: Path | None,
    buck: str | None,
    stand: str | None,
    all_sites: bool,
    places: bool,
    json_wanted: bool,
) -> None:
    """Rank the coming sits, and say where to stay out.

    Writes plan.csv and plan.ics into reports/<day before the first>/. A plan for one buck or stand,
    or for fewer days than the report's seven, is only printed.
    """
    from deerlog.report.plan_files import plan_rows, site_rows, write_plan
    from deerlog.report.plan_text import plan_text, site_table_text
    from deerlog.report.terminal import json_text, problem_text, wrapped
    from deerlog.report.words.how_good_words import correction_words
    from deerlog.report.words.season_words import outlook_table, season_lines
    from deerlog.study.plan import WEEK_DAYS, coming_plan, every_site
    from deerlog.study.plan_inputs import read_forecast

    as_of = None if first is None else first - timedelta(days=1)
    with opened(ctx.obj, as_of) as (study, progress):
        forecast, problems = read_forecast(study, weather_file)
        progress("Working out the chances", 0, 0)
        made = coming_plan(study, n_days=n_days, weather=forecast, buck=buck, stand=stand)
        # What lies beside the report is the whole plan: a part of it would gainsay the page.
        part = buck is not None or stand is not None or n_days < WEEK_DAYS
        written = None if part else write_plan(study, made, all_sites=all_sites, places=places)
        every = site_rows(made, every_site(study, made)) if all_sites else None
    in_record = sum(p.must_mend for p in study.problems)
    to_mend = in_record + sum(p.must_mend for p in problems)
    if json_wanted:
        click.echo(json_text({
            "as_of": made.as_of, "to_mend": to_mend, "first": made.first, "last": made.last,
            "bucks": made.bucks,
            "plan": plan_rows(made) if every is None else every,
            "outlook": outlook_table(study), "not_considered": made.not_considered,
            "folder": None if written is None else str(written), "problems": problems,
        }))  # fmt: skip
        ctx.exit(MUST_MEND if to_mend else DONE)
    settings = study.place.settings
    in_file = "in plan.csv" if written is not None and not all_sites else ""
    sat_for = {sit.buck for sit in made.sits if sit.advice == "sit"}
    season = season_lines(study, sat_for) if stand is None and buck is None else ()
    said = correction_words(study.correction) if made.sits else ""
    name, units = settings.name, settings.units
    say(plan_text(made, name, units, in_file=in_file, season=season, correction=said))
    if every is not None:
        say("\n" + site_table_text(every))
    for number, problem in enumerate(problems, 1):
        say("\n" + problem_text(problem, number))
    if in_record:
        say(f"\n{in_record} to mend, which may change this: `deerlog check` lists them.")
    behind = behind_today(study.as_of, today(), "deerlog plan --from {tomorrow}")
    if behind is not None and first is None:
        say("\n" + wrapped(behind))
    if written is not None:
        say(f"\nplan.csv and plan.ics are in {written}")
    else:
        only_printed = (
            "Only printed, since it is a part of the plan: plan.csv and plan.ics beside the report "
            "hold the whole of it, of all targets and stands for seven days or more."
        )
        say("\n" + wrapped(only_printed))
    ctx.exit(MUST_MEND if to_mend else DONE)
