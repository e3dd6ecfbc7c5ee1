"""What the page shows of a buck's chances on the days ahead."""

from __future__ import annotations

from dataclasses import replace

from deerlog.analysis.visits import HALVES
from deerlog.report.buck_data import ChanceDay, ChanceStrip
from deerlog.study import Study


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
