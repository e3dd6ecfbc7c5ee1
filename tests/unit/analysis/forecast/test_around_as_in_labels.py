"""Where a forecast knows no more than a label, the chance of being around is that of the label."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days, effort, visits

from deerlog.analysis.forecast.around import around, past_seasons, presence_judgement
from deerlog.analysis.forecast.forecast_judgement import ForecastJudgement
from deerlog.analysis.forecast.own_dates import dates_seen, own_date, own_dates
from deerlog.analysis.residency.judgement import Judgement
from deerlog.analysis.residency.patterns import FALL, PATTERNS, RUT, STATES, SUMMER
from deerlog.analysis.residency.residency import residency

FORECAST = ForecastJudgement(absence_start=1 / 60, absence_days=8.0)
J = presence_judgement(Judgement(wrong_tag_share=0.03, quiet_share=0.4), FORECAST)
RAN = effort("2022-06-01", "2024-05-31", without=days("2023-07-03", "2023-07-20"))


def both(
    seen: dict[str, list[pd.Timestamp]], as_of: str, forecast: ForecastJudgement = FORECAST
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Chances of being around in the season of a day, by the forecast and by the label."""
    table = visits(seen)
    table = table[table["day"] <= as_of]
    now = pd.Timestamp(as_of)
    season = int(CALENDAR.season_of(pd.DatetimeIndex([now]))[0])
    past = past_seasons(table, RAN, CALENDAR, season, J, forecast)
    ours = around(past, table, RAN, CALENDAR, now, J)
    theirs = residency(table, RAN, CALENDAR, as_of=now, judgement=J).around
    first = pd.Timestamp(CALENDAR.bounds(season)[0])
    return ours.loc[first:], theirs.loc[first:]


def test_the_judgement_is_the_label_s_but_for_absences() -> None:
    assert replace(J, absence_start=0.5, absence_days=2.0) == replace(
        Judgement(wrong_tag_share=0.03, quiet_share=0.4), absence_start=0.5, absence_days=2.0
    )
    assert (J.absence_start, J.absence_days) == (1 / 60, 8.0)


def test_in_a_first_season_of_several_bucks() -> None:
    seen = {
        "Ash": days("2022-06-04", "2022-12-20", 4),
        "Elm": days("2022-11-10", "2022-11-19", 2),
        "Oak": days("2022-09-18", "2022-12-24", 3),
    }
    for as_of in ("2022-11-15", "2022-12-25"):
        ours, theirs = both(seen, as_of)
        assert list(ours.columns) == sorted(seen)[: len(ours.columns)]
        np.testing.assert_allclose(ours, theirs, atol=2e-6)


@pytest.mark.parametrize("as_of", ["2023-07-25", "2023-10-15", "2024-02-10"])
def test_in_a_second_season_of_a_buck_with_no_dates_of_his_own(as_of: str) -> None:
    """Alone, so that rates are learned from him only; nothing carried over from last spring."""
    seen = {"Ash": days("2022-06-04", "2024-02-09", 6)}
    ours, theirs = both(seen, as_of, replace(FORECAST, carried_over=0.0))
    np.testing.assert_allclose(ours, theirs, atol=2e-6)
    carried, _ = both(seen, as_of, FORECAST)
    assert np.abs(carried.to_numpy()[0] - ours.to_numpy()[0]).max() > 1e-3


FIRST, PEAK = date(2024, 6, 1), date(2024, 11, 12)


def soft(pattern: int, before: str, after: str, middle: int) -> np.ndarray:
    """From one state to another over five days about a middle."""
    share = np.clip((np.arange(365) - middle + 2.5) / 5, 0, 1)
    states = np.zeros((365, len(PATTERNS), len(STATES)))
    states[:, pattern, STATES.index(before)] = 1 - share
    states[:, pattern, STATES.index(after)] = share
    return states


