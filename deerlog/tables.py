"""The tables of a study, for notebooks and scripts: the same figures as the report's CSV files.

Days are naive midnights (``datetime64``), local to the property; times are aware. A share, chance
or probability is from 0 to 1, the score from 0 to 100. What is not known is NaN, NA or NaT, never
zero: above all what happened while no camera ran.
"""

from __future__ import annotations

import pandas as pd

from deerlog.analysis.backtest.backtest import Backtest
from deerlog.analysis.backtest.scores import forecast_gain
from deerlog.report.plan_files import plan_rows
from deerlog.report.tables import TABLE_COLUMNS
from deerlog.study import Study
from deerlog.study.plan import coming_plan
from deerlog.study.replay import replay
from deerlog.study.study import RECENT_WEEKS


def residency_table(study: Study) -> pd.DataFrame:
    """Who lives here: a row a buck and season, and one with season ``all``.

    ``score`` is the probability, in percent, that he lives here through the hunting season (the
    patterns year-round and fall) and ``label`` its reading: resident from 80, visiting to 20,
    undecided between or where he was seen on fewer than two days. ``p_...`` are the probabilities
    of each pattern. ``weeks_seen`` of ``weeks_watched``, ``days_seen``, ``visits`` and
    ``shooting_light_visits`` are counts; ``daylight_share`` is the last over the one before, with
    its 95 % Jeffreys interval (Brown, Cai and DasGupta 2001, Statistical Science 16:101).
    ``longest_absence_days`` counts watched days between two of his visits.

    The model (hidden presence, day by day) and its rates are our choice: see
    ``deerlog/analysis/presence/patterns.py`` and ``judgement.py``.
    """
    return _columns(study.residency.table, "residency.csv")


def weekly_table(study: Study) -> pd.DataFrame:
    """Weeks: a row a buck and week of his seasons.

    ``camera_days`` is what ran of his cameras (a week has 7 for each). ``state`` is ``seen``,
    ``not seen`` or ``not watched``; counts of a week that was not watched are NA. ``around`` is the
    mean probability that he was on the property, by all that is known now.
    """
    return _columns(study.residency.weekly, "weekly.csv")


def evidence_table(study: Study) -> pd.DataFrame:
    """Which weeks argued for what: a row a buck and week of his seasons.

    ``evidence`` is by how much the week moved the log odds (natural logarithm) that he lives here
    through the hunting season: above zero it spoke for it, and 0.7 doubles the odds. The evidence
    of all weeks and what was thought before any sum up to the log odds of his score; a week of an
    earlier season counts less, since a pattern can change. ``state, phase, days_seen`` say what
    happened in it.
    """
    columns = ["buck", "season", "week_start", "phase", "state", "days_seen", "evidence"]
    return study.residency.weekly[columns].reset_index(drop=True)


def daylight_table(study: Study) -> pd.DataFrame:
    """Share of visits in shooting light: a row a buck, season, phase, site and half, and sums.

    ``all`` in a column is the sum over it. ``low`` and ``high`` are the 95 % Jeffreys interval of
    ``share``; ``half`` is AM or PM, split at solar noon.
    """
    return _columns(study.daylight, "daylight.csv")


def shift_table(study: Study) -> pd.DataFrame:
    """Changes of ground: a row a buck, season and pair of phases with enough days on camera.

    ``distance_m`` is between the centres of his use of the sites, corrected for what ran, metres;
    ``low_m`` and ``high_m`` its 95 % interval. ``change_day`` is the likeliest first day on the new
    ground (NaT where no change is likelier than not), ``change_probability`` that there was one.
    """
    return _columns(study.shift, "shift.csv")


def window_table(study: Study) -> pd.DataFrame:
    """Runs of coming days on which a target is likelier than usual to show in shooting light.

    ``opens`` and ``closes`` are days, both included. ``chance`` is the mean probability, on one
    half-day of it, of at least one visit in shooting light by that buck at that site; with its
    interval, and the visits and camera-days behind it. A chance on camera, no promise of a shot.
    """
    return _columns(study.windows, "windows.csv")


def effort_table(study: Study) -> pd.DataFrame:
    """What ran: a row a camera, site and day, ``camera_day`` from 0 to 1 of that day."""
    return _columns(study.effort, "effort.csv")


def visit_table(study: Study) -> pd.DataFrame:
    """Visits with a sure tag: a row a buck and visit, in order of buck and time.

    ``buck, site, camera, setting, bait``; ``local`` (aware) is his first tagged photo in the visit,
    ``photos`` how many there are; ``day, season, phase, half``; ``in_light``: within shooting light
    by the settings of the property.
    """
    columns = ["buck", "site", "camera", "setting", "bait", "local", "photos", "day", "season",
               "phase", "half", "in_light"]  # fmt: skip
    visits = study.visits.sort_values(["buck", "local"], kind="stable")
    return visits[columns].reset_index(drop=True)


