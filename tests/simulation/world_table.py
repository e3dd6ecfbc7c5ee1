"""The table of the worlds: one row a world, aims missed marked."""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .world_answers import Answers
from .world_list import World
from .world_measures import WHOLE_SEASON, Measure, chance_measures, label_measures

IN_SEASON = ("31 Oct", "20 Nov", "31 Jan")
MISSED = "*"


@dataclass(frozen=True, kw_only=True)
class Row:
    """Measures of one world: of the chances by name, of the labels by name and day."""

    world: World
    chances: dict[str, Measure]
    labels: dict[tuple[str, str], Measure]
    properties: int
    seconds: float

    def label(self, name: str, day: str) -> Measure:
        """A measure of the labels; NaN where there is none."""
        return self.labels.get((name, day), Measure(float("nan")))


def row_of(world: World, answers: Answers, seconds: float) -> Row:
    """Everything measured of one world."""
    return Row(
        world=world,
        chances=chance_measures(answers, knows_the_track=world.tracks is not None),
        labels=label_measures(answers),
        properties=answers.half_days["property"].nunique(),
        seconds=seconds,
    )


# ---- aims -------------------------------------------------------------------------------------


def _least_r(row: Row) -> float:
    """Least R of a season aimed at; 0 where none is."""
    if row.world.name in ("today-busy", "today-thin"):
        return 0.68
    return 0.55 if row.world.name.startswith("large") else 0.0


AIMS: dict[str, tuple[Callable[[Row], float], Callable[[Row, float], bool]]] = {
    "given / true from 0.85 to 1.15": (
        lambda row: row.chances["given / true"].value,
        lambda row, value: 0.85 <= value <= 1.15,
    ),
    "given / true of every phase from 0.8 to 1.25": (
        lambda row: row.chances["worst phase"].value,
        lambda row, value: 0.8 <= value <= 1.25,
    ),
    "given / true of every bin from 0.8 to 1.25": (
        lambda row: row.chances["worst bin"].value,
        lambda row, value: 0.8 <= value <= 1.25,
    ),
    "log loss below the best simple rule's": (
        lambda row: row.chances["loss"].value,
        lambda row, value: value < row.chances["rule"].value,
    ),
    "log loss on tracks no worse than the activity centre's": (
        lambda row: row.chances["loss"].value if row.world.tracks else float("nan"),
        lambda row, value: value <= row.chances["centre"].value,
    ),
    "R of a season at least 0.68 today, 0.55 on large ground": (
        lambda row: row.chances["R of a season"].value if _least_r(row) else float("nan"),
        lambda row, value: value >= _least_r(row),
    ),
    "a stand's interval covers 90 to 98 %": (
        lambda row: row.chances["stand covers"].value,
        lambda row, value: 0.90 <= value <= 0.98,
    ),
    "right at least 97.5 % among decided": (
        lambda row: row.label("right", WHOLE_SEASON).value,
        lambda row, value: value >= 0.975,
    ),
    "passers called resident at most 10 % on 20 November": (
        lambda row: row.label("passers called resident", "20 Nov").value,
        lambda row, value: value <= 0.10,
    ),
    "living called gone at most 1 %": (
        lambda row: row.label("living called gone", WHOLE_SEASON).value,
        lambda row, value: value <= 0.01,
    ),
    "the shot called gone at least 65 % on 31 January": (
        lambda row: (
            row.label("dead called gone", "31 Jan").value
            if "shot" in row.world.kinds
            else float("nan")
        ),
        lambda row, value: value >= 0.65,
    ),
}
"""By what is aimed at: the value, and whether it is met; a NaN is no answer and no miss."""


def missed(row: Row) -> list[str]:
    """Aims that the world's measures miss."""
    values = {aim: value(row) for aim, (value, _) in AIMS.items()}
    return [aim for aim, (_, met) in AIMS.items()
            if not np.isnan(values[aim]) and not met(row, values[aim])]  # fmt: skip


# ---- cells ------------------------------------------------------------------------------------


def _number(measure: Measure, digits: int, *, where: bool = False, factor: float = 1.0) -> str:
    if np.isnan(measure.value):
        return "-"
    text = f"{factor * measure.value:.{digits}f}"
    if not np.isnan(measure.error):
        text += f"±{factor * measure.error:.{digits}f}"
    return f"{text} {measure.where}" if where and measure.where else text


def _days(row: Row, name: str, days: Sequence[str] = IN_SEASON, *, digits: int = 0) -> str:
    """Percent on each of some days, and the standard error and number of all together."""
    each = [row.label(name, day) for day in days]
    if all(np.isnan(m.value) for m in each):
        return "-"
    told = "/".join("-" if np.isnan(m.value) else f"{100 * m.value:.{digits}f}" for m in each)
    whole = row.label(name, WHOLE_SEASON)
    return f"{told} ±{100 * whole.error:.1f} ({whole.n})"


def _given(row: Row) -> str:
    """Given over true, and of how much of what was asked where not all got a chance."""
    answered = row.chances["chances given"].value
    told = _number(row.chances["given / true"], 2)
    return told if answered > 0.995 else f"{told} of {100 * answered:.0f}%"


