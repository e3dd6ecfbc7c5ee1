"""Each buck's days: his visits, the share of his own cameras that ran, the wrong tags to expect;
and how often a buck who is around is photographed, unknown and learned over the property's bucks.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.ndimage import uniform_filter1d
from scipy.special import logsumexp

from deerlog.analysis.arrays import Bools, Floats, Ints
from deerlog.analysis.effort_grid import EffortGrid, camera_worth, site_weights
from deerlog.analysis.presence.forward_backward import sighting_emission
from deerlog.analysis.presence.judgement import HIGHEST_RATE, Judgement
from deerlog.analysis.presence.patterns import AROUND, OFF

ABOUT_DAYS = 31
"""Days over which the usual number of visits is taken (our choice)."""


@dataclass(frozen=True, kw_only=True)
class BuckDays:
    """Arrays of T days by bucks; `wrong_tags` puts wrong names together.

    ``share`` of his own cameras that ran (`camera_worth`). ``others``: visits of other named bucks
    to expect on the day, for each name there is; ``own``: of his. ``strangers``: expected sightings
    under his name that were a buck nobody has named. ``alike`` (bucks, bucks): how far two names
    were written down at the same sites in the same fortnights, 1 wholly. By buck and site:
    ``days_by_site`` with a visit of his, and ``camera_worth``, what one camera that runs all day
    adds to ``share``. ``n_cameras`` (bucks,): how many sites see him, as if all saw him alike
    (inverse Simpson index). ``n_sites`` that ran, on average over the days on which any did.
    """

    visits: Ints
    light_visits: Ints
    share: Floats
    others: Floats
    own: Floats
    strangers: Floats
    alike: Floats
    days_by_site: Floats
    camera_worth: Floats
    n_cameras: Floats
    n_sites: float

    def wrong_tags(
        self, share_wrong: Floats | float, pairs: Iterable[tuple[int, int, float]] = ()
    ) -> Floats:
        """Expected sightings under each name that were another buck, shape (T, bucks).

        A wrong tag needs another buck's visit to be put on: the more of them there are about that
        time, and the more were tagged on that day, the likelier that one of the tags is wrong. What
        ran bounds the rest; a tag on a day when nothing is said to have run proves that something
        did. Of ``pairs`` so large a share of each one's visits is tagged as the other's besides.
        """
        wrong = np.asarray(share_wrong * self.others + self.strangers)
        for a, b, share in pairs:
            wrong[..., [a, b]] += share / (1 - share) * self.own[:, [b, a]]
        return wrong


def buck_days(
    visits: pd.DataFrame,
    bucks: list[str],
    grid: EffortGrid,
    judgement: Judgement,
    unsure: pd.DataFrame | None = None,
) -> BuckDays:
    """Count each buck's days: ``visits``, sure tags only, lie within ``grid``; ``bucks`` are all in
    them. Where ``unsure`` (``buck, site, day``) says that he may have come, and no visit that he
    did, the site did not watch him that day."""
    row = grid.day_number(visits["day"])
    column = pd.Categorical(visits["buck"], categories=bucks).codes.astype(np.int64)
    n = np.zeros((len(grid.days), len(bucks)), dtype=np.int64)
    light = np.zeros_like(n)
    np.add.at(n, (row, column), 1)
    np.add.at(light, (row, column), visits["in_light"].to_numpy(dtype=np.int64))
    came = np.zeros((*n.shape, len(grid.sites)), dtype=np.int64)
    np.add.at(came, grid.cells(visits, bucks, grid.sites), 1)
    used = (came > 0).sum(axis=0).astype(float)
    weights = site_weights(used, grid.running.sum(axis=0), judgement.site_learning_days)
    worth = camera_worth(grid.running, weights)
    share = grid.running @ worth.T
    if unsure is not None:
        maybe = np.zeros(came.shape, dtype=bool)
        maybe[grid.cells(unsure, bucks, grid.sites)] = True
        day, buck, site = np.nonzero(maybe & (came == 0))
        np.subtract.at(share, (day, buck), grid.running[day, site] * worth[buck, site])
        np.maximum(share, 0.0, out=share)
    seen_by = worth * grid.running.sum(axis=0)
    ran = np.where((n > 0) & (share <= 0), 1.0, np.minimum(share, 1.0))
    return BuckDays(
        visits=n,
        light_visits=light,
        share=share,
        others=_to_expect(n.sum(axis=1, keepdims=True) - n, ran) / max(len(bucks), 1),
        own=_to_expect(n, ran),
        alike=_alike(came),
        strangers=judgement.stranger_rate * ran,
        days_by_site=used,
        camera_worth=worth,
        n_sites=float(grid.running.sum() / max(grid.running.any(axis=1).sum(), 1)),
        n_cameras=seen_by.sum(axis=1) ** 2 / np.maximum((seen_by**2).sum(axis=1), 1e-300),
    )


def sighting_states(
    seen: Bools, share: Floats, wrong_tags: Floats, rates: Floats, judgement: Judgement
) -> Floats:
    """Chance of each day's record in every state, shape (T, bucks, 1, R, states).

    In single precision, as all that is as long as days, bucks, rates and states together.
    """
    both = np.concatenate([rates, judgement.off_rate * rates]).astype(np.float32)
    chance = sighting_emission(
        seen, np.asarray(share, dtype=np.float32), both, np.asarray(wrong_tags, dtype=np.float32)
    )
    out = np.empty((*seen.shape, 1, len(rates), len(AROUND)), dtype=np.float32)
    out[:] = chance[:, :, None, : len(rates), :1]
    out[..., AROUND] = chance[:, :, None, : len(rates), 1:]
    out[..., OFF] = chance[:, :, None, len(rates) :, 1]
    return out


def _to_expect(visits: Ints, ran: Floats) -> Floats:
    """Visits to expect on each day, given those tagged, shape (T, bucks).

    As if days differed like an exponential variable about the mean of the `ABOUT_DAYS` around.
    """
    about = uniform_filter1d(visits.astype(float), ABOUT_DAYS, axis=0, mode="constant")
    watched = uniform_filter1d(np.minimum(ran, 1.0), ABOUT_DAYS, axis=0, mode="constant")
    mean = about / np.maximum(watched, 1 / ABOUT_DAYS)
    return np.asarray(ran * (1 + visits) * mean / (1 + mean))


def _alike(came: Ints) -> Floats:
    """Cosine between any two bucks' visits by site and fortnight, from days, bucks and sites."""
    fortnights = np.add.reduceat(came, np.arange(0, len(came), 14)).astype(float)
    n, n_bucks, n_sites = fortnights.shape
    count = fortnights.transpose(1, 0, 2).reshape(n_bucks, n * n_sites)
    length = np.linalg.norm(count, axis=1)
    return np.asarray(count @ count.T / np.maximum(np.outer(length, length), 1e-300))


