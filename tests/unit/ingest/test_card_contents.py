"""Everything a card holds, as it comes out of a camera and through other systems."""

from __future__ import annotations

import os
import shutil
import stat
import sys
import unicodedata
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import avi, mp4, photo, picture

from deerlog.ingest import run as run_module
from deerlog.ingest.summary import CameraIntake, IngestSummary

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
MINUTE = timedelta(minutes=1)
WINDOWS = sys.platform == "win32"


def of(summary: IngestSummary, camera: str) -> CameraIntake:
    return next(intake for intake in summary.cameras if intake.camera == camera)


def kinds(summary: IngestSummary) -> list[str]:
    return [problem.kind for problem in summary.problems]


def test_a_tree_as_a_camera_and_two_systems_leave_it(place: Place, at: At) -> None:
    """Two numbered folders, thumbnails' database, resource forks, bins, and what is no photo."""
    for folder, day in (("100ABCDE", 5), ("101ABCDE", 6)):
        for number in range(3):
            place.card(
                f"Seep/DCIM/{folder}/IMG_{number + 1:04d}.JPG",
                photo(at(10, day, 6, 40 * number), seed=10 * day + number)
                if number < 2
                else photo(at(10, day, 9), seed=10 * day + number),
            )
    for name in ("DCIM/100ABCDE/Thumbs.db", "DCIM/ehthumbs.db", "desktop.ini", ".DS_Store"):
        place.card(f"Seep/{name}", b"litter")
    for name in ("DCIM/100ABCDE/._IMG_0001.JPG", "._DCIM"):
        place.card(f"Seep/{name}", b"\x00\x05\x16\x07 resource fork")
    for folder in ("System Volume Information", "$RECYCLE.BIN", ".Trashes", ".Spotlight-V100"):
        place.card(f"Seep/{folder}/IMG_9999.JPG", photo(at(10, 9), seed=99))
    unread = {
        "zero.jpg": (b"", "zero bytes"),
        "half.jpg": (photo(at(10, 7))[:60], "truncated"),
        "blank.jpg": (bytes(4096), "nothing but zeros"),
        "plain.jpg": (picture(5, grey=True), "no EXIF block"),
        "edited.png": (b"\x89PNG\r\n\x1a\n" + bytes(64), "a PNG picture"),
        "phone.HEIC": (b"\x00\x00\x00\x18ftypheic" + bytes(64), "a HEIC picture"),
        "clip.avi": (avi(None), "a video without a time"),
        "clip.mkv": (b"\x1aE\xdf\xa3" + bytes(64), "a Matroska video without a time"),
        "notes.txt": (b"changed the batteries", "not an image"),
    }
    for name, (content, _) in unread.items():
        place.card(f"Seep/DCIM/101ABCDE/{name}", content)
    place.card("Seep/DCIM/101ABCDE/cut.jpg", photo(at(10, 8), seed=3)[:-30])
    place.card("Seep/DCIM/101ABCDE/VID_0004.MP4", mp4(at(10, 6, 9, 5)))
    place.card("Seep/DCIM/101ABCDE/VID_0005.AVI", avi("Sun Oct  6 09:06:00 2024\n"))
    # What a name says is not asked: a photo called otherwise is a photo.
    place.card("Seep/DCIM/101ABCDE/IMG_0006.dat", photo(at(10, 6, 9, 7), seed=77))

    summary = place.ingest()
    seep = of(summary, "Seep")
    assert (seep.new_photos, seep.new_videos) == (8, 2)
    reasons = [reason for _, reason in unread.values()]
    assert seep.unreadable == {reason: reasons.count(reason) for reason in sorted(set(reasons))}
    assert summary.ignored == 10
    # Nothing is lost in silence: each file is a photo, a video, unreadable with its reason, or
    # counted as litter (the folders of a bin by themselves).
    on_disk = [p for p in (place.folder / "cards").rglob("*") if p.is_file()]
    counted = seep.new_photos + seep.new_videos + sum(seep.unreadable.values()) + summary.ignored
    assert counted == len(on_disk)
    log = place.log()
    assert sorted(log.unreadable["reason"]) == sorted(reasons)
    # The videos and the renamed photo join the visit of the picture before them.
    last = log.visits[log.visits["first"].dt.strftime("%m-%d %H") == "10-06 09"]
    assert last["photos"].tolist() == [4]
    assert "truncated-photos" in kinds(summary)


