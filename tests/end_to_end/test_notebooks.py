"""The notebooks run from top to bottom, and are stored without what a run leaves behind."""

from __future__ import annotations

import ast
import re
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import deerlog

nbformat = pytest.importorskip("nbformat", reason="nbformat, which reads notebooks, is missing")

FOLDER = Path(__file__).parents[2] / "notebooks"
NAMES = ("residency_report.ipynb", "how_far_to_trust_it.ipynb")
# What the notebooks set for pandas, to be set back after each.
OPTIONS_IT_SETS = ("display.max_columns", 20, "display.width", 80, "display.float_format", None)


def read(name: str) -> Any:
    return nbformat.read(FOLDER / name, as_version=4)


def test_these_are_all() -> None:
    assert sorted(p.name for p in FOLDER.glob("*.ipynb")) == sorted(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_is_stored_bare(name: str) -> None:
    notebook = read(name)
    nbformat.validate(notebook)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            assert cell.outputs == [] and cell.execution_count is None
    kinds = [cell.cell_type for cell in notebook.cells]
    assert kinds[0] == "markdown"
    assert kinds.count("markdown") > 5


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_uses_the_public_interface_alone(name: str) -> None:
    for cell in read(name).cells:
        if cell.cell_type != "code":
            continue
        for node in ast.walk(ast.parse(cell.source)):
            if isinstance(node, ast.Import | ast.ImportFrom):
                module = getattr(node, "module", None) or node.names[0].name
                assert not module.startswith("deerlog.")
        assert set(re.findall(r"\bdeerlog\.(\w+)", cell.source)) <= set(deerlog.__all__)


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_runs(
    name: str,
    sample: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Cell by cell, in this process: a kernel would run the same Python, after a longer start.

    Where a notebook unpacks the sample, it finds it there already, its cards read.
    """
    shutil.copytree(sample, tmp_path / "nettlepost", ignore=shutil.ignore_patterns("reports"))
    monkeypatch.setattr(tempfile, "mkdtemp", lambda: str(tmp_path))
    monkeypatch.chdir(FOLDER)
    monkeypatch.setattr(sys, "path", [*sys.path])
    names: dict[str, Any] = {"__name__": "__main__"}
    with pd.option_context(*OPTIONS_IT_SETS):
        for number, cell in enumerate(read(name).cells, start=1):
            if cell.cell_type == "code":
                run_cell(cell.source, names, f"{name}, cell {number}")
    assert capsys.readouterr().err == ""


def run_cell(source: str, names: dict[str, Any], where: str) -> None:
    """Run the lines, and show the value of the last one, as text and as HTML, if it has one."""
    tree = ast.parse(source)
    last = tree.body.pop() if isinstance(tree.body[-1], ast.Expr) else None
    exec(compile(tree, where, "exec"), names)
    if isinstance(last, ast.Expr):
        value = eval(compile(ast.Expression(last.value), where, "eval"), names)
        assert value is None or repr(value).strip()
        if hasattr(value, "_repr_html_"):
            value._repr_html_()
