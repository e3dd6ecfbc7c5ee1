"""Which sites a buck used in each phase, counted against what ran there; and whether he changes
ground from one phase to the next: how far, and when."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd
from scipy.special import gammaln, logsumexp

from deerlog.analysis.arrays import Floats, Ints
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar

COLUMNS = [
    "phase", "site", "visits", "shooting_light_visits", "camera_days", "per_100_camera_days",
]  # fmt: skip


def phase_use(
    visits: pd.DataFrame, effort: pd.DataFrame, calendar: SeasonCalendar, buck: str
) -> pd.DataFrame:
    """One row a phase and site where anything ran or he was seen, over all seasons since his first.

    `COLUMNS`, in order of phase and site: his visits (sure tags only), those in shooting light,
    camera-days (whole and part, of all cameras at the site), and visits in 100 camera-days (missing
    where nothing ran).
    """
    his = visits[visits["buck"] == buck]
    if len(his):
        # Before he was first seen he may not have been born: those days say nothing of his use.
        effort = effort[effort["day"] >= pd.Timestamp(calendar.bounds(int(his["season"].min()))[0])]
    keys = ["phase", "site"]
    ran = effort.assign(phase=calendar.phase_of(effort["day"]))
    camera_days = ran.groupby(keys, sort=False)["camera_day"].sum()
    came = his.groupby(keys, sort=False)["in_light"].agg(["size", "sum"])
    table = pd.DataFrame(
        {
            "visits": came["size"],
            "shooting_light_visits": came["sum"],
            "camera_days": camera_days[camera_days > 0],
        }
    ).fillna(0)
    table["per_100_camera_days"] = (100 * table["visits"] / table["camera_days"]).where(
        table["camera_days"] > 0
    )
    table = table.astype({"visits": int, "shooting_light_visits": int}).reset_index()
    order = table["phase"].map({phase: n for n, phase in enumerate(PHASES)})
    table = table.assign(order=order).sort_values(["order", "site"], kind="stable")
    return table[COLUMNS].reset_index(drop=True)


SHIFT_COLUMNS = [
    "buck", "season", "from_phase", "to_phase", "distance_m", "low_m", "high_m",
    "change_day", "change_probability", "from_x_m", "from_y_m", "to_x_m", "to_y_m",
]  # fmt: skip
FALL = "fall"
"""Early season, pre-rut and rut together."""

LEAST_DAYS_SEEN = 4
"""Days on camera in each phase below which nothing is said of where he was (our choice)."""
BLOCK_DAYS = 4
"""Days drawn together: a buck's whereabouts are alike from one day to the next (our choice)."""
N_DRAWS = 600
SEED = 20240601
"""Of the draws behind the intervals; fixed, so that one record always gives one answer."""
PRIOR_DAYS = 1.0
"""Camera-days of evidence by which each site's use is drawn towards his average (our choice)."""


@dataclass(frozen=True, kw_only=True)
class PhaseUse:
    """A buck's use of S sites in one stretch of n days (``days``, places among the season's):
    ``seen`` is 1 on a day with a visit, ``exposure`` camera-days times the chance that he was
    around, (n, S) each."""

    days: Ints
    seen: Floats
    exposure: Floats


