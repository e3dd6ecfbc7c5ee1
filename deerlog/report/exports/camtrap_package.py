"""A Camtrap DP data package of a study: three tables and their descriptor."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import pandas as pd

from deerlog.errors import PropertyError
from deerlog.report.exports.camtrap_tables import (
    SCHEMAS,
    TABLES,
    WHITETAIL,
    Rounding,
    deployment_ids,
    deployment_of_photos,
    deployment_table,
    identifier,
    media_ids,
    media_table,
    observation_table,
)
from deerlog.report.tables import safe_cell
from deerlog.study import PropertyStudy


@dataclass(frozen=True, kw_only=True)
class CamtrapPackage:
    """A package as text by file name, with the rows of each table.

    ``n_outside`` photos are left out because their camera is not taken to have run then, or stood
    nowhere; the clocks of ``n_timestamp_issues`` deployments look wrong.
    """

    texts: dict[str, str]
    n_deployments: int
    n_media: int
    n_observations: int
    n_outside: int
    n_timestamp_issues: int


def camtrap_package(study: PropertyStudy, rounding: Rounding) -> CamtrapPackage:
    """Everything recorded, as a Camtrap DP 1.0.2 package; the same study gives the same bytes.

    Parameters
    ----------
    rounding
        Of the coordinates.

    Raises
    ------
    PropertyError
        Nothing was recorded while a camera is known to have run.
    """
    log = study.field_log
    counts = log.photos[log.photos["same_as"].isna()]
    counts = counts.assign(deployment=deployment_of_photos(counts, log.stretches))
    photos = counts[counts["deployment"] >= 0]
    if photos.empty:
        raise PropertyError(
            "no photo was taken while a camera is known to have run, so there is nothing to "
            "export.",
            where=str(study.place.folder),
            how="Run `deerlog ingest` and mend what `deerlog check` lists.",
        )
    ids = deployment_ids(study)
    photos = photos.assign(
        deploymentID=[ids[row] for row in photos["deployment"]], mediaID=media_ids(photos)
    )
    first = photos.set_index("photo_id")[["deploymentID", "mediaID"]]
    visits = log.visits.join(first, on="photo_id", how="inner")
    visits["eventID"] = [identifier("e", media) for media in visits["mediaID"]]
    tables = {
        "deployments": deployment_table(study, photos, rounding),
        "media": media_table(photos),
        "observations": observation_table(visits, log.sightings),
    }
    texts = {
        f"{name}.csv": table.map(_cell).to_csv(index=False, lineterminator="\n")
        for name, table in tables.items()
    }
    descriptor = _descriptor(study, tables["deployments"], tables["observations"], rounding)
    texts["datapackage.json"] = json.dumps(descriptor, indent=2, ensure_ascii=False) + "\n"
    issues = tables["deployments"]["timestampIssues"] == "true"
    return CamtrapPackage(
        texts=texts,
        n_deployments=len(tables["deployments"]),
        n_media=len(tables["media"]),
        n_observations=len(tables["observations"]),
        n_outside=len(counts) - len(photos),
        n_timestamp_issues=int(issues.sum()),
    )


def _cell(value: object) -> object:
    return safe_cell(value) if isinstance(value, str) else value


def _descriptor(
    study: PropertyStudy, deployments: pd.DataFrame, observations: pd.DataFrame, rounding: Rounding
) -> dict[str, Any]:
    settings = study.place.settings
    descriptor: dict[str, Any] = {
        "profile": f"{SCHEMAS}/camtrap-dp-profile.json",
        "name": identifier(
            "camera-traps", settings.name, str(study.place.placements["start"].min())
        ),
        "title": settings.name,
        # Not the clock: what is in the package is known by the end of this day, and the same
        # records give the same bytes.
        "created": _end_of_day(study),
        "contributors": [{"title": settings.name, "role": "contributor"}],
        "project": {
            "title": settings.name,
            "samplingDesign": "targeted",
            "captureMethod": ["activityDetection"],
            "individualAnimals": True,
            "observationLevel": ["event"],
        },
        "spatial": _spatial(deployments),
        "temporal": {
            "start": min(deployments["deploymentStart"], key=pd.Timestamp)[:10],
            "end": max(deployments["deploymentEnd"], key=pd.Timestamp)[:10],
        },
        "taxonomic": [
            _taxon(name) for name in sorted({WHITETAIL, *observations["scientificName"]}) if name
        ],
        "resources": [
            {
                "name": name,
                "path": f"{name}.csv",
                "profile": "tabular-data-resource",
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "schema": f"{SCHEMAS}/{name}-table-schema.json",
            }
            for name in TABLES
        ],
    }
    if rounding.precision_degrees is not None:
        descriptor["coordinatePrecision"] = rounding.precision_degrees
    return descriptor


def _taxon(name: str) -> dict[str, Any]:
    taxon: dict[str, Any] = {"scientificName": name, "taxonRank": "species"}
    if name == WHITETAIL:
        taxon["vernacularNames"] = {"eng": "white-tailed deer"}
    return taxon


def _spatial(deployments: pd.DataFrame) -> dict[str, Any]:
    """The box around all deployments, longitude first."""
    west, east = float(deployments["longitude"].min()), float(deployments["longitude"].max())
    south, north = float(deployments["latitude"].min()), float(deployments["latitude"].max())
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    return {"type": "Polygon", "bbox": [west, south, east, north], "coordinates": [ring]}


def _end_of_day(study: PropertyStudy) -> str:
    zone = study.place.settings.timezone
    end = (study.last_day + pd.Timedelta(days=1)).tz_localize(zone).tz_convert("UTC")
    return f"{end:%Y-%m-%dT%H:%M:%SZ}"
