"""Does he live here, or does he visit? The residency score of every buck, with its evidence."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.effort_grid import EffortGrid, effort_grid
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import (
    PatternChains,
    pattern_chains,
    pattern_prior,
    season_transition,
)
from deerlog.analysis.presence.season_evidence import (
    Combined,
    SeasonEvidence,
    combine_seasons,
    season_evidence,
)
from deerlog.analysis.presence.sightings import (
    BuckDays,
    buck_days,
    learned_rate_weights,
    rate_prior,
)
from deerlog.analysis.residency.standing import LATELY_DAYS, Standing, joint_now, ways_ahead
from deerlog.analysis.residency.tables import (
    RESIDENCY_COLUMNS,
    WEEKLY_COLUMNS,
    ScoredSeasons,
    residency_table,
    weekly_table,
)
from deerlog.analysis.weeks import season_weeks, week_ends
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Residency:
    """Labels and their evidence.

    Attributes
    ----------
    table
        `residency_tables.RESIDENCY_COLUMNS`: one row a buck and season (``season``
        as text, from what was known up to and including it) and one with season ``all``. The four
        ``p_`` fall short of 1 by the chance that he did not use the property at all that season, or
        lived here and was lost before the pre-rut.
    weekly
        `residency_tables.WEEKLY_COLUMNS`: one row a buck, season and week; counts
        are missing in a week that was not watched. ``evidence`` is how much the week moved the log
        odds that he lives here in the latest season; a buck's weeks and his ``prior_log_odds`` sum
        to the log odds of his ``all`` score. ``phase`` is that of the first day he was
        seen on, else of the week's middle day.
    around
        Index: every day from the first season's start to the end of the season of ``as_of``;
        columns: bucks; smoothed chance that he was around, and beyond ``as_of`` the forecast. NaN
        in seasons before he was first seen.
    share
        Same index and columns: share of his own cameras that ran.
    prior_log_odds
        By buck.
    rate
        By buck: sightings a day when around and his cameras run, posterior mean.
    standing
        Where every buck stands at the end of ``as_of``; None where none was ever seen.
    """

    table: pd.DataFrame
    weekly: pd.DataFrame
    around: pd.DataFrame
    share: pd.DataFrame
    prior_log_odds: Mapping[str, float]
    rate: Mapping[str, float]
    standing: Standing | None


def residency(
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    calendar: SeasonCalendar,
    *,
    as_of: pd.Timestamp,
    targets: Collection[str] = (),
    judgement: Judgement | None = None,
    week_starts: str = "Mon",
    least_watched_share: float = 0.25,
) -> Residency:
    """Score every buck.

    The score is the probability, from 0 to 100, that he lives here through the hunting season
    rather than visits or leaves before it. Each day he is around or gone; each pattern (see
    `patterns.py`) has its own daily chances of coming and going; a sighting depends
    on being around and on what ran; the sighting rate is unknown and integrated out; a few tags
    are wrong. Days without a camera say nothing.

    Parameters
    ----------
    visits
        Of `deerlog.analysis.visits.buck_visits`, sure tags only.
    effort
        ``camera, site, day, camera_day``.
    as_of
        The last day known (naive midnight); visits and effort after it are left out.
    targets
        Bucks marked as targets.
    judgement
        Rates fixed by judgement.
    least_watched_share
        A week in which a smaller share of his cameras ran was not watched.
    """
    judgement = judgement or Judgement()
    visits = visits[visits["day"] <= as_of]
    bucks = sorted(visits["buck"].unique())
    if not bucks:
        return _nothing()
    first_season = int(visits["season"].min())
    last_season = int(calendar.season_of(pd.DatetimeIndex([as_of]))[0])
    seasons = list(range(first_season, last_season + 1))
    first_day = pd.Timestamp(calendar.bounds(first_season)[0])
    last_day = pd.Timestamp(calendar.bounds(last_season)[1]) - pd.Timedelta(days=1)
    grid = effort_grid(effort[effort["day"] <= as_of], first_day, last_day)
    record = buck_days(visits, bucks, grid, judgement)
    debut = {str(b): int(s) for b, s in visits.groupby("buck")["season"].min().items()}

    rates = rate_prior(judgement)
    chains = {season: pattern_chains(calendar, season, judgement) for season in seasons}
    evidence: dict[int, SeasonEvidence] = {}
    week_of: dict[int, pd.DatetimeIndex] = {}
    for season in seasons:
        _, week_of[season] = season_weeks(calendar, season, as_of, week_starts)
        rows = grid.rows(*calendar.bounds(season))
        evidence[season] = season_evidence(
            chains[season],
            record.visits[rows] > 0,
            record.share[rows],
            rates.rates,
            record.wrong_tags[rows],
            week_ends(week_of[season]),
            quiet_share=judgement.quiet_share,
        )
    prior, transition = pattern_prior(judgement), season_transition(judgement)
    logs = [
        [evidence[s].log_evidence[:, :, b, :] for s in seasons if s >= debut[buck]]
        for b, buck in enumerate(bucks)
    ]
    weights, _ = learned_rate_weights(logs, prior, transition, rates)
    combined = [
        combine_seasons(log, prior, weight, transition, rates.season_step)
        for log, weight in zip(logs, weights, strict=True)
    ]

    around = np.full((len(grid.days), len(bucks)), np.nan)
    for b, buck in enumerate(bucks):
        for i, season in enumerate(s for s in seasons if s >= debut[buck]):
            rows = grid.rows(*calendar.bounds(season))
            given = evidence[season].around[:, :, b, :]
            around[rows, b] = np.einsum("tkr,kr->t", given, combined[b].smoothed[i])

    scored = ScoredSeasons(
        bucks=bucks,
        seasons=seasons,
        debut=debut,
        calendar=calendar,
        grid=grid,
        week_of=week_of,
        visits=record.visits,
        light_visits=record.light_visits,
        share=record.share,
        around=around,
        combined=combined,
        least_watched_share=least_watched_share,
    )
    weekly = weekly_table(scored)
    return Residency(
        table=residency_table(scored, weekly, targets),
        weekly=weekly,
        around=pd.DataFrame(around, index=grid.days, columns=bucks),
        share=pd.DataFrame(record.share, index=grid.days, columns=bucks),
        prior_log_odds={b: c.prior_log_odds for b, c in zip(bucks, combined, strict=True)},
        rate={b: float(c.rate @ rates.rates) for b, c in zip(bucks, combined, strict=True)},
        standing=_standing(
            bucks, combined, evidence[seasons[-1]], chains[seasons[-1]], rates.rates, record, grid,
            len(week_of[seasons[-1]]),
        ),
    )  # fmt: skip


def _standing(
    bucks: list[str],
    combined: list[Combined],
    evidence: SeasonEvidence,
    chains: PatternChains,
    rates: Floats,
    record: BuckDays,
    grid: EffortGrid,
    n_days_known: int,
) -> Standing:
    """From the last season: its evidence, its chains, and how many of its days are known."""
    transition, rate_factor = ways_ahead(chains, n_days_known)
    now = len(grid.days) - len(transition)
    lately = slice(max(now - LATELY_DAYS, 0), now)
    return Standing(
        bucks=tuple(bucks),
        days=grid.days[now:],
        joint=joint_now(combined, evidence),
        rates=rates,
        transition=transition,
        rate_factor=rate_factor,
        share=record.share[lately].mean(axis=0),
        wrong_tags=record.wrong_tags[lately].mean(axis=0),
        days_seen=(record.visits > 0).sum(axis=0),
        sites=grid.sites,
        days_by_site=record.days_by_site,
        camera_worth=record.camera_worth,
    )


def _nothing() -> Residency:
    empty = pd.DataFrame(index=pd.DatetimeIndex([], dtype="datetime64[us]"))
    return Residency(
        table=pd.DataFrame(columns=RESIDENCY_COLUMNS),
        weekly=pd.DataFrame(columns=WEEKLY_COLUMNS),
        around=empty,
        share=empty,
        prior_log_odds={},
        rate={},
        standing=None,
    )
