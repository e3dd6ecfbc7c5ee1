"""Past weeks of a study replayed: what the chances were worth; the sits, beside what was given."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from deerlog.analysis.backtest.backtest import Backtest
from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.plan.past_sits import (
    Aftermath,
    aftermath,
    rested,
    sit_record,
    sits_summary,
    sits_worth,
)
from deerlog.analysis.plan.stand_chances import stand_chances
from deerlog.analysis.visits import HALVES
from deerlog.errors import PropertyError
from deerlog.study import PropertyStudy

SitKey = tuple[date, str, str]
"""Day, half and stand of a sit."""


@dataclass(frozen=True, kw_only=True)
class SitsResult:
    """What is known of the sits up to the study's last day, by the functions of these names in
    `deerlog.analysis.plan.past_sits`."""

    summary: pd.DataFrame
    rested: pd.DataFrame
    worth: pd.DataFrame
    aftermath: Aftermath
    """How shooting-light visits near a stand changed in the days after it was hunted."""


def sits_result(study: PropertyStudy, chances: Mapping[SitKey, float]) -> SitsResult:
    """Sum up the sits; a sit that is not in ``chances`` was given none."""
    sits, stands, grid = study.sits, study.place.stands, study.sighting_grid
    record = _record(study, chances)
    in_light = grid.seen_in_light.any(axis=3).sum(axis=1).astype(np.float64)
    return SitsResult(
        summary=sits_summary(record),
        rested=rested(sits, stands, study.last_day),
        worth=sits_worth(record),
        aftermath=aftermath(
            sits, stands, days=grid.days, sites=grid.sites, running=grid.running, buck_days=in_light
        ),
    )


def recent_worth(study: PropertyStudy) -> pd.DataFrame:
    """What the sits of the last weeks made of the chances that had been given for them."""
    given = recent_replay(study).given if study.wanted and len(study.sits) else {}
    return sits_worth(_record(study, given))


def _record(study: PropertyStudy, chances: Mapping[SitKey, float]) -> pd.DataFrame:
    """Each sit beside the chance that had been given for it."""
    sits, stands = study.sits, study.place.stands
    setting = study.sites.set_index("site")["setting"].to_dict()
    first_site = {row["stand"]: row["sites"][0] for row in stands.to_dict("records")}
    sits = sits.assign(
        phase=study.calendar.phase_of(sits["day"]),
        setting=[str(setting.get(first_site.get(s), "other")) for s in sits["stand"]],
    )
    given = [
        chances.get((day.date(), half, stand))
        for day, half, stand in zip(sits["day"], sits["half"], sits["stand"], strict=True)
    ]
    return sit_record(sits, study.targets or None, given)


@dataclass(frozen=True, kw_only=True)
class Replay:
    """Past weeks, replayed, from the first to the last day asked for, both included."""

    first: date
    last: date
    backtest: Backtest
    """Of the wanted bucks."""
    given: dict[SitKey, float]
    """Chance given at the end of the week before, by sit; sits of weeks not replayed, and those
    that nothing was known for, are not in it."""


def replay(
    study: PropertyStudy,
    first: date | None = None,
    *,
    progress: Callable[[int, int], None] | None = None,
) -> Replay:
    """The weeks from a day on, or the whole record, each knowing only what had happened by the week
    before; ``progress`` is told weeks done and in all.

    A PropertyError where the day lies after the last day known, so that there is no week to replay.
    """
    start = study.sighting_grid.days[0] if first is None else pd.Timestamp(first)
    if start > study.last_day:
        raise PropertyError(
            f"there is no week to replay from {first} on: the record ends on "
            f"{study.last_day.date()}.",
            where=str(study.place.folder),
            how="Give an earlier day with --from.",
        )
    return _replay(study, start, *study.replayed(start, progress))


def recent_replay(study: PropertyStudy) -> Replay:
    """The last weeks, those that correct the chances of the study."""
    return _replay(study, study.recent_first, *study.recent_weeks)


def _replay(
    study: PropertyStudy, first: pd.Timestamp, scored: Backtest, made: list[Forecast]
) -> Replay:
    given = {sit: chance for week in made for sit, chance in _given(study, week).items()}
    return Replay(first=first.date(), last=study.last_day.date(), backtest=scored, given=given)


def _given(study: PropertyStudy, made: Forecast) -> dict[SitKey, float]:
    """Chance of each sit in a week's forecast: any wanted buck at any site of the stand."""
    sits = study.sits[study.sits["day"].isin(made.days)]
    bucks = np.array([n for n, b in enumerate(made.bucks) if b in study.wanted], dtype=np.int64)
    if sits.empty or not len(bucks):
        return {}
    sites_of = dict(zip(study.place.stands["stand"], study.place.stands["sites"], strict=True))
    places = {
        stand: np.array([made.sites.index(s) for s in sites_of[stand] if s in made.sites])
        for stand in sits["stand"].unique()
    }
    places = {stand: sites for stand, sites in places.items() if len(sites)}
    if not places:
        return {}
    chance = stand_chances(made, list(places.values()), bucks).chance
    number = {stand: n for n, stand in enumerate(places)}
    return {
        (day.date(), half, stand): float(
            chance[made.days.get_loc(day), number[stand], HALVES.index(half)]
        )
        for day, half, stand in zip(sits["day"], sits["half"], sits["stand"], strict=True)
        if stand in number
    }
