"""The stands a plan is made for, as typed, at the places of the sighting grid."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from deerlog.analysis.plan.planned_sits import StandPlace
from deerlog.analysis.visits import HALVES
from deerlog.errors import PropertyError
from deerlog.property.compass import point_degrees
from deerlog.property.matching import NameList
from deerlog.property.stands_left_out import LostStand
from deerlog.study import Study
from deerlog.study.not_considered import NotConsidered

HALVES_OF_USE: Mapping[str, tuple[str, ...]] = {
    "morning": HALVES[:1],
    "evening": HALVES[1:],
    "either": HALVES,
}
"""The halves of the day in which a stand is hunted, by ``use`` in stands.csv."""


def stand_places(
    study: Study, stand: str | None = None
) -> tuple[list[StandPlace], list[NotConsidered]]:
    """The stands to plan for, and those that had to be left aside.

    Where no stand can be used, every site with a camera stands for itself.

    Parameters
    ----------
    stand
        This stand alone; capitals and spaces do not matter.

    Raises
    ------
    PropertyError
        There is no such stand, or its row is left out.
    """
    table = study.place.stands
    left_out = study.place.stands_left_out
    if stand is not None:
        table = table[table["stand"] == _named(stand, table["stand"], left_out)]
        left_out = ()
    places: list[StandPlace] = []
    aside: list[NotConsidered] = []
    place_of = {site: n for n, site in enumerate(study.sighting_grid.sites)}
    setting = study.sites.set_index("site")["setting"].to_dict()
    for row in table.to_dict("records"):
        watched = [site for site in row["sites"] if site in place_of]
        if not watched:
            aside.append(
                NotConsidered(
                    what=f"{row['stand']}: no camera has run yet at {', '.join(row['sites'])}",
                    missing="cards/",
                )
            )
            continue
        places.append(
            StandPlace(
                name=row["stand"],
                sites=tuple(place_of[site] for site in watched),
                settings=tuple(setting[site] for site in watched),
                halves=HALVES_OF_USE[row["use"]],
                winds=row["winds"],
                winds_degrees=tuple(point_degrees(point) for point in row["winds"]),
                rest_days=int(row["rest_days"]),
            )
        )
    aside += [
        NotConsidered(
            what=f"{each.name}: the row of this stand is left out until it is mended",
            missing=f"stands.csv row {each.row}; `deerlog check`",
        )
        for each in left_out
    ]
    if table.empty:
        none = "no row can be used" if left_out else "none is given"
        aside.append(
            NotConsidered(
                what=f"Stands: {none}, so every site with a camera stands for itself",
                missing="stands.csv",
            )
        )
        places = [
            StandPlace(name="", sites=(place_of[site],), settings=(setting[site],))
            for site in study.running_sites
            if site in place_of
        ]
    return places, aside


def _named(stand: str, known: pd.Series, left_out: tuple[LostStand, ...]) -> str:
    """The stand as stands.csv writes it."""
    names = NameList(known)
    name = names.find(stand)
    if name is not None:
        return name
    lost = NameList(each.name for each in left_out).find(stand)
    if lost is not None:
        line = next(each.row for each in left_out if each.name == lost)
        raise PropertyError(
            f"the stand {lost} is left out until its row is mended.",
            where=f"stands.csv row {line}",
            how="`deerlog check` says what is wrong with it.",
        )
    near = names.near(stand)
    raise PropertyError(
        f"there is no stand {stand}.",
        where="stands.csv",
        how=f"Write {near.name}, if that is meant."
        if near
        else f"The stands are: {', '.join(known) or 'none yet'}.",
    )
