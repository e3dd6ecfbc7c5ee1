"""Which tests can reach a module: those that import it, its own and its room's first."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

TESTED_BY = ("tests/unit", "tests/reference")


def nearest_tests(checkout: Path, changed: str) -> list[str]:
    """Test files that import a file of the package, at first hand or through others.

    Imports inside functions count, and so does a text that names a module.

    Parameters
    ----------
    changed
        Below the checkout, such as ``deerlog/analysis/weeks.py``.
    """
    files = _modules(checkout)
    used_by = _used_by(checkout)
    target = Path(changed)
    steps = {next(name for name, path in files.items() if path == checkout / changed): 0}
    for name in (reached := list(steps)):
        for user in used_by.get(name, set()) - steps.keys():
            steps[user] = steps[name] + 1
            reached.append(user)
    ranked = []
    for name, far in steps.items():
        path = files[name].relative_to(checkout)
        if path.name.startswith("test_") and path.as_posix().startswith(TESTED_BY):
            own = path.name == f"test_{target.name}"
            n_shared = len(set(path.parts) & set(target.parts))
            ranked.append((not own, min(far, 2), -n_shared, far, path.as_posix()))
    return [row[-1] for row in sorted(ranked)]


@cache
def _modules(checkout: Path) -> dict[str, Path]:
    """Every module of the package and the tests, by the name it is imported by."""
    named = {}
    for base, top in (("deerlog", checkout), ("tests", checkout / "tests")):
        for path in (checkout / base).rglob("*.py"):
            parts = path.relative_to(top).with_suffix("").parts
            named[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return named


@cache
def _used_by(checkout: Path) -> dict[str, set[str]]:
    """The modules that import each module; a test file counts its conftest files as imported."""
    files = _modules(checkout)
    used_by: dict[str, set[str]] = {}
    for user, path in files.items():
        used: set[str] = set()
        for node in ast.walk(ast.parse(path.read_bytes())):
            if isinstance(node, ast.Import):
                used |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                used |= {f"{node.module}.{alias.name}" for alias in node.names}
            elif isinstance(node, ast.Constant) and isinstance(text := node.value, str):
                if text.startswith("deerlog.") and text.endswith(".") and text != "deerlog.":
                    used |= {name for name in files if name.startswith(text)}
                elif text.startswith("deerlog."):
                    used.add(text)
        # The folders above it come with a module; the package itself loads its names late.
        for name in tuple(used):
            used |= {name[:n] for n, letter in enumerate(name) if letter == "."} - {"deerlog"}
        used |= {
            n for n, p in files.items() if p.name == "conftest.py" and p.parent in path.parents
        }
        for name in used & files.keys() - {user}:
            used_by.setdefault(name, set()).add(user)
    return used_by
