"""The patterns as daily chances."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from deerlog.analysis.presence.judgement import Judgement, bounds
from deerlog.analysis.presence.patterns import (
    ABSENT,
    AROUND,
    AWAY,
    ELSEWHERE,
    EXCURSION,
    FALL,
    GONE,
    HERE,
    LOST,
    OFF,
    PASSING,
    PATTERNS,
    RUT,
    SUMMER,
    YEAR_ROUND,
    pattern_chains,
    pattern_prior,
    prior_states,
    season_transition,
)
from deerlog.analysis.presence.sightings import rate_prior
from deerlog.errors import PropertyError
from deerlog.timekeeping.seasons import SeasonCalendar

SETTINGS = [f.name for f in fields(Judgement)]


def around(calendar: SeasonCalendar, season: int, pattern: str) -> npt.NDArray[np.float64]:
    """Chance of being around on each day of a season, nothing seen."""
    states = prior_states(pattern_chains(calendar, season, Judgement()))
    return states[:, 0, PATTERNS.index(pattern)][:, AROUND].sum(axis=1)


def on(calendar: SeasonCalendar, season: int, pattern: str, day: date) -> float:
    first, _ = calendar.bounds(season)
    return float(around(calendar, season, pattern)[(day - first).days])


month_days = st.dates(date(2023, 1, 1), date(2023, 12, 31)).map(lambda d: (d.month, d.day))


@settings(max_examples=40)
@given(start=month_days, peak=month_days, season=st.integers(2015, 2030))
def test_rows_sum_to_one_in_any_season(
    start: tuple[int, int], peak: tuple[int, int], season: int
) -> None:
    calendar = SeasonCalendar(start, peak)
    chains = pattern_chains(calendar, season, Judgement())
    first, after = calendar.bounds(season)
    assert chains.transition.shape == ((after - first).days - 1, 1, 8, 6, 6)
    assert (chains.transition >= 0).all()
    np.testing.assert_allclose(chains.transition.sum(axis=-1), 1, rtol=0, atol=1e-6)
    np.testing.assert_allclose(chains.start.sum(axis=-1), 1, rtol=0, atol=1e-6)


def test_a_leap_year_has_a_day_more() -> None:
    lengths = [
        len(pattern_chains(SeasonCalendar(), s, Judgement()).transition) for s in range(2022, 2026)
    ]
    assert lengths == [364, 365, 364, 364]


def test_each_pattern_is_around_when_its_name_says() -> None:
    calendar = SeasonCalendar()
    august, early_november, rut, january = (
        date(2023, 8, 1), date(2023, 11, 1), date(2023, 11, 18), date(2024, 1, 15),
    )  # fmt: skip
    assert on(calendar, 2023, "year-round", august) > 0.6
    assert on(calendar, 2023, "year-round", january) > 0.45
    assert on(calendar, 2023, "fall", august) < 0.1
    assert on(calendar, 2023, "fall", early_november) > 0.6
    assert on(calendar, 2023, "fall", january) > 0.5
    assert on(calendar, 2023, "summer", august) > 0.6
    assert on(calendar, 2023, "summer", early_november) < 0.05
    assert on(calendar, 2023, "rut", august) < 0.02
    assert on(calendar, 2023, "rut", rut) > 0.3
    assert on(calendar, 2023, "rut", january) < 0.1
    assert around(calendar, 2023, "absent").max() == 0


@pytest.mark.parametrize("peak", [(9, 25), (11, 12), (12, 28), (1, 10)])
def test_a_rut_visitor_comes_around_the_local_peak(peak: tuple[int, int]) -> None:
    """Peaks from late September to January are on record (Novak et al. 1991; state agencies)."""
    calendar = SeasonCalendar(rut_peak=peak)
    first, _ = calendar.bounds(2023)
    busiest = int(around(calendar, 2023, "rut").argmax())
    peak_day = (calendar.rut_peak_day(2023) - first).days
    assert peak_day <= busiest <= peak_day + 15


@pytest.mark.parametrize("start", [(3, 1), (4, 15), (7, 1), (8, 1)])
@pytest.mark.parametrize("pattern", ["fall", "rut"])
def test_deer_do_not_know_when_the_season_is_said_to_start(
    start: tuple[int, int], pattern: str
) -> None:
    for day in (date(2023, 8, 20), date(2023, 10, 15), date(2023, 11, 20), date(2024, 1, 10)):
        usual = on(SeasonCalendar(), 2023, pattern, day)
        moved = on(SeasonCalendar(season_start=start), 2023, pattern, day)
        # The start states stand for what went before, and are the same for every start.
        assert moved == pytest.approx(usual, abs=0.035)


def test_a_date_overdue_never_grows_less_likely() -> None:
    """The chance of coming, given that he has not yet, only rises (a normal date's hazard)."""
    chains = pattern_chains(SeasonCalendar(), 2023, Judgement())
    coming = chains.transition[:200, 0, 1, ELSEWHERE][:, [HERE, OFF]].sum(axis=1)
    assert (np.diff(coming) >= -1e-7).all()
    assert coming[-1] > 0.2
    leaving = chains.transition[:238, 0, PATTERNS.index("summer"), HERE, ELSEWHERE]
    assert (np.diff(leaving) >= -1e-7).all()


def test_a_resident_comes_back_from_an_absence() -> None:
    chains = pattern_chains(SeasonCalendar(), 2023, Judgement())
    for pattern in ("year-round", "fall"):
        back = chains.transition[:, 0, PATTERNS.index(pattern), AWAY, HERE]
        np.testing.assert_allclose(back, 1 / Judgement().absence_days, rtol=1e-6)


@pytest.mark.parametrize("name", SETTINGS)
def test_any_allowed_setting_keeps_chances_chances(name: str) -> None:
    calendar = SeasonCalendar()
    for value in bounds(name):
        judgement = Judgement.from_settings({name: value})
        chains = pattern_chains(calendar, 2023, judgement)
        assert np.isfinite(chains.transition).all()
        assert (chains.transition >= 0).all()
        np.testing.assert_allclose(chains.transition.sum(axis=-1), 1, rtol=0, atol=1e-6)
        for table in season_transition(judgement):
            assert (table >= -1e-15).all()
            np.testing.assert_allclose(table.sum(axis=-1), 1, rtol=0, atol=1e-12)
        rates = rate_prior(judgement)
        assert np.isfinite(rates.rates).all()
        assert (rates.rates > 0).all()
        assert rates.weights.sum() == pytest.approx(1)


@pytest.mark.parametrize("name", SETTINGS)
def test_defaults_lie_inside_theirbounds(name: str) -> None:
    low, high = bounds(name)
    assert low < getattr(Judgement(), name) < high


def test_settings_are_put_in() -> None:
    chosen = Judgement.from_settings({"rut_arrival_after_peak": -3, "persistence": 0.6})
    assert chosen == replace(Judgement(), rut_arrival_after_peak=-3, persistence=0.6)
    assert Judgement.from_settings({}) == Judgement()


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("persistence", 0),
        ("persistence", 1.5),
        ("vanish", -0.1),
        ("wrong_tag_share", 2),
        ("absence_days", 0.2),
        ("fall_arrival_sd", 0),
        ("rate_median", float("nan")),
        ("rate_median", float("inf")),
        ("rate_buck_log_sd", 40),
        ("loss", "a third"),
        ("loss", True),
        ("loss", None),
    ],
)
def test_impossible_settings_name_key_value_and_range(name: str, value: object) -> None:
    with pytest.raises(PropertyError) as told:
        Judgement.from_settings({name: value})  # type: ignore[dict-item]
    text = str(told.value)
    low, high = bounds(name)
    assert "property.toml" in text
    assert f"[presence] {name} is {value!r}" in text
    assert f"from {low:g} to {high:g}" in text


