"""A visitor's days to come, from his own of past seasons.

Visitors come "often the same days each year" (common practice, no published source). His own middle
arrival lies about the property's rut, and each year's about his own; the more seasons he was
watched, the more his own count. How far his years lie apart is not known beforehand: it is averaged
over, so that three like years make a short stretch and three unlike ones a long one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import logsumexp
from scipy.stats import norm

from deerlog.analysis.arrays import Floats, Ints
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.timekeeping.seasons import SeasonCalendar

YEAR_SPREADS = np.array([1.0, 1.5, 2.2, 3.3, 5.0, 7.5, 11.0])
"""Days by which one buck's arrivals may differ from year to year (standard deviation)."""
YEAR_SPREAD_MIDDLE, YEAR_SPREAD_LOG_SD = 2.5, 0.7
"""What is thought of it beforehand: "often the same days" (common practice, no published source); a
population's breeding varies by 4 days (Dye et al. 2012, Wildlife Society Bulletin). Our choice."""
LENGTH_SPREADS = np.array([0.1, 0.15, 0.22, 0.35, 0.6, 0.9])
LENGTH_SPREAD_MIDDLE, LENGTH_SPREAD_LOG_SD = 0.22, 0.7
"""The same of the log of a stay's length (our choice)."""
LENGTH_LOG_SD = 0.6
"""Between bucks, of the log of the usual length (our choice, a factor of 1.8)."""
SHARE_INSIDE = 0.8
"""Share of his stay that the days named are to hold."""
NEAR_RUT_DAYS = 60
"""A stay that began farther from the rut is no rut visit (our choice)."""
WATCHED_RUT = 0.5
"""Share of the rut's days on which a camera ran, for his not coming to count (our choice)."""
_ARRIVALS = np.arange(-75, 76)
_LENGTHS = np.arange(1, 61)


@dataclass(frozen=True, kw_only=True)
class OwnDays:
    """The days on which a visitor is to be expected, all counted from the rut peak.

    ``first`` to ``last``, both included: the shortest run that holds `SHARE_INSIDE` of the stay to
    come. ``arrival``, ``departure``: (10 %, 50 %, 90 %) of the day he comes and the last day of his
    stay. ``comes``: chance that he comes at all this season. ``inside``: chance of being here on
    each of ``days``, given that he comes. ``earliest``, ``latest``: the first and the last day on
    which he has ever stayed. ``seasons``: how many past stays it rests on.
    """

    first: int
    last: int
    arrival: tuple[float, float, float]
    departure: tuple[float, float, float]
    comes: float
    inside: Floats
    days: Ints
    earliest: int
    latest: int
    seasons: int


def days_of_visits(
    stays: pd.DataFrame,
    grid: SightingGrid,
    calendar: SeasonCalendar,
    season: int,
    *,
    usual_arrival: tuple[float, float],
    usual_length: float,
    skip: float,
) -> OwnDays | None:
    """The days of a visitor in one season, to come or going on, from his `stays` in the seasons
    before.

    Of each season the stay with most days on camera counts that began within `NEAR_RUT_DAYS` of the
    peak. None where there is no such stay in a past season.
    """
    peak = pd.to_datetime([calendar.rut_peak_day(int(s)) for s in stays["season"]])
    stays = stays.assign(since=(pd.DatetimeIndex(stays["arrived"]) - peak).days)
    near = stays[stays["since"].abs() <= NEAR_RUT_DAYS].sort_values("days_seen", kind="stable")
    main = near.drop_duplicates("season", keep="last").sort_values("season")
    past = main[main["season"] < season]
    if past.empty:
        return None
    today = grid.days[-1]
    ran = np.asarray((grid.running > 0).any(axis=1))
    of_rut = np.asarray(calendar.phase_of(grid.days) == "rut")
    seasons = calendar.season_of(grid.days)
    without = [
        s
        for s in np.unique(seasons[seasons < season])
        if s > past["season"].min()
        and s not in set(past["season"])
        and ran[of_rut & (seasons == s)].mean() > WATCHED_RUT
    ]
    left = past["left"].fillna(today)
    return own_days(
        past["since"].astype(float).tolist(),
        ((left - past["arrived"]).dt.days + 1).astype(float).tolist(),
        watched_without=len(without),
        usual_arrival=usual_arrival,
        usual_length=usual_length,
        not_before=None
        if (main["season"] == season).any()
        else (today - pd.Timestamp(calendar.rut_peak_day(season))).days,
        skip=skip,
    )


