"""What changed since the report before, read back from its own tables: labels, scores, new bucks,
visits, windows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pandas as pd

from deerlog.report.page.template_engine import Row, records, rows
from deerlog.report.tables import TABLE_COLUMNS, read_cell
from deerlog.report.words.words import count, day_month, half, listing, number, score, span
from deerlog.study import PropertyStudy

REPORTS = "reports"
_DAYS = frozenset({"first_seen", "last_seen", "opens", "closes"})
_NUMBERS = frozenset({"score", "visits", "chance"})


@dataclass(frozen=True, kw_only=True)
class EarlierReport:
    """An earlier report's figures by `TABLE_COLUMNS`, as it wrote them: `_DAYS` as dates,
    `_NUMBERS` as numbers, the others as text."""

    day: date
    """The last day it knew."""
    residency: pd.DataFrame
    windows: pd.DataFrame | None
    """None where it wrote none."""


def latest_earlier_report(folder: Path, before: date) -> EarlierReport | None:
    """The latest report of a property that knew less than this one; None where there is none.

    Only reports of earlier days count, whenever they were written, so that a report written again
    compares with the same one. A folder without a readable ``residency.csv`` (a plan alone, or a
    table someone changed) is passed over.
    """
    days = []
    for place in (folder / REPORTS).glob("????-??-??"):
        try:
            day = date.fromisoformat(place.name)
        except ValueError:
            continue
        if day < before:
            days.append((day, place))
    for day, place in sorted(days, reverse=True):
        residency = _table(place / "residency.csv")
        if residency is not None:
            windows = _table(place / "windows.csv")
            return EarlierReport(day=day, residency=residency, windows=windows)
    return None


def _table(path: Path) -> pd.DataFrame | None:
    """A table of a report; None where it is not there, or not as it was written."""
    try:
        frame = pd.read_csv(path, dtype="str", keep_default_na=False, encoding="utf-8")
        for column in frame.columns:
            if column in _DAYS:
                frame[column] = [date.fromisoformat(d) if d else None for d in frame[column]]
            elif column in _NUMBERS:
                frame[column] = [float(n) if n else float("nan") for n in frame[column]]
            else:
                frame[column] = frame[column].map(read_cell)
    except (OSError, ValueError):  # a parser's error is one, too
        return None
    return frame if set(TABLE_COLUMNS[path.name]) <= set(frame.columns) else None


SCORE_MOVED = 10.0
"""Points by which a score must have moved to be told where the label stays (our choice)."""
WINDOW_MOVED_DAYS = 3
"""Days by which a window must have moved to be told (our choice)."""
NAMED = 6
"""New bucks named before the rest is only counted (our choice)."""
HARDLY_TAGGED = 0.1
"""Share of what ran since that must be looked at before it is told that he did not come (our
choice)."""


def what_changed(
    study: PropertyStudy, earlier: EarlierReport, shown: Sequence[str]
) -> tuple[str, ...]:
    """Sentences, those that matter most first; empty where nothing changed.

    Labels and new bucks are told of all; scores, visits and windows of the bucks ``shown`` in full.
    """
    now = _all_seasons(study.residency.table)
    then = _all_seasons(earlier.residency)
    order = [*shown, *(b for b in now if b not in shown)]
    known = [b for b in order if b in then and b in now]
    told = [s for b in known if (s := _label(b, now[b], then[b], told_of_score=b in shown))]
    told += _new(study, [b for b in order if b not in then and b in now])
    gone = [b for b in then if b not in now]
    told += [f"No tag bears the name {listing(gone, 'or')} any more."] if gone else []
    told += _visits(study, earlier.day, shown, then)
    if earlier.windows is not None:
        told += _windows(study.last_day.date(), study.windows, earlier.windows, shown)
    return tuple(told)


def _all_seasons(table: pd.DataFrame) -> dict[str, Row]:
    return {row["buck"]: row for row in records(table[table["season"] == "all"])}


def _label(buck: str, now: Row, then: Row, *, told_of_score: bool) -> str:
    new, old = score(now["score"]), score(then["score"])
    if now["label"] != then["label"]:
        return f"{buck} is now {now['label']}, score {new}; he was {then['label']}, score {old}."
    if told_of_score and abs(now["score"] - then["score"]) >= SCORE_MOVED:
        return f"{buck} is still {now['label']}; his score went from {old} to {new}."
    return ""


def _new(study: PropertyStudy, bucks: Sequence[str]) -> Iterable[str]:
    if not bucks:
        return
    if len(bucks) > NAMED:
        named = listing([*bucks[:NAMED], f"{len(bucks) - NAMED} more"])
        yield f"{count(len(bucks), 'new buck')}: {named}."
        return
    visits = study.visits
    for buck in bucks:
        first = visits[visits["buck"] == buck].iloc[0]
        yield (
            f"New: {buck}, first seen on {day_month(first['day'].date())} "
            f"{first['day'].year} at {first['site']}."
        )


def _visits(
    study: PropertyStudy, since: date, shown: Sequence[str], then: dict[str, Row]
) -> Iterable[str]:
    """Visits since, and tags on earlier days that came or went since."""
    visits = study.visits[study.visits["buck"].isin(shown)]
    fresh = visits[visits["day"] > pd.Timestamp(since)]
    unseen = []
    for buck in shown:
        mine = fresh[fresh["buck"] == buck]
        before = int((visits["buck"] == buck).sum()) - len(mine)
        late = before - int(then[buck]["visits"]) if buck in then else 0
        other = _late(late)
        if len(mine):
            last = mine.iloc[-1]
            light = int(mine["in_light"].sum())
            yield (
                f"{buck}: {count(len(mine), 'new visit')}, "
                f"{light or 'none'} in shooting light, the last on "
                f"{day_month(last['day'].date())} at {last['site']}{other and f'; {other}'}."
            )
        elif other:
            yield f"{buck}: no new visit; {other}."
        else:
            unseen.append(buck)
    if unseen:
        ran, watched = (_camera_days(table, since) for table in (study.effort, study.watched))
        if not ran:
            yield "No camera has run since."
        elif watched < HARDLY_TAGGED * ran:
            yield "What came since is not tagged yet."
        else:
            days = number(round(watched, 1))
            yield f"No new visit by {listing(unseen, 'or')} in {days} camera-days."


def _camera_days(effort: pd.DataFrame, since: date) -> float:
    return float(effort.loc[effort["day"] > pd.Timestamp(since), "camera_day"].sum())


def _late(visits: int) -> str:
    if visits > 0:
        return f"{count(visits, 'earlier visit')} tagged since"
    return f"{count(-visits, 'earlier visit')} no longer tagged as his" if visits < 0 else ""


def _windows(
    today: date, now: pd.DataFrame, then: pd.DataFrame, shown: Sequence[str]
) -> Iterable[str]:
    """Where the best window still ahead is another than it was."""
    for buck in shown:
        new, old = (
            max(
                (w for w in rows(table[table["buck"] == buck]) if w["closes"] > today),
                key=lambda w: (w["chance"], -w["opens"].toordinal()),
                default=None,
            )
            for table in (now, then)
        )
        if new is None:
            continue
        if old is None:
            yield f"{buck} has a window ahead: {_window_words(new)}."
        elif (new["site"], new["half"]) != (old["site"], old["half"]) or max(
            abs((new[end] - old[end]).days) for end in ("opens", "closes")
        ) > WINDOW_MOVED_DAYS:
            was = _window_words(old)
            yield f"{buck}'s best window ahead is now {_window_words(new)}; it was {was}."


def _window_words(window: Row) -> str:
    when = span(window["opens"], window["closes"])
    return f"{when} at {window['site']}, {half(window['half'])}s"
