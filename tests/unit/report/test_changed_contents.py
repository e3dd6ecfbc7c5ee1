"""What changed since the report before, in words: nothing left out, nothing made up."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from deerlog.report.page.changed_contents import EarlierReport, what_changed

SINCE = date(2025, 11, 9)
TODAY = date(2025, 11, 16)
ROW = tuple[str, float, str, int]


def table(*rows: ROW) -> pd.DataFrame:
    columns = ["buck", "score", "label", "visits"]
    frame = pd.DataFrame(rows, columns=columns)
    return pd.concat([frame.assign(season="all"), frame.assign(season=2025, score=0.0)])


def visits(*rows: tuple[str, str, str, bool]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=["buck", "day", "site", "in_light"])
    return frame.assign(day=pd.to_datetime(frame["day"]))


def windows(*rows: tuple[str, str, str, date, date, float]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["buck", "site", "half", "opens", "closes", "chance"])


def changed(
    then: pd.DataFrame,
    now: pd.DataFrame,
    *seen: tuple[str, str, str, bool],
    shown: tuple[str, ...] = (),
    camera_days: float = 21.5,
    tagged: float = 1.0,
    old: pd.DataFrame | None = None,
    new: pd.DataFrame | None = None,
) -> list[str]:
    days = pd.to_datetime(["2025-11-09", "2025-11-10"])
    study: Any = SimpleNamespace(
        residency=SimpleNamespace(table=now),
        visits=visits(*seen),
        effort=pd.DataFrame({"day": days, "camera_day": [100.0, camera_days]}),
        watched=pd.DataFrame({"day": days, "camera_day": [100.0, camera_days * tagged]}),
        last_day=pd.Timestamp(TODAY),
        windows=windows() if new is None else new,
    )
    earlier = EarlierReport(day=SINCE, residency=then, windows=old)
    return list(what_changed(study, earlier, shown))


def test_nothing() -> None:
    same = table(("Ash", 40, "undecided", 3))
    assert changed(same, same) == []


def test_a_label_that_changed_is_told_of_every_buck_targets_first() -> None:
    then = table(("Ash", 40, "undecided", 0), ("Ladle", 83.2, "resident", 0))
    now = table(("Ash", 12, "visiting", 0), ("Ladle", 79.4, "undecided", 0))
    assert changed(then, now, shown=("Ladle",))[:2] == [
        "Ladle is now undecided, score 79; he was resident, score 83.",
        "Ash is now visiting, score 12; he was undecided, score 40.",
    ]


def test_a_score_that_moved_is_told_of_targets_alone() -> None:
    then = table(("Ash", 40, "undecided", 0), ("Ladle", 60, "undecided", 0))
    now = table(("Ash", 52, "undecided", 0), ("Ladle", 70, "undecided", 0))
    assert changed(then, now, shown=("Ladle",))[:1] == [
        "Ladle is still undecided; his score went from 60 to 70."
    ]
    assert changed(then, table(("Ash", 52, "undecided", 0), ("Ladle", 69, "undecided", 0))) == []


def test_a_score_of_nearly_all_or_nothing_is_never_bare() -> None:
    then, now = table(("Ash", 99.99, "resident", 0)), table(("Ash", 0.004, "visiting", 0))
    (said,) = changed(then, now)
    assert "under 1" in said and "over 99" in said


def test_new_and_vanished_names() -> None:
    then = table(("Ladel", 50, "undecided", 1))
    now = table(("Hinge", 50, "undecided", 1))
    assert changed(then, now, ("Hinge", "2025-11-03", "Saddle", False)) == [
        "New: Hinge, first seen on 3 November 2025 at Saddle.",
        "No tag bears the name Ladel any more.",
    ]


def test_many_new_names_are_counted() -> None:
    now = table(*((f"B{n}", 50, "undecided", 1) for n in range(9)))
    (said,) = changed(table(), now)
    assert said == "9 new bucks: B0, B1, B2, B3, B4, B5 and 3 more."


def test_visits_of_targets_since() -> None:
    then = table(("Ladle", 90, "resident", 1), ("Gimlet", 5, "visiting", 1))
    now = table(("Ladle", 90, "resident", 3), ("Gimlet", 5, "visiting", 1))
    seen = (
        ("Ladle", "2025-11-09", "Saddle", True),
        ("Ladle", "2025-11-10", "Saddle", True),
        ("Ladle", "2025-11-12", "Creek", False),
        ("Gimlet", "2025-11-09", "Creek", False),
    )
    assert changed(then, now, *seen, shown=("Ladle", "Gimlet")) == [
        "Ladle: 2 new visits, 1 in shooting light, the last on 12 November at Creek.",
        "No new visit by Gimlet in 21.5 camera-days.",
    ]
    assert changed(now, now, *seen[3:], shown=("Gimlet",), camera_days=0.0) == [
        "No camera has run since."
    ]


@pytest.mark.parametrize(
    ("tagged", "said"),
    [
        (0.0, "What came since is not tagged yet."),
        (0.05, "What came since is not tagged yet."),
        (0.5, "No new visit by Gimlet in 10 camera-days."),
    ],
)
def test_what_is_not_tagged_yet_is_not_a_camera_that_did_not_run(tagged: float, said: str) -> None:
    now = table(("Gimlet", 5, "visiting", 0))
    assert changed(now, now, shown=("Gimlet",), camera_days=20.0, tagged=tagged) == [said]


def test_old_cards_tagged_since_and_tags_taken_back() -> None:
    seen = tuple(("Ladle", "2025-11-0" + str(n), "Saddle", True) for n in (1, 2, 3))
    now = table(("Ladle", 90, "resident", 3))
    assert changed(table(("Ladle", 90, "resident", 1)), now, *seen, shown=("Ladle",)) == [
        "Ladle: no new visit; 2 earlier visits tagged since."
    ]
    late = ("Ladle", "2025-11-14", "Saddle", False)
    assert changed(table(("Ladle", 90, "resident", 4)), now, *seen, late, shown=("Ladle",)) == [
        "Ladle: 1 new visit, none in shooting light, the last on 14 November at Saddle; "
        "1 earlier visit no longer tagged as his."
    ]


def test_the_best_window_ahead() -> None:
    bucks = table(("Ladle", 90, "resident", 0))
    passed = ("Ladle", "Ford", "AM", date(2025, 11, 1), TODAY, 0.9)
    was = ("Ladle", "Creek", "PM", date(2025, 11, 20), date(2025, 11, 26), 0.3)
    same = ("Ladle", "Creek", "PM", date(2025, 11, 22), date(2025, 11, 28), 0.25)
    better = ("Ladle", "Saddle", "AM", date(2025, 11, 18), date(2025, 11, 21), 0.4)

    def said(old: pd.DataFrame, new: pd.DataFrame) -> list[str]:
        lines = changed(bucks, bucks, shown=("Ladle",), old=old, new=new)
        return [line for line in lines if "window" in line]

    assert said(windows(passed, was), windows(same)) == []
    assert said(windows(passed, was), windows(same, better)) == [
        "Ladle's best window ahead is now 18 to 21 November 2025 at Saddle, mornings; it was "
        "20 to 26 November 2025 at Creek, evenings."
    ]
    assert said(windows(passed), windows(was)) == [
        "Ladle has a window ahead: 20 to 26 November 2025 at Creek, evenings."
    ]
