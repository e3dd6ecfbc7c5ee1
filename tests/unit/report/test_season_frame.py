from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from invented.invented_page import chances, frame

from deerlog.analysis.season.day_states import DAY_STATES
from deerlog.property.settings import settings_from_text
from deerlog.report.page.season_frame import (
    LARGEST_BAR,
    chance_shape,
    cut_frames,
    day_paths,
    effort_boxes,
    evidence_bars,
    season_frame,
    window_boxes,
)

FRAME = frame(2025)  # 1 June 2025 to 31 May 2026, drawn as 366 days


def week(
    start: date, state: str, *, around: float | None = 0.5, evidence: float = 0.0
) -> dict[str, Any]:
    return {
        "week_start": start,
        "state": state,
        "days_seen": 2,
        "camera_days": 0.0 if state == "not watched" else 21.0,
        "visits": 3,
        "around": around,
        "evidence": evidence,
    }


def place(first: date, end: date) -> tuple[float, float]:
    box = FRAME.box(first, end)
    return box["left"], box["width"]


def test_place_in_percent_of_the_season() -> None:
    assert place(date(2025, 6, 1), date(2026, 6, 1)) == (0.0, 100.0)
    left, width = place(date(2025, 6, 8), date(2025, 6, 15))
    assert left == pytest.approx(700 / 366, abs=1e-3)
    assert width == pytest.approx(700 / 366, abs=1e-3)


def test_a_week_across_the_season_s_start_or_end_is_cut_to_it() -> None:
    assert place(date(2025, 5, 26), date(2025, 6, 2)) == (0.0, pytest.approx(100 / 366, abs=1e-3))
    left, width = place(date(2026, 5, 30), date(2026, 6, 6))
    assert left + width == pytest.approx(100.0, abs=1e-3)


@pytest.mark.parametrize("season", [2023, 2024, 2025])
def test_a_day_lies_under_the_same_day_of_other_seasons_leap_year_or_not(season: int) -> None:
    here = frame(season)
    assert here.length == 366
    firsts = [date(season + (month < 6), month, 1) for month in (*range(6, 13), *range(1, 6))]
    assert [here.place(day) for day in firsts] == [
        0, 30, 61, 92, 122, 153, 183, 214, 245, 274, 305, 335,
    ]  # fmt: skip
    # Nothing is left open where a common year has no 29 February.
    before = here.box(date(season + 1, 2, 1), date(season + 1, 3, 1))
    after = here.box(date(season + 1, 3, 1), date(season + 1, 4, 1))
    assert before["left"] + before["width"] == pytest.approx(after["left"], abs=1e-3)


def test_a_season_that_opens_in_march_has_its_own_29_february_only() -> None:
    first, end = date(2024, 3, 1), date(2025, 3, 1)
    here = replace(frame(2024), first=first, end=end)
    assert here.length == 366
    assert here.place(date(2025, 2, 28)) == 364


def test_days_of_one_state_are_one_path_and_those_not_watched_boxes() -> None:
    states = ("seen in light", "seen in the dark", "seen in light", "seen in light", "not seen")
    days = [(date(2025, 6, 1) + timedelta(days=n), state) for n, state in enumerate(states)]
    days += [(date(2025, 6, 6), "not watched"), (date(2025, 6, 7), "not watched")]
    days += [(date(2025, 5, 31), "seen in light"), (date(2026, 6, 1), "seen in light")]
    drawn = {each["state"]: each for each in day_paths(FRAME, sorted(days))}
    assert tuple(drawn) == DAY_STATES
    assert drawn["seen in light"]["path"] == "M0 0h1v1H0zM2 0h2v1H2z"
    assert drawn["seen in the dark"]["path"] == "M1 0h1v1H1z"
    assert drawn["not seen"]["path"] == "M4 0h1v1H4z"
    (box,) = drawn["not watched"]["boxes"]
    assert box["words"] == "not watched, 6 to 7 June 2025"
    assert box["left"] == pytest.approx(500 / 366, abs=1e-3)


@pytest.mark.parametrize(
    ("weight", "said"),
    [
        (0.6, ["Week of 7 July 2025: argues for resident (+0.6)"]),
        (-1.26, ["Week of 7 July 2025: argues for visiting (-1.3)"]),
        (0.04, []),
        (-0.04, []),
    ],
)
def test_what_a_week_argues_is_said_in_the_words_of_the_key(weight: float, said: list[str]) -> None:
    boxes = evidence_bars(FRAME, [week(date(2025, 7, 7), "not seen", evidence=weight)])
    assert [box["words"] for box in boxes] == said


def test_evidence_bars_keep_their_side_and_never_leave_the_strip() -> None:
    weights = (LARGEST_BAR * 5, LARGEST_BAR / 2, 0.0, -LARGEST_BAR * 5)
    cells = [
        week(date(2025, 7, 7) + timedelta(days=7 * n), "seen", evidence=w)
        for n, w in enumerate(weights)
    ]
    assert [box["bar"] for box in evidence_bars(FRAME, cells)] == [1.0, 0.5, -1.0]


def test_months_fill_the_season_without_gap() -> None:
    boxes = FRAME.months
    assert "".join(b["words"] for b in boxes) == "JJASONDJFMAM"
    assert sum(b["width"] for b in boxes) == pytest.approx(100, abs=0.01)


def test_hunting_dates_include_the_closing_day() -> None:
    gun = FRAME.open_days[1]
    assert gun["width"] == pytest.approx(700 / 366, abs=1e-3)
    assert gun["words"] == "gun: 29 November to 5 December 2025"


