"""Imports point one way: cli, report, study, analysis and ingest, property, timekeeping, errors."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "deerlog"

MAY_IMPORT: dict[str, set[str]] = {
    "errors": set(),
    "one_thread": set(),
    "timekeeping": {"errors"},
    "property": {"errors", "timekeeping"},
    "ingest": {"errors", "one_thread", "timekeeping", "property"},
    "analysis": {"errors", "one_thread", "timekeeping"},
    "study": {"errors", "timekeeping", "property", "ingest", "analysis"},
    # The report names analysis's columns and shows its results; it opens no card and no store.
    "report": {
        "errors",
        "timekeeping",
        "property",
        "analysis",
        "study",
    },
    # What Python users import from deerlog itself.
    "public": {"errors", "property", "ingest", "analysis", "study", "report"},
    "cli": {
        "errors",
        "timekeeping",
        "property",
        "ingest",
        "study",
        "report",
    },
}
"""What each layer may import, besides itself and the bare package (its version)."""

MAY_ALSO = {
    "report": {
        "deerlog.ingest.summary",
        "deerlog.ingest.to_tag",
        "deerlog.ingest.tags.tag_workbooks",
    }
}
"""Single modules of a layer that another may know: the plain values that a screen or a sheet spells
out, and the form of the workbooks that the one writes and the other reads."""

ROOMS: dict[str, dict[str, set[str]]] = {
    "analysis": {
        "": set(),
        "presence": {""},
        "residency": {"", "presence"},
        "forecast": {"", "presence"},
        "shift": {"", "forecast"},
        "backtest": {"", "presence", "forecast"},
        "plan": {"", "forecast"},
        "season": {"", "forecast", "plan"},
    },
    "ingest": {
        "cards": set(),
        "store": {"cards"},
        "tags": set(),
        "effort": set(),
        "clocks": {"tags"},
        "": {"cards", "store", "tags", "effort", "clocks"},
    },
}
"""What each folder of a layer may import from the others; "" is the files beside them: below the
folders in ``analysis``, above them in ``ingest``."""

OUTSIDE_ONLY_IN = {
    "astral": {"timekeeping/sun.py"},
    "sqlite3": {"ingest/store/store.py", "ingest/store/store_file.py"},
    "matplotlib": {"report"},
    "jinja2": {"report"},
    "exifread": {"ingest"},
    "PIL": {"ingest", "report"},
    "click": {"cli"},
    "openpyxl": {"ingest/tags/tag_workbooks.py", "report/page/tag_workbook.py"},
}
"""Libraries that only one place may know."""


def imported_modules(source: str, module: str) -> list[tuple[int, str]]:
    """Every module a source imports, anywhere in it, with the line; relative ones resolved."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = module.split(".")[: -node.level]
                base = ".".join([*above, base] if base else above)
            if base == "deerlog":
                found += [(node.lineno, f"deerlog.{alias.name}") for alias in node.names]
            else:
                found.append((node.lineno, base))
    return found


def layer_of(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else ""


def room_of(module: str) -> str:
    """The folder of its layer that a module lies in, "" when it lies beside them."""
    parts = module.split(".")
    return parts[2] if len(parts) > 2 and parts[2] in ROOMS[parts[1]] else ""


def faults(source: str, relative: str) -> list[str]:
    """What a file at ``relative`` (below the package) imports that it may not."""
    module = "deerlog." + relative.removesuffix(".py").replace("/", ".")
    layer = layer_of(module)
    bad = []
    for line, name in imported_modules(source, module):
        if name.split(".")[0] == "deerlog":
            target = layer_of(name)
            if layer == target and layer in ROOMS:
                room, other = room_of(module), room_of(name)
                if other != room and other not in ROOMS[layer][room]:
                    bad.append(f"{relative}:{line} ({layer}/{room}) imports {name}")
            if target in ("", layer, "__version__"):
                continue
            if name in MAY_ALSO.get(layer, set()):
                continue
            if target not in MAY_IMPORT.get(layer, set()):
                bad.append(f"{relative}:{line} ({layer}) imports {name}")
        homes = OUTSIDE_ONLY_IN.get(name.split(".")[0])
        if homes and not any(relative == home or relative.startswith(f"{home}/") for home in homes):
            bad.append(f"{relative}:{line} imports {name}")
    return bad


def sources() -> list[Path]:
    skipped = {PACKAGE / "__init__.py", PACKAGE / "__main__.py"}
    return sorted(p for p in PACKAGE.rglob("*.py") if p not in skipped)


@pytest.mark.parametrize("path", sources(), ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_imports_point_down(path: Path) -> None:
    relative = path.relative_to(PACKAGE).as_posix()
    assert not faults(path.read_text(encoding="utf-8"), relative)


@pytest.mark.parametrize("layer", ROOMS)
def test_every_folder_of_a_layer_has_its_place(layer: str) -> None:
    folders = {p.parent.name for p in sources() if p.parent.parent == PACKAGE / layer}
    assert folders == set(ROOMS[layer]) - {""}


def test_every_part_of_the_package_has_a_layer() -> None:
    parts = {p.relative_to(PACKAGE).parts[0].removesuffix(".py") for p in sources()}
    assert parts <= set(MAY_IMPORT)


@pytest.mark.parametrize(
    ("source", "relative"),
    [
        ("from deerlog.report import page", "analysis/weeks.py"),
        ("def f():\n    import deerlog.ingest.store.store", "analysis/weeks.py"),
        ("def f():\n    from ..analysis import residency", "ingest/run.py"),
        ("from deerlog import study", "ingest/run.py"),
        ("from deerlog.cli.group import main", "report/page.py"),
        ("from deerlog.ingest import store", "report/page.py"),
        ("from deerlog.analysis.plan.ranking import plan", "analysis/forecast/around.py"),
        ("from deerlog.analysis.shift import shift", "analysis/weeks.py"),
        ("from deerlog.ingest.run import ingest_cards", "ingest/tags/tags.py"),
        ("from deerlog.ingest.clocks.retime import corrected_times", "ingest/tags/tags.py"),
        ("import astral.sun", "analysis/light.py"),
        ("from matplotlib.figure import Figure", "analysis/weeks.py"),
    ],
)
def test_an_import_that_reaches_up_is_found(source: str, relative: str) -> None:
    assert faults(source, relative)


@pytest.mark.parametrize(
    ("source", "relative"),
    [
        ("from deerlog.timekeeping.sun import sun_times", "analysis/visits.py"),
        ("from deerlog import __version__", "cli/group.py"),
        ("from . import weeks", "analysis/visits.py"),
        ("from deerlog.analysis import weeks", "analysis/residency/residency.py"),
    ],
)
def test_an_import_that_points_down_is_not(source: str, relative: str) -> None:
    assert not faults(source, relative)
