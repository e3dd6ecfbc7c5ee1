"""Problems as text that can be stored, and back."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import date

from deerlog.errors import Problem


def problem_text(problem: Problem) -> str:
    """A problem as JSON."""
    return json.dumps(asdict(problem), ensure_ascii=True, sort_keys=True, default=date.isoformat)


def problem_from(text: str) -> Problem:
    """The problem that `problem_text` wrote."""
    values = json.loads(text)
    values["bucks"] = tuple(values["bucks"])
    for name in ("first_day", "last_day"):
        values[name] = date.fromisoformat(values[name]) if values.get(name) else None
    return Problem(**values)
