"""Shares of trials that succeed, from what all bucks share and what is each buck's own.

A logistic regression in which every effect is held back towards what was assumed by a normal prior,
so that a buck with few data is like the others and one with many is like himself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import repeat

import numpy as np
from scipy.linalg import cho_solve, lapack, solve_triangular
from scipy.special import expit, logit

from deerlog.analysis.arrays import Floats, Ints

MOST_STEPS = 500
"""Usually four to ten; very many where log odds of tens are to be reached."""
ENOUGH = 0.03
"""Steps stop when no averaged share's log odds moves by more than this."""
IN_SIGHT = 8.0
"""Log odds beyond which, either way, nothing is measured: a share of one in three thousand."""
LONGEST_STEP = 3.0
"""Most that one step may move any log odds."""
MOST_SPREADS = 25
"""Times that the spreads are worked out anew, usually five to ten; after that they stay."""
MOST_HALVINGS = 30
"""A step that leads down is halved until it leads up."""

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(11)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, kw_only=True)
class Record:
    """What is known of one buck, in n rows that share m own effects.

    ``successes`` of ``trials`` (n,), not necessarily whole. ``design`` (n, C): of the shared
    effects. ``effect`` (n,), rising: which own effect is in each row's log odds; each of the m is
    in one. ``covariance`` (m, m): prior covariance of his own effects.
    """

    successes: Floats
    trials: Floats
    design: Floats
    effect: Ints
    covariance: Floats

    def summed(self, of_rows: Floats) -> Floats:
        """Sums over the rows of each own effect, shape (m,) or (m, C)."""
        first = np.searchsorted(self.effect, np.arange(len(self.covariance)))
        return np.add.reduceat(of_rows, first, axis=0) if len(first) else of_rows[:0]


@dataclass(frozen=True, kw_only=True)
class _Point:
    """One buck at one point of the way.

    ``odds`` (n,): mean log odds of his rows. ``gradient`` (C,), ``curvature`` (C, C): what they say
    of the shared effects, his own giving way. ``wanted`` (m,): the pulls that he would have if the
    shared effects stayed. ``root_weight`` (m,): square root of what is told of each own effect.
    ``lower`` (m, m): Cholesky factor of 1 + root_weight * covariance * root_weight. ``crossed`` (m,
    C): (covariance + 1 / weight)^-1 times the mean design.
    """

    odds: Floats
    gradient: Floats
    curvature: Floats
    wanted: Floats
    root_weight: Floats
    lower: Floats
    crossed: Floats


@dataclass(frozen=True, kw_only=True)
class MixedLogit:
    """A fitted regression: ``shared`` effects (C,) and how little is known of them (C, C).

    ``pulls``, by buck, (m,): his own part of the log odds anywhere is its covariance with his own
    effects, times this. ``variances`` of his rows' log odds, by buck.
    """

    shared: Floats
    shared_covariance: Floats
    pulls: tuple[Floats, ...]
    variances: tuple[Floats, ...]
    _points: tuple[_Point, ...]

    def odds_at_rows(self, buck: int) -> Floats:
        """His log odds at the rows of his record, shape (n,)."""
        return self._points[buck].odds

    def log_odds(
        self, buck: int, design: Floats, covariance: Floats, variance: Floats
    ) -> tuple[Floats, Floats]:
        """Mean and standard deviation of a buck's log odds elsewhere, shape (k,) each.

        ``design`` is (k, C); ``covariance`` (k, m) and ``variance`` (k,) are the prior ones of his
        own part there, with his own effects and with itself.
        """
        at = self._points[buck]
        mean = design @ self.shared + covariance @ self.pulls[buck]
        told = solve_triangular(
            at.lower, (covariance * at.root_weight).T, lower=True, check_finite=False
        )
        own = np.maximum(variance - np.einsum("ij,ij->j", told, told), 0.0)
        left = design - covariance @ at.crossed
        return mean, np.sqrt(own + np.einsum("ij,ij->i", left @ self.shared_covariance, left))


