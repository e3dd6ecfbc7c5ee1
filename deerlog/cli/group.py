"""The command group: finds the property, loads commands late, turns errors into exit codes."""

from __future__ import annotations

import importlib
import sys
import textwrap
from pathlib import Path
from typing import Any

import click

from deerlog import __version__
from deerlog.errors import DeerlogError

DONE, MUST_MEND, CANNOT, STOPPED = 0, 1, 2, 130

COMMANDS = {
    "new": "Start a property folder.",
    "demo": "Unpack the sample property and write its report.",
    "ingest": "Read new card dumps and extend the tag sheets.",
    "check": "List what to mend, most harmful first.",
    "report": "Write the weekly report.",
    "residency": "Show which bucks live here.",
    "plan": "Rank the coming sits, and say where to stay out.",
    "backtest": "Replay past weeks: how good the chances would have been.",
    "overview": "Every property below a folder on one page.",
    "export": "Write the record in an open format.",
}
"""Each command with its line in the help. Kept here so that ``--help`` loads no command: what a
command needs (pandas, matplotlib) takes longer to load than help may take to answer."""


class LateCommands(click.Group):
    """A group whose commands are modules of this package, imported only when run."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"deerlog.cli.{cmd_name}_command").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            ctx.fail(f"There is no command {args[0]!r}. The commands are: {', '.join(COMMANDS)}.")
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; a dead end becomes one paragraph and exit code 2."""
        try:
            return super().invoke(ctx)
        except click.NoSuchOption as error:
            if error.option_name == "--property":
                raise click.UsageError(
                    "--property goes before the command: deerlog --property DIR COMMAND", error.ctx
                ) from None
            raise
        except DeerlogError as error:
            _cannot(ctx, str(error))
        except KeyboardInterrupt:
            # As a shell counts it (128 and the signal's number), so that a script does not go on.
            say("Stopped. Nothing is lost: the same command goes on from here.", err=True)
            ctx.exit(STOPPED)
        except BrokenPipeError:
            # The reader of our output went away (``deerlog residency | head``): nothing is wrong.
            sys.stderr.close()
            ctx.exit(DONE)
        except OSError as error:
            # The disk said no where nobody nearer could say it better. Without a file it is a bug.
            if error.filename is None:
                raise
            _cannot(
                ctx,
                f"{error.filename}: {error.strerror or type(error).__name__}. Check that the disk "
                "is there and the file may be read and written; nothing you typed was changed.",
            )


def _cannot(ctx: click.Context, why: str) -> None:
    say(textwrap.fill(f"deerlog: {why}", 80, break_on_hyphens=False), err=True)
    ctx.exit(CANNOT)


@click.group(cls=LateCommands, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--property",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path, file_okay=False),
    multiple=True,
    help="The property folder (default: the nearest one upward that holds property.toml).",
)
@click.version_option(__version__, prog_name="deerlog")
@click.pass_context
def main(ctx: click.Context, folder: tuple[Path, ...]) -> None:
    """Tell the bucks who live on a property from those who only pass through.

    From trail-camera card dumps and a tag spreadsheet to a weekly report, with the evidence and
    the doubt. Nothing leaves this machine.
    """
    if len(folder) > 1:
        raise click.UsageError("--property is given more than once: one property at a time", ctx)
    ctx.obj = folder[0] if folder else None


def chosen_property(folder: Path | None) -> Path:
    """The property folder of ``--property``, or the nearest upward from here."""
    from deerlog.property import find_property

    return folder if folder is not None else find_property(Path.cwd())


def say(text: str = "", *, err: bool = False) -> None:
    """Print for a person: what stands in a table or a path may not steer the terminal."""
    from deerlog.report.terminal import plain

    click.echo(plain(text, keep_lines=True), err=err)
