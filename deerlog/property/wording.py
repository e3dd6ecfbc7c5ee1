"""Numbers and names in running text: the one place where singular and plural are chosen."""

from __future__ import annotations

from collections.abc import Iterable


def agree(number: int, one: str, many: str) -> str:
    """The form that goes with a number: ``agree(n, "is", "are")``, without the number itself."""
    return one if number == 1 else many


def count(number: int, one: str, many: str = "") -> str:
    """A number with its noun: ``1 visit``, ``12,000 visits``; ``many`` where it is not one + s."""
    return f"{number:,} {agree(number, one, many or one + 's')}"


def listing(parts: Iterable[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``; or with another word before the last."""
    *others, end = list(parts) or [""]
    return f"{', '.join(others)} {last} {end}" if others else end
