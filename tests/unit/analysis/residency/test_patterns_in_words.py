"""Each pattern's chances written out day by day, with dates from a general library."""

from __future__ import annotations

import re
from dataclasses import fields
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from deerlog.analysis.presence.judgement import HIGHEST_RATE, Judgement, bounds
from deerlog.analysis.presence.patterns import PATTERNS, STATES, date_hazard, first_of_june, pattern_chains, pattern_prior, season_transition
from deerlog.timekeeping.seasons import SeasonCalendar

DEVELOPERS = Path(__file__).parents[4] / "DEVELOPERS.md"
J = Judgement(rut_arrival_after_peak=2.0, prior_fall=0.25, vanish=0.1)
SEASON = 2023


@pytest.mark.parametrize(("middle", "sd"), [(20.0, 5.0), (33.3, 12.0), (-8.0, 3.0), (90.0, 2.0)])
def test_the_chance_of_a_date_that_has_not_come_yet(middle: float, sd: float) -> None:
    day = np.arange(60)
    spread = norm(middle, sd)
    not_before = spread.sf(day)
    of_day = spread.cdf(day + 1) - spread.cdf(day)
    told = not_before > 1e-9
    hazard = np.minimum(of_day / np.where(told, not_before, 1.0), 0.5)  # no single day is certain
    near = {"rtol": 1e-6, "atol": 1e-12}
    np.testing.assert_allclose(date_hazard(day, middle, sd)[told], hazard[told], **near)
    assert (np.abs(date_hazard(day, middle, sd)[~told] - 0.5) < 0.5 + 1e-12).all()
    # If it may not come at all: the chance that it comes given that it has not so far (Bayes).
    for comes in (0.9, 0.3):
        still = comes * not_before / (1 - comes + comes * not_before)
        got = date_hazard(day, middle, sd, comes=comes)
        np.testing.assert_allclose(got[told], (hazard * still)[told], **near)


def hazard(day: int, middle: float, sd: float, comes: float = 1.0) -> float:
    return float(date_hazard(np.array([day]), middle, sd, comes=comes)[0])


def ways_out(pattern: str, day: date, calendar: SeasonCalendar) -> dict[tuple[str, str], float]:
    """What can happen from one day to the next, in words; staying is the rest."""
    since = (day - date(SEASON, 6, 1)).days  # the deer's own dates count from the first of June
    of_rut = (day - calendar.rut_peak_day(SEASON)).days
    pre_rut = calendar.phase_bounds(SEASON)[2][1]
    hunted = day >= pre_rut
    loss = J.loss if hunted else 0.0
    absences = {("here", "away"): J.absence_start, ("away", "here"): 1 / J.absence_days}
    passing = {("before", "excursion"): J.excursion, ("excursion", "before"): 1 / J.excursion_days}
    if pattern == "year-round":
        return absences | {("here", "left"): loss}
    if pattern == "fall":
        leaves = hazard(since, J.fall_departure_day, J.fall_departure_sd)
        comes = hazard(since, J.fall_arrival_day, J.fall_arrival_sd)
        return absences | passing | {("before", "here"): comes, ("here", "left"): leaves + loss}
    if pattern == "summer":
        # Until the end of January he may leave, from then on he may come back.
        leaves = hazard(since, J.summer_departure_day, J.summer_departure_sd) if since < 240 else 0
        alive = (1 - J.loss) ** (J.summer_return_day - J.summer_departure_day)
        returns = hazard(since, J.summer_return_day, J.summer_return_sd, alive)
        return absences | {
            ("here", "left"): leaves + J.loss,
            ("left", "here"): returns if since >= 240 else 0.0,
            ("left", "excursion"): J.excursion,
            ("excursion", "left"): 1 / J.excursion_days,
        }
    if pattern == "rut":
        # He comes first until 30 days after the peak, and again from 12 before to 25 after it.
        comes = hazard(of_rut, J.rut_arrival_after_peak, J.rut_arrival_sd, 1 - J.rut_skip)
        again = J.rut_return if -12 <= of_rut <= 25 else 0.0
        return passing | {
            ("before", "here"): comes if of_rut <= 30 else 0.0,
            ("here", "away"): 1 / J.rut_stay_days,
            ("away", "here"): again + J.excursion / 4,
        }
    if pattern == "lost":
        # On any day before the pre-rut as likely as on another.
        dies = 0.0 if hunted else 1 / (pre_rut - day).days
        kept = {move: chance * (1 - dies) for move, chance in absences.items()}
        return kept | {("here", "left"): dies, ("away", "left"): dies}
    return {}


