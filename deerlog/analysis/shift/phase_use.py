"""Which sites a buck used in each phase, counted against what ran there."""

from __future__ import annotations

import pandas as pd

from deerlog.timekeeping.seasons import PHASES, SeasonCalendar

COLUMNS = [
    "phase", "site", "visits", "shooting_light_visits", "camera_days", "per_100_camera_days",
]  # fmt: skip


def phase_use(
    visits: pd.DataFrame, effort: pd.DataFrame, calendar: SeasonCalendar, buck: str
) -> pd.DataFrame:
    """One row a phase and site where anything ran or he was seen, over all seasons since his first.

    Parameters
    ----------
    visits
        Of `deerlog.analysis.visits.buck_visits`, sure tags only.
    effort
        ``camera, site, day, camera_day``.

    Returns
    -------
    DataFrame
        `COLUMNS`, in order of phase and site: his visits, those in shooting light, camera-days
        (whole and part, of all cameras at the site), and visits in 100 camera-days (missing where
        nothing ran).
    """
    his = visits[visits["buck"] == buck]
    if len(his):
        # Before he was first seen he may not have been born: those days say nothing of his use.
        effort = effort[effort["day"] >= pd.Timestamp(calendar.bounds(int(his["season"].min()))[0])]
    keys = ["phase", "site"]
    ran = effort.assign(phase=calendar.phase_of(effort["day"]))
    camera_days = ran.groupby(keys, sort=False)["camera_day"].sum()
    came = his.groupby(keys, sort=False)["in_light"].agg(["size", "sum"])
    table = pd.DataFrame(
        {
            "visits": came["size"],
            "shooting_light_visits": came["sum"],
            "camera_days": camera_days[camera_days > 0],
        }
    ).fillna(0)
    table["per_100_camera_days"] = (100 * table["visits"] / table["camera_days"]).where(
        table["camera_days"] > 0
    )
    table = table.astype({"visits": int, "shooting_light_visits": int}).reset_index()
    order = table["phase"].map({phase: n for n, phase in enumerate(PHASES)})
    table = table.assign(order=order).sort_values(["order", "site"], kind="stable")
    return table[COLUMNS].reset_index(drop=True)
