"""``deerlog report``."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from deerlog.cli.group import DONE, MUST_MEND, say
from deerlog.cli.options import as_json, as_of, behind_today, opened, today, weather


@click.command("report")
@as_of
@weather
@click.option(
    "--share",
    is_flag=True,
    help="Also write share.html, to hand on: no file names, notes, or things to mend.",
)
@click.option("--no-pictures", is_flag=True, help="Put no pictures into the page.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    as_of: date | None,
    weather_file: Path | None,
    share: bool,
    no_pictures: bool,
    json_wanted: bool,
) -> None:
    """Write the weekly report into reports/<day>/."""
    from deerlog.report.report_files import SHARED_PAGE, write_study_report
    from deerlog.report.terminal import json_text, problem_text, wrapped
    from deerlog.report.words.words import not_watched_since
    from deerlog.study.plan_inputs import read_forecast

    with opened(ctx.obj, as_of) as (study, progress):
        forecast, problems = read_forecast(study, weather_file)
        written = write_study_report(
            study, progress, weather=forecast, pictures=not no_pictures, share=share
        )
    in_record = sum(p.must_mend for p in study.problems)
    to_mend = in_record + sum(p.must_mend for p in problems)
    if json_wanted:
        click.echo(json_text({
            "as_of": study.as_of, "ran_until": study.ran_until,
            "report": str(written / "report.html"), "to_mend": to_mend, "problems": problems,
            "residency": study.residency.table,
        }))  # fmt: skip
    else:
        say(f"Report as of {study.as_of}: {written / 'report.html'}")
        if share:
            say(f"To hand on: {written / SHARED_PAGE}")
        said = not_watched_since(study.ran_until, study.last_day.date())
        if said is not None:
            say(wrapped(said))
        behind = behind_today(study.as_of, today(), "deerlog report --as-of {today}")
        if behind is not None and as_of is None:
            say(wrapped(behind))
        for number, problem in enumerate(problems, 1):
            say("\n" + problem_text(problem, number) + "\n")
        if in_record:
            say(f"{in_record} to mend first: `deerlog check` lists them.")
    ctx.exit(MUST_MEND if to_mend else DONE)
