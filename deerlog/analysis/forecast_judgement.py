"""Every constant of the forecast that is fixed by judgement, in one table."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ForecastJudgement:
    """What is assumed about how bucks use sites, before the record says better.

    Spreads are standard deviations in the log rate of a buck's visits: 0.7 is a factor of two
    either way. They were chosen on simulated properties other than those the skill is reported
    on; none has a published source.
    """

    absence_start: float = 1 / 120
    """A buck who lives here sets out on an absence, a day. Fewer than in the label's judgement,
    where absences also stand for weeks in which the cameras just miss him: 5.9 excursions a year
    were found (Resop et al. 2024, Ecology and Evolution, 10.1002/ece3.10875), most of them short."""
    absence_days: float = 6.0
    """Mean length of an absence (our choice, between excursions of a day or two and the fortnight
    or three weeks of common practice)."""
    own_date_sd: float = 5.0
    """Days by which a buck's own dates of coming and going differ from year to year. Population
    means of breeding dates vary with a standard deviation of 4 days (Dye et al. 2012, Wildlife
    Society Bulletin); a day more for one buck (our choice)."""
    carried_over: float = 0.9
    """Chance that a year-round buck starts a season as he ended the last (our choice)."""

    level_sd: float = 1.0
    """Between bucks: how often he passes cameras at all."""
    home_sd: float = 1.2
    """Between stretches of ground, for one buck and all time: where his range lies."""
    site_sd: float = 0.5
    """Between sites side by side, for one buck: this trail and not that one."""
    stage_sd: float = 1.0
    """Between summer ground and fall ground."""
    stage_level_sd: float = 0.4
    season_sd: float = 1.0
    """The same ground stage in another season: ranges move from year to year (363 m on average;
    Webb, Hewitt and Hellickson 2007, Southwestern Naturalist 52:411)."""
    season_level_sd: float = 0.4
    recent_sd: float = 0.7
    """Changes within a season: last month's hot camera can be dead today."""
    recent_level_sd: float = 0.3
    recent_days: float = 30.0
    """Days over which such a change lasts."""
    reach_m: float = 500.0
    """Sites nearer each other than this are used alike."""
    quality_sd: float = 0.7
    """Between sites, for all bucks: how well a camera stands."""
    phase_sd: float = 0.4
    """Between phases, for all bucks: movement."""

    light_sd: float = 0.6
    light_site_sd: float = 0.35
    light_phase_sd: float = 0.3
    morning_sd: float = 0.45
    morning_site_sd: float = 0.35
    morning_phase_sd: float = 0.15
    share_shared_sd: float = 0.6
    """The share of visits in shooting light, and of those before noon: between bucks, for one
    buck between sites and between phases, and what all bucks share."""
