"""Read-only files as Windows treats them, on any system."""

from __future__ import annotations

import stat
from pathlib import Path
from typing import Any

import pytest


def read_only_as_on_windows(monkeypatch: pytest.MonkeyPatch) -> None:
    """Refuse to remove, replace or write a file that may only be read.

    Elsewhere the folder's permissions decide, and an administrator is refused nothing. Source:
    from memory of the documentation of DeleteFile and MoveFileEx.
    """
    unlink, replace, opened = Path.unlink, Path.replace, Path.open

    def see(path: Path) -> None:
        if path.exists() and not path.stat().st_mode & stat.S_IWRITE:
            raise PermissionError(13, "Access is denied", str(path))

    def unlink_it(self: Path, missing_ok: bool = False) -> None:
        see(self)
        unlink(self, missing_ok=missing_ok)

    def replace_it(self: Path, target: Path) -> Path:
        see(Path(target))
        return replace(self, target)

    def open_it(self: Path, mode: str = "r", *rest: Any, **more: Any) -> Any:
        if "r" not in mode:
            see(self)
        return opened(self, mode, *rest, **more)

    monkeypatch.setattr(Path, "unlink", unlink_it)
    monkeypatch.setattr(Path, "replace", replace_it)
    monkeypatch.setattr(Path, "open", open_it)
