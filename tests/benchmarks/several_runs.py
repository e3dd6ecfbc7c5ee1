"""The middle of several runs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from statistics import median

from benchmarks.one_process import Spent


def in_turn(works: Sequence[Callable[[], Spent]], times: int) -> list[Spent]:
    """Run each of the works so often, turn by turn, so that a busy spell falls on all alike.

    Returns
    -------
    list
        For each work the median of each figure; the output is that of the run in the middle by wall
        time.
    """
    runs = [[work() for work in works] for _ in range(times)]
    return [_middle(of_one) for of_one in zip(*runs, strict=True)]


def _middle(runs: Sequence[Spent]) -> Spent:
    return Spent(
        wall_s=median(run.wall_s for run in runs),
        processor_s=_median_told([run.processor_s for run in runs]),
        peak_mb=_median_told([run.peak_mb for run in runs]),
        output=sorted(runs, key=lambda run: run.wall_s)[len(runs) // 2].output,
    )


def _median_told(figures: Sequence[float | None]) -> float | None:
    told = [figure for figure in figures if figure is not None]
    return median(told) if told else None
