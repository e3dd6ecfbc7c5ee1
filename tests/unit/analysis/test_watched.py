"""What ran and nobody looked at says nothing of any buck."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.effort_grid import blanks_as_nobody, light_only, names_only, watched_effort

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
        ("c1", "Oak", "2024-11-20", 1.0),
        ("c2", "Ash", "2024-11-01", 1.0),
    )
    came = visits(
        ("Oak", "2024-11-01 06:00", True),
        ("Oak", "2024-11-01 23:59", False),
        ("Oak", "2024-11-02 00:00", True),
        ("Oak", "2024-11-20 00:00", True),
        ("Ash", "2024-11-01 12:00", False),
    )
    watched = watched_effort(ran, came)
    assert watched["camera_day"].tolist() == pytest.approx([2 / 3, 1 / 3, 1.0, 0.0])
    assert ran["camera_day"].tolist() == [1.0, 0.5, 1.0, 1.0], "what ran is left as it was"
    assert watched.drop(columns="camera_day").equals(ran.drop(columns="camera_day"))


def test_days_without_a_visit_go_with_those_about_them() -> None:
    """Of a card nobody has looked at the empty days alone must not count: no buck came on them."""
    every_day = [f"2024-11-{n:02d}" for n in range(1, 31)]
    ran = effort(*(("c1", "Oak", day, 1.0) for day in every_day))
    came = visits(
        ("Oak", "2024-11-02 06:00", True),
        ("Oak", "2024-11-12 06:00", True),
        ("Oak", "2024-11-20 06:00", False),
        ("Oak", "2024-11-28 06:00", False),
    )
    share = dict(zip(every_day, watched_effort(ran, came)["camera_day"], strict=True))
    assert all(share[day] == 1 for day in every_day[:15]), "to three days past the last looked at"
    assert share["2024-11-16"] == 0.5, "between one and the other"
    assert all(share[day] == 0 for day in every_day[16:])


def test_two_cameras_at_a_site_look_no_more_than_one() -> None:
    ran = effort(("c1", "Oak", "2024-11-01", 1.0), ("c2", "Oak", "2024-11-01", 1.0))
    half = visits(("Oak", "2024-11-01 06:00", False), ("Oak", "2024-11-01 07:00", True))
    assert watched_effort(ran, half)["camera_day"].sum() == pytest.approx(0.5)
    none = visits(("Oak", "2024-11-01 06:00", False))
    assert watched_effort(ran, none)["camera_day"].sum() == 0
    every = visits(("Oak", "2024-11-01 06:00", True))
    assert watched_effort(ran, every)["camera_day"].sum() == 2, "what ran, where all was looked at"


def test_without_visits_or_effort() -> None:
    ran = effort(("c1", "Oak", "2024-11-01", 1.0))
    assert watched_effort(ran, visits())["camera_day"].tolist() == [1.0]
    assert watched_effort(effort(), visits(("Oak", "2024-11-01 06:00", False))).empty


def test_one_who_writes_names_only_is_told_from_one_who_looks_at_all() -> None:
    day = [f"2024-11-{n // 5 + 1:02d} {n % 5 + 6:02d}:00" for n in range(120)]
    names = visits(*(("Oak", d, n % 3 == 0) for n, d in enumerate(day)))
    names = names.assign(named=names["tagged"])
    assert names_only(names)
    careful = names.assign(tagged=[n % 3 != 1 for n in range(120)])
    assert not names_only(careful), "a third of the visits is marked as nobody's"
    assert not names_only(names[names["tagged"]]), "nothing is blank"
    assert names_only(names.iloc[:30]), "ten names in a row"
    assert not names_only(names.iloc[:27]), "too few to tell"


def test_one_who_leaves_out_the_dark_is_told_from_one_who_looks_at_all() -> None:
    came = pd.DataFrame({"tagged": [n % 2 == 0 for n in range(400)]})
    came["in_light"] = came["tagged"]
    came = came.assign(site="Oak", first=pd.date_range("2024-11-01", periods=400, freq="h"))
    assert light_only(came)
    assert not light_only(came.iloc[:58]), "too few to tell"
    some = came.assign(tagged=came["tagged"] | (came.index % 50 == 1))
    assert some["tagged"].sum() == 208 and not light_only(some), "eight in the dark"
    assert light_only(came.assign(tagged=came["tagged"] | (came.index % 100 == 1))), "four"
    assert not light_only(came.assign(tagged=True)), "all was looked at"
    assert not light_only(came.assign(in_light=True)), "nothing came in the dark"
    waits = came["in_light"] | (came.index >= 40)
    read = came[waits & (came["in_light"] | (came.index > 200))].assign(
        tagged=lambda t: t.index < 200
    )
    assert not light_only(read), "what came in the dark lies on a card nobody has opened yet"
    other = read.assign(site=read["tagged"].map({True: "Oak", False: "Elm"}))
    assert not light_only(other), "or at a site of which nothing was looked at"


def test_blanks_up_to_the_last_name_count_as_looked_at() -> None:
    came = visits(
        ("Oak", "2024-11-02 06:00", False),
        ("Ash", "2024-11-12 06:00", True),
        ("Oak", "2024-11-12 05:00", False),
        ("Oak", "2024-11-13 06:00", False),
    )
    assert blanks_as_nobody(came)["tagged"].tolist() == [True, True, True, False]
    nobody = came.assign(tagged=False)
    assert not blanks_as_nobody(nobody)["tagged"].any()


@pytest.mark.parametrize(
    ("looked", "unnamed", "visits", "only"),
    [
        (10, 0, 60, True), (9, 0, 60, False),
        (50, 1, 60, True), (50, 2, 60, False), (100, 2, 101, True), (100, 2, 100, False),
    ],
)  # fmt: skip
def test_names_only_at_its_bounds(looked: int, unnamed: int, visits: int, only: bool) -> None:
    """From 10 looked at on, of which one in 50 names nobody, and something must be blank."""
    n = np.arange(visits)
    table = pd.DataFrame({"tagged": n < looked, "named": (n >= unnamed) & (n < looked)})
    assert names_only(table) == only
