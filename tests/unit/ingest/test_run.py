"""Ingest from end to end on invented cards."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import avi, mp4, photo, picture

from deerlog.errors import StoreError
from deerlog.ingest.cards import photo_file
from deerlog.ingest.store import store_file
from deerlog.ingest.store.store import PhotoLog
from deerlog.ingest.store.store_file import FILE
from deerlog.ingest.summary import CameraIntake, IngestSummary

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
MINUTE = timedelta(minutes=1)


def of(summary: IngestSummary, camera: str) -> CameraIntake:
    return next(intake for intake in summary.cameras if intake.camera == camera)


def kinds(summary: IngestSummary) -> list[str]:
    return [problem.kind for problem in summary.problems]


def dump(place: Place) -> str:
    db = sqlite3.connect(place.folder / FILE)
    try:
        return "\n".join(db.iterdump())
    finally:
        db.close()


def test_an_empty_property(place: Place) -> None:
    summary = place.ingest()
    assert summary.cameras == ()
    assert (summary.photos, summary.visits, summary.problems) == (0, 0, ())
    log = place.log()
    for table in (log.photos, log.visits, log.sightings, log.effort, log.silent):
        assert len(table) == 0
    assert str(log.photos["local"].dtype) == "datetime64[us, America/Chicago]"
    assert str(log.sightings["local"].dtype) == "datetime64[us, America/Chicago]"


def test_before_the_first_ingest_the_log_is_empty_and_says_so(place: Place) -> None:
    assert [p.kind for p in place.log().problems] == ["no-photo-log"]
    assert not (place.folder / FILE).exists()


def test_a_card_with_everything_on_it(place: Place, at: At) -> None:
    first = photo(at(10, 5, 6))
    place.card("Seep/DCIM/100/IMG_0001.JPG", first)
    place.card("Seep/DCIM/100/IMG_0002.JPG", photo(at(10, 5, 6, 1), seed=1))
    place.card("Seep/again/IMG_0001.JPG", first, age_days=3)
    place.card("Gate/renamed.jpeg", first)
    place.card("Seep/DCIM/101/IMG_0001.JPG", photo(at(10, 6, 6), seed=2))
    place.card("Seep/clip.AVI", avi("Sun Oct  6 06:00:30 2024\n"))
    place.card("Seep/clip.MP4", mp4(at(10, 6, 6, 1)))
    place.card("Seep/zero.jpg", b"")
    place.card("Seep/half.jpg", photo(at(10, 7))[:60])
    place.card("Seep/cut.jpg", photo(at(10, 7), seed=3)[:-30])
    place.card("Seep/plain.jpg", picture(5, grey=True))
    place.card("Seep/Thumbs.db", b"litter")
    place.card("Seep/notes.txt", b"battery changed")
    summary = place.ingest()
    seep = of(summary, "Seep")
    assert (seep.new_photos, seep.new_videos, seep.copies, seep.new_visits) == (5, 2, 2, 3)
    # Folders in order of name: Gate comes first, so its copy is the one that counts.
    assert of(summary, "Gate").new_photos == 1
    assert seep.unreadable == {
        "no EXIF block": 1,
        "not an image": 1,
        "truncated": 1,
        "zero bytes": 1,
    }
    assert summary.ignored == 1
    assert summary.photos == 6
    log = place.log()
    assert len(log.photos) == 8
    assert log.photos["same_as"].notna().sum() == 2
    assert sorted(log.visits["photos"]) == [1, 1, 1, 3]
    assert sorted(set(kinds(summary))) == [
        "same-picture-two-cameras",
        "time-of-container",
        "truncated-photos",
        "unreadable-files",
    ]


def test_ingest_twice_writes_nothing(place: Place, at: At) -> None:
    place.photos("Seep/DCIM", at(10, 5), 5, every=40 * MINUTE)
    place.card("Seep/old/log.csv", b"file,taken\na.jpg,2024-10-01 10:00\nb.jpg,nonsense\n")
    place.card("Seep/zero.jpg", b"")
    first = place.ingest()
    before = place.everything()
    times = {name: (place.folder / name).stat().st_mtime_ns for name in before}
    second = place.ingest()
    place.log()
    assert place.everything() == before
    assert {name: (place.folder / name).stat().st_mtime_ns for name in before} == times
    assert second.problems == first.problems
    assert (second.photos, second.visits) == (first.photos, first.visits) == (6, 6)
    assert of(second, "Seep").known == 7
    assert of(second, "Seep").new_photos == 0


def test_known_files_are_not_opened_again(
    place: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    place.photos("Seep", at(10, 5), 3, every=MINUTE)
    place.ingest()

    def refuse(*args: object) -> None:
        raise AssertionError("opened again")

    monkeypatch.setattr(photo_file, "read_segments", refuse)
    place.ingest()
    place.write("clock.csv", "camera,shown,actual\nSeep,2024-10-05 12:00,2024-10-05 13:00\n")
    place.ingest()
    assert str(place.log().photos["local"][0]) == "2024-10-05 13:00:00-05:00"


def test_a_log_that_was_deleted_is_built_anew_the_same(place: Place, at: At) -> None:
    place.photos("Seep/DCIM", at(10, 5), 5, every=40 * MINUTE)
    place.card("Gate/log.csv", b"file,taken\na.jpg,2024-10-01 10:00\n")
    place.ingest()
    text, sheets = dump(place), place.sheet("Seep") + place.sheet("Gate")
    (place.folder / FILE).unlink()
    place.ingest()
    assert dump(place) == text
    assert place.sheet("Seep") + place.sheet("Gate") == sheets


def test_processes_give_the_same_log(place: Place, at: At, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("deerlog.ingest.cards.photo_file.CHUNK", 10)
    place.photos("Seep/DCIM", at(10, 5), 35, every=11 * MINUTE)
    place.ingest(processes=1)
    text = dump(place)
    (place.folder / FILE).unlink()
    place.ingest(processes=2)
    assert dump(place) == text


def test_where_processes_cannot_start_this_one_reads(
    place: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*args: object, **more: object) -> None:
        raise PermissionError(13, "no processes here")

    monkeypatch.setattr("deerlog.ingest.cards.photo_file.ProcessPoolExecutor", refuse)
    place.photos("Seep/DCIM", at(10, 5), 3, every=MINUTE)
    assert of(place.ingest(processes=2), "Seep").new_photos == 3


def test_a_photo_whose_file_is_gone_stays_and_comes_back(place: Place, at: At) -> None:
    content = photo(at(10, 5))
    path = place.card("Seep/a.jpg", content)
    place.ingest()
    path.unlink()
    summary = place.ingest()
    assert of(summary, "Seep").gone == 1
    assert summary.photos == 1
    assert place.log().photos["gone"].tolist() == [True]
    place.card("Seep/a.jpg", content)
    assert of(place.ingest(), "Seep").known == 1
    assert place.log().photos["gone"].tolist() == [False]


def test_a_card_overwritten_by_the_next_loses_no_photo(place: Place, at: At) -> None:
    place.card("Seep/IMG_0001.JPG", photo(at(10, 5)))
    place.ingest()
    place.tag("Seep", "IMG_0001.JPG", "Old Plow")
    place.card("Seep/IMG_0001.JPG", photo(at(11, 5), seed=1))
    place.ingest()
    log = place.log()
    assert log.photos["gone"].tolist() == [False, True]
    assert log.visits["photos"].tolist() == [1, 1]
    # The tag stays with the picture it was given for, by the time in its row.
    assert [str(t) for t in log.sightings["local"]] == ["2024-10-05 12:00:00-05:00"]
    assert place.sheet("Seep").count("IMG_0001.JPG") == 2


def test_a_changed_csv_updates_its_photos(place: Place) -> None:
    place.card("Seep/log.csv", b"file,taken\na.jpg,2024-10-01 10:00\nb.jpg,2024-10-01 11:30\n")
    place.ingest()
    place.card("Seep/log.csv", b"file,taken\na.jpg,2024-10-01 10:00\nb.jpg,2024-10-01 15:30:00\n")
    place.ingest()
    log = place.log()
    assert [str(t)[11:19] for t in log.photos["local"]] == ["10:00:00", "15:30:00"]
    assert log.photos["kind"].tolist() == ["log", "log"]
    assert len(log.visits) == 2


def test_a_csv_is_read_again_when_the_order_of_dates_is_set(place: Place) -> None:
    place.card("Seep/log.csv", b"file,taken\na.jpg,10/1/2024 10:00\nb.jpg,10/9/2024 11:30\n")
    assert [p.kind for p in place.ingest().problems if p.row] == ["bad-cell", "bad-cell"]
    settings = (place.folder / "property.toml").read_text(encoding="utf-8")
    place.write("property.toml", settings + 'date_order = "month first"\n')
    assert not [p for p in place.ingest().problems if p.row]
    assert [str(t)[:10] for t in place.log().photos["local"]] == ["2024-10-01", "2024-10-09"]
    before = (place.folder / "deerlog.sqlite").read_bytes()
    place.ingest()
    assert (place.folder / "deerlog.sqlite").read_bytes() == before


def test_a_csv_settles_the_order_of_its_own_dates(place: Place) -> None:
    place.card("Seep/log.csv", b"file,taken\na.jpg,10/1/2024 10:00\nb.jpg,10/19/2024 11:30\n")
    place.ingest()
    assert [str(t)[:10] for t in place.log().photos["local"]] == ["2024-10-01", "2024-10-19"]


def test_pictures_that_a_csv_lists_too_count_once(place: Place, at: At) -> None:
    place.card("Seep/DCIM/a.jpg", photo(at(10, 1, 10)))
    place.card(
        "Seep/log.csv", b"file,taken\nDCIM/a.jpg,2024-10-01 10:00:00\nb.jpg,2024-10-01 11:30\n"
    )
    summary = place.ingest()
    assert summary.photos == 2
    assert of(summary, "Seep").copies == 1


def test_a_bad_csv_is_told_until_it_is_mended(place: Place) -> None:
    place.card("Seep/list.csv", b"name,when\nx,y\n")
    place.card("Gate/log.csv", b"file,taken\na.jpg,03/04/2024 10:00\n")
    for _ in range(3):
        summary = place.ingest()
        assert kinds(summary) == ["bad-cell", "photo-csv"]
        assert summary.problems[0].file == "cards/Gate/log.csv"
        assert summary.problems[0].row == 2
        assert [p.kind for p in place.log().problems] == ["bad-cell", "photo-csv"]
    place.card("Gate/log.csv", b"file,taken\na.jpg,2024-10-04 10:00\n", age_days=-1)
    assert kinds(place.ingest()) == ["photo-csv"]


def test_a_camera_folder_not_in_the_table_is_logged_and_told(place: Place, at: At) -> None:
    place.card("Seap/a.jpg", photo(at(10, 5)))
    summary = place.ingest()
    (problem,) = summary.problems
    assert (problem.kind, problem.file) == ("unknown-camera", "cards/Seap")
    assert "Write Seep" in problem.how
    assert summary.photos == 1
    assert summary.visits == 0
    assert not (place.folder / "tags").exists()


def test_a_folder_in_other_case_is_its_camera(place: Place, at: At) -> None:
    place.card("seep/a.jpg", photo(at(10, 5)))
    assert place.ingest().visits == 1
    assert place.log().photos["camera"].tolist() == ["Seep"]
    assert "a.jpg" in place.sheet("Seep")


def test_times_that_cannot_be_true_are_kept_and_left_out_until_mended(place: Place, at: At) -> None:
    place.card("Seep/a.jpg", photo("2001:01:01 00:10:00"))
    place.card("Seep/b.jpg", photo("2025:06:01 12:00:00", seed=1))
    place.card("Seep/c.jpg", photo(at(12, 2, 11), seed=2))
    summary = place.ingest()
    assert kinds(summary) == ["impossible-time", "impossible-time"]
    log = place.log()
    assert log.photos["excluded"].tolist() == ["time before 2005", "time in the future", ""]
    assert len(log.visits) == 1
    place.write(
        "clock.csv",
        "camera,shown,actual,from,to\n"
        "Seep,2001-01-01 00:10,2024-10-05 08:10,2000-01-01,2001-12-31\n",
    )
    summary = place.ingest()
    assert kinds(summary) == ["impossible-time"]
    assert summary.visits == 2
    assert str(place.log().photos["local"][0]) == "2024-10-05 08:10:00-05:00"


def test_doubled_hour_and_foreign_offset_are_told(place: Place, at: At) -> None:
    place.card("Seep/a.jpg", photo(at(11, 3, 1, 30)))
    place.card("Seep/b.jpg", photo(at(11, 5), seed=1, offset="+08:00"))
    summary = place.ingest()
    assert kinds(summary) == ["hour-twice", "foreign-offset"]
    assert not any(p.must_mend for p in summary.problems)
    assert place.log().photos["time_fault"].tolist() == ["twice", ""]


def test_cameras_at_one_site_share_their_visits(place: Place, at: At) -> None:
    place.write(
        "cameras.csv",
        "camera,site,latitude,longitude,start\nSeep,Ford,44,-91,2024-09-01\n"
        "Gate,Ford,44,-91,2024-09-01\n",
    )
    place.card("Seep/a.jpg", photo(at(10, 5, 12, 0)))
    place.card("Gate/b.jpg", photo(at(10, 5, 12, 20), seed=1))
    assert place.ingest().visits == 1
    assert "a.jpg" in place.sheet("Seep")
    assert not (place.folder / "tags" / "Gate.csv").exists()


def test_a_card_pulled_out_while_reading_is_told_and_tried_again(
    place: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    place.photos("Seep", at(10, 5), 4, every=40 * MINUTE)
    with monkeypatch.context() as patch:
        real, calls = photo_file.read_segments, [0]

        def fail(head: bytes) -> object:
            calls[0] += 1
            if calls[0] > 2:
                raise OSError(5, "Input/output error")
            return real(head)

        patch.setattr(photo_file, "read_segments", fail)
        summary = place.ingest()
    assert kinds(summary) == ["file-out-of-reach"]
    assert of(summary, "Seep").unreadable == {"cannot be read (Input/output error)": 2}
    assert summary.visits == 2
    summary = place.ingest()
    assert (of(summary, "Seep").new_photos, summary.visits, summary.problems) == (2, 4, ())


def test_a_camera_folder_out_of_sight_is_not_gone(
    place: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    place.photos("Seep/DCIM", at(10, 5), 2, every=MINUTE)
    place.ingest()
    scan = os.scandir

    def refuse(path: str) -> object:
        if str(path).endswith("DCIM"):
            raise OSError(5, "Input/output error")
        return scan(path)

    monkeypatch.setattr(os, "scandir", refuse)
    summary = place.ingest()
    assert "folder-unreadable" in kinds(summary)
    assert place.log().photos["gone"].tolist() == [False, False]


def test_a_second_run_at_the_same_time_is_refused(
    place: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_file, "WAIT_SECONDS", 0.05)
    place.photos("Seep", at(10, 5), 2, every=MINUTE)
    place.ingest()
    place.card("Seep/new.jpg", photo(at(10, 9), seed=77))
    before = place.everything()
    with PhotoLog(place.folder), pytest.raises(StoreError, match="in use"):
        place.ingest()
    assert place.everything() == before
    assert of(place.ingest(), "Seep").new_photos == 1


def test_progress_is_told(place: Place, at: At) -> None:
    from deerlog.ingest.run import ingest_cards
    from deerlog.property import open_property

    place.photos("Seep", at(10, 5), 3, every=MINUTE)
    told: list[tuple[str, int, int]] = []
    ingest_cards(
        open_property(place.folder),
        today=date(2024, 12, 1),
        progress=lambda what, done, total: told.append((what, done, total)),
    )
    assert told[-1] == ("Reading photos", 3, 3)


def test_the_cards_are_never_touched(place: Place, at: At) -> None:
    place.photos("Seep/DCIM", at(10, 5), 3, every=MINUTE)
    before = {name: raw for name, raw in place.everything().items() if name.startswith("cards/")}
    place.ingest()
    after = {name: raw for name, raw in place.everything().items() if name.startswith("cards/")}
    assert after == before


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such names")
def test_a_file_name_that_is_no_text(place: Place, at: At) -> None:
    folder = place.folder / "cards" / "Seep"
    folder.mkdir(parents=True)
    raw = os.path.join(os.fsencode(folder), b"IMG_\xff.JPG")  # noqa: PTH118
    try:
        with open(raw, "wb") as file:  # noqa: PTH123
            file.write(photo(at(10, 5)))
    except OSError:
        pytest.skip("this file system takes only names that are text")
    assert place.ingest().photos == 1
    assert of(place.ingest(), "Seep").known == 1
    assert r"IMG_\xff.JPG" in place.sheet("Seep")
