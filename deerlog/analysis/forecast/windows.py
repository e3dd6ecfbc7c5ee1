"""Windows: runs of days on which a buck is likelier than usual to show in shooting light."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.forecast.chances import Z_95, Forecast
from deerlog.analysis.forecast.counts_behind import CountsBehind
from deerlog.analysis.forecast.forecast_judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import codes
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
    """Runs of days well above a buck's own level.

    His own level is his mean chance over all sites wanted, both halves and all days ahead; the
    days of a window are also among the better ones at that site in that half. A run may bridge a
    dip of a day or two, and is at least some days long (`ForecastJudgement`): a single good day is
    no window.

    Parameters
    ----------
    made
        Of `chances.forecast`, from the day of the report to the season's end.
    behind
        Of `deerlog.analysis.forecast.counts_behind.counts_behind`.
    bucks
        Bucks wanted; those never seen are left out.
    sites
        Sites wanted, such as those where a camera stands; None for all.

    Returns
    -------
    DataFrame
        `WINDOW_COLUMNS`, best first within each buck. ``opens`` and ``closes`` are both in the
        window; ``chance``, ``low`` and ``high`` are means over its days of the chance in one
        half-day; the counts are of the phases that it touches, over all seasons.
    """
    judgement = judgement or ForecastJudgement()
    wanted = made.sites if sites is None else [s for s in sites if s in made.sites]
    places = [made.sites.index(s) for s in wanted]
    phase = codes(pd.Series(calendar.phase_of(made.days)), PHASES)
    middle, low, high = (made.chance(z)[:, :, places] for z in (0.0, -Z_95, Z_95))
    rows = []
    for buck in bucks:
        if buck not in made.bucks or not places or not len(made.days):
            continue
        b = made.bucks.index(buck)
        least = max(
            judgement.window_above * float(middle[:, b].mean()), judgement.window_least_chance
        )
        for s, site in enumerate(places):
            for h, half in enumerate(HALVES):
                chance = middle[:, b, s, h]
                level = max(least, judgement.window_of_best * float(chance.max()))
                for first, last in _runs(chance >= level, judgement):
                    run = slice(first, last + 1)
                    touched = np.unique(phase[run])
                    rows.append(
                        (
                            buck, made.sites[site], half, made.days[first], made.days[last],
                            float(chance[run].mean()),
                            float(low[run, b, s, h].mean()),
                            float(high[run, b, s, h].mean()),
                            int(behind.visits[b, site, h, touched].sum()),
                            float(behind.camera_days[b, site, touched].sum()),
                        )
                    )  # fmt: skip
    table = pd.DataFrame(rows, columns=WINDOW_COLUMNS)
    return table.sort_values(
        ["buck", "chance", "opens"], ascending=[True, False, True], kind="stable"
    ).reset_index(drop=True)


def _runs(above: npt.NDArray[np.bool_], judgement: ForecastJudgement) -> list[tuple[int, int]]:
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
