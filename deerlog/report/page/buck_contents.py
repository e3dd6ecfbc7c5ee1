"""What the page shows of a buck's chances on the days ahead.

What the page shows of each buck.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from typing import Any

import pandas as pd

from deerlog.analysis.residency.explain import phase_evidence
from deerlog.analysis.visits import HALVES
from deerlog.report.page.buck_data import (
    BuckFacts,
    BuckSection,
    ChanceDay,
    ChanceStrip,
    DayHourSeason,
    DaylightRow,
    DaySpan,
    OtherBuck,
    PhaseEvidence,
    Share,
    StripSeason,
    VisitMark,
    WeekCell,
    WindowRow,
)
from deerlog.report.page.map_contents import buck_map, shift_rows
from deerlog.report.page.page_data import BuckNow
from deerlog.report.words.label_words import label_question, reason_sentence
from deerlog.report.words.plan_words import outlook_words
from deerlog.study import Study
from deerlog.study.plan import plan_outlook
from deerlog.timekeeping.seasons import PHASES


def chance_strips(study: Study, buck: str) -> tuple[ChanceStrip, ...]:
    """For each half, the best site's chance on every day to the season's end.

    Sites where a camera stands; none where there is no such site, or no day ahead.
    """
    made = study.forecast
    places = [made.sites.index(site) for site in study.running_sites if site in made.sites]
    if buck not in made.bucks or not places or not len(made.days):
        return ()
    number = made.bucks.index(buck)
    his = replace(
        made,
        bucks=(buck,),
        around=made.around[:, [number]],
        log_odds=made.log_odds[:, [number]],
        sd=made.sd[:, [number]],
        floor=made.floor[[number]],
    )
    chance = his.chance()[:, 0, places]
    best = chance.argmax(axis=1)
    return tuple(
        ChanceStrip(
            half="AM" if half == "AM" else "PM",
            days=tuple(
                ChanceDay(
                    day=day.date(),
                    chance=float(chance[d, best[d, h], h]),
                    site=made.sites[places[best[d, h]]],
                )
                for d, day in enumerate(made.days)
            ),
        )
        for h, half in enumerate(HALVES)
    )


CUTS_SHOWN = ("half", "phase", "site")


def buck_section(study: Study, buck: str) -> BuckSection:
    """Everything of one buck with a sure tag."""
    listed = study.place.bucks[study.place.bucks["buck"] == buck]
    seasons = study.residency.table[
        (study.residency.table["buck"] == buck) & (study.residency.table["season"] != "all")
    ]
    weekly = study.residency.weekly[study.residency.weekly["buck"] == buck]
    visits = study.all_visits[study.all_visits["buck"] == buck]
    by_season = [(s, weekly[weekly["season"] == s]) for s in sorted(set(weekly["season"].tolist()))]
    row = listed.iloc[0] if len(listed) else None
    reason = reason_sentence(study.reasons[buck])
    question = label_question(
        study.reasons[buck].label, study.what_if.get(buck), study.settling(buck)
    )
    return BuckSection(
        name=buck,
        facts=buck_facts(study, buck),
        seasons=tuple(_facts(study, r) for r in seasons.to_dict("records")),
        strip=tuple(
            StripSeason(season=s, cells=tuple(_cell(w) for w in part.to_dict("records")))
            for s, part in by_season
        ),
        day_hour=tuple(
            DayHourSeason(
                season=s,
                visits=tuple(_mark(v) for v in visits[visits["season"] == s].to_dict("records")),
                not_watched=_not_watched(part, study.last_day),
            )
            for s, part in by_season
        ),
        daylight=_daylight_rows(study, buck),
        evidence=tuple(
            PhaseEvidence(
                season=int(e["season"]),
                phase=str(e["phase"]),
                weeks_seen=int(e["weeks_seen"]),
                weeks_watched=int(e["weeks_watched"]),
                weight=float(e["evidence"]),
            )
            for e in phase_evidence(weekly).to_dict("records")
        ),
        target=bool(row is not None and row["target"]),
        listed=row is not None,
        born=None if row is None or pd.isna(row["born"]) else int(row["born"]),
        aliases=() if row is None else tuple(row["aliases"]),
        notes="" if row is None else str(row["notes"]),
        why=() if reason is None else (reason,),
        open_questions=() if question is None else (question,),
        outlook=_outlook(study, buck),
        windows=_windows(study, buck),
        ahead=chance_strips(study, buck),
        ground=buck_map(study, buck),
        shifts=shift_rows(study, buck),
    )


def other_buck(study: Study, buck: str) -> OtherBuck:
    """One row of the table of other bucks."""
    return OtherBuck(
        name=buck,
        facts=buck_facts(study, buck),
        listed=bool((study.place.bucks["buck"] == buck).any()),
    )


def buck_facts(study: Study, buck: str) -> BuckFacts:
    """The facts of a buck over all seasons."""
    table = study.residency.table
    row = table[(table["buck"] == buck) & (table["season"] == "all")].to_dict("records")[0]
    return _facts(study, row)


def buck_now(study: Study, buck: str) -> BuckNow:
    """Whether he is around on the last day known, and where he was last seen."""
    visits = study.visits[study.visits["buck"] == buck]
    around = study.residency.around
    chance = around[buck].get(study.last_day) if buck in around.columns else None
    if visits.empty:
        return BuckNow(name=buck, around=None, last_seen=None)
    last = visits.iloc[-1]
    return BuckNow(
        name=buck,
        around=None if chance is None or pd.isna(chance) else float(chance),
        last_seen=last["day"].date(),
        last_site=str(last["site"]),
        last_in_light=bool(last["in_light"]),
    )


def _facts(study: Study, row: dict[Any, Any]) -> BuckFacts:
    visits = study.all_visits[study.all_visits["buck"] == row["buck"]]
    season = None if row["season"] == "all" else int(row["season"])
    if season is not None:
        visits = visits[visits["season"] == season]
    unsure = visits["unsure"].astype(bool)
    phases = set(visits.loc[~unsure, "phase"])
    absence = row["longest_absence_days"]
    return BuckFacts(
        season=season,
        label=row["label"],
        score=float(row["score"]),
        pattern=row["pattern"],
        p_year_round=float(row["p_year_round"]),
        p_fall=float(row["p_fall"]),
        p_summer=float(row["p_summer"]),
        p_rut=float(row["p_rut"]),
        p_passing=float(row["p_passing"]),
        p_gone=float(row["p_gone"]),
        weeks_seen=int(row["weeks_seen"]),
        weeks_watched=int(row["weeks_watched"]),
        days_seen=int(row["days_seen"]),
        visits=int(row["visits"]),
        daylight=_share(row, "daylight_share", "daylight_low", "daylight_high"),
        longest_absence_days=None if pd.isna(absence) else int(absence),
        first_seen=_day(row["first_seen"]),
        last_seen=_day(row["last_seen"]),
        phases_seen=tuple(p for p in PHASES if p in phases),
        baited_visits=int(visits.loc[~unsure, "bait"].astype(bool).sum()),
        unsure_visits=int(unsure.sum()),
    )


def _share(row: dict[Any, Any], share: str, low: str, high: str) -> Share:
    known = not pd.isna(row[share])
    return Share(
        count=int(row["shooting_light_visits"]),
        of=int(row["visits"]),
        share=float(row[share]) if known else None,
        low=float(row[low]) if known else None,
        high=float(row[high]) if known else None,
    )


def _daylight_rows(study: Study, buck: str) -> tuple[DaylightRow, ...]:
    table = study.daylight
    table = table[(table["buck"] == buck) & (table["season"] == "all")]
    baited = study.place.placements.groupby("site")["bait"].any()
    rows = []
    whole = (table[list(CUTS_SHOWN)] == "all").all(axis=1)
    rows += [DaylightRow(daylight=_light(r)) for r in table[whole].to_dict("records")]
    for cut in CUTS_SHOWN:
        others = [c for c in CUTS_SHOWN if c != cut]
        part = table[(table[others] == "all").all(axis=1) & (table[cut] != "all")]
        if cut == "phase":
            part = part.sort_values(cut, key=lambda p: p.map(PHASES.index))
        for r in part.to_dict("records"):
            rows.append(
                DaylightRow(
                    daylight=_light(r),
                    phase=r[cut] if cut == "phase" else None,
                    site=r[cut] if cut == "site" else None,
                    half=r[cut] if cut == "half" else None,
                    baited=cut == "site" and bool(baited.get(r[cut], False)),
                )
            )
    return tuple(rows)


def _light(row: dict[Any, Any]) -> Share:
    return _share(row, "share", "low", "high")


def _outlook(study: Study, buck: str) -> str:
    (found,) = plan_outlook(study, [buck])
    said = outlook_words(found).removeprefix(f"{buck}: ")
    return said[0].upper() + said[1:]


def _windows(study: Study, buck: str) -> tuple[WindowRow, ...]:
    table = study.windows[study.windows["buck"] == buck]
    return tuple(
        WindowRow(
            site=str(w["site"]),
            half="AM" if w["half"] == "AM" else "PM",
            opens=w["opens"].date(),
            closes=w["closes"].date(),
            chance=float(w["chance"]),
            low=float(w["low"]),
            high=float(w["high"]),
            visits_behind=int(w["visits_behind"]),
            camera_days_behind=float(w["camera_days_behind"]),
        )
        for w in table.sort_values(["opens", "chance"], ascending=[True, False]).to_dict("records")
    )


def _cell(row: dict[Any, Any]) -> WeekCell:
    def counted(column: str) -> int:
        # Missing in a week that was not watched; its state says so, and its counts are not shown.
        return 0 if pd.isna(row[column]) else int(row[column])

    return WeekCell(
        week_start=row["week_start"].date(),
        state=row["state"],
        days_seen=counted("days_seen"),
        camera_days=float(row["camera_days"]),
        visits=counted("visits"),
        shooting_light_visits=counted("shooting_light_visits"),
        around=None if pd.isna(row["around"]) else float(row["around"]),
        weight=float(row["evidence"]),
    )


def _mark(row: dict[Any, Any]) -> VisitMark:
    local: datetime = row["local"].to_pydatetime()
    clock: time = local.time()
    return VisitMark(
        day=local.date(),
        hour=clock.hour + clock.minute / 60 + clock.second / 3600,
        site=str(row["site"]),
        in_light=bool(row["in_light"]),
        unsure=bool(row["unsure"]),
    )


def _not_watched(weeks: pd.DataFrame, last_day: pd.Timestamp) -> tuple[DaySpan, ...]:
    """Runs of unwatched weeks as spans of days."""
    spans: list[DaySpan] = []
    for week in weeks[weeks["state"] == "not watched"].to_dict("records"):
        first = week["week_start"]
        last = min(first + pd.Timedelta(days=6), last_day)
        if spans and (first.date() - spans[-1].last).days <= 1:
            spans[-1] = DaySpan(first=spans[-1].first, last=last.date())
        else:
            spans.append(DaySpan(first=first.date(), last=last.date()))
    return tuple(spans)


def _day(value: Any) -> date | None:
    return None if pd.isna(value) else value.date()
