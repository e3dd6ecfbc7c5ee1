from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from invented.invented_page import chances, frame

from deerlog.property.settings import settings_from_text
from deerlog.report.page.season_frame import (
    LARGEST_BAR,
    chance_shape,
    cut_frames,
    effort_boxes,
    season_frame,
    week_boxes,
    window_boxes,
)

FRAME = frame(2025)  # 1 June 2025 to 31 May 2026, 365 days


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
    assert left == pytest.approx(700 / 365, abs=1e-3)
    assert width == pytest.approx(700 / 365, abs=1e-3)


def test_a_week_across_the_season_s_start_or_end_is_cut_to_it() -> None:
    assert place(date(2025, 5, 26), date(2025, 6, 2)) == (0.0, pytest.approx(0.274))
    left, width = place(date(2026, 5, 30), date(2026, 6, 6))
    assert left + width == pytest.approx(100.0, abs=1e-3)


@pytest.mark.parametrize("state", ["seen", "not seen", "not watched"])
def test_each_state_has_its_own_look(state: str) -> None:
    (box,) = week_boxes(FRAME, [week(date(2025, 7, 7), state)])
    assert box["kind"] == state.replace(" ", "-")
    assert f": {state}" in box["words"]


def test_seen_is_told_with_its_counts() -> None:
    (box,) = week_boxes(FRAME, [week(date(2025, 7, 7), "seen", around=0.81, evidence=0.6)])
    assert box["words"] == (
        "Week of 7 July 2025: seen on 2 days, 3 visits; 21 camera-days; likely around: 81%; "
        "argues for resident (+0.6)"
    )


@pytest.mark.parametrize(
    ("weight", "said"),
    [
        (0.04, "argues for neither"),
        (-0.04, "argues for neither"),
        (-1.26, "argues for visiting (-1.3)"),
    ],
)
def test_what_a_week_argues_is_said_in_the_words_of_the_key(weight: float, said: str) -> None:
    (box,) = week_boxes(FRAME, [week(date(2025, 7, 7), "not seen", evidence=weight)])
    assert box["words"].endswith(f"; {said}")


def test_evidence_bars_keep_their_side_and_never_leave_the_strip() -> None:
    weights = (LARGEST_BAR * 5, LARGEST_BAR / 2, 0.0, -LARGEST_BAR * 5)
    cells = [
        week(date(2025, 7, 7) + timedelta(days=7 * n), "seen", evidence=w)
        for n, w in enumerate(weights)
    ]
    assert [box["bar"] for box in week_boxes(FRAME, cells)] == [1.0, 0.5, 0.0, -1.0]


def test_what_is_not_known_is_not_drawn_as_nothing() -> None:
    (box,) = week_boxes(FRAME, [week(date(2025, 7, 7), "seen", around=None)])
    assert box["around"] is None
    assert "around" not in box["words"]


def test_months_fill_the_season_without_gap() -> None:
    boxes = FRAME.months
    assert "".join(b["words"] for b in boxes) == "JJASONDJFMAM"
    assert sum(b["width"] for b in boxes) == pytest.approx(100, abs=0.01)


def test_hunting_dates_include_the_closing_day() -> None:
    gun = FRAME.open_days[1]
    assert gun["width"] == pytest.approx(700 / 365, abs=1e-3)
    assert gun["words"] == "gun: 29 November to 5 December 2025"


def test_the_rut_is_where_the_phase_is() -> None:
    (box,) = FRAME.rut
    assert box["left"] == pytest.approx(
        100 * (date(2025, 11, 5) - FRAME.first).days / 365, abs=1e-3
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
    boxes = week_boxes(cut[2024], before)
    assert [b["kind"] for b in boxes] == ["seen", "not-seen"]
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
