"""Rules of the trade that the plan keeps, each settable."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from deerlog.errors import PropertyError
from deerlog.timekeeping.seasons import SeasonCalendar


@dataclass(frozen=True)
class PlanRules:
    """The rules, with their reason or source. Settable under ``[plan]`` in property.toml."""

    mornings_at_food: bool = False
    """Sit mornings where deer are feeding. They are still there before light, and whoever walks in
    sends them off (common practice, no published source)."""
    wind: bool = True
    """Hunt a stand only on the winds that stands.csv gives it (common practice, no published
    source)."""
    rest: bool = True
    """Leave a stand alone for its rest days after a sit: bucks kept out of sight of a hunted stand
    for three full days (McCoy, Auburn University, author's articles)."""
    season_dates: bool = True
    """Sit only on days of a ``[[hunting]]`` season; without such a table the rule is not kept."""
    dark_spots: bool = False
    """Leave out the warning to stay away from a stand where targets came of late, only in the dark,
    and where the chance is too small to sit: a buck who meets people where he feels safe at night
    learns of them for nothing (common practice, no published source)."""
    sit_at_least: float = 0.05
    """A lower chance is no reason to walk in (our choice: one sit in twenty)."""
    sit_hours: float = 4.0
    """A morning sit runs from first light for so many hours, an evening sit ends with the light;
    neither crosses noon (common practice, no published source)."""

    burnt_after: float = 3
    """A stand is burnt after so many sits running without a target (common practice, no published
    source; the number is our choice)."""
    burnt_days: float = 14
    """So many days a burnt stand is left alone after the last of them, unless a target comes there
    in light before; sits farther back do not count (common practice, no published source; the
    number is our choice)."""
    opener_days: float = SeasonCalendar.opener_days
    """The first days of a hunting season that are the opener: bucks change their hours within days
    of the first hunters (common practice, no published source; the number is our choice)."""

    @classmethod
    def from_settings(cls, chosen: Mapping[str, float | bool]) -> PlanRules:
        """The rules with the user's own put in; `PropertyError` for a name that is no rule, or a
        value that it cannot have."""
        known = {f.name: getattr(cls(), f.name) for f in fields(cls)}
        for key, value in chosen.items():
            if key not in known:
                raise PropertyError(
                    f"[plan] has no rule named {key!r}.",
                    where="property.toml",
                    how=f"The rules are: {', '.join(known)}.",
                )
            if isinstance(known[key], bool):
                fits, wanted, default = isinstance(value, bool), "true or false", str(known[key])
            else:
                low, high = _BOUNDS[key]
                fits = not isinstance(value, bool) and low <= value <= high
                wanted, default = f"a number from {low:g} to {high:g}", f"{known[key]:g}"
            if not fits:
                shown = str(value).lower() if isinstance(value, bool) else f"{value:g}"
                raise PropertyError(
                    f"[plan] {key} is {shown}; it must be {wanted}.",
                    where="property.toml",
                    how=f"Remove the line to have the default ({default.lower()}).",
                )
        values: dict[str, Any] = dict(chosen)
        return replace(cls(), **values)


_BOUNDS = {
    "sit_at_least": (0.0, 1.0),
    "sit_hours": (0.5, 12.0),
    "burnt_after": (1.0, 100.0),
    "burnt_days": (1.0, 366.0),
    "opener_days": (1.0, 60.0),
}
"""Least and greatest value of each rule that is a number (our choice)."""

DARK_VISITS = 5
"""Visits in `RECENT_DAYS`, none in shooting light, that make a spot a dark one (our choice)."""
RECENT_DAYS = 30
"""What counts as of late (our choice)."""
