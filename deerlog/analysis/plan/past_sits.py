"""What the sits brought: how many saw a target buck, how long each stand has rested, and how
shooting-light visits near a stand changed in the days after it was hunted."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import gammaincinv

from deerlog.analysis.arrays import Floats
from deerlog.analysis.intervals import jeffreys
from deerlog.timekeeping.seasons import PHASES

SUMMARY_COLUMNS = [
    "cut", "value", "sits", "seen", "share", "low", "high", "mean_chance", "given", "given_seen",
]  # fmt: skip
REST_COLUMNS = ["stand", "last_sit", "days_rested", "rest_days"]


def sit_record(
    sits: pd.DataFrame, targets: Collection[str] | None, chances: Sequence[float | None]
) -> pd.DataFrame:
    """Each sit with whether a target was ``seen`` (bool; None counts all bucks), and the ``chance``
    that had been given (NaN where none could be).

    ``sits`` is ``day, half, stand, phase, setting, bucks_seen`` (tuple of sure names).
    """
    seen = [
        any(targets is None or name in targets for name in names) for names in sits["bucks_seen"]
    ]
    return sits.assign(
        seen=np.array(seen, dtype=bool),
        chance=np.array([np.nan if c is None else c for c in chances], dtype=float),
    )


def sits_summary(record: pd.DataFrame) -> pd.DataFrame:
    """Sits of `sit_record` that saw a target, in all and by half, setting and phase:
    `SUMMARY_COLUMNS`.

    ``cut`` (``all``, ``half``, ``setting``, ``phase``) and ``value``; of so many ``sits`` so many
    ``seen``; ``share`` with its 95 % Jeffreys interval; ``mean_chance`` of the sits that had one
    ``given`` beforehand (so many). No row where there was no sit.
    """
    rows = []
    for cut in ("all", "half", "setting", "phase"):
        keys = pd.Series("all", index=record.index) if cut == "all" else record[cut]
        values = sorted(
            keys.unique(), key=lambda v: (PHASES.index(v) if v in PHASES else -1, str(v))
        )
        for value in values:
            part = record[keys == value]
            n, k, given = len(part), int(part["seen"].sum()), part["chance"].notna()
            low, high = jeffreys(k, n)
            rows.append(
                (cut, value, n, k, k / n, float(low), float(high), part["chance"].mean(),
                 int(given.sum()), int((part["seen"] & given).sum()))
            )  # fmt: skip
    return pd.DataFrame(rows, columns=SUMMARY_COLUMNS)


WORTH_COLUMNS = ["stand", "sits", "seen", "expected", "worth", "low", "high"]
WORTH_PRIOR = 2.0
"""Sightings' worth of what is thought beforehand: half of what a camera would take is seen from the
stand (our choice; a hunter watches more ground than a camera, and is noticed more)."""


def sits_worth(record: pd.DataFrame) -> pd.DataFrame:
    """How much of a chance on camera a hunter makes of it: `WORTH_COLUMNS`, all sits together
    (``stand`` is ``""``), then each stand.

    Of ``sits`` of `sit_record` that had a chance given, so many ``seen`` and so many ``expected``
    by the chances; ``worth``: seen over expected, the posterior mean with its 95 % interval. Sits
    that saw a target are taken as Poisson with the chance given times the worth, which has a gamma
    prior (conjugate: Gelman and others, Bayesian Data Analysis; from memory) with mean one half,
    and for a stand with that of the sits on all others: a sit in vain counts against its own stand.
    """
    given = record[record["chance"].notna()]
    rows = []
    for stand in ("", *sorted(given["stand"].unique())):
        own = (given["stand"] == stand) | (stand == "")
        part, other = given[own], given[~own]
        seen, expected = int(part["seen"].sum()), float(part["chance"].sum())
        before = WORTH_PRIOR + other["seen"].sum(), 2 * WORTH_PRIOR + other["chance"].sum()
        shape, rate = WORTH_PRIOR + seen, WORTH_PRIOR * before[1] / before[0] + expected
        low, high = gammaincinv(shape, [0.025, 0.975]) / rate
        rows.append((stand, len(part), seen, expected, shape / rate, float(low), float(high)))
    return pd.DataFrame(rows, columns=WORTH_COLUMNS)


def burnt_stands(
    sits: pd.DataFrame,
    stands: pd.DataFrame,
    targets: Collection[str] | None,
    visits: pd.DataFrame,
    as_of: pd.Timestamp,
    *,
    burnt_after: float,
    burnt_days: float,
) -> pd.DataFrame:
    """Stands sat on in vain so often of late that they are better left alone (`PlanRules`).

    By stand: ``in_vain`` (sits running without a target; None counts all bucks), ``last_sit``,
    ``free_from``. A target there in shooting light after the last sit frees a stand. Sits and
    visits are those up to ``as_of``.
    """
    recent = sits[sits["day"] > as_of - pd.Timedelta(days=burnt_days)]
    lit = visits[visits["in_light"].astype(bool)]
    if targets is not None:
        lit = lit[lit["buck"].isin(list(targets))]
    rows = {}
    for stand in stands.to_dict("records"):
        mine = recent[recent["stand"] == stand["stand"]].sort_values(["day", "half"])
        seen = [any(targets is None or b in targets for b in names) for names in mine["bucks_seen"]]
        in_vain = len(seen) - max((n + 1 for n, saw in enumerate(seen) if saw), default=0)
        if in_vain < burnt_after:
            continue
        last = mine["day"].max()
        if ((lit["day"] > last) & lit["site"].isin(list(stand["sites"]))).any():
            continue
        free = last + pd.Timedelta(days=int(burnt_days) + 1)
        rows[stand["stand"]] = {"in_vain": in_vain, "last_sit": last, "free_from": free}
    return pd.DataFrame.from_dict(
        rows, orient="index", columns=["in_vain", "last_sit", "free_from"]
    )


def rested(sits: pd.DataFrame, stands: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """Days each stand has rested: `REST_COLUMNS`, in the order of ``stands``, the day it was last
    sat on and full days since, both missing where it never was."""
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


NEAR_DAYS = 14
"""Days on either side of a sit that its aftermath is held against: both sides, so that a slow rise
or fall through the fall cancels (our choice)."""
LEAST_AFTER_DAYS = 3
"""Days after a sit that are looked at where the stand's rest days are fewer (McCoy, Auburn
University, author's articles: bucks kept away for three)."""
Z_95 = 1.96