def test_the_rut_is_where_the_phase_is() -> None:
    (box,) = FRAME.rut
    assert box["left"] == pytest.approx(
        100 * (date(2025, 11, 5) - FRAME.first).days / 366, abs=1e-3
    )


def test_the_chances_are_one_step_a_day() -> None:
    given = (0.02, 0.02, 0.04, 0.0)
    days = [
        {"day": date(2025, 12, 1) + timedelta(days=n), "chance": chance}
        for n, chance in enumerate(given)
    ]
    shape = chance_shape(FRAME, days, highest=0.04)
    assert shape["path"] == "M0 1H0V0.5H2V0H3V1H4V1z"
    assert shape["days"] == 4
    assert (shape["left"], shape["width"]) == place(date(2025, 12, 1), date(2025, 12, 5))


def test_no_chance_at_all_is_flat() -> None:
    shape = chance_shape(FRAME, chances(0.0), highest=0.0)
    assert shape["path"] == "M0 1H0V1H196V1z"


def test_windows_are_named() -> None:
    opens, closes = date(2025, 11, 28), date(2025, 12, 9)
    window = {"site": "Seep", "half": "PM", "opens": opens, "closes": closes}
    (box,) = window_boxes(FRAME, [window])
    assert (box["left"], box["width"]) == place(date(2025, 11, 28), date(2025, 12, 10))
    assert box["words"] == "Seep, evenings: 28 November to 9 December 2025"


def effort(*states: str, site: str = "Seep") -> list[tuple[date, str, str]]:
    return [(date(2025, 7, 1) + timedelta(days=n), site, state) for n, state in enumerate(states)]


def test_days_alike_are_one_box_and_none_is_lost() -> None:
    boxes = effort_boxes(
        FRAME, effort("ran", "ran", "ran", "part", "not known", "not known", "ran")
    )
    assert [b["kind"] for b in boxes] == ["ran", "part", "not known", "ran"]
    assert [round(b["width"] * 3.65) for b in boxes] == [3, 1, 2, 1]
    assert boxes[0]["words"] == "Seep: ran, 1 to 3 July 2025"


def test_a_day_without_a_row_is_left_blank() -> None:
    rows = effort("ran", "ran", "ran")
    boxes = effort_boxes(FRAME, [rows[0], rows[2]])
    assert len(boxes) == 2
    assert boxes[1]["left"] > boxes[0]["left"] + boxes[0]["width"]


def test_a_move_to_another_site_begins_a_new_box() -> None:
    rows = [*effort("ran", "ran"), *effort("", "", "ran", site="Ford")[2:]]
    assert [b["words"].split(":")[0] for b in effort_boxes(FRAME, rows)] == ["Seep", "Ford"]


def test_other_seasons_are_left_to_their_own_row() -> None:
    assert effort_boxes(frame(2024), effort("ran", "ran")) == []


def test_closed_days_are_narrow_and_the_rut_wide() -> None:
    at = FRAME.across(closed=0.5, rut=3.0)
    width = {name: at[n + 1] - at[n] for name, n in {
        "closed": 0, "open": (date(2025, 10, 1) - FRAME.first).days,
        "rut": (date(2025, 11, 12) - FRAME.first).days}.items()}  # fmt: skip
    assert at[0] == 0 and at[-1] == pytest.approx(1) and len(at) == 366
    assert width["closed"] / width["open"] == pytest.approx(0.5)
    assert width["rut"] / width["open"] == pytest.approx(3)


def test_strips_are_cut_to_the_months_that_tell_something() -> None:
    frames = {season: frame(season) for season in (2024, 2025)}

    def weeks(states: dict[date, str]) -> list[dict[str, Any]]:
        return [week(day, state) for day, state in states.items()]

    before = weeks(
        {
            date(2024, 6, 3): "not watched",
            date(2024, 8, 5): "seen",
            date(2024, 12, 2): "not seen",
            date(2025, 2, 3): "not watched",
        }
    )
    now = weeks({date(2025, 9, 1): "seen", date(2025, 10, 6): "not watched"})
    cut = cut_frames({2024: before, 2025: now}, frames)
    # The same months in every row: those of the first and last watched week of any season.
    assert (cut[2024].first, cut[2024].end) == (date(2024, 8, 1), date(2025, 1, 1))
    assert (cut[2025].first, cut[2025].end) == (date(2025, 8, 1), date(2026, 1, 1))
    # What is not known now is shown, though nothing was watched.
    alone = cut_frames({2025: now}, frames)[2025]
    assert (alone.first, alone.end) == (date(2025, 9, 1), date(2025, 11, 1))
    boxes = evidence_bars(cut[2024], [each | {"evidence": 1.0} for each in before])
    assert len(boxes) == 2
    assert all(0 <= b["left"] < 100 and b["width"] > 0 for b in boxes)
    assert alone.open_days and not alone.rut
    assert cut_frames({}, frames) == {}


def test_a_hunting_season_across_the_season_s_start_is_cut_to_it() -> None:
    text = """name = "x"
latitude = 40.0
longitude = -90.0
timezone = "America/Chicago"
season_start = "12-01"
rut_peak = "11-12"
[[hunting]]
name = "bow"
opens = "10-01"
closes = "01-15"
"""
    settings, _ = settings_from_text(text, folder_name="x")
    cut = season_frame(settings, 2024)
    assert cut.hunting == (
        ("bow", date(2024, 12, 1), date(2025, 1, 15)),
        ("bow", date(2025, 10, 1), date(2025, 11, 30)),
    )
