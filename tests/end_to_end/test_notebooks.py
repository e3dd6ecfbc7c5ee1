"""The notebooks run from top to bottom, and are stored without what a run leaves behind."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import Any

import pytest

import deerlog

nbformat = pytest.importorskip("nbformat", reason="nbformat, which reads notebooks, is missing")

FOLDER = Path(__file__).parents[2] / "notebooks"
NAMES = ("residency_report.ipynb", "how_far_to_trust_it.ipynb")
SECONDS_A_CELL = 120


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
def test_a_notebook_runs(name: str) -> None:
    nbclient = pytest.importorskip("nbclient", reason="nbclient, which runs notebooks, is missing")
    pytest.importorskip("ipykernel", reason="ipykernel, in which notebooks run, is missing")
    notebook = read(name)
    client = nbclient.NotebookClient(
        notebook,
        timeout=SECONDS_A_CELL,
        kernel_name="python3",
        resources={"metadata": {"path": str(FOLDER)}},
    )
    client.execute()
    for cell in notebook.cells:
        if cell.cell_type == "code":
            streams = [out for out in cell.outputs if out.output_type == "stream"]
            assert [out.text for out in streams if out.name == "stderr"] == []
