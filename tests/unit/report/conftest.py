"""The page of a small property, made once for all tests of it."""

from __future__ import annotations

from typing import Any

import pytest
from invented.invented_page import page_of_property

from deerlog.report.page.page import render_page


@pytest.fixture(scope="session")
def page(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return page_of_property(tmp_path_factory.mktemp("page") / "small")


@pytest.fixture(scope="session")
def html(page: dict[str, Any]) -> str:
    return render_page(page)


@pytest.fixture(scope="session")
def untagged(tmp_path_factory: pytest.TempPathFactory) -> str:
    return render_page(page_of_property(tmp_path_factory.mktemp("page") / "new", tagged=False))