@pytest.mark.parametrize(
    ("pattern", "before", "after", "middle", "names"),
    [
        (RUT, "before", "here", 170, {"rut_arrival": 170 - 164}),
        (RUT, "excursion", "here", 150, {"rut_arrival": 150 - 164}),
        (RUT, "here", "away", 180, {"rut_departure": 180 - 164}),
        (FALL, "before", "here", 100, {"fall_arrival": 100}),
        (FALL, "here", "left", 260, {"fall_departure": 260}),
        (FALL, "here", "left", 150, {}),  # before mid December he was lost
        (SUMMER, "here", "left", 95, {"summer_departure": 95}),
        (SUMMER, "away", "excursion", 95, {"summer_departure": 95}),
        (SUMMER, "here", "left", 260, {}),  # and not in spring
    ],
)
def test_a_date_is_where_the_states_before_it_end(
    pattern: int, before: str, after: str, middle: int, names: dict[str, int]
) -> None:
    chance = np.zeros(len(PATTERNS))
    chance[pattern] = 0.7
    found = dates_seen(soft(pattern, before, after, middle), chance, FIRST, PEAK)
    assert found.keys() == names.keys()
    for name, day in names.items():
        # The share moves on five days; a day itself is spread by a twelfth of its square.
        assert found[name].day == pytest.approx(day + 0.5)
        share = np.clip((np.arange(365) - middle + 2.5) / 5, 0, 1)
        moved, on = np.diff(share), np.arange(1, 365)
        variance = moved @ (on - moved @ on) ** 2 + 1 / 12
        assert found[name].sd == pytest.approx(np.sqrt(variance))
        assert found[name].weight == pytest.approx(0.7)
    for weight, told in ((0.2, bool(names)), (0.19, False)):
        chance[pattern] = weight
        assert bool(dates_seen(soft(pattern, before, after, middle), chance, FIRST, PEAK)) is told


def test_every_date_of_his_own_takes_its_pattern_s_place() -> None:
    usual = Judgement()
    kinds = {
        "rut_arrival": ("rut_arrival_after_peak", "rut_arrival_sd"),
        "fall_arrival": ("fall_arrival_day", "fall_arrival_sd"),
        "fall_departure": ("fall_departure_day", "fall_departure_sd"),
        "summer_departure": ("summer_departure_day", "summer_departure_sd"),
    }
    from deerlog.analysis.forecast.own_dates import DateSeen

    for name, (day, sd) in kinds.items():
        middle, spread = getattr(usual, day), getattr(usual, sd)
        seen = DateSeen(day=middle + 9, sd=3.0, weight=0.8)
        got = own_dates(usual, [{name: seen}, {}], 5.0).judgement
        wanted = own_date(middle, spread, [seen], 5.0)
        assert (getattr(got, day), getattr(got, sd)) == wanted
        assert replace(got, **{day: middle, sd: spread}) == usual
    seen = DateSeen(day=20.0, sd=3.0, weight=0.8)
    leaves = own_dates(usual, [{"rut_departure": seen}], 5.0)
    middle = usual.rut_arrival_after_peak + usual.rut_stay_days
    spread = np.hypot(usual.rut_arrival_sd, usual.rut_stay_days)
    assert leaves.rut_departure == pytest.approx(own_date(middle, spread, [seen], 5.0))
    # As vague as the pattern itself it says nothing; a spread of years is never less than a day.
    for share, told in ((0.949, True), (0.951, False)):
        vague = DateSeen(day=0.0, sd=9.0 * share, weight=1.0)
        assert (own_date(0.0, 9.0, [vague], 5.0) is not None) is told
    narrow = own_date(0.0, 5.0, [DateSeen(day=4.0, sd=1.0, weight=1.0)], 5.0)
    alone = 1 - 1 / 25
    says = 1 / (1 / alone + 25)
    assert narrow == pytest.approx((says * 4 / alone / (1 + says), np.sqrt(1 / (1 + says) + 25)))
