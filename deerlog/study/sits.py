"""The sits of a study: what they brought, beside the chances given beforehand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from deerlog.analysis.plan.aftermath import Aftermath, aftermath
from deerlog.analysis.plan.sits import rested, sit_record, sits_summary
from deerlog.study import Study

SitKey = tuple[date, str, str]
"""Day, half and stand of a sit."""


@dataclass(frozen=True, kw_only=True)
class SitsResult:
    """What is known of the sits up to the study's last day.

    Attributes
    ----------
    summary
        Of `deerlog.analysis.plan.sits.sits_summary`.
    rested
        Of `deerlog.analysis.plan.sits.rested`.
    aftermath
        How shooting-light visits near a stand changed in the days after it was hunted.
    """

    summary: pd.DataFrame
    rested: pd.DataFrame
    aftermath: Aftermath


def sits_result(study: Study, chances: Mapping[SitKey, float]) -> SitsResult:
    """Sum up the sits.

    Parameters
    ----------
    chances
        Chance given beforehand, by sit; a sit that is not there had none.
    """
    sits = study.sits
    stands = study.place.stands
    setting = study.sites.set_index("site")["setting"].to_dict()
    first_site = {row["stand"]: row["sites"][0] for row in stands.to_dict("records")}
    sits = sits.assign(
        phase=study.calendar.phase_of(sits["day"]),
        setting=[str(setting.get(first_site.get(s), "other")) for s in sits["stand"]],
    )
    given = [
        chances.get((day.date(), half, stand))
        for day, half, stand in zip(sits["day"], sits["half"], sits["stand"], strict=True)
    ]
    record = sit_record(sits, study.targets or None, given)
    grid = study.sighting_grid
    in_light = grid.seen_in_light.any(axis=3).sum(axis=1).astype(np.float64)
    return SitsResult(
        summary=sits_summary(record),
        rested=rested(sits, stands, study.last_day),
        aftermath=aftermath(
            sits,
            stands,
            days=grid.days,
            sites=grid.sites,
            running=grid.running,
            buck_days=in_light,
        ),
    )
