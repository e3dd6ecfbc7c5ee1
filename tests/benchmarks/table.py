"""A row of the table of speed, and how it is written: Markdown, row by row as they come."""

from __future__ import annotations

from dataclasses import dataclass

NOT_MEASURED = "not measured on this system"
WIDTHS = (76, 40, 54, 6, 19, 6)
HEADER = ("work", "measured", "floor", "ratio", "aim", "")


@dataclass(frozen=True, kw_only=True)
class Row:
    """One thing measured.

    Attributes
    ----------
    work
        What was done, with its size.
    measured
        What it took, with units.
    floor
        What the least that could do it took, and what that is; empty where there is none.
    ratio
        Measured to floor, or another ratio that ``work`` names.
    aim
        In words; empty where there is none.
    met
        None where there is no aim, or nothing to hold against it.
    """

    work: str
    measured: str
    floor: str = ""
    ratio: float | None = None
    aim: str = ""
    met: bool | None = None

    def line(self) -> str:
        """The row of the table."""
        verdict = "" if self.met is None else "met" if self.met else "missed"
        ratio = "" if self.ratio is None else f"{self.ratio:.2f}"
        return _line((self.work, self.measured, self.floor, ratio, self.aim, verdict))


def head() -> str:
    """The first two lines of the table."""
    return _line(HEADER) + "\n| " + " | ".join("-" * width for width in WIDTHS) + " |"


def _line(cells: tuple[str, ...]) -> str:
    padded = (cell.ljust(width) for cell, width in zip(cells, WIDTHS, strict=True))
    return "| " + " | ".join(padded) + " |"


def seconds(value: float) -> str:
    """Seconds, to what can be told apart."""
    return f"{value:.3f} s" if value < 1 else f"{value:.2f} s" if value < 10 else f"{value:.1f} s"


def megabytes(value: float | None) -> str:
    """A peak of memory in words."""
    return NOT_MEASURED if value is None else f"{value:.0f} MB"