def test_an_unknown_setting_is_named_with_those_that_exist() -> None:
    with pytest.raises(PropertyError, match=r"no setting named 'persistance'.*persistence"):
        Judgement.from_settings({"persistance": 0.9})


def test_patterns_across_seasons() -> None:
    judgement = Judgement()
    prior, (table, gone) = pattern_prior(judgement), season_transition(judgement)
    assert prior.sum() == pytest.approx(1)
    assert prior[ABSENT] == 0
    np.testing.assert_allclose(table.sum(axis=1), 1, rtol=0, atol=1e-12)
    same = np.diag(table)[:ABSENT]
    stay = judgement.persistence * (1 - judgement.vanish)
    assert same[1:] == pytest.approx(stay)
    # A year-round buck who stays one may yet be lost early in the next season.
    assert same[YEAR_ROUND] + table[YEAR_ROUND, LOST] == pytest.approx(stay)
    for row in (prior, *table):
        early = judgement.lost_early
        assert row[LOST] == pytest.approx(early * (row[LOST] + row[YEAR_ROUND]))
    assert table[LOST, ABSENT] == table[ABSENT, ABSENT] == gone[ABSENT] > 0.8


def test_losses_before_the_pre_rut_are_a_pattern_of_their_own() -> None:
    calendar = SeasonCalendar()
    eve = date(2023, 10, 21)  # the pre-rut begins the day after
    assert on(calendar, 2023, "lost", date(2023, 6, 20)) > 0.7
    assert on(calendar, 2023, "lost", eve) < 0.01
    assert around(calendar, 2023, "lost")[143:].max() == 0
    chains = pattern_chains(calendar, 2023, Judgement())
    for state in (HERE, OFF):
        leaving = chains.transition[:, 0, YEAR_ROUND, state, GONE]
        assert (leaving[:143] == 0).all()
        assert leaving[143:] == pytest.approx(Judgement().loss)
    # As likely on one day as on another.
    left = prior_states(chains)[:143, 0, LOST, GONE]
    np.testing.assert_allclose(np.diff(left), 1 / 143, rtol=1e-3)


