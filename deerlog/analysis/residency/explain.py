"""Why a buck has his label, which parts of the record argued for it, and what would change it: the
numbers behind plain sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from deerlog.analysis.residency.residency import ALL
from deerlog.analysis.residency.standing import Standing, patterns_after
from deerlog.analysis.weeks import NOT_WATCHED, SEEN


def weeks_by_part(weekly: pd.DataFrame, part_of: Mapping[str, str]) -> pd.DataFrame:
    """Weeks told by the part of the season they speak of (``part_of`` each phase), as a column
    ``part``.

    A week in which he was seen speaks of the days he was seen on: where those lie in two parts it
    stands in both, its evidence shared between them. Any other week speaks of the part of its
    middle day. So "seen in the rut" is said of a buck just where a visit of his lies in the rut.
    The evidence of each week sums up to its own.
    """
    parts = [
        tuple(dict.fromkeys(part_of[p] for p in phases or (phase,)))
        for phases, phase in zip(weekly["phases_seen"], weekly["phase"], strict=True)
    ]
    shared = weekly["evidence"] / [len(p) for p in parts]
    return weekly.assign(
        part=pd.Series(parts, index=weekly.index, dtype="object"), evidence=shared
    ).explode("part")


SPEAKS_ALONE = 2.0
"""Evidence (natural log of odds) from which the latest season is told without the ones before it:
seven to one (our choice)."""

HORIZON_WEEKS = 8
"""How far ahead a change of label is looked for (our choice)."""

_STRETCH_OF_PHASE = {
    "summer": "before the rut",
    "early season": "before the rut",
    "pre-rut": "before the rut",
    "rut": "in the rut",
    "late season": "after the rut",
}
STRETCHES = tuple(dict.fromkeys(_STRETCH_OF_PHASE.values()))


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """One of `STRETCHES`, summed over the seasons told of.

    ``months_seen`` are 1 to 12, in the order of the season; ``evidence`` is the natural log of
    odds, above 0 for living here. ``since``, of a fall buck in the one season told of: the week he
    was first seen in, from which the stretch is counted; None where it is counted whole.
    """

    name: str
    weeks_seen: int
    weeks_watched: int
    months_seen: tuple[int, ...]
    evidence: float
    since: date | None = None


@dataclass(frozen=True, kw_only=True)
class Reason:
    """What one buck's label stands on: ``label``, ``pattern`` and ``score`` of the residency table.

    ``season`` is the one told of, or None where it is all of them together; ``stretches`` are those
    with a watched week, in order. ``days_seen`` with a sure tag in all seasons, the last of them
    ``last_seen``; ``weeks_watched_since`` began after it. ``p_gone``: chance, 0 to 1, that he is
    dead or gone for good.
    """

    buck: str
    label: str
    pattern: str
    score: float
    season: int | None
    stretches: tuple[Stretch, ...]
    days_seen: int
    last_seen: date
    weeks_watched_since: int
    p_gone: float

    @property
    def arguing(self) -> tuple[Stretch, ...]:
        """The stretches that argue for the label; for an undecided buck none."""
        sign = {"resident": 1, "visiting": -1}.get(self.label, 0)
        return tuple(s for s in self.stretches if sign * s.evidence > 0)


@dataclass(frozen=True, kw_only=True)
class LabelChange:
    """So many more weeks of one kind, the last of which ends on ``until``, and the label is
    another."""

    weeks: int
    until: date
    label: str


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """What weeks to come would make of a label: watched weeks without him, or with him on camera on
    one day of each. None where no more than `HORIZON_WEEKS` change it."""

    unseen: LabelChange | None
    seen: LabelChange | None


def reasons(table: pd.DataFrame, weekly: pd.DataFrame) -> dict[str, Reason]:
    """The reason of every buck, by name, from the tables of a `Residency`."""
    weeks = weeks_by_part(weekly, _STRETCH_OF_PHASE).rename(columns={"part": "stretch"})
    by_buck = dict(tuple(weeks.groupby("buck", sort=False)))
    whole = table[table["season"] == ALL]
    return {
        str(row["buck"]): _reason(row, by_buck[row["buck"]]) for row in whole.to_dict("records")
    }


def _reason(row: dict[Any, Any], weeks: pd.DataFrame) -> Reason:
    latest = int(weeks["season"].max())
    season = weeks.loc[weeks["season"] == latest, "evidence"].sum()
    sign = {"resident": 1, "visiting": -1}.get(str(row["label"]), 0)
    alone = weeks["season"].nunique() == 1 or sign * season >= SPEAKS_ALONE
    told = weeks[weeks["season"] == latest] if alone else weeks
    told = told[told["state"] != NOT_WATCHED]
    came = None
    if alone and row["pattern"] == "fall" and (told["state"] == SEEN).any():
        # Before he comes to his fall ground there is nothing to see.
        came = told.loc[told["state"] == SEEN, "week_start"].min()
        told = told[told["week_start"] >= came]
    last = pd.Timestamp(row["last_seen"])
    since = weeks[(weeks["week_start"] > last) & (weeks["state"] != NOT_WATCHED)]
    # A week in which he was not seen stands in one stretch alone, so each counts once.
    return Reason(
        buck=str(row["buck"]),
        label=str(row["label"]),
        pattern=str(row["pattern"]),
        score=float(row["score"]),
        season=latest if alone else None,
        stretches=tuple(
            _stretch(name, told[told["stretch"] == name], came)
            for name in STRETCHES
            if (told["stretch"] == name).any()
        ),
        days_seen=int(row["days_seen"]),
        last_seen=last.date(),
        weeks_watched_since=len(since),
        p_gone=float(row["p_gone"]),
    )


def _stretch(name: str, weeks: pd.DataFrame, came: pd.Timestamp | None) -> Stretch:
    seen = weeks[weeks["state"] == SEEN]
    months = dict.fromkeys(m for each in seen["months_seen"] for m in each)
    return Stretch(
        name=name,
        weeks_seen=len(seen),
        weeks_watched=len(weeks),
        months_seen=tuple(int(m) for m in months),
        evidence=float(weeks["evidence"].sum()),
        since=came.date() if came is not None and (weeks["week_start"] == came).any() else None,
    )


def what_if(
    standing: Standing, labels: Sequence[str], *, least_watched_share: float = 0.25
) -> dict[str, WhatIf]:
    """What weeks to come would make of every label, by buck; ``labels`` are those of
    ``standing.bucks``.

    The engine is run on made-up weeks from where each buck stands: without him, and with him on
    camera on the middle day of each. Below ``least_watched_share`` his cameras as they stand are no
    watch, and those of a usual day are taken.
    """
    n_weeks = min(HORIZON_WEEKS, len(standing.days) // 7)
    n = len(standing.bucks)
    if n_weeks == 0 or n == 0:
        return {buck: WhatIf(unseen=None, seen=None) for buck in standing.bucks}
    share = np.where(standing.share < least_watched_share, 1.0, standing.share)
    seen = np.zeros((7 * n_weeks, 2 * n), dtype=bool)
    seen[3::7, n:] = True
    who = np.tile(np.arange(n), 2)
    marks = [7 * week + 6 for week in range(n_weeks)]
    chances, gone = patterns_after(standing, who, seen, np.tile(share, 2), marks)

    def change(b: int, label: str, record: int, a_week: int) -> LabelChange | None:
        for w, mark in enumerate(marks):
            chance, p_gone = chances[w, record], float(gone[w, record])
            then = standing.label_after(b, chance, p_gone, a_week * (w + 1), mark + 1)
            if then != label:
                return LabelChange(weeks=w + 1, until=standing.days[mark].date(), label=then)
        return None

    return {
        buck: WhatIf(unseen=change(b, label, b, 0), seen=change(b, label, n + b, 1))
        for b, (buck, label) in enumerate(zip(standing.bucks, labels, strict=True))
    }
