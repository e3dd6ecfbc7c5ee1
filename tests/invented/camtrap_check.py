"""Holds a Camtrap DP package against the standard's schemas, without the network."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

SHIPPED = Path(__file__).parents[1] / "reference" / "camtrap_dp"


def package_faults(folder: Path, schemas: Path = SHIPPED) -> list[str]:
    """What `frictionless` finds wrong with the tables, and `jsonschema` with the descriptor.

    Parameters
    ----------
    folder
        Of ``datapackage.json``.
    schemas
        Of ``deployments-table-schema.json`` and the others.
    """
    from frictionless import Package

    descriptor = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    faults = profile_faults(descriptor, schemas)
    local = json.loads(json.dumps(descriptor))
    del local["profile"]
    for resource in local["resources"]:
        name = Path(resource["schema"]).name
        resource["schema"] = json.loads((schemas / name).read_text(encoding="utf-8"))
    report = Package.from_descriptor(local, basepath=str(folder)).validate()
    rows = report.flatten(["type", "rowNumber", "fieldName", "note"])
    return faults + [" ".join(str(part) for part in row) for row in rows]


def profile_faults(descriptor: dict[str, Any], schemas: Path = SHIPPED) -> list[str]:
    """What is wrong with a descriptor. What the profile takes from elsewhere is passed over."""
    from jsonschema import Draft4Validator
    from referencing import Registry, Resource
    from referencing.jsonschema import DRAFT4

    profile = json.loads((schemas / "camtrap-dp-profile.json").read_text(encoding="utf-8"))
    anything: Resource[Any] = DRAFT4.create_resource({})
    elsewhere = _references(profile) - {"#/$defs/version"}
    registry: Registry[Any] = Registry().with_resources((uri, anything) for uri in elsewhere)
    validator = Draft4Validator(profile, registry=registry)
    return [f"{list(error.path)}: {error.message}" for error in validator.iter_errors(descriptor)]


def _references(schema: Any) -> set[str]:
    if isinstance(schema, dict):
        here = {schema["$ref"]} if isinstance(schema.get("$ref"), str) else set()
        return here.union(*(_references(part) for part in schema.values()))
    if isinstance(schema, list):
        return set().union(*(_references(part) for part in schema))
    return set()
