"""``deerlog new``."""

from __future__ import annotations

import re
import sys
import zoneinfo
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from deerlog.cli.group import say

NEXT_STEPS = """
Next:
  1. Fill cameras.csv: one row for each camera and the spot it stands at.
  2. List the bucks you know by name in bucks.csv, the ones you are after with target yes. Only
     this list tells a misspelt name from a new buck.
  3. Copy each card into cards/<camera>/ in a folder of its own.
  4. Run `deerlog ingest`, then write buck names into the sheets in tags/.
  5. Run `deerlog report`.
"""


@click.command("new")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path, file_okay=False))
@click.option("--name", help="Name of the property.")
@click.option("--latitude", type=float, help="Degrees north, such as 38.4.")
@click.option("--longitude", type=float, help="Degrees east; west is negative, such as -91.2.")
@click.option("--timezone", help="IANA time zone, such as America/Chicago.")
@click.option("--rut-peak", metavar="MM-DD", help="Local peak of breeding; may be left out.")
@click.option("--units", type=click.Choice(["imperial", "metric"]), default="imperial",
              show_default=True, help="Units of the report.")  # fmt: skip
def command(
    folder: Path, rut_peak: str | tuple[int, int] | None, units: str, **answers: Any
) -> None:
    """Start a property folder in DIR, by a few questions or by options."""
    from deerlog.property import start_property

    questions: dict[str, tuple[str, Callable[[str], Any]]] = {
        "name": ("Name of the property", str),
        "latitude": ("Latitude, degrees north (38.4), or both as 38.4, -91.2", _latitude_or_both),
        "longitude": ("Longitude, degrees east; west is negative (-91.2)", _degrees),
        "timezone": ("Time zone (America/Chicago)", _zone),
    }
    asked = [key for key in questions if answers[key] is None]
    for key in asked:
        if answers[key] is None:
            answers[key] = _ask(key, *questions[key])
        if isinstance(answers[key], tuple):
            answers["latitude"], longitude = answers[key]
            if "longitude" in asked:
                answers["longitude"] = longitude
    while (doubt := _doubt(answers)) and {"longitude", "timezone"} & {*asked}:
        say(" ".join(doubt))
        # As they are probably meant: the sign turned, where that fits.
        turned = answers | {"longitude": -answers["longitude"]}
        likely = answers if _doubt(turned) else turned
        for key in ("longitude", "timezone"):
            if key in asked:
                answers[key] = _ask(key, *questions[key], default=str(likely[key]))
    if rut_peak is None and sys.stdin.isatty():
        rut_peak = click.prompt("Peak of breeding, MM-DD (Enter if not known)", default="",
                                show_default=False, value_proc=_month_day)  # fmt: skip
    start_property(folder, **answers, units=units, rut_peak=_month_day(rut_peak))
    say(f"Started {folder}.{NEXT_STEPS}")


def _ask(key: str, question: str, reader: Callable[[str], Any], default: str | None = None) -> Any:
    if not sys.stdin.isatty():
        raise click.UsageError(f"Nobody is there to ask: give --{key}.")
    return click.prompt(question, default=default, value_proc=reader)


def _doubt(answers: dict[str, Any]) -> tuple[str, str] | None:
    """Why the longitude does not fit the time zone, and what may be meant."""
    from deerlog.property.settings import zone_doubt, zone_exists

    if not zone_exists(answers["timezone"]):
        return None  # told where the folder is started
    return zone_doubt(answers["longitude"], answers["timezone"])


def _latitude_or_both(text: str) -> float | tuple[float, float]:
    """Degrees north; or degrees north and east, as maps give them: ``37.812, -95.124``."""
    match = re.fullmatch(r"\(?\s*([+-]?\d+\.\d+)\s*[,;\s]\s*([+-]?\d+\.\d+)\s*\)?", text.strip())
    return (float(match[1]), float(match[2])) if match else _degrees(text)


def _degrees(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise click.UsageError(f"{text!r} is not a number; write degrees like 38.4.") from None


def _zone(text: str) -> str:
    """A name of a time zone, asked for again until it is one."""
    if text.strip() not in zoneinfo.available_timezones():
        raise click.UsageError(
            f"{text!r} is not a time zone; write its IANA name, such as America/New_York, "
            "America/Chicago or America/Denver."
        )
    return text.strip()


def _month_day(text: str | tuple[int, int] | None) -> tuple[int, int] | None:
    if not text or isinstance(text, tuple):
        return text or None
    match = re.fullmatch(r"(\d{1,2})-(\d{1,2})", text.strip())
    if not match:
        raise click.UsageError(f"--rut-peak is {text!r}; write month and day as MM-DD, like 11-12.")
    return int(match[1]), int(match[2])
