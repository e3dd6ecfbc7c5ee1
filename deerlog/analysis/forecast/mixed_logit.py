"""Shares of trials that succeed, from what all bucks share and what is each buck's own.

A logistic regression in which every effect is held back towards none by a normal prior, so that a
buck with few data is like the others and one with many is like himself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg import cho_solve, solve_triangular
from scipy.special import expit

Floats = npt.NDArray[np.float64]

MOST_STEPS = 500
"""Usually four to ten; very many where log odds of tens are to be reached."""
ENOUGH = 0.02
"""Steps stop when no log odds moves by more than this; the next would move it by its square."""
LONGEST_STEP = 3.0
"""Most that one step may move any log odds."""
MOST_HALVINGS = 30
"""A step that leads down is halved until it leads up: the function has one top, and a step's way is
upwards."""
LEAST_TRIALS = 0.05
"""Rows with fewer trials and no success say too little to be worth their cost."""


@dataclass(frozen=True)
class _His:
    """One buck's rows, and where his own effects stand.

    ``pull`` (n,) weighs the rows: his own part of the log odds is ``covariance @ pull``.
    """

    rows: npt.NDArray[np.int64]
    shared_design: Floats
    covariance: Floats
    successes: Floats
    trials: Floats


@dataclass(frozen=True)
class _Told:
    """What a fit keeps of one buck.

    Attributes
    ----------
    rows
        His rows, n of them.
    pull
        Shape (n,): his own part of the log odds anywhere is its covariance with his rows, times
        this.
    root_weight
        Shape (n,): square root of what each row weighs.
    lower
        Shape (n, n): Cholesky factor of 1 + root_weight * covariance * root_weight.
    """

    rows: npt.NDArray[np.int64]
    pull: Floats
    root_weight: Floats
    lower: Floats

    def narrowed(self, covariance: Floats) -> Floats:
        """How much his rows narrow the variance of log odds elsewhere, shape (m,).

        Parameters
        ----------
        covariance
            Shape (m, n): of those log odds with his rows.
        """
        spread = solve_triangular(
            self.lower, (covariance * self.root_weight).T, lower=True, check_finite=False
        )
        return np.asarray(np.einsum("ij,ij->j", spread, spread))


@dataclass(frozen=True)
class MixedLogit:
    """A fitted regression: ``shared`` effects, shape (C,), and each buck's ``own``."""

    shared: Floats
    own: tuple[_Told, ...]

    def log_odds(
        self, shared_design: Floats, covariance: Floats, variance: Floats
    ) -> tuple[Floats, Floats]:
        """Log odds elsewhere and their posterior standard deviation.

        Parameters
        ----------
        shared_design
            Shape (m, C).
        covariance
            Shape (m, n): prior covariance of each buck's own part with that at the fitted rows.
        variance
            Shape (m,): prior variance of the own part.

        Returns
        -------
        mean, sd
            Shape (B, m). ``sd`` leaves out the doubt in the shared effects, which rest on all
            bucks' data.
        """
        mean = shared_design @ self.shared + self.own_log_odds(covariance)
        sd = np.empty_like(mean)
        for b, his in enumerate(self.own):
            narrowed = his.narrowed(covariance[:, his.rows])
            sd[b] = np.sqrt(np.maximum(variance - narrowed, 0.0))
        return mean, sd

    def own_log_odds(self, covariance: Floats) -> Floats:
        """Each buck's own part of the log odds elsewhere, shape (B, m)."""
        own = np.empty((len(self.own), len(covariance)))
        for b, his in enumerate(self.own):
            own[b] = covariance[:, his.rows] @ his.pull
        return own