def shift(
    grid: SightingGrid,
    around: pd.DataFrame,
    calendar: SeasonCalendar,
    sites: pd.DataFrame,
    bucks: tuple[str, ...],
    judgement: ForecastJudgement | None = None,
) -> pd.DataFrame:
    """Distances between the phases of each season, and when use changed.

    The centre of a phase is the mean of the sites weighted by his visits a camera-day there: where
    the cameras saw him, not the middle of his range, which may lie beyond them. Sites whose place
    is not known are left out.

    `SHIFT_COLUMNS`: a row a buck, season and pair of consecutive phases with at least
    `LEAST_DAYS_SEEN` days on camera in each, and one from summer to `FALL`. ``low_m`` and
    ``high_m`` hold 95 % of block-bootstrap draws; ``low_m`` is 0 where the draws cannot tell the
    two centres apart. ``change_day`` is the most likely first day on the new ground, NaT where no
    change is likelier than not; ``change_probability`` the chance that his use of the sites changed
    at all between the two. ``from_x_m`` to ``to_y_m`` are the two centres, metres on the ground of
    ``sites``.
    """
    judgement = judgement or ForecastJudgement()
    place = sites.drop_duplicates("site").set_index("site").reindex(list(grid.sites))
    position = place[["x_m", "y_m"]].to_numpy(dtype=float)
    known = np.isfinite(position).all(axis=1)
    position = position[known]
    season, phase = calendar.season_of(grid.days), calendar.phase_of(grid.days)
    rows = []
    for buck in bucks:
        if buck not in grid.bucks:
            continue
        b = grid.bucks.index(buck)
        here = np.nan_to_num(around[buck].reindex(grid.days).to_numpy(dtype=float))
        seen = grid.seen[:, b][:, known].astype(float)
        # A day he was seen he was there, and so was the camera.
        exposure = np.maximum(grid.running[:, known] * here[:, None], seen)
        for s in np.unique(season):
            for start, end in _pairs():
                before, after = (
                    PhaseUse(days=inside, seen=seen[inside], exposure=exposure[inside])
                    for inside in (
                        np.flatnonzero((season == s) & np.isin(phase, names))
                        for names in (start[1], end[1])
                    )
                )
                if min(int(p.seen.any(axis=1).sum()) for p in (before, after)) < LEAST_DAYS_SEEN:
                    continue
                distance = shift_distance(before, after, position)
                change = change_day(
                    np.concatenate([before.seen, after.seen]),
                    np.concatenate([before.exposure, after.exposure]),
                    prior=judgement.change_prior,
                    clumping=judgement.visit_clumping,
                )
                day = grid.days[np.concatenate([before.days, after.days])[change.row]]
                told = change.probability > 0.5
                rows.append(
                    (buck, int(s), start[0], end[0], *distance, day if told else pd.NaT,
                     change.probability, *use_centre(before, position)[0],
                     *use_centre(after, position)[0])
                )  # fmt: skip
    return pd.DataFrame(rows, columns=SHIFT_COLUMNS)


def _pairs() -> list[tuple[tuple[str, tuple[str, ...]], tuple[str, tuple[str, ...]]]]:
    single = [(name, (name,)) for name in PHASES]
    return [*pairwise(single), (single[0], (FALL, PHASES[1:4]))]


def shift_distance(
    before: PhaseUse, after: PhaseUse, position_m: Floats
) -> tuple[float, float, float]:
    """Distance between the use-weighted centres of two stretches of days, and its 95 % interval,
    metres.

    Bayesian bootstrap (Rubin 1981, Annals of Statistics 9:130) over blocks of `BLOCK_DAYS` days. A
    distance cannot be negative, so chance alone pushes the draws up: where zero lies within the 95
    % of the drawn displacements the low bound is 0.
    """
    rng = np.random.default_rng(SEED)
    moved = use_centre(after, position_m)[0] - use_centre(before, position_m)[0]
    drawn = use_centre(after, position_m, rng) - use_centre(before, position_m, rng)
    length = np.hypot(drawn[:, 0], drawn[:, 1])
    low, high = np.quantile(length, [0.025, 0.975])
    spread = np.cov(drawn.T) + 1e-6 * np.eye(2)
    # 5.99 is the 95 % point of chi-square with two degrees of freedom.
    if moved @ np.linalg.solve(spread, moved) < 5.99:
        low = 0.0
    distance = float(np.hypot(*moved))
    return distance, float(min(low, distance)), float(max(high, distance))


