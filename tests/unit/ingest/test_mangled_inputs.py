"""Damaged pictures and tables: no traceback, no hang, and nothing lost in silence.

`INPUTS` says how many of each kind every run of the tests tries; each test counts what it really
tried.
"""

from __future__ import annotations

import posixpath
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from invented.card_photos import avi, exif_block, mp4, photo, picture, with_exif

from deerlog.errors import Problem, PropertyError
from deerlog.ingest.cards.photo_csv import read_photo_csv
from deerlog.ingest.cards.photo_file import FileRecord, read_chunk
from deerlog.ingest.tags.photo_finder import plain_path
from deerlog.ingest.tags.tag_sheets import NewRow, append_rows
from deerlog.ingest.tags.tags import read_tag_sheets
from deerlog.property.bucks import read_bucks
from deerlog.property.clock import read_clock_readings
from deerlog.property.outages import read_outages

if TYPE_CHECKING:
    from conftest import Place

INPUTS = {
    "pictures and videos": 1_000,
    "EXIF blocks": 300,
    "photo logs in CSV": 250,
    "lines of a photo log": 150,
    "tag sheets": 200,
    "tables of the property": 200,
}
LONGEST_SECONDS = 5.0
"""One input that takes longer hangs, even on a busy machine; most take a millisecond."""

SHOWN = datetime(2024, 10, 5, 6, 7, 8)  # noqa: DTZ001
PICTURES = [
    photo(SHOWN, offset="-05:00", fraction="25"),
    photo(SHOWN, thumbnail=False),
    photo(SHOWN, full=True, big_endian=True),
    with_exif(picture(3, grey=True), exif_block(changed="2024:10:05 06:07:08")),
    mp4(SHOWN),
    mp4(SHOWN, moov_last=True),
    avi("Sat Oct  5 06:07:08 2024\n"),
]
LINES = [f"IMG_{i}.JPG,2024-10-05 06:{i:02d}" for i in range(9)]
PHOTO_LOG = "\n".join(["file,taken", *LINES, ""])
SHEET = (
    "photo,taken,photos,bucks,others,notes\r\n"
    "DCIM/IMG_0001.JPG,2024-10-05 06:07:08,3,Old Plow;Splitbrow?,doe,\r\n"
    'DCIM/IMG_0004.JPG,2024-10-05 07:07:08,1,-,,"by the gate, late"\r\n'
    "DCIM/IMG_0005.JPG,2024-10-05 09:00:00,12,,,\r\n"
)
TABLES: dict[str, tuple[str, Callable[[Path], tuple[object, list[Problem]]]]] = {
    "clock": (
        "camera,shown,actual,from,to\nSeep,2024-10-01 07:00,2024-10-01 08:00,2024-09-01,\n"
        "Seep,2024-11-05 07:00:10,2024-11-05 08:02:10,2024-09-01,\n",
        lambda path: read_clock_readings(path, ["Seep", "Gate"]),
    ),
    "outages": (
        "camera,from,to,status\nSeep,2024-10-01,2024-10-09,down\nGate,2024-10-02 07:00,"
        "2024-10-03 09:30,running\n",
        lambda path: read_outages(path, ["Seep", "Gate"]),
    ),
    "bucks": ("buck,target,born,aliases,notes\nOld Plow,yes,2018,Plow;Shear,\n", read_bucks),
}

# A patch of bytes, where it goes (as a share of the file, or of its first 420 bytes, where the
# structure lies) and how many bytes it takes the place of.
EDITS = st.lists(
    st.tuples(st.binary(max_size=6), st.floats(0, 1, width=16), st.booleans(), st.integers(0, 6)),
    min_size=1,
    max_size=6,
)


def mangled(content: bytes, edits: list[tuple[bytes, float, bool, int]]) -> bytes:
    """Bytes changed, cut out or put in anywhere."""
    raw = bytearray(content)
    for patch, share, early, drop in edits:
        end = min(len(raw), 420) if early else len(raw)
        at = int(share * end)
        raw[at : at + drop] = patch
    return bytes(raw)


def tried(kind: str, one: Callable[..., None], **inputs: st.SearchStrategy[object]) -> None:
    """Run a check on as many inputs as `INPUTS` says, and see that it was as many."""
    n, longest = 0, 0.0

    def timed(**drawn: object) -> None:
        nonlocal n, longest
        start = time.perf_counter()
        one(**drawn)
        n, longest = n + 1, max(longest, time.perf_counter() - start)

    budget = settings(
        max_examples=INPUTS[kind],
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.explicit, Phase.generate, Phase.shrink],
    )
    budget(given(**inputs)(timed))()
    print(f"\n{n:,} mangled {kind}, the slowest {1000 * longest:.0f} ms")
    assert n >= INPUTS[kind]
    assert longest < LONGEST_SECONDS


def test_at_least_two_thousand_inputs() -> None:
    print(f"\n{sum(INPUTS.values()):,} mangled inputs in all")
    assert sum(INPUTS.values()) >= 2_000


def check_record(record: FileRecord) -> None:
    """A time, or the reason why there is none."""
    assert record.kind in {"photo", "video", "unreadable"}
    if record.kind == "unreadable":
        assert record.reason
        assert record.shown is None
    else:
        assert record.shown is not None
        assert datetime.fromisoformat(record.shown)
        assert record.look is None or 0 <= record.look <= 1


