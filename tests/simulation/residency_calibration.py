"""How good the residency label is on simulated properties, beside two rules people use by hand.

    cd tests
    python -m simulation.residency_calibration

prints the tables of DEVELOPERS.md. The properties are others than those that the judgement was
looked at on.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from deerlog.analysis.residency.standing import settling

from .ground import DENSITY, simulate_property
from .judged import judged_bucks, residency_of
from .scoring import Calibration, calibration, jeffreys_interval, reliability_table

BIN_EDGES = (0.0, 5.0, 10.0, 20.0, 35.0, 50.0, 65.0, 80.0, 90.0, 95.0, 100.0)
END_OF_OCTOBER = (10, 31)
SETTLE_DAYS = 14


@dataclass(frozen=True)
class Case:
    """One kind of property: how often a resident is photographed, how long, judged when."""

    density: str
    n_seasons: int
    full: bool

    def __str__(self) -> str:
        seasons = f"{self.n_seasons} season" + ("s" if self.n_seasons > 1 else "")
        return f"{seasons}, {self.density}, {'full' if self.full else '31 Oct'}"


CASES = tuple(
    Case(density, n, full) for n in (1, 2, 3) for density in DENSITY for full in (True, False)
)

THREE_SEASONS = (Case("busy", 3, True), Case("thin", 3, True))
FIRST_FALL = (Case("thin", 1, False),)


def judge_property(seed: int, case: Case) -> pd.DataFrame:
    """One property, judged; see `judged_bucks`. With ``case`` and ``seed``."""
    simulated = _property(seed, case)
    return judged_bucks(simulated).assign(case=case, seed=seed)


def settle_property(seed: int, case: Case) -> pd.DataFrame:
    """Undecided bucks: the chance given that the coming two weeks decide, and whether they did."""
    whole = simulate_property(_rng(seed, case), case.n_seasons, density=case.density)
    day = date(whole.seasons[-1], *END_OF_OCTOBER)
    now = residency_of(whole.cut(day))
    later = residency_of(whole.cut(day + timedelta(days=SETTLE_DAYS)))
    label = later.table[later.table["season"] == "all"].set_index("buck")["label"]
    first = now.table[(now.table["season"] == "all") & (now.table["label"] == "undecided")]
    rows = []
    for buck in first["buck"]:
        assert now.standing is not None
        chance = settling(now.standing, buck, days=SETTLE_DAYS)
        assert chance is not None
        rows.append((buck, chance.as_it_is, label[buck] != "undecided"))
    return pd.DataFrame(rows, columns=["buck", "chance", "decided"]).assign(case=case, seed=seed)


def _property(seed: int, case: Case):  # type: ignore[no-untyped-def]
    whole = simulate_property(_rng(seed, case), case.n_seasons, density=case.density)
    return whole if case.full else whole.cut(date(whole.seasons[-1], *END_OF_OCTOBER))


def _rng(seed: int, case: Case) -> np.random.Generator:
    """The same property for both days of judgement."""
    return np.random.default_rng([seed, list(DENSITY).index(case.density), case.n_seasons])


def of_living(judged: pd.DataFrame) -> Calibration:
    """Shares decided and right, by the label, of bucks alive on the day.

    Of a dead buck the label says nothing: that he is gone is no label.
    """
    living = judged[judged["alive"]]
    whole = of_all(living)
    decided = living["label"] != "undecided"
    right = decided & ((living["label"] == "resident") == living["lives_here"])
    return Calibration(
        n=len(living),
        n_decided=int(decided.sum()),
        n_right=int(right.sum()),
        brier=whole.brier,
        brier_se=whole.brier_se,
    )


def of_all(judged: pd.DataFrame) -> Calibration:
    """Scores of every buck, dead or alive, against whether he lives or lived here."""
    return calibration(
        judged["score"].to_numpy(),
        judged["lives_here"].to_numpy(dtype=bool),
        property_number=pd.factorize(judged["case"].astype(str) + judged["seed"].astype(str))[0],
    )


def case_table(judged: pd.DataFrame) -> pd.DataFrame:
    """One row a case: what the label does, the Brier score, what the hand rules do."""
    rows = []
    for case in [c for c in CASES if (judged["case"] == c).any()]:
        part = judged[judged["case"] == case]
        living, scores = of_living(part), of_all(part)
        alive = part[part["alive"]]
        rows.append(
            {
                "case": str(case),
                "bucks": living.n,
                "decided": living.share_decided,
                "right": living.share_right,
                "right_low": living.right_interval[0],
                "right_high": living.right_interval[1],
                "brier": scores.brier,
                "brier_se": scores.brier_se,
                "by_weeks": float((alive["by_weeks"] == alive["lives_here"]).mean()),
                "by_months": float((alive["by_months"] == alive["lives_here"]).mean()),
            }
        )
    return pd.DataFrame(rows)


def aims_missed(judged: pd.DataFrame) -> list[str]:
    """The aims that the bucks judged speak against, beyond their sampling error; empty if none.

    An aim on a share is missed where the whole 95 % Jeffreys interval of what was found lies on
    the wrong side of it, one on the Brier score where two standard errors do not reach it.
    """
    missed = []
    for name, cases, decided, right in (
        ("three seasons", THREE_SEASONS, 0.95, 0.99),
        ("one thin season, 31 Oct", FIRST_FALL, 0.80, 0.95),
    ):
        part = judged[judged["case"].isin(cases)]
        got = of_living(part)
        if got.decided_interval[1] < decided:
            missed.append(f"{name}: {got.share_decided:.1%} decided, aim {decided:.0%}")
        if got.right_interval[1] < right:
            missed.append(f"{name}: {got.share_right:.1%} right, aim {right:.0%}")
    whole = of_all(judged)
    if whole.brier - 2 * whole.brier_se > 0.04:
        missed.append(f"Brier score {whole.brier:.4f} (SE {whole.brier_se:.4f}), aim 0.04")
    eighties = judged[(judged["score"] >= 80) & (judged["score"] < 90)]
    low, high = jeffreys_interval(int(eighties["lives_here"].sum()), len(eighties))
    if low > 0.9 or high < 0.8:
        share = eighties["lives_here"].mean()
        missed.append(f"of {len(eighties)} bucks scored 80 to 90 {share:.0%} live here")
    return missed


def judge_all(
    cases: Sequence[Case], seeds: Sequence[int], *, workers: int | None = None
) -> pd.DataFrame:
    """Every case on every seed, in as many processes as there are cores unless told."""
    work = [(seed, case) for case in cases for seed in seeds]
    return _gather(judge_property, work, workers)


def _gather(judge, work, workers):  # type: ignore[no-untyped-def]
    seeds, cases = zip(*work, strict=True)
    if workers == 1:
        parts = list(map(judge, seeds, cases))
    else:
        with ProcessPoolExecutor(workers or os.cpu_count()) as pool:
            parts = list(pool.map(judge, seeds, cases, chunksize=4))
    return pd.concat(parts, ignore_index=True)


def print_tables(judged: pd.DataFrame, settled: pd.DataFrame) -> None:
    """The tables as DEVELOPERS.md has them."""
    print("| property | bucks | decided | right | Brier (SE) | half the weeks | two months |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for row in case_table(judged).to_dict("records"):
        print(
            f"| {row['case']} | {row['bucks']} | {row['decided']:.1%} | {row['right']:.1%} "
            f"({row['right_low']:.1%} to {row['right_high']:.1%}) | {row['brier']:.4f} "
            f"({row['brier_se']:.4f}) | {row['by_weeks']:.1%} | {row['by_months']:.1%} |"
        )
    whole = of_all(judged)
    print(f"\nAll {whole.n} bucks: Brier score {whole.brier:.4f} (SE {whole.brier_se:.4f}).\n")
    print("| score | bucks | mean score | live here |")
    print("| --- | --- | --- | --- |")
    table = reliability_table(
        judged["score"].to_numpy(), judged["lives_here"].to_numpy(dtype=bool), BIN_EDGES
    )
    for row in table.to_dict("records"):
        print(
            f"| {row['low']:g} to {row['high']:g} | {row['n']} | {row['mean_score']:.1f} | "
            f"{row['percent_true']:.1f} % ({row['percent_low']:.1f} to {row['percent_high']:.1f}) |"
        )
    print("\n| chance that two weeks decide | bucks | mean chance | decided |")
    print("| --- | --- | --- | --- |")
    table = reliability_table(
        100 * settled["chance"].to_numpy(),
        settled["decided"].to_numpy(dtype=bool),
        (0.0, 20.0, 40.0, 60.0, 80.0, 100.0),
    )
    for row in table.to_dict("records"):
        print(
            f"| {row['low']:g} to {row['high']:g} % | {row['n']} | {row['mean_score']:.0f} % | "
            f"{row['percent_true']:.0f} % ({row['percent_low']:.0f} to {row['percent_high']:.0f}) |"
        )
    missed = aims_missed(judged)
    print("\n" + ("\n".join(f"MISSED {m}" for m in missed) or "No aim is missed."))


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m simulation.residency_calibration")
    parser.add_argument("--properties", type=int, default=60, help="for each kind (60)")
    parser.add_argument("--first-seed", type=int, default=9000)
    chosen = parser.parse_args()
    seeds = range(chosen.first_seed, chosen.first_seed + chosen.properties)
    judged = judge_all(CASES, seeds)
    undecided_in = [Case(d, n, False) for n in (1, 2) for d in DENSITY]
    settled = _gather(settle_property, [(s, c) for c in undecided_in for s in seeds], None)
    print_tables(judged, settled)


if __name__ == "__main__":
    main()
