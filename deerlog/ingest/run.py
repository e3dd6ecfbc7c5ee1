"""The recipe of ingest: cards to photo log to tag sheets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from datetime import date
from pathlib import Path

from deerlog.errors import Problem, PropertyError
from deerlog.ingest.card_problems import card_problems, table_problems, with_harm
from deerlog.ingest.cards.photo_csv import csv_problem, read_photo_csv
from deerlog.ingest.cards.photo_file import FileRecord, read_files
from deerlog.ingest.cards.walk import CARDS, shown_path, walk_cards
from deerlog.ingest.changes import Changes, Outcome, find_changes, hash_inputs
from deerlog.ingest.clocks.clock_problems import clock_findings
from deerlog.ingest.field_log import TaggedLog, tagged_log, with_tags
from deerlog.ingest.store.store import PhotoLog
from deerlog.ingest.summary import IngestSummary, IntakeCounts
from deerlog.ingest.tags.sightings import read_cells, sighting_table, touch_of
from deerlog.ingest.tags.tag_problems import tag_problems
from deerlog.ingest.tags.tag_sheets import append_rows, rows_wanted
from deerlog.ingest.tags.tag_workbooks import two_tags
from deerlog.ingest.to_tag import OnToTag, sheets_to_tag
from deerlog.property import Property
from deerlog.property.cell_values import counted
from deerlog.property.matching import BuckNames
from deerlog.property.table_rows import rows_in

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how much of it is done, and how much there is."""


def ingest_cards(
    place: Property,
    *,
    today: date,
    progress: Progress | None = None,
    processes: int | None = None,
    on_to_tag: OnToTag | None = None,
    anew: bool = False,
) -> IngestSummary:
    """Read what is new on the cards, and append a row to the tag sheets for each new visit.

    Nothing below ``cards/`` is ever written, and nothing in a tag sheet changed. It may be ended
    at any moment; the next run goes on from there. Where nothing is new, nothing is written.

    Parameters
    ----------
    today
        The day of the run: a photo that claims to be from after it is kept, and left out.
    progress
        Told how far it is.
    processes
        How many to read files with; default by the number of files.
    on_to_tag
        Called with the visits that wait to be tagged, unless nothing is new. It may write below
        ``tags/`` (what it writes there, if changed or deleted, is made again by the next run), and
        a problem it gives has the next run call it again.
    anew
        Call it even if nothing is new.

    Raises
    ------
    StoreError
        The photo log is in use by another run, damaged, from a newer version, or the disk is full.
    """
    tell = progress or (lambda what, done, total: None)
    counts: dict[str, IntakeCounts] = defaultdict(IntakeCounts)
    with PhotoLog(place.folder) as log:
        tell("Looking through the cards", 0, 1)
        walk = walk_cards(place.folder)
        changes = find_changes(
            place.folder, walk, log.known_files(), lists_anew=_other_order(log, place)
        )
        for camera, known in changes.known.items():
            counts[camera].known = known
        out_of_reach = [
            (shown_path(camera), shown_path(path), reason)
            for camera, files in walk.unreadable.items()
            for path, reason in files
        ]
        outcome = None if changes.any or out_of_reach or anew else _last_outcome(log, place)
        problems: list[Problem] = list(walk.problems)
        if outcome is None:
            _mark(log, changes, counts)
            out_of_reach += _read_new(log, changes, today, counts, tell, processes)
            _read_csvs(log, changes, today, place.settings.date_order, counts)
            problems += _out_of_reach(out_of_reach)
            outcome = _extend_sheets(log, place, changes, counts, on_to_tag)
    return IngestSummary(
        cameras=tuple(counts[camera].finished(camera) for camera in sorted(counts)),
        ignored=sum(walk.ignored.values()),
        photos=outcome.photos,
        visits=outcome.visits,
        problems=(*problems, *outcome.problems),
        to_tag=outcome.to_tag,
    )


def _last_outcome(log: PhotoLog, place: Property) -> Outcome | None:
    """What the last run came to, if its inputs were the same."""
    inputs, text = log.outcome()
    if not inputs or inputs != hash_inputs(place.folder):
        return None
    try:
        return Outcome.from_text(text)
    except (ValueError, TypeError, KeyError):
        return None  # damaged: it is worked out again


def _other_order(log: PhotoLog, place: Property) -> bool:
    """Whether the last run read the days of CSV photo logs in another order than is set now."""
    _, text = log.outcome()
    if not text:
        return True
    try:
        return Outcome.from_text(text).date_order != place.settings.date_order
    except (ValueError, TypeError, KeyError):
        return True  # damaged


def _mark(log: PhotoLog, changes: Changes, counts: dict[str, IntakeCounts]) -> None:
    log.mark(changes.gone, gone=True)
    log.mark(changes.back, gone=False)
    for camera, _ in changes.gone:
        counts[camera].gone += 1


