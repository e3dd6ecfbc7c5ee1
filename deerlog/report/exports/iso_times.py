"""Instants as ISO 8601 text with their offset from UTC."""

from __future__ import annotations

import pandas as pd


def iso_times(local: pd.Series) -> list[str]:
    """``2026-11-15T17:04:12-06:00`` of aware times, to the second (what is beyond it cut off)."""
    # Cut by each time itself: to floor the column would ask which hour 01:30 was on the night the
    # clocks go back.
    return [time.isoformat(timespec="seconds") for time in local.tolist()]
