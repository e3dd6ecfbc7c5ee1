"""Texts for the terminal, at most 80 columns and without colour; figures as JSON for scripts."""

from __future__ import annotations

import json
import math
import re
import textwrap
import unicodedata
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, is_dataclass
from datetime import date, datetime
from itertools import takewhile
from typing import Any

import numpy as np
import pandas as pd

from deerlog.errors import Problem
from deerlog.property.wording import count
from deerlog.report.words.words import score


def json_text(value: Any) -> str:
    """Indented JSON; unknown numbers and days are null, days are ``YYYY-MM-DD``.

    Control characters are escaped, also those that JSON itself lets through.
    """
    text = json.dumps(_json_value(value), indent=2, ensure_ascii=False, allow_nan=False)
    return re.sub("[\x7f-\x9f]", lambda found: f"\\u{ord(found[0]):04x}", text)


def _json_value(value: Any) -> Any:
    if isinstance(value, pd.DataFrame):
        return [_json_value(row) for row in value.to_dict("records")]
    if is_dataclass(value) and not isinstance(value, type):
        return _json_value(asdict(value))
    if isinstance(value, Mapping):
        return {str(key): _json_value(item) for key, item in value.items()}
    if isinstance(value, np.generic):
        value = value.item()
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, str | int):  # a bool is an int
        return value
    if isinstance(value, datetime):
        midnight = value.tzinfo is None and value == value.replace(hour=0, minute=0, second=0)
        return value.date().isoformat() if midnight else value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Sequence):
        return [_json_value(item) for item in value]
    raise TypeError(f"no JSON form for {type(value).__name__}")


WIDTH = 80
SHORTEST_NAME = 7
"""Letters of a name that are never cut off (our choice)."""


def text_table(header: Sequence[str], rows: Sequence[Sequence[str]], *, right: str = "") -> str:
    """Columns set under their heads, at most `WIDTH` wide as long as names can give way.

    ``right`` has one letter a column: ``r`` for right-aligned, ``l`` for left, ``n`` for a name:
    left, and shortened where the line would be too long, the longest column first.
    """
    table = [list(header), *[[plain(cell) for cell in row] for row in rows]]
    widths = [max(_width(row[i]) for row in table) for i in range(len(header))]
    right = right.ljust(len(header), "l")
    names = [i for i, side in enumerate(right) if side == "n"]
    while sum(widths) + 2 * (len(widths) - 1) > WIDTH:
        longest = max(names, key=lambda i: widths[i], default=None)
        if longest is None or widths[longest] <= SHORTEST_NAME:
            break
        widths[longest] -= 1
    return "\n".join(
        "  ".join(
            _pad(shortened(cell, width), width, side == "r")
            for cell, width, side in zip(row, widths, right, strict=False)
        ).rstrip()
        for row in table
    )


def residency_text(table: pd.DataFrame, listed: Collection[str]) -> str:
    """The residency table: every buck over all seasons, targets first, then by score.

    Who is not ``listed`` in bucks.csv is marked as new.
    """
    rows = table[table["season"] == "all"].sort_values(
        ["target", "score", "buck"], ascending=[False, False, True], kind="stable"
    )
    return text_table(
        ("Buck", "Score", "Label", "Pattern", "Weeks", "Days", "Light", "Last seen"),
        [
            (
                ("* " if row["target"] else "  " if row["buck"] in listed else "+ ") + row["buck"],
                score_text(row["score"]),
                row["label"],
                row["pattern"] or "-",
                f"{row['weeks_seen']}/{row['weeks_watched']}",
                str(row["days_seen"]),
                f"{row['shooting_light_visits']}/{row['visits']}",
                f"{row['last_seen']:%Y-%m-%d}",
            )
            for row in rows.to_dict("records")
        ],
        right="nrllrrrl",
    )


def score_text(value: float) -> str:
    """`words.score` in two letters: ``>99``, ``<1``, ``47``."""
    return score(value).replace("over ", ">").replace("under ", "<")


RESIDENCY_KEY = (
    "* target, + new: not in bucks.csv. Score: chance in 100 that he lives here through the "
    "hunting season. Pattern: when he is here. Weeks: seen of watched. Days: seen on. Light: "
    "visits in shooting light of all visits."
)


def problem_text(problem: Problem, number: int) -> str:
    """One thing to mend, as a numbered paragraph."""
    head = f"{number}. {problem.place()}"
    if problem.value is not None:
        head += f": {problem.value}"
    lines = textwrap.wrap(plain(head), WIDTH, subsequent_indent="   ")
    for text in (problem.why, problem.how.removesuffix(problem.paste)):
        for part in plain(text, keep_lines=True).splitlines():
            lines += wrapped(part, "   ").splitlines()
    # A row to paste stands on a line of its own, in one piece.
    if problem.paste:
        lines.append(f"   {plain(problem.paste)}")
    touches = []
    harmed = round(problem.harm)
    if problem.harm and (problem.harm_in == "visit" or harmed > 1):
        touches.append(count(harmed, problem.harm_in))
    if problem.bucks:
        touches.append(plain(", ".join(problem.bucks)))
    if touches:
        text = f"Touches {'; '.join(touches)}."
        lines += textwrap.wrap(text, WIDTH, initial_indent="   ", subsequent_indent="   ")
    return "\n".join(lines)


def wrapped(text: str, indent: str = "", hang: str = "") -> str:
    """A paragraph folded to the terminal's width; lines after the first hang further in."""
    return textwrap.fill(
        text, WIDTH, initial_indent=indent, subsequent_indent=indent + hang,
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip


def item(text: str, indent: str = "  ") -> str:
    """One of several paragraphs below a head."""
    return wrapped(text, indent, "  ")


def plain(text: str, *, keep_lines: bool = False) -> str:
    """Without control characters: what stands in a table may not steer the terminal."""
    kept = "\n" if keep_lines else ""
    return "".join(
        c if c in kept or unicodedata.category(c)[0] != "C" or c == "\u200d" else " " for c in text
    )


def shortened(text: str, width: int) -> str:
    """A text cut to a width, with an ellipsis where something was cut off."""
    text = plain(text)
    if _width(text) <= width:
        return text
    fit = takewhile(lambda n: _width(text[:n]) < width, range(1, len(text)))
    return f"{text[: max(fit, default=0)]}…"


def _width(text: str) -> int:
    """Columns a text takes: wide letters and most emoji take two, combining marks none."""
    return sum(
        0 if unicodedata.combining(c) or c == "\u200d" or "\ufe00" <= c <= "\ufe0f"
        else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )  # fmt: skip


def _pad(text: str, width: int, right: bool) -> str:
    space = " " * max(0, width - _width(text))
    return space + text if right else text + space