def test_a_passing_buck_stays_some_weeks_and_never_comes_again() -> None:
    chains = pattern_chains(SeasonCalendar(), 2023, Judgement())
    states = prior_states(chains)[:, 0, PASSING]
    came = 1 - states[:, [ELSEWHERE, EXCURSION]].sum(axis=1)
    first = date(2023, 6, 1)
    assert came[(date(2023, 10, 9) - first).days] == pytest.approx(0.5, abs=0.05)
    assert states[-1, GONE] > 0.95
    here = states[:, [HERE, OFF]].sum()
    assert here == pytest.approx(Judgement().passing_stay_days, rel=0.05)
    assert (chains.transition[:, 0, PASSING, GONE, GONE] == 1).all()


def test_where_the_season_starts_with_the_rut_nobody_is_lost_before_it() -> None:
    chains = pattern_chains(SeasonCalendar((11, 1), (11, 12)), 2023, Judgement())
    assert chains.start[0, LOST, GONE] == 1


def test_a_date_may_not_come_at_all() -> None:
    chains = pattern_chains(SeasonCalendar(), 2023, Judgement())
    coming = chains.transition[:, 0, RUT, ELSEWHERE][:, [HERE, OFF]].sum(axis=1)
    waiting = np.cumprod(1 - coming)
    assert waiting[-1] == pytest.approx(Judgement().rut_skip, abs=0.005)
    away = np.cumprod(1 - chains.transition[240:, 0, SUMMER, ELSEWHERE, HERE])
    # By the end of May most of those who live have come back.
    days = Judgement().summer_return_day - Judgement().summer_departure_day
    dead = 1 - (1 - Judgement().loss) ** days
    assert dead < away[-1] < dead + 0.12


def test_fall_ground_off_the_cameras_from_velvet_to_spring() -> None:
    quiet = pattern_chains(SeasonCalendar(), 2023, Judgement()).quiet
    assert set(quiet) == {1.0, Judgement().quiet_rate}
    first = date(2023, 6, 1)
    for day, factor in (
        (date(2023, 8, 20), 1.0),
        (date(2023, 9, 20), Judgement().quiet_rate),
        (date(2024, 3, 1), Judgement().quiet_rate),
        (date(2024, 5, 1), 1.0),
    ):
        assert quiet[(day - first).days] == factor


@pytest.mark.parametrize("start", [(6, 1), (4, 15), (8, 1)])
def test_no_date_comes_long_after_or_before_its_time(start: tuple[int, int]) -> None:
    """First and last day of each move, from 1 June or from the peak of the rut."""
    calendar, judgement = SeasonCalendar(season_start=start), Judgement()
    first, after = calendar.bounds(2023)
    june = (date(2023, 6, 1) - first).days
    peak = (calendar.rut_peak_day(2023) - first).days
    last = (after - first).days - 2
    chains = pattern_chains(calendar, 2023, judgement)
    again = judgement.rut_return + judgement.excursion / 4
    for pattern, origin, to, least, begins, ends in (
        (SUMMER, HERE, ELSEWHERE, 1e-12, None, june + 239),
        (SUMMER, ELSEWHERE, HERE, 0.0, june + 240, None),
        (FALL, ELSEWHERE, HERE, 1e-12, None, june + 199),
        (FALL, HERE, ELSEWHERE, 0.0, june + 200, None),
        (RUT, ELSEWHERE, HERE, 1e-12, None, peak + 30),
        (RUT, AWAY, HERE, 0.99 * again, peak - 12, peak + 25),
    ):
        days = np.flatnonzero(chains.transition[:, 0, pattern, origin, to] > least)
        if begins is not None:
            assert days[0] == max(begins, 0), (pattern, origin)
        assert days[-1] == (last if ends is None else min(ends, last)), (pattern, origin)
