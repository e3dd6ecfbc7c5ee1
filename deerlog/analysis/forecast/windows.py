"""Windows: runs of days on which a buck is likelier than usual to show in shooting light."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Bools
from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import CountsBehind, codes
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar

WINDOW_COLUMNS = [
    "buck", "site", "half", "opens", "closes", "chance", "low", "high",
    "visits_behind", "camera_days_behind",
]  # fmt: skip


def windows(
    made: Forecast,
    behind: CountsBehind,
    calendar: SeasonCalendar,
    bucks: Sequence[str],
    sites: Sequence[str] | None = None,
    judgement: ForecastJudgement | None = None,
) -> pd.DataFrame:
    """Runs of days well above a buck's own level, that stand out at their site: `WINDOW_COLUMNS`,
    best first within each buck.

    His own level is his mean chance over all sites wanted, both halves and all days ahead. A site
    he likes is above that the whole season long, which is no run of days to wait for: so the days
    of a window are also above the mean of all days ahead at that site in that half, and are the
    lesser part of them. A run may bridge a dip of a day or two, and is at least some days long
    (`ForecastJudgement`): a single good day is no window. Where next to nothing was watched, the
    chance rests on other bucks and sites, and no window is offered.

    ``made`` is from the day of the report to the season's end; bucks never seen are left out;
    ``sites`` None is all. ``opens`` and ``closes`` are both in the window; ``chance``, ``low`` and
    ``high`` are means over its days of the chance in one half-day; the counts are of the phases
    that it touches, over all seasons.
    """
    judgement = judgement or ForecastJudgement()
    wanted = made.sites if sites is None else [s for s in sites if s in made.sites]
    places = [made.sites.index(s) for s in wanted]
    middle, low, high = (p[:, :, places] for p in (made.chance(), *made.interval()))
    phase = codes(pd.Series(calendar.phase_of(made.days)), PHASES)
    most_days = judgement.window_most_of_days * len(made.days)
    rows = []
    known = [made.bucks.index(buck) for buck in bucks if buck in made.bucks]
    for b, s, h in product(known if len(made.days) else (), range(len(places)), range(len(HALVES))):
        chance = middle[:, b, s, h]
        level = max(
            judgement.window_above * float(middle[:, b].mean()),
            judgement.window_least_chance,
            judgement.window_of_best * float(chance.max()),
            judgement.window_stands_out * float(chance.mean()),
        )
        for first, last in _runs(chance >= level, judgement):
            run, touched = slice(first, last + 1), np.unique(phase[first : last + 1])
            camera_days = float(behind.camera_days[b, places[s], touched].sum())
            if camera_days < judgement.window_least_camera_days or last - first + 1 > most_days:
                continue
            rows.append(
                (
                    made.bucks[b], made.sites[places[s]], HALVES[h],
                    made.days[first], made.days[last],
                    *(float(p[run, b, s, h].mean()) for p in (middle, low, high)),
                    int(behind.visits[b, places[s], h, touched].sum()), camera_days,
                )
            )  # fmt: skip
    table = pd.DataFrame(rows, columns=WINDOW_COLUMNS)
    return table.sort_values(
        ["buck", "chance", "opens"], ascending=[True, False, True], kind="stable"
    ).reset_index(drop=True)


def _runs(above: Bools, judgement: ForecastJudgement) -> list[tuple[int, int]]:
    """First and last day of each run that is long enough, short gaps bridged."""
    days = np.flatnonzero(above)
    if not len(days):
        return []
    breaks = np.flatnonzero(np.diff(days) > judgement.window_gap_days + 1)
    firsts = days[np.append(0, breaks + 1)]
    lasts = days[np.append(breaks, len(days) - 1)]
    return [
        (int(first), int(last))
        for first, last in zip(firsts, lasts, strict=True)
        if last - first + 1 >= judgement.window_least_days
    ]
