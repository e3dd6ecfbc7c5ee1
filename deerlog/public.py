"""What deerlog gives to notebooks and scripts: a property opened once, its figures as tables.

In every table days are ``datetime64`` at midnight, local to the property; ``local`` is aware;
``season`` is the year a deer year opens in, ``int64``; counts are ``Int64``; a share, chance or
probability is from 0 to 1, the score from 0 to 100. What is not known is NaN, NA or NaT, never
zero: above all what happened while no camera ran. Each table is a copy, rows numbered from 0.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import date, datetime
from numbers import Integral
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from deerlog import study as inside
from deerlog.analysis.backtest.backtest import Backtest
from deerlog.analysis.backtest.scores import forecast_gain
from deerlog.analysis.visits import HALVES
from deerlog.errors import Problem
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
from deerlog.report.plan_files import plan_rows
from deerlog.report.tables import TABLE_COLUMNS
from deerlog.report.words.season_words import outlook_table
from deerlog.study.plan import WEEK_DAYS, coming_plan
from deerlog.study.replay import recent_worth, replay
from deerlog.study.sample import LAST_CARD, unpack_sample
from deerlog.study.study import RECENT_WEEKS

_DTYPES = {
    name: dtype
    for dtype, names in {
        "datetime64[us]": "day week_start opens closes change_day first_seen last_seen start end "
        "arrived left",
        "int64": "season",
        "Int64": "weeks_seen weeks_watched days_seen visits shooting_light_visits visits_behind "
        "longest_absence_days photos row visit stay light_days light_am light_pm gap_before_days "
        "gap_watched_days seasons_seen seasons_watched",
        "float64": "score p_year_round p_fall p_summer p_rut p_passing p_gone daylight_share "
        "daylight_low daylight_high camera_days around evidence share low high distance_m low_m "
        "high_m change_probability chance camera_days_behind camera_day harm latitude longitude "
        "x_m y_m",
        "bool": "target must_mend in_light bait gone seen",
        "str": "buck other_buck label pattern state phase site half from_phase to_phase camera "
        "stand advice why setting kind file column value how path way sites",
    }.items()
    for name in names.split()
}
"""The type of every column, the same in each table, also where a table has no row."""


class Study:
    """A property as known at the end of one day; each figure is worked out when first asked for.

    Made by `open_study` or `open_sample`.
    """

    def __init__(self, study: inside.PropertyStudy) -> None:
        if not isinstance(study, inside.PropertyStudy):
            raise TypeError(
                f"a study is made by deerlog.open_study(folder), not from {_named(study)}"
            )
        self._study = study
        self._replayed: dict[int, pd.DataFrame] = {}

    def __repr__(self) -> str:
        return f"<deerlog study of {self.name!r}, as of {self.as_of}>"

    @property
    def name(self) -> str:
        """Of the property, as in its settings."""
        return self._study.place.settings.name

    @property
    def folder(self) -> Path:
        """Of the property."""
        return self._study.place.folder

    @property
    def as_of(self) -> date | None:
        """The last day whose happenings count; None where nothing was ever recorded."""
        return self._study.as_of

    def labels(self) -> pd.DataFrame:
        """Who lives here, by the record as a whole: a row a buck.

        ``score`` is the probability, in percent, that he lives here through the hunting season (the
        patterns year-round and fall) and ``label`` its reading: resident from 80, visiting to 20,
        undecided between or where he was seen on fewer than two days. ``p_...`` are the
        probabilities of each pattern. ``weeks_seen`` of ``weeks_watched``, ``days_seen``,
        ``visits`` and ``shooting_light_visits`` are counts; ``daylight_share`` is the last over the
        one before, with its 95 % Jeffreys interval (Brown, Cai and DasGupta 2001, Statistical
        Science 16:101). ``longest_absence_days`` counts watched days between two of his visits.

        The model (hidden presence, day by day) and its rates are our choice: see
        ``deerlog/analysis/presence/patterns.py`` and ``judgement.py``.
        """
        return _of_seasons(self._study.residency.table, "residency.csv", of_record=True)

    def residency(self) -> pd.DataFrame:
        """`labels` as each season left them: a row a buck and season, up to and including it."""
        return _of_seasons(self._study.residency.table, "residency.csv", of_record=False)

    def weekly(self) -> pd.DataFrame:
        """Weeks: a row a buck and week of his seasons.

        ``camera_days`` is what ran of his cameras (a week has 7 for each). ``state`` is ``seen``,
        ``not seen`` or ``not watched``; counts of a week that was not watched are NA. ``around`` is
        the mean probability that he was on the property, by all that is known now.
        """
        return _table(self._study.residency.weekly, TABLE_COLUMNS["weekly.csv"])

    def evidence(self) -> pd.DataFrame:
        """Which weeks argued for what: a row a buck and week of his seasons.

        ``evidence`` is by how much the week moved the log odds (natural logarithm) that he lives
        here through the hunting season: above zero it spoke for it, and 0.7 doubles the odds. The
        evidence of all weeks and what was thought before any sum up to the log odds of his score; a
        week of an earlier season counts less, since a pattern can change. ``state, phase,
        days_seen`` say what happened in it.
        """
        columns = ["buck", "season", "week_start", "phase", "state", "days_seen", "evidence"]
        return _table(self._study.residency.weekly, columns)

    def daylight(self, *, by_season: bool = True) -> pd.DataFrame:
        """Share of visits in shooting light: a row a buck, season, phase, site and half, and sums.

        ``all`` as a phase, site or half is the sum over it. ``low`` and ``high`` are the 95 %
        Jeffreys interval of ``share``; ``half`` is AM or PM, split at solar noon.

        Parameters
        ----------
        by_season
            False: the same over the record as a whole, without the column ``season``.
        """
        return _of_seasons(self._study.daylight, "daylight.csv", of_record=not by_season)

    def shift(self) -> pd.DataFrame:
        """Changes of ground: a row a buck, season and pair of phases with enough days on camera.

        ``distance_m`` is between the centres of his use of the sites, corrected for what ran,
        metres; ``low_m`` and ``high_m`` its 95 % interval. ``change_day`` is the likeliest first
        day on the new ground (NaT where no change is likelier than not), ``change_probability``
        that there was one.
        """
        return _table(self._study.shift, TABLE_COLUMNS["shift.csv"])

    def windows(self) -> pd.DataFrame:
        """Runs of coming days on which a target is likelier than usual to show in shooting light.

        ``opens`` and ``closes`` are days, both included. ``chance`` is the mean probability, on one
        half-day of it, of at least one visit in shooting light by that buck at that site; with its
        interval, and the visits and camera-days behind it. A chance on camera, no promise of a
        shot.
        """
        return _table(self._study.windows, TABLE_COLUMNS["windows.csv"])

    def calendar(self) -> pd.DataFrame:
        """Stays: a row a buck and unbroken run of days on which he was most likely around.

        ``stay`` counts from 1 within a season; ``arrived`` and ``left`` are days, both included,
        ``left`` NaT while he stays; ``light_days`` are days with a visit in shooting light;
        ``sites`` his sites, most used first, parted by ``;``; ``gap_before_days`` lie between this
        stay and the one before, ``gap_watched_days`` of them watched.
        """
        return _table(self._study.stays, TABLE_COLUMNS["calendar.csv"])

    def outlook(self) -> pd.DataFrame:
        """Ways to hunt: a row a target and way, from the opener to a visitor's own days.

        ``state`` is ``open``, ``not yet``, ``over`` or ``no``; ``opens`` and ``closes`` are days;
        ``chance`` the mean over them, at the best site and half, of a visit of his in shooting
        light, with its interval; in ``seasons_seen`` of ``seasons_watched`` past seasons he came
        there and then in light; ``why`` says it in words.
        """
        return _table(outlook_table(self._study), TABLE_COLUMNS["outlook.csv"])

    def chances(self) -> pd.DataFrame:
        """Daily chances: a row a buck, site, half and day from the last day to the season's end.

        ``chance`` is the probability of at least one visit in shooting light under his name,
        whatever the weather, with its 95 % interval ``low`` to ``high``; ``around`` the probability
        that he is on the property that day.
        """
        made = self._study.forecast
        names = ["buck", "site", "half", "day"]
        axes: list[Sequence[Any]] = [made.bucks, made.sites, HALVES, list(made.days)]
        table = pd.MultiIndex.from_product(axes, names=names).to_frame(index=False)
        low, high = made.interval()
        chance, around = made.chance(), made.around[:, :, None, None]
        values = {"chance": chance, "low": low, "high": high, "around": around}
        for name, each in values.items():
            # (days, bucks, sites, halves) to (bucks, sites, halves, days).
            table[name] = np.broadcast_to(each, chance.shape).transpose(1, 2, 3, 0).ravel()
        return _table(table, table.columns)

    def plan(self, *, days: int = WEEK_DAYS) -> pd.DataFrame:
        """The coming sits, best first: a row a stand and half-day after the study's last day.

        ``chance`` is the probability of at least one visit in shooting light, by ``buck``, the
        target likeliest there, at the sites of the stand; ``advice`` is ``sit`` or what
        speaks against it, and ``why`` says it in words. ``days`` is how many days, from 1 on.
        """
        made = coming_plan(self._study, n_days=_at_least_one("days", days))
        return _table(plan_rows(made), TABLE_COLUMNS["plan.csv"])

    def sits_worth(self) -> pd.DataFrame:
        """What sits made of the chances on camera given for them: all (``stand`` is ``""``), then
        each stand.

        ``sits`` of the weeks replayed, on which a target was ``seen``, where so many were
        ``expected`` by camera; ``worth`` is seen over expected, shrunk, with its 95 % interval
        ``low`` to ``high``.
        """
        worth = recent_worth(self._study)
        return _table(worth, worth.columns)

    def replay(self, *, weeks: int = RECENT_WEEKS) -> pd.DataFrame:
        """Past weeks replayed: the chances that would have been given, beside what came.

        A row a buck, site and half-day whose camera ran all day, for the bucks a hunt is about.
        ``seen`` is whether he came in shooting light; ``forecast`` the chance given at the end of
        the week before, knowing nothing later; ``all_time`` and ``last_14_days`` what two simple
        rules would have said: his rate there over the whole record, and over the last 14 days.
        ``weeks`` is how many of the last weeks, from 1 on.
        """
        return _table(replayed := self._half_days(weeks), replayed.columns)

    def chance_scores(self, *, weeks: int = RECENT_WEEKS) -> pd.DataFrame:
        """How good the chances of `replay` were: a row for the forecast and for each simple rule.

        ``log_loss`` (nats) and ``brier`` are means over the half-days; lower is better (Brier 1950,
        Monthly Weather Review 78:1). ``top_sits_true`` of the ``top_sits`` best five sits of each
        day saw one of the bucks. ``gain`` is the share of a rule's log loss that the forecast
        saves, with its 95 % interval by weeks: only where all of it is above zero does the forecast
        beat the rule. It is NaN for the forecast itself, and the interval where too few weeks were
        replayed.
        """
        replayed = self._half_days(weeks)
        scores = Backtest(half_days=replayed, weeks=weeks).scores()
        gains = [forecast_gain(replayed, r) if r != "forecast" else None for r in scores["rule"]]
        for column, part in (("gain", "gain"), ("gain_low", "low"), ("gain_high", "high")):
            scores[column] = pd.Series([getattr(gain, part, None) for gain in gains], dtype=float)
        return scores

    def reliability(self, *, weeks: int = RECENT_WEEKS, rule: str = "forecast") -> pd.DataFrame:
        """When 20 % was said, how often was it? A row a range of the chances of `replay`.

        ``mean_chance`` is what was said, ``share`` what came (``came_true`` of ``half_days``), with
        its 95 % Jeffreys interval ``low`` to ``high``; half-days near each other are alike, so that
        the true interval is somewhat wider. ``rule`` is ``forecast``, ``all_time`` or
        ``last_14_days``.
        """
        return Backtest(half_days=self._half_days(weeks), weeks=weeks).reliability(rule)

    def wrong_names(self) -> pd.DataFrame:
        """How often a visit seems to bear the wrong name: a row for all names, then one a pair.

        ``share`` of the ``visits`` with a sure tag, in the first row with its 95 % interval ``low``
        to ``high``, learned from tags where their buck has no business. Further rows are pairs that
        may be taken for each other, ``buck`` and ``other_buck`` (empty in the first): ``chance``
        that they are, and the ``share`` of their visits that is exchanged if so. No row where no
        buck was ever seen.
        """
        columns = ["buck", "other_buck", "chance", "share", "low", "high", "visits"]
        wrong, visits = self._study.residency.wrong, self._study.visits
        rows: list[tuple[Any, ...]] = []
        if wrong is not None:
            rows.append(("", "", 1.0, wrong.share, wrong.low, wrong.high, len(visits)))
            for pair in wrong.pairs:
                n = int(visits["buck"].isin(pair.bucks).sum())
                rows.append((*pair.bucks, pair.chance, pair.share, np.nan, np.nan, n))
        return _table(pd.DataFrame(rows, columns=columns), columns)

    def _half_days(self, weeks: int) -> pd.DataFrame:
        """The replayed half-days, kept: every week replayed is a forecast made."""
        if _at_least_one("weeks", weeks) not in self._replayed:
            first = self._study.last_day - pd.Timedelta(weeks=weeks, days=-1)
            self._replayed[weeks] = replay(self._study, first).backtest.half_days
        return self._replayed[weeks]

    def effort(self) -> pd.DataFrame:
        """What ran: a row a camera, site and day, ``camera_day`` from 0 to 1 of that day."""
        return _table(self._study.effort, TABLE_COLUMNS["effort.csv"])

    def visits(self) -> pd.DataFrame:
        """Visits with a sure tag: a row a buck and visit, in order of buck and time.

        ``local`` is his first tagged photo in the visit, ``photos`` how many there are;
        ``in_light``: within shooting light by the settings of the property.
        """
        columns = "buck site camera setting bait local photos day season phase half in_light"
        visits = self._study.visits.sort_values(["buck", "local"], kind="stable")
        return _table(visits, columns.split())

    def photos(self) -> pd.DataFrame:
        """Every photo and video that counts, up to the last day: a row each, by camera and path.

        ``path`` is below the property folder; ``local`` its corrected time; ``site`` is empty where
        its camera stood nowhere then; ``kind`` is ``photo``, ``video`` or ``log`` (of a list);
        ``visit`` numbers visits of any animal, NA for none; ``gone``: no longer on the disk. Copies
        of a picture and photos of an impossible time are left out.
        """
        photos = self._study.field_log.photos
        counts = photos["same_as"].isna() & (photos["excluded"] == "")
        table = photos[counts & (photos["local"] < self._study.last_moment)]
        table = table.assign(
            path="cards/" + table["folder"] + "/" + table["path"],
            visit=table["visit"].astype("Int64").where(table["visit"] >= 0),
        )
        return _table(table, ["camera", "site", "path", "local", "kind", "visit", "gone"])

    def sites(self) -> pd.DataFrame:
        """Every site once, as its last placement so far has it.

        ``latitude, longitude`` in degrees; ``x_m, y_m`` metres east and north of the property's own
        position.
        """
        columns = ["site", "setting", "bait", "latitude", "longitude", "x_m", "y_m"]
        return _table(self._study.sites, columns)

    def cameras(self) -> pd.DataFrame:
        """Where each camera stood: a row a placement, from ``start`` to ``end`` (NaT: still)."""
        columns = ["camera", "site", "setting", "latitude", "longitude", "start", "end", "bait"]
        return _table(self._study.place.placements, columns)

    def problems(self) -> pd.DataFrame:
        """What a person should mend or know, most harmful first; the same as ``deerlog check``.

        ``kind`` is a stable word for scripts; ``file``, ``row`` (as a spreadsheet counts),
        ``column`` and ``value`` say where; ``why`` and ``how`` are sentences; ``must_mend`` tells
        what makes a figure wrong from what is worth knowing; ``harm`` is how many visits it
        touches.
        """
        columns = ["kind", "file", "row", "column", "value", "why", "how", "must_mend", "harm"]
        found = [[getattr(p, name) for name in columns] for p in self._study.problems]
        return _table(pd.DataFrame(found, columns=columns), columns)


def _table(table: pd.DataFrame, columns: Any) -> pd.DataFrame:
    """A copy of some columns with their types, rows numbered anew."""
    chosen = table[list(columns)].reset_index(drop=True)
    return chosen.astype({name: _DTYPES[name] for name in chosen if name in _DTYPES})


def _of_seasons(table: pd.DataFrame, file: str, *, of_record: bool) -> pd.DataFrame:
    """The rows of single seasons, or those of the record as a whole without a season."""
    whole = table["season"] == "all"
    columns = [c for c in TABLE_COLUMNS[file] if not (of_record and c == "season")]
    return _table(table[whole if of_record else ~whole], columns)


# --- opened and read ----------------------------------------------------------------------------


def open_study(folder: str | os.PathLike[str], *, as_of: date | None = None) -> Study:
    """Open a property folder, whose cards were read before, for study.

    Parameters
    ----------
    folder
        The property folder.
    as_of
        Use only what had happened by the end of this day. None: the last day on which any camera
        is known to have run. No clock is asked, so that one folder always gives the same tables.

    Raises
    ------
    DeerlogError
        The folder or its photo log cannot be used; the text says what to do.
    TypeError
        ``folder`` is no path, or ``as_of`` no date.
    """
    return Study(inside.open_study(_path(folder), as_of=_day("as_of", as_of)))


def open_sample(folder: str | os.PathLike[str], *, today: date | None = None) -> Study:
    """Unpack the sample property into a folder, read its cards, and open it.

    The place, its bucks and its weather are invented; ``sample_data/README.md`` tells the story.

    Parameters
    ----------
    folder
        Empty, not there yet, or one into which the sample was unpacked before.
    today
        As in `read_cards`; the sample's last card was pulled on 22 November 2026.

    Raises
    ------
    DeerlogError
        The folder holds something else, or cannot be written.
    """
    unpack_sample(_path(folder))
    read_cards(folder, today=max(_run_day(today), LAST_CARD))
    return open_study(folder)


def read_cards(folder: str | os.PathLike[str], *, today: date | None = None) -> tuple[Problem, ...]:
    """Read what is new on the cards into the photo log, and extend the tag sheets.

    The same as ``deerlog ingest``: nothing below ``cards/`` is written, nothing a person typed is
    changed, and a second run with nothing new writes nothing.

    Parameters
    ----------
    folder
        The property folder.
    today
        The day of the run; a photo that claims to be from after it is kept, but left out. None:
        the day it is.

    Returns
    -------
    tuple of Problem
        What a person should mend.

    Raises
    ------
    DeerlogError
        The folder cannot be used, or the photo log is in use by another run.
    """
    place = open_property(_path(folder))
    return ingest_cards(place, today=_run_day(today)).problems


def _path(folder: object) -> Path:
    if isinstance(folder, str | os.PathLike):
        return Path(folder)
    raise TypeError(f"folder must be the path of a property folder, not {_named(folder)}")


def _day(name: str, day: object) -> date | None:
    if isinstance(day, datetime):
        return day.date()
    if day is None or isinstance(day, date):
        return day
    raise TypeError(f"{name} must be a day such as date(2026, 10, 31), not {_named(day)}")


def _run_day(today: object) -> date:
    return _day("today", today) or date.today()  # noqa: DTZ011


def _at_least_one(name: str, number: object) -> int:
    if not isinstance(number, Integral) or isinstance(number, bool):
        raise TypeError(f"{name} must be a whole number, not {_named(number)}")
    if number < 1:
        raise ValueError(f"{name} is {number}; it must be at least one.")
    return int(number)


def _named(thing: object) -> str:
    return f"{thing!r:.40} ({type(thing).__name__})"
