"""A photo log written as CSVs, and a property rebuilt from them alone."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented.card_photos import mp4, photo

from deerlog.errors import StoreError
from deerlog.ingest.field_log import FieldLog, read_field_log
from deerlog.ingest.photo_lists import _means_the_same, photo_log_text
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
PlaceAt = Callable[[Path], "Place"]
LATER = date(2031, 1, 1)


def rebuilt(place: Place, folder: Path, *, today: date = LATER) -> FieldLog:
    """The field log of a property made of the tables, the tags and the exported CSVs."""
    for path in place.folder.iterdir():
        if path.suffix in (".csv", ".toml"):
            folder.mkdir(exist_ok=True)
            shutil.copyfile(path, folder / path.name)
    shutil.copytree(place.folder / "tags", folder / "tags")
    tags = {p.name: p.read_bytes() for p in (folder / "tags").glob("*.csv")}
    for name, text in photo_log_text(place.folder).texts.items():
        path = folder / "cards" / name
        path.parent.mkdir(parents=True)
        path.write_text(text, encoding="utf-8", newline="")
    ingest_cards(open_property(folder), today=today)
    assert tags == {p.name: p.read_bytes() for p in (folder / "tags").glob("*.csv")}
    return read_field_log(open_property(folder))


def told(log: FieldLog) -> tuple[list[object], ...]:
    """What figures hang on, in a form to compare."""
    counts = log.photos[log.photos["same_as"].isna()]
    columns = ["camera", "path", "time", "site", "excluded", "time_fault", "kind", "by_row"]
    photos = counts[columns].sort_values(["camera", "path", "time"])
    looks = counts.sort_values(["camera", "path", "time"])[["look", "flash"]].astype("string")
    return (
        photos.to_numpy().tolist(),
        looks.fillna("").to_numpy().tolist(),
        log.visits.drop(columns="photo_id").astype(str).to_numpy().tolist(),
        log.sightings.astype(str).to_numpy().tolist(),
        log.effort.astype(str).to_numpy().tolist(),
    )


@pytest.fixture
def varied(varied_once: Path, place_at: PlaceAt, tmp_path: Path) -> Place:
    """Everything that a plain list of files and times would lose."""
    return place_at(shutil.copytree(varied_once, tmp_path / "alder"))


@pytest.fixture(scope="module")
def varied_once(place_at: PlaceAt, at: At, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """`varied`, to be copied."""
    place = place_at(tmp_path_factory.mktemp("varied") / "alder")
    place.photos("Gate/a/DCIM", at(10, 5), 6, every=timedelta(hours=5))
    # The same card again, under another folder and on another camera.
    place.photos("Seep/s", at(9, 20), 3, every=timedelta(hours=30), seed=70)
    cards = place.folder / "cards"
    shutil.copytree(cards / "Gate/a", cards / "Gate/again")
    shutil.copytree(cards / "Gate/a", cards / "Seep/wrong card")
    shutil.copyfile(cards / "Gate/a/DCIM/IMG_0002.JPG", cards / "Gate/renamed.JPG")
    place.card("Gate/b/night.JPG", photo(at(10, 9, 22), night=True, fraction="25", seed=51))
    place.card("Gate/b/zone.JPG", photo(at(11, 3, 1, 30), offset="-06:00", seed=52))
    place.card("Gate/b/no zone.JPG", photo(at(11, 3, 1, 30), seed=53))
    place.card("Gate/b/ahead.JPG", photo("2030:01:01 06:00:00", seed=54))
    place.card("Gate/b/CLIP.MP4", mp4(at(10, 12, 9)))
    place.card("Gate/b/dull.JPG", photo(at(10, 13, 9), thumbnail=False, seed=55))
    place.write("cards/Gate/old/list.csv", "file,taken,look\nx.JPG,2024-09-14 06:07,grey\n")
    # Numbering begins anew in the same folder: the picture before is overwritten.
    place.card("Gate/DCIM/IMG_0001.JPG", photo(at(10, 20, 7), seed=60))
    place.ingest()
    place.card("Gate/DCIM/IMG_0001.JPG", photo(at(11, 20, 7), seed=61), age_days=-9)
    place.ingest()
    place.tag("Gate", "a/DCIM/IMG_0001.JPG", "Old Plow")
    place.tag("Seep", "s/IMG_0001.JPG", "Splitbrow")
    place.tag("Gate", "b/zone.JPG", "Splitbrow?")
    sheet = place.sheet("Gate").splitlines()
    rows = [line.split(",") for line in sheet]
    for row in rows:
        if row[0] == "DCIM/IMG_0001.JPG":
            row[3] = "Old Plow" if row[1].startswith("2024-10-20") else "Splitbrow"
    place.write("tags/Gate.csv", "".join(",".join(row) + "\n" for row in rows))
    return place.folder


def test_a_property_rebuilt_from_it_alone_says_the_same(varied: Place, tmp_path: Path) -> None:
    before, after = varied.log(), rebuilt(varied, tmp_path / "rebuilt")
    for ours, theirs in zip(told(before), told(after), strict=True):
        assert theirs == ours
    assert before.sightings["buck"].tolist() == ["Old Plow"] * 2 + ["Splitbrow"] * 3
    assert (before.photos["excluded"] == "time in the future").sum() == 1


def test_it_stays_the_same_however_often_it_is_rebuilt(varied: Place, tmp_path: Path) -> None:
    rebuilt(varied, tmp_path / "rebuilt")
    first, second = photo_log_text(varied.folder), photo_log_text(tmp_path / "rebuilt")
    assert second.texts == first.texts
    assert second.photos == first.photos > 20


def test_pictures_can_be_cleared_once_the_csvs_lie_on_the_cards(
    varied: Place, tmp_path: Path
) -> None:
    before = varied.log()
    for name, text in photo_log_text(varied.folder).texts.items():
        varied.write(f"cards/{name}", text)
    varied.ingest()
    beside = varied.log()
    for path in (varied.folder / "cards").rglob("*"):
        if path.is_file() and path.name != "photo-log.csv":
            path.unlink()
    varied.ingest()
    (varied.folder / "deerlog.sqlite").unlink()
    varied.ingest(LATER)
    after = varied.log()
    for log in (beside, after):
        assert told(log)[2:] == told(before)[2:]
    assert len(told(after)[0]) == len(told(before)[0])


def test_a_card_copied_back_is_known_by_its_fingerprints(varied: Place, tmp_path: Path) -> None:
    folder = tmp_path / "rebuilt"
    rebuilt(varied, folder)
    n_visits = len(read_field_log(open_property(folder)).visits)
    back = folder / "cards/Gate/from a backup"
    back.mkdir()
    shutil.copyfile(varied.folder / "cards/Gate/a/DCIM/IMG_0003.JPG", back / "other name.JPG")
    summary = ingest_cards(open_property(folder), today=LATER)
    assert [c.copies for c in summary.cameras if c.camera == "Gate"] == [1]
    assert len(read_field_log(open_property(folder)).visits) == n_visits


def test_a_copy_that_is_gone_does_not_come_to_count(place: Place, at: At, tmp_path: Path) -> None:
    place.photos("Gate/mistaken", at(10, 5), 3, every=timedelta(hours=5))
    place.ingest()
    (place.folder / "cards/Gate/mistaken").rename(place.folder / "cards/Seep")
    place.ingest()
    before = place.log()
    assert set(before.visits["camera"]) == {"Seep"}
    after = rebuilt(place, tmp_path / "rebuilt")
    assert told(after)[2] == told(before)[2]


def test_a_name_that_no_cell_can_hold_is_told(place: Place, at: At) -> None:
    place.card("Seep/ok.JPG", photo(at(10, 5), seed=1))
    try:
        place.card("Seep/ ends in space.JPG ", photo(at(10, 6), seed=2))
    except OSError as error:
        pytest.skip(f"this system allows no such name: {error}")
    place.ingest()
    written = photo_log_text(place.folder)
    assert written.photos == 1
    assert written.left_out == ("cards/Seep/ ends in space.JPG ",)
    assert "ends in space" not in written.texts["Seep/photo-log.csv"]


def test_no_photo_log_is_said(place: Place) -> None:
    with pytest.raises(StoreError, match="there is no photo log yet"):
        photo_log_text(place.folder)


TEXT = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="/\\\x00"), min_size=1)


@given(folder=TEXT, name=TEXT)
def test_a_row_said_to_be_kept_is_read_back(folder: str, name: str) -> None:
    row = dict.fromkeys(("look", "kind", "flash", "offset", "fingerprint", "read", "gone"), "") | {
        "file": f"{folder}/{name}.JPG",
        "taken": "2024-10-05 06:07:08",
    }
    kept = _means_the_same([row])
    plain = all(c.isprintable() and c != '"' for c in folder + name)
    inside = folder.strip(" .") == folder and name.strip(" .") == name
    assert kept or not (plain and inside)


def test_numbers_survive_as_they_are(varied: Place, tmp_path: Path) -> None:
    # The comparison above goes through text; here the looks and fractions themselves.
    logs = varied.log(), rebuilt(varied, tmp_path / "rebuilt")
    ours, theirs = (
        log.photos[log.photos["same_as"].isna()].sort_values(["camera", "path", "time"])
        for log in logs
    )
    assert np.allclose(ours["look"], theirs["look"], equal_nan=True, atol=0.0)
    assert (pd.DatetimeIndex(ours["time"]).microsecond > 0).sum() == 1
    assert pd.DatetimeIndex(ours["time"]).equals(pd.DatetimeIndex(theirs["time"]))


def test_a_file_name_that_a_spreadsheet_would_run_is_a_path(place: Place, at: At) -> None:
    listed = "file,taken\n=1+1.JPG,2024-10-05 12:00\n@x/a.JPG,2024-10-06 12:00\n"
    (place.folder / "cards" / "Gate").mkdir(parents=True)
    (place.folder / "cards" / "Gate" / "log.csv").write_text(listed, encoding="utf-8")
    ingest_cards(open_property(place.folder), today=LATER)
    (text,) = photo_log_text(place.folder).texts.values()
    assert [line.split(",")[0] for line in text.splitlines()[1:]] == ["./=1+1.JPG", "./@x/a.JPG"]
    again = rebuilt(place, place.folder.with_name("rebuilt"))
    assert told(again) == told(read_field_log(open_property(place.folder)))
