"""Chances put together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days, effort, visits
from scipy.integrate import quad
from scipy.special import expit
from scipy.stats import norm

from deerlog.analysis.forecast.chances import CLUMPING_SHAPES, Forecast, learn
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import SightingGrid, counts_behind, sighting_grid

FIRST, TODAY = pd.Timestamp("2024-08-01"), pd.Timestamp("2024-11-01")
AHEAD = pd.date_range("2024-11-02", "2024-11-08", unit="us")
SITES = pd.DataFrame(
    {
        "site": ["Alder", "Birch", "Cedar"],
        "setting": ["food", "travel", "scrape"],
        "x_m": [0.0, 400.0, 900.0],
        "y_m": 0.0,
    }
)
SEEN = visits({"Ash": days("2024-08-05", "2024-10-31", 2), "Oak": days("2024-09-20", "2024-09-21")})
RAN = effort("2024-08-01", "2024-11-01")


def grid() -> SightingGrid:
    return sighting_grid(SEEN, RAN, FIRST, TODAY)


def around(ash: float = 0.9, oak: float = 0.2) -> pd.DataFrame:
    index = pd.date_range(FIRST, AHEAD[-1], unit="us")
    return pd.DataFrame({"Ash": ash, "Oak": oak}, index=index)


def made(**other: float) -> Forecast:
    return learn(grid(), SEEN, around(**other), CALENDAR, SITES).forecast(AHEAD)


def by_hand(*, around: float, log_odds: float, sd: float, floor: float) -> Forecast:
    shape = (1, 1, 1, 2)
    return Forecast(
        days=AHEAD[:1],
        bucks=("Ash",),
        sites=("Alder",),
        around=np.full((1, 1), around),
        log_odds=np.full(shape, log_odds),
        sd=np.full(shape, sd),
        floor=np.full(shape[1:], floor),
    )


def test_the_mean_is_over_what_is_not_known() -> None:
    got = by_hand(around=1.0, log_odds=-2.0, sd=1.2, floor=0.0).chance()[0, 0, 0, 0]
    wanted, _ = quad(lambda z: norm.pdf(z) * expit(-2.0 + 1.2 * z), -8, 8)
    assert got == pytest.approx(wanted, rel=1e-3)
    assert got > expit(-2.0)


def test_gone_leaves_but_the_wrong_tags() -> None:
    gone = by_hand(around=0.0, log_odds=1.0, sd=1.0, floor=0.003)
    assert gone.chance()[0, 0, 0, 0] == pytest.approx(0.003)
    half = by_hand(around=0.5, log_odds=0.0, sd=0.0, floor=0.1)
    assert half.chance()[0, 0, 0, 0] == pytest.approx(1 - 0.75 * 0.9)


@pytest.mark.parametrize(("around", "sd"), [(0.5, 0.8), (0.97, 0.8), (0.99, 0.3), (1.0, 0.8)])
def test_the_interval_holds_95_in_100_of_what_may_be(around: float, sd: float) -> None:
    """Against drawing whether he is around, and how he uses the site."""
    rng = np.random.default_rng(2)
    here = rng.random(200_000) < around
    drawn = np.where(here, expit(rng.normal(-1.5, sd, len(here))), 0.0)
    drawn = 1 - (1 - drawn) * 0.99
    low, high = by_hand(around=around, log_odds=-1.5, sd=sd, floor=0.01).interval()
    wanted = np.quantile(drawn, [0.025, 0.975])
    assert [low[0, 0, 0, 0], high[0, 0, 0, 0]] == pytest.approx(wanted, rel=0.03)


def test_a_buck_hardly_ever_here_has_an_interval_that_holds_his_chance() -> None:
    rare = by_hand(around=0.01, log_odds=0.0, sd=0.5, floor=0.0)
    low, high = rare.interval()
    assert low[0, 0, 0, 0] == 0 and high[0, 0, 0, 0] == rare.chance()[0, 0, 0, 0]


def test_the_record_tells_how_visits_clump() -> None:
    """400 days with a visit to a site nearly every day; a third of the visits in evening light."""
    rng = np.random.default_rng(4)
    on = pd.date_range("2023-08-05", periods=440, unit="us")
    learned = {}
    for shape in (0.5, 50.0):
        count = rng.poisson(rng.gamma(shape, 1.5 / shape, len(on)))
        light = rng.binomial(count, 1 / 3)
        parts = [
            visits({"Ash": np.repeat(on, light)}),
            visits({"Ash": np.repeat(on, count - light)}, in_light=False),
        ]
        seen = pd.concat(parts, ignore_index=True)
        ran = effort("2023-08-01", "2024-11-01", sites=("Alder",))
        known = sighting_grid(seen, ran, pd.Timestamp("2023-08-01"), TODAY)
        here = pd.DataFrame({"Ash": 1.0}, index=known.days)
        learned[shape] = learn(known, seen, here, CALENDAR, SITES).clumping_shape
    assert learned[0.5] in CLUMPING_SHAPES and learned[50.0] in CLUMPING_SHAPES
    assert learned[0.5] <= 1.25 and learned[50.0] >= 5


def test_nothing_jumps_overnight_at_the_border_of_two_phases() -> None:
    """He is at Alder nearly daily in summer and seldom after; the rut begins on 5 November."""
    seen = visits(
        {"Ash": [*days("2024-08-01", "2024-08-31"), *days("2024-09-03", "2024-10-30", 6)]}
    )
    known = sighting_grid(seen, RAN, FIRST, TODAY)
    ahead = pd.date_range("2024-11-02", "2024-12-10", unit="us")
    here = pd.DataFrame({"Ash": 1.0}, index=FIRST + pd.to_timedelta(np.arange(140), unit="D"))
    chance = learn(known, seen, here, CALENDAR, SITES).forecast(ahead).chance()[:, 0]
    steps = chance[1:] / chance[:-1]
    assert steps.min() > 0.9 and steps.max() < 1.1
    assert chance.max() / chance.min(axis=0).min() > 1.3, "yet the phases are not alike"


def test_a_site_far_from_all_he_was_seen_at_has_nearly_no_chance() -> None:
    """Cedar was put out two days ago: 900 m from Alder, or three kilometres."""
    ran = pd.concat([effort("2024-08-01", "2024-11-01", sites=("Alder", "Birch")),
                     effort("2024-10-31", "2024-11-01", sites=("Cedar",))])  # fmt: skip
    known = sighting_grid(SEEN, ran, FIRST, TODAY)
    at = {}
    for far in (900.0, 3000.0):
        sites = SITES.assign(x_m=[0.0, 400.0, far])
        made = learn(known, SEEN, around(), CALENDAR, sites).forecast(AHEAD)
        at[far] = made.chance_if_around()[0, 0]
    alder, _, cedar = at[3000.0].sum(axis=1)
    assert cedar < 0.01 * alder
    assert at[900.0][2].sum() > 5 * cedar


def test_chances_of_a_record() -> None:
    chance, (low, high) = made().chance(), made().interval()
    assert chance.shape == (7, 2, 3, 2)
    assert (low <= chance).all() and (chance <= high).all()
    assert ((chance > 0) & (chance < 1)).all()
    # Ash: every other evening at Alder, at no other site or half.
    assert 0.25 < chance[0, 0, 0, 1] < 0.5
    assert chance[0, 0, 0, 1] > 3 * chance[0, 0, 0, 0]
    assert chance[0, 0, 0, 1] > 5 * chance[0, 0, 2, 1]
    assert chance[0, 0, 0, 1] > 2 * chance[0, 1, 0, 1]


def test_who_is_likelier_around_is_likelier_seen() -> None:
    leaving = around()
    leaving.loc[AHEAD, "Ash"] = 0.45
    less = learn(grid(), SEEN, leaving, CALENDAR, SITES).forecast(AHEAD)

    def there(got: Forecast) -> np.ndarray:
        """The chance without the wrong tags."""
        return 1 - (1 - got.chance()) / (1 - got.floor)

    np.testing.assert_allclose(there(less)[:, 0], 0.5 * there(made())[:, 0], rtol=1e-6)
    np.testing.assert_allclose(there(less)[:, 1], there(made())[:, 1], rtol=1e-6)


def test_a_forecast_knows_no_future() -> None:
    with pytest.raises(ValueError, match="after the day it is made"):
        learn(grid(), visits({"Ash": days("2024-11-02", "2024-11-02")}), around(), CALENDAR, SITES)
    with pytest.raises(ValueError, match="for days after"):
        learn(grid(), SEEN, around(), CALENDAR, SITES).forecast(pd.DatetimeIndex([TODAY]))


def test_sites_unknown_to_the_table_and_no_days() -> None:
    got = learn(grid(), SEEN, around(), CALENDAR, SITES.iloc[:1]).forecast(AHEAD)
    assert got.sites == ("Alder", "Birch", "Cedar") and np.isfinite(got.chance()).all()
    assert learn(grid(), SEEN, around(), CALENDAR, SITES).forecast(AHEAD[:0]).chance().shape[0] == 0
    nobody = sighting_grid(visits({}), RAN, FIRST, TODAY)
    empty = learn(nobody, visits({}), around(), CALENDAR, SITES).forecast(AHEAD)
    assert empty.chance().shape == (7, 0, 3, 2)


def test_counts_since_his_first_season() -> None:
    later = visits(
        {"Ash": days("2023-09-02", "2023-09-05"), "Oak": days("2024-09-02", "2024-09-02")}
    )
    ran = effort("2023-09-01", "2024-09-10", camera_day=0.5)
    known = sighting_grid(later, ran, pd.Timestamp("2023-09-01"), pd.Timestamp("2024-09-10"))
    got = counts_behind(known, later, CALENDAR)
    early = 1
    assert got.visits[:, 0, 1, early].tolist() == [4, 1]
    n_early = (pd.DatetimeIndex(known.days).month == 9).sum() + 21
    assert got.camera_days[0, 0, early] == pytest.approx(0.5 * n_early)
    assert got.camera_days[1, 0, early] == pytest.approx(0.5 * 10), "2023 was before his time"


def test_expected_visits_add_up_to_those_seen() -> None:
    got = learn(grid(), SEEN, around(ash=1.0, oak=0.05), CALENDAR, SITES).expected_visits()
    assert got.expected.shape == got.response.shape == (93, 2)
    assert got.expected.sum() == pytest.approx(len(SEEN), rel=0.15)
    assert ((got.response > 0) & (got.response <= 1)).all()


def test_a_wrong_tag_is_as_likely_as_others_come_there() -> None:
    """Ash's 44 evenings at Alder, and Oak's two at Cedar, which ran for just those two days."""
    oak = visits({"Oak": days("2024-09-20", "2024-09-21")}, site="Cedar")
    seen = pd.concat([SEEN[SEEN["buck"] == "Ash"], oak], ignore_index=True)
    ran = pd.concat([effort("2024-08-01", "2024-11-01", sites=("Alder", "Birch")),
                     effort("2024-09-20", "2024-09-21", sites=("Cedar",))])  # fmt: skip
    judgement = ForecastJudgement(wrong_tag_share=0.04, stranger_rate=0.006)
    known = sighting_grid(seen, ran, FIRST, TODAY)
    floor = learn(known, seen, around(), CALENDAR, SITES, judgement).forecast(AHEAD).floor
    # A stranger comes to each of the three sites alike; half his visits are in light.
    stranger = 0.5 * 0.006 / (2 * 3)
    assert floor[:, :, 0] == pytest.approx(stranger), "none in the morning"
    assert floor[:, 0, 1] == pytest.approx(stranger + 0.04 * 44 / 93)
    assert floor[:, 1, 1] == pytest.approx(stranger)
    # Two days of watch are too few for a rate: they count as a month.
    assert floor[:, 2, 1] == pytest.approx(stranger + 0.04 * 2 / 30)


@pytest.mark.parametrize("shape", [0.6, 2.0, 8.0])
def test_without_a_visit_they_clump_as_the_judgement_says(shape: float) -> None:
    nobody = sighting_grid(visits({}), RAN, FIRST, TODAY)
    judgement = ForecastJudgement(clumping_shape=shape)
    got = learn(nobody, visits({}), around(), CALENDAR, SITES, judgement).clumping_shape
    assert got == min(CLUMPING_SHAPES, key=lambda each: abs(np.log(each / shape)))


def test_sure_chances_answer_less_to_a_change_of_the_log_odds() -> None:
    """``response`` against moving every log odds by a little."""
    learned = learn(grid(), SEEN, around(ash=1.0, oak=0.05), CALENDAR, SITES)
    got, made = learned.expected_visits(), learned._on(learned.grid.days)
    made = replace(made, sd=np.zeros_like(made.sd))
    weight = made.around[:, :, None, None] * learned.grid.running[:, None, :, None]
    sums = [
        (replace(made, log_odds=made.log_odds + step).chance_if_around() * weight).sum(axis=(1, 2))
        for step in (-1e-4, 1e-4)
    ]
    assert got.response == pytest.approx(np.log(sums[1] / sums[0]) / 2e-4, abs=0.02)
