"""deerlog: which bucks live on a property, and which only pass through.

From Python, a property folder is opened once and asked for tables::

    import deerlog

    deerlog.read_cards("MyFarm", today=date.today())   # as `deerlog ingest` does
    study = deerlog.open_study("MyFarm")
    deerlog.residency_table(study)

Everything named in `__all__` keeps its name and meaning; what else there is may change. Each is
loaded when it is first used, so that importing deerlog costs nothing.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from deerlog.errors import DeerlogError, Problem
    from deerlog.study import Study
    from deerlog.study.opening import open_sample, open_study, read_cards
    from deerlog.tables import (
        chance_score_table,
        daylight_table,
        effort_table,
        evidence_table,
        plan_table,
        problem_table,
        reliability_table,
        replay_table,
        residency_table,
        shift_table,
        visit_table,
        weekly_table,
        window_table,
    )

__version__ = "0.1.0"

__all__ = [
    "DeerlogError",
    "Problem",
    "Study",
    "chance_score_table",
    "daylight_table",
    "effort_table",
    "evidence_table",
    "open_sample",
    "open_study",
    "plan_table",
    "problem_table",
    "read_cards",
    "reliability_table",
    "replay_table",
    "residency_table",
    "shift_table",
    "visit_table",
    "weekly_table",
    "window_table",
]

_HOMES = {
    "DeerlogError": "deerlog.errors",
    "Problem": "deerlog.errors",
    "Study": "deerlog.study",
    "open_sample": "deerlog.study.opening",
    "open_study": "deerlog.study.opening",
    "read_cards": "deerlog.study.opening",
}
"""Where names come from that are not in ``deerlog.tables``."""


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module 'deerlog' has no attribute {name!r}")
    return getattr(importlib.import_module(_HOMES.get(name, "deerlog.tables")), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