def _extend_sheets(
    log: PhotoLog,
    place: Property,
    changes: Changes,
    counts: dict[str, IntakeCounts],
    on_to_tag: OnToTag | None,
) -> Outcome:
    """Append the new visits to the tag sheets, and keep what the run came to.

    Under the log's lock still: two runs would append the same rows twice.
    """
    stored = log.read()
    tagged = tagged_log(stored.files, place)
    _count_copies(tagged, changes, counts)
    wanted = rows_wanted(tagged.visits, tagged.photos, tagged.tags)
    appended, left_alone = append_rows(place.folder, tagged.sheets, wanted)
    for camera, number in appended.items():
        counts[camera].visits = number
    known_bucks = BuckNames(place.bucks)
    cells = read_cells(tagged.tags, known_bucks)
    touch = touch_of(tagged.tags, cells, known_bucks, place.settings.visit_gap_minutes)
    sightings = sighting_table(tagged.photos, tagged.visits, tagged.tags, cells, known_bucks)
    if on_to_tag is not None:
        now = with_tags(tagged.photos, place) if appended else tagged
        left_alone += on_to_tag(sheets_to_tag(now))
    outcome = Outcome(
        photos=int(tagged.photos["same_as"].isna().sum()),
        visits=len(tagged.visits),
        problems=(
            *table_problems(place, tagged.photos, touch),
            *stored.csv_problems,
            *card_problems(stored, tagged.photos, place, touch),
            *tag_problems(
                [*tagged.sheets, *tagged.workbooks],
                tagged.tags,
                cells,
                known_bucks,
                tagged.visits_of,
            ),
            *two_tags(tagged.tags, tagged.workbooks, cells, known_bucks),
            *with_harm(clock_findings(tagged.photos, sightings, place), touch),
            *left_alone,
        ),
        to_tag=_to_tag(tagged),
        date_order=place.settings.date_order,
    )
    # A sheet that was left alone is to be tried again, so this outcome is not the last word.
    inputs = "" if left_alone else hash_inputs(place.folder)
    if (inputs, outcome.to_text()) != log.outcome():
        log.put_outcome(inputs, outcome.to_text())
    return outcome


def _to_tag(tagged: TaggedLog) -> dict[str, int]:
    waiting = tagged.visits.loc[~tagged.visits["tagged"].astype(bool), "camera"]
    return {str(camera): int(n) for camera, n in waiting.value_counts().sort_index().items()}


def _read_new(
    log: PhotoLog,
    changes: Changes,
    today: date,
    counts: dict[str, IntakeCounts],
    tell: Progress,
    processes: int | None,
) -> list[tuple[str, str, str]]:
    """Read new files chunk by chunk into the log; gives those that were out of reach."""
    out_of_reach: list[tuple[str, str, str]] = []
    done, total = 0, len(changes.to_read)
    for chunk in read_files(changes.to_read, processes):
        overwritten = log.put_files(chunk.records, read_on=today.isoformat())
        for camera, number in overwritten.items():
            counts[camera].overwritten += number
        for record in chunk.records:
            _count(counts[record.camera], record)
        out_of_reach += chunk.out_of_reach
        done += len(chunk.records) + len(chunk.out_of_reach)
        tell("Reading photos", done, total)
    for camera, _, reason in out_of_reach:
        counts[camera].unreadable[reason] += 1
    return out_of_reach


def _count(mine: IntakeCounts, record: FileRecord) -> None:
    if record.kind == "photo":
        mine.photos += 1
    elif record.kind == "video":
        mine.videos += 1
    else:
        mine.unreadable[record.reason] += 1


def _read_csvs(
    log: PhotoLog,
    changes: Changes,
    today: date,
    date_order: str,
    counts: dict[str, IntakeCounts],
) -> None:
    """Read new and changed CSV photo logs into the log, with what is wrong in them."""
    for place, camera, path, size, mtime_ns in changes.csv_to_read:
        csv = FileRecord(camera, path, size, mtime_ns, "csv")
        rows: list[FileRecord] = []
        try:
            rows, found = read_photo_csv(Path(place), camera, path, date_order=date_order)
        except PropertyError as error:
            counts[camera].unreadable["a CSV that is not a photo log"] += 1
            found = [csv_problem(error, camera, path, rows_in(Path(place)))]
        log.put_csv(csv, rows, found, read_on=today.isoformat())
        counts[camera].listed += len(rows)


def _count_copies(tagged: TaggedLog, changes: Changes, counts: dict[str, IntakeCounts]) -> None:
    """Count the copies among what was read in this run."""
    read = {(task[1], task[2]) for task in (*changes.to_read, *changes.csv_to_read)}
    if not read:
        return
    copies = tagged.photos[tagged.photos["same_as"].notna()]
    for camera, path, listed_in in zip(
        copies["folder"], copies["path"], copies["listed_in"], strict=True
    ):
        if (camera, listed_in or path) in read:
            counts[camera].copies += 1


def _out_of_reach(files: list[tuple[str, str, str]]) -> list[Problem]:
    """Files the system would not let be read, by camera and reason."""
    groups: dict[tuple[str, str], list[str]] = defaultdict(list)
    for camera, path, reason in files:
        groups[camera, reason].append(path)
    return [
        Problem(
            kind="file-out-of-reach",
            file=f"{CARDS}/{camera}",
            value=paths[0],
            why=f"{counted(len(paths), 'file', 'files')} {reason} (first {paths[0]}).",
            how="Check that the card or disk is still there and that you may read it; then run "
            "ingest again: it tries them anew.",
            harm=float(len(paths)),
        )
        for (camera, reason), paths in sorted(groups.items())
    ]