def own_days(
    arrivals: Sequence[float],
    lengths: Sequence[float],
    *,
    watched_without: int = 0,
    usual_arrival: tuple[float, float] = (0.0, 9.0),
    usual_length: float = 9.0,
    not_before: int | None = None,
    skip: float = 0.1,
) -> OwnDays:
    """His days, given first day (after that season's rut peak) and length of past stays, one at
    least.

    ``watched_without``: past seasons in which the rut was watched and he did not come.
    ``usual_arrival``: middle and standard deviation, between bucks and years together, of a
    visitor's arrival before anything is known of him; ``usual_length``: mean days of a visitor's
    stay; ``skip``: chance, beforehand, that he does not come in a season. ``not_before``: the last
    day of this season by which he is known not to have come.
    """
    came = np.asarray(arrivals, dtype=float)
    lasted = np.log(np.maximum(np.asarray(lengths, dtype=float), 1.0))
    middle, sd = usual_arrival
    prior = norm.logpdf(np.log(YEAR_SPREADS / YEAR_SPREAD_MIDDLE), scale=YEAR_SPREAD_LOG_SD)
    between = np.sqrt(np.maximum(sd**2 - YEAR_SPREADS**2, 1.0))
    p_arrival = _ahead(came, middle, between, YEAR_SPREADS, prior, _ARRIVALS)
    if not_before is not None:
        p_arrival = np.where(not_before < _ARRIVALS, p_arrival, 0.0)
    # 10 pseudo-seasons would be too sure of him; two are (our choice).
    n = len(came)
    comes = (2 * (1 - skip) + n) / (2 + n + watched_without)
    still = float(p_arrival.sum())
    comes = comes * still / (1 - comes + comes * still)
    p_arrival = p_arrival / max(still, 1e-12)
    steps = np.log(_LENGTHS)
    alike = norm.logpdf(np.log(LENGTH_SPREADS / LENGTH_SPREAD_MIDDLE), scale=LENGTH_SPREAD_LOG_SD)
    same = np.full(len(LENGTH_SPREADS), LENGTH_LOG_SD)
    p_length = _ahead(lasted, float(np.log(usual_length)), same, LENGTH_SPREADS, alike, steps)
    p_length = p_length / _LENGTHS / (p_length / _LENGTHS).sum()  # over days, not their log
    days = np.arange(_ARRIVALS[0], _ARRIVALS[-1] + _LENGTHS[-1])
    lasts = np.append(p_length[::-1].cumsum()[::-1], 0.0)  # chance of at least k + 1 days
    inside = np.convolve(p_arrival, lasts)[: len(days)]
    departs = np.convolve(p_arrival, p_length)[: len(days)]
    first, last = shortest_run(inside, SHARE_INSIDE)
    ends = came + np.asarray(lengths, dtype=float) - 1
    return OwnDays(
        first=int(days[first]),
        last=int(days[last]),
        arrival=_quantiles(p_arrival, _ARRIVALS),
        departure=_quantiles(departs, days),
        comes=float(comes),
        inside=inside,
        days=days,
        earliest=int(came.min()),
        latest=int(ends.max()),
        seasons=n,
    )


def shortest_run(weight: Floats, share: float) -> tuple[int, int]:
    """First and last place of the shortest run that holds a share of all weight."""
    total = np.append(0.0, np.cumsum(weight))
    # For each first place, the soonest last place that is enough.
    after = np.searchsorted(total, total[:-1] + share * total[-1] - 1e-12)
    fits = np.flatnonzero(after <= len(weight))
    length = after[fits] - fits
    best = fits[length == length.min()]
    # Of runs as short as each other, the one that holds most.
    held = total[after[best]] - total[best]
    first = int(best[held.argmax()])
    return first, int(after[first]) - 1


def _ahead(
    seen: Floats,
    middle: float,
    between: Floats,
    within: Floats,
    log_prior: Floats,
    values: Floats | Ints,
) -> Floats:
    """Chances of each value next time: normal about his own middle, spreads averaged over.

    ``between`` and ``within`` are the spreads, shape (G,), of his middle about ``middle`` and of
    his years about his own.
    """
    n = len(seen)
    precision = 1 / between**2 + n / within**2
    own = (middle / between**2 + seen.sum() / within**2) / precision
    # Log evidence of the past values: sequentially, each given those before.
    log = log_prior.copy()
    for k in range(n):
        p = 1 / between**2 + k / within**2
        m = (middle / between**2 + seen[:k].sum() / within**2) / p
        log += norm.logpdf(seen[k], m, np.sqrt(1 / p + within**2))
    weight = np.exp(log - logsumexp(log))
    spread = np.sqrt(1 / precision + within**2)
    density = norm.pdf(np.asarray(values, dtype=float)[:, None], own, spread) @ weight
    return np.asarray(density / density.sum())


def _quantiles(chance: Floats, values: Ints) -> tuple[float, float, float]:
    total = np.cumsum(chance) / chance.sum()
    low, mid, high = (float(values[int(np.searchsorted(total, q))]) for q in (0.1, 0.5, 0.9))
    return low, mid, high
