"""What ran and nobody looked at says nothing of any buck."""

from __future__ import annotations

import pandas as pd
import pytest

from deerlog.analysis.watched import watched_effort

ZONE = "America/Chicago"


def effort(*rows: tuple[str, str, str, float]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["camera", "site", "day", "camera_day"])
    return table.assign(day=pd.to_datetime(table["day"]).astype("datetime64[us]"))


def visits(*rows: tuple[str, str, bool]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["site", "first", "tagged"])
    local = pd.to_datetime(table["first"]).astype("datetime64[us]").dt.tz_localize(ZONE)
    return table.assign(first=local, tagged=table["tagged"].astype(bool))


def test_of_a_day_counts_the_share_that_was_looked_at() -> None:
    ran = effort(
        ("c1", "Oak", "2024-11-01", 1.0),
        ("c1", "Oak", "2024-11-02", 0.5),
        ("c1", "Oak", "2024-11-03", 1.0),
        ("c2", "Ash", "2024-11-01", 1.0),
    )
    came = visits(
        ("Oak", "2024-11-01 06:00", True),
        ("Oak", "2024-11-01 23:59", False),
        ("Oak", "2024-11-02 00:00", True),
        ("Ash", "2024-11-01 12:00", False),
    )
    watched = watched_effort(ran, came)
    assert watched["camera_day"].tolist() == pytest.approx([0.5, 0.5, 1.0, 0.0])
    assert ran["camera_day"].tolist() == [1.0, 0.5, 1.0, 1.0], "what ran is left as it was"
    assert watched.drop(columns="camera_day").equals(ran.drop(columns="camera_day"))


def test_a_visit_belongs_to_every_camera_of_its_site() -> None:
    ran = effort(("c1", "Oak", "2024-11-01", 1.0), ("c2", "Oak", "2024-11-01", 1.0))
    assert watched_effort(ran, visits(("Oak", "2024-11-01 06:00", False)))["camera_day"].sum() == 0


def test_without_visits_or_effort() -> None:
    ran = effort(("c1", "Oak", "2024-11-01", 1.0))
    assert watched_effort(ran, visits())["camera_day"].tolist() == [1.0]
    assert watched_effort(effort(), visits(("Oak", "2024-11-01 06:00", False))).empty
