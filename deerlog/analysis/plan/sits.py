"""What the sits brought: how many saw a target buck, and how long each stand has rested."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
import pandas as pd

from deerlog.analysis.intervals import jeffreys
from deerlog.timekeeping.seasons import PHASES

SUMMARY_COLUMNS = [
    "cut", "value", "sits", "seen", "share", "low", "high", "mean_chance", "given", "given_seen",
]  # fmt: skip
REST_COLUMNS = ["stand", "last_sit", "days_rested", "rest_days"]


def sit_record(
    sits: pd.DataFrame, targets: Collection[str] | None, chances: Sequence[float | None]
) -> pd.DataFrame:
    """Each sit with whether a target was seen, and the chance that had been given.

    Parameters
    ----------
    sits
        ``day, half, stand, phase, setting, bucks_seen`` (tuple of sure names).
    targets
        Bucks that count; None where all do.
    chances
        Chance given beforehand to each sit, None where none could be.

    Returns
    -------
    DataFrame
        The columns of ``sits`` with ``seen`` (bool) and ``chance`` (NaN where none).
    """
    seen = [
        any(targets is None or name in targets for name in names) for names in sits["bucks_seen"]
    ]
    return sits.assign(
        seen=np.array(seen, dtype=bool),
        chance=np.array([np.nan if c is None else c for c in chances], dtype=float),
    )


def sits_summary(record: pd.DataFrame) -> pd.DataFrame:
    """Sits that saw a target, in all and by half, setting and phase.

    Parameters
    ----------
    record
        Of `sit_record`.

    Returns
    -------
    DataFrame
        `SUMMARY_COLUMNS`: ``cut`` (``all``, ``half``, ``setting``, ``phase``) and ``value``; of so
        many ``sits`` so many ``seen``; ``share`` with its 95 % Jeffreys interval; ``mean_chance``
        of the sits that had one ``given`` beforehand (so many). No row where there was no sit.
    """
    rows = []
    for cut in ("all", "half", "setting", "phase"):
        keys = pd.Series("all", index=record.index) if cut == "all" else record[cut]
        values = sorted(
            keys.unique(), key=lambda v: (PHASES.index(v) if v in PHASES else -1, str(v))
        )
        for value in values:
            part = record[keys == value]
            n, k = len(part), int(part["seen"].sum())
            low, high = jeffreys(k, n)
            given = int(part["chance"].notna().sum())
            rows.append(
                {
                    "cut": cut,
                    "value": value,
                    "sits": n,
                    "seen": k,
                    "share": k / n,
                    "low": float(low),
                    "high": float(high),
                    "mean_chance": float(part["chance"].mean()) if given else np.nan,
                    "given": given,
                    "given_seen": int((part["seen"] & part["chance"].notna()).sum()),
                }
            )
    return pd.DataFrame(rows, columns=SUMMARY_COLUMNS)


def rested(sits: pd.DataFrame, stands: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """Days each stand has rested.

    Parameters
    ----------
    stands
        ``stand, rest_days``.

    Returns
    -------
    DataFrame
        `REST_COLUMNS`, in the order of ``stands``: the day it was last sat on and full days since,
        both missing where it never was.
    """
    last = sits.groupby("stand")["day"].max().reindex(stands["stand"])
    days = (as_of - last).dt.days
    return pd.DataFrame(
        {
            "stand": stands["stand"].to_numpy(),
            "last_sit": last.to_numpy(),
            "days_rested": days.astype("Int64").to_numpy(),
            "rest_days": stands["rest_days"].to_numpy(),
        }
    )
