"""How much hangs on judgement: every fixed rate of the presence model doubled and halved.

    cd tests
    python -m simulation.judgement_sensitivity

prints the table of DEVELOPERS.md: how many labels change on the sample property and on simulated
ones, and how good the labels then are. A middle date is moved by two weeks instead, and of a share
near 1 what it leaves over is doubled and halved.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, fields, replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from deerlog.analysis.presence.judgement import Judgement, bounds
from deerlog.analysis.residency.residency import residency
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
from deerlog.study import PropertyStudy, open_study
from deerlog.study.sample import unpack_sample

from .ground import simulate_property
from .judged import judged_bucks, residency_of
from .residency_calibration import Case
from .simulated_property import SimulatedProperty

TWO_WEEKS = 14.0
CASES = (Case("thin", 1, False), Case("thin", 3, True))
SAMPLE_DAYS = (date(2026, 10, 31), None)
"""Days the sample property is judged on; None is the last day known."""


@dataclass(frozen=True, kw_only=True)
class Change:
    """One rate of the judgement, changed."""

    name: str
    less: bool
    value: float

    @property
    def judgement(self) -> Judgement:
        return replace(Judgement(), **{self.name: self.value})


def changes() -> list[Change]:
    """Every rate halved and doubled, within its bounds, in the order of the table."""
    found = []
    for name in (f.name for f in fields(Judgement)):
        usual = float(getattr(Judgement(), name))
        low, high = bounds(name)
        for less in (True, False):
            if name.endswith(("_day", "_after_peak")):
                value = usual - TWO_WEEKS if less else usual + TWO_WEEKS
            elif high == 1 and usual > 0.5:
                value = 1 - 2 * (1 - usual) if less else 1 - (1 - usual) / 2
            else:
                value = usual / 2 if less else 2 * usual
            found.append(Change(name=name, less=less, value=float(np.clip(value, low, high))))
    return found


def simulated(case: Case, seed: int) -> SimulatedProperty:
    """A property for this table; never one of the calibration's."""
    rng = np.random.default_rng([seed, 77, case.n_seasons])
    whole = simulate_property(rng, case.n_seasons, density=case.density)
    return whole if case.full else whole.cut(date(whole.seasons[-1], 10, 31))


def judge_again(case: Case, seed: int) -> pd.DataFrame:
    """One simulated property under every change: one row a change and buck.

    ``change`` (-1: none), ``buck``, ``label``, ``lives_here``, ``alive``, ``score``.
    """
    whole = simulated(case, seed)
    parts = []
    for number, judgement in enumerate([Judgement(), *(c.judgement for c in changes())], start=-1):
        parts.append(judged_bucks(whole, residency_of(whole, judgement)).assign(change=number))
    return pd.concat(parts, ignore_index=True).assign(case=str(case), seed=seed)


def sample_labels(study: PropertyStudy, judgement: Judgement) -> pd.Series:
    """Labels on the sample property, by buck."""
    table = residency(
        study.visits,
        study.watched,
        study.calendar,
        as_of=study.last_day,
        judgement=judgement,
        week_starts=study.place.settings.week_starts,
        least_watched_share=study.place.settings.watched_share,
    ).table
    return table[table["season"] == "all"].set_index("buck")["label"]


def sample_changes(folder: Path) -> tuple[int, list[int]]:
    """Labels looked at on the sample property, and how many each change moves."""
    unpack_sample(folder)
    ingest_cards(open_property(folder), today=date(2026, 12, 1))
    studies = [open_study(folder, as_of=day) for day in SAMPLE_DAYS]
    usual = [sample_labels(study, Judgement()) for study in studies]
    moved = [
        sum(
            int((sample_labels(study, change.judgement) != labels).sum())
            for study, labels in zip(studies, usual, strict=True)
        )
        for change in changes()
    ]
    return sum(map(len, usual)), moved


def summary(judged: pd.DataFrame) -> pd.DataFrame:
    """By change: share of labels changed, share decided, share right, Brier score.

    ``turned`` is the share of labels that went from resident to visiting or back.
    """
    key = ["case", "seed", "buck"]
    usual = judged[judged["change"] == -1].set_index(key)["label"].rename("usual")
    table = judged.join(usual, on=key)
    decided = table["label"] != "undecided"
    told = decided & (table["usual"] != "undecided")
    living = table["alive"]
    table = table.assign(
        changed=table["label"] != table["usual"],
        turned=told & (table["label"] != table["usual"]),
        decided=decided.where(living),
        right=((table["label"] == "resident") == table["lives_here"]).where(decided & living),
        brier=(table["score"] / 100 - table["lives_here"]) ** 2,
    )
    columns = ["changed", "turned", "decided", "right", "brier"]
    return table.astype(dict.fromkeys(columns, float)).groupby("change")[columns].mean()


def judge_all(seeds: Sequence[int], workers: int | None = None) -> pd.DataFrame:
    """Every change on every case and seed."""
    work = [(case, seed) for seed in seeds for case in CASES]
    cases, numbers = zip(*work, strict=True)
    with ProcessPoolExecutor(workers or os.cpu_count()) as pool:
        return pd.concat(list(pool.map(judge_again, cases, numbers)), ignore_index=True)


def print_table(table: pd.DataFrame, n_bucks: int, n_sample: int, moved: Sequence[int]) -> None:
    """The table as DEVELOPERS.md has it."""
    usual = table.loc[-1]
    print(
        f"{n_bucks} simulated bucks; {n_sample} labels on the sample property. As it is: "
        f"{usual['decided']:.1%} decided, {usual['right']:.1%} right, Brier {usual['brier']:.4f}.\n"
    )
    print("| rate | value | sample | simulated | turned | decided | right | Brier |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for number, change in enumerate(changes()):
        row = table.loc[number]
        print(
            f"| {change.name} | {getattr(Judgement(), change.name):.3g} to {change.value:.3g} | "
            f"{moved[number]} | {row['changed']:.1%} | {row['turned']:.1%} | "
            f"{row['decided']:.1%} | {row['right']:.1%} | {row['brier']:.4f} |"
        )


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m simulation.judgement_sensitivity")
    parser.add_argument("--properties", type=int, default=10, help="of each of two kinds (10)")
    chosen = parser.parse_args()
    judged = judge_all(range(chosen.properties))
    with tempfile.TemporaryDirectory() as folder:
        n_sample, moved = sample_changes(Path(folder) / "sample")
    n_bucks = int((judged["change"] == -1).sum())
    print_table(summary(judged), n_bucks, n_sample, moved)


if __name__ == "__main__":
    main()
