"""Holds what deerlog gives in one checkout against another, byte for byte.

    python tests/frozen/frozen.py --against REVISION_OR_FOLDER [--keep DIR] [--only PART] [--jobs 2]

Both checkouts run the same commands on the same inputs: the sample property and two simulated
ones. Whatever a command says or writes is collected, and each file that differs is named with its
first differing line. ``ingest`` and ``plan`` read today's date, so both must run on one day. What
``--keep`` holds is used again: the inputs (remove DIR when the sample is meant to change), and the
outputs of the other checkout where git knows all of it.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib
import io
import os
import runpy
import shutil
import sqlite3
import subprocess
import sys
import tarfile
import tempfile
import traceback
import zipfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from itertools import zip_longest
from pathlib import Path

HERE = Path(__file__).resolve()
ROOT = HERE.parents[2]
CLIPPED = 70
"""Characters shown of a line, about where it begins to differ."""

COMMANDS = ("new", "demo", "ingest", "check", "report", "residency", "plan", "backtest", "export")
WORDS = (
    "--help", "--version", *(f"{name} --help" for name in COMMANDS),
    "new farm --name Tansy --latitude 38.4 --longitude -91.2 --timezone America/Chicago",
    "new farm --name Tansy --latitude 38.4 --longitude -91.2 --timezone America/Chicago",
    "new far --name Tansy --latitude 38.4 --longitude 91.2 --timezone America/Chicago",
    "new kin --name Tansy --latitude 38.4 --longitude -91.2 --timezone Asia/Tokyo --rut-peak 13-1",
    "chek", "check", "check --property farm", "--property farm ingest", "--property farm check",
    "--property farm residency", "--property farm report", "--property farm plan",
    "--property farm report --as-of 2026-02-30", "--property farm export gpx",
)  # fmt: skip
SAMPLE = (
    "demo place", "ingest", "ingest --workbook", "check", "check --json", "residency",
    "residency --json --as-of 2026-10-10", "plan --weather coming.csv",
    "plan --from 2026-10-11 --days 14 --all --json", "plan --buck Ladle --days 3",
    "report --as-of 2026-07-01", "report --as-of 2026-10-10 --json",
    "backtest --from 2026-10-25", "export camtrap-dp", "export geojson", "export photo-log",
)  # fmt: skip
SIMULATED = (
    "ingest", "ingest", "ingest --workbook", "check", "check --json", "residency",
    "residency --json", "residency --as-of 2022-10-20", "plan", "plan --json",
    "plan --stand Nowhere", "plan --days 14 --all --from 2022-11-06",
    "plan --weather coming.csv --from 2022-11-06", "report",
    "report --as-of 2022-11-05 --weather coming.csv", "export camtrap-dp",
    "export geojson --round-coordinates 2", "export photo-log",
)  # fmt: skip
PARTS = {"sample": SAMPLE, "metric": SIMULATED, "mistaken": SIMULATED, "words": WORDS}

COMING = """time,temperature_f,wind_mph,wind_from,pressure_inhg
{0}-06 06:00,31,6,NW,30.31\n{0}-06 15:00,44,9,W,30.22\n{0}-07 06:00,36,4,SW,30.05
{0}-07 15:00,57,14,S,29.80\n{0}-08 06:00,28,11,N,30.40\n{0}-08 15:00,mild,8,NNNW,30.44
"""
CLOCK = """camera,shown,actual,from,to
cam02,2022-07-02 12:00:00,2022-07-02 12:00:00,2022-07-02,2023-05-31
cam02,2023-05-31 12:20:00,2023-05-31 12:00:00,2022-07-02,2023-05-31
cam03,2022-08-01 11:00:00,2022-08-01 12:00:00,2022-06-01,2022-11-30
"""
MISTAKES = {
    "bucks.csv": "Buck 01,perhaps\nBuck 02,yes\n,yes\n",
    "cameras.csv": "cam01,Site 03,food,40.1,-90.9,2022-09-01,2022-10-01\n"
    "cam09,Far Pond,bog,91.5,-200,2022-02-31,\ncam04,Site 99,food,40.1,,2023-01-01,2022-01-01\n",
    "clock.csv": CLOCK + "cam77,2022-08-01 11:00:00,noon,2022-06-01,\n",
    "outages.csv": "camera,from,to,status\ncam01,2022-10-10,2022-10-20,down\n"
    "cam02,2022-10-10,2022-09-01,asleep\ncam55,2022-10-10,,down\n",
    "sits.csv": "2022-13-01,PM,Stand 1,,2\n2022-11-02,XM,Stand 9,Buck 0l,some\n",
    "stands.csv": "Stand 1,Site 01,40.1,-90.9,N,3\nOak,Site 77;Site 01,40.1,east,NNNW,-2\n",
    "weather.csv": "2023-01-01 25:00,mild,fast,360 or so,1\n",
    "tags/cam01.csv": "000FERN/IMG_9999.JPG,2022-10-01 07:00:00,2,Buck 0l,,gone\n"
    "000FERN/IMG_0001.JPG,2021-01-01 07:00:00,x,Buck 01;;?,,\n",
    "cards/cam03/photos.csv": "000FERN/IMG_9000.JPG,2022-02-30 12:00:00,grey\n,,\n"
    "000FERN/IMG_9001.JPG,2031-01-01 12:00:00,pink\n",
}
"""Rows that a person might have got wrong, added to the end of each table."""


def write_inputs(to: Path) -> None:
    """Write the sample property and the two simulated ones, with this checkout's simulator."""
    sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
    from benchmarks.large_property import write_large_property  # type: ignore[import-not-found]

    shutil.copytree(ROOT / "sample_data" / "property", to / "sample")
    (to / "words").mkdir()
    for name, seed in (("metric", 3), ("mistaken", 8)):
        write_large_property(to / name, seed=seed, seasons=2, cameras=4, bucks=5,
                             photos_a_season=400, tagged_a_season=140)  # fmt: skip
    for name, month in (("sample", "2026-12"), ("metric", "2022-11"), ("mistaken", "2022-11")):
        _add(to / name / "coming.csv", COMING.format(month).replace("2026-12-0", "2026-11-2"))
    _add(to / "metric" / "clock.csv", CLOCK)
    for table, rows in MISTAKES.items():
        _add(to / "mistaken" / table, rows)
    for table in ("cameras.csv", "stands.csv", "property.toml"):  # mirrored, and in Italy
        path = to / "metric" / table
        text = path.read_text("utf-8").replace("-90.", "9.")
        text = text.replace("America/Chicago", "Europe/Rome").replace(
            "\n\n[[", '\nunits = "metric"\nrut_peak = "11-05"\nweek_starts = "Sun"\n\n[[', 1
        )
        path.write_text(text, encoding="utf-8", newline="\n")