def plan_table(study: Study, *, days: int = 7) -> pd.DataFrame:
    """The coming sits, best first: a row a stand and half-day after the study's last day.

    ``chance`` is the probability of at least one visit in shooting light, by a target buck, at the
    sites of the stand; ``buck`` whom it is mostly about; ``advice`` is ``sit`` or what speaks
    against it, and ``why`` says it in words.

    Parameters
    ----------
    days
        How many days, from 1 on.

    Raises
    ------
    ValueError
        ``days`` is below 1.
    """
    if days < 1:
        raise ValueError(f"days is {days}; a plan has at least one.")
    return plan_rows(coming_plan(study, n_days=days))


def replay_table(study: Study, *, weeks: int = RECENT_WEEKS) -> pd.DataFrame:
    """Past weeks replayed: the chances that would have been given, beside what came.

    A row a buck, site and half-day whose camera ran all day, for the bucks a hunt is about.
    ``seen`` is whether he came in shooting light; ``forecast`` the chance given at the end of the
    week before, knowing nothing later; ``all_time`` and ``last_14_days`` what two simple rules
    would have said: his rate there over the whole record, and over the last 14 days.

    Parameters
    ----------
    weeks
        How many of the last weeks, from 1 on.

    Raises
    ------
    ValueError
        ``weeks`` is below 1.
    """
    if weeks < 1:
        raise ValueError(f"weeks is {weeks}; at least one must be replayed.")
    first = study.last_day - pd.Timedelta(weeks=weeks, days=-1)
    return replay(study, first=first).backtest.half_days.reset_index(drop=True)


def chance_score_table(replayed: pd.DataFrame) -> pd.DataFrame:
    """How good chances were: a row for the forecast and for each simple rule.

    ``log_loss`` (nats) and ``brier`` are means over the half-days; lower is better (Brier 1950,
    Monthly Weather Review 78:1). ``top_sits_true`` of the ``top_sits`` best five sits of each day
    saw one of the bucks. ``gain`` is the share of a rule's log loss that the forecast saves, with
    its 95 % interval by weeks: only where all of it is above zero does the forecast beat the rule.
    It is NaN for the forecast itself, and the interval where too few weeks were replayed.

    Parameters
    ----------
    replayed
        Of `replay_table`.
    """
    scores = Backtest(half_days=replayed, weeks=0).scores()
    gains = [
        None if rule == "forecast" else forecast_gain(replayed, rule) for rule in scores["rule"]
    ]
    parts = {"gain": "gain", "gain_low": "low", "gain_high": "high"}
    return scores.assign(
        **{
            column: [float("nan") if g is None else getattr(g, part) for g in gains]
            for column, part in parts.items()
        }
    ).astype(dict.fromkeys(parts, float))


def reliability_table(replayed: pd.DataFrame, *, rule: str = "forecast") -> pd.DataFrame:
    """When 20 % was said, how often was it? A row a range of chances that any half-day fell into.

    ``mean_chance`` is what was said, ``share`` what came (``came_true`` of ``half_days``), with its
    95 % Jeffreys interval ``low`` to ``high``; half-days near each other are alike, so that the
    true interval is somewhat wider.

    Parameters
    ----------
    replayed
        Of `replay_table`.
    rule
        ``forecast``, ``all_time`` or ``last_14_days``.
    """
    return Backtest(half_days=replayed, weeks=0).reliability(rule)


def problem_table(study: Study) -> pd.DataFrame:
    """What a person should mend or know, most harmful first; the same as ``deerlog check``.

    ``kind`` is a stable word for scripts; ``file``, ``row`` (as a spreadsheet counts), ``column``
    and ``value`` say where; ``why`` and ``how`` are sentences; ``must_mend`` tells what makes a
    figure wrong from what is worth knowing; ``harm`` is how many visits it touches.
    """
    columns = ["kind", "file", "row", "column", "value", "why", "how", "must_mend", "harm"]
    found = [[getattr(problem, name) for name in columns] for problem in study.problems]
    return pd.DataFrame(found, columns=columns).astype({"row": "Int64"})


def _columns(table: pd.DataFrame, file: str) -> pd.DataFrame:
    """A copy of a table with the columns of a file of the report, rows numbered anew."""
    return table[list(TABLE_COLUMNS[file])].reset_index(drop=True)
