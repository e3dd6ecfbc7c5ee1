"""What a run of ingest came to, kept so that a run on the same inputs need not work it out again.

Besides the cards, the outcome hangs on the property's tables and the tag sheets. Their content is
hashed, not their times, so that the same inputs give the same photo log.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path

import deerlog
from deerlog.errors import Problem
from deerlog.ingest.store.problem_json import problem_from, problem_text
from deerlog.ingest.tags.tags import TAGS
from deerlog.ingest.tags.workbook_files import workbook_files, workbook_state
from deerlog.property.table_rows import NOT_CSV


@dataclass(frozen=True)
class Outcome:
    """What a run came to.

    Attributes
    ----------
    photos, visits
        How many the log holds.
    problems
        Those that hang on the log, the tables and the tag sheets only.
    to_tag
        Visits nobody has looked at yet, by camera; cameras without one left out.
    date_order
        Of the settings, by which the CSV photo logs were read.
    """

    photos: int
    visits: int
    problems: tuple[Problem, ...]
    to_tag: Mapping[str, int] = field(default_factory=dict)
    date_order: str = ""

    def to_text(self) -> str:
        """As JSON."""
        return json.dumps(
            {
                "photos": self.photos,
                "visits": self.visits,
                "problems": [problem_text(problem) for problem in self.problems],
                "to_tag": dict(self.to_tag),
                "date_order": self.date_order,
            }
        )

    @classmethod
    def from_text(cls, text: str) -> Outcome:
        """What `to_text` wrote."""
        values = json.loads(text)
        problems = tuple(problem_from(each) for each in values["problems"])
        return cls(
            values["photos"],
            values["visits"],
            problems,
            values.get("to_tag", {}),
            values.get("date_order", ""),
        )


def hash_inputs(folder: Path) -> str:
    """A hash over a property's tables, settings, tag sheets and workbooks; ``""`` if unreadable."""
    total = hashlib.sha256(deerlog.__version__.encode())
    names = [*folder.glob("*.csv"), *folder.glob("*.toml"), *(folder / TAGS).glob("*")]
    try:
        workbooks = workbook_files(folder)
        if workbooks:
            # Whether they can be read hangs on a package that may be installed later.
            total.update(b"\n" + str(find_spec("openpyxl") is not None).encode())
        for path in workbooks:
            total.update(f"\n{path.name}\n".encode("utf-8", "surrogateescape"))
            total.update(workbook_state(path))
        for path in sorted(p for p in folder.iterdir() if p.name.casefold().endswith(NOT_CSV)):
            size = path.stat().st_size
            total.update(f"\n{path.name} {size}\n".encode("utf-8", "surrogateescape"))
        for path in sorted(names):
            if path.is_file():
                content = path.read_bytes()
                header = f"\n{path.relative_to(folder).as_posix()} {len(content)}\n"
                total.update(header.encode("utf-8", "surrogateescape") + content)
    except OSError:
        return ""
    return total.hexdigest()
