"""What the page shows of the coming sits and of his ground.

The whole page of a study.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd

from deerlog import __version__
from deerlog.analysis.plan.planned_sits import SitGroup, sit_groups
from deerlog.report.page.buck_contents import buck_now, buck_section, other_buck
from deerlog.report.page.camera_contents import camera_sections
from deerlog.report.page.changed_contents import latest_earlier_report, what_changed
from deerlog.report.page.how_good_contents import how_good, sits_view
from deerlog.report.page.page_data import (
    HuntingDates,
    LeftOut,
    MendItem,
    PhaseSpan,
    PlanView,
    ReportPage,
    SeasonFrame,
    Setting,
    SitAdvice,
    StayOut,
    SunCurves,
    ThisWeek,
)
from deerlog.report.words.plan_words import (
    closed_words,
    group_bucks,
    group_chance,
    group_days,
    group_why,
    no_sit_words,
    outlook_words,
    stay_outs,
)
from deerlog.report.words.words import half
from deerlog.study import Study
from deerlog.study.plan import ComingPlan, coming_plan
from deerlog.study.plan_inputs import WEATHER_OPTION
from deerlog.study.replay import recent_replay, sits_result

WITH_WEATHER = f"deerlog report {WEATHER_OPTION}"
"""The command that puts a forecast of the weather into the page."""


def plan_view(made: ComingPlan, *, forecast_given: bool = False) -> PlanView:
    """The plan as the first screen has it.

    Parameters
    ----------
    forecast_given
        Whether a forecast of the weather went into it.
    """
    return PlanView(
        first=made.first,
        last=made.last,
        sits=tuple(_advice(group) for group in sit_groups(made.sits)),
        stay_outs=tuple(
            StayOut(where=where, why=reason)
            for where, reason in stay_outs(made.sits, made.sit_at_least)
        ),
        none=no_sit_words(made.sits),
        closed=None if made.opens_next is None else closed_words(*made.opens_next),
        ahead=tuple(outlook_words(outlook) for outlook in made.outlook),
        stands_on=STANDS_ON_FORECAST if forecast_given else STANDS_ON_NO_FORECAST,
        to_have_it=None if forecast_given else WITH_WEATHER,
    )


STANDS_ON_FORECAST = "This plan goes by the weather forecast that was given."
STANDS_ON_NO_FORECAST = (
    "This plan was made without a weather forecast: whether the wind suits a stand is yours to see."
)


def _advice(group: SitGroup) -> SitAdvice:
    which = half(group.best.half)
    days = group_days(group)
    return SitAdvice(
        when=f"{days}, {which}" if group.first == group.last else f"Any {which}, {days}",
        stand=group.best.place,
        why=group_why(group),
        bucks=group_bucks(group),
        chance=group_chance(group),
        low=group.low,
        high=group.high,
    )


def plan_left_out(made: ComingPlan) -> tuple[LeftOut, ...]:
    """What the plan could not consider."""
    return tuple(
        LeftOut(
            what=item.what,
            missing=WITH_WEATHER if item.missing == WEATHER_OPTION else item.missing,
        )
        for item in made.not_considered
    )


MEND_FIRST = 5
"""How many things to mend the first screen names; the rest are in ``check``."""


def page_of_study(study: Study, *, weather: pd.DataFrame | None = None) -> ReportPage:
    """Everything the report page shows, in its order.

    Parameters
    ----------
    weather
        A forecast for the coming week, of `deerlog.study.plan_inputs.read_forecast`.
    """
    settings = study.place.settings
    played = recent_replay(study) if study.wanted else None
    seen = list(study.residency.prior_log_odds)
    chosen = [b for b in study.targets if b in seen]
    targets_chosen = bool(study.targets)
    shown = chosen if targets_chosen else seen
    return ReportPage(
        property_name=settings.name,
        as_of=study.last_day.date(),
        ran_until=study.ran_until,
        seasons=tuple(_frame(study, s) for s in _seasons(study)),
        sun={s: _curves(study, s) for s in _seasons(study)},
        sites=tuple(dict.fromkeys(study.place.placements["site"])),
        this_week=this_week(study, shown, weather),
        bucks=tuple(buck_section(study, b) for b in shown),
        other_bucks=tuple(other_buck(study, b) for b in seen if b not in shown),
        cameras=camera_sections(study),
        light_before_minutes=settings.light_before_sunrise_minutes,
        light_after_minutes=settings.light_after_sunset_minutes,
        visit_gap_minutes=settings.visit_gap_minutes,
        watched_share=settings.watched_share,
        settings=_settings(study),
        version=__version__,
        targets_chosen=targets_chosen,
        sits=None
        if "sits.csv" in study.place.missing
        else sits_view(sits_result(study, {} if played is None else played.given)),
        how_good=None if played is None else how_good(study, played),
    )


def this_week(study: Study, bucks: list[str], weather: pd.DataFrame | None = None) -> ThisWeek:
    """The first screen; ``weather`` as for `page_of_study`."""
    made = coming_plan(study, weather=weather)
    earlier = latest_earlier_report(study.place.folder, study.last_day.date())
    to_mend = [p for p in study.problems if p.must_mend]
    return ThisWeek(
        now=tuple(buck_now(study, b) for b in bucks),
        mend_first=tuple(
            MendItem(place=p.place(), why=p.why, how=p.how, value=p.value, bucks=p.bucks)
            for p in to_mend[:MEND_FIRST]
        ),
        to_mend=len(to_mend),
        left_out=plan_left_out(made),
        plan=plan_view(made, forecast_given=made.goes_by_forecast),
        changed=None if earlier is None else what_changed(study, earlier, bucks),
        changed_since=None if earlier is None else earlier.day,
    )


def _seasons(study: Study) -> list[int]:
    """Every season from the first with camera-days or tags to that of the day of the report."""
    days = pd.DatetimeIndex([study.sun.index[0], study.last_day])
    first, last = study.calendar.season_of(days)
    return list(range(int(first), int(last) + 1))


def _frame(study: Study, season: int) -> SeasonFrame:
    first, end = study.calendar.bounds(season)
    return SeasonFrame(
        season=season,
        first=first,
        end=end,
        rut_peak=study.calendar.rut_peak_day(season),
        phases=tuple(
            PhaseSpan(name=name, first=begins, end=ends)
            for name, begins, ends in study.calendar.phase_bounds(season)
        ),
        hunting=tuple(
            dates
            for h in study.place.settings.hunting
            for dates in _hunting(h.name, h.opens, h.closes, first, end)
        ),
    )


def _hunting(
    name: str, opens: tuple[int, int], closes: tuple[int, int], first: date, end: date
) -> list[HuntingDates]:
    """The part of a yearly hunting season that lies inside a deer year."""
    found = []
    for year in (first.year - 1, first.year, first.year + 1):
        begin = date(year, *opens)
        finish = date(year + (closes < opens), *closes)
        if begin < end and finish >= first:
            found.append(
                HuntingDates(
                    name=name, opens=max(begin, first), closes=min(finish, end - timedelta(days=1))
                )
            )
    return found


def _curves(study: Study, season: int) -> SunCurves:
    first, end = study.calendar.bounds(season)
    sun = study.sun.loc[pd.Timestamp(first) : pd.Timestamp(end) - pd.Timedelta(days=1)]
    settings = study.place.settings
    before = settings.light_before_sunrise_minutes / 60
    after = settings.light_after_sunset_minutes / 60
    rise, set_ = _clock_hours(sun["sunrise"]), _clock_hours(sun["sunset"])
    return SunCurves(
        days=tuple(d.date() for d in sun.index),
        sunrise=tuple(rise.tolist()),
        sunset=tuple(set_.tolist()),
        light_begins=tuple((rise - before).tolist()),
        light_ends=tuple((set_ + after).tolist()),
    )


def _clock_hours(times: pd.Series) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Hours after midnight on the wall clock; NaN for NaT."""
    local = times.dt.tz_localize(None)
    return np.asarray((local - local.dt.normalize()) / pd.Timedelta(hours=1), dtype=float)


def _settings(study: Study) -> tuple[Setting, ...]:
    s = study.place.settings
    values = {
        "timezone": s.timezone,
        "units": s.units,
        "season_start": "{:02}-{:02}".format(*s.season_start),
        "rut_peak": "{:02}-{:02}".format(*s.rut_peak),
        "light_before_sunrise_minutes": str(s.light_before_sunrise_minutes),
        "light_after_sunset_minutes": str(s.light_after_sunset_minutes),
        "visit_gap_minutes": str(s.visit_gap_minutes),
        "week_starts": s.week_starts,
        "watched_share": f"{s.watched_share:g}",
    }
    values |= {f"presence.{key}": f"{value:g}" for key, value in sorted(s.presence.items())}
    return tuple(Setting(name=name, value=value) for name, value in values.items())
