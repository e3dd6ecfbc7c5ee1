"""Forty bucks over five seasons scored in this process, without reading anything."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from statistics import median

import numpy as np
import pandas as pd
from benchmarks.table import Row, seconds
from benchmarks.workbench import SEED, Workbench
from simulation.ground import simulate_property
from simulation.judged import visits_of

from deerlog.analysis.residency.explain import reasons, what_if
from deerlog.analysis.residency.residency import Residency, residency
from deerlog.analysis.residency.standing import settling

AIM_SECONDS = 2.0
DAYS_BEFORE_THE_END = 60
"""A season that is still going on takes more work than one that is over."""


def rows(bench: Workbench) -> Iterator[Row]:
    """Scoring, and saying why; in seconds of processor, so that a busy machine does not count."""
    sizes = bench.sizes
    bench.tell("scoring in this process")
    simulated = simulate_property(
        np.random.default_rng(SEED), sizes.seasons, n_cameras=sizes.cameras, n_bucks=sizes.bucks
    )
    visits = visits_of(simulated)
    as_of = pd.Timestamp(simulated.as_of).as_unit("us") - pd.Timedelta(days=DAYS_BEFORE_THE_END)

    def score() -> Residency:
        return residency(visits, simulated.effort, simulated.calendar, as_of=as_of)

    result = score()
    if len(result.prior_log_odds) != sizes.bucks:
        raise RuntimeError(f"{len(result.prior_log_odds)} bucks scored of {sizes.bucks}")
    size = f"{sizes.bucks} bucks, {sizes.seasons} seasons, {len(visits):,} visits"
    works: dict[str, Callable[[], object]] = {
        f"scored in memory: {size}": score,
        "the reasons for every score": lambda: _explain(result),
    }
    for name, work in works.items():
        spent = median(_processor_seconds(work) for _ in range(sizes.few))
        yield Row(
            work=name,
            measured=f"{seconds(spent)} processor",
            aim=f"{AIM_SECONDS:g} s",
            met=spent <= AIM_SECONDS,
        )


def _explain(result: Residency) -> None:
    assert result.standing is not None
    told = reasons(result.table, result.weekly)
    labels = [told[buck].label for buck in result.standing.bucks]
    what_if(result.standing, labels)
    for buck, label in zip(result.standing.bucks, labels, strict=True):
        if label == "undecided":
            settling(result.standing, buck)


def _processor_seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start