def fit_mixed_logit(
    successes: Floats,
    trials: Floats,
    shared_design: Floats,
    covariance: Floats,
    shared_sd: Floats,
    *,
    start: tuple[Floats, Floats] | None = None,
) -> MixedLogit:
    """Most probable effects, and the spread about them (Laplace's approximation).

    Parameters
    ----------
    successes, trials
        Shape (B, n), not necessarily whole; ``0 <= successes <= trials``.
    shared_design
        Shape (n, C).
    covariance
        Shape (n, n): prior covariance of a buck's own part of the log odds, the same for all.
    shared_sd
        Shape (C,): prior standard deviation of each shared effect about zero.
    start
        Where to begin, such as at what was learned the week before: shared effects, shape (C,), and
        each buck's own part of the log odds, shape (B, n). Where the steps end does not hang on it
        beyond `ENOUGH`.

    Raises
    ------
    ArithmeticError
        The steps have not come to rest, as with a number in the data that is none.

    Notes
    -----
    Newton's method on one concave function, in the form of Rasmussen and Williams 2006, Gaussian
    Processes for Machine Learning, algorithm 3.1 (from memory; tested against a general
    optimiser). The bucks meet only through the shared effects, so those are solved for first (a
    Schur complement) and each buck's own after.
    """
    nowhere = np.zeros(len(shared_sd)), np.zeros(trials.shape)
    shared, own_start = nowhere if start is None else start
    prior = np.diag(1.0 / np.square(shared_sd))
    data = []
    for k, n in zip(successes, trials, strict=True):
        rows = np.flatnonzero((n > LEAST_TRIALS) | (k > 0))
        data.append(
            _His(rows, shared_design[rows], covariance[np.ix_(rows, rows)], k[rows], n[rows])
        )
    pulls = [np.zeros(len(his.rows)) for his in data]
    own = [part[his.rows] for part, his in zip(own_start, data, strict=True)]
    # What pulls belong to a given start is not known until a whole step has been taken from it.
    begun = any(part.any() for part in own)
    height = -np.inf if begun else _height(data, shared, own, pulls, prior)
    for _ in range(MOST_STEPS):
        gradient, curvature = -prior @ shared, prior.copy()
        steps = []
        for b, his in enumerate(data):
            residual, weight, lower = _factor(his, shared, own[b])
            target = weight * own[b] + residual
            # (covariance + 1 / weight)^-1 times the shared design, and times what he would like.
            root = np.sqrt(weight)[:, None]
            wanted = np.column_stack([his.shared_design, his.covariance @ target])
            solved = root * cho_solve((lower, True), root * wanted, check_finite=False)
            crossed, pull = solved[:, :-1], target - solved[:, -1]
            step = his.covariance @ pull - own[b]
            gradient += his.shared_design.T @ (residual - weight * step)
            curvature += his.shared_design.T @ crossed
            steps.append((pull, crossed))
        shared_step = np.linalg.solve(curvature, gradient)
        longest = 0.0
        new_pulls, new_own = [], []
        for b, (his, (pull, crossed)) in enumerate(zip(data, steps, strict=True)):
            # His own effects give way to a step of the shared ones.
            new_pulls.append(pull - crossed @ shared_step)
            new_own.append(his.covariance @ new_pulls[b])
            change = his.shared_design @ shared_step + new_own[b] - own[b]
            # np.maximum keeps what is not a number, so that it is never taken for rest.
            longest = float(np.maximum(longest, np.abs(change).max(initial=0.0)))
        if not np.isfinite(longest):
            raise ArithmeticError("the regression met a number that is none")
        if height == -np.inf and longest > LONGEST_STEP:
            # The start is of little use, and a part of a step from it would be of none.
            own = [np.zeros(len(his.rows)) for his in data]
            height = _height(data, shared, own, pulls, prior)
            continue
        scale = min(1.0, LONGEST_STEP / max(longest, 1e-12))
        for _ in range(MOST_HALVINGS):
            stepped = (
                shared + scale * shared_step,
                [p + scale * (n - p) for p, n in zip(own, new_own, strict=True)],
                [p + scale * (n - p) for p, n in zip(pulls, new_pulls, strict=True)],
            )
            reached = _height(data, *stepped, prior)
            if reached >= height - 1e-9 * (1 + abs(reached)):
                break
            scale /= 2
        (shared, own, pulls), height = stepped, reached
        if longest < ENOUGH:
            break
    else:
        raise ArithmeticError(f"the regression did not come to rest in {MOST_STEPS} steps")
    told = []
    for his, pull, part in zip(data, pulls, own, strict=True):
        _, weight, lower = _factor(his, shared, part)
        told.append(_Told(his.rows, pull, np.sqrt(weight), lower))
    return MixedLogit(shared=shared, own=tuple(told))


def _height(
    data: Sequence[_His],
    shared: Floats,
    own: Sequence[Floats],
    pulls: Sequence[Floats],
    prior: Floats,
) -> float:
    """Log of the posterior, but for a constant, where ``own`` is covariance times ``pulls``."""
    height = -0.5 * float(shared @ prior @ shared)
    for his, part, pull in zip(data, own, pulls, strict=True):
        odds = his.shared_design @ shared + part
        told = his.successes @ odds - his.trials @ np.logaddexp(0.0, odds)
        height += float(told - 0.5 * part @ pull)
    return height


def _factor(his: _His, shared: Floats, own: Floats) -> tuple[Floats, Floats, Floats]:
    """Residual and weight of his rows at one point, and the factor kept in `_Told`."""
    p = expit(his.shared_design @ shared + own)
    weight = his.trials * p * (1 - p)
    root = np.sqrt(weight)
    inner = root[:, None] * his.covariance * root
    inner.flat[:: len(root) + 1] += 1.0
    lower = np.asarray(np.linalg.cholesky(inner), dtype=np.float64)
    return his.successes - his.trials * p, weight, lower
