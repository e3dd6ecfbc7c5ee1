"""What one run of ingest did, camera by camera."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from deerlog.errors import Problem


@dataclass(kw_only=True)
class CameraIntake:
    """What came in from one camera folder, counted while a run goes on.

    Attributes
    ----------
    camera
        The folder's name.
    new_photos, new_videos, new_listed
        Photos, videos and rows of CSV photo logs met for the first time, or changed.
    copies
        Those among them that are copies of a picture already counted.
    known
        Files that were known already and not opened again.
    gone
        Files that were there at the last run and are not any more; their photos stay in the log.
    unreadable, first_unreadable
        Files read in this run that give no photo: how many for each reason, and the first of them.
    overwritten
        Photos whose file holds another picture now: a card was copied over an earlier one. They
        stay in the log.
    new_visits
        Rows appended to its tag sheet.
    """

    camera: str
    new_photos: int = 0
    new_videos: int = 0
    new_listed: int = 0
    copies: int = 0
    known: int = 0
    gone: int = 0
    unreadable: dict[str, int] = field(default_factory=dict)
    first_unreadable: dict[str, str] = field(default_factory=dict)
    overwritten: int = 0
    new_visits: int = 0


@dataclass(frozen=True, kw_only=True)
class IngestSummary:
    """What came in, and what looks wrong.

    Attributes
    ----------
    cameras
        In order of name; every camera folder, and every camera whose tag sheet grew.
    ignored
        Files and folders that systems leave on cards, passed over.
    photos, visits
        How many the log holds now, copies not counted.
    problems
        What a person should mend or know: of the property's tables, the cards, the clocks and the
        tag sheets.
    to_tag
        Visits nobody has looked at yet, by camera; cameras without one left out.
    new, gone
        Of ``cards``, ``cameras``, ``sheets`` and ``bucks``: names that were not there at the last
        run, and names that were and are no more. Nothing of a first run.
    """

    cameras: tuple[CameraIntake, ...]
    ignored: int
    photos: int
    visits: int
    problems: tuple[Problem, ...]
    to_tag: Mapping[str, int] = field(default_factory=dict)
    new: Mapping[str, Sequence[str]] = field(default_factory=dict)
    gone: Mapping[str, Sequence[str]] = field(default_factory=dict)
