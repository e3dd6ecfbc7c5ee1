"""The calendar of chances: the best running site of each day and half, of this buck alone."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.special import logit

from deerlog.analysis.forecast.chances import Forecast
from deerlog.report.page.buck_contents import chances_ahead

SITES = ("Seep", "Gate", "Ford")


def study(running: tuple[str, ...], n_days: int = 2) -> Any:
    chance = np.full((n_days, 2, 3, 2), 0.5)
    chance[:, 1] = 0.01
    # Ladle: mornings best at the Seep, evenings at the Gate, best of all where no camera stands.
    chance[:, 1, 0, 0], chance[:, 1, 1, 1], chance[:, 1, 2] = 0.1, 0.2, 0.4
    made = Forecast(
        days=pd.date_range("2025-11-17", periods=n_days),
        bucks=("Ash", "Ladle"),
        sites=SITES,
        around=np.linspace(1.0, 0.5, n_days)[:, None] * np.ones((n_days, 2)),
        log_odds=logit(chance),
        sd=np.zeros_like(chance),
        floor=np.zeros((2, 3, 2)),
    )
    return SimpleNamespace(forecast=made, running_sites=running)


def test_the_best_running_site_and_half_of_each_day() -> None:
    ahead = chances_ahead(study(("Seep", "Gate")), "Ladle")
    assert [each["day"].isoformat() for each in ahead] == ["2025-11-17", "2025-11-18"]
    assert [(each["site"], each["half"]) for each in ahead] == [("Gate", "PM"), ("Gate", "PM")]
    assert [each["chance"] for each in ahead] == pytest.approx([0.2, 0.1])
    (first, _) = chances_ahead(study(("Seep",)), "Ladle")
    assert (first["site"], first["half"]) == ("Seep", "AM")
    assert first["chance"] == pytest.approx(0.1)


def test_nothing_ahead_no_camera_or_no_such_buck_is_no_calendar() -> None:
    assert chances_ahead(study(()), "Ladle") == []
    assert chances_ahead(study(("Seep",), n_days=0), "Ladle") == []
    assert chances_ahead(study(("Seep",)), "Newcomer") == []