def fit_mixed_logit(
    records: Sequence[Record],
    prior_mean: Floats,
    prior_sd: Floats,
    *,
    start: tuple[Floats, Sequence[Floats], Sequence[Floats]] | None = None,
) -> MixedLogit:
    """The normal distribution of all effects that is nearest to what is known of them.

    ``prior_mean``, ``prior_sd`` (C,) are of the shared effects. ``start`` is where to begin, such
    as at what was learned the week before: shared effects, each buck's pulls and his rows'
    variances; where the steps end does not hang on it beyond `ENOUGH`. `ArithmeticError` when the
    steps have not come to rest, as with a number in the data that is none.

    The usual (Laplace's) spread about the most probable effects makes averaged shares too high
    where successes are rare. Here means and spreads meet, so that over his rows a buck's *averaged*
    shares add up to what came: the residual and the weight of a row are those of its share averaged
    over the spread of its log odds (the Gaussian variational approximation; Opper and Archambeau
    2009, Neural Computation 21:786, from memory). Newton's method as in Rasmussen and Williams
    2006, Gaussian Processes for Machine Learning, algorithm 3.1 (from memory; tested against a
    general optimiser). The bucks meet only through the shared effects, so those are solved for
    first (a Schur complement) and each buck's own after.
    """
    if start is None:
        none = [(np.zeros(len(r.covariance)), np.zeros(len(r.trials))) for r in records]
        start = prior_mean, [pull for pull, _ in none], [v for _, v in none]
    shared, pulls, variance = start
    n_spread = 0
    precision = np.diag(1.0 / np.square(prior_sd))
    own = [r.covariance @ pull for r, pull in zip(records, pulls, strict=True)]

    def height(shared: Floats, own: Sequence[Floats], pulls: Sequence[Floats]) -> float:
        """Expected log of the posterior, but for a constant; one top for given variances."""
        total = -0.5 * float((shared - prior_mean) @ precision @ (shared - prior_mean))
        for r, part, pull, spread in zip(records, own, pulls, variance, strict=True):
            odds = r.design @ shared + part[r.effect]
            total += float(r.successes @ odds - r.trials @ _mean_softplus(odds, spread))
            total -= 0.5 * float(part @ pull)
        return total

    for _ in range(MOST_STEPS):
        points = [_point(*of_buck) for of_buck in zip(records, own, variance, repeat(shared))]
        curvature = precision + sum(point.curvature for point in points)
        gradient = precision @ (prior_mean - shared) + sum(point.gradient for point in points)
        shared_covariance: Floats = np.asarray(np.linalg.inv(curvature), dtype=np.float64)
        shared_step = shared_covariance @ gradient
        # His own effects give way to a step of the shared ones.
        pull_steps = [
            point.wanted - point.crossed @ shared_step - old
            for point, old in zip(points, pulls, strict=True)
        ]
        own_steps = [r.covariance @ step for r, step in zip(records, pull_steps, strict=True)]
        wanted = [
            point.odds + r.design @ shared_step + step[r.effect]
            for r, point, step in zip(records, points, own_steps, strict=True)
        ]
        longest = _furthest([point.odds for point in points], wanted)
        if not np.isfinite(longest):
            raise ArithmeticError("the regression met a number that is none")
        here, scale = height(shared, own, pulls), min(1.0, LONGEST_STEP / max(longest, 1e-12))
        for _ in range(MOST_HALVINGS):
            stepped = (
                shared + scale * shared_step,
                [part + scale * step for part, step in zip(own, own_steps, strict=True)],
                [pull + scale * step for pull, step in zip(pulls, pull_steps, strict=True)],
            )
            if height(*stepped) >= here - 1e-9 * (1 + abs(here)):
                break
            scale /= 2
        shared, own, pulls = stepped
        settled = scale == 1 and longest < ENOUGH
        if longest < LONGEST_STEP and n_spread < MOST_SPREADS:
            # Ever less of the way, since what a spread calls for may be to and fro between two.
            part, n_spread = min(1.0, 4.0 / (n_spread + 1)), n_spread + 1
            narrow = [_averaged(o, v) for o, v in zip(wanted, variance, strict=True)]
            variance = [
                np.asarray(v + part * (_variance(r, p, shared_covariance) - v))
                for r, p, v in zip(records, points, variance, strict=True)
            ]
            wide = [_averaged(o, v) for o, v in zip(wanted, variance, strict=True)]
            settled = settled and _furthest(narrow, wide) < ENOUGH
        if settled:
            break
    else:
        raise ArithmeticError(f"the regression did not come to rest in {MOST_STEPS} steps")
    return MixedLogit(
        shared=shared,
        shared_covariance=shared_covariance,
        pulls=tuple(pulls),
        variances=tuple(variance),
        _points=tuple(points),
    )