@dataclass(frozen=True, kw_only=True)
class RatePrior:
    """Sighting rates before anything is seen: bucks spread around their property's own median.

    ``rates`` (R,): sightings a day when around and his cameras run, log-spaced. ``median_weights``
    (M,): chance of each median a property may have; ``given_median`` (M, R): of each rate on such a
    property; ``season_step`` (R, R): of each rate in a season given the one before, rows sum to 1.
    """

    rates: Floats
    median_weights: Floats
    given_median: Floats
    season_step: Floats

    @property
    def weights(self) -> Floats:
        """Shape (R,): chance of each rate, whatever the property."""
        return np.asarray(self.median_weights @ self.given_median)


def rate_prior(
    judgement: Judgement, n_sites: float = 100.0, n_rates: int = 10, n_medians: int = 11
) -> RatePrior:
    """The prior of a judgement, over two and a half standard deviations each way, where so many
    sites are watched (`Judgement.rate_median_cameras`)."""
    j = judgement
    whole_sd = float(np.hypot(j.rate_property_log_sd, j.rate_buck_log_sd))
    middle = np.log(j.rate_median)
    highest = min(middle + 2.5 * whole_sd, np.log(HIGHEST_RATE))
    log_rate = np.linspace(middle - 2.5 * whole_sd, highest, n_rates)
    z = np.linspace(-2.5, 2.5, n_medians)
    few = np.log(min(max(n_sites, 1.0) / j.rate_median_cameras, 1.0)) / 2
    log_median = middle + few + j.rate_property_log_sd * z
    return RatePrior(
        rates=np.exp(log_rate),
        median_weights=_normal_rows(z[None], 1.0)[0],
        given_median=_normal_rows(log_rate - log_median[:, None], j.rate_buck_log_sd),
        season_step=_normal_rows(log_rate - log_rate[:, None], j.rate_season_log_sd),
    )


def learned_rate_weights(log_by_rate: Floats, prior: RatePrior) -> Floats:
    """Sighting rates on this property, learned over its bucks: chance of each rate in each buck's
    first season before his own record, (bucks, R).

    Exact for the model: what the others tell of the property's median, as if it were one of
    ``prior``'s, spreads into a prior for each buck that his own record has not touched.
    ``log_by_rate`` is of `log_by_first_rate`, (bucks, R).
    """
    told = logsumexp(log_by_rate[:, None], b=prior.given_median, axis=-1)
    whole = np.log(prior.median_weights) + told.sum(axis=0)
    others = np.exp(whole - told - logsumexp(whole - told, axis=-1, keepdims=True))
    return np.asarray(others @ prior.given_median)


def _normal_rows(gap: Floats, sd: float) -> Floats:
    """Normal weights of ``gap`` in each row, which sum to 1."""
    weight = np.exp(-0.5 * (gap / sd) ** 2)
    return np.asarray(weight / weight.sum(axis=-1, keepdims=True))