def _add(path: Path, rows: str) -> None:
    """Add rows to the end of a table, or begin one."""
    with path.open("a", encoding="utf-8", newline="\n") as file:
        file.write(rows)


def run_part(checkout: Path, part: str, inputs: Path, out: Path) -> None:
    """Run the commands of one part in order; collect what each said and wrote."""
    for slow in ("pandas", "scipy.stats", "matplotlib.figure", "jinja2", "openpyxl"):
        importlib.import_module(slow)  # once for all commands; deerlog is loaded by each anew
    assert not any(name.startswith("deerlog") for name in sys.modules)
    with tempfile.TemporaryDirectory(prefix="frozen-") as temporary:
        work = Path(temporary).resolve()
        place = work / "place"
        shutil.copytree(inputs / part, place)
        for path in place.rglob("*"):
            os.utime(path, (1.78e9, 1.78e9))
        hidden = [(str(work).encode(), b"WORK"), (str(checkout).encode(), b"CHECKOUT")]
        seen = dict(_written(work))
        for number, command in enumerate(PARTS[part], start=1):
            words = command.split()
            if part != "words" and words[0] != "demo":
                words = ["--property", "place", *words]
            words = ["place/coming.csv" if word == "coming.csv" else word for word in words]
            code = _run(checkout, words, work)
            to = out / part / f"{number:02d} {command[:60].replace('/', '_')}"
            said = (work / "stdout").read_bytes(), (work / "stderr").read_bytes()
            found = {"said": b"exit %d\n%s\n--- on stderr\n%s" % (code, *said)}
            now = dict(_written(work))
            for path in sorted(path for path in now if seen.get(path) != now[path]):
                found |= _contents(path, path.relative_to(work).as_posix())
            gone = sorted(path.relative_to(work).as_posix() for path in seen if path not in now)
            found["said"] += "".join(f"--- removed: {name}\n" for name in gone).encode()
            seen = now
            for name, content in found.items():
                for shown, instead in hidden:
                    content = content.replace(shown, instead)
                (to / name).parent.mkdir(parents=True, exist_ok=True)
                (to / name).write_bytes(content)


