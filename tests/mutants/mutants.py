"""Makes random single changes to the package and shows which of them no test catches.

    python tests/mutants/mutants.py [--count 100] [--seed 1] [--paths P,P] [--jobs 1]
                                    [--since-file OUT] [--again] [--minutes M] [--nearest N]

A change is another operator, comparison or number, a dropped sign or ``not``, min for max. It is
made in a copy of the checkout, where the unit and reference tests that import the changed file run,
the nearest first, up to the first failure; a test that takes over three minutes fails. OUT keeps
what was found, so that a run that was stopped goes on; ``--again`` tries what lived once more,
``--minutes`` begins no change after so long, ``--nearest`` runs at most so many test files and that
of the answers. Changes without effect are named, with the reason, in ``without_effect.toml``. Ends
with 1 where one lives.

Written here because mutmut forks, cosmic-ray runs the same tests for every change, and neither
leaves alone what f-strings say.
"""

from __future__ import annotations

import argparse
import json
import os
import queue
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import astuple
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from mutants.changes import Change, possible_changes
from mutants.nearest import nearest_tests

CHECKOUT = Path(__file__).parents[2]
WHERE = "deerlog/analysis,deerlog/timekeeping,deerlog/ingest/clocks,deerlog/ingest/effort"
ANSWERS = "tests/unit/test_answers.py"
"""Reaches nearly everything, at some cost: run last, however few are run."""
NOT_COPIED = (".git", ".venv*", "node_modules", "__pycache__", ".*_cache", ".hypothesis")
PYTEST = "-m pytest -x -q -n 0 -p no:cacheprovider --tb=no -o faulthandler_timeout=180"
PYTEST += " -o faulthandler_exit_on_timeout=true"
UNSHRUNK = """
from hypothesis import Phase
settings.register_profile("unshrunk", settings(), phases=[Phase.explicit, Phase.generate])
settings.load_profile("unshrunk")
"""
"""Added to a copy's conftest.py: that a test fails is enough, its least case is not sought."""


def drawn_changes(paths: list[str], count: int, seed: int) -> list[Change]:
    """A random sample of tokens, each changed in one way."""
    found = []
    for top in (CHECKOUT / below for below in paths):
        for path in [top] if top.is_file() else sorted(top.rglob("*.py")):
            named = path.relative_to(CHECKOUT).as_posix()
            found += possible_changes(path.read_text("utf-8"), named)
    draw = random.Random(seed)
    return [draw.choice(ways) for ways in draw.sample(found, min(count, len(found)))]


@contextmanager
def copies(jobs: int) -> Iterator[queue.Queue[Path]]:
    """Copies of the checkout, one a job, each to be taken and put back unchanged."""
    with tempfile.TemporaryDirectory(prefix="deerlog-mutants-", ignore_cleanup_errors=True) as top:
        free: queue.Queue[Path] = queue.Queue()
        for n in range(jobs):
            copy = Path(top) / str(n)
            shutil.copytree(CHECKOUT, copy, ignore=shutil.ignore_patterns(*NOT_COPIED))
            with (copy / "tests" / "conftest.py").open("a", encoding="utf-8") as conftest:
                conftest.write(UNSHRUNK)
            free.put(copy)
        yield free


def catching_test(change: Change, copy: Path, nearest: int | None) -> str | None:
    """The test that fails with a change made in a copy; None where none does."""
    file = copy / change.path
    source = file.read_bytes()
    ranked = nearest_tests(CHECKOUT, change.path)
    tests = ranked[:nearest]
    tests += [test for test in ranked if test == ANSWERS and test not in tests]
    try:
        _put(file, change.applied(source.decode()).encode())
        # In parts, since pytest imports all its files before it runs the first.
        parts = (tests[:3], tests[3:12], tests[12:])
        return next((test for part in parts if part and (test := failing_test(copy, part))), None)
    finally:
        _put(file, source)


def _put(file: Path, source: bytes) -> None:
    """A source in place, and nothing compiled before: same size, same second, yet other code."""
    file.write_bytes(source)
    for compiled in (file.parent / "__pycache__").glob(f"{file.stem}.*.pyc"):
        compiled.unlink()


def failing_test(copy: Path, tests: list[str]) -> str | None:
    """The first of some tests to fail, or a word on why pytest cannot name it."""
    command = [sys.executable, *PYTEST.split(), *tests]
    here = os.environ | {"PYTHONPATH": str(copy)}
    done = subprocess.run(command, cwd=copy, env=here, capture_output=True, text=True)
    named = re.search(r"^(?:FAILED|ERROR) (.*?)(?: - |$)", done.stdout, re.MULTILINE)
    return (named[1] if named else "no start or no end") if done.returncode else None


def main() -> int:
    """Print what lives and how many are caught."""
    wanted = _arguments()
    changes = drawn_changes(wanted.paths.split(","), wanted.count, wanted.seed)
    shown = {c: c.shown((CHECKOUT / c.path).read_text("utf-8")) for c in changes}
    listed = tomllib.loads((Path(__file__).parent / "without_effect.toml").read_text("utf-8"))
    idle = {c for c in changes if {"before": shown[c][0], "after": shown[c][1]} in
            [{k: row[k] for k in ("before", "after")} for row in listed["change"]]}  # fmt: skip
    caught_by: dict[Change, str | None] = {}
    if wanted.since_file and wanted.since_file.exists():
        for row in wanted.since_file.read_text("utf-8").splitlines():
            values, test = json.loads(row)
            caught_by[Change(*values)] = test
    ended = time.monotonic() + 60 * wanted.minutes
    begun = set(caught_by)

    with copies(wanted.jobs) as free:

        def decide(change: Change) -> None:
            if time.monotonic() > ended:
                return
            copy = free.get()
            try:
                caught_by[change] = catching_test(change, copy, wanted.nearest)
            finally:
                free.put(copy)
            if wanted.since_file:
                with wanted.since_file.open("a", encoding="utf-8") as out:
                    out.write(json.dumps([astuple(change), caught_by[change]]) + "\n")

        lived = {c for c, test in caught_by.items() if not test} if wanted.again else set()
        todo = [c for c in changes if c not in idle and (c not in begun or c in lived)]
        with ThreadPoolExecutor(wanted.jobs) as pool:
            list(pool.map(decide, todo))
        # What fails without a change as well has caught nothing.
        ids = sorted({caught_by[c] for c in todo if "::" in (caught_by.get(c) or "")})
        if ids and (wrong := failing_test(free.get(), ids)):
            raise SystemExit(f"{wrong} fails without any change")

    decided = [c for c in changes if c in caught_by and c not in idle]
    live = sorted(c for c in decided if not caught_by[c])
    for change in live:
        print(f"{change.path}:{change.line}\n  - {shown[change][0]}\n  + {shown[change][1]}")
    n_left = len(changes) - len(decided) - len(idle)
    print(
        f"{len(changes)} changes (seed {wanted.seed}): {len(decided) - len(live)} caught,", end=" "
    )
    print(f"{len(live)} live, {len(idle)} without effect, {n_left} not tried yet")
    return int(bool(live))


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--paths", default=WHERE, help="files or folders, with commas between")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--since-file", type=Path, help="where what was found is kept")
    parser.add_argument("--again", action="store_true", help="try what lived once more")
    parser.add_argument("--minutes", type=float, default=1e9, help="begin no change after so long")
    parser.add_argument("--nearest", type=int, help="run at most so many test files")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
