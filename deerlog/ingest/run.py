"""The recipe of ingest: cards to photo log to tag sheets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.ingest.cards.missing_looks import missing_looks, read_looks
from deerlog.ingest.cards.photo_csv import csv_problem, read_photo_csv
from deerlog.ingest.cards.photo_file import FileRecord, read_files
from deerlog.ingest.cards.walk import CARDS, shown_path, walk_cards
from deerlog.ingest.changes import Changes, Outcome, find_changes, hash_inputs
from deerlog.ingest.faces import known_faces
from deerlog.ingest.field_log import cameras_of, field_log_of, tagged_log, with_tags
from deerlog.ingest.store.store import PhotoLog
from deerlog.ingest.summary import CameraIntake, IngestSummary
from deerlog.ingest.tags.tag_sheets import append_rows, rows_wanted
from deerlog.ingest.tags.tag_sources import tags_held, tags_remembered
from deerlog.ingest.tags.tags import TAGS, TagRows
from deerlog.ingest.to_tag import OnToTag, sheets_to_tag
from deerlog.property import Property
from deerlog.property.table_rows import rows_in
from deerlog.property.wording import count

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
    StoreError where the photo log is in use by another run, damaged, from a newer version, or the
    disk is full.

    Parameters
    ----------
    today
        The day of the run: a photo that claims to be from after it is kept, and left out.
    processes
        How many to read files with; default by the number of files.
    on_to_tag
        Called with the visits that wait to be tagged, unless nothing is new. It may write below
        ``tags/`` (what it writes there, if changed or deleted, is made again by the next run), and
        a problem it gives has the next run call it again.
    anew
        Call it even if nothing is new.
    """
    tell = progress or (lambda what, done, total: None)
    with PhotoLog(place.folder) as log:
        tell("Looking through the cards", 0, 1)
        walk = walk_cards(place.folder)
        inputs, text = log.outcome()
        last = Outcome.from_text(text)
        # The last run may have read the days of CSV photo logs in another order than is set now.
        other_order = last is None or last.date_order != place.settings.date_order
        changes = find_changes(place.folder, walk, log.known_files(), lists_anew=other_order)
        run = _Run(log, place, today, changes)
        for camera, known in changes.known.items():
            run.of(camera).known = known
        out_of_reach = [
            (shown_path(camera), shown_path(path), reason)
            for camera, files in walk.unreadable.items()
            for path, reason in files
        ]
        problems = list(walk.problems)
        unchanged = not (changes.any or out_of_reach or anew)
        if last and unchanged and inputs and inputs == hash_inputs(place.folder):
            outcome = last
        else:
            run.mark()
            out_of_reach += run.read_new(tell, processes)
            run.read_csvs()
            problems += _out_of_reach(out_of_reach)
            outcome = run.extend_sheets(on_to_tag, [f"{c}/{path}" for c, path, _ in out_of_reach])
    cameras = tuple(run.counts[camera] for camera in sorted(run.counts))
    for intake in cameras:
        intake.unreadable = dict(sorted(intake.unreadable.items()))
    return IngestSummary(
        cameras=cameras,
        ignored=sum(walk.ignored.values()),
        photos=outcome.photos,
        visits=outcome.visits,
        problems=(*problems, *outcome.problems),
        to_tag=outcome.to_tag,
        new=_first_not_second(outcome, last),
        gone=_first_not_second(last, outcome),
    )


def _first_not_second(one: Outcome | None, other: Outcome | None) -> dict[str, list[str]]:
    """Names that one run saw and the other did not; nothing where there was only one run."""
    if one is None or other is None or not (one.seen and other.seen):
        return {}
    names = {what: sorted(set(one.seen[what]) - set(other.seen[what])) for what in one.seen}
    return {what: those for what, those in names.items() if those}


