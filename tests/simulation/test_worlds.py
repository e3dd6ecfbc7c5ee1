"""Worlds can be simulated and asked, their truth is true, and spoiled answers score worse."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from simulation.activity_centre import centre_chances
from simulation.life import AWAY, FALL_RANGE, Life
from simulation.simple_rules import simple_rates
from simulation.world_answers import Answers, ask, together
from simulation.world_list import HELD_OUT_WORLDS, TUNING_WORLDS, WORLDS, World, world_named
from simulation.world_lives import FALL_SIGMA_M, SUMMER_SIGMA_M, Lives, gone_from
from simulation.world_measures import (
    WHOLE_SEASON,
    chance_measures,
    expected_loss,
    label_measures,
    ratio,
    score_reliability,
)
from simulation.world_property import simulate_world
from simulation.world_table import AIMS, COLUMNS, heading, line, missed, row_of

WORLD = World(name="for the test", kinds={"passer": 3, "shot": 3}, n_bucks=8, n_cameras=6)
SEEDS = (1, 2, 3)


@pytest.fixture(scope="module")
def answers() -> Answers:
    return together([ask(simulate_world(WORLD, seed), seed) for seed in SEEDS])


def test_every_measure_is_there(answers: Answers) -> None:
    chances, labels = chance_measures(answers), label_measures(answers)
    for name in ("given / true", "came / true", "loss", "rule", "truth", "R", "stand covers"):
        measure = chances[name]
        assert np.isfinite(measure.value) and measure.error > 0 and measure.n > 1000, name
    assert chances["truth"].value < chances["loss"].value
    for day in ("31 Oct", "20 Nov", "31 Jan", "31 Jul", WHOLE_SEASON):
        assert labels["decided", day].n >= 20
        assert 0 <= labels["Brier", day].value < 0.6
    assert labels["passers called resident", "31 Oct"].n >= 5
    assert labels["dead called visiting", "31 Jul"].n >= 5
    row = row_of(WORLD, answers, 1.0)
    assert line(row).count("|") == heading(SEEDS).splitlines()[-1].count("|") == len(COLUMNS)


def test_doubled_chances_score_worse(answers: Answers) -> None:
    doubled = answers.half_days.assign(given=(2 * answers.half_days["given"]).clip(upper=0.99))
    was = chance_measures(answers)
    now = chance_measures(answers._replace(half_days=doubled))
    assert now["given / true"].value == pytest.approx(2 * was["given / true"].value, rel=0.02)
    assert now["loss"].value > was["loss"].value
    assert now["R"].value < was["R"].value
    row = row_of(WORLD, answers._replace(half_days=doubled), 1.0)
    assert {"given / true from 0.85 to 1.15", "given / true of every bin from 0.8 to 1.25"} <= set(
        missed(row)
    )


def test_the_truth_for_an_answer_misses_no_aim_of_chances(answers: Answers) -> None:
    half_days = answers.half_days.assign(given=answers.half_days["true"])
    stands = answers.stands.assign(given=answers.stands["true"])
    # A 95 % interval: one in twenty lies outside.
    low = stands["true"].where(np.arange(len(stands)) % 20 > 0, 0.9)
    perfect = Answers(half_days, stands.assign(low=low, high=stands["true"]), answers.labels)
    found = chance_measures(perfect)
    assert found["R"].value == pytest.approx(1)
    assert found["given / true"].value == found["worst bin"].value == 1
    of_chances = [aim for aim in list(AIMS)[:7] if aim in missed(row_of(WORLD, perfect, 1.0))]
    assert of_chances == []


def test_labels_swapped_score_worse(answers: Answers) -> None:
    other = {"resident": "visiting", "visiting": "resident"}
    labels = answers.labels[answers.labels["label"] != "gone"]  # which is right or wrong either way
    answers = answers._replace(labels=labels)
    swapped = answers._replace(
        labels=labels.assign(label=labels["label"].replace(other), score=100 - labels["score"])
    )
    was, now = label_measures(answers), label_measures(swapped)
    share = ("right", WHOLE_SEASON)
    assert now[share].value == pytest.approx(1 - was[share].value)
    assert now[share].value < 0.5 < was[share].value
    assert now["Brier", "31 Jan"].value > was["Brier", "31 Jan"].value
    table = score_reliability(swapped)
    assert table["live_here"].iloc[0] > 50 > table["live_here"].iloc[-1]


def test_what_is_called_gone_is_counted_once_it_is_told(answers: Answers) -> None:
    labels = answers.labels
    assert np.isnan(label_measures(answers)["dead called gone", "31 Jan"].value) == bool(
        labels["p_gone"].isna().all()
    )
    told = labels.assign(p_gone=labels["gone"].astype(float), p_passing=0.5)
    found = label_measures(answers._replace(labels=told))
    assert found["dead called gone", "31 Jan"].value == 1
    assert found["living called gone", WHOLE_SEASON].value == 0
    assert found["p_passing of passers", "31 Oct"].value == 0.5
    wrong = told.assign(label="gone", p_gone=1.0)
    found = label_measures(answers._replace(labels=wrong))
    assert found["living called gone", WHOLE_SEASON].value == 1
    assert found["right", "31 Oct"].value < 0.5


def test_no_chance_given_is_told_and_not_scored(answers: Answers) -> None:
    half_days = answers.half_days
    some = half_days.assign(given=half_days["given"].where(half_days["property"] != SEEDS[0]))
    found = chance_measures(answers._replace(half_days=some))
    assert found["chances given"].value == (half_days["property"] != SEEDS[0]).mean()
    assert found["loss"].n == (half_days["property"] != SEEDS[0]).sum()
    none = answers._replace(half_days=half_days.assign(given=np.nan))
    assert missed(row_of(WORLD, none, 1.0)) == missed(
        row_of(WORLD, none._replace(stands=pd.DataFrame()), 1.0)
    )


def test_an_interval_of_no_width_does_not_cover(answers: Answers) -> None:
    stands = answers.stands.assign(low=answers.stands["given"], high=answers.stands["given"])
    narrow = chance_measures(answers._replace(stands=stands))["stand covers"].value
    assert narrow < chance_measures(answers)["stand covers"].value - 0.2


@pytest.mark.parametrize(
    "name", ["today-thin", "large-8-cameras", "drift-a-fortnight", "wrong-20", "look-alikes"]
)
def test_the_true_chances_come_true(name: str) -> None:
    came = true = worth = 0.0
    for seed in range(1, 13):
        if true > 400:
            break
        asked = simulate_world(world_named(name), seed)
        running = (asked.simulated.truth.running >= 1)[None, :, :, None] & (asked.chance > 0)
        came += float(asked.came[running].sum())
        true += float(asked.chance[running].sum())
        worth += float((asked.chance * (1 - asked.chance))[running].sum())
    # Bucks that drift make the days of one buck somewhat alike.
    assert abs(came - true) < 4 * 1.5 * np.sqrt(worth)
    assert abs(came - 1.3 * true) > 4 * np.sqrt(worth)


def test_bucks_do_what_their_kind_does() -> None:
    kinds = {"passer": 4, "edge": 4, "shot": 4, "left": 4, "moved in": 4, "moved ground": 4}
    world = World(name="kinds", kinds=kinds, n_bucks=2, shot_on=(11, 12))
    asked = simulate_world(world, 5)
    truth, bucks = asked.simulated.truth, asked.bucks
    days = truth.days

    def of(kind: str) -> np.ndarray:
        return np.flatnonzero(bucks["kind"] == kind)

    for b in of("passer"):
        stay = days[truth.around[b]]
        assert 14 <= len(stay) <= 28
        assert stay[0] >= pd.Timestamp("2021-09-27") and stay[-1] <= pd.Timestamp("2021-11-12")
        assert bucks["gone_from"].iloc[b] == stay[-1] + pd.Timedelta(days=1)
        assert not bucks["resident"].iloc[b]
    for b in of("shot"):
        assert bucks["gone_from"].iloc[b] == pd.Timestamp("2021-11-13")
        assert not truth.around[b, days > "2021-11-12"].any()
    for b in of("left"):
        assert not truth.around[b, days >= bucks["gone_from"].iloc[b]].any()
        assert bucks["gone_from"].iloc[b].month in (9, 10, 11)
    for b in of("moved in"):
        assert not truth.around[b, days < "2021-09-01"].any()
        assert truth.around[b, (days > "2021-11-15") & (days < "2022-05-01")].all()
    half = asked.simulated.side_m / 2
    for b in of("edge"):
        centre = truth.range_centre_m[b, truth.around[b]]
        assert (np.abs(centre).max(axis=1) > half).all()
    for b in of("moved ground"):
        centre = truth.range_centre_m[b, truth.around[b] & (days < "2022-03-01")]
        assert np.linalg.norm(np.diff(centre, axis=0), axis=1).max() > 450
    assert (
        bucks.loc[bucks["kind"].isin(["edge", "moved in", "moved ground"]), "gone_from"]
        .isna()
        .all()
    )


def test_one_who_left_before_he_ever_came_is_gone_from_the_start() -> None:
    stage = np.full((2, 10), AWAY, dtype=np.int8)
    stage[1, 3:6] = FALL_RANGE
    nothing = np.zeros((2, 1))
    life = Life(pattern=nothing.astype(int), new_ground=nothing.astype(bool), stage=stage)
    lives = Lives(life=life, kind=np.array(["left", "left"]), moves=np.array([-1, -1]))
    assert gone_from(lives).tolist() == [0, 6]


def test_cameras_go_up_on_the_day_and_ranges_are_as_in_the_field() -> None:
    asked = simulate_world(world_named("from-15-october"), 1)
    assert asked.simulated.effort["day"].min() == pd.Timestamp("2021-10-15")
    assert min(asked.asked_on) >= pd.Timestamp("2021-10-28")
    asked = simulate_world(world_named("large-26-cameras"), 1)
    truth = asked.simulated.truth
    off = truth.day_centre_m - truth.range_centre_m
    assert 100 < np.nanstd(off) < SUMMER_SIGMA_M < FALL_SIGMA_M
    assert np.nanmax(np.abs(truth.range_centre_m)) > 1000


def test_each_tagger_looks_at_what_he_looks_at() -> None:
    made = {name: simulate_world(World(name="same", tagger=name), 1) for name in (
        "usual", "hasty", "targets only", "daylight only")}  # fmt: skip
    whole = made["usual"].simulated.sightings
    assert made["usual"].looked_at is None
    hasty = made["hasty"]
    assert hasty.looked_at is not None
    assert len(hasty.simulated.sightings) == len(whole)
    assert hasty.looked_at["tagged"].sum() == whole["visit"].nunique()
    assert hasty.looked_at["tagged"].mean() < 0.5
    few = made["targets only"]
    assert set(few.simulated.sightings["buck"]) == set(few.targets)
    lit = made["daylight only"]
    assert lit.looked_at is not None
    assert 0.2 < len(lit.simulated.sightings) / len(whole) < 0.7
    assert 0.3 < lit.looked_at["tagged"].mean() < 0.8


def test_worlds_and_seeds_are_split() -> None:
    assert not set(TUNING_WORLDS) & set(HELD_OUT_WORLDS)
    assert len({world.name for world in WORLDS}) == len(TUNING_WORLDS) + len(HELD_OUT_WORLDS)
    with pytest.raises(ValueError, match="there is no world nowhere"):
        world_named("nowhere")


def test_ratio_by_hand() -> None:
    value, error = ratio([1, 2, 3], [2, 2, 2], [0, 0, 1])
    assert value == 1
    # Two properties: 3 of 4 and 3 of 2, off by -1 and 1; sqrt(2 * 2) / 6.
    assert error == pytest.approx(2 / 6)


def test_a_simple_rule_by_hand() -> None:
    came = np.zeros((1, 1, 20, 2), dtype=bool)
    came[0, 0, [4, 10], 0] = True
    rates = simple_rates(came, np.ones((1, 20)))
    average = 2.5 / 41
    assert rates["all_time"][0, 0, 0] == pytest.approx((2 + 40 * average) / (16 + 40))
    assert rates["last_14_days"][0, 0, 0] == pytest.approx((1 + 8 * average) / (14 + 8))


def test_an_activity_centre_is_found() -> None:
    rng = np.random.default_rng(2)
    along = np.arange(6) * 600.0
    sites = np.stack(np.meshgrid(along, along), axis=-1).reshape(-1, 2)
    homes = rng.uniform(600, 2400, (6, 2))
    far = np.linalg.norm(homes[:, None] - sites[None], axis=-1)
    rate = 0.3 * np.exp(-(far**2) / (2 * 300.0**2))
    chance = np.repeat((1 - np.exp(-rate))[..., None], 2, axis=2)
    days = 21
    counts = rng.binomial(days, chance).astype(float)
    found = centre_chances(counts, np.full(len(sites), float(days)), sites)
    assert found.sum() == pytest.approx(chance.sum(), rel=0.35)
    came = np.arange(days)[:, None] < counts[:, :, None, :]
    rule = simple_rates(came, np.ones((len(sites), days)))["all_time"]
    best, ours, theirs = (expected_loss(p, chance).mean() for p in (chance, found, rule))
    assert best < ours < best + 0.5 * (theirs - best)
    assert found[far > 1500].max() < 0.01
