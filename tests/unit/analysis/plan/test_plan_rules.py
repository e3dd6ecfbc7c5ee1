"""Rules of the plan as settings."""

from __future__ import annotations

import pytest

from deerlog.analysis.plan.rules import PlanRules
from deerlog.errors import PropertyError


def test_what_is_not_set_stays() -> None:
    assert PlanRules.from_settings({}) == PlanRules()
    rules = PlanRules.from_settings({"wind": False, "sit_hours": 3})
    assert not rules.wind and rules.sit_hours == 3
    assert rules.rest and rules.sit_at_least == PlanRules().sit_at_least


@pytest.mark.parametrize(
    ("chosen", "words"),
    [
        ({"winds": False}, ("'winds'", "mornings_at_food")),
        ({"wind": 1}, ("[plan] wind is 1", "true or false", "true")),
        ({"sit_hours": True}, ("sit_hours is true", "0.5 to 12", "(4)")),
        ({"sit_at_least": 5}, ("sit_at_least is 5", "0 to 1")),
    ],
)
def test_what_is_wrong_is_named(chosen: dict[str, float], words: tuple[str, ...]) -> None:
    with pytest.raises(PropertyError) as caught:
        PlanRules.from_settings(chosen)
    assert caught.value.where == "property.toml"
    assert all(word in str(caught.value) for word in words), str(caught.value)
