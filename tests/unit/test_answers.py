"""The answers to the sample, held against those written down: a change that moves one says so.

That they are right is for the other tests; this one tells that a figure moved, and which. Each
column of each table is a line: how many rows, and a sum in which every row has a weight of its own.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import deerlog

DAYS = (date(2026, 9, 5), date(2026, 11, 22))
TABLES = (
    "residency", "weekly", "daylight", "shift", "windows", "calendar", "outlook", "chances",
    "plan", "evidence", "chance_scores", "reliability", "effort", "visits", "photos", "problems",
    "wrong_names",
)  # fmt: skip
"""The last eight are asked for on the last day alone: they say the same, or take long."""
GOLDEN = Path(__file__).parents[1] / "golden" / "answers.txt"
RELATIVE = 1e-6
"""Far above what another version of numpy moves, far below what a person would read."""


def lines(name: str, table: pd.DataFrame) -> Iterator[tuple[str, str]]:
    """Each column with its count and its sum; of words, a hash."""
    weight = 1 + np.sin(np.arange(len(table)))
    for column in table:
        values = table[column]
        if pd.api.types.is_numeric_dtype(values) or pd.api.types.is_bool_dtype(values):
            known = values.notna().to_numpy()
            total = float((values.fillna(0).to_numpy(dtype=float) * weight).sum())
            yield f"{name}.{column}", f"{len(table)} {known.sum()} {total:.10g}"
        else:
            text = "\n".join(map(str, values))
            yield f"{name}.{column}", f"{len(table)} {hashlib.sha1(text.encode()).hexdigest()[:12]}"


def alike(was: str, now: str) -> bool:
    """Whether two lines are the same but for rounding."""
    if was == now:
        return True
    old, new = was.split(), now.split()
    if len(old) != 3 or len(new) != 3 or old[:2] != new[:2]:
        return False
    return math.isclose(float(old[2]), float(new[2]), rel_tol=RELATIVE, abs_tol=1e-9)


def test_no_answer_to_the_sample_moved(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    folder = tmp_path / "sample"
    deerlog.open_sample(folder, today=date(2026, 11, 23))
    found = {}
    for day in DAYS:
        study = deerlog.open_study(folder, as_of=day)
        for name in TABLES if day == DAYS[-1] else TABLES[:-8]:
            found |= dict(lines(f"{day} {name}", getattr(study, name)()))
    if request.config.getoption("--update-golden"):
        text = "".join(f"{name}: {line}\n" for name, line in found.items())
        GOLDEN.write_text(text, encoding="utf-8", newline="\n")
    written = dict(line.split(": ", 1) for line in GOLDEN.read_text(encoding="utf-8").splitlines())
    moved = [
        f"{name}: {written.get(name)} before, {found.get(name)} now"
        for name in (written | found)
        if name not in found or name not in written or not alike(written[name], found[name])
    ]
    assert not moved, "if meant, renew with --update-golden:\n" + "\n".join(moved)


def test_a_moved_answer_is_noticed() -> None:
    table = pd.DataFrame({"chance": [0.1, 0.2], "buck": ["Ash", "Elm"]})
    was = dict(lines("t", table))
    for changed in (
        table.assign(chance=[0.1, 0.2001]),
        table.assign(chance=[0.2, 0.1]),
        table.assign(chance=[0.1, None]),
        table.assign(buck=["Ash", "Oak"]),
        table.iloc[:1],
    ):
        now = dict(lines("t", changed))
        assert any(not alike(was[name], now[name]) for name in was)
    rounded = dict(lines("t", table.assign(chance=[0.1, 0.2 + 1e-12])))
    assert all(alike(was[name], rounded[name]) for name in was)
