"""Figures as JSON: the same numbers as the tables, for scripts."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, is_dataclass
from datetime import date, datetime
from typing import Any

import numpy as np
import pandas as pd


def json_text(value: Any) -> str:
    """Indented JSON; unknown numbers and days are null, days are ``YYYY-MM-DD``."""
    return json.dumps(_plain(value), indent=2, ensure_ascii=False, allow_nan=False)


def _plain(value: Any) -> Any:
    if isinstance(value, pd.DataFrame):
        return [_plain(row) for row in value.to_dict("records")]
    if is_dataclass(value) and not isinstance(value, type):
        return _plain(asdict(value))
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, str | bool):
        return value
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, np.bool_):
        return bool(value)
    if isinstance(value, datetime):
        midnight = value.tzinfo is None and value == value.replace(hour=0, minute=0, second=0)
        return value.date().isoformat() if midnight else value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Sequence):
        return [_plain(item) for item in value]
    raise TypeError(f"no JSON form for {type(value).__name__}")
