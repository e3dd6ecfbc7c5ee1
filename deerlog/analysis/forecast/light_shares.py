"""Which share of a buck's visits to a site falls in shooting light, before noon and after."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from scipy.special import expit

from deerlog.analysis.arrays import Bools, Floats, Ints
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.mixed_logit import MixedLogit, Record, fit_mixed_logit
from deerlog.analysis.forecast.sighting_grid import codes
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import PHASES


class _Share(NamedTuple):
    """Log odds of a share and their spread, (B, cells, S) each, with the fit behind them and, by
    buck, its rows' places among cells times sites."""

    log_odds: Floats
    sd: Floats
    fit: MixedLogit
    rows: list[Ints]


@dataclass(frozen=True, kw_only=True)
class LightShares:
    """Shares, by buck, cell and site: ``light`` of visits in shooting light among all visits,
    ``morning`` of those before noon among those in shooting light.

    The cells are `PHASES`; where hunting seasons are given, then those again, in an opener.
    """

    bucks: tuple[str, ...]
    sites: tuple[str, ...]
    light: _Share
    morning: _Share

    def at(self, cell_weights: Floats) -> tuple[Floats, Floats]:
        """Share of his visits in shooting light in AM and in PM, and the spread of its logarithm,
        (B, S, P, 2) each; ``cell_weights`` (P, cells) is how far each point in time belongs to each
        cell."""
        lit, lit_sd, early, early_sd = (
            np.einsum("bfs,pf->bsp", of_cell, cell_weights)
            for of_cell in (*self.light[:2], *self.morning[:2])
        )
        of_light = np.stack([expit(early), expit(-early)], axis=-1)
        # The logarithm of a share moves by (1 - share) as its log odds move by 1.
        half_sd = (1 - of_light) * early_sd[..., None]
        return expit(lit)[..., None] * of_light, np.hypot(
            (expit(-lit) * lit_sd)[..., None], half_sd
        )


def light_shares(
    visits: pd.DataFrame,
    bucks: tuple[str, ...],
    sites: tuple[str, ...],
    setting: tuple[str, ...],
    judgement: ForecastJudgement,
    *,
    opener: Bools | None = None,
    before: LightShares | None = None,
) -> LightShares:
    """Learn the shares from all visits known (sure tags only); ``setting`` is each site's.

    ``opener`` (V,): which visits fall in an opener; None where no hunting season is given.
    ``before``, learned on an earlier day, is a start that is soon corrected, nothing more.
    """
    j = judgement
    buck, site = codes(visits["buck"], bucks), codes(visits["site"], sites)
    cell, n_cells = codes(visits["phase"], PHASES), len(PHASES)
    if opener is not None:
        cell, n_cells = cell + n_cells * opener, 2 * n_cells
    light = visits["in_light"].to_numpy(dtype=bool)
    morning = light & (visits["half"] == HALVES[0]).to_numpy()
    known = (buck >= 0) & (site >= 0)
    counts = np.zeros((3, len(bucks), n_cells, len(sites)))
    for i, some in enumerate((known, known & light, known & morning)):
        np.add.at(counts[i], (buck[some], cell[some], site[some]), 1.0)
    begun: tuple[_Share | None, _Share | None] = None, None
    place = [-1] * len(bucks)
    if before is not None and before.sites == sites and before.light[0].shape[1] == n_cells:
        begun = before.light, before.morning
        place = [before.bucks.index(b) if b in before.bucks else -1 for b in bucks]
    of_light = (j.light_sd, j.light_site_sd, j.light_phase_sd)
    of_morning = (j.morning_sd, j.morning_site_sd, j.morning_phase_sd)
    as_likely = (0.0,) * len(PHASES)
    return LightShares(
        bucks=bucks,
        sites=sites,
        light=_share(
            counts[1], counts[0], setting, j.light_phase_means, of_light, j, begun[0], place
        ),
        morning=_share(counts[2], counts[1], setting, as_likely, of_morning, j, begun[1], place),
    )


def _share(
    successes: Floats,
    trials: Floats,
    setting: tuple[str, ...],
    phase_means: tuple[float, ...],
    own_sd: tuple[float, float, float],
    judgement: ForecastJudgement,
    before: _Share | None,
    place: list[int],
) -> _Share:
    """A share of the visits, (B, cells, S), begun at ``before`` with each buck's place in it.

    Shared by all bucks: an overall level, phases, the opener, settings and sites. His own: a
    level, sites and phases, spread by ``own_sd`` in that order.
    """
    _, n_cells, n_sites = trials.shape
    n_phases, in_opener = len(PHASES), np.arange(n_cells)[:, None] // len(PHASES)
    settings, setting_of_site = np.unique(np.array(setting, dtype=str), return_inverse=True)
    of_cell = np.tile(np.eye(n_phases), (n_cells // n_phases, 1))
    phase = np.kron(of_cell, np.ones((n_sites, 1)))
    opener = np.repeat(in_opener, n_sites, axis=0)[:, : n_cells // n_phases - 1]
    site = np.kron(np.ones((n_cells, 1)), np.eye(n_sites))
    kind = np.kron(np.ones((n_cells, 1)), np.eye(len(settings))[setting_of_site])
    shared = np.concatenate([np.ones((len(site), 1)), phase, opener, kind, site], axis=1)
    shared_sd = np.full(shared.shape[1], judgement.share_shared_sd)
    shared_sd[0] = judgement.overall_sd
    shared_sd[1 + n_phases :][: opener.shape[1]] = judgement.opener_sd
    level_sd, site_sd, phase_sd = own_sd
    covariance = level_sd**2 + site_sd**2 * (site @ site.T) + phase_sd**2 * (phase @ phase.T)
    rows_of, records, pulls, variances = [], [], [], []
    for k, n, old in zip(successes, trials, place, strict=True):
        rows = np.flatnonzero(n.ravel())
        rows_of.append(rows)
        records.append(
            Record(
                successes=k.ravel()[rows],
                trials=n.ravel()[rows],
                design=shared[rows],
                effect=np.arange(len(rows)),
                covariance=covariance[np.ix_(rows, rows)],
            )
        )
        begun = np.zeros((2, n.size))
        if before is not None and old >= 0:
            begun[:, before.rows[old]] = before.fit.pulls[old], before.fit.variances[old]
        pulls.append(begun[0, rows])
        variances.append(begun[1, rows])
    mean = np.zeros(len(shared_sd))
    mean[1 : 1 + n_phases] = phase_means
    start = mean if before is None else before.fit.shared, pulls, variances
    fit = fit_mixed_logit(records, mean, shared_sd, start=start)
    found = np.empty((2, *trials.shape))
    for b, rows in enumerate(rows_of):
        of_buck = fit.log_odds(b, shared, covariance[:, rows], np.diag(covariance))
        found[:, b] = np.reshape(of_buck, (2, n_cells, n_sites))
    return _Share(found[0], found[1], fit, rows_of)
