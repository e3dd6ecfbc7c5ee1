"""Observations of Camtrap DP: what a person saw in each visit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from deerlog.report.exports.camtrap_columns import OBSERVATIONS
from deerlog.report.exports.identifiers import identifier
from deerlog.report.exports.iso_times import iso_times
from deerlog.report.exports.seen_words import WHITETAIL, seen_words

_NOBODY = "Looked at: no buck known by name."


def observation_table(visits: pd.DataFrame, sightings: pd.DataFrame) -> pd.DataFrame:
    """One row a buck and visit, one for whatever else was seen in it, or one if nothing is said.

    Parameters
    ----------
    visits
        Of the field log, with ``deploymentID`` and ``eventID``.
    sightings
        Of the field log: bucks by name. An unsure tag is marked so.

    Returns
    -------
    DataFrame
        In the order of time.
    """
    named: dict[int, list[dict[str, Any]]] = {}
    for row in _records(sightings[["visit", "buck", "unsure"]]):
        named.setdefault(int(row["visit"]), []).append(row)
    about = visits.assign(eventStart=iso_times(visits["first"]), eventEnd=iso_times(visits["last"]))
    about = about.sort_values(["first", "visit"], kind="stable")
    columns = ["visit", "deploymentID", "eventID", "eventStart", "eventEnd", "tagged", "others"]
    rows = []
    for visit in _records(about[columns]):
        shared = {name: visit[name] for name in ("deploymentID", "eventID")}
        shared |= {name: visit[name] for name in ("eventStart", "eventEnd")}
        shared["observationLevel"] = "event"
        for key, seen in _seen(visit, named.get(int(visit["visit"]), [])):
            shared["observationID"] = identifier("o", visit["eventID"], key)
            rows.append(dict.fromkeys(OBSERVATIONS, "") | shared | seen)
    return pd.DataFrame(rows, columns=list(OBSERVATIONS))


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(name): value for name, value in row.items()} for row in table.to_dict("records")]


def _seen(
    visit: dict[str, Any], bucks: list[dict[str, Any]]
) -> Iterator[tuple[str, dict[str, Any]]]:
    """What was seen in a visit: a key of its own for each, and the columns it fills."""
    by_person = {"classificationMethod": "human"}
    for buck in bucks:
        yield (
            f"buck {buck['buck']}",
            by_person
            | {
                "observationType": "animal",
                "scientificName": WHITETAIL,
                "count": 1,
                "sex": "male",
                "individualID": buck["buck"],
                "observationTags": "unsure" if buck["unsure"] else "",
                "observationComments": "The person was not sure that it is this buck."
                if buck["unsure"]
                else "",
            },
        )
    if not visit["tagged"]:
        yield "unseen", {"observationType": "unclassified"}
        return
    others = [
        (word, seen)
        for word, seen in seen_words(visit["others"])
        if not (bucks and seen.type == "blank")
    ]
    for word, seen in others:
        yield (
            f"other {word}",
            by_person
            | {
                "observationType": seen.type,
                "scientificName": seen.species,
                "sex": seen.sex,
                "lifeStage": seen.life_stage,
                "observationComments": word,
            },
        )
    if not bucks and not others:
        yield (
            "nobody",
            by_person | {"observationType": "unclassified", "observationComments": _NOBODY},
        )
