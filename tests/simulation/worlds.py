"""How good labels and chances are in many worlds, none of them the analysis' own model.

    cd tests
    python -m simulation.worlds

prints one row a world. Constants may be chosen on `TUNING_WORLDS` with `TUNING_SEEDS`
(``--tuning``); what is told is of all worlds, or of those no constant has seen (``--held-out``),
on `HELD_OUT_SEEDS`.
"""

from __future__ import annotations

import argparse
import multiprocessing
import time
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from threadpoolctl import threadpool_limits

from .tracks_world import missing, tracks_property
from .world_answers import Answers, ask, together
from .world_list import (
    HELD_OUT_SEEDS,
    HELD_OUT_WORLDS,
    TUNING_SEEDS,
    TUNING_WORLDS,
    WORLDS,
    World,
    world_named,
)
from .world_measures import chance_reliability, score_reliability
from .world_property import simulate_world
from .world_table import Row, aims_told, heading, line, row_of, write_measures

QUICK_SEEDS = 2


def answers_of(name: str, seed: int) -> tuple[str, int, Answers, float]:
    """One property of a world, asked everything; with the processor seconds it took."""
    began = time.process_time()
    world = world_named(name)
    asked = (tracks_property if world.tracks else simulate_world)(world, seed)
    answers = ask(asked, seed, centre=world.tracks is not None)
    return name, seed, answers, time.process_time() - began


def run(
    worlds: Sequence[World], seeds: Sequence[int], jobs: int
) -> Iterable[tuple[World, Answers, float]]:
    """Every world's answers in turn, with the processor seconds they took."""
    work = [(world.name, seed) for world in worlds for seed in seeds]
    if jobs == 1:
        yield from _gathered(worlds, (answers_of(*one) for one in work), len(seeds))
        return
    # Started afresh everywhere, as on systems that cannot fork.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(jobs, context, initializer=_one_thread) as pool:
        done = pool.map(answers_of, *zip(*work, strict=True))
        yield from _gathered(worlds, done, len(seeds))


def _gathered(
    worlds: Sequence[World], done: Iterable[tuple[str, int, Answers, float]], n_seeds: int
) -> Iterable[tuple[World, Answers, float]]:
    rest = iter(done)
    for world in worlds:
        parts = [next(rest) for _ in range(n_seeds)]
        yield world, together([p[2] for p in parts]), sum(p[3] for p in parts)


def _one_thread() -> None:
    """Linear algebra of one process in one thread, so that processes do not get in each other's
    way."""
    threadpool_limits(1)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        prog="python -m simulation.worlds",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--only", help="worlds, with commas between them; part of a name will do")
    parser.add_argument("--seeds", metavar="A-B", help="seeds, both included")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--tuning", action="store_true", help="tuning worlds on tuning seeds")
    which.add_argument("--held-out", action="store_true", help="worlds no constant was chosen on")
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_SEEDS} seeds a world")
    parser.add_argument("--reliability", action="store_true", help="also chances and scores by bin")
    parser.add_argument("--csv", metavar="FILE", help="also write every measure to a file")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--list", action="store_true", help="only name the worlds")
    chosen = parser.parse_args(arguments)
    seeds = TUNING_SEEDS if chosen.tuning else HELD_OUT_SEEDS
    if chosen.seeds:
        first, _, last = chosen.seeds.partition("-")
        if not (first.isdigit() and (last or first).isdigit() and int(last or first) >= int(first)):
            parser.error(f"--seeds {chosen.seeds}: write two numbers, 2000-2009, or one")
        seeds = range(int(first), int(last or first) + 1)
    if chosen.quick:
        seeds = seeds[:QUICK_SEEDS]
    worlds = _chosen(chosen.only, tuning=chosen.tuning, held_out=chosen.held_out)
    if not worlds:
        parser.error("no such world; --list names them")
    if chosen.list:
        for world in worlds:
            print(f"{world.name:20} {'tuning' if world.tuning else 'held out'}")
        return
    rows: list[Row] = []
    print(heading(seeds), flush=True)
    for world, answers, seconds in run(worlds, seeds, max(chosen.jobs, 1)):
        row = row_of(world, answers, seconds)
        rows.append(row)
        print(line(row), flush=True)
        if chosen.reliability:
            print(chance_reliability(answers).round(4).to_string(index=False))
            print(score_reliability(answers).round(1).to_string(index=False), flush=True)
    print(f"\n{aims_told(rows)}")
    if chosen.csv:
        write_measures(rows, Path(chosen.csv))


def _chosen(only: str | None, *, tuning: bool, held_out: bool) -> list[World]:
    names = TUNING_WORLDS if tuning else HELD_OUT_WORLDS if held_out else [w.name for w in WORLDS]
    if only:
        parts = [part.strip() for part in only.split(",")]
        names = [n for n in names if any(p == n or (p not in names and p in n) for p in parts)]
    worlds = [world_named(name) for name in names]
    why = missing()
    if why and any(world.tracks for world in worlds):
        print(f"Worlds of real tracks are left out: {why}.")
        worlds = [world for world in worlds if not world.tracks]
    return worlds


if __name__ == "__main__":
    main()
