"""How good a set of residency scores is: share decided, right, Brier score, reliability."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import betaincinv

from .simulated_property import SimulatedProperty

DECIDED = (20.0, 80.0)
"""At most the first: visiting; at least the second: resident; between: undecided."""

BIN_EDGES = (0.0, 1.0, 5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 95.0, 99.0, 100.0)

Scores = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """Summary of scores against the truth; each share has its counts and a 95 % interval.

    Attributes
    ----------
    n, n_decided, n_right
        Bucks scored, those decided, and those decided rightly.
    brier, brier_se
        Mean squared difference of score / 100 and truth, and its standard error, by property
        where properties are given (bucks of one property err together).
    """

    n: int
    n_decided: int
    n_right: int
    brier: float
    brier_se: float

    @property
    def share_decided(self) -> float:
        return self.n_decided / self.n if self.n else float("nan")

    @property
    def share_right(self) -> float:
        return self.n_right / self.n_decided if self.n_decided else float("nan")

    @property
    def decided_interval(self) -> tuple[float, float]:
        return jeffreys_interval(self.n_decided, self.n)

    @property
    def right_interval(self) -> tuple[float, float]:
        return jeffreys_interval(self.n_right, self.n_decided)

    def __str__(self) -> str:
        low, high = self.right_interval
        return (
            f"{self.n} bucks: {self.share_decided:.1%} decided, "
            f"{self.share_right:.1%} of them right ({low:.1%} to {high:.1%}), "
            f"Brier {self.brier:.4f} (SE {self.brier_se:.4f})"
        )


def jeffreys_interval(k: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Jeffreys interval of k in n: quantiles of Beta(k + 1/2, n - k + 1/2).

    Ends at 0 for k = 0 and at 1 for k = n (Brown, Cai and DasGupta 2001, Statistical Science
    16:101).
    """
    if n == 0:
        return 0.0, 1.0
    tail = (1 - level) / 2
    low = 0.0 if k == 0 else float(betaincinv(k + 0.5, n - k + 0.5, tail))
    high = 1.0 if k == n else float(betaincinv(k + 0.5, n - k + 0.5, 1 - tail))
    return low, high


def calibration(
    score: Scores,
    resident: Truths,
    *,
    property_number: npt.NDArray[np.int64] | None = None,
    decided: tuple[float, float] = DECIDED,
) -> Calibration:
    """Judge scores from 0 to 100 against whether each buck truly is a resident.

    Parameters
    ----------
    score, resident
        Shape (n,).
    property_number
        Property each buck belongs to, shape (n,), for the standard error.
    decided
        Bounds of the two labels on the score.
    """
    score = np.asarray(score, dtype=float)
    resident = np.asarray(resident, dtype=bool)
    if not np.all((score >= 0) & (score <= 100)):
        raise ValueError("scores run from 0 to 100, and none may be missing")
    says_resident, says_visiting = score >= decided[1], score <= decided[0]
    error = (score / 100 - resident) ** 2
    group = np.arange(len(score)) if property_number is None else np.asarray(property_number)
    _, group = np.unique(group, return_inverse=True)
    n_groups = int(group.max()) + 1 if len(group) else 0
    brier = float(error.mean()) if len(error) else float("nan")
    residual = np.bincount(group, error - brier, minlength=n_groups)
    spread = n_groups / max(n_groups - 1, 1) * float((residual**2).sum())
    return Calibration(
        n=len(score),
        n_decided=int((says_resident | says_visiting).sum()),
        n_right=int((says_resident & resident).sum() + (says_visiting & ~resident).sum()),
        brier=brier,
        brier_se=float(np.sqrt(spread)) / max(len(error), 1),
    )


def reliability_table(
    score: Scores, truth: Truths, edges: tuple[float, ...] = BIN_EDGES
) -> pd.DataFrame:
    """Of what was scored from 80 to 90, how many came true? One row a bin that holds any.

    Columns: ``low, high`` (bin, the upper end belongs to the last bin only), ``n``,
    ``mean_score``, ``n_true``, ``percent_true``, ``percent_low, percent_high`` (95 % Jeffreys),
    ``fits`` (the mean score lies in that interval).
    """
    score = np.asarray(score, dtype=float)
    truth = np.asarray(truth, dtype=bool)
    place = np.clip(np.searchsorted(edges, score, side="right") - 1, 0, len(edges) - 2)
    rows = []
    for i in range(len(edges) - 1):
        here = place == i
        n, k = int(here.sum()), int(truth[here].sum())
        if n == 0:
            continue
        low, high = (100 * end for end in jeffreys_interval(k, n))
        mean = float(score[here].mean())
        rows.append(
            {
                "low": edges[i],
                "high": edges[i + 1],
                "n": n,
                "mean_score": mean,
                "n_true": k,
                "percent_true": 100 * k / n,
                "percent_low": low,
                "percent_high": high,
                "fits": low <= mean <= high,
            }
        )
    return pd.DataFrame(rows)


def bucks_to_score(simulated: SimulatedProperty, *, alive: bool = True) -> pd.DataFrame:
    """Truth about the bucks a person would ask about on the last day of the tables.

    Parameters
    ----------
    alive
        Leave out bucks that died by that day: whether a dead buck lives here through the hunting
        season has no answer.

    Returns
    -------
    DataFrame
        ``buck, season, pattern, resident, days_around, alive_until`` of that day's season, for
        every buck with a sure sighting by then.
    """
    season = int(simulated.calendar.season_of(pd.DatetimeIndex([simulated.as_of]))[0])
    truth = simulated.truth.seasons
    named = simulated.sightings.loc[~simulated.sightings["unsure"], "buck"].unique()
    kept = (truth["season"] == season) & truth["buck"].isin(named)
    if alive:
        kept &= ~(truth["alive_until"] < pd.Timestamp(simulated.as_of))
    return truth[kept].reset_index(drop=True)