def _run(checkout: Path, words: list[str], work: Path) -> int:
    """Run ``python -m deerlog``: in a fork of this process where the system can, which spares
    loading pandas again."""
    os.environ |= {"PYTHONPATH": str(checkout), "COLUMNS": "80", "PYTHONUTF8": "1"}
    with (work / "stdout").open("wb") as out, (work / "stderr").open("wb") as err:
        if not hasattr(os, "fork"):
            line = [sys.executable, "-m", "deerlog", *words]
            return subprocess.run(
                line, cwd=work, stdin=subprocess.DEVNULL, stdout=out, stderr=err, check=False
            ).returncode
        child = os.fork()
        if child:
            return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(out.fileno(), 1)
        os.dup2(err.fileno(), 2)
        code: object = 0
        try:
            os.chdir(work)
            sys.path[0], sys.argv = str(checkout), ["deerlog", *words]
            runpy.run_module("deerlog", run_name="__main__", alter_sys=True)
        except SystemExit as end:
            code = end.code or 0
        except BaseException:
            traceback.print_exc()
            code = 1
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code if isinstance(code, int) else 1)


def _written(work: Path) -> Iterator[tuple[Path, tuple[int, int]]]:
    """Every file that deerlog may have written, with its time and size."""
    for path in work.rglob("*"):
        if path.is_file() and path.parent != work:
            stat = path.stat()
            yield path, (stat.st_mtime_ns, stat.st_size)


def _contents(path: Path, name: str) -> dict[str, bytes]:
    """A file as what can be compared: a database as rows of text, a workbook as its parts."""
    if path.suffix == ".sqlite":
        return {f"{name}.txt": "\n".join(_rows(path)).encode()}
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as book:
            parts = {each: book.read(each) for each in book.namelist()}
        parts.pop("docProps/core.xml", None)  # when it was written
        return {f"{name}/{each}": content for each, content in parts.items()}
    return {name: path.read_bytes()}


def _rows(path: Path) -> Iterator[str]:
    """Every row of a photo log, but for what follows from when a file was written."""
    db = sqlite3.connect(path)
    tables = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'table' ORDER BY name")
    for table, made_by in tables.fetchall():
        yield f"{table}: {made_by}"
        cursor = db.execute(f'SELECT * FROM "{table}"')
        names = [column[0] for column in cursor.description]
        kept = [i for i, column in enumerate(names) if column not in ("mtime_ns", "inputs")]
        yield from sorted(" | ".join(f"{names[i]}={row[i]!r}" for i in kept) for row in cursor)
    db.close()