def test_twenty_thousand_files_in_one_folder(place: Place, at: At) -> None:
    folder = place.folder / "cards/Seep/DCIM/100ABCDE"
    folder.mkdir(parents=True)
    for number in range(19_970):
        os.close(os.open(folder / f"IMG_{number:05d}.JPG", os.O_CREAT | os.O_WRONLY))
    for number in range(30):
        place.card(
            f"Seep/DCIM/100ABCDE/IMG_{number + 20_000:05d}.JPG",
            photo(at(10, 5) + number * 40 * MINUTE, seed=number),
        )
    summary = place.ingest(processes=1)
    assert of(summary, "Seep").new_photos == summary.visits == 30
    assert of(summary, "Seep").unreadable == {"zero bytes": 19_970}
    # One line, not twenty thousand.
    (problem,) = [p for p in summary.problems if p.kind != "silent-stretch"]
    assert problem.why.startswith("19,970 files are not counted: zero bytes")
    again = place.ingest()
    assert of(again, "Seep").known == 20_000
    shutil.rmtree(folder)


def test_twenty_thousand_photos_of_one_list(place: Place, at: At) -> None:
    rows = [f"IMG_{i:05d}.JPG,{at(9, 1, 0) + i * 6 * MINUTE}" for i in range(20_000)]
    place.write("cards/Seep/old/list.csv", "file,taken\n" + "\n".join(rows) + "\n")
    summary = place.ingest()
    assert of(summary, "Seep").new_listed == summary.photos == 20_000


NAMES = {
    "Cyrillic": "олень/снимок 1.jpg",
    "Chinese": "相机/鹿.JPG",
    "Arabic": "كاميرا/غزال.jpg",
    "accents in one letter": unicodedata.normalize("NFC", "Rödél/é.jpg"),
    "accents in two": unicodedata.normalize("NFD", "Wälder/ö.jpg"),
    "emoji": "🦌/🦌 1.jpg",
    "signs of a shell": "a & b/$(x) 'y' #1;%20.jpg",
    "a comma and a dot": ". a,b/.hidden.jpg",
    "letters of a formula": "=cmd/@sum.jpg",
    "two hundred letters": "n" * 200 + ".jpg",
    "a reserved word elsewhere": "con.d/aux.jpg",
}


@pytest.mark.parametrize("camera", ["Seep", "Озеро 湖"])
def test_names_in_any_alphabet(place: Place, at: At, camera: str) -> None:
    text = (place.folder / "cameras.csv").read_text(encoding="utf-8")
    place.write("cameras.csv", text.replace("Seep,Seep", f"{camera},Seep"))
    written = []
    for i, name in enumerate(NAMES.values()):
        try:
            place.card(f"{camera}/{name}", photo(at(10, 5) + i * 60 * MINUTE, seed=i))
        except OSError:
            continue  # this system allows no such name
        written.append(name)
    assert len(written) >= 6
    summary = place.ingest()
    assert summary.photos == summary.visits == len(written)
    assert kinds(summary) == []
    # Tagged by the paths in the sheet, and found again.
    lines = place.sheet(camera).splitlines()
    assert len(lines) == len(written) + 1
    tagged = [line.replace(",,,", ",Splitbrow,,") for line in lines]
    place.write(f"tags/{camera}.csv", "\n".join(tagged) + "\n")
    summary = place.ingest()
    assert kinds(summary) == []
    assert of(summary, camera).known == len(written)
    assert len(place.log().sightings) == len(written)


@pytest.mark.skipif(WINDOWS, reason="folder rights differ on Windows")
def test_a_read_only_card_is_read_and_left_as_it_was(place: Place, at: At) -> None:
    place.photos("Seep/DCIM/100ABCDE", at(10, 5), 3, every=40 * MINUTE)
    cards = place.folder / "cards"
    every = [cards, *cards.rglob("*")]
    for path in every:
        path.chmod(0o555 if path.is_dir() else 0o444)
    before = [(path, path.stat()) for path in every]
    try:
        assert place.ingest().visits == 3
        assert place.ingest().visits == 3
        for path, state in before:
            now = path.stat()
            assert stat.S_IMODE(now.st_mode) == stat.S_IMODE(state.st_mode)
            assert (now.st_mtime_ns, now.st_ctime_ns) == (state.st_mtime_ns, state.st_ctime_ns)
    finally:
        for path in every:
            path.chmod(0o755)


