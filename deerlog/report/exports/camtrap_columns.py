"""The columns of Camtrap DP 1.0.2, in the standard's order (tdwg/camtrap-dp at tag 1.0.2)."""

from __future__ import annotations

VERSION = "1.0.2"
SCHEMAS = f"https://raw.githubusercontent.com/tdwg/camtrap-dp/{VERSION}"
"""Where the standard's own schemas lie: the descriptor has to name them; nothing is fetched."""

DEPLOYMENTS = (
    "deploymentID", "locationID", "locationName", "latitude", "longitude",
    "coordinateUncertainty", "deploymentStart", "deploymentEnd", "setupBy", "cameraID",
    "cameraModel", "cameraDelay", "cameraHeight", "cameraDepth", "cameraTilt", "cameraHeading",
    "detectionDistance", "timestampIssues", "baitUse", "featureType", "habitat",
    "deploymentGroups", "deploymentTags", "deploymentComments",
)  # fmt: skip
MEDIA = (
    "mediaID", "deploymentID", "captureMethod", "timestamp", "filePath", "filePublic", "fileName",
    "fileMediatype", "exifData", "favorite", "mediaComments",
)  # fmt: skip
OBSERVATIONS = (
    "observationID", "deploymentID", "mediaID", "eventID", "eventStart", "eventEnd",
    "observationLevel", "observationType", "cameraSetupType", "scientificName", "count",
    "lifeStage", "sex", "behavior", "individualID", "individualPositionRadius",
    "individualPositionAngle", "individualSpeed", "bboxX", "bboxY", "bboxWidth", "bboxHeight",
    "classificationMethod", "classifiedBy", "classificationTimestamp",
    "classificationProbability", "observationTags", "observationComments",
)  # fmt: skip
TABLES = {"deployments": DEPLOYMENTS, "media": MEDIA, "observations": OBSERVATIONS}
"""Resource names with the columns of each."""
