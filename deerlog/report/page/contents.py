"""The whole page of a study, as rows and plain values by the names the templates use.

Shares and chances run from 0 to 1, a score from 0 to 100. ``None`` says "not known" or "this part
was not made"; an empty list says "made, and there is none". Every text is plain text, whatever a
person typed; the templates escape it.
"""

from __future__ import annotations

import pandas as pd

from deerlog import __version__
from deerlog.analysis.first_looks import activity_by_hour, look_first
from deerlog.analysis.plan.planned_sits import SitGroup, sit_groups
from deerlog.property.coordinates import Ground
from deerlog.property.settings import Settings
from deerlog.property.wording import listing
from deerlog.report.page.buck_contents import buck_section, other_buck
from deerlog.report.page.camera_contents import camera_sections
from deerlog.report.page.changed_contents import latest_earlier_report, what_changed
from deerlog.report.page.how_good_contents import how_good, sits_view
from deerlog.report.page.map_drawing import ground_map
from deerlog.report.page.season_frame import season_frame
from deerlog.report.page.template_engine import Row, records, rows
from deerlog.report.page.visit_pictures import visits_with_files
from deerlog.report.words import plan_words
from deerlog.report.words.season_words import first_season_words
from deerlog.report.words.words import half
from deerlog.study import PropertyStudy
from deerlog.study.plan import ComingPlan, coming_plan
from deerlog.study.plan_inputs import WEATHER_OPTION
from deerlog.study.replay import recent_replay, sits_result

MEND_FIRST = 5
"""How many things to mend the first screen names; the rest are in ``check``."""


def page_of_study(
    study: PropertyStudy, *, weather: pd.DataFrame | None = None, pictures: bool = True
) -> Row:
    """Everything the report page shows, each target's last ``pictures`` carried inside.

    ``weather`` is a forecast for the coming week, of `deerlog.study.plan_inputs.read_forecast`.
    """
    settings = study.place.settings
    played = recent_replay(study) if study.wanted else None
    seen = list(study.residency.prior_log_odds)
    shown = [b for b in study.targets if b in seen] if study.targets else seen
    visits = visits_with_files(study)
    first = int(study.calendar.season_of(pd.DatetimeIndex(study.sun.index[:1]))[0])
    seasons = range(first, study.season_now + 1)
    return {
        "property_name": settings.name,
        "as_of": study.last_day.date(),
        "ran_until": study.ran_until,
        "frames": {season: season_frame(settings, season) for season in seasons},
        "sun": {season: sun_curves(study, season) for season in seasons},
        "ground": ground_map(
            rows(study.sites.dropna(subset=["x_m", "y_m"])), stands_placed(study), settings.units
        ),
        "stands": rows(study.place.stands[["stand", "winds"]]),
        "unnamed": None if seen else before_any_name(study),
        "first_season": first_season_words(study),
        "week": this_week(study, shown, weather),
        "bucks": [buck_section(study, b, visits, pictures=pictures) for b in shown],
        "other_bucks": [other_buck(study, b) for b in seen if b not in shown],
        "cameras": camera_sections(study),
        "settings": settings,
        "settings_shown": _settings_shown(settings),
        "version": __version__,
        "targets_chosen": bool(study.targets),
        "shared": False,
        "sits": None
        if "sits.csv" in study.place.missing
        else sits_view(sits_result(study, {} if played is None else played.given)),
        "how_good": None if played is None else how_good(study, played),
    }


def to_share(page: Row) -> Row:
    """A page without what is its owner's own business: file names, notes, and what he must mend.

    No page holds coordinates; its maps show how the sites lie to each other.
    """
    bucks = []
    for buck in page["bucks"]:
        visits = {season: each.assign(file=None) for season, each in buck["visits"].items()}
        row = buck["row"] and buck["row"] | {"notes": ""}
        bucks.append(buck | {"row": row, "visits": visits})
    return page | {
        "bucks": bucks,
        "week": page["week"]
        | {"to_mend": 0, "untagged": 0, "mend_first": [], "lately": [], "left_out": []},
        "cameras": [each | {"clock": [], "untagged": 0, "silent": []} for each in page["cameras"]],
        "unnamed": page["unnamed"] and page["unnamed"] | {"look_first": []},
        "shared": True,
    }


