"""Time against file numbers, on cards small enough to read."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd

from deerlog.ingest.clocks.clock_order import order_findings

ZONE = "America/Chicago"


def card(
    *runs: tuple[str, int, float], first: int = 1, folder: str = "pull/DCIM/100ABCDE"
) -> pd.DataFrame:
    """Photos numbered on, in runs of (start, how many, hours between)."""
    shown = np.concatenate(
        [
            np.datetime64(start, "us") + (np.arange(n) * hours * 3600e6).astype("timedelta64[us]")
            for start, n, hours in runs
        ]
    )
    paths = [f"{folder}/IMG_{first + i:04d}.JPG" for i in range(len(shown))]
    return pd.DataFrame({"camera": "Ridge", "path": paths, "shown": shown})


def judged(photos: pd.DataFrame) -> list[SimpleNamespace]:
    """The findings with the photos that their labels stand for."""
    photos = photos.reset_index(drop=True)
    mixed = photos.sample(frac=1.0, random_state=1)
    named = photos[["camera", "path", "shown"]]
    return [
        SimpleNamespace(
            kind=found.kind,
            run=named.loc[list(found.rows)],
            n_photos=len(found.rows),
            first_path=named.at[found.rows[0], "path"],
            last_path=named.at[found.rows[-1], "path"],
            before=None if found.before is None else named.loc[found.before],
            after=None if found.after is None else named.loc[found.after],
        )
        for found in order_findings(mixed, zone=ZONE)
    ]


def test_a_card_in_order_says_nothing() -> None:
    assert judged(card(("2023-09-01T06:00", 200, 5))) == []


def test_a_reset_at_a_battery_change_is_found_with_its_photos() -> None:
    (found,) = judged(
        card(("2023-09-01T06:00", 50, 5), ("2015-01-01T00:04", 12, 5), ("2023-11-20T08:00", 40, 5))
    )
    assert found.kind == "reset"
    assert set(found.run["camera"]) == {"Ridge"}
    assert found.first_path.endswith("IMG_0051.JPG") and found.last_path.endswith("IMG_0062.JPG")
    assert found.n_photos == 12
    assert found.before["path"].endswith("IMG_0050.JPG")
    assert found.after["shown"] == pd.Timestamp("2023-11-20T08:00")
    assert found.run["shown"].min() == pd.Timestamp("2015-01-01T00:04")


def test_a_card_that_begins_at_a_factory_date() -> None:
    (found,) = judged(card(("2018-01-01T00:02", 30, 6)))
    assert found.kind == "reset" and found.before is None


def test_a_new_years_card_is_left_alone() -> None:
    assert judged(card(("2024-01-01T05:30", 30, 3))) == []
    assert judged(card(("2023-12-20T05:30", 200, 2.5))) == []


def test_the_smaller_part_is_the_one_out_of_order() -> None:
    """A clock put a week back, and put right again."""
    (found,) = judged(
        card(("2023-09-01T06:00", 60, 5), ("2023-09-05T00:00", 10, 5), ("2023-09-16T06:00", 60, 5))
    )
    assert found.kind == "backwards"
    assert found.first_path.endswith("IMG_0061.JPG") and found.n_photos == 10


def test_a_clock_ahead_is_named_not_the_photos_after_it() -> None:
    """Ten photos four months ahead between a hundred that agree."""
    (found,) = judged(
        card(("2023-06-01T06:00", 50, 5), ("2023-10-20T00:00", 10, 5), ("2023-06-14T06:00", 50, 5))
    )
    assert found.kind == "backwards"
    assert found.first_path.endswith("IMG_0051.JPG") and found.n_photos == 10


def test_months_forward_in_one_step_are_asked_about() -> None:
    (found,) = judged(card(("2023-03-01T06:00", 50, 5), ("2023-08-20T06:00", 50, 5)))
    assert found.kind == "jump"
    assert found.before["shown"] == pd.Timestamp("2023-03-11T11:00")
    assert found.first_path.endswith("IMG_0051.JPG")


def test_months_between_far_numbers_are_only_photos_taken_off_the_card() -> None:
    photos = pd.concat(
        [card(("2023-03-01T06:00", 50, 5)), card(("2023-08-20T06:00", 50, 5), first=400)]
    )
    assert judged(photos) == []


def test_the_hour_back_on_the_night_the_clocks_change_is_right() -> None:
    """The camera follows local time: 01:50, then 01:10."""
    assert judged(card(("2023-11-04T13:50", 13, 1), ("2023-11-05T01:10", 30, 1))) == []
    (found,) = judged(card(("2023-10-14T13:50", 13, 1), ("2023-10-15T01:10", 30, 1)))
    assert found.kind == "backwards"


def test_a_roll_over_is_no_step_back() -> None:
    photos = card(("2023-09-01T06:00", 40, 5))
    numbers = [*range(9980, 10_000), *range(1, 21)]
    photos["path"] = [f"pull/IMG_{n:04d}.JPG" for n in numbers]
    assert judged(photos) == []


def test_renamed_photos_have_no_order() -> None:
    rng = np.random.default_rng(1)
    photos = card(("2023-09-01T06:00", 100, 5))
    photos["shown"] = rng.permutation(photos["shown"].to_numpy())
    assert judged(photos) == []
    photos["shown"] = photos["shown"].sort_values(ignore_index=True)
    photos.loc[7, "shown"] = pd.Timestamp("2021-03-05")
    assert [found.n_photos for found in judged(photos)] == [1]


def test_names_without_numbers_are_judged_by_date_alone() -> None:
    photos = card(("2023-09-01T06:00", 20, 5))
    photos["path"] = [f"pull/20230901_{i:06d}.jpg" for i in range(20)]
    assert judged(photos.iloc[::-1]) == []


def test_bursts_written_out_of_turn_are_no_fault() -> None:
    photos = card(("2023-09-01T06:00", 40, 5))
    photos.loc[11, "shown"] = photos.loc[10, "shown"] - pd.Timedelta(seconds=40)
    assert judged(photos) == []


def test_cards_and_cameras_are_judged_apart() -> None:
    later = card(("2023-10-01T06:00", 20, 5), folder="a")
    earlier = card(("2023-09-01T06:00", 20, 5), first=21, folder="b")
    assert judged(pd.concat([later, earlier])) == []
    other = card(("2023-09-01T06:00", 20, 5), first=21, folder="a").assign(camera="Creek")
    assert judged(pd.concat([later, other])) == []


def test_photos_without_a_time_and_no_photos_at_all() -> None:
    photos = card(("2023-09-01T06:00", 20, 5))
    photos.loc[3, "shown"] = pd.NaT
    assert judged(photos) == []
    assert judged(photos.iloc[:0]) == []


def test_two_counters_in_one_folder_are_no_order() -> None:
    """Two prefixes of the standard form, both numbered from 0001, taken in turn."""
    first = card(("2023-09-01T06:00", 20, 10))
    second = card(("2023-09-03T07:00", 20, 10))
    second["path"] = second["path"].str.replace("IMG_", "DSC_")
    assert judged(pd.concat([first, second])) == []
    assert judged(pd.concat([first, second.iloc[15:]])) == []


def minutes(*clock: str) -> pd.DataFrame:
    """One photo at each time."""
    return card(*((at, 1, 0.0) for at in clock))


def test_the_clocks_hour_is_far_from_utc_in_some_zones() -> None:
    """Auckland is 12 hours ahead: its clocks went back at 03:00 on 7 April 2024."""
    night = card(("2024-04-06T14:50", 13, 1), ("2024-04-07T02:10", 30, 1))
    assert order_findings(night, zone="Pacific/Auckland") == []
    assert len(order_findings(night, zone="Pacific/Tongatapu")) == 1


def test_a_burst_out_of_turn_on_the_night_is_not_the_clocks_hour() -> None:
    """Two minutes back, which any burst may be, and then an hour and a half."""
    night = pd.concat(
        [card(("2023-11-05T01:00", 11, 1 / 12)),
         minutes("2023-11-05T01:48", "2023-11-05T00:20", "2023-11-05T00:40",
                 "2023-11-05T01:00", "2023-11-05T01:20", "2023-11-05T01:40"),
         card(("2023-11-05T02:50", 20, 1))]
    )  # fmt: skip
    night["path"] = card(("2023-09-01", len(night), 1))["path"].to_numpy()
    (found,) = judged(night)
    assert found.kind == "backwards" and found.n_photos == 5
    assert found.first_path.endswith("IMG_0013.JPG")


def test_a_burst_out_of_turn_may_be_the_first_of_a_card_or_the_last() -> None:
    seconds = ("10:00:00", "10:01:50", "10:01:00", "10:00:30")
    burst = [f"2023-09-01T{at}" for at in seconds]
    assert judged(minutes(*burst, "2023-09-01T12:00", "2023-09-01T13:00")) == []
    late = [f"2023-09-01T{at}" for at in ("08:00:00", "09:00:00", *seconds)]
    assert judged(minutes(*late)) == []


def test_a_step_back_of_two_minutes_is_none_and_a_second_more_is() -> None:
    def after_ten(last: str) -> pd.DataFrame:
        tail = (last, "2023-09-01T09:59:58", "2023-09-01T11:00", "2023-09-01T12:00")
        return minutes("2023-09-01T08:00", "2023-09-01T09:00", *tail)

    assert judged(after_ten("2023-09-01T10:01:58")) == []
    (found,) = judged(after_ten("2023-09-01T10:01:59"))
    assert found.kind == "backwards" and found.n_photos == 1
