"""An invented report page for tests: no real place, buck or camera, and no real analysis either.

The numbers are drawn to look like a season's, with the warts that a page must bear: names that
are hostile, weeks not watched, unsure tags, bait, a silent camera, nothing to divide.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from random import Random

from deerlog.report.page.buck_data import BuckMap, MapSite, Move, PhaseMap, SiteUse
from deerlog.report.page.page_data import (
    BuckFacts,
    BuckNow,
    BuckSection,
    CameraSection,
    ChanceDay,
    ChanceStrip,
    ClockFinding,
    DayHourSeason,
    DaylightRow,
    DaySpan,
    EffortDay,
    ForecastScore,
    Half,
    HowGood,
    HuntingDates,
    Label,
    LeftOut,
    MendItem,
    OpenQuestion,
    OtherBuck,
    Pattern,
    PhaseEvidence,
    PhaseSpan,
    PlacementRow,
    PlanView,
    ReliabilityRow,
    ReportPage,
    SeasonFrame,
    Setting,
    Share,
    ShiftRow,
    SilentStretch,
    SitAdvice,
    SitsRow,
    SitsView,
    StandRested,
    StayOut,
    StripSeason,
    SunCurves,
    ThisWeek,
    VisitMark,
    WeekCell,
    WindowRow,
)

AS_OF = date(2025, 11, 16)
SEASONS = (2023, 2024, 2025)
SITES = ("Seep", "Oak flat", "Gate lane", "Upper beans", "Fence gap", "Creek ford", "Old still")
HOSTILE_NAME = "=HYPERLINK(\"x\") <script>alert('1')</script> & 🦌 $\\frac{1}{2}$"

NOT_WATCHED = {
    2023: (DaySpan(first=date(2023, 6, 1), last=date(2023, 7, 16)),),
    2024: (DaySpan(first=date(2025, 1, 27), last=date(2025, 2, 16)),),
    2025: (DaySpan(first=date(2025, 9, 29), last=date(2025, 10, 12)),),
}


def frame(season: int) -> SeasonFrame:
    cuts = (
        ("summer", date(season, 6, 1)),
        ("early season", date(season, 9, 1)),
        ("pre-rut", date(season, 10, 22)),
        ("rut", date(season, 11, 5)),
        ("late season", date(season, 11, 27)),
        ("", date(season + 1, 6, 1)),
    )
    phases = tuple(
        PhaseSpan(name=name, first=first, end=end) for (name, first), (_, end) in pairwise(cuts)
    )
    return SeasonFrame(
        season=season,
        first=date(season, 6, 1),
        end=date(season + 1, 6, 1),
        rut_peak=date(season, 11, 12),
        phases=phases,
        hunting=(
            HuntingDates(name="bow", opens=date(season, 9, 27), closes=date(season + 1, 1, 4)),
            HuntingDates(name="gun", opens=date(season, 11, 29), closes=date(season, 12, 5)),
            HuntingDates(name="late gun", opens=date(season, 12, 20), closes=date(season, 12, 28)),
        ),
    )


def sun(season: int) -> SunCurves:
    """Roughly 40 degrees north, with the clock an hour on until the first Sunday of November."""
    first, end = date(season, 6, 1), date(season + 1, 6, 1)
    days = tuple(first + timedelta(days=n) for n in range((end - first).days))
    back = next(d for d in (date(season, 11, n) for n in range(1, 8)) if d.weekday() == 6)
    forward = next(d for d in (date(season + 1, 3, n) for n in range(8, 15)) if d.weekday() == 6)
    rise, fall = [], []
    for day in days:
        swing = math.cos(2 * math.pi * (day - date(season, 6, 21)).days / 365.25)
        noon = 12.1 if back <= day < forward else 13.1
        rise.append(round(noon - 6 - 1.5 * swing, 3))
        fall.append(round(noon + 6.1 + 1.5 * swing, 3))
    return SunCurves(
        days=days,
        sunrise=tuple(rise),
        sunset=tuple(fall),
        light_begins=tuple(round(h - 0.5, 3) for h in rise),
        light_ends=tuple(round(h + 0.5, 3) for h in fall),
    )


def ground() -> BuckMap:
    """Seven sites; he moves from the first to the third, and one site has no camera in the rut."""
    places = ((0, 0), (420, 610), (900, 450), (-300, 700), (650, -120), (120, 330), (1010, 820))
    sites = tuple(
        MapSite(site=site, east_m=east, north_m=north)
        for site, (east, north) in zip(SITES, places, strict=True)
    )
    phases = []
    for n, phase in enumerate(("summer", "early season", "rut")):
        uses = tuple(
            SiteUse(
                site=site.site,
                visits=(visits := max(0, 24 - 9 * abs(k - n))),
                shooting_light_visits=visits // 3,
                camera_days=61.5,
                rate=100 * visits / 61.5,
            )
            for k, site in enumerate(sites)
            if not (phase == "rut" and k == 6)
        )
        move = Move(
            from_east_m=40.0,
            from_north_m=90.0,
            to_east_m=870.0,
            to_north_m=480.0,
            words="From summer the centre of his use moved 1,236 yd (1,028 yd to 1,433 yd).",
        )
        phases.append(PhaseMap(phase=phase, uses=uses, move=move if n == 1 else None))
    return BuckMap(sites=sites, phases=tuple(phases), units="imperial")


def share(hits: int, of: int) -> Share:
    """A share with a made-up interval, wide enough to look honest."""
    if of == 0:
        return Share(count=0, of=0, share=None, low=None, high=None)
    p = hits / of
    reach = 0.98 * math.sqrt((p * (1 - p) + 0.05) / of)
    low, high = max(0.0, p - 2 * reach), min(1.0, p + 2 * reach)
    return Share(count=hits, of=of, share=p, low=round(low, 4), high=round(high, 4))


def watched(season: int, day: date) -> bool:
    return not any(s.first <= day <= s.last for s in NOT_WATCHED[season])


def chance_on(pattern: Pattern, day: date, season: int) -> float:
    """Chance of a visit on a day, for the look of the thing."""
    peak = date(season, 11, 12)
    if pattern == "rut":
        return 0.7 if abs((day - peak).days - 1) <= 5 else 0.0
    if pattern == "summer":
        return 0.45 if day < date(season, 9, 10) else 0.0
    if pattern == "fall":
        return 0.4 if day >= date(season, 9, 8) else 0.02
    return 0.15 if abs((day - peak).days) < 12 else 0.42


def visits(pattern: Pattern, season: int, seed: int, thin: float = 1.0) -> tuple[VisitMark, ...]:
    dice, curves, found = Random(seed * 10_000 + season), sun(season), []
    for n, day in enumerate(curves.days):
        roll, which, when, doubt = (dice.random() for _ in range(4))
        if day > AS_OF or not watched(season, day):
            continue
        if roll > thin * chance_on(pattern, day, season):
            continue
        base = curves.sunset[n] if when < 0.6 else curves.sunrise[n]
        hour = (base + (dice.random() - 0.4) * 4.5 + (6 if dice.random() < 0.15 else 0)) % 24
        in_light = curves.light_begins[n] <= hour <= curves.light_ends[n]
        site = SITES[int(which**1.6 * len(SITES))]
        found.append(
            VisitMark(
                day=day, hour=round(hour, 3), site=site, in_light=in_light, unsure=doubt < 0.05
            )
        )
    return tuple(found)


def strip(pattern: Pattern, season: int, marks: tuple[VisitMark, ...]) -> StripSeason:
    cells = []
    start = date(season, 6, 1) - timedelta(days=date(season, 6, 1).weekday())
    while start < min(date(season + 1, 6, 1), AS_OF):
        mine = [v for v in marks if start <= v.day < start + timedelta(days=7) and not v.unsure]
        ran = sum(watched(season, start + timedelta(days=n)) for n in range(7))
        expected = chance_on(pattern, max(start + timedelta(days=3), date(season, 6, 1)), season)
        around = 0.9 * min(1.0, expected * 2.2) + 0.04
        if ran < 2:
            cells.append(
                WeekCell(
                    week_start=start,
                    state="not watched",
                    days_seen=0,
                    camera_days=float(ran),
                    visits=0,
                    shooting_light_visits=0,
                    around=round(around, 3),
                    weight=0.0,
                )
            )
        else:
            in_rut = abs((start - date(season, 11, 12)).days) < 14
            weight = (0.0 if in_rut else 0.8) if mine else (0.0 if in_rut else -0.45)
            cells.append(
                WeekCell(
                    week_start=start,
                    state="seen" if mine else "not seen",
                    days_seen=len({v.day for v in mine}),
                    camera_days=ran * 6.5,
                    visits=len(mine),
                    shooting_light_visits=sum(v.in_light for v in mine),
                    around=round(around if mine else around * 0.7, 3),
                    weight=weight,
                )
            )
        start += timedelta(days=7)
    return StripSeason(season=season, cells=tuple(cells))


def facts(
    season: int | None,
    strips: tuple[StripSeason, ...],
    marks: tuple[VisitMark, ...],
    *,
    score: float,
    label: Label,
    pattern: Pattern,
    odds: tuple[float, float, float, float],
) -> BuckFacts:
    cells = [c for s in strips for c in s.cells]
    sure = [v for v in marks if not v.unsure]
    return BuckFacts(
        season=season,
        score=score,
        label=label,
        pattern=pattern,
        p_year_round=odds[0],
        p_fall=odds[1],
        p_summer=odds[2],
        p_rut=odds[3],
        p_passing=0.01,
        p_gone=0.02,
        weeks_seen=sum(c.state == "seen" for c in cells),
        weeks_watched=sum(c.state != "not watched" for c in cells),
        days_seen=len({v.day for v in sure}),
        visits=len(sure),
        daylight=share(sum(v.in_light for v in sure), len(sure)),
        longest_absence_days=24 if sure else None,
        first_seen=min((v.day for v in sure), default=None),
        last_seen=max((v.day for v in sure), default=None),
        phases_seen=("summer", "pre-rut", "rut") if sure else (),
        baited_visits=sum(v.site == "Upper beans" for v in sure),
        unsure_visits=len(marks) - len(sure),
    )


def buck(
    name: str,
    seed: int,
    *,
    score: float,
    label: Label,
    pattern: Pattern,
    odds: tuple[float, float, float, float],
    thin: float = 1.0,
    seasons: tuple[int, ...] = SEASONS,
    open_questions: tuple[OpenQuestion, ...] = (),
) -> BuckSection:
    by_season = {s: visits(pattern, s, seed, thin) for s in seasons}
    strips = tuple(strip(pattern, s, by_season[s]) for s in seasons)
    marks = tuple(v for s in seasons for v in by_season[s])
    sure = [v for v in marks if not v.unsure]

    def cut(*, site: str | None = None, morning: bool | None = None) -> Share:
        kept = [
            v
            for v in sure
            if (site is None or v.site == site) and (morning is None or (v.hour < 12.5) is morning)
        ]
        return share(sum(v.in_light for v in kept), len(kept))

    daylight = (
        DaylightRow(daylight=cut()),
        DaylightRow(daylight=cut(morning=True), half="AM"),
        DaylightRow(daylight=cut(morning=False), half="PM"),
        *(
            DaylightRow(daylight=cut(site=s), site=s, baited=s == "Upper beans")
            for s in SITES
            if any(v.site == s for v in sure)
        ),
    )
    evidence = tuple(
        PhaseEvidence(
            season=s.season,
            phase=phase.name,
            weeks_seen=sum(c.state == "seen" for c in cells),
            weeks_watched=sum(c.state != "not watched" for c in cells),
            weight=sum(c.weight or 0.0 for c in cells),
        )
        for s in strips
        for phase in frame(s.season).phases
        if (cells := [c for c in s.cells if phase.first <= c.week_start < phase.end])
    )
    alike = {"score": score, "label": label, "pattern": pattern, "odds": odds}
    return BuckSection(
        name=name,
        facts=facts(None, strips, marks, **alike),  # type: ignore[arg-type]
        seasons=tuple(
            facts(s.season, (s,), by_season[s.season], **alike)  # type: ignore[arg-type]
            for s in strips
        ),
        strip=strips,
        day_hour=tuple(
            DayHourSeason(season=s, visits=by_season[s], not_watched=NOT_WATCHED[s])
            for s in seasons
        ),
        daylight=daylight,
        evidence=evidence,
        open_questions=open_questions,
    )


def target_bucks() -> tuple[BuckSection, ...]:
    quarry = buck(
        "Lantern Jaw", 1, score=96.4, label="resident", pattern="year-round",
        odds=(0.88, 0.084, 0.006, 0.03),
    )  # fmt: skip
    rover = buck(
        "Tollkeeper", 2, score=6.2, label="visiting", pattern="rut",
        odds=(0.02, 0.042, 0.008, 0.93),
    )  # fmt: skip
    doubtful = buck(
        "Half Penny", 3, score=47.0, label="undecided", pattern="fall",
        odds=(0.11, 0.36, 0.09, 0.44), thin=0.12, seasons=(2024, 2025),
        open_questions=(
            OpenQuestion(
                unknown="Whether he was here in the early season: few cameras ran where he was "
                "seen later.",
                would_settle="Three weeks with a camera at Fence gap in September would move the "
                "score most.",
            ),
        ),
    )  # fmt: skip
    return (
        replace(quarry, born=2019, aliases=("LJ", "Big lantern"), notes="Split left brow tine."),
        rover,
        doubtful,
    )


def other_bucks() -> tuple[OtherBuck, ...]:
    rows: tuple[tuple[str, float, Label, Pattern, float], ...] = (
        ("Basket Eight", 88.0, "resident", "fall", 0.6),
        ("Ash Bark", 3.1, "visiting", "summer", 0.8),
        ("Ninepin", 52.2, "undecided", "year-round", 0.08),
        (HOSTILE_NAME, 12.0, "visiting", "rut", 0.5),
        ("Mud Lark", 91.5, "resident", "year-round", 0.9),
    )
    others = []
    for seed, (name, score, label, pattern, thin) in enumerate(rows, start=11):
        whole = buck(
            name,
            seed,
            score=score,
            label=label,
            pattern=pattern,
            odds=(0.25, 0.25, 0.25, 0.25),
            thin=thin,
        )
        others.append(OtherBuck(name=name, facts=whole.facts, listed=name != HOSTILE_NAME))
    return tuple(others)


def cameras() -> tuple[CameraSection, ...]:
    made = []
    for n, site in enumerate(SITES[:4]):
        effort = []
        for season in SEASONS:
            for day in sun(season).days:
                if day > AS_OF or (n == 3 and day < date(2024, 8, 3)):
                    continue
                ran = 1.0 if watched(season, day) else 0.0
                if n == 1 and date(2025, 8, 4) <= day <= date(2025, 8, 24):
                    ran = 0.0
                if day.day == 12 and day.month in (7, 10):
                    ran *= 0.5
                effort.append(EffortDay(day=day, site=site, camera_day=ran))
        this_season = sum(e.camera_day for e in effort if e.day >= date(2025, 6, 1))
        made.append(
            CameraSection(
                camera=f"cam{n + 1}",
                placements=(
                    PlacementRow(
                        site=site,
                        setting=("water", "travel", "travel", "food")[n],
                        first=effort[0].day,
                        last=None,
                        baited=n == 3,
                    ),
                ),
                effort=tuple(effort),
                camera_days=sum(e.camera_day for e in effort),
                season_camera_days=this_season,
                photos=4213 + 977 * n,
                visits=612 + 140 * n,
                untagged=(0, 37, 0, 4)[n],
                tag_sheet=f"tags/cam{n + 1}.csv",
                last_proof_of_life=AS_OF - timedelta(days=n),
                clock=(
                    ClockFinding(
                        what="The clock looks an hour fast since 2 November.",
                        evidence="Its pictures turn grey 58 minutes later than the sun allows "
                        "(52 to 66 minutes, from 84 pictures).",
                        row_to_add="cam3,2025-11-02 09:00,2025-11-02 08:00,2025-11-02 02:00,",
                    ),
                )
                if n == 2
                else (),
                silent=(
                    SilentStretch(site=site, first=date(2025, 8, 4), last=date(2025, 8, 24)),
                    SilentStretch(
                        site=site, first=date(2025, 9, 1), last=date(2025, 9, 9), status="down"
                    ),
                    SilentStretch(
                        site=site, first=date(2025, 9, 20), last=date(2025, 9, 23), status="running"
                    ),
                )
                if n == 1
                else (),
            )
        )
    return tuple(made)


def invented_page() -> ReportPage:
    """Three targets, one of each label; plan, windows, sits and backtest not made."""
    targets = target_bucks()
    return ReportPage(
        property_name="Alder Fork",
        as_of=AS_OF,
        seasons=tuple(frame(s) for s in SEASONS),
        sun={s: sun(s) for s in SEASONS},
        sites=SITES,
        this_week=ThisWeek(
            now=(
                BuckNow(
                    name="Lantern Jaw",
                    around=0.86,
                    last_seen=date(2025, 11, 15),
                    last_site="Seep",
                    last_in_light=True,
                ),
                BuckNow(
                    name="Tollkeeper",
                    around=0.62,
                    last_seen=date(2025, 11, 14),
                    last_site="Gate lane",
                    last_in_light=False,
                ),
                BuckNow(
                    name="Half Penny",
                    around=0.31,
                    last_seen=date(2025, 11, 2),
                    last_site="Fence gap",
                ),
            ),
            mend_first=(
                MendItem(
                    place="cam3 clock",
                    why="The clock looks an hour fast since 2 November.",
                    how="Add the row shown under Cameras to clock.csv.",
                    bucks=("Lantern Jaw", "Tollkeeper"),
                ),
                MendItem(
                    place="tags/cam2.csv row 214, column bucks",
                    value="Tolkeeper",
                    why="No buck of that name; Tollkeeper is one letter off.",
                    how="Correct the name in the sheet.",
                    bucks=("Tollkeeper",),
                ),
            ),
            to_mend=5,
            left_out=(
                LeftOut(what="Where to sit and where to stay out", missing="stands.csv"),
                LeftOut(what="What weather does", missing="weather.csv"),
            ),
        ),
        bucks=targets,
        other_bucks=other_bucks(),
        cameras=cameras(),
        light_before_minutes=30,
        light_after_minutes=30,
        visit_gap_minutes=30,
        watched_share=0.25,
        settings=(
            Setting(name="timezone", value="America/New_York"),
            Setting(name="season_start", value="06-01"),
            Setting(name="rut_peak", value="11-12"),
            Setting(name="light_before_sunrise_minutes", value="30"),
            Setting(name="light_after_sunset_minutes", value="30"),
            Setting(name="visit_gap_minutes", value="30"),
            Setting(name="units", value="imperial"),
        ),
        version="0.1.0",
    )


def chance_strip(half: Half, chance: float) -> ChanceStrip:
    """The days to the season's end, a third likelier from 28 November to 9 December."""
    days = [AS_OF + timedelta(days=n) for n in range(1, 197)]
    good = (date(2025, 11, 28), date(2025, 12, 9))
    return ChanceStrip(
        half=half,
        days=tuple(
            ChanceDay(
                day=day, chance=chance * (1.5 if good[0] <= day <= good[1] else 1), site="Seep"
            )
            for day in days
        ),
    )