def this_week(study: PropertyStudy, bucks: list[str], weather: pd.DataFrame | None = None) -> Row:
    """The first screen; ``weather`` as for `page_of_study`.

    ``lately`` is what went wrong of late; ``to_mend`` counts all else there is to mend, of which
    ``mend_first`` is the head; ``changed`` is None without an earlier report.
    """
    made = coming_plan(study, weather=weather)
    earlier = latest_earlier_report(study.place.folder, study.last_day.date())
    to_mend = [p for p in study.problems if p.must_mend and not p.lately]
    return {
        "untagged": study.untagged_visits,
        "lately": [p for p in study.problems if p.lately],
        "mend_first": to_mend[:MEND_FIRST],
        "to_mend": len(to_mend),
        "left_out": [(each.what, each.waits_for("deerlog report")) for each in made.not_considered],
        "plan": plan_view(made),
        "changed": None if earlier is None else what_changed(study, earlier, bucks),
        "changed_since": None if earlier is None else earlier.day,
    }


LOOKS = 12
"""Visits to look at first that are named; an evening's beginning (our choice)."""


def before_any_name(study: PropertyStudy) -> Row:
    """What is known while no buck is tagged: activity by site and hour, what to look at first."""
    log = study.field_log.visits
    log = log[log["first"] < study.last_moment].rename(columns={"first": "local"})
    visits = study.in_light(log.assign(buck=""))
    frame = season_frame(study.place.settings, study.season_now)
    openers = [opens for _, opens, _ in frame.hunting]
    today = study.last_day.date()
    nearest = min(openers, key=lambda day: abs((day - today).days), default=None)
    untagged = visits[~visits["tagged"].astype(bool)]
    return {
        "visits": len(visits),
        "camera_days": float(study.effort["camera_day"].sum()),
        "by_hour": activity_by_hour(visits, study.effort),
        "look_first": records(look_first(untagged, nearest, LOOKS).astype({"row": object})),
    }


def plan_view(made: ComingPlan) -> Row:
    """The plan as the first screen has it: sits best first, and stay-outs."""
    return {
        "first": made.first,
        "last": made.last,
        "sits": [_sit(group) for group in sit_groups(made.sits)],
        "stay_outs": plan_words.stay_outs(made.sits, made.sit_at_least),
        "none": plan_words.no_sit_words(made.sits),
        "closed": None if made.opens_next is None else plan_words.closed_words(*made.opens_next),
        "goes_by_forecast": made.goes_by_forecast,
        "worth": plan_words.worth_words(made.worth),
        "to_have_it": f"deerlog report {WEATHER_OPTION}",
    }


def _sit(group: SitGroup) -> Row:
    which, days = half(group.best.half), plan_words.group_days(group)
    return {
        "when": f"{days}, {which}" if group.first == group.last else f"Any {which}, {days}",
        "winds": listing(group.best.winds, "or"),
        "stand": group.best.place,
        "why": plan_words.group_why(group, wind_told=True),
        "bucks": group.best.buck,
        "chance": plan_words.group_chance(group),
        "low": group.low,
        "high": group.high,
    }


def stands_placed(study: PropertyStudy) -> list[Row]:
    """``stand, x_m, y_m`` of the stands that have a place of their own."""
    settings = study.place.settings
    stands = study.place.stands.dropna(subset=["latitude", "longitude"])
    ground = Ground(settings.latitude, settings.longitude)
    x, y = ground.metres(stands["latitude"].to_numpy(), stands["longitude"].to_numpy())
    return rows(stands[["stand"]].assign(x_m=x, y_m=y))


def sun_curves(study: PropertyStudy, season: int) -> pd.DataFrame:
    """``sunrise, sunset, light_begins, light_ends`` by day, as hours on the wall clock."""
    first, end = study.calendar.bounds(season)
    sun = study.sun.loc[pd.Timestamp(first) : pd.Timestamp(end) - pd.Timedelta(days=1)]
    local = {curve: sun[curve].dt.tz_localize(None) for curve in ("sunrise", "sunset")}
    hours = pd.DataFrame(
        {curve: (at - at.dt.normalize()) / pd.Timedelta(hours=1) for curve, at in local.items()}
    )
    return hours.assign(
        light_begins=hours["sunrise"] - study.light["light_before_sunrise_minutes"] / 60,
        light_ends=hours["sunset"] + study.light["light_after_sunset_minutes"] / 60,
    )


def _settings_shown(s: Settings) -> dict[str, str]:
    """The settings in the foot of the page, by their names in property.toml."""
    shown = {"timezone": s.timezone, "units": s.units}
    shown |= {
        name: "{:02}-{:02}".format(*getattr(s, name)) for name in ("season_start", "rut_peak")
    }
    shown |= {name: str(getattr(s, name)) for name in _SHOWN_AS_THEY_ARE}
    shown["watched_share"] = f"{s.watched_share:g}"
    return shown | {f"presence.{key}": f"{value:g}" for key, value in sorted(s.presence.items())}


_SHOWN_AS_THEY_ARE = (
    "light_before_sunrise_minutes", "light_after_sunset_minutes", "visit_gap_minutes",
    "week_starts",
)  # fmt: skip
