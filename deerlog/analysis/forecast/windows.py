"""Windows: runs of days on which a buck is likelier than usual to show in shooting light."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import CountsBehind, codes
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar

WINDOW_COLUMNS = [
    "buck", "site", "half", "opens", "closes", "chance", "low", "high",
    "visits_behind", "camera_days_behind",
]  # fmt: skip
WHOLE_COLUMNS = [*WINDOW_COLUMNS, "even"]


def windows(
    made: Forecast,
    behind: CountsBehind,
    calendar: SeasonCalendar,
    bucks: Sequence[str],
    sites: Sequence[str] | None = None,
    judgement: ForecastJudgement | None = None,
) -> pd.DataFrame:
    """Runs of days well above a buck's own level, that stand out at their site.

    His own level is his mean chance over all sites wanted, both halves and all days ahead. A site
    he likes is above that the whole season long, which is no run of days to wait for: so the days
    of a window are also above the mean of all days ahead at that site in that half, and are the
    lesser part of them. A run may bridge a dip of a day or two, and is at least some days long
    (`ForecastJudgement`): a single good day is no window. Where next to nothing was watched, the
    chance rests on other bucks and sites, and no window is offered.

    Parameters
    ----------
    made
        Of `chances.forecast`, from the day of the report to the season's end.
    behind
        Of `deerlog.analysis.forecast.sighting_grid.counts_behind`.
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
    ahead = _Ahead.of(made, behind, calendar, sites)
    most_days = judgement.window_most_of_days * len(made.days)
    rows = []
    for buck, b in ahead.known(bucks):
        least = max(
            judgement.window_above * float(ahead.middle[:, b].mean()),
            judgement.window_least_chance,
        )
        for s in range(len(ahead.places)):
            for h in range(len(HALVES)):
                chance = ahead.middle[:, b, s, h]
                level = max(
                    least,
                    judgement.window_of_best * float(chance.max()),
                    judgement.window_stands_out * float(chance.mean()),
                )
                for first, last in _runs(chance >= level, judgement):
                    row = ahead.row(buck, b, s, h, slice(first, last + 1))
                    watched = row.camera_days_behind >= judgement.window_least_camera_days
                    if watched and last - first + 1 <= most_days:
                        rows.append(row)
    table = pd.DataFrame(rows, columns=WINDOW_COLUMNS)
    return table.sort_values(
        ["buck", "chance", "opens"], ascending=[True, False, True], kind="stable"
    ).reset_index(drop=True)


def whole_stretch(
    made: Forecast,
    behind: CountsBehind,
    calendar: SeasonCalendar,
    bucks: Sequence[str],
    sites: Sequence[str] | None = None,
    judgement: ForecastJudgement | None = None,
) -> pd.DataFrame:
    """Each buck's best site and half over all the days ahead, for where no run of days stands out.

    The best is that where he comes most by the lower end of what is known of his use of it: what
    rests on little reaches far down.

    Parameters
    ----------
    made, behind, calendar, bucks, sites
        As for `windows`.

    Returns
    -------
    DataFrame
        `WHOLE_COLUMNS`, a row a buck: those of `windows`, for all the days ahead as one stretch,
        and ``even``: no day of it is as far above its mean as the days of a window. A buck for whom
        no site was watched for long enough is not in it.
    """
    judgement = judgement or ForecastJudgement()
    ahead = _Ahead.of(made, behind, calendar, sites)
    rows = []
    for buck, b in ahead.known(bucks):
        found = [
            (
                ahead.row(buck, b, s, h, slice(None)),
                ahead.middle[:, b, s, h],
                float(ahead.at_least[:, b, s, h].mean()),
            )
            for s in range(len(ahead.places))
            for h in range(len(HALVES))
        ]
        least = judgement.window_least_camera_days
        watched = [each for each in found if each[0].camera_days_behind >= least]
        if not watched:
            continue
        best, chance, _ = max(watched, key=lambda each: each[2])
        even = float(chance.max()) < judgement.window_stands_out * float(chance.mean())
        rows.append((*best, even))
    return pd.DataFrame(rows, columns=WHOLE_COLUMNS)


class _Row(NamedTuple):
    """One row of `WINDOW_COLUMNS`."""

    buck: str
    site: str
    half: str
    opens: pd.Timestamp
    closes: pd.Timestamp
    chance: float
    low: float
    high: float
    visits_behind: int
    camera_days_behind: float


@dataclass(frozen=True, kw_only=True)
class _Ahead:
    """The chances of the days ahead at the sites wanted, and what they rest on.

    ``places`` are those sites among the forecast's; ``phase`` the number of each day's phase;
    ``middle, low, high`` have shape (days, bucks, sites wanted, halves); ``at_least`` likewise, the
    chance at the lower end of what is known of his use of the site.
    """

    made: Forecast
    behind: CountsBehind
    places: list[int]
    phase: npt.NDArray[np.int64]
    middle: npt.NDArray[np.float64]
    low: npt.NDArray[np.float64]
    high: npt.NDArray[np.float64]
    at_least: npt.NDArray[np.float64]

    @classmethod
    def of(
        cls,
        made: Forecast,
        behind: CountsBehind,
        calendar: SeasonCalendar,
        sites: Sequence[str] | None,
    ) -> _Ahead:
        wanted = made.sites if sites is None else [s for s in sites if s in made.sites]
        places = [made.sites.index(s) for s in wanted]
        at_least = made.around[..., None, None] * made.chance_if_around(-1.96)
        middle, low, high, at_least = (
            p[:, :, places] for p in (made.chance(), *made.interval(), at_least)
        )
        phase = codes(pd.Series(calendar.phase_of(made.days)), PHASES)
        return cls(
            made=made,
            behind=behind,
            places=places,
            phase=phase,
            middle=middle,
            low=low,
            high=high,
            at_least=at_least,
        )

    def known(self, bucks: Sequence[str]) -> Iterator[tuple[str, int]]:
        """Those of the bucks that the forecast knows, with their place in it."""
        if self.places and len(self.made.days):
            for buck in bucks:
                if buck in self.made.bucks:
                    yield buck, self.made.bucks.index(buck)

    def row(self, buck: str, b: int, s: int, h: int, run: slice) -> _Row:
        """One row of the table."""
        touched = np.unique(self.phase[run])
        days = self.made.days[run]
        return _Row(
            buck, self.made.sites[self.places[s]], HALVES[h], days[0], days[-1],
            float(self.middle[run, b, s, h].mean()),
            float(self.low[run, b, s, h].mean()),
            float(self.high[run, b, s, h].mean()),
            int(self.behind.visits[b, self.places[s], h, touched].sum()),
            float(self.behind.camera_days[b, self.places[s], touched].sum()),
        )  # fmt: skip


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
