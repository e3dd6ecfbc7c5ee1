"""What happened once: a file that could not be read, a card or sheet that came or went."""

from __future__ import annotations

import errno
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from invented.card_photos import photo

from deerlog.ingest.cards import photo_file
from deerlog.report.ingest_text import ingest_text

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
MINUTES = timedelta(minutes=10)


def fail_on(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """Let the system refuse to read one file."""
    begin = photo_file.begin_photo_file

    def refuse(task: photo_file.FileTask) -> Any:
        if task[0].endswith(name):
            raise OSError(errno.EMFILE, "Too many open files")
        return begin(task)

    monkeypatch.setattr(photo_file, "begin_photo_file", refuse)


@pytest.mark.parametrize("name", ["IMG_0001.JPG", "IMG_0003.JPG", "IMG_0004.JPG"])
def test_a_photo_that_could_not_be_read_once_leaves_no_trace(
    place: Place, at: At, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, name: str
) -> None:
    place.photos("Gate", at(10, 1), 2, every=MINUTES, seed=50)
    place.ingest()
    place.photos("Seep/a", at(10, 5), 6, every=MINUTES)
    shutil.copytree(place.folder, tmp_path / "other")
    whole = type(place)(tmp_path / "other")
    whole.ingest()
    with monkeypatch.context() as once:
        fail_on(once, f"a/{name}")
        summary = place.ingest(processes=1)
    (problem,) = [p for p in summary.problems if p.kind == "file-out-of-reach"]
    assert problem.value == f"a/{name}" and "rows of new visits" in problem.how
    assert f"Seep: 1 x cannot be read (Too many open files) (a/{name})" in ingest_text(summary)
    assert not (place.folder / "tags/Seep.csv").exists()
    place.ingest()
    assert place.sheet("Seep") == whole.sheet("Seep")
    assert place.log().photos.equals(whole.log().photos)


def test_a_photo_that_can_never_be_read_keeps_no_row_back_for_long(
    place: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    place.photos("Seep/a", at(10, 5), 6, every=MINUTES)
    fail_on(monkeypatch, "a/IMG_0001.JPG")
    place.ingest(processes=1)
    place.ingest(processes=1)
    assert "a/IMG_0002.JPG" in place.sheet("Seep")


def test_what_is_new_and_what_is_gone_in_a_line_each(place: Place, at: At) -> None:
    place.photos("Seep/first", at(10, 1), 2, every=MINUTES)
    summary = place.ingest()
    assert summary.new == summary.gone == {}
    place.photos("Seep/second", at(10, 9), 1, every=MINUTES, seed=40)
    place.card("Gate/x.JPG", photo(at(10, 9), seed=80))
    shutil.rmtree(place.folder / "cards/Seep/first")
    place.tag("Seep", "first/IMG_0001.JPG", "Plow")
    summary = place.ingest()
    assert summary.new == {
        "cards": ["Gate", "Seep/second"],
        "cameras": ["Gate"],
        "sheets": ["tags/Gate.csv"],
        "bucks": ["Old Plow"],
    }
    assert summary.gone == {"cards": ["Seep/first"]}
    text = ingest_text(summary)
    assert "Cards: new Gate, Seep/second; here last time and gone now Seep/first." in text
    assert place.ingest().new == {}
    (place.folder / "tags/Seep.csv").unlink()
    summary = place.ingest()
    assert summary.gone == {"bucks": ["Old Plow"]}  # the sheet was made anew
    again = place.ingest()
    assert again.gone == {} and "gone now" not in ingest_text(again)
