"""Visits nobody has looked at are counted, and named by camera."""

from __future__ import annotations

import pandas as pd

from deerlog.ingest.tags.tag_problems import untagged_problems


def visits(*rows: tuple[str, str, bool]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["camera", "first", "tagged"])
    local = pd.to_datetime(table["first"]).astype("datetime64[us]")
    return table.assign(first=local.dt.tz_localize("America/Chicago"))


def test_all_looked_at_is_no_problem() -> None:
    assert not [*untagged_problems(visits(("c1", "2024-11-01", True)))]
    assert not [*untagged_problems(visits())]


def test_one() -> None:
    (one,) = untagged_problems(visits(("c1", "2024-11-01", True), ("c1", "2024-11-02", False)))
    assert one.why.startswith("1 visit is not tagged yet, on 2024-11-02 (c1 1).")
    assert not one.must_mend and one.harm == 1


def test_the_worst_cameras_are_named_first() -> None:
    rows = [("c1", 1), ("c2", 3), ("c3", 1), ("c4", 2), ("c5", 1)]
    left = [(c, f"2024-11-{n + 1:02d}", False) for c, many in rows for n in range(many)]
    (all_of_them,) = untagged_problems(visits(*left))
    assert "8 visits are not tagged yet, from 2024-11-01 to 2024-11-03" in all_of_them.why
    assert "(c2 3, c4 2, c1 1, and 2 more)" in all_of_them.why