def use_centre(use: PhaseUse, position_m: Floats, rng: np.random.Generator | None = None) -> Floats:
    """Centre of the sites weighted by visits a camera-day, metres, shape (1, 2); with ``rng`` those
    of bootstrap draws, (`N_DRAWS`, 2)."""
    _, block = np.unique(use.days // BLOCK_DAYS, return_inverse=True)
    blocks = np.eye(int(block.max()) + 1)[block].T
    weight = (
        np.ones((1, len(blocks))) if rng is None else rng.exponential(1.0, (N_DRAWS, len(blocks)))
    )
    seen, exposure = weight @ (blocks @ use.seen), weight @ (blocks @ use.exposure)
    average = seen.sum(axis=1, keepdims=True) / np.maximum(
        exposure.sum(axis=1, keepdims=True), 1e-9
    )
    rate = (seen + PRIOR_DAYS * average) / (exposure + PRIOR_DAYS)
    # A site that never ran says nothing of his use of it.
    rate = np.where((use.exposure.sum(axis=0) > 0)[None, :], rate, 0.0)
    return np.asarray(rate @ position_m / rate.sum(axis=1, keepdims=True))


SHAPE = 0.5
"""Shape of the gamma prior of each site's rate: some sites much used, many hardly (our choice)."""
LEVELS = np.exp(np.linspace(-1.5, 1.5, 13))
"""By how much he may be on camera more or less without any change of ground (our choice)."""


@dataclass(frozen=True, kw_only=True)
class ChangeDay:
    """When use changed: the most likely first row of the new use, the chance that it changed at
    all, and of each row being that first one if it did (``by_row``, (n,), sums to 1)."""

    row: int
    probability: float
    by_row: Floats


def change_day(seen: Floats, exposure: Floats, *, prior: float, clumping: float) -> ChangeDay:
    """Find one change point in visits to several sites.

    Compares, for every day, two accounts: from that day on each site has a new rate of its own; or
    all rates rose or fell together, which is no change of ground. Rates are integrated out (gamma
    priors, Poisson counts), so an effort that changes from day to day is no matter. ``seen`` is 1
    on days with a visit, in order of time, ``exposure`` camera-days while he was around, both (n,
    S); ``prior`` the chance of a change before looking; so many visits as ``clumping`` count as
    one.
    """
    seen, exposure = seen / clumping, exposure / clumping
    n = len(seen)
    total_seen, total_exposure = seen.sum(axis=0), exposure.sum(axis=0)
    used = total_exposure > 0
    seen, exposure = seen[:, used], exposure[:, used]
    total_seen, total_exposure = total_seen[used], total_exposure[used]
    rate = SHAPE * max(float(total_exposure.sum()), 1e-9) / max(float(total_seen.sum()), 1e-9)
    first_seen, first_exposure = np.cumsum(seen, axis=0)[:-1], np.cumsum(exposure, axis=0)[:-1]
    last_seen, last_exposure = total_seen - first_seen, total_exposure - first_exposure
    moved = _log_marginal(first_seen, first_exposure, rate) + _log_marginal(
        last_seen, last_exposure, rate
    )
    level = LEVELS[:, None, None]
    stayed = logsumexp(
        _log_marginal(total_seen, first_exposure + level * last_exposure, rate)
        + last_seen.sum(axis=1) * np.log(LEVELS)[:, None],
        axis=0,
    ) - np.log(len(LEVELS))
    if n < 2 or not used.any():
        return ChangeDay(row=0, probability=prior, by_row=np.full(n, 1 / max(n, 1)))
    log_moved, log_stayed = logsumexp(moved), logsumexp(stayed)
    odds = np.log(prior) - np.log1p(-prior) + log_moved - log_stayed
    by_row = np.concatenate([[0.0], np.exp(moved - log_moved)])
    return ChangeDay(
        row=int(by_row.argmax()),
        probability=float(1 / (1 + np.exp(-np.clip(odds, -500, 500)))),
        by_row=by_row,
    )


def _log_marginal(seen: Floats, exposure: Floats, rate: float) -> Floats:
    """Log probability of counts with the rates integrated out, summed over the last axis.

    Terms that are the same for every account of the same counts are left out.
    """
    each = (
        SHAPE * np.log(rate)
        - gammaln(SHAPE)
        + gammaln(SHAPE + seen)
        - (SHAPE + seen) * np.log(rate + exposure)
    )
    return np.asarray(each.sum(axis=-1))
