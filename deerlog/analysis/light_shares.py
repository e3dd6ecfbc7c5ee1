"""Which share of a buck's visits to a site falls in shooting light, before noon and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import expit

from deerlog.analysis.forecast_judgement import ForecastJudgement
from deerlog.analysis.mixed_logit import fit_mixed_logit
from deerlog.analysis.sighting_grid import codes
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import PHASES

Floats = npt.NDArray[np.float64]
FREE_SD = 5.0


@dataclass(frozen=True, kw_only=True)
class LightShares:
    """Shares of the visits, by buck, phase, site and half.

    Attributes
    ----------
    share
        Shape (B, phases, S, 2): share of his visits that fall in shooting light in AM and in PM.
    log_sd
        Same shape: posterior standard deviation of its logarithm.
    """

    share: Floats
    log_sd: Floats


def light_shares(
    visits: pd.DataFrame,
    bucks: tuple[str, ...],
    sites: tuple[str, ...],
    setting: tuple[str, ...],
    judgement: ForecastJudgement,
) -> LightShares:
    """Fit the shares.

    Parameters
    ----------
    visits
        Of `deerlog.analysis.visits.buck_visits`, sure tags only.
    setting
        Setting of each site, length S.
    """
    j = judgement
    shape = (len(bucks), len(PHASES), len(sites))
    buck, site = codes(visits["buck"], bucks), codes(visits["site"], sites)
    phase = codes(visits["phase"], PHASES)
    known = (buck >= 0) & (site >= 0)
    light = visits["in_light"].to_numpy(dtype=bool)
    morning = light & (visits["half"] == HALVES[0]).to_numpy()
    n_visits, n_light, n_morning = (
        _count(shape, (buck, phase, site), known & some)
        for some in (np.ones(len(visits), dtype=bool), light, morning)
    )
    lit, lit_sd = _share(
        n_light, n_visits, setting, j.light_sd, j.light_site_sd, j.light_phase_sd, j
    )
    early, early_sd = _share(
        n_morning, n_light, setting, j.morning_sd, j.morning_site_sd, j.morning_phase_sd, j
    )
    light_share = expit(lit)
    of_light = np.stack([expit(early), expit(-early)], axis=-1)
    # d log p / d logit p = 1 - p.
    light_log_sd = (1 - light_share) * lit_sd
    half_log_sd = (1 - of_light) * early_sd[..., None]
    return LightShares(
        share=light_share[..., None] * of_light,
        log_sd=np.sqrt(light_log_sd[..., None] ** 2 + half_log_sd**2),
    )


def _count(
    shape: tuple[int, ...], place: tuple[npt.NDArray[np.int64], ...], some: npt.NDArray[np.bool_]
) -> Floats:
    counts = np.zeros(shape)
    np.add.at(counts, tuple(p[some] for p in place), 1.0)
    return counts


def _share(
    successes: Floats,
    trials: Floats,
    setting: tuple[str, ...],
    own_sd: float,
    own_site_sd: float,
    own_phase_sd: float,
    judgement: ForecastJudgement,
) -> tuple[Floats, Floats]:
    """Log odds of a share and their spread, shape (B, phases, S)."""
    n_bucks, n_phases, n_sites = trials.shape
    settings, of_site = np.unique(np.array(setting, dtype=str), return_inverse=True)
    site, phase, kind = np.eye(n_sites), np.eye(n_phases), np.eye(len(settings))[of_site]
    ones = np.ones((n_phases, n_sites, 1))

    def by_site(block: Floats) -> Floats:
        return np.broadcast_to(block[None], (n_phases, *block.shape))

    by_phase = np.broadcast_to(phase[:, None, :], (n_phases, n_sites, n_phases))
    shared = np.concatenate([ones, by_phase, by_site(kind), by_site(site)], axis=-1)
    shared_sd = np.full(shared.shape[-1], judgement.share_shared_sd)
    shared_sd[0] = FREE_SD
    rows = n_phases * n_sites
    shared = shared.reshape(rows, -1)
    covariance = (
        own_sd**2
        + own_phase_sd**2 * np.kron(phase, np.ones((n_sites, n_sites)))
        + own_site_sd**2 * np.kron(np.ones((n_phases, n_phases)), site)
    )
    fit = fit_mixed_logit(
        successes.reshape(n_bucks, rows),
        trials.reshape(n_bucks, rows),
        shared,
        covariance,
        shared_sd,
    )
    mean, sd = fit.log_odds(shared, covariance, np.diag(covariance))
    return mean.reshape(trials.shape), sd.reshape(trials.shape)
