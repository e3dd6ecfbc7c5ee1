"""Which share of a buck's visits to a site falls in shooting light, before noon and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import expit

from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.mixed_logit import fit_mixed_logit
from deerlog.analysis.forecast.sighting_grid import codes
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import PHASES

Floats = npt.NDArray[np.float64]


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
    """Learn the shares from all visits known.

    Parameters
    ----------
    visits
        Of `deerlog.analysis.visits.buck_visits`, sure tags only.
    setting
        Setting of each site, length S.
    """
    j = judgement
    n_visits, n_light, n_morning = _counts(visits, bucks, sites)
    lit, lit_sd = _log_odds(
        n_light, n_visits, setting, (j.light_sd, j.light_site_sd, j.light_phase_sd), j
    )
    early, early_sd = _log_odds(
        n_morning, n_light, setting, (j.morning_sd, j.morning_site_sd, j.morning_phase_sd), j
    )
    of_light = np.stack([expit(early), expit(-early)], axis=-1)
    # The logarithm of a share moves by (1 - share) as its log odds move by 1.
    light_log_sd = expit(-lit) * lit_sd
    half_log_sd = (1 - of_light) * early_sd[..., None]
    return LightShares(
        share=expit(lit)[..., None] * of_light,
        log_sd=np.hypot(light_log_sd[..., None], half_log_sd),
    )


def _counts(
    visits: pd.DataFrame, bucks: tuple[str, ...], sites: tuple[str, ...]
) -> tuple[Floats, Floats, Floats]:
    """Visits, those in shooting light, and those of them before noon, (B, phases, S) each."""
    buck, site = codes(visits["buck"], bucks), codes(visits["site"], sites)
    phase = codes(visits["phase"], PHASES)
    light = visits["in_light"].to_numpy(dtype=bool)
    morning = light & (visits["half"] == HALVES[0]).to_numpy()
    known = (buck >= 0) & (site >= 0)
    counts = np.zeros((3, len(bucks), len(PHASES), len(sites)))
    for i, some in enumerate((known, known & light, known & morning)):
        np.add.at(counts[i], (buck[some], phase[some], site[some]), 1.0)
    return counts[0], counts[1], counts[2]


def _log_odds(
    successes: Floats,
    trials: Floats,
    setting: tuple[str, ...],
    own_sd: tuple[float, float, float],
    judgement: ForecastJudgement,
) -> tuple[Floats, Floats]:
    """Log odds of a share and their spread, shape (B, phases, S).

    Shared by all bucks: an overall level, phases, settings and sites. His own: a level, sites and
    phases, spread by ``own_sd`` in that order.
    """
    n_bucks, n_phases, n_sites = trials.shape
    settings, setting_of_site = np.unique(np.array(setting, dtype=str), return_inverse=True)
    rows = n_phases * n_sites
    phase = np.kron(np.eye(n_phases), np.ones((n_sites, 1)))
    site = np.kron(np.ones((n_phases, 1)), np.eye(n_sites))
    kind = np.kron(np.ones((n_phases, 1)), np.eye(len(settings))[setting_of_site])
    shared = np.concatenate([np.ones((rows, 1)), phase, kind, site], axis=1)
    shared_sd = np.full(shared.shape[1], judgement.share_shared_sd)
    shared_sd[0] = judgement.overall_sd
    level_sd, site_sd, phase_sd = own_sd
    covariance = level_sd**2 + site_sd**2 * (site @ site.T) + phase_sd**2 * (phase @ phase.T)
    fit = fit_mixed_logit(
        successes.reshape(n_bucks, rows),
        trials.reshape(n_bucks, rows),
        shared,
        covariance,
        shared_sd,
    )
    mean, sd = fit.log_odds(shared, covariance, np.diag(covariance))
    return mean.reshape(trials.shape), sd.reshape(trials.shape)