def differences(old: Path, new: Path) -> tuple[int, list[str]]:
    """How many files two folders hold, and a line for each that is not the same in both."""
    names = [{p.relative_to(at) for p in at.rglob("*") if p.is_file()} for at in (old, new)]
    found = []
    for name in sorted(names[0] | names[1]):
        if name not in names[1] or name not in names[0]:
            found.append(f"{name.as_posix()}: only in the {'old' if name in names[0] else 'new'}")
            continue
        was, now = (old / name).read_bytes(), (new / name).read_bytes()
        if was != now:
            pairs = zip_longest(was.splitlines(True), now.splitlines(True), fillvalue=b"")
            line, pair = next((i, pair) for i, pair in enumerate(pairs, 1) if pair[0] != pair[1])
            unlike = (i for i, (a, b) in enumerate(zip(*pair, strict=False)) if a != b)
            same = next(unlike, min(map(len, pair)))
            cut = slice(max(0, same - CLIPPED // 2), same + CLIPPED // 2)
            texts = (repr(each[cut].decode("utf-8", "backslashreplace")) for each in pair)
            found.append(f"{name.as_posix()}:{line}: " + " -> ".join(texts))
    return len(names[0] | names[1]), found


def _checkout(named: str, folder: Path) -> tuple[Path, str]:
    """A checkout's folder, exported where a revision is named; its commit, or "" where git does
    not know what is in it."""
    if Path(named).is_dir():
        root = Path(named).resolve()
        if not (root / ".git").exists() or _git(root, "status", "--porcelain"):
            return root, ""
        return root, _git(root, "rev-parse", "HEAD").decode().strip()
    commit = _git(ROOT, "rev-parse", "--verify", named + "^{commit}").decode().strip()
    with tarfile.open(fileobj=io.BytesIO(_git(ROOT, "archive", commit))) as archive:
        archive.extractall(folder, filter="data")
    return folder.resolve(), commit


def _git(root: Path, *words: str) -> bytes:
    return subprocess.run(["git", "-C", root, *words], stdout=subprocess.PIPE, check=True).stdout


def _worker(*words: object) -> None:
    """This file again in a process of its own, which imports one checkout's deerlog at most."""
    env = os.environ | {"PYTHONHASHSEED": "0", "OPENBLAS_NUM_THREADS": "1"}
    subprocess.run([sys.executable, HERE, "--worker", *map(str, words)], check=True, env=env)


def main() -> int:
    if sys.argv[1:2] == ["--worker"]:
        if len(sys.argv) == 3:
            write_inputs(Path(sys.argv[2]))
        else:
            checkout, part, inputs, out = sys.argv[2:]
            run_part(Path(checkout), part, Path(inputs), Path(out))
        return 0
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--against", required=True, metavar="REVISION_OR_FOLDER")
    parser.add_argument("--keep", type=Path, metavar="DIR", help="keep the other's outputs here")
    parser.add_argument("--only", choices=PARTS, help="one part of it")
    parser.add_argument("--jobs", type=int, default=2, help="parts run at once (default 2)")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="frozen-trees-") as temporary:
        work = Path(temporary)
        kept = (asked.keep or work).resolve()
        key = hashlib.sha256(HERE.read_bytes()).hexdigest()[:12]
        inputs = kept / f"inputs-{key}"
        if not inputs.exists():
            _worker(work / "inputs")
            kept.mkdir(parents=True, exist_ok=True)
            shutil.move(work / "inputs", inputs)
        other, commit = _checkout(asked.against, work / "other")
        old = (kept if commit else work) / f"{commit or 'old'}-{key}-{date.today()}"  # noqa: DTZ011
        new = work / "new"
        parts = [asked.only] if asked.only else list(PARTS)
        made, jobs = work / "made", [(ROOT, part, inputs, new) for part in parts]
        jobs += [(other, part, inputs, made) for part in parts if not (old / part).exists()]
        with ThreadPoolExecutor(asked.jobs) as pool:
            list(
                pool.map(
                    lambda job: _worker(*job), sorted(jobs, key=lambda job: parts.index(job[1]))
                )
            )
        for part in parts:
            if (made / part).exists():
                old.mkdir(exist_ok=True)
                shutil.move(made / part, old / part)
        total, found = 0, []
        for part in parts:
            files, lines = differences(old / part, new / part)
            total, found = total + files, found + [f"{part}/{line}" for line in lines]
    print(
        "\n".join([*found, f"{total} files, {len(found) or 'all equal'}" + " differ" * bool(found)])
    )
    return 1 if found else 0


if __name__ == "__main__":
    raise SystemExit(main())
