"""The plan put together sit by sit, and what each chance rests on, counted day by day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.plan.half_days import SitWind
from deerlog.analysis.plan.planned_sits import HalfDay, StandPlace
from deerlog.analysis.plan.ranking import plan, site_chances
from deerlog.analysis.plan.rules import PlanRules
from deerlog.analysis.plan.stand_chances import behind, stand_chances
from deerlog.errors import PropertyError
from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR = SeasonCalendar()
RNG = np.random.default_rng(4)
BUCKS, SITES, HALVES = ("Ash", "Elm", "Oak"), ("a", "b", "c", "d"), ("AM", "PM")
DAYS = pd.date_range("2022-10-01", "2025-11-07", unit="us")
AHEAD = pd.date_range("2025-11-08", periods=4, unit="us")
ZONE = timezone(timedelta(hours=-6))


def forecast() -> Forecast:
    shape = (len(AHEAD), len(BUCKS), len(SITES), 2)
    return Forecast(
        days=AHEAD,
        bucks=BUCKS,
        sites=SITES,
        around=RNG.uniform(0.3, 1, shape[:2]),
        log_odds=RNG.normal(-2, 1, shape),
        sd=RNG.uniform(0.2, 0.9, shape),
        floor=RNG.uniform(0, 0.02, shape[1:]),
    )


def grid() -> SightingGrid:
    seen_in_light = RNG.random((len(DAYS), 3, 4, 2)) < 0.08
    return SightingGrid(
        days=DAYS,
        bucks=BUCKS,
        sites=SITES,
        running=RNG.choice([0.0, 0.49, 0.5, 1.0], (len(DAYS), 4), p=[0.3, 0.2, 0.2, 0.3]),
        seen=seen_in_light.any(axis=3) | (RNG.random((len(DAYS), 3, 4)) < 0.02),
        seen_in_light=seen_in_light,
        unsure=np.zeros((len(DAYS), 3, 4), dtype=bool),
    )


def visits_of(made: SightingGrid) -> pd.DataFrame:
    """A visit wherever one was seen, one more of each in the dark, and one of tomorrow."""
    rows = [
        (BUCKS[b], SITES[s], DAYS[d], bool(made.seen_in_light[d, b, s].any()))
        for d, b, s in np.argwhere(made.seen)
    ]
    rows += [(buck, site, day, False) for buck, site, day, _ in rows]
    rows += [(BUCKS[0], site, AHEAD[0], True) for site in SITES]
    return pd.DataFrame(rows, columns=["buck", "site", "day", "in_light"])


GRID = grid()
VISITS = visits_of(GRID)


@pytest.mark.parametrize("half", HALVES)
@pytest.mark.parametrize("sites", [(0,), (1, 3)])
def test_what_a_chance_rests_on_is_counted_day_by_day(half: str, sites: tuple[int, ...]) -> None:
    bucks = ("Oak", "Ash")
    got = behind(GRID, VISITS, CALENDAR, bucks=bucks, sites=np.array(sites), half=half, phase="rut")
    counted = dict.fromkeys(("recent_seen", "recent_watched", "past_seen", "past_watched"), 0)
    for d, day in enumerate(DAYS):
        came = any(
            GRID.seen_in_light[d, BUCKS.index(buck), s, HALVES.index(half)]
            for buck in bucks
            for s in sites
        )
        # A camera that ran half the day watched, and so did one that took him.
        watched = came or any(GRID.running[d, s] >= 0.5 for s in sites)
        if (DAYS[-1] - day).days < 30:
            counted["recent_seen"] += came
            counted["recent_watched"] += watched
        # The rut of a peak of 12 November: seven days before to fourteen after, each fall.
        if day.year < 2025 and date(day.year, 11, 5) <= day.date() <= date(day.year, 11, 26):
            counted["past_seen"] += came
            counted["past_watched"] += watched
    for name, n in counted.items():
        assert getattr(got, name) == n
        assert n > 0
    late = VISITS[(VISITS["day"] >= "2025-10-09") & (VISITS["day"] <= "2025-11-07")]
    late = late[late["buck"].isin(bucks) & late["site"].isin([SITES[s] for s in sites])]
    assert (got.recent_visits, got.recent_in_light) == (len(late), late["in_light"].sum())
    assert got.phase == "rut"


PLACES = (
    StandPlace(name="Blind", sites=(0, 2), settings=("food",), rest_days=2),
    StandPlace(name="Ladder", sites=(1,), settings=("travel",), halves=("PM",), winds=("N",),
               winds_degrees=(0.0,), rest_days=3),
)  # fmt: skip


def half_days() -> list[HalfDay]:
    found = []
    for n, day in enumerate(AHEAD):
        for h, half in enumerate(HALVES):
            starts = datetime(2025, 11, day.day, 6 + 8 * h, tzinfo=ZONE)
            wind = [SitWind(np.array([10.0])), None, SitWind(np.empty(0))][n % 3]
            found.append(
                HalfDay(day=day.date(), half=half, phase="rut", starts=starts,
                        ends=starts + timedelta(hours=4), is_open=True, wind=wind)
            )  # fmt: skip
    return found


def test_every_sit_of_a_plan() -> None:
    made, bucks = forecast(), ("Oak", "Ash")
    sits = plan(
        made, PLACES, bucks, half_days(), rules=PlanRules(), grid=GRID, visits=VISITS,
        calendar=CALENDAR, burnt={},
        past_sits={"Ladder": [date(2025, 11, 7)], "Blind": [date(2025, 11, 1)]},
    )  # fmt: skip
    assert len(sits) == len(AHEAD) * 3, "the ladder is for evenings"
    chances = stand_chances(made, [np.array(p.sites) for p in PLACES], np.array([2, 0]))
    single = made.chance()
    for sit in sits:
        d, h = (sit.day - AHEAD[0].date()).days, HALVES.index(sit.half)
        n = [place.name for place in PLACES].index(sit.stand)
        k = bucks.index(sit.buck)
        assert (sit.chance, sit.low, sit.high, sit.any_chance) == (
            chances.own[d, k, n, h], chances.own_low[d, k, n, h], chances.own_high[d, k, n, h],
            chances.chance[d, n, h],
        )  # fmt: skip
        own = chances.own[d, :, n, h]
        assert own[k] == own.max() and sit.n_bucks == 2
        b = BUCKS.index(sit.buck)
        best = max(PLACES[n].sites, key=lambda s, d=d, b=b, h=h: single[d, b, s, h])
        assert sit.site == SITES[best]
        assert sit.around == made.around[d, b]
        wanted = behind(GRID, VISITS, CALENDAR, bucks=[sit.buck], sites=np.array(PLACES[n].sites),
                        half=sit.half, phase="rut")  # fmt: skip
        assert sit.behind == wanted
        assert (sit.rest_days, sit.winds) == (PLACES[n].rest_days, PLACES[n].winds)
        assert sit.wind_known == (d % 3 == 0)
        assert sit.starts is not None and sit.starts.hour == 6 + 8 * h
        rests = [bite.day for bite in sit.vetoes if bite.rule == "rest"]
        assert rests == ([date(2025, 11, 7)] if sit.stand == "Ladder" and d < 3 else [])
    rank = {"sit": 0, "": 1, "stay out": 2}
    order = [(rank[sit.advice], -sit.chance) for sit in sits]
    assert order == sorted(order) and {sit.advice for sit in sits} == set(rank)
    assert plan(made, (), bucks, half_days(), rules=PlanRules(), grid=GRID, visits=VISITS,
                calendar=CALENDAR, burnt={}, past_sits={}) == ()  # fmt: skip


def test_chances_of_every_site_in_rows() -> None:
    made = forecast()
    table = site_chances(made, ["Oak", "Ash"], ["d", "a"])
    mean, (low, high) = made.chance(), made.interval()
    rows = iter(table.itertuples(index=False))
    for d, day in enumerate(AHEAD):
        for h, half in enumerate(HALVES):
            for site in ("d", "a"):
                for buck in ("Oak", "Ash"):
                    cell = (d, BUCKS.index(buck), SITES.index(site), h)
                    row = next(rows)
                    assert tuple(row[:4]) == (day, half, site, buck)
                    wanted = (mean[cell], min(low[cell], mean[cell]), max(high[cell], mean[cell]))
                    assert tuple(row[4:]) == pytest.approx(wanted)
    assert next(rows, None) is None
    assert site_chances(made, [], ["a"]).empty


@pytest.mark.parametrize(
    ("chosen", "fits"),
    [
        ({"sit_at_least": 0.0}, True), ({"sit_at_least": 1.0}, True), ({"sit_hours": 0.5}, True),
        ({"sit_hours": 12.0}, True), ({"sit_at_least": -0.01}, False),
        ({"sit_at_least": 1.01}, False), ({"sit_hours": 0.49}, False), ({"sit_hours": 12.1}, False),
    ],
)  # fmt: skip
def test_rules_that_are_numbers_have_their_ends(chosen: dict[str, float], fits: bool) -> None:
    if fits:
        assert all(getattr(PlanRules.from_settings(chosen), k) == v for k, v in chosen.items())
    else:
        with pytest.raises(PropertyError):
            PlanRules.from_settings(chosen)


def test_a_half_is_as_cool_and_calm_as_others_of_its_kind() -> None:
    """Mornings are cooler than evenings all the same: unrest is against the plan's own halves."""
    warmth = {"AM": (1.0, 2.0, 3.0), "PM": (11.0, 12.0, 10.0)}
    asked = [
        replace(each, wind=SitWind(np.array([0.0]), warmth[each.half][n // len(HALVES) % 3]))
        for n, each in enumerate(half_days())
    ]
    sits = plan(
        forecast(), PLACES, ("Oak", "Ash"), asked, rules=PlanRules(), grid=GRID, visits=VISITS,
        calendar=CALENDAR, burnt={}, past_sits={},
    )  # fmt: skip
    usual = {half: np.mean([a.wind.unrest for a in asked if a.half == half]) for half in HALVES}
    for sit in sits:
        n = (sit.day - AHEAD[0].date()).days
        assert sit.unrest == pytest.approx(warmth[sit.half][n % 3] - usual[sit.half])
