"""How far the forecast gets from the best simple rule to the truth, on simulated properties.

    cd tests
    python -m simulation.forecast_skill

prints R and the reliability table on properties that no constant was chosen on (about ten seconds a
property and core).

R = (best simple rule's log loss - ours) / (best simple rule's - the truth's). The truth knows on
which days the buck is on his range and where it lies, not where he goes that day.
"""

from __future__ import annotations

import argparse
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.analysis.backtest.backtest import RULES, Backtest, backtest
from deerlog.analysis.backtest.scores import brier, log_loss, reliability
from deerlog.analysis.visits import HALVES

from .ground import simulate_property
from .judged import visits_of
from .simulated_property import SimulatedProperty

HELD_OUT_SEEDS = tuple(range(300, 306))
"""Properties 100 to 107 were looked at while the constants were chosen; these were not."""

DENSITIES = ("busy", "thin")
N_SEASONS = 3


@dataclass(frozen=True, kw_only=True)
class Skill:
    """R, and what it is made of (log losses in nats a half-day)."""

    r: float
    ours: float
    truth: float
    best_rule: str
    best_rule_loss: float
    half_days: int


def replay(seed: int, density: str) -> pd.DataFrame:
    """A property's backtest with the true chance beside it, column ``truth``."""
    simulated = simulate_property(
        np.random.default_rng(seed), N_SEASONS, density=density, chances=True
    )
    first = pd.Timestamp(simulated.calendar.bounds(simulated.seasons[-1])[0])
    return with_truth(simulated, replayed(simulated, first, pd.Timestamp(simulated.as_of))).assign(
        property=f"{seed} {density}"
    )


def replayed(simulated: SimulatedProperty, first: pd.Timestamp, last: pd.Timestamp) -> Backtest:
    """The backtest of a simulated property over some days."""
    return backtest(
        visits_of(simulated),
        simulated.effort,
        simulated.calendar,
        simulated.sites,
        first=first,
        last=last,
    )


def with_truth(simulated: SimulatedProperty, made: Backtest) -> pd.DataFrame:
    """The backtest's half-days with the true chance of each, column ``truth``."""
    truth, table = simulated.truth, made.half_days
    assert truth.chance_on_range is not None
    place = (
        pd.Index(truth.bucks).get_indexer(pd.Index(table["buck"])),
        pd.Index(truth.sites).get_indexer(pd.Index(table["site"])),
        truth.days.get_indexer(pd.DatetimeIndex(table["day"])),
        pd.Index(HALVES).get_indexer(pd.Index(table["half"])),
    )
    return table.assign(truth=truth.chance_on_range[place])


def skill(half_days: pd.DataFrame) -> Skill:
    """R over all half-days together."""
    loss = {rule: log_loss(half_days[rule], half_days["seen"]) for rule in RULES[1:]}
    best = min(loss, key=loss.__getitem__)
    # A buck who is away and a flawless tag make a true chance of 0; a wrong tag is in it.
    truth = log_loss(half_days["truth"].clip(1e-12, 1 - 1e-12), half_days["seen"])
    ours = log_loss(half_days["forecast"], half_days["seen"])
    return Skill(
        r=(loss[best] - ours) / (loss[best] - truth),
        ours=ours,
        truth=truth,
        best_rule=best,
        best_rule_loss=loss[best],
        half_days=len(half_days),
    )


def share_true(half_days: pd.DataFrame, low: float, high: float) -> tuple[float, float, float, int]:
    """Of chances given from ``low`` to ``high``: mean given, share that came true, its standard
    error by property (half-days of one property err together), and their number."""
    given = half_days[(half_days["forecast"] >= low) & (half_days["forecast"] < high)]
    share = float(given["seen"].mean())
    by_property = given.groupby("property", observed=True)["seen"].agg(["sum", "size"])
    residual = by_property["sum"] - share * by_property["size"]
    n = len(by_property)
    error = float(np.sqrt(n / max(n - 1, 1) * (residual**2).sum()) / max(len(given), 1))
    return float(given["forecast"].mean()), share, error, len(given)


def report(half_days: pd.DataFrame) -> str:
    """What the command prints."""
    lines = []
    groups = {"all": half_days}
    for density in half_days["property"].str.split().str[-1].unique():
        groups[density] = half_days[half_days["property"].str.endswith(density)]
    for name, group in groups.items():
        s = skill(group)
        lines.append(
            f"{name:>5}: R {s.r:.3f}  log loss {s.ours:.5f} (truth {s.truth:.5f}, best simple rule "
            f"{s.best_rule} {s.best_rule_loss:.5f}), {s.half_days} half-days, "
            f"{group['property'].nunique()} properties"
        )
    each = [skill(g).r for _, g in half_days.groupby("property")]
    lines.append(f"R by property: {' '.join(f'{r:.2f}' for r in each)}")
    bootstrap = _bootstrap(half_days)
    lines.append(f"R, 95 % over properties: {bootstrap[0]:.3f} to {bootstrap[1]:.3f}")
    for rule in (*RULES, "truth"):
        lines.append(f"Brier {rule:>12}: {brier(half_days[rule], half_days['seen']):.5f}")
    mean, share, error, n = share_true(half_days, 0.2, 0.3)
    lines.append(
        f"Of {n} chances given as 20 to 30 % (mean {mean:.1%}), {share:.1%} came true "
        f"(standard error {error:.1%})"
    )
    table = reliability(half_days["forecast"], half_days["seen"])
    lines.append(table.round(4).to_string(index=False))
    return "\n".join(lines)


def _bootstrap(half_days: pd.DataFrame) -> tuple[float, float]:
    """R over properties drawn again and again."""
    sums = np.array(
        [
            [len(g) * log_loss(g[c].clip(1e-12, 1 - 1e-12), g["seen"]) for c in (*RULES, "truth")]
            for _, g in half_days.groupby("property")
        ]
    )
    drawn = np.random.default_rng(1).multinomial(len(sums), np.full(len(sums), 1 / len(sums)), 2000)
    ours, all_time, last_days, truth = (drawn @ sums).T
    best = np.minimum(all_time, last_days)
    low, high = np.quantile((best - ours) / (best - truth), [0.025, 0.975])
    return float(low), float(high)


def main() -> None:
    """Print R and the reliability table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--properties", type=int, default=len(HELD_OUT_SEEDS))
    parser.add_argument("--first-seed", type=int, default=HELD_OUT_SEEDS[0])
    parser.add_argument("--jobs", type=int, default=os.cpu_count())
    chosen = parser.parse_args()
    seeds = range(chosen.first_seed, chosen.first_seed + chosen.properties)
    cases = [(seed, density) for seed in seeds for density in DENSITIES]
    parts = []
    with ProcessPoolExecutor(chosen.jobs) as pool:
        for part in pool.map(replay, *zip(*cases, strict=True)):
            parts.append(part)
            told = f"{part['property'].iloc[0]}: R {skill(part).r:.3f}"
            print(told, file=sys.stderr, flush=True)
    print(report(pd.concat(parts, ignore_index=True)))


if __name__ == "__main__":
    main()