def test_pictures_give_a_time_or_a_reason(tmp_path: Path) -> None:
    path = tmp_path / "mangled.jpg"

    def one(base: bytes, edits: list[tuple[bytes, float, bool, int]]) -> None:
        content = mangled(base, edits)
        path.write_bytes(content)
        check_record(read_chunk([(str(path), "Seep", "mangled.jpg", len(content), 0)]).records[0])

    tried("pictures and videos", one, base=st.sampled_from(PICTURES), edits=EDITS)


def test_random_blocks_give_a_time_or_a_reason(tmp_path: Path) -> None:
    path = tmp_path / "random.jpg"

    def one(start: bytes, block: bytes) -> None:
        path.write_bytes(with_exif(b"\xff\xd8\xff\xd9", start + block))
        task = (str(path), "Seep", "random.jpg", path.stat().st_size, 0)
        check_record(read_chunk([task]).records[0])

    starts = st.sampled_from([b"II*\x00", b"MM\x00*"])
    tried("EXIF blocks", one, start=starts, block=st.binary(max_size=300))


def test_photo_logs_give_rows_and_problems_or_a_clear_refusal(tmp_path: Path) -> None:
    path = tmp_path / "mangled.csv"

    def one(encoding: str, edits: list[tuple[bytes, float, bool, int]]) -> None:
        path.write_bytes(mangled(PHOTO_LOG.encode(encoding), edits))
        try:
            rows, problems = read_photo_csv(path, "Seep", "mangled.csv")
        except PropertyError as error:
            assert error.what
            assert error.how
            return
        assert all(record.shown and record.path for record in rows)
        assert all(problem.row and problem.why and problem.how for problem in problems)

    tried("photo logs in CSV", one, encoding=st.sampled_from(["utf-8", "utf-16"]), edits=EDITS)


def test_each_line_of_a_photo_log_is_a_photo_or_a_problem(tmp_path: Path) -> None:
    path = tmp_path / "lines.csv"
    plain = st.text(
        st.characters(min_codepoint=32, max_codepoint=126, exclude_characters='"'), max_size=8
    )
    edits = st.lists(
        st.tuples(st.integers(0, 8), st.integers(0, 30), st.integers(0, 5), plain),
        min_size=1,
        max_size=5,
    )

    def one(edits: list[tuple[int, int, int, str]]) -> None:
        lines = list(LINES)
        for row, start, drop, text in edits:
            lines[row] = lines[row][:start] + text + lines[row][start + drop :]
        path.write_text("\n".join(["file,taken", *lines, ""]), encoding="utf-8")
        rows, problems = read_photo_csv(path, "Seep", "lines.csv")
        paths = {record.path for record in rows}
        told = {problem.row for problem in problems}
        for number, line in enumerate(lines, start=2):
            if number not in told and line.strip(" ,"):
                file = line.split(",")[0].strip().replace("\\", "/")
                assert posixpath.normpath(file) in paths, line
        assert len(paths) == len(rows)

    tried("lines of a photo log", one, edits=edits)


def test_tag_sheets_keep_every_byte_and_take_a_new_row_or_are_left_alone(tmp_path: Path) -> None:
    place = tmp_path / "tags" / "Seep.csv"
    place.parent.mkdir()
    new = NewRow("DCIM/IMG_0042.JPG", "2024-11-05 06:07:08", 2)

    def one(encoding: str, edits: list[tuple[bytes, float, bool, int]]) -> None:
        content = mangled(SHEET.encode(encoding), edits)
        place.write_bytes(content)
        (sheet,) = read_tag_sheets(tmp_path, ["Seep"])
        appended, problems = append_rows(tmp_path, [sheet], {"Seep": [new]})
        after = place.read_bytes()
        assert after.startswith(content)
        if appended.get("Seep"):
            (sheet,) = read_tag_sheets(tmp_path, ["Seep"])
            assert sheet.table is not None
            photos = [plain_path(p, "Seep") for p in sheet.table.frame["photo"].tolist()]
            assert photos[-1] == new.photo
        else:
            assert after == content
            assert sheet.problem or problems
            assert all(problem.why and problem.how for problem in problems)

    encodings = st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"])
    tried("tag sheets", one, encoding=encodings, edits=EDITS)


def test_tables_give_rows_and_problems_or_a_clear_refusal(tmp_path: Path) -> None:
    def one(name: str, edits: list[tuple[bytes, float, bool, int]]) -> None:
        text, read = TABLES[name]
        path = tmp_path / f"{name}.csv"
        path.write_bytes(mangled(text.encode(), edits))
        try:
            _, problems = read(path)
        except PropertyError as error:
            assert error.what
            assert error.how
            return
        assert all(problem.why and problem.how for problem in problems)

    tried("tables of the property", one, name=st.sampled_from(sorted(TABLES)), edits=EDITS)


def test_a_card_of_mangled_files_is_counted_to_the_last(place: Place) -> None:
    """Through the whole of ingest: what is read, and what is not, adds up."""
    draw = Random(5)
    for number in range(120):
        content = bytearray(draw.choice(PICTURES))
        for _ in range(draw.randint(1, 5)):
            at = draw.randrange(min(len(content), 420))
            content[at : at + draw.randint(0, 4)] = draw.randbytes(draw.randint(0, 4))
        place.card(f"Seep/IMG_{number:04d}.JPG", bytes(content))
    (seep,) = place.ingest().cameras
    n_read = seep.new_photos + seep.new_videos
    assert n_read + sum(seep.unreadable.values()) == 120
    assert n_read > 10
    assert seep.unreadable
