"""What the page shows of each buck: his facts, days, visits, ground, windows and days ahead."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd

from deerlog.analysis.season.day_states import day_states
from deerlog.analysis.shift.shift import FALL, phase_use
from deerlog.analysis.visits import HALVES, OPENER
from deerlog.report.page.template_engine import Row, rows
from deerlog.report.page.visit_pictures import last_pictures
from deerlog.report.words.label_words import label_question, reason_sentence
from deerlog.report.words.season_words import calendar_words, season_of_buck
from deerlog.report.words.words import shift_words
from deerlog.study import PropertyStudy
from deerlog.timekeeping.seasons import PHASES

EARLY_SEASON = PHASES[1]
"""The panel that bears the move from summer to fall as a whole."""


def buck_section(
    study: PropertyStudy, buck: str, visits: pd.DataFrame, *, pictures: bool = True
) -> Row:
    """Everything of one buck with a sure tag; rows of the study's frames, by name.

    ``visits`` are of `deerlog.report.page.visit_pictures.visits_with_files`, of any bucks;
    ``pictures`` tells whether to carry his last ones.
    """

    def his(table: pd.DataFrame) -> pd.DataFrame:
        return table[table["buck"] == buck]

    listed = rows(his(study.place.bucks))
    facts = buck_facts(study, buck)
    weekly, visits = his(study.residency.weekly), his(visits)
    seasons = sorted({int(season) for season in weekly["season"]})
    label = study.reasons[buck].label
    return {
        "name": buck,
        "facts": facts[0],
        "by_season": facts[1:],
        "weeks": {s: rows(weekly[weekly["season"] == s]) for s in seasons},
        "calendar": season_calendar(study, buck),
        "visits": {s: visits[visits["season"] == s] for s in seasons},
        "pictures": last_pictures(study.place.folder, visits) if pictures else [],
        "daylight": daylight_rows(study, buck),
        "row": listed[0] if listed else None,
        "why": reason_sentence(study.reasons[buck]),
        "question": label_question(label, study.what_if.get(buck), study.settling(buck)),
        **season_of_buck(study, buck),
        "windows": rows(
            his(study.windows).sort_values(["opens", "chance"], ascending=[True, False])
        ),
        "ahead": chances_ahead(study, buck),
        "ground": ground_used(study, buck),
        "shifts": latest_moves(study, buck),
        "last": next(iter(rows(his(study.visits).tail(1))), None),
    }


def other_buck(study: PropertyStudy, buck: str) -> Row:
    """One row of the table of other bucks."""
    listed = bool((study.place.bucks["buck"] == buck).any())
    return {"name": buck, "facts": buck_facts(study, buck)[0], "listed": listed}


def buck_facts(study: PropertyStudy, buck: str) -> list[Row]:
    """His rows of ``residency.csv``, all seasons together first (``season`` None), and what his
    visits add."""
    table = study.residency.table[study.residency.table["buck"] == buck]
    visits = study.all_visits[study.all_visits["buck"] == buck]
    whole = table["season"] == "all"
    facts = []
    for row in rows(pd.concat([table[whole], table[~whole]])):
        season = None if row["season"] == "all" else int(row["season"])
        told = visits if season is None else visits[visits["season"] == season]
        unsure = told["unsure"].astype(bool)
        facts.append(
            row
            | {
                "season": season,
                "baited_visits": int(told.loc[~unsure, "bait"].astype(bool).sum()),
                "unsure_visits": int(unsure.sum()),
            }
        )
    return facts


def season_calendar(study: PropertyStudy, buck: str) -> dict[int, Row]:
    """His days by season: ``days`` and their states, ``words``, and the ``marks`` of single days
    (``sign, day, words``): his first and last there, the first on new ground."""
    table = day_states(study.sighting_grid, study.calendar, buck)
    made = {}
    for season in table["season"].unique().tolist():
        part = table[table["season"] == season]
        moves = (move["change_day"] for move in moves_told(study, buck, season))
        words = calendar_words(part, [day for day in moves if day is not None])
        made[season] = words | {"days": list(zip(part["day"].dt.date, part["state"], strict=True))}
    return made


def daylight_rows(study: PropertyStudy, buck: str) -> list[Row]:
    """His daylight share over all seasons: the whole, then by half and by phase.

    A row has the half or the phase that it is about, what it is not about being None.
    """
    table = study.daylight
    table = table[(table["buck"] == buck) & (table["season"] == "all") & (table["site"] == "all")]
    cuts = table[["phase", "half"]].where(table[["phase", "half"]] != "all")
    table = table.assign(**cuts)[cuts.isna().any(axis=1)]
    order = table["phase"].map([OPENER, *PHASES].index, na_action="ignore").fillna(-1)
    by_half = table["half"].fillna("")
    return rows(table.assign(order=order, by=by_half).sort_values(["order", "by"], kind="stable"))


def not_watched(weeks: list[Row], last_day: date) -> list[tuple[date, date]]:
    """Runs of unwatched weeks, from day to day, both included."""
    spans: list[tuple[date, date]] = []
    for week in weeks:
        if week["state"] == "not watched":
            first = week["week_start"]
            last = min(first + timedelta(days=6), last_day)
            if spans and (first - spans[-1][1]).days <= 1:
                first = spans.pop()[0]
            spans.append((first, last))
    return spans


def chances_ahead(study: PropertyStudy, buck: str) -> list[Row]:
    """On every day to the season's end his best site and half, and the chance there.

    Sites where a camera stands; empty where there is no such site, or no day ahead.
    """
    made = study.forecast
    places = [made.sites.index(site) for site in study.running_sites if site in made.sites]
    if buck not in made.bucks or not places or not len(made.days):
        return []
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
    site, half = np.unravel_index(chance.reshape(len(chance), -1).argmax(axis=1), chance.shape[1:])
    return [
        {
            "day": day.date(),
            "chance": float(chance[d, site[d], half[d]]),
            "site": made.sites[places[site[d]]],
            "half": HALVES[half[d]],
        }
        for d, day in enumerate(made.days)
    ]


def ground_used(study: PropertyStudy, buck: str) -> Row | None:
    """His use of the sites by phase; None where no site has a position.

    ``sites`` are rows of the study's, ``phases`` his use by phase and site, ``moves`` the rows of
    its ``shift`` that are likelier than not, by the phase they led to.
    """
    placed = study.sites.dropna(subset=["x_m", "y_m"])
    if placed.empty:
        return None
    use = phase_use(study.visits, study.watched, study.calendar, buck)
    use = use[use["site"].isin(placed["site"])]
    units = study.place.settings.units
    moves = [m for m in latest_moves(study, buck) if m["change_day"] is not None]
    return {
        "sites": rows(placed),
        "phases": {
            str(phase): {row["site"]: row for row in rows(part)}
            for phase, part in use.groupby("phase", sort=False)
        },
        "moves": {
            EARLY_SEASON if m["to_phase"] == FALL else m["to_phase"]: m
            | {"words": shift_words(m, units)}
            for m in moves
        },
        "units": units,
    }


def latest_moves(study: PropertyStudy, buck: str) -> list[Row]:
    """Moves of his latest season, by `moves_told`."""
    seasons = study.shift.loc[study.shift["buck"] == buck, "season"]
    return moves_told(study, buck, int(seasons.max())) if len(seasons) else []


def moves_told(study: PropertyStudy, buck: str, season: int) -> list[Row]:
    """Moves of one season that stand out; where none does, its first.

    Of the move from summer to fall as a whole no more is said where that to the early season is
    known by itself.
    """
    table = study.shift[(study.shift["buck"] == buck) & (study.shift["season"] == season)]
    if (table["from_phase"].eq("summer") & table["to_phase"].ne(FALL)).any():
        table = table[table["to_phase"] != FALL]
    told = table[table["change_day"].notna()]
    return rows(told if len(told) else table.iloc[:1])
