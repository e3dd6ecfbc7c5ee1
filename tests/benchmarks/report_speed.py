"""How long the report on the sample property takes, as a whole process, beside bare Python.

    python tests/benchmarks/report_speed.py

Aim: the report within 15 s. Run it on a quiet machine; the ratio to starting Python with pandas
and matplotlib holds when the machine is not.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

RUNS = 3


def seconds(*command: str) -> float:
    """The median wall time of a command over a few runs."""
    times = []
    for _ in range(RUNS):
        started = time.perf_counter()
        subprocess.run(command, check=False, capture_output=True)
        times.append(time.perf_counter() - started)
    return sorted(times)[RUNS // 2]


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as place:
        folder = str(Path(place) / "property")
        subprocess.run(
            [sys.executable, "-m", "deerlog", "demo", folder], check=True, capture_output=True
        )
        floor = seconds(sys.executable, "-c", "import pandas, matplotlib.figure, scipy.special")
        print(f"import pandas, matplotlib, scipy   {floor:6.2f} s")
        for name in ("residency", "plan", "report"):
            taken = seconds(sys.executable, "-m", "deerlog", "--property", folder, name)
            print(f"deerlog {name:<26} {taken:6.2f} s   {taken / floor:5.1f} times")


if __name__ == "__main__":
    main()
