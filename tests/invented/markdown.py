"""The parts of a Markdown page that can be checked."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True)
class Block:
    """A fenced block: its language (``""`` if none is named), the line it begins on, its text."""

    language: str
    line: int
    text: str


@dataclass(frozen=True)
class Table:
    """A table: the line it begins on, its header, and the cells of its rows."""

    line: int
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass
class Page:
    """A page taken apart.

    Attributes
    ----------
    spans
        What stands between single backticks outside blocks.
    prose
        The lines outside blocks.
    """

    blocks: list[Block] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)
    spans: list[str] = field(default_factory=list)
    prose: str = ""


def read_page(path: Path) -> Page:
    """Take a page apart.

    Raises
    ------
    ValueError
        A block is never closed, or a row of a table has more or fewer cells than its header.
    """
    page = Page()
    outside: list[tuple[int, str]] = []
    language, opened, inside = "", 0, list[str]()
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        fence = re.match(r"\s*```(\w*)\s*$", line)
        if fence and opened:
            indent = min((len(x) - len(x.lstrip()) for x in inside if x.strip()), default=0)
            text = "\n".join(x[indent:] for x in inside) + "\n"
            page.blocks.append(Block(language, opened, text))
            opened = 0
        elif fence:
            language, opened, inside = fence[1], number, []
        elif opened:
            inside.append(line)
        else:
            outside.append((number, line))
    if opened:
        raise ValueError(f"{path.name}:{opened}: the block is never closed")
    page.prose = "\n".join(line for _, line in outside)
    page.spans = re.findall(r"`([^`]+)`", page.prose.replace("\n", " "))
    page.tables = _tables(path, outside)
    return page


def _tables(path: Path, lines: list[tuple[int, str]]) -> list[Table]:
    tables = []
    at = 0
    while at < len(lines):
        number, line = lines[at]
        rule = lines[at + 1][1] if at + 1 < len(lines) else ""
        if line.startswith("|") and re.fullmatch(r"\|(?: ?:?-+:? ?\|)+", rule):
            header = _cells(line)
            rows = []
            at += 2
            while at < len(lines) and lines[at][1].startswith("|"):
                cells = _cells(lines[at][1])
                if len(cells) != len(header):
                    raise ValueError(
                        f"{path.name}:{lines[at][0]}: {len(cells)} cells, the header has "
                        f"{len(header)}"
                    )
                rows.append(cells)
                at += 1
            tables.append(Table(number, header, tuple(rows)))
        elif line.startswith("|"):
            raise ValueError(f"{path.name}:{number}: a row without a header")
        else:
            at += 1
    return tables


def _cells(line: str) -> tuple[str, ...]:
    if not line.rstrip().endswith("|"):
        raise ValueError(f"a row that is not closed: {line}")
    return tuple(cell.strip() for cell in line.strip()[1:-1].split("|"))
