"""deerlog: which bucks live on a property, and which only pass through.

From Python, a property folder is opened once and asked for tables::

    import deerlog

    deerlog.read_cards("MyFarm")   # as `deerlog ingest` does
    study = deerlog.open_study("MyFarm")
    study.labels()

Everything named in `__all__` keeps its name and meaning; what else there is may change. Each is
loaded when it is first used, so that importing deerlog costs nothing.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from deerlog.errors import DeerlogError, Problem
    from deerlog.public import Study, open_sample, open_study, read_cards

__version__ = "0.1.0"

__all__ = ["DeerlogError", "Problem", "Study", "open_sample", "open_study", "read_cards"]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module 'deerlog' has no attribute {name!r}")
    home = "deerlog.errors" if name in ("DeerlogError", "Problem") else "deerlog.public"
    return getattr(importlib.import_module(home), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
