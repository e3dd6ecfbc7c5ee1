"""Workbooks damaged at random stop nothing: ingest and check end as always, and name the file."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from datetime import datetime, timedelta
from random import Random
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

from deerlog.cli import main
from deerlog.ingest.tags.tag_workbooks import workbook_state
from deerlog.property.table_rows import rows_in

if TYPE_CHECKING:
    from conftest import Place

openpyxl = pytest.importorskip("openpyxl", reason="the package openpyxl is not installed")

At = Callable[..., datetime]
TIME = rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ"
READ_ONLY = 600
"""Damaged workbooks that are only opened, each in some milliseconds."""
THROUGH_ALL = 12
"""Those that go through ingest and check, each in some tenths of a second."""


@pytest.fixture(scope="module")
def whole() -> bytes:
    """A workbook with rows enough that its parts are packed; of the same bytes on every day."""
    book = openpyxl.Workbook()
    book.active.append(["photo", "taken", "photos", "bucks", "others", "notes"])
    for i in range(40):
        book.active.append([f"DCIM/IMG_{i:04d}.JPG", "2024-10-05 12:00:00", 1, "-", "doe", f"n{i}"])
    saved, fixed = io.BytesIO(), io.BytesIO()
    book.save(saved)
    with zipfile.ZipFile(saved) as parts, zipfile.ZipFile(fixed, "w") as out:
        for name in parts.namelist():
            part = re.sub(TIME, b"2024-10-05T12:00:00Z", parts.read(name))
            out.writestr(zipfile.ZipInfo(name), part, zipfile.ZIP_DEFLATED)
    return fixed.getvalue()


def damaged(content: bytes, draw: Random) -> bytes:
    """Bits turned, an end cut off, or a block of zeros; often where the parts are listed.

    What a reader of archives stumbles over in ever new ways is an entry of that list: the release
    that is needed to read a part, how it is packed, how long it is, and what it is called.
    """
    raw = bytearray(content)
    entries = [hit.start() for hit in re.finditer(b"PK\x01\x02", content)]
    start = draw.choice([0, entries[0]])
    kind = draw.choice(["bits", "cut", "zeros", "entry", "name"])
    if kind == "bits":
        for _ in range(draw.randint(1, 8)):
            raw[draw.randrange(start, len(raw))] ^= 1 << draw.randrange(8)
    elif kind == "cut":
        del raw[draw.randrange(start, len(raw)) :]
    elif kind == "zeros":
        at = draw.randrange(start, len(raw))
        size = min(draw.choice([1, 16, 512]), len(raw) - at)
        raw[at : at + size] = bytes(size)
    elif kind == "entry":
        raw[draw.choice(entries) + draw.randrange(4, 46)] ^= 1 << draw.randrange(8)
    else:
        entry = draw.choice(entries)
        raw[entry + 9] |= 8  # says that the name is UTF-8
        raw[entry + 46 + draw.randrange(8)] |= 128
    return bytes(raw)


def test_rows_lost_and_state_are_told_of_any(place: Place, whole: bytes) -> None:
    path = place.folder / "c1.xlsx"
    path.write_bytes(whole)
    assert rows_in(path) == 40
    states = {workbook_state(path)}
    for seed in range(READ_ONLY):
        path.write_bytes(damaged(whole, Random(seed)))
        assert 0 <= rows_in(path) <= 40
        states.add(workbook_state(path))
    assert len(states) > READ_ONLY / 4  # a damaged list of parts is another state


@pytest.mark.parametrize(
    "error", [EOFError, UnicodeDecodeError("utf-8", b"x", 0, 1, "bad"), NotImplementedError]
)
def test_whatever_the_reader_raises(
    place: Place, whole: bytes, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    path = place.folder / "c1.xlsx"
    path.write_bytes(whole)

    def raise_it(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(zipfile.ZipFile, "infolist", raise_it)
    monkeypatch.setattr(zipfile.ZipFile, "read", raise_it)
    assert rows_in(path) == 0
    assert workbook_state(path) == whole


def test_ingest_and_check_end_as_always_and_name_it(place: Place, at: At, whole: bytes) -> None:
    place.photos("Seep/DCIM", at(10, 5), 2, every=timedelta(hours=1))
    path = place.folder / "tags/Seep.xlsx"
    place.ingest()
    unreadable = 0
    for seed in range(THROUGH_ALL):
        path.write_bytes(damaged(whole, Random(seed)))
        for command in ("ingest", "check"):
            run = CliRunner().invoke(main, ["--property", str(place.folder), command])
            assert run.exception is None or isinstance(run.exception, SystemExit), (seed, command)
            assert "Aborted" not in run.output and "Traceback" not in run.output
            assert "tags/Seep.xlsx" in run.output, (seed, command)
        unreadable += "The tags in it do not count" in " ".join(run.output.split())
    assert THROUGH_ALL / 3 < unreadable < THROUGH_ALL