@pytest.mark.parametrize(
    "calendar",
    [SeasonCalendar(), SeasonCalendar((7, 15), (12, 20)), SeasonCalendar((4, 1), (11, 1))],
)
def test_every_day_of_every_pattern(calendar: SeasonCalendar) -> None:
    chains = pattern_chains(calendar, SEASON, J)
    first, after = calendar.bounds(SEASON)
    n_days = (after - first).days
    assert chains.transition.shape[0] == n_days - 1
    for t in range(0, n_days - 1, 4):
        day = date.fromordinal(first.toordinal() + t)
        for k, pattern in enumerate(PATTERNS):
            wanted = np.zeros((len(STATES), len(STATES)))
            for (origin, target), chance in ways_out(pattern, day, calendar).items():
                wanted[STATES.index(origin), STATES.index(target)] = chance
            leaving = wanted.sum(axis=1, keepdims=True)
            wanted /= np.maximum(leaving, 1.0)
            wanted += np.diag(1 - np.minimum(leaving[:, 0], 1.0))
            np.testing.assert_allclose(
                chains.transition[t, k], wanted, rtol=1e-9, atol=1e-12, err_msg=f"{pattern} {day}"
            )
        since = (day - date(SEASON, 6, 1)).days
        away = J.summer_departure_day <= since < J.summer_return_day
        assert chains.quiet[t] == (J.quiet_rate if away else 1.0)


def test_where_each_pattern_begins() -> None:
    start = pattern_chains(SeasonCalendar(), 2023, J).start
    begins = {pattern: dict(zip(STATES, row, strict=True)) for pattern, row in
              zip(PATTERNS, start, strict=True)}  # fmt: skip
    # Who lives here in summer is here but for absences: of a mean length one day in four or five.
    for pattern in ("year-round", "summer", "lost"):
        assert begins[pattern]["here"] + begins[pattern]["away"] == pytest.approx(1)
        steady = (1 / J.absence_days) / (J.absence_start + 1 / J.absence_days)
        assert begins[pattern]["here"] == pytest.approx(steady, abs=0.03)
    assert begins["fall"]["before"] + begins["fall"]["here"] == pytest.approx(1)
    assert 0 < begins["fall"]["here"] < 0.05
    assert begins["rut"]["before"] == begins["absent"]["left"] == 1


def test_from_season_to_season() -> None:
    """The same with persistence, gone with `vanish`; else any other pattern by its prior."""
    first = dict(zip(PATTERNS, pattern_prior(J), strict=True))
    whole = J.prior_year_round + J.prior_fall + J.prior_summer + J.prior_rut
    living = {"year-round": J.prior_year_round / whole, "fall": J.prior_fall / whole,
              "summer": J.prior_summer / whole, "rut": J.prior_rut / whole}  # fmt: skip
    assert first["absent"] == 0
    assert first["lost"] == pytest.approx(J.lost_early * living["year-round"])
    assert first["year-round"] == pytest.approx((1 - J.lost_early) * living["year-round"])
    for pattern in ("fall", "summer", "rut"):
        assert first[pattern] == pytest.approx(living[pattern])
    table = season_transition(J)

    def split(row: dict[str, float]) -> list[float]:
        """Of who would live here all year one in ten is lost early."""
        lost = J.lost_early * row["year-round"]
        return [row["year-round"] - lost, row["fall"], row["summer"], row["rut"],
                row["absent"], lost]  # fmt: skip

    for i, pattern in enumerate(PATTERNS[:4]):
        others = {name: chance for name, chance in living.items() if name != pattern}
        left_over = (1 - J.vanish) * (1 - J.persistence)
        row = {name: left_over * p / sum(others.values()) for name, p in others.items()}
        row |= {pattern: (1 - J.vanish) * J.persistence, "absent": J.vanish}
        np.testing.assert_allclose(table[i], split(row))
    # Gone a whole season: mostly for good.
    back = {name: 0.15 * chance for name, chance in living.items()} | {"absent": 0.85}
    for i in (4, 5):
        np.testing.assert_allclose(table[i], split(back))


@pytest.mark.parametrize(
    ("start", "june"),
    [((2023, 6, 1), 2023), ((2023, 11, 30), 2023), ((2023, 12, 2), 2024), ((2023, 1, 10), 2023),
     ((2022, 11, 29), 2022)],
)  # fmt: skip
def test_the_first_of_june_nearest_a_seasons_start(start: tuple[int, int, int], june: int) -> None:
    assert first_of_june(date(*start)) == date(june, 6, 1)


def test_the_table_of_judgement_in_words_is_that_of_the_code() -> None:
    """DEVELOPERS.md tells the value of every rate beside what hangs on it."""
    text = DEVELOPERS.read_text(encoding="utf-8")
    told = dict(re.findall(r"^\| `(\w+)` \| (-?[\d.e-]+) \|", text, re.MULTILINE))
    for field in fields(Judgement):
        assert field.name in told, (
            "each rate has its row: tests/simulation/judgement_sensitivity.py"
        )
        assert told[field.name] == f"{getattr(Judgement(), field.name):.3g}"


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("fall_arrival_day", -366, 731),  # a year before and two after
        ("rut_arrival_after_peak", -366, 731),
        ("absence_days", 1, 366),
        ("fall_arrival_sd", 1, 366),
        ("rate_buck_log_sd", 0.1, 3),
        ("site_learning_days", 0.01, 10_000),
        ("rate_median", 0.001, HIGHEST_RATE),
        ("quiet_share", 1e-9, 0.99),
        ("persistence", 1e-9, 1),
    ],
)
def test_bounds_are_allowed_themselves(name: str, low: float, high: float) -> None:
    assert bounds(name) == (low, high)
    for value in (low, high):
        assert getattr(Judgement.from_settings({name: value}), name) == value
    assert 1 - np.exp(-HIGHEST_RATE) > 0.997, "such a day is seen for certain anyway"
