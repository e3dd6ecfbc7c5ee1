"""Shares in shooting light against the model written out effect by effect, and an optimiser."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.optimize import minimize
from scipy.special import expit

from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.timekeeping.seasons import PHASES

BUCKS, SITES, SETTINGS = ("Ash", "Oak"), ("a", "b", "c"), ("food", "bed", "food")
J = ForecastJudgement(overall_sd=2.0, light_phase_sd=0.5, morning_phase_sd=0.4)
SOME = ("summer", "rut")


def table() -> pd.DataFrame:
    """Visits of two bucks in two phases, and some of a buck and a site that nobody asked about."""
    rng = np.random.default_rng(9)
    rows = [
        (buck, site, phase, half, light)
        for buck in BUCKS
        for site in SITES
        for phase in SOME
        for half, light in (("AM", True), ("PM", True), ("PM", False), ("AM", False))
        for _ in range(rng.integers(0, 9))
    ]
    rows += [("Elm", "a", "rut", "AM", True)] * 30 + [("Ash", "far", "rut", "AM", True)] * 30
    columns = ["buck", "site", "phase", "half", "in_light"]
    return pd.DataFrame(rows, columns=columns).sample(frac=1.0, random_state=1)


def fitted(
    successes: np.ndarray, trials: np.ndarray, own_sd: tuple[float, float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Log odds by buck, phase and site, and the spread of each buck's own part."""
    cells = [(b, p, s) for b in range(2) for p in range(len(PHASES)) for s in range(3)]

    def prior(*, shared: bool) -> np.ndarray:
        level, site, phase = (sd**2 for sd in own_sd)
        each = J.share_shared_sd**2
        out = np.zeros((len(cells), len(cells)))
        for i, (b, p, s) in enumerate(cells):
            for j, (other_b, other_p, other_s) in enumerate(cells):
                kind = SETTINGS[s] == SETTINGS[other_s]
                if shared:
                    out[i, j] += J.overall_sd**2
                    out[i, j] += each * ((p == other_p) + kind + (s == other_s))
                if b == other_b:
                    out[i, j] += level + site * (s == other_s) + phase * (p == other_p)
        return out

    k, n = successes.ravel(), trials.ravel()
    whole = prior(shared=True)
    root = np.linalg.cholesky(whole + 1e-9 * np.eye(len(whole)))

    def minus_log_posterior(white: np.ndarray) -> tuple[float, np.ndarray]:
        odds = root @ white
        slope = root.T @ (k - n * expit(odds)) - white
        return 0.5 * white @ white - float(k @ odds - n @ np.logaddexp(0, odds)), -slope

    best = minimize(minus_log_posterior, np.zeros(len(whole)), jac=True, tol=1e-10)
    odds = root @ best.x
    weight = n * expit(odds) * (1 - expit(odds))
    own, told = prior(shared=False), weight > 0
    across = own[:, told]
    inner = own[np.ix_(told, told)] + np.diag(1 / weight[told])
    spread = np.sqrt(np.diag(own - across @ np.linalg.solve(inner, across.T)))
    return odds.reshape(trials.shape), spread.reshape(trials.shape)