@pytest.mark.skipif(WINDOWS, reason="making links needs rights on Windows")
def test_links_in_circles_and_to_nowhere(place: Place, at: At, tmp_path: Path) -> None:
    place.photos("Seep/DCIM", at(10, 5), 2, every=40 * MINUTE)
    seep = place.folder / "cards/Seep"
    (seep / "DCIM/round").symlink_to(seep)
    (seep / "itself").symlink_to(seep / "itself")
    (seep / "nowhere.jpg").symlink_to(tmp_path / "nowhere.jpg")
    (seep / "up").symlink_to(place.folder)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "IMG_0009.JPG").write_bytes(photo(at(10, 6), seed=9))
    (seep / "linked card").symlink_to(elsewhere)
    summary = place.ingest()
    assert summary.visits == 3
    found = kinds(summary)
    assert "folder-twice" in found
    assert "file-out-of-reach" in found
    assert place.ingest().visits == 3


@pytest.mark.parametrize("lost", ["some files", "the folder", "the whole card", "all cards"])
def test_a_card_pulled_out_between_walking_and_reading(
    place: Place, at: At, monkeypatch: pytest.MonkeyPatch, lost: str
) -> None:
    place.photos("Gate", at(10, 1), 2, every=40 * MINUTE, seed=50)
    place.ingest()
    place.tag("Gate", "IMG_0001.JPG", "Old Plow")
    typed = place.sheet("Gate")
    place.photos("Seep/DCIM/100ABCDE", at(10, 5), 6, every=40 * MINUTE)
    cards, away = place.folder / "cards", place.folder / "pulled"
    moved = {
        "some files": [cards / f"Seep/DCIM/100ABCDE/IMG_{n:04d}.JPG" for n in (2, 4, 6)],
        "the folder": [cards / "Seep/DCIM/100ABCDE"],
        "the whole card": [cards / "Seep"],
        "all cards": [cards],
    }[lost]
    real = run_module.find_changes

    def pull(*args: object, **how: object) -> object:
        changes = real(*args, **how)  # type: ignore[arg-type]
        away.mkdir()
        for path in moved:
            path.rename(away / path.name)
        return changes

    with monkeypatch.context() as patch:
        patch.setattr(run_module, "find_changes", pull)
        summary = place.ingest()
    read = 3 if lost == "some files" else 0
    assert of(summary, "Seep").new_photos == read
    assert sum(of(summary, "Seep").unreadable.values()) == 6 - read
    assert kinds(summary) == ["file-out-of-reach"]
    assert place.sheet("Gate") == typed
    if lost != "some files":
        # Run again while it is out: what was known of it stays in the log.
        place.ingest()
        assert place.log().visits["photos"].sum() == 2
    for path in moved:
        (away / path.name).rename(path)
    summary = place.ingest()
    assert (summary.visits, kinds(summary)) == (8, [])
    assert place.log().photos["gone"].sum() == 0
    assert place.sheet("Gate") == typed


def test_a_card_pulled_out_while_walking(
    place: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder can be opened, and then its listing breaks off."""
    place.photos("Seep/DCIM", at(10, 5), 4, every=40 * MINUTE)
    place.ingest()
    scan = os.scandir

    class BrokenOff:
        def __init__(self, path: str) -> None:
            self._entries = scan(path)
            self._left = 2

        def __enter__(self) -> BrokenOff:
            return self

        def __exit__(self, *error: object) -> None:
            self._entries.close()

        def __iter__(self) -> BrokenOff:
            return self

        def __next__(self) -> os.DirEntry[str]:
            if self._left == 0:
                raise OSError(5, "Input/output error")
            self._left -= 1
            return next(self._entries)

    with monkeypatch.context() as patch:
        patch.setattr(
            os, "scandir", lambda path: BrokenOff(path) if "DCIM" in str(path) else scan(path)
        )
        summary = place.ingest()
    assert kinds(summary) == ["folder-unreadable"]
    assert place.log().photos["gone"].tolist() == [False] * 4
    assert kinds(place.ingest()) == []
