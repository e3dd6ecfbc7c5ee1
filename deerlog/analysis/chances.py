"""The chance of a visit in shooting light: buck by site by half by day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import expit

from deerlog.analysis.forecast_judgement import ForecastJudgement
from deerlog.analysis.light_shares import light_shares
from deerlog.analysis.residency import Residency
from deerlog.analysis.sighting_grid import SightingGrid, codes, sighting_grid
from deerlog.analysis.site_use import site_use
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar

Floats = npt.NDArray[np.float64]
_X, _W = np.polynomial.hermite_e.hermegauss(7)
_NORMAL = (_X, _W / _W.sum())


@dataclass(frozen=True, kw_only=True)
class Forecast:
    """Chances as arrays.

    Attributes
    ----------
    days, bucks, sites
        Labels of the axes, lengths D, B, S.
    around
        Shape (D, B): chance that he is around.
    log_odds, sd
        Shape (D, B, S, 2): log odds of a visit in shooting light in a half if he is around, and
        their posterior standard deviation.
    floor
        Shape (B, S, 2): chance that another buck's visit is written down under his name.
    """

    days: pd.DatetimeIndex
    bucks: tuple[str, ...]
    sites: tuple[str, ...]
    around: Floats
    log_odds: Floats
    sd: Floats
    floor: Floats

    def chance(self, z: float = 0.0) -> Floats:
        """Shape (D, B, S, 2); ``z`` standard deviations up or down in how he uses the site."""
        if z:
            here = expit(self.log_odds + z * self.sd)
        else:
            here = sum(
                w * expit(self.log_odds + x * self.sd) for x, w in zip(*_NORMAL, strict=True)
            )
        return np.asarray(
            1 - (1 - self.around[:, :, None, None] * here) * (1 - self.floor[None])
        )


def forecast(
    grid: SightingGrid,
    visits: pd.DataFrame,
    around: pd.DataFrame,
    calendar: SeasonCalendar,
    sites: pd.DataFrame,
    days: pd.DatetimeIndex,
    judgement: ForecastJudgement,
) -> Forecast:
    past = np.nan_to_num(around.reindex(index=grid.days, columns=list(grid.bucks)).to_numpy())
    ahead = np.nan_to_num(around.reindex(index=days, columns=list(grid.bucks)).to_numpy())
    place = sites.drop_duplicates("site").set_index("site").reindex(list(grid.sites))
    position = place[["x_m", "y_m"]].to_numpy(dtype=float)
    setting = tuple(place["setting"].fillna("other").astype(str))
    use = site_use(grid, past, calendar, position, days, judgement)
    shares = light_shares(visits, grid.bucks, grid.sites, setting, judgement)
    phase = codes(pd.Series(calendar.phase_of(days)), PHASES)
    log_rate = use.log_rate[:, :, use.period].transpose(2, 0, 1)
    use_sd = use.sd[:, :, use.period].transpose(2, 0, 1)
    share = shares.share[:, phase].transpose(1, 0, 2, 3)
    share_sd = shares.log_sd[:, phase].transpose(1, 0, 2, 3)
    n = max(len(grid.bucks), 2)
    lit = grid.seen_in_light.sum(axis=(0, 1)) / np.maximum(grid.running.sum(axis=0), 30.0)[:, None]
    return Forecast(
        days=days, bucks=grid.bucks, sites=grid.sites, around=ahead,
        log_odds=log_rate[..., None] + np.log(share),
        sd=np.sqrt(use_sd[..., None] ** 2 + share_sd**2),
        floor=np.broadcast_to(0.015 * lit[None] / (n - 1) + 2e-5, (len(grid.bucks), *lit.shape)),
    )