def _furthest(before: Sequence[Floats], after: Sequence[Floats]) -> float:
    """How far any log odds has moved within `IN_SIGHT`; not a number where one is none."""
    moved = [
        np.abs(np.clip(a, -IN_SIGHT, IN_SIGHT) - np.clip(b, -IN_SIGHT, IN_SIGHT)).max(initial=0.0)
        for a, b in zip(after, before, strict=True)
    ]
    return float(np.max(moved, initial=0.0))


def _averaged(odds: Floats, variance: Floats) -> Floats:
    """Log odds of the share averaged over normal log odds, shape (n,)."""
    at = odds[:, None] + np.sqrt(variance)[:, None] * _NODES
    return np.asarray(logit(expit(at) @ _WEIGHTS))


def _mean_softplus(odds: Floats, variance: Floats) -> Floats:
    """Mean of log(1 + e^x) over normal x, shape (n,)."""
    at = odds[:, None] + np.sqrt(variance)[:, None] * _NODES
    return np.asarray(np.logaddexp(0.0, at) @ _WEIGHTS)


def _point(record: Record, own: Floats, variance: Floats, shared: Floats) -> _Point:
    odds = record.design @ shared + own[record.effect]
    p = expit(odds[:, None] + np.sqrt(variance)[:, None] * _NODES)
    row_weight = record.trials * ((p * (1 - p)) @ _WEIGHTS)
    residual = record.successes - record.trials * (p @ _WEIGHTS)
    weighted = row_weight[:, None] * record.design
    weight, design = record.summed(row_weight), record.summed(weighted)
    mean_design = design / np.maximum(weight, 1e-300)[:, None]
    root = np.sqrt(weight)
    inner = root[:, None] * record.covariance * root
    inner.flat[:: len(root) + 1] += 1.0
    lower = np.asarray(np.linalg.cholesky(inner), dtype=np.float64)
    target = weight * own + record.summed(residual)
    asked = root[:, None] * np.column_stack([mean_design, record.covariance @ target])
    solved = root[:, None] * cho_solve((lower, True), asked, check_finite=False)
    crossed, wanted = solved[:, :-1], target - solved[:, -1]
    return _Point(
        odds=odds,
        gradient=record.design.T @ residual - design.T @ (record.covariance @ wanted - own),
        curvature=weighted.T @ record.design - design.T @ mean_design + mean_design.T @ crossed,
        wanted=wanted,
        root_weight=root,
        lower=lower,
        crossed=crossed,
    )


def _variance(record: Record, point: _Point, shared_covariance: Floats) -> Floats:
    """Posterior variance of the log odds of his rows, shape (n,)."""
    prior = np.diag(record.covariance)
    if not len(prior):
        return prior
    inverse = lapack.dtrtri(point.lower, lower=1)[0]
    weight = np.maximum(point.root_weight**2, 1e-9)
    # (covariance^-1 + weight)^-1 on its diagonal; what weighs nothing is as before.
    own = np.clip((1.0 - np.square(inverse).sum(axis=0)) / weight, 0.0, prior)
    own = np.where(weight > 1e-9, own, prior)
    left = record.design - (record.covariance @ point.crossed)[record.effect]
    return np.asarray(own[record.effect] + np.einsum("ij,ij->i", left @ shared_covariance, left))
