"""What the reference tests share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


@pytest.fixture
def must_fail() -> Callable[..., None]:
    """Runs a check on a wrong answer; the test fails where the check lets it pass."""

    def run(check: Callable[..., None], *args: Any, **kwargs: Any) -> None:
        with pytest.raises(AssertionError):
            check(*args, **kwargs)

    return run