def full_page() -> ReportPage:
    """The invented page with every part that may be there, there."""
    page = invented_page()
    plan = PlanView(
        first=date(2025, 11, 17),
        last=date(2025, 11, 23),
        sits=(
            SitAdvice(
                when="Any evening, Mon 17 to Thu 20 Nov", stand="Seep ladder",
                bucks="Lantern Jaw", chance="20 to 21%", low=0.12, high=0.33,
                why="Lantern Jaw (around 94%); a target came in light on 5 of the last 28 evenings "
                "watched, in the rut of past seasons on 9 of 44; hunt it on N or NW wind",
            ),
        ),
        stay_outs=(
            StayOut(where="Bean stand, mornings of 17 to 23 November",
                    why="deer feed here before light, and walking in sends them off"),
        ),
        stands_on="This plan was made without a weather forecast.",
        to_have_it="deerlog report --weather FILE",
        ahead=("Tollkeeper: about 28 November to 9 December, evenings at Seep, 19% a half-day "
               "(11 to 29%); seen around those days in 2 of 3 seasons watched.",),
    )  # fmt: skip
    windows = (
        WindowRow(
            site="Seep", half="PM", opens=date(2025, 11, 28), closes=date(2025, 12, 9),
            chance=0.19, low=0.11, high=0.29, visits_behind=41, camera_days_behind=612.0,
        ),
    )  # fmt: skip
    first, *rest = page.bucks
    how_good = HowGood(
        verdict="The chances beat both simple rules, by little.",
        off=("Of chances given 10 to 20%, 8% came true (5 to 12%): read them lower.",),
        scores=(
            ForecastScore(rule="deerlog", log_loss=0.1812, brier=0.0471, half_days=8120),
            ForecastScore(rule="his all-time rate", log_loss=0.1944, brier=0.0493, half_days=8120),
            ForecastScore(rule="the last 14 days", log_loss=0.2420, brier=0.0522, half_days=8120),
        ),
        reliability=(
            ReliabilityRow(said_low=0.1, said_high=0.2, said_mean=0.143, happened=share(61, 402)),
        ),
    )
    return replace(
        page,
        bucks=(
            replace(
                first,
                windows=windows,
                ahead=(chance_strip("AM", 0.05), chance_strip("PM", 0.12)),
                ground=ground(),
                shifts=(
                    ShiftRow(
                        season=2025,
                        from_phase="summer",
                        to_phase="early season",
                        distance_m=1130.0,
                        low_m=940.0,
                        high_m=1310.0,
                        change_day=date(2025, 9, 6),
                        change_probability=0.97,
                    ),
                    ShiftRow(
                        season=2025,
                        from_phase="early season",
                        to_phase="rut",
                        distance_m=120.0,
                        low_m=20.0,
                        high_m=290.0,
                        change_probability=0.21,
                    ),
                ),
            ),
            *rest,
        ),
        this_week=replace(
            page.this_week,
            plan=plan,
            changed=("Tollkeeper is now visiting, score 18; he was undecided, score 31.",),
            changed_since=date(2025, 11, 9),
            left_out=(),
        ),
        how_good=how_good,
        sits=SitsView(
            rows=(SitsRow(cut="All sits", seen=share(3, 22), mean_chance=0.15, given=19),),
            rested=(
                StandRested(stand="Seep ladder", last_sit=date(2025, 11, 9), days=7, rest_days=3),
                StandRested(stand="Bean stand", last_sit=None, days=None, rest_days=2),
            ),
            after="After a sit, fewer came in light.",
        ),
    )


def empty_page() -> ReportPage:
    """A property on its first day: no buck, no camera, nothing tagged."""
    page = invented_page()
    return replace(
        page,
        sites=(),
        bucks=(),
        other_bucks=(),
        cameras=(),
        this_week=ThisWeek(now=()),
        targets_chosen=False,
    )
