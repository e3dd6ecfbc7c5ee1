"""Runs a command as a process of its own, and gives what it took by the system's own account.

The command is not started by the caller but by a small Python in between: a process is charged with
the memory of whoever started it, which here may hold a whole simulation.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path

TESTS = Path(__file__).parents[1]
CHECKOUT = TESTS.parent
TRACEBACK = "Traceback (most recent call last)"


@dataclass(frozen=True, kw_only=True)
class Spent:
    """What one run took.

    Attributes
    ----------
    wall_s
        From start to end.
    processor_s
        Seconds of processor of the process and of those it started; None where the system does not
        tell.
    peak_mb
        Most memory (resident) that any one of these processes held, in MB of 2**20 bytes; None
        where the system does not tell.
    output
        What it printed.
    """

    wall_s: float
    processor_s: float | None
    peak_mb: float | None
    output: str


def run_process(command: Sequence[str], *, may_end_with: Collection[int] = (0,)) -> Spent:
    """Run a command to its end.

    Raises
    ------
    RuntimeError
        It ended with another code than those of ``may_end_with``, or by a bug; with what it said.
    """
    with tempfile.TemporaryDirectory() as folder:
        out, err = Path(folder) / "out", Path(folder) / "err"
        starter = [sys.executable, "-I", "-S", __file__, str(out), str(err)]
        told = subprocess.run(
            [*starter, *command], capture_output=True, check=True, env=_environment()
        ).stdout
        figures = json.loads(told)
        said = err.read_text(encoding="utf-8", errors="replace")
        # A bug ends a Python with 1, which from deerlog also means that something is to be mended.
        if figures.pop("code") not in may_end_with or TRACEBACK in said:
            raise RuntimeError(f"{' '.join(command)} failed:\n{said}")
        return Spent(**figures, output=out.read_text(encoding="utf-8", errors="replace"))


def run_deerlog(folder: Path, *arguments: str, may_end_with: Collection[int] = (0, 1)) -> Spent:
    """Run a command of deerlog on a property. Code 1 is *done, but something must be mended*."""
    command = [sys.executable, "-m", "deerlog", "--property", str(folder), *arguments]
    return run_process(command, may_end_with=may_end_with)


def run_module(module: str, *arguments: str) -> Spent:
    """Run a module of the benchmarks as a process."""
    return run_process([sys.executable, "-m", f"benchmarks.{module}", *arguments])


def _environment() -> dict[str, str]:
    """This checkout is measured, whatever is installed."""
    search = [str(CHECKOUT), str(TESTS), os.environ.get("PYTHONPATH", "")]
    return os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, search)), "PYTHONUTF8": "1"}


def _start_and_tell(out: str, err: str, command: Sequence[str]) -> None:
    """In the Python in between: start the command, wait for it, print the figures."""
    processor = peak = None
    with Path(out).open("wb") as output, Path(err).open("wb") as errors:
        start = time.perf_counter()
        process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=output, stderr=errors)
        if hasattr(os, "wait4"):
            _, status, usage = os.wait4(process.pid, 0)
            wall = time.perf_counter() - start
            process.returncode = os.waitstatus_to_exitcode(status)
            processor = usage.ru_utime + usage.ru_stime
            peak = usage.ru_maxrss * (1 if sys.platform == "darwin" else 1024) / 2**20
        else:
            process.wait()
            wall = time.perf_counter() - start
    figures = {"wall_s": wall, "processor_s": processor, "peak_mb": peak}
    print(json.dumps(figures | {"code": process.returncode}))


if __name__ == "__main__":
    _start_and_tell(sys.argv[1], sys.argv[2], sys.argv[3:])
