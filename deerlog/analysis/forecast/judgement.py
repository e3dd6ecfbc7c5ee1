"""Every constant of the forecast that is fixed by judgement, in one table."""

from __future__ import annotations

from dataclasses import dataclass

from deerlog.analysis.presence.judgement import Judgement


@dataclass(frozen=True)
class ForecastJudgement:
    """What is assumed about a buck's coming and his use of the sites, before the record says more.

    Spreads (``_sd``) are standard deviations in the log of a rate, or in the log odds of a share:
    0.7 is a factor of two either way. Where no source stands beside a value it is our choice,
    looked at on simulated properties other than those that the reported skill is measured on.
    """

    overall_sd: float = 5.0
    """The overall level: as good as free."""
    quality_sd: float = 0.7
    """Between sites, for all bucks: how well a camera stands."""
    phase_means: tuple[float, ...] = (0.0, -0.1, 0.1, 0.3, -0.1)
    phase_sd: float = 0.4
    """Each phase, for all bucks: how much deer move. Most in the rut (common practice, no published
    source); how much is our choice."""
    opener_sd: float = 0.3
    """The first days of a hunting season, for all bucks: how far deer move, come in shooting light
    and come before noon otherwise than in the rest of the phase. None is taken for granted."""
    level_sds: tuple[float, float, float, float] = (0.7, 0.3, 0.3, 0.3)
    """Between bucks: how often he passes cameras at all. For all time, between his summer and his
    fall ground, between seasons, and over some weeks; likewise the next two."""
    where_sds: tuple[float, float, float, float] = (0.5, 0.35, 0.3, 0.35)
    """Between stretches of ground, for one buck, beside what the distance from his centre makes of
    it. Over some weeks: last month's hot camera can be dead today."""
    slope_sds: tuple[float, float, float, float] = (1.2, 0.8, 0.6, 0.5)
    """Slope of the log odds to one side, a kilometre: where his centre lies. At a fall-off of 6 a
    square kilometre 2 is a third of a kilometre: range centres move by 363 m from year to year
    (Webb, Hewitt and Hellickson 2007, Southwestern Naturalist 52:411), and bucks change ground
    between summer and fall, by a quarter mile to a mile or more (common practice, no published
    source)."""
    recent_days: float = 20.0
    """Days over which a change over some weeks fades."""
    site_sd: float = 0.5
    """Between sites side by side, for one buck and all time: this trail and not that one."""
    reach_m: float = 500.0
    """Sites nearer each other than this are used much alike."""
    fall_off_per_km2: tuple[float, float] = (11.2, -3.0)
    fall_off_sd: tuple[float, float] = (6.0, 2.0)
    """How fast use falls off with the square of the distance from his centre, and how much faster
    from September on, with how well that is known: 1 / sigma^2 of half-normal kernels of 299 m in
    summer and 442 m in fall (5.1), those of ranges of 168 ha and 367 ha (Olson, thesis, University
    of Georgia), half of whose difference is taken for granted."""

    clumping_shape: float = 3.2
    clumping_shape_sd: float = 1.0
    """How visits of a day come together, before the record says more: shape of the gamma noise on a
    day's rate, 1 being that of an exponential variable, and the spread of its logarithm."""
    share_shared_sd: float = 0.6
    """Share of visits in shooting light, and of those before noon: between phases, settings and
    sites, for all bucks."""
    light_phase_means: tuple[float, ...] = (0.2, -0.3, -0.1, 0.3, 0.0)
    """Share of visits in shooting light, by phase: they are on their feet by day in the rut (common
    practice, no published source; how much is our choice)."""
    light_sd: float = 0.6
    light_site_sd: float = 0.35
    light_phase_sd: float = 0.3
    """Share of his visits in shooting light: between bucks, between sites and between phases."""
    morning_sd: float = 0.45
    morning_site_sd: float = 0.35
    morning_phase_sd: float = 0.15
    """Share before noon of his visits in shooting light, likewise."""

    wrong_tag_share: float = Judgement.wrong_tag_share
    stranger_rate: float = Judgement.stranger_rate
    """Another buck's visit is written down under his name, as in the label's judgement."""

    window_above: float = 1.5
    """A window's days are at least this many times his own average chance."""
    window_least_chance: float = 0.02
    """And at least one visit in fifty half-days."""
    window_of_best: float = 0.5
    """And at least half as good as the best day ahead at that site in that half."""
    window_stands_out: float = 1.25
    """And at least a quarter above the mean of all days ahead at that site in that half: else he is
    as likely there on any other day."""
    window_most_of_days: float = 0.5
    """And no more than half of the days ahead: what spans most of the season is no stretch to wait
    for."""
    window_least_camera_days: float = 7.0
    """Camera-days at the site in the phases of the window, below which the chance is that of other
    bucks and sites, and no window is offered: one week."""
    window_least_days: int = 4
    window_gap_days: int = 2
    """Shortest window, and the longest gap that two runs of days are joined over."""

    weather_sd: float = 0.25
    """A weather effect in the log odds of a visit for one standard deviation of the weather.
    Published effects are small and mixed (Webb et al. 2010, International Journal of Ecology
    459610)."""
    weather_clear: float = 2.0
    """An effect is kept where its gain on held-out fortnights is this many standard errors."""
    change_prior: float = 1 / 3
    """Chance that a buck changes ground between two phases."""
    visit_clumping: float = 2.0
    """Days' visits to one site come in runs: so many count as one in dating a change of ground."""
