"""What one run of ingest did, camera by camera."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from deerlog.errors import Problem


@dataclass(kw_only=True)
class CameraIntake:
    """What came in from one camera folder (``camera``), counted while a run goes on.

    ``new_photos``, ``new_videos``, ``new_listed``: photos, videos and rows of CSV photo logs met
    for the first time, or changed; ``copies``: those among them that are copies of a picture
    already counted. ``known``: files that were known already and not opened again. ``gone``: files
    that were there at the last run and are not any more; their photos stay in the log.
    ``unreadable``, ``first_unreadable``: files read in this run that give no photo: how many for
    each reason, and the first of them. ``overwritten``: photos whose file holds another picture
    now: a card was copied over an earlier one; they stay in the log. ``new_visits``: rows appended
    to its tag sheet.
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

    ``cameras``: in order of name, every camera folder, and every camera whose tag sheet grew.
    ``ignored``: files and folders that systems leave on cards, passed over. ``photos``, ``visits``:
    how many the log holds now, copies not counted. ``problems``: what a person should mend or know:
    of the property's tables, the cards, the clocks and the tag sheets. ``to_tag``: see `Outcome`.
    ``new``, ``gone``: of ``cards``, ``cameras``, ``sheets`` and ``bucks``, names that were not
    there at the last run, and names that were and are no more; nothing of a first run.
    """

    cameras: tuple[CameraIntake, ...]
    ignored: int
    photos: int
    visits: int
    problems: tuple[Problem, ...]
    to_tag: Mapping[str, int] = field(default_factory=dict)
    new: Mapping[str, Sequence[str]] = field(default_factory=dict)
    gone: Mapping[str, Sequence[str]] = field(default_factory=dict)