@dataclass(frozen=True, kw_only=True)
class Aftermath:
    """Shooting-light visits near stands after they were hunted, against the days around.

    Counted are buck-days: a named buck with a visit in shooting light at a site of the stand.
    ``sits`` have camera-days both after and around them. ``other``: at the same sites within
    `NEAR_DAYS` of a sit, in none of the days after any sit nor on the day of one; each day once.
    ``ratio``: rate after over rate otherwise (Mantel and Haenszel's, a stratum a sit), with its 95
    % interval; None where too little was seen.
    """

    sits: int
    after_visits: int
    after_camera_days: float
    other_visits: int
    other_camera_days: float
    ratio: float | None
    low: float | None
    high: float | None


def aftermath(
    sits: pd.DataFrame,
    stands: pd.DataFrame,
    *,
    days: pd.DatetimeIndex,
    sites: Sequence[str],
    running: Floats,
    buck_days: Floats,
) -> Aftermath:
    """How shooting-light visits near a stand changed in the days after it was hunted.

    ``running`` are camera-days and ``buck_days`` named bucks with a visit in shooting light, both
    (days, sites). Sites of the same stand and the same weeks are compared, so that neither place
    nor time of year stands in for the sit. Rate ratio and its variance: Rothman, Greenland and Lash
    2008, Modern Epidemiology, chapter 15 (Greenland and Robins 1985, Biometrics 41:55; from
    memory). A buck who comes on one day often comes on the next, so the true interval is somewhat
    wider.
    """
    of_site = {site: n for n, site in enumerate(sites)}
    first = days[0]
    strata = []
    for stand in stands.to_dict("records"):
        columns = [of_site[site] for site in stand["sites"] if site in of_site]
        hunted = sits.loc[sits["stand"] == stand["stand"], "day"].drop_duplicates().sort_values()
        if not columns or hunted.empty:
            continue
        sat = np.asarray((hunted - first) / pd.Timedelta(days=1)).astype(np.int64)
        sat = sat[(sat >= 0) & (sat < len(days))]
        if not len(sat):
            continue
        length = max(int(stand["rest_days"]), LEAST_AFTER_DAYS)
        on, after = np.zeros(len(days), dtype=bool), np.zeros(len(days), dtype=bool)
        on[sat] = True
        for k in range(1, length + 1):
            after[sat[sat + k < len(days)] + k] = True
        ran, came = running[:, columns].sum(axis=1), buck_days[:, columns].sum(axis=1)
        gap = np.abs(np.arange(len(days))[:, None] - sat[None, :])
        nearest, distance = gap.argmin(axis=1), gap.min(axis=1)
        for i, day in enumerate(sat):
            # Days after two sits close together belong to the later one.
            mine = np.zeros(len(days), dtype=bool)
            mine[day + 1 : min([day + length + 1, *sat[i + 1 : i + 2].tolist()])] = True
            # Each other day is held against the sit it is nearest to, and against that alone.
            near = (nearest == i) & (distance <= NEAR_DAYS) & ~on & ~after
            strata.append((came[mine].sum(), ran[mine].sum(), came[near].sum(), ran[near].sum()))
    a, t, b, u = np.array([s for s in strata if s[1] > 0 and s[3] > 0]).reshape(-1, 4).T
    ratio, low, high = _rate_ratio(a, t, b, u)
    return Aftermath(
        sits=len(a),
        after_visits=int(a.sum()),
        after_camera_days=float(t.sum()),
        other_visits=int(b.sum()),
        other_camera_days=float(u.sum()),
        ratio=ratio,
        low=low,
        high=high,
    )


def _rate_ratio(
    a: Floats, t: Floats, b: Floats, u: Floats
) -> tuple[float | None, float | None, float | None]:
    """Mantel-Haenszel rate ratio of counts a over time t and b over u, stratum by stratum."""
    if not len(a) or b.sum() == 0:
        return None, None, None
    if a.sum() == 0:
        # The estimate is nothing; its upper bound from the share of all visits that came after.
        _, share = jeffreys(0, b.sum())
        return 0.0, 0.0, float(share / (1 - share) * u.sum() / t.sum())
    total = t + u
    after, other = (a * u / total).sum(), (b * t / total).sum()
    ratio = after / other
    variance = ((a + b) * t * u / total**2).sum() / (after * other)
    spread = np.exp(Z_95 * np.sqrt(variance))
    return float(ratio), float(ratio / spread), float(ratio * spread)
