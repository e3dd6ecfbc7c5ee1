"""Every rate of the presence model that is fixed by judgement, in one table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from deerlog.errors import PropertyError

HIGHEST_RATE = 6.0
"""Sightings a day above which a day is seen for certain anyway (our choice)."""


@dataclass(frozen=True)
class Judgement:
    """Every rate fixed by judgement, with its reason or source. Settable under ``[presence]``.

    Chances a day unless the name says days; dates as days from a named day. Where a value is our
    choice it was looked at on simulated properties, never on those that the figures in
    DEVELOPERS.md stand on; how much hangs on each is told there.
    """

    absence_start: float = 1 / 120
    """A resident sets out on an absence. 5.9 excursions a year (Resop et al. 2024, Ecology and
    Evolution, 10.1002/ece3.10875), of which the short ones do not show on cameras."""
    absence_days: float = 7.0
    """Mean length of an absence, between excursions of a day or two and the fortnight or three
    weeks after which he returns (common practice, no published source)."""
    absences_to_learn: float = 3.0
    """So many absences of his own in past seasons weigh as much as the two values above (our
    choice)."""
    off_start: float = 0.03
    """A buck who is around turns for a while to ground that the cameras hardly see (our choice):
    his days are not independent, and rates drift over one to two weeks."""
    off_few_cameras: float = 3.0
    """He does so more often by this over the number of cameras that see him: over many cameras the
    drift evens out, at one it does not (our choice)."""
    off_days: float = 9.0
    """Mean length of such a while (our choice)."""
    off_rate: float = 0.2
    """What is then left of his sighting rate (our choice)."""
    off_few_sites: float = 2.0
    """Such a while is longer by this over the cube of the number of sites watched, and less of
    his rate is left, to the power of as much: for one camera he is out of sight for weeks, among
    several some stand where he is (our choice)."""
    loss: float = 1 / 1500
    """From the pre-rut on he dies or leaves for good: about one in seven by the season's end (our
    choice)."""
    lost_early: float = 0.1
    """A buck who would live here all year dies or leaves for good before the pre-rut: one in ten
    (our choice). Such a buck does not live here through the hunting season."""
    fall_arrival_day: float = 104.0
    """Days from 1 June to the middle of the shift to fall ground, mid September (common practice,
    no published source)."""
    fall_arrival_sd: float = 20.0
    fall_departure_day: float = 270.0
    """Days from 1 June to when fall ground is left, late February (our choice)."""
    fall_departure_sd: float = 35.0
    summer_departure_day: float = 98.0
    """Days from 1 June to when summer ground is left, early September, with the shedding of velvet
    (common practice, no published source)."""
    summer_departure_sd: float = 13.0
    """From mid August to the end of September in all but one buck of twenty (our choice)."""
    summer_return_day: float = 325.0
    """Days from 1 June to the return to summer ground, late April (our choice)."""
    summer_return_sd: float = 30.0
    rut_arrival_after_peak: float = 0.0
    """Days from the rut peak to a visitor's first coming: a stay of ten days in the middle or later
    part of the rut (common practice, no published source) begins around the peak."""
    rut_arrival_sd: float = 9.0
    """Breeding itself comes earlier or later by 4 days, SD between years (Dye et al. 2012, Wildlife
    Society Bulletin); the rest is where in the rut a visit falls, wide enough that a stranger of
    late October is not yet called a resident (our choice, made with such a buck of the sample
    property in view)."""
    rut_stay_days: float = 9.0
    """Mean length of a rut visitor's stay: around ten days (common practice, no published
    source)."""
    rut_return: float = 1 / 30
    """A rut visitor who left comes again, a day, within the rut. Focal areas are revisited
    (Foley et al. 2015, Journal of Mammalogy)."""
    rut_skip: float = 0.1
    """A rut visitor does not come for a stay this season: one season in ten (our choice)."""
    passing_arrival_day: float = 130.0
    """Days from 1 June to the middle of the dates on which a passing buck comes: 9 October, at the
    height of fall dispersal and of the search for fall ground (common practice, no published
    source)."""
    passing_arrival_sd: float = 30.0
    passing_stay_days: float = 21.0
    """Mean length of his only stay: one to five weeks (common practice, no published source)."""
    excursion: float = 1 / 400
    """A buck who lives elsewhere sets out to pass through for a day or two. 63 % of bucks made an
    excursion in fall (Karns et al. 2011, Southeastern Naturalist 10:39), about one a buck; that
    one in four of them leads here is our choice."""
    excursion_days: float = 1.6
    quiet_share: float = 1 / 3
    """A year-round buck's fall ground lies mostly off the cameras that saw him in summer: 33 % of
    bucks use several ranges in a year (Resop et al. 2024)."""
    quiet_rate: float = 0.3
    """What is then left of his sighting rate through fall and winter (our choice)."""
    wrong_tag_share: float = 0.015
    """Share of visits tagged with the wrong name, spread over the named bucks, before the record
    says more (our choice)."""
    wrong_tag_log_sd: float = 0.8
    """Between people who tag (our choice: most are within a factor of five). Near 0 the share
    above is taken as it stands."""
    confused_pairs: float = 0.005
    """Pairs of bucks on a property that are often tagged as each other, before the record says
    more: rarer than it is, since bucks that move at the same time look so too (our choice: with one
    on every fifth, residents of first falls were taken for another)."""
    stranger_rate: float = 1 / 1500
    """Sightings a day under his name that were a buck nobody has named (our choice)."""
    persistence: float = 0.85
    """The pattern of one season holds in the next (our choice; 67 % of bucks keep one range
    through a year, Resop et al. 2024)."""
    vanish: float = 0.08
    """He does not use the property at all in the next season (our choice)."""
    prior_year_round: float = 0.30
    prior_fall: float = 0.18
    prior_summer: float = 0.14
    prior_rut: float = 0.28
    prior_passing: float = 0.10
    """A buck named by the user, before anything is known (our choice, near even between living
    here and not)."""
    rate_median: float = 0.25
    """Sightings a day when around, of the middle buck on a property nothing is known of: one day
    in four (our choice)."""
    rate_median_cameras: float = 8.0
    """Below so many cameras that figure falls with the square root of their number: the fewer there
    are, the more of his days pass unseen (our choice)."""
    rate_property_log_sd: float = 1.0
    """Between properties: how well the cameras stand (our choice, a factor of 2.7)."""
    rate_buck_log_sd: float = 1.0
    """Between bucks on one property: where his range lies among its cameras (our choice, as
    much again)."""
    rate_season_log_sd: float = 0.7
    """From one season to the next, for one buck: range centres move by 363 m (SE 45) and overlap
    by two thirds (Webb, Hewitt and Hellickson 2007, Southwestern Naturalist 52:411), so that he
    passes other cameras (the factor of two is our choice)."""
    own_date_sd: float = 5.0
    """Days by which a buck's own dates of coming and going differ from year to year. Population
    means of breeding dates vary with a standard deviation of 4 days (Dye et al. 2012, Wildlife
    Society Bulletin); a day more for one buck."""
    carried_over: float = 0.9
    """Chance that a year-round buck starts a season where he ended the last (our choice)."""
    apart_days: float = 10.0
    """Watched days on which his likeliest way of living here and his likeliest way of visiting must
    have differed before he has a label (our choice)."""
    site_learning_days: float = 40.0
    """How many camera-days of evidence it takes to move a site's share of a buck's use halfway
    from his average (our choice)."""

    def at_sites(self, n_sites: float) -> Judgement:
        """The same where so many sites are watched, on average."""
        few = 1 + self.off_few_sites / max(n_sites, 1.0) ** 3
        return replace(self, off_days=few * self.off_days, off_rate=self.off_rate**few)

    @classmethod
    def from_settings(cls, chosen: Mapping[str, float]) -> Judgement:
        """The table with the user's own values put in; `PropertyError` for a name that is not in
        it, or a value outside its bounds."""
        known = {f.name for f in fields(cls)}
        for key, value in chosen.items():
            if key not in known:
                raise PropertyError(
                    f"[presence] has no setting named {key!r}.",
                    where="property.toml",
                    how=f"The settings are: {', '.join(sorted(known))}.",
                )
            low, high = bounds(key)
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if not number or not low <= value <= high:
                raise PropertyError(
                    f"[presence] {key} is {value!r}; it must be a number from {low:g} to {high:g}.",
                    where="property.toml",
                    how=f"Remove the line to have the default ({getattr(cls(), key):g}).",
                )
        return replace(cls(), **dict(chosen))


def bounds(name: str) -> tuple[float, float]:
    """Least and greatest value of a setting of `Judgement`, both allowed (our choice)."""
    if name.endswith(("_day", "_after_peak")):
        return -366.0, 731.0
    if name in ("absences_to_learn", "off_few_cameras", "off_few_sites"):
        return 0.1, 100.0
    if name == "rate_median_cameras":
        return 1.0, 100.0
    if name == "site_learning_days":
        return 0.01, 10_000.0
    if name.endswith("_log_sd"):
        return 0.1, 3.0
    if name == "rate_median":
        return 0.001, HIGHEST_RATE
    if name.endswith(("_days", "_sd")):
        return 1.0, 366.0
    if name == "quiet_share":
        return 1e-9, 0.99
    # What is left are chances and shares; none may be 0, or a single sighting could rule out
    # every pattern at once.
    return 1e-9, 1.0