_A, _C = "given / true", "given / true of every "
COLUMNS: dict[str, tuple[int, Callable[[Row], str], str]] = {
    "given/true": (11, _given, f"{_A} from 0.85 to 1.15"),
    "never seen": (11, lambda r: _number(r.chances["where never seen"], 2), ""),
    "worst phase": (23, lambda r: _number(r.chances["worst phase"], 2, where=True),
                    f"{_C}phase from 0.8 to 1.25"),
    "worst bin": (20, lambda r: _number(r.chances["worst bin"], 2, where=True),
                  f"{_C}bin from 0.8 to 1.25"),
    "loss": (6, lambda r: f"{1000 * r.chances['loss'].value:.2f}",
             "log loss below the best simple rule's"),
    "rule": (6, lambda r: f"{1000 * r.chances['rule'].value:.2f}", ""),
    "truth": (6, lambda r: _number(r.chances["truth"]._replace(error=np.nan), 2,
                                   factor=1000), ""),
    "centre": (7, lambda r: _number(r.chances["centre"]._replace(error=np.nan), 2,
                                    factor=1000),
               "log loss on tracks no worse than the activity centre's"),
    "R": (9, lambda r: _number(r.chances["R"], 2), ""),
    "R season": (10, lambda r: _number(r.chances["R of a season"], 2),
                 "R of a season at least 0.68 today, 0.55 on large ground"),
    "stand covers": (12, lambda r: _number(r.chances["stand covers"], 0, factor=100),
                     "a stand's interval covers 90 to 98 %"),
    "right": (24, lambda r: _days(r, "right", digits=1), "right at least 97.5 % among decided"),
    "decided": (21, lambda r: _days(r, "decided"), ""),
    "passer: res.": (19, lambda r: _days(r, "passers called resident"),
                     "passers called resident at most 10 % on 20 November"),
    "passer: p_passing": (19, lambda r: _days(r, "p_passing of passers"), ""),
    "visitor: res.": (18, lambda r: _days(r, "visitors called resident"), ""),
    "resident: vis.": (18, lambda r: _days(r, "residents called visiting"), ""),
    "living: gone": (18, lambda r: _days(r, "living called gone", digits=1),
                     "living called gone at most 1 %"),
    "dead: gone": (18, lambda r: _days(r, "dead called gone", ("20 Nov", "31 Jan", "31 Jul")),
                   "the shot called gone at least 65 % on 31 January"),
    "dead: vis.": (18, lambda r: _days(r, "dead called visiting", ("20 Nov", "31 Jan", "31 Jul")),
                   ""),
    "Brier": (18, lambda r: "/".join(f"{r.label('Brier', d).value:.3f}" for d in IN_SEASON), ""),
    "s": (5, lambda r: f"{r.seconds:.0f}", ""),
}  # fmt: skip
"""By heading: width, cell, and the aim that it is marked for."""

LEGEND = f"""\
given/true: chances of a visit in shooting light given in all, over the true ones (on tracks: over
  those of one who knows where each animal stood), ± standard error by property; never seen: at
  sites where he never was, in shooting light, so far; worst phase, worst bin (of the chance given):
  of those with 30 visits given or true.
loss, rule, truth, centre: log loss in thousandths of a nat a half-day, of ours, of the better of
  two simple rules, of the truth, of a half-normal activity centre. R: how far from rule to truth;
  season: with each phase counting by its days (winter is half of them).
stand covers: half-days, in percent, at stands worth a look, on which the interval holds the true
  chance that any of five targets comes.
Labels: percent on 31 October / 20 November / 31 January, ± standard error by property and (bucks)
  of the three together (p_passing: its mean; living called gone: with 31 July). Dead, and gone for
  good: 20 November / 31 January / 31 July after.
  "-": nothing of the kind, or not told. {MISSED}: an aim is missed. s: processor seconds."""


def heading(seeds: Sequence[int]) -> str:
    """What stands above the rows."""
    names = " | ".join(f"{name:{width}}" for name, (width, _, _) in COLUMNS.items())
    of = f"{len(seeds)} properties a world, seeds {seeds[0]} to {seeds[-1]}"
    return f"{of}\n{LEGEND}\n\n{'world':20} | {names}"


def line(row: Row) -> str:
    """One world's row."""
    not_met = missed(row)
    cells = []
    for width, cell, aim in COLUMNS.values():
        text = cell(row).replace("nan", "-") + (MISSED if aim in not_met else "")
        cells.append(f"{text:{width}}")
    return f"{row.world.name:20} | " + " | ".join(cells)


def aims_told(rows: Sequence[Row]) -> str:
    """By aim, in how many worlds it is met, and in which it is not."""
    lines = []
    for aim, (value, _) in AIMS.items():
        asked = [row for row in rows if not np.isnan(value(row))]
        not_met = [row.world.name for row in asked if aim in missed(row)]
        told = f"met in {len(asked) - len(not_met)} of {len(asked)} worlds"
        lines.append(f"{aim}: {told}" + (f"; not in {', '.join(not_met)}" if not_met else ""))
    return "\n".join(lines)


def write_measures(rows: Sequence[Row], path: Path) -> None:
    """Every measure as one line of a CSV file: ``world, measure, day, value, error, n, where``."""
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow(["world", "measure", "day", "value", "error", "n", "where"])
        for row in rows:
            named = {(name, ""): m for name, m in row.chances.items()} | row.labels
            for (name, day), m in named.items():
                out.writerow([row.world.name, name, day, m.value, m.error, m.n, m.where])