class _Run:
    """One run of ingest, with the counts of what it brings in."""

    def __init__(self, log: PhotoLog, place: Property, today: date, changes: Changes) -> None:
        self.log = log
        self.place = place
        self.read_on = today.isoformat()
        self.changes = changes
        self.counts: dict[str, CameraIntake] = {}

    def of(self, camera: str) -> CameraIntake:
        """The counts of one camera."""
        return self.counts.setdefault(camera, CameraIntake(camera=camera))

    def _count_unreadable(self, camera: str, path: str, reason: str) -> None:
        mine = self.of(camera)
        mine.unreadable[reason] = mine.unreadable.get(reason, 0) + 1
        mine.first_unreadable.setdefault(reason, path)

    def mark(self) -> None:
        """Mark what is no longer on the cards, and what is there again."""
        self.log.mark(self.changes.gone, gone=True)
        self.log.mark(self.changes.back, gone=False)
        for camera, _ in self.changes.gone:
            self.of(camera).gone += 1

    def read_new(self, tell: Progress, processes: int | None) -> list[tuple[str, str, str]]:
        """Read new files chunk by chunk into the log; gives those that were out of reach."""
        out_of_reach: list[tuple[str, str, str]] = []
        done, total = 0, len(self.changes.to_read)
        with closing(read_files(self.changes.to_read, processes)) as chunks:
            for chunk in chunks:
                overwritten = self.log.put_files(chunk.records, read_on=self.read_on)
                for camera, number in overwritten.items():
                    self.of(camera).overwritten += number
                for record in chunk.records:
                    if record.kind == "photo":
                        self.of(record.camera).new_photos += 1
                    elif record.kind == "video":
                        self.of(record.camera).new_videos += 1
                    else:
                        self._count_unreadable(record.camera, record.path, record.reason)
                out_of_reach += chunk.out_of_reach
                done += len(chunk.records) + len(chunk.out_of_reach)
                tell("Reading photos", done, total)
        for file in out_of_reach:
            self._count_unreadable(*file)
        return out_of_reach

    def read_csvs(self) -> None:
        """Read new and changed CSV photo logs into the log, with what is wrong in them."""
        order = self.place.settings.date_order
        for place, camera, path, size, mtime_ns in self.changes.csv_to_read:
            rows: list[FileRecord] = []
            try:
                rows, found = read_photo_csv(Path(place), camera, path, date_order=order)
            except PropertyError as error:
                self._count_unreadable(camera, path, "a CSV that is not a photo log")
                found = [csv_problem(error, camera, path, rows_in(Path(place)))]
            csv = FileRecord(camera, path, size, mtime_ns, "csv")
            self.log.put_csv(csv, rows, found, read_on=self.read_on)
            self.of(camera).new_listed += len(rows)

    def extend_sheets(self, on_to_tag: OnToTag | None, out_of_reach: list[str]) -> Outcome:
        """Append the new visits to the tag sheets, and keep what the run came to.

        Under the log's lock still: two runs would append the same rows twice. Where a file was out
        of reach for the first time, rows of its site wait for the next run: it may be the first
        photo of a visit, and a row is never changed again.
        """
        place = self.place
        stored = self.log.read()
        without_look = missing_looks(stored.files)
        looks = read_looks(place.folder, without_look)
        if len(looks):
            self.log.put_looks(without_look.loc[looks.index].assign(look=looks))
            stored.files.loc[looks.index, "look"] = looks
        last = Outcome.from_text(stored.outcome)
        tagged = tagged_log(stored.files, place)
        # Copies among what was read in this run.
        read = {task[1:3] for task in (*self.changes.to_read, *self.changes.csv_to_read)}
        copies = tagged.photos[tagged.photos["same_as"].notna()] if read else tagged.photos[:0]
        columns = (copies[name].tolist() for name in ("folder", "path", "listed_in"))
        for camera, path, listed_in in zip(*columns, strict=True):
            if (camera, listed_in or path) in read:
                self.of(camera).copies += 1
        first_time = set(out_of_reach) - set(last.out_of_reach if last else ())
        called = cameras_of([file.partition("/")[0] for file in first_time], place).values()
        sites = place.placements.loc[place.placements["camera"].isin(called), "site"]
        visits = tagged.visits[~tagged.visits["site"].isin(sites)]
        wanted = rows_wanted(visits, tagged.photos, tagged.tags)
        appended, left_alone = append_rows(place.folder, tagged.tags.sheets, wanted)
        for camera, number in appended.items():
            self.of(camera).new_visits = number
        log = field_log_of(stored, tagged, place)
        if on_to_tag is not None:
            now = with_tags(tagged.photos, place) if appended else tagged
            left_alone += on_to_tag(sheets_to_tag(now, faces=known_faces(now, place)))
        waiting = tagged.visits.loc[~tagged.visits["tagged"].astype(bool), "camera"].value_counts()
        outcome = Outcome(
            photos=int(tagged.photos["same_as"].isna().sum()),
            visits=len(tagged.visits),
            problems=(*log.problems, *log.clock_problems(place), *left_alone),
            to_tag={str(camera): int(n) for camera, n in waiting.sort_index().items()},
            date_order=place.settings.date_order,
            tags=tags_remembered(tags_held(tagged.tags), last.tags if last else {}),
            out_of_reach=sorted(out_of_reach),
            seen=_seen(log.photos, tagged.tags, appended),
        )
        # A sheet that was left alone is to be tried again, so this outcome is not the last word.
        inputs = "" if left_alone else hash_inputs(place.folder)
        if (inputs, outcome.to_text()) != self.log.outcome():
            self.log.put_outcome(inputs, outcome.to_text())
        return outcome


def _seen(photos: pd.DataFrame, tags: TagRows, appended: Iterable[str]) -> dict[str, list[str]]:
    """Names of the cards (folders of a camera's) and cameras on the disk, of sheets and bucks."""
    there = photos[(photos["listed_in"] == "") & ~photos["gone"]]
    made = {f"{TAGS}/{camera}.csv" for camera in {*appended} - {s.camera for s in tags.sheets}}
    below = zip(there["folder"].tolist(), there["path"].tolist(), strict=True)
    return {
        "cards": sorted({"/".join([folder, *path.split("/")[:-1][:1]]) for folder, path in below}),
        "cameras": sorted(there["camera"].unique()),
        "sheets": sorted({sheet.file for sheet in tags.sheets} | made),
        "bucks": list(tags.bucks(tags.table)),
    }


def _out_of_reach(files: Iterable[tuple[str, str, str]]) -> Iterator[Problem]:
    """Files the system would not let be read, by camera and reason."""
    groups: dict[tuple[str, str], list[str]] = defaultdict(list)
    for camera, path, reason in files:
        groups[camera, reason].append(path)
    for (camera, reason), paths in sorted(groups.items()):
        yield Problem(
            kind="file-out-of-reach",
            file=f"{CARDS}/{camera}",
            value=paths[0],
            why=f"{count(len(paths), 'file')} {reason} (first {paths[0]}).",
            how="Check that the card or disk is still there and that you may read it; then run "
            "ingest again: it tries them anew, and adds the rows of new visits there.",
            harm=float(len(paths)),
        )
